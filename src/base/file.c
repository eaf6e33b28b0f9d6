#include "base/file.h"

#include "base/memory.h"
#include "base/text.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static bool read_all(int fd, const char *name, size_t limit, pv_bytes *out, pv_diags *diags)
{
    size_t capacity = 0, size = 0;
    unsigned char *data = NULL;
    for (;;) {
        if (!pv_reserve((void **)&data, &capacity, size + 65537, 1)) {
            pv_fail_memory(diags);
            break;
        }
        ssize_t got = read(fd, data + size, capacity - size - 1);
        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0) {
            pv_fail(diags, PV_CAUSE_INPUT, "cannot read %s: %s", name, strerror(errno));
            break;
        }
        size += (size_t)got;
        if (size > limit) {
            pv_fail(diags, PV_CAUSE_LIMIT, "%s is larger than the limit of %zu bytes", name, limit);
            break;
        }
        if (got == 0) {
            data[size] = '\0';
            *out = (pv_bytes){data, size};
            return true;
        }
    }
    free(data);
    return false;
}

bool pv_file_read(const char *name, size_t limit, pv_bytes *out, pv_diags *diags)
{
    *out = (pv_bytes){NULL, 0};
    if (strcmp(name, "-") == 0)
        return read_all(STDIN_FILENO, "standard input", limit, out, diags);
    int fd = open(name, O_RDONLY | O_CLOEXEC);
    if (fd < 0) {
        pv_fail(diags, PV_CAUSE_INPUT, "cannot open %s: %s", name, strerror(errno));
        return false;
    }
    bool good = read_all(fd, name, limit, out, diags);
    close(fd);
    return good;
}

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

/* Writes, syncs and closes. */
static bool fill(int fd, const char *name, const void *data, size_t size, pv_diags *diags)
{
    bool good = write_all(fd, data, size) && synced(fd);
    int why = errno;
    if (close(fd) != 0 && good) {
        good = false;
        why = errno;
    }
    if (!good)
        pv_fail(diags, PV_CAUSE_OUTPUT, "cannot write %s: %s", name, strerror(why));
    return good;
}

/* A device, a pipe or a terminal can't be renamed over: it is written to as it is. */
static bool is_special(const char *name)
{
    struct stat info;
    return stat(name, &info) == 0 && !S_ISREG(info.st_mode) && !S_ISDIR(info.st_mode);
}

static bool is_folder(const char *name)
{
    struct stat info;
    return stat(name, &info) == 0 && S_ISDIR(info.st_mode);
}

static bool write_special(const char *name, const void *data, size_t size, pv_diags *diags)
{
    int fd = open(name, O_WRONLY | O_CLOEXEC);
    if (fd < 0) {
        pv_fail(diags, PV_CAUSE_CREATE, "cannot open %s: %s", name, strerror(errno));
        return false;
    }
    bool good = write_all(fd, data, size);
    int why = errno;
    if (close(fd) != 0 && good) {
        good = false;
        why = errno;
    }
    if (!good)
        pv_fail(diags, PV_CAUSE_OUTPUT, "cannot write %s: %s", name, strerror(why));
    return good;
}

/* ---- what a signal must not leave behind ---- */

/* The only state that outlives a call: a signal's handler is given nothing to work on. */
static _Atomic(const char *) staged_names[PV_STAGED_MAX];

static void remember(const char *beside)
{
    for (size_t i = 0; i < PV_STAGED_MAX; i++)
        if (atomic_load(&staged_names[i]) == NULL) {
            atomic_store(&staged_names[i], beside);
            return;
        }
}

static void forget(const char *beside)
{
    for (size_t i = 0; i < PV_STAGED_MAX; i++)
        if (atomic_load(&staged_names[i]) == beside)
            atomic_store(&staged_names[i], NULL);
}

