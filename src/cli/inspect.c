/* pavior inspect: is the print true? */
#include "cli/cli.h"

#include "base/memory.h"
#include "base/text.h"
#include "base/units.h"
#include "image/plane.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char help[] =
    "Measures printed sheets from scans or photographs: scale, skew, line widths,\n"
    "spacings, shape; each with its uncertainty.\n"
    "\n"
    "Usage: pavior inspect --plan F.plan.json IMAGE... [OPTION...]\n"
    "\n"
    "  -p, --plan FILE      the plan that the sheets were printed from (pavior sheets\n"
    "                       wrote it)\n"
    "      --dpi N          what the scanner was set to, where the image doesn't say\n"
    "      --scanner-uncertainty P\n"
    "                       how well the scanner's resolution is known, in per cent,\n"
    "                       k = 2; without it 0.1, which an office flatbed may reach\n"
    "      --scanner FILE   what pavior calibrate --scanner found of this one\n"
    "                       and its uncertainties\n"
    "      --measured R     one of the sheet's scale bars measured by hand, across\n"
    "                       x:100mm=99.7mm, or up y:90mm=89.8mm; with its\n"
    "                       uncertainty (k = 2) x:100mm=99.7mm+-0.2mm, 0.3 mm\n"
    "                       without it; may be given several times, for one image\n"
    "      --budget         every kind of value's uncertainty by its parts; with\n"
    "                       --json, each value's\n"
    "      --report F.html  a page for people, beside the rest: the sheets' pictures\n"
    "                       with their deviations drawn, a profile of each line,\n"
    "                       budgets, every number; one file that needs no network.\n"
    "                       \"-\" instead of the text\n"
    "      --json           for the machine: an array with one object an image\n"
    "  -o, --output FILE    the text or JSON into a file\n"
    "  -q, --quiet          no text but where --json or -o ask for it; errors only\n"
    "      --help           this text\n"
    "\n"
    "IMAGE is a PNG or JPEG: a flatbed scan of one untrimmed sheet, 300 dpi or more,\n"
    "in gray or colour, saved with its resolution; or a photograph with a bank card\n"
    "(ISO/IEC 7810 ID-1) lying beside the print or on it. It may lie any way round.\n"
    "\"-\" is standard input. An image that can't be used is said so and doesn't stop\n"
    "the others.\n"
    "\n"
    "Exit status: 1 if any sheet does not conform; else 66 or 65 if any image can't\n"
    "be read or used; else 2 if any is undecided; else 0. 64 for wrong usage; 65,\n"
    "66, 71, 73 and 74 where the plan or the output fails altogether.\n"
    "\n"
    "Examples:\n"
    "  pavior inspect --plan quayside.plan.json scan.png\n"
    "  pavior inspect --plan quayside.plan.json photo-with-card.jpg --budget\n"
    "  pavior inspect --plan quayside.plan.json photo.jpg \\\n"
    "      --measured x:100mm=99.7mm --measured y:90mm=89.8mm\n"
    "  pavior inspect --plan quayside.plan.json --json -o report.json scans/*.png\n"
    "  pavior inspect --plan quayside.plan.json --report report.html scans/*.png\n";

/* What a batch's pictures may take in memory while it is inspected, as pixels of A4 pages; a single
 * sheet's is as fine as the library makes it. */
#define BATCH_PIXELS 40e6
#define A4           (210.0 * 297.0)

enum {
    OPT_PLAN,
    OPT_DPI,
    OPT_UNCERTAINTY,
    OPT_SCANNER,
    OPT_MEASURED,
    OPT_BUDGET,
    OPT_REPORT,
    OPT_JSON,
    OPT_OUTPUT,
    OPT_QUIET
};

