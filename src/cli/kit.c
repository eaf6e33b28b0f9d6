/* pavior kit: the folder that an organiser publishes, or the same as a ZIP archive. */
#include "cli.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

typedef struct request {
    const char *course, *output, *font; /* may be NULL */
    pv_kit_options options;
    bool zip, json, replace, progress, quiet;
    char *name;                            /* owned: what is made */
    char *papers[PV_KIT_PAPERS_MAX];       /* owned */
    const char *listed[PV_KIT_PAPERS_MAX]; /* the same, as the library takes them */
    double rolls[PV_KIT_PAPERS_MAX];
    const char *former;                      /* folder of the kit to compare with, or NULL */
    pv_plan *older[PV_KIT_PAPERS_MAX];       /* owned: its plans */
    const pv_plan *plans[PV_KIT_PAPERS_MAX]; /* the same, as the library takes them */
} request;

/* ---- options ---- */

/* Calls `each` for the words between commas, blanks around them left out. */
static bool take_list(request *r, const char *text, bool (*each)(request *r, const char *word))
{
    for (const char *word = text;; word++) {
        const char *comma = strchr(word, ','), *end = comma != NULL ? comma : word + strlen(word);
        const char *last = end;
        while (word < last && *word == ' ')
            word++;
        while (last > word && last[-1] == ' ')
            last--;
        char *copy = strndup(word, (size_t)(last - word));
        if (copy == NULL)
            return cli_no_memory(NULL);
        bool good = each(r, copy);
        free(copy);
        if (!good || comma == NULL)
            return good;
        word = comma;
    }
}

static bool too_many(const request *r)
{
    if (r->options.n_papers + r->options.n_rolls < PV_KIT_PAPERS_MAX)
        return false;
    cli_usage("kit", "a kit takes at most %u papers", PV_KIT_PAPERS_MAX);
    return true;
}

static bool add_paper(request *r, const char *word)
{
    if (too_many(r))
        return false;
    char *copy = strdup(word);
    if (copy == NULL)
        return cli_no_memory(NULL);
    r->listed[r->options.n_papers] = copy;
    r->papers[r->options.n_papers++] = copy;
    return true;
}

static bool add_roll(request *r, const char *word)
{
    double width = 0;
    if (too_many(r) || !cli_length("kit", "--roll", word, &width))
        return false;
    r->rolls[r->options.n_rolls++] = width;
    if (!(width > 0))
        cli_usage("kit", "--roll must be more than 0 mm");
    return width > 0;
}

static bool take_papers(void *to, const char *text)
{
    return take_list(to, text, add_paper);
}

static bool take_rolls(void *to, const char *text)
{
    return take_list(to, text, add_roll);
}

/* "quayside-kit" or "quayside-kit.zip" for layouts/quayside.course; NULL where memory ran out. The
 * caller frees it. */
static char *usual_name(const request *r)
{
    const char *base = r->course, *slash = strrchr(base, '/');
    base = strcmp(base, "-") == 0 ? "course" : slash != NULL ? slash + 1 : base;
    const char *dot = strrchr(base, '.');
    size_t stem = dot != NULL && dot != base ? (size_t)(dot - base) : strlen(base);
    size_t room = stem + sizeof "-kit.zip";
    char *name = malloc(room);
    if (name != NULL)
        snprintf(name, room, "%.*s-kit%s", (int)stem, base, r->zip ? ".zip" : "");
    return name;
}

/* As it was given, or with .zip where an archive's name lacks it; NULL where memory ran out. The
 * caller frees it. */
static char *given_name(const request *r)
{
    size_t length = strlen(r->output);
    bool lacks = r->zip && !cli_is_output(r->output) && !cli_is_stream(r->output) &&
                 (length < 4 || strcasecmp(r->output + length - 4, ".zip") != 0);
    char *name = malloc(length + sizeof ".zip");
    if (name != NULL)
        snprintf(name, length + sizeof ".zip", "%s%s", r->output, lacks ? ".zip" : "");
    return name;
}

static int check_names(request *r)
{
    r->name = r->output != NULL ? given_name(r) : usual_name(r);
    if (r->name == NULL) {
        cli_no_memory(NULL);
        return CLI_OS;
    }
    if (!r->zip && (strcmp(r->name, "-") == 0 || cli_is_stream(r->name)))
        return cli_usage("kit", "a kit is a folder: only with --zip can it go to %.100s",
                         strcmp(r->name, "-") == 0 ? "standard output" : r->name);
    if (r->zip && cli_is_output(r->name) && isatty(STDOUT_FILENO) == 1)
        return cli_usage("kit", "refusing to write an archive to a terminal: redirect it");
    return cli_overwrites("kit", r->name, "course", r->course) ? CLI_USAGE : CLI_OK;
}

