/* Whole files in and out. Output is written beside its place and renamed, so that nobody ever sees
 * half a file. */
#include "cli.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#define CHUNK 65536u

static bool fail(pv_diags *diags, pv_cause cause, const char *what, const char *name, int why)
{
    pv_diags_say(diags, PV_ERROR, cause, NULL, "cannot %s %s: %s", what, name, strerror(why));
    return false;
}

/* ---- reading ---- */

const char *cli_input_name(const char *name)
{
    return strcmp(name, "-") == 0 ? "standard input" : name;
}

static bool read_all(int fd, const char *name, size_t limit, cli_bytes *out, pv_diags *diags)
{
    size_t room = 0, size = 0;
    unsigned char *data = NULL;
    for (;;) {
        if (room - size < CHUNK + 1) {
            room = 2 * room + CHUNK + 1; /* stays below 2 limit + 2 CHUNK */
            unsigned char *more = realloc(data, room);
            if (more == NULL) {
                cli_no_memory(diags);
                break;
            }
            data = more;
        }
        ssize_t got = read(fd, data + size, CHUNK);
        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0) {
            fail(diags, PV_CAUSE_INPUT, "read", name, errno);
            break;
        }
        size += (size_t)got;
        if (size > limit) {
            pv_diags_say(diags, PV_ERROR, PV_CAUSE_LIMIT, NULL,
                         "%s is larger than the limit of %zu bytes", name, limit);
            break;
        }
        if (got == 0) {
            data[size] = '\0';
            *out = (cli_bytes){data, size};
            return true;
        }
    }
    free(data);
    return false;
}

bool cli_read(const char *name, size_t limit, cli_bytes *out, pv_diags *diags)
{
    *out = (cli_bytes){NULL, 0};
    bool input = strcmp(name, "-") == 0;
    int fd = input ? STDIN_FILENO : open(name, O_RDONLY | O_CLOEXEC);
    if (fd < 0)
        return fail(diags, PV_CAUSE_INPUT, "open", name, errno);
    bool good = read_all(fd, cli_input_name(name), limit, out, diags);
    if (!input)
        close(fd);
    return good;
}

bool cli_read_kind(const char *name, pv_file_kind kind, size_t limit, cli_bytes *out,
                   pv_diags *diags)
{
    if (!cli_read(name, limit, out, diags))
        return false;
    pv_file_kind is = pv_file_kind_of(out->data, out->size);
    if (is == PV_FILE_TEXT || is == kind)
        return true;
    const char *give = kind == PV_FILE_PLAN ? "give the .plan.json that pavior sheets wrote beside "
                                              "the PDF"
                       : kind == PV_FILE_REPORT  ? "give a report from pavior inspect --json"
                       : kind == PV_FILE_PRINTER ? "give a file from pavior calibrate"
                       : kind == PV_FILE_SCANNER ? "give a file from pavior calibrate --scanner"
                                                 : "give the course file itself";
    pv_diags_say(diags, PV_ERROR, PV_CAUSE_DATA, give, "%s is %s, not %s", cli_input_name(name),
                 pv_file_kind_name(is), pv_file_kind_name(kind));
    free(out->data);
    *out = (cli_bytes){NULL, 0};
    return false;
}

/* ---- writing ---- */

static bool write_all(int fd, const unsigned char *data, size_t size)
{
    while (size > 0) {
        ssize_t put = write(fd, data, size);
        if (put < 0 && errno == EINTR)
            continue;
        if (put < 0)
            return false;
        data += put;
        size -= (size_t)put;
    }
    return true;
}

/* Not every kind of file can be synced; only a real failure counts. */
static bool synced(int fd)
{
    return fsync(fd) == 0 || errno == EINVAL || errno == EROFS || errno == ENOTSUP;
}

/* Writes and closes. */
static bool fill(int fd, const char *name, const void *data, size_t size, bool sync,
                 pv_diags *diags)
{
    bool good = write_all(fd, data, size) && (!sync || synced(fd));
    int why = errno;
    if (close(fd) != 0 && good) {
        good = false;
        why = errno;
    }
    return good || fail(diags, PV_CAUSE_OUTPUT, "write", name, why);
}

/* "-", or a name like /dev/stdout for what standard output is, even if it is a file. */
static bool is_output(const char *name)
{
    struct stat named, output;
    return strcmp(name, "-") == 0 ||
           (strncmp(name, "/dev/", 5) == 0 && stat(name, &named) == 0 &&
            fstat(STDOUT_FILENO, &output) == 0 && named.st_dev == output.st_dev &&
            named.st_ino == output.st_ino);
}

