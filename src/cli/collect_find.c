/* What pavior collect works on: the kit's plans, and the pictures. */
#include "collect.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#define BYTE_ORDER_MARK "\xEF\xBB\xBF" /* which spreadsheets put before a table */
#define LIST_MAX        (256u << 20)   /* bytes; ours */
#define KIT_JSON_MAX    (64u << 20)    /* bytes; ours */
#define SCANNER_MAX     1000           /* bytes of a scanner.txt; ours */

/* Marks what the library says in the results' language (src/po/words.py). */
#define PV_SAID(english) english

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

/* What is one of a kit's files. False, and said, where it is a plan that isn't read, or a folder
 * that may have some: their sheets would not be the kit's. */
static bool take_file(cli_collect_work *w, const char *name, const char *problem, pv_diags *diags)
{
    struct stat info;
    if (problem == NULL)
        return !is_plan(name) || read_plan(w, name, diags);
    if (!is_plan(name) && (stat(name, &info) != 0 || !S_ISDIR(info.st_mode)))
        return true;
    pv_diags_say(diags, PV_ERROR, PV_CAUSE_INPUT, "or move it out of the kit's folder", "%s: %s",
                 name, problem);
    return false;
}

bool cli_collect_kit_json(cli_collect_work *w, const char *kit, pv_diags *diags)
{
    pv_diags *why = pv_diags_new();
    char *path = cli_join(kit, "kit.json");
    cli_bytes bytes = {NULL, 0};
    bool good = why != NULL && path != NULL;
    if (good && !cli_read_strangers(path, KIT_JSON_MAX, &bytes, why))
        good = pv_diags_cause(why) != PV_CAUSE_MEMORY;
    w->kit_json = (char *)bytes.data;
    free(path);
    pv_diags_free(why);
    return good || cli_no_memory(diags);
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
        const cli_listed *file = &files.items[i];
        char *name = file->problem != cli_no_file ? cli_join(kit, file->name) : NULL;
        if (name != NULL)
            good = take_file(w, name, file->problem, diags);
        else
            good = file->problem == cli_no_file || cli_no_memory(diags);
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

/* Where a line of a list, "TEAM,PATH" or "TEAM,PATH,KIND", has its separators: tabs, or else
 * commas. NULL where it has none. */
static char *separators(char *line, char **second)
{
    char *first = strchr(line, '\t');
    if (first == NULL)
        first = strchr(line, ',');
    *second = first != NULL ? strchr(first + 1, *first) : NULL;
    return first;
}

/* One line of a list. Its text is changed. */
static bool take_line(cli_collect_work *w, char *line, size_t number, pv_diags *diags)
{
    size_t length = strlen(line);
    if (length > 0 && line[length - 1] == '\r')
        line[--length] = '\0';
    if (length == 0)
        return true;
    char *second, *first = separators(line, &second);
    pv_scanner_kind kind;
    if (first == NULL || first[1] == '\0' || second == first + 1)
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_DATA, "write TEAM,PATH or TEAM,PATH,KIND",
                     "line %zu of the list has no team and path", number);
    else if (second != NULL && second[1] != '\0' && !cli_scanner_kind(second + 1, &kind))
        pv_diags_say(
            diags, PV_ERROR, PV_CAUSE_DATA,
            "after the path write flatbed, feeder, feeder-short or feeder-long, or nothing; "
            "if the path has commas, separate all three by tabs",
            "line %zu of the list: \"%.100s\" is no kind of scanner", number, second + 1);
    else
        return cli_list_add(&w->files, strdup(line), NULL, diags);
    return false;
}

static bool read_list(cli_collect_work *w, const char *name, pv_diags *diags)
{
    cli_bytes bytes;
    if (!cli_read(name, LIST_MAX, &bytes, diags))
        return false;
    /* What stands behind it would be lost. */
    bool good = strlen((char *)bytes.data) == bytes.size;
    if (!good)
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_DATA, "save it as plain text in UTF-8",
                     "the list has a byte of value 0");
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

/* A line of a list, cut at its separators. */
static pv_collect_picture cut_line(char *line)
{
    char *second, *first = separators(line, &second);
    pv_collect_picture out = {.team = line, .file = first + 1};
    *first = '\0';
    if (second != NULL) {
        *second = '\0';
        out.told = cli_scanner_kind(second + 1, &out.scanner);
    }
    return out;
}

/* The team's folder is cut off the name. What lies in none belongs to no team. */
static pv_collect_picture cut_name(char *name)
{
    char *slash = strchr(name, '/');
    if (slash == NULL)
        return (pv_collect_picture){.team = "", .file = name};
    *slash = '\0';
    return (pv_collect_picture){.team = name, .file = slash + 1};
}

/* If it is one of this part. */
static void add_picture(cli_collect_work *w, size_t i, const pv_collect_picture *picture)
{
    size_t step = w->r->parts > 0 ? (size_t)w->r->parts : 1;
    if (w->r->parts > 0 && i % step != (size_t)w->r->part - 1)
        return;
    w->pictures[w->n] = *picture;
    w->file_of[w->n++] = i;
}