void pv_file_remove_staged(void)
{
    for (size_t i = 0; i < PV_STAGED_MAX; i++) {
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

/* A new file in the same folder, so that rename stays within one file system; -1 with errno set. */
static int create_beside(const char *name, char **beside)
{
    for (int attempt = 0; attempt < 100; attempt++) {
        pv_text text = PV_TEXT_INIT;
        pv_text_add(&text, "%s.new%ld-%d", name, (long)getpid(), attempt);
        *beside = pv_text_take(&text);
        if (*beside == NULL) {
            errno = ENOMEM;
            return -1;
        }
        int fd = open(*beside, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
        if (fd >= 0 || errno != EEXIST)
            return fd;
        free(*beside);
        *beside = NULL;
    }
    return -1;
}

bool pv_file_is_stream(const char *name)
{
    return strcmp(name, "-") == 0 || is_special(name);
}

bool pv_file_stage(const char *name, const void *data, size_t size, pv_staged *out, pv_diags *diags)
{
    out->beside = NULL;
    if (*name == '\0' || is_folder(name)) {
        pv_fail(diags, PV_CAUSE_CREATE, "cannot create %s: %s", *name != '\0' ? name : "\"\"",
                strerror(*name != '\0' ? EISDIR : ENOENT));
        return false;
    }
    sigset_t before;
    hold_signals(&before);
    int fd = create_beside(name, &out->beside);
    if (fd >= 0)
        remember(out->beside);
    release_signals(&before);
    if (fd < 0) {
        pv_fail(diags, PV_CAUSE_CREATE, "cannot create %s: %s", name, strerror(errno));
        free(out->beside);
        out->beside = NULL;
        return false;
    }
    bool good = fill(fd, name, data, size, diags);
    if (!good)
        pv_file_discard(out);
    return good;
}

/* The mode of the file that it replaces stays. */
bool pv_file_settle(pv_staged *staged, const char *name, pv_diags *diags)
{
    struct stat old;
    sigset_t before;
    hold_signals(&before);
    bool good = stat(name, &old) != 0 || chmod(staged->beside, old.st_mode & 0777) == 0;
    good = good && rename(staged->beside, name) == 0;
    if (good)
        forget(staged->beside);
    release_signals(&before);
    if (!good) {
        pv_fail(diags, PV_CAUSE_OUTPUT, "cannot write %s: %s", name, strerror(errno));
        pv_file_discard(staged);
        return false;
    }
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
        pv_text text = PV_TEXT_INIT;
        pv_text_add(&text, "%s.old%ld-%d", name, (long)getpid(), attempt);
        *kept = pv_text_take(&text);
        if (*kept == NULL) {
            errno = ENOMEM;
            return false;
        }
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

static void put_back(const char *name, char *kept, pv_diags *diags)
{
    bool good = kept != NULL ? rename(kept, name) == 0 : unlink(name) == 0 || errno == ENOENT;
    if (!good && kept != NULL)
        pv_fail(diags, PV_CAUSE_OUTPUT, "cannot put %s back from %s: %s", name, kept,
                strerror(errno));
    /* Where both are still the same file, renaming does nothing. */
    if (good && kept != NULL)
        unlink(kept);
}

bool pv_file_settle_all(pv_staged *const *staged, const char *const *names, size_t n,
                        pv_diags *diags)
{
    char **kept = PV_NEW_ARRAY(n, char *);
    if (kept == NULL) {
        pv_fail_memory(diags);
        return false;
    }
    size_t touched = 0;
    bool good = true;
    sigset_t before;
    hold_signals(&before);
    for (; touched < n && good; touched++) {
        good = keep_former(names[touched], &kept[touched]);
        if (!good) {
            pv_fail(diags, PV_CAUSE_OUTPUT, "cannot write %s: %s", names[touched], strerror(errno));
            break;
        }
        good = pv_file_settle(staged[touched], names[touched], diags);
    }
    for (size_t i = 0; i < touched; i++) {
        if (!good)
            put_back(names[i], kept[i], diags);
        else if (kept[i] != NULL)
            unlink(kept[i]);
        free(kept[i]);
    }
    release_signals(&before);
    free(kept);
    return good;
}

void pv_file_discard(pv_staged *staged)
{
    if (staged->beside != NULL) {
        unlink(staged->beside);
        forget(staged->beside);
    }
    free(staged->beside);
    staged->beside = NULL;
}

bool pv_file_write(const char *name, const void *data, size_t size, pv_diags *diags)
{
    if (strcmp(name, "-") == 0) {
        if (write_all(STDOUT_FILENO, data, size))
            return true;
        pv_fail(diags, PV_CAUSE_OUTPUT, "cannot write standard output: %s", strerror(errno));
        return false;
    }
    if (is_special(name))
        return write_special(name, data, size, diags);
    pv_staged staged;
    return pv_file_stage(name, data, size, &staged, diags) && pv_file_settle(&staged, name, diags);
}
