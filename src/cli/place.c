/* Files into their places: written beside them and renamed, so that nobody ever sees half a file,
 * and what belongs together comes together or not at all. */
#include "cli.h"

#include <assert.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

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

void cli_hold_signals(sigset_t *before)
{
    sigset_t ending;
    sigemptyset(&ending);
    sigaddset(&ending, SIGHUP);
    sigaddset(&ending, SIGINT);
    sigaddset(&ending, SIGTERM);
    sigprocmask(SIG_BLOCK, &ending, before);
}

void cli_release_signals(const sigset_t *before)
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
        return cli_fail_file(diags, PV_CAUSE_CREATE, "create", "\"\"", ENOENT);
    if (stat(name, &info) == 0 && S_ISDIR(info.st_mode))
        return cli_fail_file(diags, PV_CAUSE_CREATE, "create", name, EISDIR);
    sigset_t before;
    cli_hold_signals(&before);
    int fd = create_beside(name, &out->beside);
    if (fd >= 0)
        remember(out->beside);
    cli_release_signals(&before);
    if (fd < 0) {
        cli_fail_file(diags, PV_CAUSE_CREATE, "create", name, errno);
        free(out->beside);
        out->beside = NULL;
        return false;
    }
    bool good = cli_fill(fd, name, data, size, true, diags);
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
    assert(staged->beside != NULL);
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
            cli_fail_file(diags, PV_CAUSE_OUTPUT, "write", name, why);
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
    char *folder = cli_folder(name);
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
    cli_hold_signals(&before);
    for (; touched < n && good; touched++) {
        /* One file alone is replaced in one step, and what is free needs no keeping. */
        good = n == 1 || !replace || keep_former(names[touched], &was[touched].kept);
        if (!good) {
            cli_fail_file(diags, PV_CAUSE_OUTPUT, "write", names[touched], errno);
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
    cli_release_signals(&before);
    if (lock >= 0)
        close(lock);
    free(was);
    return good;
}

bool cli_write(const char *name, const void *data, size_t size, bool replace, pv_diags *diags)
{
    if (cli_is_output(name))
        return cli_write_all(STDOUT_FILENO, data, size) ||
               cli_fail_file(diags, PV_CAUSE_OUTPUT, "write", "standard output", errno);
    if (cli_is_stream(name)) {
        int fd = open(name, O_WRONLY | O_CLOEXEC);
        return fd >= 0 ? cli_fill(fd, name, data, size, false, diags)
                       : cli_fail_file(diags, PV_CAUSE_CREATE, "open", name, errno);
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
