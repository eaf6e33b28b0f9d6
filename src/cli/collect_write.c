/* The folder of results, but for what the library keeps in it. */
#include "collect.h"

#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define REPORT_MAX (64u << 20) /* bytes of one picture's report */
#define UP_MAX     1000        /* folders in folders */

/* "RESULTS/A", "RESULTS/A/B.C"; NULL where memory ran out. */
static char *inside(const cli_collect_request *r, const char *folder, const char *name,
                    const char *end)
{
    size_t size = strlen(r->output) + strlen(folder) + strlen(name) + strlen(end) + 4;
    char *out = malloc(size);
    if (out != NULL)
        snprintf(out, size, "%s/%s%s%s%s", r->output, folder, *folder != '\0' ? "/" : "", name,
                 end);
    return out;
}

bool cli_collect_folder(const cli_collect_request *r, const char *name, pv_diags *diags)
{
    char *folder = inside(r, "", name, "");
    bool good = folder != NULL ? cli_make_folder(folder, diags) : cli_no_memory(diags);
    free(folder);
    return good;
}

bool cli_collect_has_report(void *context, const char *name)
{
    const cli_collect_work *w = context;
    char *path = inside(w->r, "report", name, ".html");
    bool there = path != NULL && access(path, F_OK) == 0;
    free(path);
    return there;
}

bool cli_collect_take_report(void *context, const char *name, const char *html, pv_diags *diags)
{
    const cli_collect_work *w = context;
    char *path = inside(w->r, "report", name, ".html");
    bool good =
        path != NULL ? cli_write(path, html, strlen(html), true, diags) : cli_no_memory(diags);
    free(path);
    return good;
}

/* Of results that are put together: each picture's report out of whichever folder has it. */
bool cli_collect_copy_reports(const cli_collect_request *r, const pv_tally *tally, pv_diags *diags)
{
    cli_collect_work w = {.r = r};
    bool good = cli_collect_folder(r, "report", diags);
    for (size_t i = 0; good && i < pv_tally_pictures(tally); i++) {
        const char *name = pv_tally_report(tally, i);
        for (size_t k = 0; good && k < r->n && name != NULL && !cli_collect_has_report(&w, name);
             k++) {
            cli_collect_request part = {.output = r->operands[k]};
            char *from = inside(&part, "report", name, ".html");
            cli_bytes page = {NULL, 0};
            good = from != NULL || cli_no_memory(diags);
            if (good && access(from, F_OK) == 0)
                good = cli_is_file(from, diags) &&
                       cli_read_kind(from, PV_FILE_PAGE, REPORT_MAX, &page, diags) &&
                       cli_collect_take_report(&w, name, (const char *)page.data, diags);
            free(page.data);
            free(from);
        }
    }
    return good;
}

/* Takes the text over. */
static bool write_inside(const cli_collect_request *r, const char *folder, const char *name,
                         char *text, pv_diags *diags)
{
    char *path = inside(r, folder, name, "");
    bool good = path != NULL || cli_no_memory(diags);
    good = good && cli_write_text(path, text, true, diags);
    if (path == NULL)
        pv_free(text);
    free(path);
    return good;
}

/* ---- what former runs left ---- */

