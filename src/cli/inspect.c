/* pavior inspect: is the print true? */
#include "cli.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define PLANS_MAX 100 /* at a time; ours */

typedef struct request {
    const char *output, *report, *certificate; /* may be NULL */
    const char *plans[PLANS_MAX];
    size_t n_plans;
    char **images;
    size_t n;
    cli_how how;
    bool budget, json, quiet, replace;
} request;

typedef struct plans {
    pv_plan *item[PLANS_MAX];
    size_t n;
} plans;

/* What the images came to. */
typedef struct outcome {
    pv_inspection **items;
    size_t n, room;
    int unusable; /* status of the worst image that can't be used, or CLI_OK */
} outcome;

/* ---- options ---- */

static bool take_plan(void *to, const char *text)
{
    struct request *r = to;
    if (r->n_plans == PLANS_MAX) {
        cli_usage("inspect", "--plan may be given %d times at most", PLANS_MAX);
        return false;
    }
    r->plans[r->n_plans++] = text;
    return true;
}

static bool take_dpi(void *to, const char *text)
{
    return cli_how_dpi("inspect", &((request *)to)->how, text);
}

static bool take_uncertainty(void *to, const char *text)
{
    return cli_how_uncertainty("inspect", &((request *)to)->how, text);
}

static bool take_scanner(void *to, const char *text)
{
    return cli_how_scanner("inspect", &((request *)to)->how, text);
}

static bool take_reading(void *to, const char *text)
{
    return cli_how_measured("inspect", &((request *)to)->how, text);
}

/* How fine the picture of each of n sheets is; a single sheet's is as the library makes it. */
static double picture_size(size_t n)
{
    return fmin(PV_PICTURE_PX_PER_MM, sqrt(PV_PICTURES_PX_PER_MM2 / (double)n));
}

static bool is_standard(const char *name)
{
    return name != NULL && strcmp(name, "-") == 0;
}

/* Whether a page goes to standard output instead of the text. */
static bool page_to_screen(const request *r)
{
    return is_standard(r->report) || is_standard(r->certificate);
}

/* No output may overwrite an input or another output. */
static bool outputs_are_safe(const request *r)
{
    const char *outputs[] = {r->output, r->report, r->certificate};
    size_t to_screen = r->output == NULL && r->json;
    for (int k = 0; k < 3; k++) {
        if (cli_overwrites("inspect", outputs[k], "scanner", r->how.scanner))
            return false;
        for (size_t i = 0; i < r->n_plans; i++)
            if (cli_overwrites("inspect", outputs[k], "plan", r->plans[i]))
                return false;
        for (size_t i = 0; i < r->n; i++)
            if (cli_overwrites("inspect", outputs[k], "image", r->images[i]))
                return false;
        for (int other = 0; other < k; other++)
            if (cli_overwrites("inspect", outputs[k], "output", outputs[other]))
                return false;
        to_screen += is_standard(outputs[k]);
    }
    if (to_screen > 1)
        cli_usage("inspect", "two reports cannot both go to standard output: name a file for one");
    else if (is_standard(r->certificate) && isatty(STDOUT_FILENO) == 1)
        cli_usage("inspect", "refusing to write a PDF to a terminal: redirect it");
    else
        return true;
    return false;
}

/* What the options lack or contradict; NULL where nothing. */
static const char *contradiction(const request *r)
{
    if (r->n_plans == 0)
        return "--plan is missing: give the plan that pavior sheets wrote";
    const char *why = cli_how_contradiction(&r->how);
    if (why != NULL)
        return why;
    if (r->n == 0)
        return "no image given";
    size_t inputs = is_standard(r->how.scanner);
    for (size_t i = 0; i < r->n_plans; i++)
        inputs += is_standard(r->plans[i]);
    for (size_t i = 0; i < r->n; i++)
        inputs += is_standard(r->images[i]);
    if (inputs > 1)
        return "only one file can come from standard input";
    if (r->n > 1 && r->how.options.n_readings > 0)
        return "--measured applies to one sheet: give its image alone";
    return NULL;
}

static bool read_options(request *r, int argc, char **argv)
{
    const cli_option options[] = {{"plan", 'p', .take = take_plan},
                                  {"dpi", 0, .take = take_dpi},
                                  {"scanner-uncertainty", 0, .take = take_uncertainty},
                                  {"scanner", 0, .take = take_scanner},
                                  {"measured", 0, .take = take_reading},
                                  {"language", 0, .language = &r->how.options.language},
                                  {"budget", 0, .flag = &r->budget},
                                  {"report", 0, .word = &r->report},
                                  {"certificate", 0, .word = &r->certificate},
                                  {"json", 0, .flag = &r->json},
                                  {"replace", 0, .flag = &r->replace},
                                  {"output", 'o', .word = &r->output},
                                  {"quiet", 'q', .flag = &r->quiet},
                                  {0}};
    int n = cli_options("inspect", options, r, argc, argv);
    if (n < 0)
        return false;
    r->images = argv;
    r->n = (size_t)n;
    const char *why = contradiction(r);
    if (why != NULL)
        cli_usage("inspect", "%s", why);
    if (why != NULL || !outputs_are_safe(r))
        return false;
    return true;
}