bool cli_is_stream(const char *name)
{
    struct stat info;
    return is_output(name) ||
           (stat(name, &info) == 0 && !S_ISREG(info.st_mode) && !S_ISDIR(info.st_mode));
}

/* ---- which file a name leads to ---- */

static const char *last_part(const char *name)
{
    const char *slash = strrchr(name, '/');
    return slash != NULL ? slash + 1 : name;
}

/* The folder in which a file is or would be; NULL without memory. The caller frees it. */
static char *folder_name(const char *name)
{
    size_t length = (size_t)(last_part(name) - name);
    char *folder = malloc(length + 2);
    if (folder != NULL) {
        memcpy(folder, name, length);
        memcpy(folder + length, ".", 2);
    }
    return folder;
}

static bool folder_of(const char *name, struct stat *out)
{
    char *folder = folder_name(name);
    bool good = folder != NULL && stat(folder, out) == 0;
    free(folder);
    return good;
}

bool cli_same_file(const char *a, const char *b)
{
    if (a == NULL || b == NULL || strcmp(a, "-") == 0 || strcmp(b, "-") == 0)
        return false;
    if (strcmp(a, b) == 0)
        return true;
    struct stat first, second;
    if (stat(a, &first) == 0 && stat(b, &second) == 0)
        return S_ISREG(first.st_mode) && first.st_dev == second.st_dev &&
               first.st_ino == second.st_ino;
    return strcmp(last_part(a), last_part(b)) == 0 && folder_of(a, &first) &&
           folder_of(b, &second) && first.st_dev == second.st_dev && first.st_ino == second.st_ino;
}

bool cli_overwrites(const char *command, const char *output, const char *kind, const char *input)
{
    if (!cli_same_file(output, input))
        return false;
    cli_usage(command, "this would overwrite the %s %.100s", kind, input);
    return true;
}

/* ---- what a signal must not leave behind ---- */

/* Outlives every call, since a signal's handler is given nothing to work on. */
static _Atomic(const char *) staged_names[CLI_STAGED_MAX];

static void remember(const char *beside)
{
    for (size_t i = 0; i < CLI_STAGED_MAX; i++)
        if (atomic_load(&staged_names[i]) == NULL) {
            atomic_store(&staged_names[i], beside);
            return;
        }
}

static void forget(const char *beside)
{
    for (size_t i = 0; i < CLI_STAGED_MAX; i++)
        if (atomic_load(&staged_names[i]) == beside)
            atomic_store(&staged_names[i], NULL);
}

void cli_remove_staged(void)
{
    for (size_t i = 0; i < CLI_STAGED_MAX; i++) {
        const char *name = atomic_load(&staged_names[i]);
        if (name != NULL)
            unlink(name);
    }
}

/* Signals that would end the program wait meanwhile. */
static void hold_signals(sigset_t *before)
{
    sigset_t ending;
    sigemptyset(&ending);
    sigaddset(&ending, SIGHUP);
    sigaddset(&ending, SIGINT);
    sigaddset(&ending, SIGTERM);
    sigprocmask(SIG_BLOCK, &ending, before);
}

static void release_signals(const sigset_t *before)
{
    int why = errno;
    sigprocmask(SIG_SETMASK, before, NULL);
    errno = why;
}

/* ---- whole files beside their place ---- */

/* "NAME.new123-0"; NULL with errno set. The caller frees it. */
static char *name_beside(const char *name, const char *word, int attempt)
{
    size_t size = strlen(name) + 48;
    char *beside = malloc(size);
    if (beside != NULL)
        snprintf(beside, size, "%s.%s%ld-%d", name, word, (long)getpid(), attempt);
    return beside;
}