static int read_options(request *r, int argc, char **argv)
{
    const cli_option options[] = {{"paper", 'p', .take = take_papers},
                                  {"roll", 0, .take = take_rolls},
                                  {"url", 0, .word = &r->options.url},
                                  {"contact", 0, .word = &r->options.contact},
                                  {"compare", 0, .word = &r->former},
                                  {"font", 0, .word = &r->font},
                                  {"language", 0, .language = &r->options.language},
                                  {"output", 'o', .word = &r->output},
                                  {"zip", 0, .flag = &r->zip},
                                  {"replace", 0, .flag = &r->replace},
                                  {"json", 0, .flag = &r->json},
                                  {"progress", 0, .flag = &r->progress},
                                  {"quiet", 'q', .flag = &r->quiet},
                                  {0}};
    int n = cli_options("kit", options, r, argc, argv);
    if (n < 0)
        return CLI_USAGE;
    if (n == 0)
        return cli_usage("kit", "no course given");
    if (n > 1)
        return cli_usage("kit", "one course at a time: \"%.100s\" is a second", argv[1]);
    r->course = argv[0];
    r->options.papers = r->listed;
    r->options.rolls = r->rolls;
    return check_names(r);
}

/* ---- the former kit ---- */

typedef struct reading {
    request *r;
    pv_diags *diags;
    bool failed;
} reading;

/* "former/name"; NULL where memory ran out. The caller frees it. */
static char *in_former(const request *r, const char *name)
{
    size_t room = strlen(r->former) + strlen(name) + 2;
    char *path = malloc(room);
    if (path != NULL)
        snprintf(path, room, "%s/%s", r->former, name);
    return path;
}

/* Only as it was published: of a changed plan no sheet could be said to be still good. */
static bool read_plan(reading *in, const char *path, const char *sum)
{
    request *r = in->r;
    cli_bytes text;
    char now[65];
    if (!cli_is_file(path, in->diags) ||
        !cli_read_kind(path, PV_FILE_PLAN, PV_PLAN_BYTES_MAX, &text, in->diags))
        return false;
    pv_kit_sum(text.data, text.size, now);
    if (strcmp(now, sum) != 0) {
        free(text.data);
        pv_diags_say(in->diags, PV_ERROR, PV_CAUSE_DATA,
                     "give the former kit as it was published, or a fresh copy of it",
                     "%s has changed since its kit was made", path);
        return false;
    }
    pv_plan *plan = pv_plan_parse((const char *)text.data, text.size, path, in->diags);
    free(text.data);
    if (plan == NULL)
        return false;
    r->older[r->options.n_older] = plan;
    r->plans[r->options.n_older++] = plan;
    return true;
}

/* A pv_kit_seen: of the files of a kit the plans of its mats. */
static bool read_older(void *context, const char *name, const char *sum)
{
    reading *in = context;
    size_t length = strlen(name), ending = strlen(".plan.json");
    const char *base = strrchr(name, '/');
    if (length < ending || strcmp(name + length - ending, ".plan.json") != 0 || base == NULL ||
        strncmp(base, "/mat-", 5) != 0 || in->r->options.n_older == PV_KIT_PAPERS_MAX)
        return true;
    char *path = in_former(in->r, name);
    bool good = path != NULL ? read_plan(in, path, sum) : cli_no_memory(in->diags);
    free(path);
    in->failed = in->failed || !good;
    return true;
}

static bool fail_former(const request *r, pv_cause cause, const char *lack, pv_diags *diags)
{
    pv_diags_say(diags, PV_ERROR, cause,
                 "name the folder that pavior kit made for the former edition", "%s has no %s",
                 r->former, lack);
    return false;
}

static bool read_former(request *r, pv_diags *diags)
{
    if (r->former == NULL)
        return true;
    cli_bytes sums = {0};
    reading in = {.r = r, .diags = diags};
    char *path = in_former(r, "SHA256SUMS");
    bool good = path == NULL ? cli_no_memory(diags)
                : access(path, F_OK) != 0 && errno != EACCES
                    ? fail_former(r, PV_CAUSE_INPUT, "SHA256SUMS", diags)
                    : cli_is_file(path, diags) && cli_read(path, CLI_SUMS_MAX, &sums, diags);
    free(path);
    if (!good)
        return false;
    good =
        pv_kit_sums_read((const char *)sums.data, sums.size, read_older, &in, diags) && !in.failed;
    free(sums.data);
    if (good && r->options.n_older == 0)
        good = fail_former(r, PV_CAUSE_DATA, "plan of a mat", diags);
    r->options.older = r->plans;
    return good;
}