/* ---- images ---- */

static bool read_plans(const request *r, plans *out, pv_diags *diags)
{
    for (size_t i = 0; i < r->n_plans; i++) {
        cli_bytes bytes;
        if (!cli_read_kind(r->plans[i], PV_FILE_PLAN, PV_PLAN_BYTES_MAX, &bytes, diags))
            return false;
        pv_plan *plan = pv_plan_parse((const char *)bytes.data, bytes.size, r->plans[i], diags);
        free(bytes.data);
        if (plan == NULL)
            return false;
        out->item[out->n++] = plan;
    }
    return true;
}

static void free_plans(plans *list)
{
    for (size_t i = 0; i < list->n; i++)
        pv_plan_free(list->item[i]);
}

/* As the library takes them. */
static const pv_plan *const *listed(const plans *list)
{
    return (const pv_plan *const *)list->item;
}

static const char *first_error(const pv_diags *diags)
{
    for (size_t i = 0; i < pv_diags_size(diags); i++)
        if (pv_diags_at(diags, i)->severity == PV_ERROR)
            return pv_diags_at(diags, i)->message;
    return "cannot be read";
}

/* Takes over one result; false where memory ran out. */
static bool keep(outcome *done, pv_inspection *one, int status)
{
    if (one != NULL && done->n == done->room) {
        size_t room = 2 * done->room + 16;
        pv_inspection **more = realloc(done->items, room * sizeof *more); /* NOLINT */
        if (more == NULL) {
            pv_inspection_free(one);
            return false;
        }
        done->items = more;
        done->room = room;
    }
    if (one == NULL)
        return false;
    done->items[done->n++] = one;
    if (pv_inspection_sheet(one)->error != NULL && status > done->unusable)
        done->unusable = status;
    return true;
}

/* Each picture of a file. */
static bool inspect_pictures(const request *r, const plans *with, const char *name,
                             const cli_bytes *bytes, outcome *done, pv_diags *diags)
{
    pv_inspect_options how = r->how.options;
    size_t pages = pv_image_pages(bytes->data, bytes->size);
    if (pages > 1 && how.n_readings > 0)
        return keep(done, pv_inspection_several(name, how.language), CLI_DATA);
    if (r->report != NULL || r->certificate != NULL)
        how.picture_px_per_mm = picture_size(r->n - 1 + pages);
    for (how.page = 0; how.page < pages; how.page++)
        if (!keep(done,
                  pv_inspect(listed(with), with->n, bytes->data, bytes->size, name, &how, diags),
                  CLI_DATA))
            return false;
    return true;
}

/* One file; false where memory ran out. */
static bool inspect_file(const request *r, const plans *with, const char *name, outcome *done,
                         pv_diags *diags)
{
    pv_diags *why = pv_diags_new();
    cli_bytes bytes;
    bool good = false;
    if (why != NULL && cli_read(name, PV_IMAGE_BYTES_MAX, &bytes, why)) {
        good = inspect_pictures(r, with, cli_input_name(name), &bytes, done, diags);
        free(bytes.data);
    } else if (why != NULL && pv_diags_cause(why) != PV_CAUSE_MEMORY) {
        good = keep(
            done,
            pv_inspection_unread(cli_input_name(name), first_error(why), r->how.options.language),
            cli_status(why));
    }
    pv_diags_free(why);
    return good;
}

/* *at is the file that was at work where it fails. */
static bool inspect_all(const request *r, const plans *with, outcome *done, size_t *at,
                        pv_diags *diags)
{
    bool progress = r->n > 1 && !r->quiet && isatty(STDERR_FILENO) == 1;
    for (*at = 0; *at < r->n; ++*at) {
        if (progress)
            fprintf(stderr, "\rinspecting %zu of %zu ", *at + 1, r->n);
        if (!inspect_file(r, with, r->images[*at], done, diags))
            return false;
    }
    if (progress)
        fputs("\r                                        \r", stderr);
    return true;
}

/* ---- report ---- */

