/* pavior collect: judging the pictures of many teams. */
#include "cli.h"

#include <ctype.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define PLANS_MAX  1000         /* of a kit; ours */
#define LIST_MAX   (256u << 20) /* bytes; ours */
#define REPORT_MAX (64u << 20)  /* bytes of one picture's report */
#define UP_MAX     1000         /* folders in folders */

typedef struct request {
    const char *output, *list; /* may be NULL */
    char **operands;
    size_t n;
    double jobs, part, parts; /* 0: not given */
    pv_inspect_options how;
    bool merge, no_reports, progress, quiet;
} request;

/* What a run works on. */
typedef struct work {
    const request *r;
    const char *folder; /* of the pictures; NULL: paths are as they are */
    cli_list files;     /* as listed; of a list the teams are cut out of */
    pv_collect_picture *pictures;
    size_t *file_of; /* each picture's, in `files` */
    size_t n;
    pv_plan *plans[PLANS_MAX];
    size_t n_plans;
    cli_progress bar;
    bool show;
} work;

/* The signal that asked to stop; outlives every call, since a handler is given nothing. */
static volatile sig_atomic_t asked_to_stop;

/* ---- options ---- */

static bool take_jobs(void *to, const char *text)
{
    request *r = to;
    if (!cli_number("collect", "-j", text, "", 1, PV_COLLECT_THREADS_MAX, &r->jobs))
        return false;
    r->jobs = (double)(size_t)r->jobs;
    return true;
}

static bool take_part(void *to, const char *text)
{
    request *r = to;
    char *slash = NULL, *end = NULL;
    unsigned long part = strtoul(text, &slash, 10);
    unsigned long parts = *slash == '/' ? strtoul(slash + 1, &end, 10) : 0;
    if (isdigit((unsigned char)*text) && end != NULL && isdigit((unsigned char)slash[1]) &&
        *end == '\0' && part >= 1 && part <= parts && parts <= PV_COLLECT_PICTURES_MAX) {
        r->part = (double)part;
        r->parts = (double)parts;
        return true;
    }
    cli_usage("collect", "--part needs K/N, from 1/N to N/N, such as 2/3, not \"%.100s\"", text);
    return false;
}

static bool take_scanner(void *to, const char *text)
{
    request *r = to;
    if (cli_scanner_kind(text, &r->how.scanner_kind))
        return true;
    cli_usage("collect",
              "--scanner knows the kinds flatbed, feeder, feeder-short and feeder-long, not "
              "\"%.100s\"",
              text);
    return false;
}

static bool take_uncertainty(void *to, const char *text)
{
    request *r = to;
    double percent = 0;
    if (!cli_number("collect", "--scanner-uncertainty", text, "%", 0.004, 10, &percent))
        return false;
    r->how.scanner_U_rel = percent / 100;
    return true;
}

static const char *contradiction(const request *r)
{
    if (r->output == NULL)
        return "-o is missing: name a folder for the results";
    if (r->merge && (r->list != NULL || r->parts > 0 || r->jobs > 0))
        return "--merge only puts results together: it takes no --list, --part or -j";
    if (r->merge && r->n == 0)
        return "--merge needs the folders of results to put together";
    if (!r->merge && r->n == 0)
        return "no kit given";
    if (!r->merge && r->n == 1 && r->list == NULL)
        return "no folder of pictures given";
    if (!r->merge && r->n > 2)
        return "give one kit and one folder of pictures";
    return NULL;
}

static bool read_options(request *r, int argc, char **argv)
{
    const cli_option options[] = {{"output", 'o', .word = &r->output},
                                  {"list", 0, .word = &r->list},
                                  {"part", 0, .take = take_part},
                                  {"merge", 0, .flag = &r->merge},
                                  {"jobs", 'j', .take = take_jobs},
                                  {"scanner", 0, .take = take_scanner},
                                  {"language", 0, .language = &r->how.language},
                                  {"scanner-uncertainty", 0, .take = take_uncertainty},
                                  {"no-reports", 0, .flag = &r->no_reports},
                                  {"progress", 0, .flag = &r->progress},
                                  {"quiet", 'q', .flag = &r->quiet},
                                  {0}};
    int n = cli_options("collect", options, r, argc, argv);
    if (n < 0)
        return false;
    r->operands = argv;
    r->n = (size_t)n;
    const char *why = contradiction(r);
    if (why != NULL)
        cli_usage("collect", "%s", why);
    return why == NULL;
}

/* ---- the kit ---- */

static bool is_plan(const char *name)
{
    static const char end[] = ".plan.json";
    size_t length = strlen(name);
    return length >= sizeof end - 1 && strcmp(name + length - (sizeof end - 1), end) == 0;
}