static const cli_option options[] = {
    {"plan", 'p', true},   {"dpi", 0, true},      {"scanner-uncertainty", 0, true},
    {"scanner", 0, true},  {"measured", 0, true}, {"budget", 0, false},
    {"report", 0, true},   {"json", 0, false},    {"output", 'o', true},
    {"quiet", 'q', false}, {NULL, 0, false}};

typedef struct request {
    const char *plan, *output, *report, *scanner; /* borrowed, may be NULL */
    const char **images;                          /* owned list of borrowed names */
    size_t n, cap;
    pv_ruler_reading readings[PV_READINGS_MAX];
    pv_scanner own;
    pv_inspect_options how; /* its readings are those above, its scanner `own` or none */
    bool budget, json, quiet, uncertain;
} request;

/* What the images came to. */
typedef struct outcome {
    pv_inspection **items;
    size_t n;
    int unusable; /* status of the worst image that can't be used, or CLI_OK */
} outcome;

/* ---- options ---- */

/* A plain number from an option, with its unit or without. */
static bool take_number(const char *option, const char *text, const char *unit, double least,
                        double most, double *value)
{
    size_t used = 0, length = strlen(text);
    bool good = pv_number_parse(text, length, value, &used);
    while (good && text[used] == ' ')
        used++;
    good = good && (used == length || strcmp(text + used, unit) == 0);
    if (good && *value >= least && *value <= most)
        return true;
    cli_usage("inspect", "%s needs a number from %g to %g%s%s, not \"%.100s\"", option, least, most,
              *unit != '\0' ? " " : "", unit, text);
    return false;
}

static bool take_image(request *r, const char *name)
{
    if (!PV_GROW(r->images, r->n, r->cap)) {
        fputs("error: out of memory\n", stderr);
        return false;
    }
    r->images[r->n++] = name;
    return true;
}

static bool take_reading(request *r, const char *text)
{
    if (r->how.n_readings == PV_READINGS_MAX) {
        cli_usage("inspect", "--measured may be given %d times at most", PV_READINGS_MAX);
        return false;
    }
    return cli_reading("inspect", text, &r->readings[r->how.n_readings++]);
}

static bool take_option(request *r, int option, const char *value)
{
    double percent = 0;
    switch (option) {
    case OPT_PLAN:
        r->plan = value;
        return true;
    case OPT_DPI:
        return take_number("--dpi", value, "dpi", 20, 20000, &r->how.dpi);
    case OPT_UNCERTAINTY:
        if (!take_number("--scanner-uncertainty", value, "%", 0, 10, &percent))
            return false;
        r->how.scanner_U_rel = percent / 100;
        r->uncertain = true;
        return true;
    case OPT_SCANNER:
        r->scanner = value;
        return true;
    case OPT_MEASURED:
        return take_reading(r, value);
    case OPT_BUDGET:
        r->budget = true;
        return true;
    case OPT_JSON:
        r->json = true;
        return true;
    case OPT_OUTPUT:
        r->output = value;
        return true;
    case OPT_QUIET:
        r->quiet = true;
        return true;
    case OPT_REPORT:
        r->report = value;
        r->how.picture = true;
        return true;
    default: /* CLI_OPERAND */
        return take_image(r, value);
    }
}

static bool page_to_screen(const request *r)
{
    return r->report != NULL && strcmp(r->report, "-") == 0;
}