/* NULL where memory ran out. */
static char *report_text(const request *r, const pv_inspection *const *items, size_t n,
                         bool to_terminal)
{
    if (r->json)
        return pv_inspections_json(items, n, r->budget);
    char *said = pv_inspections_text(items, n, to_terminal && cli_colour());
    if (said == NULL || !r->budget)
        return said;
    char *budget = pv_inspections_budget(items, n), *both = NULL;
    size_t size = strlen(said) + (budget != NULL ? strlen(budget) : 0) + 2;
    if (budget != NULL && (both = malloc(size)) != NULL)
        snprintf(both, size, "%s%s%s", said, *budget != '\0' ? "\n" : "", budget);
    pv_free(said);
    pv_free(budget);
    return both;
}

static bool write_page(const request *r, const plans *with, const outcome *done, pv_diags *diags)
{
    if (r->report == NULL)
        return true;
    const pv_inspection *const *items = (const pv_inspection *const *)done->items;
    return cli_write_text(r->report,
                          pv_inspections_html(listed(with), with->n, items, done->n, diags),
                          r->replace, diags);
}

/* Nothing where there is nothing to certify. */
static bool write_certificate(const request *r, const plans *with, const outcome *done,
                              pv_diags *diags)
{
    const pv_inspection *const *items = (const pv_inspection *const *)done->items;
    size_t usable = 0, size;
    unsigned char *bytes;
    for (size_t i = 0; i < done->n; i++)
        usable += pv_inspection_sheet(items[i])->error == NULL;
    if (r->certificate == NULL)
        return true;
    if (usable == 0) {
        fputs("no certificate is written, since no image can be used\n", stderr);
        return true;
    }
    pv_type *type = pv_type_open(NULL, diags);
    bool good = type != NULL && pv_inspections_certificate(listed(with), with->n, items, done->n,
                                                           type, &bytes, &size, diags);
    if (good) {
        good = cli_write(r->certificate, bytes, size, r->replace, diags);
        pv_free(bytes);
        if (good && !r->quiet && !is_standard(r->certificate)) {
            fputs("certificate: ", stderr);
            cli_show(stderr, r->certificate);
            fputc('\n', stderr);
        }
    }
    pv_type_free(type);
    return good;
}

static bool report(const request *r, const outcome *done, pv_diags *diags)
{
    const pv_inspection *const *items = (const pv_inspection *const *)done->items;
    const char *to = r->output != NULL ? r->output : "-";
    bool page = page_to_screen(r);
    bool to_screen = strcmp(to, "-") == 0 && !r->json && !r->quiet && !page;
    for (size_t i = 0; !to_screen && i < done->n; i++) {
        const pv_inspected *sheet = pv_inspection_sheet(items[i]);
        if (sheet->error == NULL)
            continue;
        cli_show(stderr, sheet->label);
        fputs(": error: ", stderr);
        cli_show(stderr, sheet->error);
        fputc('\n', stderr);
    }
    if ((r->quiet || page) && !r->json && r->output == NULL)
        return true;
    return cli_write_text(to, report_text(r, items, done->n, strcmp(to, "-") == 0), r->replace,
                          diags);
}

static int verdict_status(const outcome *done)
{
    bool undecided = false;
    for (size_t i = 0; i < done->n; i++) {
        const pv_inspected *sheet = pv_inspection_sheet(done->items[i]);
        if (sheet->error != NULL)
            continue;
        if (sheet->verdict == PV_DOES_NOT_CONFORM)
            return CLI_DOES_NOT_CONFORM;
        undecided = undecided || sheet->verdict == PV_UNDECIDED;
    }
    if (done->unusable != CLI_OK)
        return done->unusable;
    return undecided ? CLI_UNDECIDED : CLI_OK;
}

static int work(request *r, pv_diags *diags)
{
    outcome done = {NULL, 0, 0, CLI_OK};
    size_t at = 0;
    plans with = {.n = 0};
    bool good = read_plans(r, &with, diags) && cli_how_open(&r->how, diags);
    if (good && !inspect_all(r, &with, &done, &at, diags)) {
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_MEMORY, NULL, "out of memory while inspecting %s",
                     r->images[at]);
        good = false;
    }
    good = good && report(r, &done, diags) && write_page(r, &with, &done, diags) &&
           write_certificate(r, &with, &done, diags);
    cli_report(diags, r->quiet);
    int status = good ? verdict_status(&done) : cli_status(diags);
    for (size_t i = 0; i < done.n; i++)
        pv_inspection_free(done.items[i]);
    free(done.items);
    cli_how_close(&r->how);
    free_plans(&with);
    return status;
}

int cli_inspect(int argc, char **argv)
{
    request r = {.output = NULL};
    cli_how_init(&r.how);
    if (!read_options(&r, argc, argv))
        return CLI_USAGE;
    pv_diags *diags = pv_diags_new();
    int status = CLI_OS;
    if (diags != NULL)
        status = work(&r, diags);
    else
        cli_no_memory(NULL);
    pv_diags_free(diags);
    return status;
}