static bool read_plan(work *w, const char *name, pv_diags *diags)
{
    cli_bytes bytes;
    if (w->n_plans == PLANS_MAX) {
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_LIMIT, NULL, "a kit may have %d plans at most",
                     PLANS_MAX);
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
static bool read_kit(work *w, const char *kit, pv_diags *diags)
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
static bool take_line(work *w, char *line, size_t number, pv_diags *diags)
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

static bool read_list(work *w, const char *name, pv_diags *diags)
{
    cli_bytes bytes;
    if (!cli_read(name, LIST_MAX, &bytes, diags))
        return false;
    bool good = true;
    size_t number = 0;
    for (char *at = (char *)bytes.data, *line = at; good && line != NULL; line = at) {
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

static bool find_pictures(work *w, pv_diags *diags)
{
    const request *r = w->r;
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
static char *path_of(const work *w, size_t index)
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
static bool read_picture(void *context, size_t index, unsigned char **bytes, size_t *size,
                         pv_diags *diags)
{
    const work *w = context;
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

/* ---- results ---- */

/* "RESULTS/A", "RESULTS/A/B.C"; NULL where memory ran out. */
static char *inside(const request *r, const char *folder, const char *name, const char *end)
{
    size_t size = strlen(r->output) + strlen(folder) + strlen(name) + strlen(end) + 4;
    char *out = malloc(size);
    if (out != NULL)
        snprintf(out, size, "%s/%s%s%s%s", r->output, folder, *folder != '\0' ? "/" : "", name,
                 end);
    return out;
}

static bool make_inside(const request *r, const char *name, pv_diags *diags)
{
    char *folder = inside(r, "", name, "");
    bool good = folder != NULL ? cli_make_folder(folder, diags) : cli_no_memory(diags);
    free(folder);
    return good;
}

static bool has_report(void *context, const char *name)
{
    const work *w = context;
    char *path = inside(w->r, "report", name, ".html");
    bool there = path != NULL && access(path, F_OK) == 0;
    free(path);
    return there;
}

static bool take_report(void *context, const char *name, const char *html, pv_diags *diags)
{
    const work *w = context;
    char *path = inside(w->r, "report", name, ".html");
    bool good =
        path != NULL ? cli_write(path, html, strlen(html), true, diags) : cli_no_memory(diags);
    free(path);
    return good;
}

/* Of results that are put together: each picture's report out of whichever folder has it. */
static bool copy_reports(const request *r, const pv_tally *tally, pv_diags *diags)
{
    work w = {.r = r};
    bool good = make_inside(r, "report", diags);
    for (size_t i = 0; good && i < pv_tally_pictures(tally); i++) {
        const char *name = pv_tally_report(tally, i);
        for (size_t k = 0; good && k < r->n && name != NULL && !has_report(&w, name); k++) {
            request part = {.output = r->operands[k]};
            char *from = inside(&part, "report", name, ".html");
            cli_bytes page = {NULL, 0};
            good = from != NULL || cli_no_memory(diags);
            if (good && access(from, F_OK) == 0)
                good = cli_read_kind(from, PV_FILE_PAGE, REPORT_MAX, &page, diags) &&
                       take_report(&w, name, (const char *)page.data, diags);
            free(page.data);
            free(from);
        }
    }
    return good;
}

/* Takes the text over. */
static bool write_inside(const request *r, const char *folder, const char *name, char *text,
                         pv_diags *diags)
{
    char *path = inside(r, folder, name, "");
    bool good = path != NULL || cli_no_memory(diags);
    good = good && cli_write_text(path, text, true, diags);
    if (path == NULL)
        pv_free(text);
    free(path);
    return good;
}

/* What follows from the results. */
static bool write_all(const request *r, const pv_tally *tally, pv_diags *diags)
{
    bool good = write_inside(r, "", "results.csv", pv_tally_csv(tally), diags) &&
                write_inside(r, "", "index.html", pv_tally_html(tally, diags), diags) &&
                make_inside(r, "team", diags);
    const pv_team_info *team;
    for (size_t i = 0; good && (team = pv_tally_team_at(tally, i)) != NULL; i++)
        good = write_inside(r, "team", team->page, pv_tally_team_html(tally, i, diags), diags);
    return good;
}

/* The folder of results must not lie among the pictures, or they would be taken for some: neither
 * it nor a folder above it is theirs. */
static bool lies_apart(const request *r, pv_diags *diags)
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

static pv_results *open_results(const request *r, pv_diags *diags)
{
    char *name = inside(r, "", "results", ".sqlite");
    pv_results *out = NULL;
    if (name == NULL)
        cli_no_memory(diags);
    else if (cli_make_folder(r->output, diags) && (r->merge || lies_apart(r, diags)))
        out = pv_results_open(name, diags);
    free(name);
    return out;
}

/* ---- runs ---- */

static void on_stop(int number)
{
    if (asked_to_stop != 0) {
        cli_remove_staged();
        signal(number, SIG_DFL);
        raise(number);
    }
    asked_to_stop = number;
}

static void stop_on_signals(void)
{
    static const int ending[] = {SIGHUP, SIGINT, SIGTERM};
    for (size_t i = 0; i < sizeof ending / sizeof *ending; i++) {
        struct sigaction now, then = {.sa_flags = SA_RESTART};
        then.sa_handler = on_stop;
        sigemptyset(&then.sa_mask);
        if (sigaction(ending[i], NULL, &now) == 0 && now.sa_handler != SIG_IGN)
            sigaction(ending[i], &then, NULL);
    }
}

/* A pv_progress. */
static bool go_on(void *context, size_t done, size_t total)
{
    work *w = context;
    if (w->show)
        cli_progress_show(&w->bar, done, total);
    return asked_to_stop == 0;
}

static size_t jobs(const request *r)
{
    if (r->jobs > 0)
        return (size_t)r->jobs;
    long n = sysconf(_SC_NPROCESSORS_ONLN);
    return n < 1 ? 1 : n > (long)PV_COLLECT_THREADS_MAX ? PV_COLLECT_THREADS_MAX : (size_t)n;
}

static bool collect(work *w, pv_results *results, pv_collect_result *out, pv_diags *diags)
{
    pv_collect_options options = pv_collect_defaults();
    options.how = &w->r->how;
    options.threads = jobs(w->r);
    if (!w->r->no_reports) {
        if (!make_inside(w->r, "report", diags))
            return false;
        options.has_report = has_report;
        options.take_report = take_report;
    }
    options.progress = go_on;
    options.progress_context = w;
    w->show = cli_progress_start(&w->bar, "pictures", w->r->progress, w->r->quiet);
    stop_on_signals();
    bool good = pv_collect(results, (const pv_plan *const *)w->plans, w->n_plans, w->pictures, w->n,
                           read_picture, w, &options, out, diags);
    cli_progress_end(&w->bar);
    return good;
}

/* In one sentence for whom waits at the terminal. */
static void say_result(const request *r, const pv_tally *tally, const pv_collect_result *out)
{
    size_t teams = 0, whole = 0;
    for (const pv_team_info *team; (team = pv_tally_team_at(tally, teams)) != NULL; teams++)
        whole += team->sheets > 0 && team->proven == team->sheets;
    printf("%zu pictures of %zu teams", pv_tally_pictures(tally), teams);
    if (!r->merge)
        printf(": %zu measured now, %zu known, %zu unusable", out->measured, out->known,
               out->unusable);
    printf("\n%zu of %zu teams have proven all their sheets\n", whole, teams);
}

static bool finish(const request *r, pv_results *results, const pv_collect_result *out,
                   pv_diags *diags)
{
    pv_tally *tally = pv_tally_make(results, diags);
    bool good = tally != NULL && (!r->merge || r->no_reports || copy_reports(r, tally, diags)) &&
                write_all(r, tally, diags);
    if (good && !r->quiet)
        say_result(r, tally, out);
    pv_tally_free(tally);
    return good;
}

static int run(const request *r, pv_diags *diags)
{
    work w = {.r = r};
    pv_collect_result out = {.measured = 0};
    pv_results *results = NULL;
    bool good = read_kit(&w, r->operands[0], diags) && find_pictures(&w, diags) &&
                (results = open_results(r, diags)) != NULL && collect(&w, results, &out, diags);
    if (good && out.stopped)
        fputs("stopped; what was measured is kept: run the same command again to go on\n", stderr);
    else if (good)
        good = finish(r, results, &out, diags);
    pv_results_close(results);
    for (size_t i = 0; i < w.n_plans; i++)
        pv_plan_free(w.plans[i]);
    cli_list_free(&w.files);
    free(w.pictures);
    free(w.file_of);
    return !good ? cli_status(diags) : out.stopped ? 128 + (int)asked_to_stop : CLI_OK;
}

/* The results' files in the folders that are given. */
static bool merge(const request *r, pv_results *results, pv_diags *diags)
{
    char **names = calloc(r->n + 1, sizeof *names);
    if (names == NULL)
        return cli_no_memory(diags);
    bool good = true;
    for (size_t i = 0; good && i < r->n; i++) {
        names[i] = cli_join(r->operands[i], "results.sqlite");
        good = names[i] != NULL || cli_no_memory(diags);
        if (good && cli_same_file(r->operands[i], r->output)) {
            pv_diags_say(diags, PV_ERROR, PV_CAUSE_USAGE, "name another folder after -o",
                         "%s is one of the results to be merged", r->output);
            good = false;
        }
    }
    good = good && pv_results_merge(results, (const char *const *)names, r->n, diags);
    for (size_t i = 0; i < r->n; i++)
        free(names[i]);
    free(names);
    return good;
}

static int run_merge(const request *r, pv_diags *diags)
{
    pv_collect_result out = {.measured = 0};
    pv_results *results = open_results(r, diags);
    bool good = results != NULL && merge(r, results, diags) && finish(r, results, &out, diags);
    pv_results_close(results);
    return good ? CLI_OK : cli_status(diags);
}

int cli_collect(int argc, char **argv)
{
    request r = {.how = pv_inspect_defaults()};
    if (!read_options(&r, argc, argv))
        return CLI_USAGE;
    pv_diags *diags = pv_diags_new();
    int status = CLI_OS;
    if (diags != NULL) {
        status = r.merge ? run_merge(&r, diags) : run(&r, diags);
        cli_report(diags, r.quiet);
    } else {
        cli_no_memory(NULL);
    }
    pv_diags_free(diags);
    return status;
}
