/* Folders of strangers: what files are in one, and reading them. */
#include "cli.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>
#include <unistd.h>

#define DEPTH_MAX 32 /* folders in folders; ours */

/* Marks what the library says in the results' language (src/po/words.py). */
#define PV_SAID(english) english

static const char is_link[] =
    PV_SAID("it is a link; collect does not follow links: put the file itself here");
static const char is_odd[] = PV_SAID("it is no ordinary file");
const char cli_no_file[] = PV_SAID("no file is in this team's folder");
static const char is_deep[] = PV_SAID("it lies in too many folders within folders");

char *cli_join(const char *folder, const char *name)
{
    size_t length = strlen(folder), size = length + strlen(name) + 2;
    bool slash = length > 0 && folder[length - 1] != '/';
    char *out = malloc(size);
    if (out != NULL)
        snprintf(out, size, "%s%s%s", folder, slash ? "/" : "", name);
    return out;
}

/* ---- listing ---- */

bool cli_list_add(cli_list *list, char *name, const char *problem, pv_diags *diags)
{
    if (list->n == list->room) {
        size_t room = list->room == 0 ? 64 : 2 * list->room;
        cli_listed *more = realloc(list->items, room * sizeof *more);
        if (more != NULL) {
            list->items = more;
            list->room = room;
        }
    }
    if (name == NULL || list->n == list->room) {
        free(name);
        return cli_no_memory(diags);
    }
    list->items[list->n++] = (cli_listed){name, problem};
    if (list->n <= PV_COLLECT_PICTURES_MAX)
        return true;
    pv_diags_say(diags, PV_ERROR, PV_CAUSE_LIMIT, "split them into several folders",
                 "these are more than %u files", PV_COLLECT_PICTURES_MAX);
    return false;
}

void cli_list_free(cli_list *list)
{
    for (size_t i = 0; i < list->n; i++)
        free(list->items[i].name);
    free(list->items);
    *list = (cli_list){.items = NULL};
}

static int by_name(const void *a, const void *b)
{
    const cli_listed *p = a, *q = b;
    return strcmp(p->name, q->name);
}

/* What file managers, archivers and backups leave in any folder; besides names with a dot first.
 * docs/use/collecting.md lists them. */
static bool is_litter(const char *name)
{
    static const char *const known[] = {"Thumbs.db", "ehthumbs.db",  "desktop.ini",
                                        "__MACOSX",  "$RECYCLE.BIN", "System Volume Information"};
    for (size_t i = 0; i < sizeof known / sizeof *known; i++)
        if (strcasecmp(name, known[i]) == 0)
            return true;
    return name[0] == '.';
}

static bool walk(const char *root, const char *below, int depth, cli_list *out, pv_diags *diags);

static bool take_entry(const char *root, char *name, int depth, cli_list *out, pv_diags *diags)
{
    char *path = name != NULL ? cli_join(root, name) : NULL;
    struct stat info;
    bool there = path != NULL && lstat(path, &info) == 0;
    free(path);
    if (path == NULL) {
        free(name);
        return cli_no_memory(diags);
    }
    if (there && S_ISDIR(info.st_mode) && depth < DEPTH_MAX) {
        bool good = walk(root, name, depth + 1, out, diags);
        free(name);
        return good;
    }
    const char *problem = !there                  ? PV_SAID("it cannot be looked at")
                          : S_ISREG(info.st_mode) ? NULL
                          : S_ISLNK(info.st_mode) ? is_link
                          : S_ISDIR(info.st_mode) ? is_deep
                                                  : is_odd;
    return cli_list_add(out, name, problem, diags);
}

static bool walk(const char *root, const char *below, int depth, cli_list *out, pv_diags *diags)
{
    char *path = *below != '\0' ? cli_join(root, below) : cli_join(root, ".");
    DIR *folder = path != NULL ? opendir(path) : NULL;
    if (folder == NULL) {
        if (path == NULL)
            cli_no_memory(diags);
        else
            pv_diags_say(diags, PV_ERROR, PV_CAUSE_INPUT, NULL, "cannot open the folder %s: %s",
                         *below != '\0' ? path : root, strerror(errno));
        free(path);
        return false;
    }
    free(path);
    bool good = true;
    size_t before = out->n;
    for (struct dirent *entry; good && (entry = readdir(folder)) != NULL;)
        if (!is_litter(entry->d_name))
            good = take_entry(
                root, *below != '\0' ? cli_join(below, entry->d_name) : cli_join("", entry->d_name),
                depth, out, diags);
    closedir(folder);
    /* So that a team that sent nothing is seen. */
    if (good && depth == 1 && out->n == before)
        good = cli_list_add(out, cli_join(below, ""), cli_no_file, diags);
    return good;
}

bool cli_walk(const char *folder, cli_list *out, pv_diags *diags)
{
    bool good = walk(folder, "", 0, out, diags);
    if (good && out->n > 0)
        qsort(out->items, out->n, sizeof *out->items, by_name);
    return good;
}

/* ---- making ---- */

bool cli_make_folder(const char *name, pv_diags *diags)
{
    struct stat info;
    if (mkdir(name, 0777) == 0 ||
        (errno == EEXIST && stat(name, &info) == 0 && S_ISDIR(info.st_mode)))
        return true;
    pv_diags_say(diags, PV_ERROR, PV_CAUSE_CREATE, NULL, "cannot make the folder %s: %s", name,
                 strerror(errno));
    return false;
}

/* ---- reading a stranger's file ---- */

static bool refuse(pv_diags *diags, pv_cause cause, const char *why)
{
    pv_diags_say(diags, PV_ERROR, cause, NULL, "%s", why);
    return false;
}

static bool fill(int fd, size_t size, cli_bytes *out, pv_diags *diags)
{
    unsigned char *data = malloc(size + 1);
    if (data == NULL)
        return cli_no_memory(diags);
    size_t n = 0;
    ssize_t got = 1;
    while (n < size && (got > 0 || (got < 0 && errno == EINTR)))
        if ((got = read(fd, data + n, size - n)) > 0)
            n += (size_t)got;
    if (got < 0) {
        free(data);
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_INPUT, NULL, "it cannot be read: %s",
                     strerror(errno));
        return false;
    }
    data[n] = '\0';
    *out = (cli_bytes){data, n};
    return true;
}

bool cli_read_strangers(const char *name, size_t limit, cli_bytes *out, pv_diags *diags)
{
    struct stat info;
    *out = (cli_bytes){NULL, 0};
    /* Without waiting: a pipe that nobody writes to would hold us up. */
    int fd = open(name, O_RDONLY | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK);
    if (fd < 0 && errno == ELOOP)
        return refuse(diags, PV_CAUSE_INPUT, is_link);
    if (fd < 0 || fstat(fd, &info) != 0) {
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_INPUT, NULL, "it cannot be opened: %s",
                     strerror(errno));
        if (fd >= 0)
            close(fd);
        return false;
    }
    bool good = S_ISREG(info.st_mode) || refuse(diags, PV_CAUSE_INPUT, is_odd);
    if (good && (info.st_size < 0 || (unsigned long long)info.st_size > limit)) {
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_LIMIT, NULL,
                     "it is larger than the limit of %zu bytes", limit);
        good = false;
    }
    good = good && fill(fd, (size_t)info.st_size, out, diags);
    close(fd);
    return good;
}
