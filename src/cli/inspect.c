/* pavior inspect: is the print true? */
#include "cli.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* What a batch's pictures may take in memory while it is inspected, as pixels of A4 pages; a single
 * sheet's is as fine as the library makes it. */
#define BATCH_PIXELS 40e6
#define A4           (210.0 * 297.0)
#define PLANS_MAX    100 /* at a time; ours */

typedef struct request {
    const char *output, *report, *scanner; /* may be NULL */
    const char *plans[PLANS_MAX];
    size_t n_plans;
    char **images;
    size_t n;
    pv_ruler_reading readings[PV_READINGS_MAX];
    pv_inspect_options how; /* its readings are those above, its scanner the file's */
    bool budget, json, quiet, uncertain, replace;
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
    struct request *r = to;
    return cli_number("inspect", "--dpi", text, "dpi", 20, 20000, &r->how.dpi);
}

static bool take_uncertainty(void *to, const char *text)
{
    struct request *r = to;
    double percent = 0;
    r->uncertain = true;
    if (!cli_number("inspect", "--scanner-uncertainty", text, "%", 0.004, 10, &percent))
        return false;
    r->how.scanner_U_rel = percent / 100;
    return true;
}

/* A kind by its name, else a file's name. */
static bool take_scanner(void *to, const char *text)
{
    struct request *r = to;
    r->scanner = NULL;
    r->how.scanner_kind = PV_SCANNER_UNKNOWN;
    if (cli_scanner_kind(text, &r->how.scanner_kind))
        return true;
    r->scanner = text;
    if (strpbrk(text, "./-") != NULL || access(text, F_OK) == 0)
        return true;
    cli_usage(
        "inspect",
        "--scanner knows the kinds flatbed, feeder, feeder-short and feeder-long, and there is "
        "no file \"%.100s\"",
        text);
    return false;
}

/* One length, from `text` to before `end`; blanks around it don't count. */
static bool one_length(const char *text, const char *end, double *mm)
{
    char chars[40];
    while (text < end && *text == ' ')
        text++;
    while (end > text && end[-1] == ' ')
        end--;
    size_t length = (size_t)(end - text);
    if (length == 0 || length >= sizeof chars)
        return false;
    memcpy(chars, text, length);
    chars[length] = '\0';
    return pv_length_parse(chars, mm) && *mm > 0;
}

/* Where the uncertainty begins, and how many bytes its sign has; the text's end where there is
 * none. */
static const char *uncertainty(const char *text, size_t *sign)
{
    static const char *const signs[] = {"+-", "+/-", "\xC2\xB1"};
    *sign = 0;
    for (size_t i = 0; i < sizeof signs / sizeof *signs; i++) {
        const char *at = strstr(text, signs[i]);
        if (at != NULL) {
            *sign = strlen(signs[i]);
            return at;
        }
    }
    return text + strlen(text);
}

/* "P-Q=196.4mm", with "+-0.2mm" behind it where the reading's expanded uncertainty (k = 2) is
 * stated. */
static bool take_reading(void *to, const char *text)
{
    struct request *r = to;
    if (r->how.n_readings == PV_READINGS_MAX) {
        cli_usage("inspect", "--measured may be given %d times at most", PV_READINGS_MAX);
        return false;
    }
    pv_ruler_reading *out = &r->readings[r->how.n_readings++];
    *out = (pv_ruler_reading){.U = 0};
    size_t sign;
    bool good = strlen(text) > 4 && text[1] == '-' && text[3] == '=';
    if (good) {
        out->from = (char)toupper((unsigned char)text[0]);
        out->to = (char)toupper((unsigned char)text[2]);
        const char *plus = uncertainty(text + 4, &sign);
        good = strchr("PQRS", out->from) != NULL && strchr("PQRS", out->to) != NULL &&
               out->from != out->to && one_length(text + 4, plus, &out->measured) &&
               (sign == 0 || one_length(plus + sign, plus + strlen(plus), &out->U));
    }
    if (!good)
        cli_usage("inspect",
                  "--measured needs two of the marks P, Q, R, S and what a ruler reads between "
                  "them, with its unit, such as P-Q=196.4mm or P-Q=196.4mm+-0.2mm, not \"%.100s\"",
                  text);
    return good;
}

