/* What pavior collect works on: the kit's plans, and the pictures. */
#include "collect.h"

#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#define BYTE_ORDER_MARK "\xEF\xBB\xBF" /* which spreadsheets put before a table */
#define LIST_MAX        (256u << 20)   /* bytes; ours */

/* ---- the kit ---- */

static bool is_plan(const char *name)
{
    static const char end[] = ".plan.json";
    size_t length = strlen(name);
    return length >= sizeof end - 1 && strcmp(name + length - (sizeof end - 1), end) == 0;
}

static bool read_plan(cli_collect_work *w, const char *name, pv_diags *diags)
{
    cli_bytes bytes;
    if (w->n_plans == CLI_PLANS_MAX) {
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_LIMIT, NULL, "a kit may have %d plans at most",
                     CLI_PLANS_MAX);
        return false;
    }
    if (!cli_read_kind(name, PV_FILE_PLAN, PV_PLAN_BYTES_MAX, &bytes, diags))
        return false;
    pv_plan *plan = pv_plan_parse((const char *)bytes.data, bytes.size, name, diags);
    free(bytes.data);
    if (plan != NULL)
        w->plans[w->n_plans++] = plan;
    return plan != NULL;
}

/* All plans in the kit's folder; or one plan by itself. */
bool cli_collect_kit(cli_collect_work *w, const char *kit, pv_diags *diags)
{
    struct stat info;
    if (stat(kit, &info) == 0 && S_ISREG(info.st_mode))
        return read_plan(w, kit, diags);
    cli_list files = {.items = NULL};
    bool good = cli_walk(kit, &files, diags);
    for (size_t i = 0; good && i < files.n; i++) {
        if (!is_plan(files.items[i].name) || files.items[i].problem != NULL)
            continue;
        char *name = cli_join(kit, files.items[i].name);
        good = name != NULL ? read_plan(w, name, diags) : cli_no_memory(diags);
        free(name);
    }
    cli_list_free(&files);
    if (good && w->n_plans == 0) {
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_DATA, "give the folder that pavior kit made",
                     "%s has no .plan.json file", kit);
        good = false;
    }
    return good;
}

/* ---- the pictures ---- */

/* "TEAM,PATH", or with a tab: one line of a list. Its text is changed. */
static bool take_line(cli_collect_work *w, char *line, size_t number, pv_diags *diags)
{
    size_t length = strlen(line);
    if (length > 0 && line[length - 1] == '\r')
        line[--length] = '\0';
    if (length == 0)
        return true;
    char *cut = strchr(line, '\t');
    if (cut == NULL)
        cut = strchr(line, ',');
    if (cut != NULL && cut[1] != '\0')
        return cli_list_add(&w->files, strdup(line), NULL, diags);
    pv_diags_say(diags, PV_ERROR, PV_CAUSE_DATA, "write TEAM,PATH",
                 "line %zu of the list has no "
                 "team and path",
                 number);
    return false;
}

static bool read_list(cli_collect_work *w, const char *name, pv_diags *diags)
{
    cli_bytes bytes;
    if (!cli_read(name, LIST_MAX, &bytes, diags))
        return false;
    bool good = true;
    size_t number = 0;
    bool marked = strncmp((char *)bytes.data, BYTE_ORDER_MARK, strlen(BYTE_ORDER_MARK)) == 0;
    char *first = (char *)bytes.data + (marked ? strlen(BYTE_ORDER_MARK) : 0);
    for (char *at = first, *line = at; good && line != NULL; line = at) {
        at = strchr(line, '\n');
        if (at != NULL)
            *at++ = '\0';
        good = take_line(w, line, ++number, diags);
    }
    free(bytes.data);
    return good;
}

/* The team, and the file: cut at the first of the separators in its name. Without one it belongs to
 * none. */
static pv_collect_picture cut(char *name, bool listed)
{
    char *at = listed ? strchr(name, '\t') : strchr(name, '/');
    if (at == NULL && listed)
        at = strchr(name, ',');
    if (at == NULL)
        return (pv_collect_picture){"", name};
    *at = '\0';
    return (pv_collect_picture){name, at + 1};
}

bool cli_collect_find(cli_collect_work *w, pv_diags *diags)
{
    const cli_collect_request *r = w->r;
    w->folder = r->n > 1 ? r->operands[1] : NULL;
    bool listed = r->list != NULL;
    if (!(listed ? read_list(w, r->list, diags) : cli_walk(w->folder, &w->files, diags)))
        return false;
    w->pictures = calloc(w->files.n + 1, sizeof *w->pictures);
    w->file_of = calloc(w->files.n + 1, sizeof *w->file_of);
    if (w->pictures == NULL || w->file_of == NULL)
        return cli_no_memory(diags);
    size_t step = r->parts > 0 ? (size_t)r->parts : 1;
    for (size_t i = r->parts > 0 ? (size_t)r->part - 1 : 0; i < w->files.n; i += step) {
        w->pictures[w->n] = cut(w->files.items[i].name, listed);
        w->file_of[w->n++] = i;
    }
    return true;
}

/* A picture's path; NULL where memory ran out. */
static char *path_of(const cli_collect_work *w, size_t index)
{
    const pv_collect_picture *one = &w->pictures[index];
    if (w->folder == NULL)
        return cli_join("", one->file);
    if (w->r->list != NULL || *one->team == '\0')
        return cli_join(w->folder, one->file);
    char *team = cli_join(w->folder, one->team);
    char *path = team != NULL ? cli_join(team, one->file) : NULL;
    free(team);
    return path;
}

/* A pv_collect_read. */
bool cli_collect_read(void *context, size_t index, unsigned char **bytes, size_t *size,
                      pv_diags *diags)
{
    const cli_collect_work *w = context;
    const char *problem = w->files.items[w->file_of[index]].problem;
    if (problem != NULL) {
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_INPUT, NULL, "%s", problem);
        return false;
    }
    char *path = path_of(w, index);
    cli_bytes got = {NULL, 0};
    bool good = path != NULL ? cli_read_strangers(path, PV_IMAGE_BYTES_MAX, &got, diags)
                             : cli_no_memory(diags);
    free(path);
    if (good) {
        *bytes = got.data;
        *size = got.size;
    }
    return good;
}