/* A new file in the same folder, so that rename stays within one file system; -1 with errno set. */
static int create_beside(const char *name, char **beside)
{
    for (int attempt = 0; attempt < 100; attempt++) {
        *beside = name_beside(name, "new", attempt);
        if (*beside == NULL)
            return -1;
        int fd = open(*beside, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
        if (fd >= 0 || errno != EEXIST)
            return fd;
        free(*beside);
        *beside = NULL;
    }
    return -1;
}

bool cli_stage(const char *name, const void *data, size_t size, cli_staged *out, pv_diags *diags)
{
    out->beside = NULL;
    struct stat info;
    if (*name == '\0')
        return fail(diags, PV_CAUSE_CREATE, "create", "\"\"", ENOENT);
    if (stat(name, &info) == 0 && S_ISDIR(info.st_mode))
        return fail(diags, PV_CAUSE_CREATE, "create", name, EISDIR);
    sigset_t before;
    hold_signals(&before);
    int fd = create_beside(name, &out->beside);
    if (fd >= 0)
        remember(out->beside);
    release_signals(&before);
    if (fd < 0) {
        fail(diags, PV_CAUSE_CREATE, "create", name, errno);
        free(out->beside);
        out->beside = NULL;
        return false;
    }
    bool good = fill(fd, name, data, size, true, diags);
    if (!good)
        cli_discard(out);
    return good;
}

void cli_discard(cli_staged *staged)
{
    if (staged->beside != NULL) {
        unlink(staged->beside);
        forget(staged->beside);
    }
    free(staged->beside);
    staged->beside = NULL;
}

/* ---- may a file be replaced? ---- */

bool cli_is_ours(const char *name)
{
    static const char begins[] = "[\n  {\n    \"file\": \"";
    char head[4001] = "";
    struct stat info;
    if (stat(name, &info) != 0 || !S_ISREG(info.st_mode) || (info.st_mode & 0222) == 0)
        return false;
    FILE *file = fopen(name, "rb");
    if (file == NULL)
        return false;
    size_t n = fread(head, 1, sizeof head - 1, file);
    fclose(file);
    pv_file_kind kind = pv_file_kind_of(head, n);
    /* Other programs' JSON may tell of files, too. */
    if (kind == PV_FILE_REPORT)
        return strncmp(head, begins, sizeof begins - 1) == 0 &&
               strstr(head, "\n    \"answer\": \"") != NULL;
    return kind == PV_FILE_PAGE || kind == PV_FILE_PRINTER || kind == PV_FILE_SCANNER;
}

/* Two files with the same bytes; false where one can't be read. */
static bool same_content(const char *a, const char *b)
{
    FILE *first = fopen(a, "rb"), *second = fopen(b, "rb");
    bool same = first != NULL && second != NULL;
    while (same) {
        unsigned char x[4096], y[4096];
        size_t n = fread(x, 1, sizeof x, first);
        same = fread(y, 1, sizeof y, second) == n && memcmp(x, y, n) == 0;
        if (n < sizeof x)
            break;
    }
    same = same && !ferror(first) && !ferror(second);
    if (first != NULL)
        fclose(first);
    if (second != NULL)
        fclose(second);
    return same;
}

/* ---- into their places ---- */

/* What became of a place: needed to put things back. */
typedef struct placed {
    char *kept; /* the former file's second name, owned; NULL: there was none */
    bool made;  /* a new file stands there */
} placed;

/* The mode of the file that it replaces stays. */
static bool put_over(const char *beside, const char *name)
{
    struct stat old;
    return (stat(name, &old) != 0 || chmod(beside, old.st_mode & 0777) == 0) &&
           rename(beside, name) == 0;
}

/* Takes a place that is free, in one step, so that of two programs that want it only one gets it.
 * A file with the same content may stand there already. */
static bool claim(const char *beside, const char *name, placed *out)
{
    struct stat info;
    out->made = link(beside, name) == 0;
    /* Some file systems have no second names: there a moment is left in which another may come. */
    if (!out->made && errno != EEXIST && lstat(name, &info) != 0 && errno == ENOENT) {
        out->made = rename(beside, name) == 0;
        return out->made;
    }
    if (!out->made) {
        bool folder = stat(name, &info) == 0 && S_ISDIR(info.st_mode);
        bool same = !folder && same_content(beside, name);
        errno = folder ? EISDIR : EEXIST;
        if (!same)
            return false;
    }
    unlink(beside);
    return true;
}

static bool put_in_place(cli_staged *staged, const char *name, bool replace, placed *out,
                         pv_diags *diags)
{
    bool good = replace ? put_over(staged->beside, name) : claim(staged->beside, name, out);
    int why = errno;
    out->made = out->made || (good && replace);
    if (!good) {
        if (why == EEXIST && !replace)
            pv_diags_say(
                diags, PV_ERROR, PV_CAUSE_USAGE,
                "name another file, or move that one away; --replace overwrites it, except "
                "with --range",
                "%s is there already, and holds something else", name);
        else
            fail(diags, PV_CAUSE_OUTPUT, "write", name, why);
        cli_discard(staged);
        return false;
    }
    forget(staged->beside);
    free(staged->beside);
    staged->beside = NULL;
    return true;
}

/* A second name for the file that is to be replaced, *kept NULL where there is none. False with
 * errno set. */
static bool keep_former(const char *name, char **kept)
{
    *kept = NULL;
    struct stat info;
    if (lstat(name, &info) != 0)
        return errno == ENOENT;
    if (S_ISDIR(info.st_mode)) {
        errno = EISDIR;
        return false;
    }
    for (int attempt = 0; attempt < 100; attempt++) {
        *kept = name_beside(name, "old", attempt);
        if (*kept == NULL)
            return false;
        /* Some file systems have no second names: there it gives up its own. */
        if (linkat(AT_FDCWD, name, AT_FDCWD, *kept, 0) == 0 ||
            (errno != EEXIST && access(*kept, F_OK) != 0 && rename(name, *kept) == 0))
            return true;
        int why = errno;
        free(*kept);
        *kept = NULL;
        errno = why;
        if (why != EEXIST)
            return false;
    }
    return false;
}

static void put_back(const char *name, const placed *was, pv_diags *diags)
{
    const char *kept = was->kept;
    bool good =
        kept == NULL ? !was->made || unlink(name) == 0 || errno == ENOENT : rename(kept, name) == 0;
    if (!good && kept != NULL)
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_OUTPUT, NULL, "cannot put %s back from %s: %s", name,
                     kept, strerror(errno));
    /* Where both are still the same file, renaming does nothing. */
    if (good && kept != NULL)
        unlink(kept);
}

