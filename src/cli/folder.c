/* Whole folders out: written beside their place, then put there. */
#include "cli.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* What stands on the disk, or is about to; the newest first, so that a folder comes after all that
 * is in it. */
typedef struct made {
    struct made *older;
    bool folder;
    size_t inside; /* where its path in the folder begins: 0 for the folder itself */
    char path[];
} made;

struct cli_folder_staged {
    char *name, *beside; /* owned */
    _Atomic(made *) newest;
    bool over; /* a kit stands there, and its files are to be replaced */
};

/* Outlives every call, since a signal's handler is given nothing to work on. */
static _Atomic(cli_folder_staged *) staged_folder;

/* ---- what is there ---- */

static bool is_empty(const char *name)
{
    DIR *dir = opendir(name);
    const struct dirent *entry = NULL;
    while (dir != NULL && (entry = readdir(dir)) != NULL)
        if (strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0)
            break;
    bool empty = dir != NULL && entry == NULL;
    if (dir != NULL)
        closedir(dir);
    return empty;
}

static bool holds_kit(const char *name)
{
    static const char begins[] = "{\n  \"pavior_kit\": ";
    char head[sizeof begins] = "", *path = cli_join(name, "kit.json");
    FILE *file = path != NULL && cli_is_file(path, NULL) ? fopen(path, "rb") : NULL;
    free(path);
    if (file == NULL)
        return false;
    size_t n = fread(head, 1, sizeof begins - 1, file);
    fclose(file);
    return n == sizeof begins - 1 && memcmp(head, begins, n) == 0;
}

/* Whether a kit may go there; *over where one stands there already. */
static bool check_place(const char *name, bool replace, bool *over, pv_diags *diags)
{
    struct stat info;
    *over = false;
    if (stat(name, &info) != 0)
        return errno == ENOENT || cli_fail_file(diags, PV_CAUSE_CREATE, "create", name, errno);
    if (!S_ISDIR(info.st_mode))
        return cli_fail_file(diags, PV_CAUSE_CREATE, "create", name, ENOTDIR);
    if (is_empty(name))
        return true;
    *over = holds_kit(name);
    if (*over && replace)
        return true;
    if (*over)
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_USAGE,
                     "name another folder with -o; --replace replaces the kit, and leaves other "
                     "files as they are",
                     "%s holds a kit already", name);
    else
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_USAGE,
                     "name a new or an empty folder with -o, or move that one away",
                     "%s is there already, and holds no kit", name);
    return false;
}

/* ---- beside its place ---- */

static bool remember(cli_folder_staged *f, const char *path, bool folder)
{
    size_t size = strlen(path) + 1, stem = strlen(f->beside);
    made *m = malloc(sizeof *m + size);
    if (m == NULL)
        return false;
    *m = (made){atomic_load(&f->newest), folder, size - 1 > stem ? stem + 1 : 0};
    memcpy(m->path, path, size);
    atomic_store(&f->newest, m);
    return true;
}

/* Only what a signal's handler may do. */
static void remove_made(cli_folder_staged *f)
{
    for (const made *m = atomic_load(&f->newest); m != NULL; m = m->older)
        if (m->folder)
            rmdir(m->path);
        else
            unlink(m->path);
}

void cli_remove_folder(void)
{
    cli_folder_staged *f = atomic_load(&staged_folder);
    if (f != NULL)
        remove_made(f);
}

void cli_folder_discard(cli_folder_staged *f)
{
    if (f == NULL)
        return;
    remove_made(f);
    atomic_store(&staged_folder, NULL);
    for (made *m = atomic_load(&f->newest), *older; m != NULL; m = older) {
        older = m->older;
        free(m);
    }
    free(f->name);
    free(f->beside);
    free(f);
}

cli_folder_staged *cli_folder_stage(const char *name, bool replace, pv_diags *diags)
{
    cli_folder_staged *f = calloc(1, sizeof *f);
    size_t length = strlen(name);
    while (length > 1 && name[length - 1] == '/')
        length--;
    size_t room = length + 40;
    if (f != NULL) {
        f->name = strndup(name, length);
        f->beside = malloc(room);
    }
    if (f == NULL || f->name == NULL || f->beside == NULL) {
        cli_no_memory(diags);
        cli_folder_discard(f);
        return NULL;
    }
    snprintf(f->beside, room, "%s.new%ld", f->name, (long)getpid());
    bool good = check_place(f->name, replace, &f->over, diags);
    if (good && !remember(f, f->beside, true))
        good = cli_no_memory(diags);
    atomic_store(&staged_folder, f);
    if (good && mkdir(f->beside, 0777) != 0) {
        good = cli_fail_file(diags, PV_CAUSE_CREATE, "create", f->beside, errno);
        free(atomic_exchange(&f->newest, NULL)); /* it may be another's */
    }
    if (good)
        return f;
    cli_folder_discard(f);
    return NULL;
}

/* The folders that a path leads through below f->beside, which is its start. */
static bool make_folders(cli_folder_staged *f, char *path, pv_diags *diags)
{
    for (char *slash = path + strlen(f->beside); (slash = strchr(slash + 1, '/')) != NULL;) {
        struct stat info;
        *slash = '\0';
        bool there = stat(path, &info) == 0;
        bool good = there || remember(f, path, true) || cli_no_memory(diags);
        if (good && !there && mkdir(path, 0777) != 0)
            good = cli_fail_file(diags, PV_CAUSE_CREATE, "create", path, errno);
        *slash = '/';
        if (!good)
            return false;
    }
    return true;
}