/* No output takes the place of an input, nor of the other output. */
static bool outputs_are_safe(const request *r)
{
    const char *outputs[] = {r->output, r->report};
    for (int k = 0; k < 2; k++) {
        if (cli_overwrites("inspect", outputs[k], "plan", r->plan) ||
            cli_overwrites("inspect", outputs[k], "scanner", r->scanner))
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

static bool take_all(request *r, int argc, char **argv)
{
    cli_scan scan = cli_scan_start("inspect", options, argc, argv);
    for (int option = cli_scan_next(&scan); option != CLI_END; option = cli_scan_next(&scan))
        if (option == CLI_BAD || !take_option(r, option, scan.value))
            return false;
    if (r->plan == NULL) {
        cli_usage("inspect", "--plan is missing: the plan that pavior sheets wrote");
        return false;
    }
    if (r->scanner != NULL && r->uncertain) {
        cli_usage("inspect", "--scanner-uncertainty and --scanner both say how well the scanner is "
                             "known: give one of them");
        return false;
    }
    if (r->n == 0) {
        cli_usage("inspect", "no image given");
        return false;
    }
    size_t inputs = (size_t)(strcmp(r->plan, "-") == 0) +
                    (size_t)(r->scanner != NULL && strcmp(r->scanner, "-") == 0);
    for (size_t i = 0; i < r->n; i++)
        inputs += strcmp(r->images[i], "-") == 0;
    if (inputs > 1) {
        cli_usage("inspect", "standard input can be one file only");
        return false;
    }
    if (r->n > 1 && r->how.n_readings > 0) {
        cli_usage("inspect", "--measured is of one sheet's print: give its image alone");
        return false;
    }
    r->how.picture_px_per_mm = fmin(PV_PICTURE_PX_PER_MM, sqrt(BATCH_PIXELS / A4 / (double)r->n));
    return outputs_are_safe(r);
}

/* ---- images ---- */

static pv_plan *read_plan(const char *name, pv_diags *diags)
{
    pv_bytes bytes;
    if (!cli_read_kind(name, CLI_KIND_PLAN, PV_PLAN_BYTES_MAX, &bytes, diags))
        return NULL;
    pv_plan *plan = pv_plan_parse((const char *)bytes.data, bytes.size, name, diags);
    pv_free(bytes.data);
    return plan;
}

static bool read_scanner(request *r, pv_diags *diags)
{
    if (r->scanner == NULL)
        return true;
    pv_bytes bytes;
    if (!cli_read_kind(r->scanner, CLI_KIND_SCANNER, PV_PRINTER_BYTES_MAX, &bytes, diags))
        return false;
    bool good = pv_scanner_parse((const char *)bytes.data, bytes.size, r->scanner, &r->own, diags);
    r->how.scanner = &r->own;
    pv_free(bytes.data);
    return good;
}

static const char *first_error(const pv_diags *diags)
{
    for (size_t i = 0; i < pv_diags_size(diags); i++)
        if (pv_diags_at(diags, i)->severity == PV_ERROR)
            return pv_diags_at(diags, i)->message;
    return "cannot be read";
}

/* One image; NULL where memory ran out. *status is what it means for the program's, if it can't be
 * used. */
static pv_inspection *inspect_one(const request *r, const pv_plan *plan, const char *name,
                                  int *status, pv_diags *diags)
{
    const char *shown = strcmp(name, "-") == 0 ? "standard input" : name;
    pv_diags *why = pv_diags_new();
    pv_bytes bytes;
    pv_inspection *out = NULL;
    if (why != NULL && pv_file_read(name, PV_IMAGE_BYTES_MAX, &bytes, why)) {
        out = pv_inspect(plan, bytes.data, bytes.size, shown, &r->how, diags);
        pv_free(bytes.data);
        if (out != NULL && out->error != NULL)
            *status = CLI_DATA;
    } else if (why != NULL && pv_diags_cause(why) != PV_CAUSE_MEMORY) {
        *status = cli_status(why);
        out = pv_inspection_unread(shown, first_error(why));
    }
    pv_diags_free(why);
    return out;
}

static bool inspect_all(const request *r, const pv_plan *plan, outcome *done, pv_diags *diags)
{
    bool progress = r->n > 1 && !r->quiet && isatty(STDERR_FILENO) == 1;
    done->items = PV_NEW_ARRAY(r->n, pv_inspection *);
    if (done->items == NULL)
        return false;
    for (size_t i = 0; i < r->n; i++) {
        if (progress)
            fprintf(stderr, "\rinspecting %zu of %zu ", i + 1, r->n);
        int status = CLI_OK;
        pv_inspection *one = inspect_one(r, plan, r->images[i], &status, diags);
        if (one == NULL)
            return false;
        done->items[done->n++] = one;
        done->unusable = status > done->unusable ? status : done->unusable;
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
    char *budget = pv_inspections_budget(items, n);
    pv_text both = PV_TEXT_INIT;
    if (budget != NULL)
        pv_text_add(&both, "%s%s%s", said, *budget != '\0' ? "\n" : "", budget);
    both.failed = both.failed || budget == NULL;
    pv_free(said);
    pv_free(budget);
    return pv_text_take(&both);
}

static bool write_page(const request *r, const pv_plan *plan, const outcome *done, pv_diags *diags)
{
    if (r->report == NULL)
        return true;
    const pv_inspection *const *items = (const pv_inspection *const *)done->items;
    return cli_write_text(r->report, pv_inspections_html(plan, items, done->n, diags), diags);
}

static bool report(const request *r, const outcome *done, pv_diags *diags)
{
    const pv_inspection *const *items = (const pv_inspection *const *)done->items;
    const char *to = r->output != NULL ? r->output : "-";
    bool page = page_to_screen(r);
    bool to_screen = strcmp(to, "-") == 0 && !r->json && !r->quiet && !page;
    for (size_t i = 0; !to_screen && i < done->n; i++)
        if (items[i]->error != NULL) {
            cli_show(stderr, items[i]->file);
            fputs(": error: ", stderr);
            cli_show(stderr, items[i]->error);
            fputc('\n', stderr);
        }
    if ((r->quiet || page) && !r->json && r->output == NULL)
        return true;
    return cli_write_text(to, report_text(r, items, done->n, strcmp(to, "-") == 0), diags);
}

static int verdict_status(const outcome *done)
{
    bool undecided = false;
    for (size_t i = 0; i < done->n; i++) {
        if (done->items[i]->error != NULL)
            continue;
        if (done->items[i]->verdict == PV_DOES_NOT_CONFORM)
            return CLI_DOES_NOT_CONFORM;
        undecided = undecided || done->items[i]->verdict == PV_UNDECIDED;
    }
    if (done->unusable != CLI_OK)
        return done->unusable;
    return undecided ? CLI_UNDECIDED : CLI_OK;
}

static int work(request *r, pv_diags *diags)
{
    outcome done = {NULL, 0, CLI_OK};
    pv_plan *plan = read_plan(r->plan, diags);
    bool good = plan != NULL && read_scanner(r, diags);
    if (good && !inspect_all(r, plan, &done, diags)) {
        pv_fail(diags, PV_CAUSE_MEMORY, "out of memory while inspecting %s",
                r->images[done.n < r->n ? done.n : 0]);
        good = false;
    }
    good = good && report(r, &done, diags) && write_page(r, plan, &done, diags);
    cli_report(diags, r->quiet);
    int status = good ? verdict_status(&done) : cli_status(diags);
    if (!good && status == CLI_OK) /* text that memory ran out for has been said already */
        status = CLI_OS;
    for (size_t i = 0; i < done.n; i++)
        pv_inspection_free(done.items[i]);
    pv_free(done.items);
    pv_plan_free(plan);
    return status;
}

static int run(int argc, char **argv)
{
    request r = {.how = pv_inspect_defaults()};
    r.how.readings = r.readings;
    int status = CLI_USAGE;
    pv_diags *diags = NULL;
    if (take_all(&r, argc, argv)) {
        diags = pv_diags_new();
        status = diags != NULL ? work(&r, diags) : CLI_OS;
    }
    pv_diags_free(diags);
    pv_free((void *)r.images);
    return status;
}

const cli_command cli_inspect = {
    .name = "inspect",
    .summary = "measures printed sheets from scans or photographs, and judges them",
    .help = help,
    .run = run,
};
