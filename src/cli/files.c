/* Whole files in and out. */
#include "cli.h"

#include <errno.h>
#include <fcntl.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define CHUNK 65536u

bool cli_fail_file(pv_diags *diags, pv_cause cause, const char *what, const char *name, int why)
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
            cli_fail_file(diags, PV_CAUSE_INPUT, "read", name, errno);
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

bool cli_is_file(const char *name, pv_diags *diags)
{
    struct stat info;
    if (stat(name, &info) != 0)
        return cli_fail_file(diags, PV_CAUSE_INPUT, "open", name, errno);
    if (!S_ISREG(info.st_mode))
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_INPUT, NULL,
                     "cannot open %s: it is no ordinary file", name);
    return S_ISREG(info.st_mode);
}

bool cli_read(const char *name, size_t limit, cli_bytes *out, pv_diags *diags)
{
    *out = (cli_bytes){NULL, 0};
    bool input = strcmp(name, "-") == 0;
    int fd = input ? STDIN_FILENO : open(name, O_RDONLY | O_CLOEXEC);
    if (fd < 0)
        return cli_fail_file(diags, PV_CAUSE_INPUT, "open", name, errno);
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

bool cli_write_all(int fd, const unsigned char *data, size_t size)
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
bool cli_fill(int fd, const char *name, const void *data, size_t size, bool sync, pv_diags *diags)
{
    bool good = cli_write_all(fd, data, size) && (!sync || synced(fd));
    int why = errno;
    if (close(fd) != 0 && good) {
        good = false;
        why = errno;
    }
    return good || cli_fail_file(diags, PV_CAUSE_OUTPUT, "write", name, why);
}

/* "-", or a name like /dev/stdout for what standard output is, even if it is a file. */
bool cli_is_output(const char *name)
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
    return cli_is_output(name) ||
           (stat(name, &info) == 0 && !S_ISREG(info.st_mode) && !S_ISDIR(info.st_mode));
}

/* ---- which file a name leads to ---- */

static const char *last_part(const char *name)
{
    const char *slash = strrchr(name, '/');
    return slash != NULL ? slash + 1 : name;
}

/* The folder in which a file is or would be; NULL without memory. The caller frees it. */
char *cli_folder(const char *name)
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
    char *folder = cli_folder(name);
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

/* ---- whole files out ---- */

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