/* ---- what a team scanned with ---- */

/* One word, with whatever an editor puts around it. */
static bool is_kind(char *text, size_t size, pv_scanner_kind *kind)
{
    static const char blank[] = " \t\r\n";
    text[size] = '\0';
    if (strlen(text) != size)
        return false;
    if (strncmp(text, BYTE_ORDER_MARK, strlen(BYTE_ORDER_MARK)) == 0)
        text += strlen(BYTE_ORDER_MARK);
    text += strspn(text, blank);
    size_t length = strcspn(text, blank);
    if (text[length + strspn(text + length, blank)] != '\0')
        return false;
    text[length] = '\0';
    return cli_scanner_kind(text, kind);
}

/* The kind that a team's scanner.txt names. It may be a stranger's, so what is wrong with it is the
 * file's own problem, and the scanner unknown. False, and said, where memory ran out. */
static bool read_kind(const cli_collect_work *w, cli_listed *file, pv_scanner_kind *kind,
                      pv_diags *diags)
{
    static const char no_kind[] =
        PV_SAID("it must hold one word: flatbed, feeder, feeder-short or feeder-long");
    *kind = PV_SCANNER_UNKNOWN;
    pv_diags *why = pv_diags_new();
    char *path = cli_join(w->folder, file->name);
    cli_bytes bytes = {NULL, 0};
    bool good = why != NULL && path != NULL;
    if (good && file->problem == NULL) {
        bool read = cli_read_strangers(path, SCANNER_MAX, &bytes, why);
        good = read || pv_diags_cause(why) != PV_CAUSE_MEMORY;
        if (!read || !is_kind((char *)bytes.data, bytes.size, kind))
            file->problem = no_kind;
    }
    free(bytes.data);
    free(path);
    pv_diags_free(why);
    return good || cli_no_memory(diags);
}

/* Past the last file of the same folder; of those in none, past that one. */
static size_t end_of_team(const cli_collect_work *w, size_t from)
{
    const char *first = w->files.items[from].name, *slash = strchr(first, '/');
    size_t to = from + 1, length = slash != NULL ? (size_t)(slash - first) + 1 : 0;
    while (slash != NULL && to < w->files.n && strncmp(w->files.items[to].name, first, length) == 0)
        to++;
    return to;
}

static bool tells_scanner(const char *name)
{
    const char *slash = strchr(name, '/');
    return slash != NULL && strcmp(slash + 1, "scanner.txt") == 0;
}

/* A team's files, of which one may tell its scanner: then that is no picture, unless it can't be
 * read, or is all that there is. */
static bool add_team(cli_collect_work *w, size_t from, size_t to, pv_diags *diags)
{
    size_t tells = from;
    pv_scanner_kind kind;
    while (tells < to && !tells_scanner(w->files.items[tells].name))
        tells++;
    if (tells < to && !read_kind(w, &w->files.items[tells], &kind, diags))
        return false;
    for (size_t i = from; i < to; i++) {
        pv_collect_picture picture = cut_name(w->files.items[i].name);
        if (tells < to) {
            picture.told = true;
            picture.scanner = kind;
        }
        if (i == tells && w->files.items[i].problem == NULL) {
            if (to - from > 1)
                continue;
            picture.file = "";
            w->files.items[i].problem = cli_no_file;
        }
        add_picture(w, i, &picture);
    }
    return true;
}

/* What the parts of the same files have in common: a file that comes or goes moves others from part
 * to part. */
static bool sum_names(cli_collect_work *w, pv_diags *diags)
{
    char *all = NULL;
    size_t size = 0;
    FILE *to = open_memstream(&all, &size);
    for (size_t i = 0; to != NULL && i < w->files.n; i++)
        fwrite(w->files.items[i].name, 1, strlen(w->files.items[i].name) + 1, to);
    bool good = to != NULL && !ferror(to);
    good = to != NULL && fclose(to) == 0 && good;
    if (good)
        pv_kit_sum(all, size, w->whole);
    free(all);
    return good || cli_no_memory(diags);
}

bool cli_collect_find(cli_collect_work *w, pv_diags *diags)
{
    const cli_collect_request *r = w->r;
    w->folder = r->n > 1 ? r->operands[1] : NULL;
    bool listed = r->list != NULL;
    if (!(listed ? read_list(w, r->list, diags) : cli_walk(w->folder, &w->files, diags)))
        return false;
    if (r->parts > 0 && !sum_names(w, diags))
        return false;
    w->pictures = calloc(w->files.n + 1, sizeof *w->pictures);
    w->file_of = calloc(w->files.n + 1, sizeof *w->file_of);
    if (w->pictures == NULL || w->file_of == NULL)
        return cli_no_memory(diags);
    bool good = true;
    for (size_t i = 0, to; good && i < w->files.n; i = to) {
        to = listed ? i + 1 : end_of_team(w, i);
        if (listed) {
            pv_collect_picture picture = cut_line(w->files.items[i].name);
            add_picture(w, i, &picture);
        } else {
            good = add_team(w, i, to, diags);
        }
    }
    return good;
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