/* ---- where it goes ---- */

/* A folder, or a ZIP archive: in a file of its own, or in a stream. */
typedef struct target {
    cli_folder_staged *folder;
    pv_kit_zip *zip;
    cli_staged staged; /* the archive, where it goes to a file */
    int fd;
    const char *name;
} target;

/* A pv_bytes_sink. */
static bool take_bytes(void *context, const void *bytes, size_t size, pv_diags *diags)
{
    const target *t = context;
    return cli_write_all(t->fd, bytes, size) ||
           cli_fail_file(diags, PV_CAUSE_OUTPUT, "write", t->name, errno);
}

/* The folder in the archive: the archive's name without its ending. */
static char *folder_in(const char *name)
{
    const char *slash = strrchr(name, '/'), *base = slash != NULL ? slash + 1 : name;
    if (strcmp(name, "-") == 0)
        base = "kit";
    size_t length = strlen(base);
    if (length > 4 && strcasecmp(base + length - 4, ".zip") == 0)
        length -= 4;
    /* "...zip" must not lead out of where it is unpacked. */
    if (strspn(base, ".") >= length)
        return strdup("kit");
    return strndup(base, length);
}

static bool open_zip(target *t, const request *r, pv_diags *diags)
{
    if (cli_is_output(r->name))
        t->fd = STDOUT_FILENO;
    else if (cli_is_stream(r->name))
        t->fd = open(r->name, O_WRONLY | O_CLOEXEC);
    else if (!r->replace && access(r->name, F_OK) == 0) {
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_USAGE,
                     "name another file, or move that one away; --replace overwrites it",
                     "%s is there already", r->name);
        return false;
    } else if (cli_stage(r->name, "", 0, &t->staged, diags))
        t->fd = open(t->staged.beside, O_WRONLY | O_APPEND | O_CLOEXEC);
    else
        return false;
    if (t->fd < 0)
        return cli_fail_file(diags, PV_CAUSE_CREATE, "open", r->name, errno);
    char *folder = folder_in(r->name);
    t->zip = folder != NULL ? pv_kit_zip_open(folder, take_bytes, t, diags) : NULL;
    if (folder == NULL)
        cli_no_memory(diags);
    free(folder);
    return t->zip != NULL;
}

static bool open_target(target *t, const request *r, pv_diags *diags)
{
    *t = (target){.fd = -1, .name = r->name};
    if (r->zip)
        return open_zip(t, r, diags);
    t->folder = cli_folder_stage(r->name, r->replace, diags);
    return t->folder != NULL;
}

static bool settle(target *t, const request *r, pv_diags *diags)
{
    if (t->folder != NULL)
        return cli_folder_settle(t->folder, diags);
    bool good = pv_kit_zip_close(t->zip, diags);
    t->zip = NULL;
    if (!good || t->fd == STDOUT_FILENO)
        return good;
    int fd = t->fd;
    t->fd = -1;
    cli_staged *all[] = {&t->staged};
    return cli_fill(fd, r->name, "", 0, t->staged.beside != NULL, diags) &&
           (t->staged.beside == NULL || cli_settle(all, &t->name, 1, r->replace, diags));
}

/* Leaves nothing of what was not put in place. */
static void drop(target *t)
{
    pv_kit_zip_free(t->zip);
    if (t->fd >= 0 && t->fd != STDOUT_FILENO)
        close(t->fd);
    cli_discard(&t->staged);
    cli_folder_discard(t->folder);
}

/* ---- telling ---- */

static void say(FILE *to, const request *r, const pv_kit *kit)
{
    const pv_kit_info *info = pv_kit_info_of(kit);
    fprintf(to, "%s, edition %s: %g x %g mm\n", info->name, info->edition, info->mat[0],
            info->mat[1]);
    for (size_t i = 0; i < info->papers; i++) {
        const pv_kit_paper *p = pv_kit_paper_at(kit, i);
        fprintf(to, "%-10s %zu %s%s, kit %s, about ", p->id, p->sheets,
                p->roll > 0 ? "page" : "sheet", p->sheets == 1 ? "" : "s", p->kit);
        cli_show_minutes(to, p->minutes);
        fputs(p->sheets == 1 ? " to cut\n" : " to cut and tape\n", to);
        if (p->compared)
            fprintf(to, "           %zu of them must be printed again\n", p->again);
    }
    fputs("kit        ", to);
    cli_show(to, r->name);
    fprintf(to, ", %zu files, %.1f MB\n", info->files, (double)info->bytes / 1e6);
    if (!r->zip) {
        fputs("\nBegin with ", to);
        cli_show(to, r->name);
        fputs("/index.html. To check a copy: sha256sum -c SHA256SUMS\n", to);
    }
}