bool cli_folder_add(void *folder, const pv_kit_member *member, pv_diags *diags)
{
    cli_folder_staged *f = folder;
    char *path = cli_join(f->beside, member->name);
    if (path == NULL)
        return cli_no_memory(diags);
    bool good = make_folders(f, path, diags);
    if (good && !remember(f, path, false))
        good = cli_no_memory(diags);
    if (good) {
        int fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
        good = fd >= 0 ? cli_fill(fd, path, member->bytes, member->size, false, diags)
                       : cli_fail_file(diags, PV_CAUSE_CREATE, "create", path, errno);
    }
    free(path);
    return good;
}

/* ---- into its place ---- */

/* One file of a former kit: goes where it isn't of the new one and nobody has changed it. */
static bool drop_former(void *context, const char *name, const char *sum)
{
    const cli_folder_staged *f = context;
    for (const made *m = atomic_load(&f->newest); m != NULL; m = m->older)
        if (!m->folder && strcmp(m->path + m->inside, name) == 0)
            return true;
    char *path = cli_join(f->name, name);
    cli_bytes bytes;
    if (path != NULL && cli_is_file(path, NULL) && cli_read(path, SIZE_MAX / 4, &bytes, NULL)) {
        char now[65];
        pv_kit_sum(bytes.data, bytes.size, now);
        free(bytes.data);
        if (strcmp(now, sum) == 0) {
            unlink(path);
            *strrchr(path, '/') = '\0';
            if (strlen(path) > strlen(f->name))
                rmdir(path); /* where nothing is left in it */
        }
    }
    free(path);
    return true;
}

/* In its place stands nothing of another kind. */
static bool fits(const cli_folder_staged *f, const made *m, pv_diags *diags)
{
    struct stat info;
    char *to = cli_join(f->name, m->path + m->inside);
    if (to == NULL)
        return cli_no_memory(diags);
    bool good = lstat(to, &info) != 0 || S_ISDIR(info.st_mode) == m->folder;
    if (!good)
        cli_fail_file(diags, PV_CAUSE_OUTPUT, "write", to, m->folder ? ENOTDIR : EISDIR);
    free(to);
    return good;
}

/* The made thing's place in the folder that is there. */
static bool move(const cli_folder_staged *f, const made *m, pv_diags *diags)
{
    char *to = cli_join(f->name, m->path + m->inside);
    if (to == NULL)
        return cli_no_memory(diags);
    bool good = m->folder ? mkdir(to, 0777) == 0 || errno == EEXIST : rename(m->path, to) == 0;
    if (!good)
        cli_fail_file(diags, PV_CAUSE_OUTPUT, "write", to, errno);
    free(to);
    return good;
}

/* All, or none where one does not fit. Oldest first: folders before what is in them, and SHA256SUMS
 * last, so that it never vouches for a kit that is half there. */
static bool move_all(const cli_folder_staged *f, const made *m, pv_diags *diags)
{
    size_t n = 0, k = 0;
    for (const made *c = m; c != NULL; c = c->older)
        n++;
    const made **all = calloc(n + 1, sizeof(const made *));
    if (all == NULL)
        return cli_no_memory(diags);
    for (; m != NULL; m = m->older)
        all[n - ++k] = m;
    bool good = true;
    for (k = 1; k < n && good; k++) /* the first is the folder itself */
        good = fits(f, all[k], diags);
    for (k = 1; k < n && good; k++)
        good = move(f, all[k], diags);
    free((void *)all);
    return good;
}

static bool settle_over(cli_folder_staged *f, pv_diags *diags)
{
    struct stat from, to;
    if (stat(f->beside, &from) == 0 && stat(f->name, &to) == 0 && from.st_dev != to.st_dev)
        return cli_fail_file(diags, PV_CAUSE_OUTPUT, "write", f->name, EXDEV);
    char *name = cli_join(f->name, "SHA256SUMS");
    cli_bytes former = {NULL, 0};
    if (name == NULL)
        return cli_no_memory(diags);
    bool known = cli_is_file(name, NULL) && cli_read(name, CLI_SUMS_MAX, &former, NULL);
    free(name);
    bool good = move_all(f, atomic_load(&f->newest), diags);
    if (good && known)
        pv_kit_sums_read((const char *)former.data, former.size, drop_former, f, NULL);
    free(former.data);
    return good;
}

/* Waits until all of it is on the disk: at the end, since the first file that is waited for takes
 * most of the others along. */
static bool sync_all(const cli_folder_staged *f, pv_diags *diags)
{
    for (const made *m = atomic_load(&f->newest); m != NULL; m = m->older) {
        int fd = m->folder ? -1 : open(m->path, O_WRONLY | O_CLOEXEC);
        if (!m->folder && fd < 0)
            return cli_fail_file(diags, PV_CAUSE_OUTPUT, "write", m->path, errno);
        if (fd >= 0 && !cli_fill(fd, m->path, "", 0, true, diags))
            return false;
    }
    return true;
}

bool cli_folder_settle(cli_folder_staged *f, pv_diags *diags)
{
    if (!sync_all(f, diags))
        return false;
    sigset_t before;
    cli_hold_signals(&before);
    /* An empty folder that is named by "." or by a link gives its place to none: it is filled. */
    bool placed = !f->over && rename(f->beside, f->name) == 0;
    bool fill = f->over || errno == EBUSY || errno == ENOTDIR;
    bool good = placed || (fill && settle_over(f, diags));
    if (!good && !fill)
        cli_fail_file(diags, PV_CAUSE_CREATE, "create", f->name, errno);
    cli_release_signals(&before);
    return good;
}