/* Of programs that put files in one folder, one at a time does, so that what belongs together stays
 * together. The lock ends with the program, however that ends. -1 where there is none to be had:
 * then nothing waits. The caller closes it. */
static int lock_folder(const char *name)
{
    char *folder = folder_name(name);
    int fd = folder != NULL ? open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC) : -1;
    free(folder);
    while (fd >= 0 && flock(fd, LOCK_EX) != 0 && errno == EINTR)
        ;
    return fd;
}

bool cli_settle(cli_staged *const *staged, const char *const *names, size_t n, bool replace,
                pv_diags *diags)
{
    placed *was = calloc(n + 1, sizeof *was);
    if (was == NULL)
        return cli_no_memory(diags);
    size_t touched = 0;
    bool good = true;
    int lock = n > 0 ? lock_folder(names[0]) : -1;
    sigset_t before;
    hold_signals(&before);
    for (; touched < n && good; touched++) {
        /* One file alone is replaced in one step, and what is free needs no keeping. */
        good = n == 1 || !replace || keep_former(names[touched], &was[touched].kept);
        if (!good) {
            fail(diags, PV_CAUSE_OUTPUT, "write", names[touched], errno);
            break;
        }
        good = put_in_place(staged[touched], names[touched], replace, &was[touched], diags);
    }
    for (size_t i = 0; i < touched; i++) {
        if (!good && n > 1)
            put_back(names[i], &was[i], diags);
        else if (was[i].kept != NULL)
            unlink(was[i].kept);
        free(was[i].kept);
    }
    release_signals(&before);
    if (lock >= 0)
        close(lock);
    free(was);
    return good;
}

bool cli_write(const char *name, const void *data, size_t size, bool replace, pv_diags *diags)
{
    if (is_output(name))
        return write_all(STDOUT_FILENO, data, size) ||
               fail(diags, PV_CAUSE_OUTPUT, "write", "standard output", errno);
    if (cli_is_stream(name)) {
        int fd = open(name, O_WRONLY | O_CLOEXEC);
        return fd >= 0 ? fill(fd, name, data, size, false, diags)
                       : fail(diags, PV_CAUSE_CREATE, "open", name, errno);
    }
    cli_staged staged, *all[] = {&staged};
    const char *names[] = {name};
    bool good = cli_stage(name, data, size, &staged, diags) &&
                cli_settle(all, names, 1, replace || cli_is_ours(name), diags);
    cli_discard(&staged);
    return good;
}

bool cli_write_text(const char *name, char *text, bool replace, pv_diags *diags)
{
    if (text == NULL)
        return pv_diags_count(diags, PV_ERROR) > 0 ? false : cli_no_memory(diags);
    bool good = cli_write(name, text, strlen(text), replace, diags);
    pv_free(text);
    return good;
}