static void say_text(FILE *to, const char *before, const char *text)
{
    char *quoted = pv_text_json(text);
    fprintf(to, "%s%s", before, quoted != NULL ? quoted : "null");
    pv_free(quoted);
}

static void say_json(FILE *to, const request *r, const pv_kit *kit)
{
    const pv_kit_info *info = pv_kit_info_of(kit);
    say_text(to, r->zip ? "{\n  \"zip\": " : "{\n  \"folder\": ", r->name);
    say_text(to, ",\n  \"name\": ", info->name);
    say_text(to, ",\n  \"edition\": ", info->edition);
    fprintf(to, ",\n  \"files\": %zu,\n  \"bytes\": %zu,\n  \"papers\": [", info->files,
            info->bytes);
    for (size_t i = 0; i < info->papers; i++) {
        const pv_kit_paper *p = pv_kit_paper_at(kit, i);
        say_text(to, i == 0 ? "\n    {\"id\": " : ",\n    {\"id\": ", p->id);
        say_text(to, ", \"paper\": ", p->paper);
        say_text(to, ", \"kit\": ", p->kit);
        fprintf(to, ", \"sheets\": %zu, \"pages\": %zu, \"pdfs\": %zu", p->sheets, p->pages,
                p->pdfs);
        say_text(to, ", \"plan\": ", p->plan);
        fputc('}', to);
    }
    fputs("\n  ]\n}\n", to);
}

/* ---- all together ---- */

static pv_kit *make(request *r, target *t, pv_type *type, pv_diags *diags)
{
    cli_bytes text, checker = {0}, maker = {0};
    cli_progress progress;
    if (!cli_read_kind(r->course, PV_FILE_COURSE, PV_COURSE_BYTES_MAX, &text, diags))
        return NULL;
    pv_kit *kit = NULL;
    if (cli_kit_scripts(&checker, &maker, diags) && open_target(t, r, diags)) {
        r->options.checker = checker.data;
        r->options.checker_size = checker.size;
        r->options.maker = maker.data;
        r->options.maker_size = maker.size;
        if (cli_progress_start(&progress, "papers", r->progress, r->quiet))
            r->options.progress = cli_progress_show;
        r->options.progress_context = &progress;
        kit = pv_kit_make((const char *)text.data, text.size, cli_input_name(r->course), type,
                          &r->options, r->zip ? pv_kit_zip_add : cli_folder_add,
                          r->zip ? (void *)t->zip : (void *)t->folder, diags);
        cli_progress_end(&progress);
    }
    free(checker.data);
    free(maker.data);
    free(text.data);
    return kit;
}

static int make_kit(request *r)
{
    target t = {.fd = -1};
    pv_diags *diags = pv_diags_new();
    if (diags == NULL) {
        cli_no_memory(NULL);
        return CLI_OS;
    }
    pv_type *type = pv_type_open(r->font, diags);
    pv_kit *kit = type != NULL && read_former(r, diags) ? make(r, &t, type, diags) : NULL;
    bool good = kit != NULL && settle(&t, r, diags);
    cli_report(diags, r->quiet);
    int status = good ? CLI_OK : cli_status(diags);
    FILE *to = cli_is_output(r->name) ? stderr : stdout;
    if (good && r->json)
        say_json(to, r, kit);
    else if (good && !r->quiet)
        say(to, r, kit);
    drop(&t);
    pv_kit_free(kit);
    pv_type_free(type);
    pv_diags_free(diags);
    return status;
}

int cli_kit(int argc, char **argv)
{
    request r = {.options = pv_kit_defaults()};
    int status = read_options(&r, argc, argv);
    if (status == CLI_OK)
        status = make_kit(&r);
    for (size_t i = 0; i < r.options.n_papers; i++)
        free(r.papers[i]);
    for (size_t i = 0; i < r.options.n_older; i++)
        pv_plan_free(r.older[i]);
    free(r.name);
    return status;
}