static int by_name(const void *a, const void *b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

/* Removes from a folder of results what is one of our pages and is no longer named. */
static bool prune(const cli_collect_request *r, const char *folder, const char **names, size_t n,
                  pv_diags *diags)
{
    char *root = inside(r, "", folder, "");
    cli_list files = {.items = NULL};
    struct stat info;
    bool there = root != NULL && stat(root, &info) == 0;
    bool good = root != NULL ? !there || cli_walk(root, &files, diags) : cli_no_memory(diags);
    qsort(names, n, sizeof *names, by_name);
    for (size_t i = 0; good && i < files.n; i++) {
        const char *name = files.items[i].name;
        if (bsearch(&name, names, n, sizeof *names, by_name) != NULL)
            continue;
        char *path = cli_join(root, name);
        if (path == NULL)
            good = cli_no_memory(diags);
        else if (files.items[i].problem == NULL && cli_is_ours(path))
            unlink(path);
        free(path);
    }
    cli_list_free(&files);
    free(root);
    return good;
}

/* Pages of teams that are gone, and reports of pictures that are. */
static bool prune_all(const cli_collect_request *r, const pv_tally *tally, pv_diags *diags)
{
    size_t n = 0, teams = 0, reports = 0;
    while (pv_tally_team_at(tally, teams) != NULL)
        teams++;
    n = pv_tally_pictures(tally);
    const char **names = calloc(teams + n + 1, sizeof *names);
    char(*files)[40] = calloc(n + 1, sizeof *files);
    if (names == NULL || files == NULL) {
        free((void *)names);
        free(files);
        return cli_no_memory(diags);
    }
    for (size_t i = 0; i < teams; i++)
        names[i] = pv_tally_team_at(tally, i)->page;
    bool good = prune(r, "team", names, teams, diags);
    for (size_t i = 0; good && i < n; i++) {
        const char *name = pv_tally_report(tally, i);
        if (name == NULL)
            continue;
        snprintf(files[reports], sizeof files[reports], "%.32s.html", name);
        names[reports] = files[reports];
        reports++;
    }
    good = good && prune(r, "report", names, reports, diags);
    free((void *)names);
    free(files);
    return good;
}

/* Into each report, whose picture it is; those that say it already stay as they are. */
static bool place_reports(const cli_collect_request *r, const pv_tally *tally, pv_diags *diags)
{
    bool good = true;
    for (size_t i = 0; good && i < pv_tally_pictures(tally); i++) {
        const char *name = pv_tally_report(tally, i);
        char *path = name != NULL ? inside(r, "report", name, ".html") : NULL;
        cli_bytes page = {NULL, 0};
        good = name == NULL || path != NULL || cli_no_memory(diags);
        if (path != NULL && access(path, F_OK) == 0) {
            good = cli_is_file(path, diags) &&
                   cli_read_kind(path, PV_FILE_PAGE, REPORT_MAX, &page, diags);
            char *placed = good ? pv_tally_place(tally, i, (const char *)page.data, diags) : NULL;
            good = placed != NULL;
            if (good && strcmp(placed, (const char *)page.data) != 0)
                good = cli_write(path, placed, strlen(placed), true, diags);
            pv_free(placed);
        }
        free(page.data);
        free(path);
    }
    return good;
}

/* What follows from the results. */
bool cli_collect_write(const cli_collect_request *r, const pv_tally *tally, pv_diags *diags)
{
    bool good = write_inside(r, "", "results.csv", pv_tally_csv(tally), diags) &&
                write_inside(r, "", "index.html", pv_tally_html(tally, diags), diags) &&
                cli_collect_folder(r, "team", diags);
    const pv_team_info *team;
    for (size_t i = 0; good && (team = pv_tally_team_at(tally, i)) != NULL; i++)
        good = write_inside(r, "team", team->page, pv_tally_team_html(tally, i, diags), diags);
    return good && place_reports(r, tally, diags) && prune_all(r, tally, diags);
}

/* The folder of results must not lie among the pictures, or they would be taken for some: neither
 * it nor a folder above it is theirs. */
static bool lies_apart(const cli_collect_request *r, pv_diags *diags)
{
    struct stat pictures, at, above;
    if (r->n < 2 || stat(r->operands[1], &pictures) != 0 || stat(r->output, &at) != 0)
        return true;
    char *path = cli_join(r->output, "");
    bool apart = true, top = false;
    for (int i = 0; path != NULL && apart && !top && i < UP_MAX; i++) {
        apart = at.st_dev != pictures.st_dev || at.st_ino != pictures.st_ino;
        char *up = cli_join(path, "..");
        free(path);
        path = up;
        top = path == NULL || stat(path, &above) != 0 ||
              (above.st_dev == at.st_dev && above.st_ino == at.st_ino);
        at = above;
    }
    free(path);
    if (!apart)
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_USAGE, "name a folder beside it",
                     "the results %s would lie among the pictures", r->output);
    return apart;
}

/* A folder that holds something else is somebody's: its index.html would be lost. */
static bool is_ours(const cli_collect_request *r, const char *results, pv_diags *diags)
{
    struct stat info;
    cli_list files = {.items = NULL};
    if (lstat(results, &info) == 0)
        return true;
    bool good = cli_walk(r->output, &files, diags);
    /* Looked for again: another program may have begun results here in between. */
    if (good && files.n > 0 && lstat(results, &info) != 0) {
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_USAGE, "name a new or an empty folder with -o",
                     "%s is there already, and holds no results", r->output);
        good = false;
    }
    cli_list_free(&files);
    return good;
}

pv_results *cli_collect_open(const cli_collect_request *r, pv_diags *diags)
{
    char *name = inside(r, "", "results", ".sqlite");
    pv_results *out = NULL;
    bool fresh = access(r->output, F_OK) != 0;
    if (name == NULL)
        cli_no_memory(diags);
    else if (cli_make_folder(r->output, diags) && (r->merge || lies_apart(r, diags)) &&
             is_ours(r, name, diags))
        out = pv_results_open(name, diags);
    if (out == NULL && fresh)
        rmdir(r->output); /* among the pictures it would be a team */
    free(name);
    return out;
}