/* How fine the picture of each of n sheets is. */
static double picture_size(size_t n)
{
    return fmin(PV_PICTURE_PX_PER_MM, sqrt(BATCH_PIXELS / A4 / (double)n));
}

static bool page_to_screen(const request *r)
{
    return r->report != NULL && strcmp(r->report, "-") == 0;
}

/* No output may overwrite an input or the other output. */
static bool outputs_are_safe(const request *r)
{
    const char *outputs[] = {r->output, r->report};
    for (int k = 0; k < 2; k++) {
        if (cli_overwrites("inspect", outputs[k], "scanner", r->scanner))
            return false;
        for (size_t i = 0; i < r->n_plans; i++)
            if (cli_overwrites("inspect", outputs[k], "plan", r->plans[i]))
                return false;
        for (size_t i = 0; i < r->n; i++)
            if (cli_overwrites("inspect", outputs[k], "image", r->images[i]))
                return false;
    }
    if (cli_overwrites("inspect", r->report, "output", r->output))
        return false;
    bool text = r->output != NULL ? strcmp(r->output, "-") == 0 : r->json;
    if (!page_to_screen(r) || !text)
        return true;
    cli_usage("inspect", "two reports cannot both go to standard output: name a file for one");
    return false;
}

/* What the options lack or contradict; NULL where nothing. */
static const char *contradiction(const request *r)
{
    if (r->n_plans == 0)
        return "--plan is missing: give the plan that pavior sheets wrote";
    if (r->scanner != NULL && r->uncertain)
        return "--scanner-uncertainty and --scanner FILE both state the scanner's uncertainty: "
               "give one of them";
    if (r->n == 0)
        return "no image given";
    size_t inputs = r->scanner != NULL && strcmp(r->scanner, "-") == 0;
    for (size_t i = 0; i < r->n_plans; i++)
        inputs += strcmp(r->plans[i], "-") == 0;
    for (size_t i = 0; i < r->n; i++)
        inputs += strcmp(r->images[i], "-") == 0;
    if (inputs > 1)
        return "only one file can come from standard input";
    if (r->n > 1 && r->how.n_readings > 0)
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
                                  {"language", 0, .language = &r->how.language},
                                  {"budget", 0, .flag = &r->budget},
                                  {"report", 0, .word = &r->report},
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
    if (r->report != NULL)
        r->how.picture_px_per_mm = picture_size(r->n);
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

static pv_scanner *read_scanner(const char *name, pv_diags *diags)
{
    cli_bytes bytes;
    if (!cli_read_kind(name, PV_FILE_SCANNER, PV_PRINTER_BYTES_MAX, &bytes, diags))
        return NULL;
    pv_scanner *scanner = pv_scanner_parse((const char *)bytes.data, bytes.size, name, diags);
    free(bytes.data);
    return scanner;
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
        pv_inspection **more = realloc(done->items, room * sizeof *more);
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
    pv_inspect_options how = r->how;
    size_t pages = pv_image_pages(bytes->data, bytes->size);
    if (pages > 1 && how.n_readings > 0)
        return keep(done,
                    pv_inspection_unread(name,
                                         "--measured applies to one sheet, and this file has "
                                         "several pages",
                                         how.language),
                    CLI_DATA);
    if (r->report != NULL)
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
        good = keep(done,
                    pv_inspection_unread(cli_input_name(name), first_error(why), r->how.language),
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
    pv_scanner *scanner = NULL;
    plans with = {.n = 0};
    bool good = read_plans(r, &with, diags);
    if (good && r->scanner != NULL) {
        scanner = read_scanner(r->scanner, diags);
        r->how.scanner = scanner;
        good = scanner != NULL;
    }
    if (good && !inspect_all(r, &with, &done, &at, diags)) {
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_MEMORY, NULL, "out of memory while inspecting %s",
                     r->images[at]);
        good = false;
    }
    good = good && report(r, &done, diags) && write_page(r, &with, &done, diags);
    cli_report(diags, r->quiet);
    int status = good ? verdict_status(&done) : cli_status(diags);
    for (size_t i = 0; i < done.n; i++)
        pv_inspection_free(done.items[i]);
    free(done.items);
    pv_scanner_free(scanner);
    free_plans(&with);
    return status;
}

int cli_inspect(int argc, char **argv)
{
    request r = {.how = pv_inspect_defaults()};
    r.how.readings = r.readings;
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
