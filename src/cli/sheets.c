/* pavior sheets: the sheets to print as one PDF, and the plan of them beside it. */
#include "cli/sheets.h"

#include "cli/progress.h"

#include "base/memory.h"
#include "base/text.h"
#include "paper/paper.h"
#include "plan/layout.h"
#include "json/json.h"

#include <langinfo.h>
#include <locale.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum {
    OPT_PAPER,
    OPT_ROLL,
    OPT_PANEL_LENGTH,
    OPT_BORDER,
    OPT_LIST,
    OPT_PORTRAIT,
    OPT_LANDSCAPE,
    OPT_OVERLAP,
    OPT_JOINT,
    OPT_MARGIN,
    OPT_RANGE,
    OPT_PRINTER,
    OPT_FONT,
    OPT_GRAY,
    OPT_WEIGHT,
    OPT_SPARING,
    OPT_PROOF,
    OPT_OUTPUT,
    OPT_PLAN,
    OPT_EXPLAIN,
    OPT_JSON,
    OPT_REPLACE,
    OPT_PROGRESS,
    OPT_QUIET
};

static const cli_option options[] = {
    {"paper", 'p', true},    {"roll", 0, true},         {"panel-length", 0, true},
    {"border", 0, true},     {"list-papers", 0, false}, {"portrait", 0, false},
    {"landscape", 0, false}, {"overlap", 0, true},      {"joint", 0, true},
    {"margin", 0, true},     {"range", 0, true},        {"printer", 0, true},
    {"font", 0, true},       {"gray", 0, false},        {"paper-weight", 0, true},
    {"ink-saver", 0, false}, {"proof", 0, false},       {"output", 'o', true},
    {"plan", 0, true},       {"explain", 0, false},     {"json", 0, false},
    {"replace", 0, false},   {"progress", 0, false},    {"quiet", 'q', false},
    {NULL, 0, false}};

/* ---- options ---- */

static bool take_orientation(cli_sheets_request *r, pv_orientation orientation)
{
    if (r->layout.orientation != PV_FEWEST && r->layout.orientation != orientation) {
        cli_usage("sheets", "--portrait and --landscape exclude each other");
        return false;
    }
    r->layout.orientation = orientation;
    return true;
}

static bool take_joint(cli_sheets_request *r, const char *name)
{
    static const char *const names[] = {"lap", "butt"}; /* by pv_joint */
    r->joint_given = true;
    for (int i = 0; i < 2; i++)
        if (strcmp(name, names[i]) == 0) {
            r->layout.joint = (pv_joint)i;
            return true;
        }
    cli_usage("sheets", "--joint knows lap and butt, not \"%.40s\"", name);
    return false;
}

/* What isn't asked for is 0 in the layout, so that 0 can't be asked for. */
static bool is_some(const char *option, double mm)
{
    if (mm > 0)
        return true;
    cli_usage("sheets", "%s must be more than 0 mm", option);
    return false;
}

/* What decides how the mat is laid. */
static bool take_layout(cli_sheets_request *r, int option, const char *value)
{
    switch (option) {
    case OPT_PAPER:
        r->layout.paper = value;
        return true;
    case OPT_ROLL:
        return cli_length("sheets", "--roll", value, &r->layout.roll) &&
               is_some("--roll", r->layout.roll);
    case OPT_PANEL_LENGTH:
        return cli_length("sheets", "--panel-length", value, &r->layout.panel_length) &&
               is_some("--panel-length", r->layout.panel_length);
    case OPT_BORDER:
        return cli_length("sheets", "--border", value, &r->layout.border);
    case OPT_PORTRAIT:
        return take_orientation(r, PV_PORTRAIT);
    case OPT_LANDSCAPE:
        return take_orientation(r, PV_LANDSCAPE);
    case OPT_OVERLAP:
        r->overlap_given = true;
        return cli_length("sheets", "--overlap", value, &r->layout.overlap);
    case OPT_JOINT:
        return take_joint(r, value);
    default: /* OPT_MARGIN */
        return cli_sheets_margin(r, value);
    }
}

static bool take_option(cli_sheets_request *r, int option, const char *value)
{
    switch (option) {
    case OPT_PAPER:
    case OPT_ROLL:
    case OPT_PANEL_LENGTH:
    case OPT_BORDER:
    case OPT_PORTRAIT:
    case OPT_LANDSCAPE:
    case OPT_OVERLAP:
    case OPT_JOINT:
    case OPT_MARGIN:
        return take_layout(r, option, value);
    case OPT_LIST:
        r->list = true;
        break;
    case OPT_RANGE:
        r->range = value;
        break;
    case OPT_PRINTER:
        r->printer = value;
        break;
    case OPT_FONT:
        r->font = value;
        break;
    case OPT_WEIGHT:
        return cli_sheets_paper_weight(r, value);
    case OPT_GRAY:
        r->gray = true;
        break;
    case OPT_SPARING:
        r->sparing = true;
        break;
    case OPT_PROOF:
        r->proof = true;
        break;
    case OPT_OUTPUT:
        r->output = value;
        break;
    case OPT_PLAN:
        r->plan = value;
        break;
    case OPT_EXPLAIN:
        r->explain = true;
        break;
    case OPT_JSON:
        r->json = true;
        break;
    case OPT_REPLACE:
        r->replace = true;
        break;
    case OPT_PROGRESS:
        r->progress = true;
        break;
    case OPT_QUIET:
        r->quiet = true;
        break;
    default: /* CLI_OPERAND */
        if (r->course != NULL) {
            cli_usage("sheets", "one course at a time: \"%.100s\" is a second", value);
            return false;
        }
        r->course = value;
        break;
    }
    return true;
}

/* The locale's paper: LC_PAPER of the C library, where it has that (ISO/IEC TR 14652). */
static const char *locale_paper(void)
{
#if defined(LC_PAPER) && defined(__GLIBC__)
    setlocale(LC_PAPER, "");
    intptr_t height = (intptr_t)nl_langinfo(_NL_PAPER_HEIGHT);
    if ((int)height == 279)
        return "letter";
#endif
    return "A4";
}

/* "F.pdf" beside which "F.plan.json" stands; by default named after the course. */
static bool name_files(cli_sheets_request *r)
{
    const char *base = r->proof ? "proof" : r->course, *slash = strrchr(base, '/');
    if (strcmp(base, "-") == 0)
        base = "course";
    else if (slash != NULL)
        base = slash + 1;
    pv_text pdf = PV_TEXT_INIT, plan = PV_TEXT_INIT;
    const char *dot = strrchr(base, '.');
    int stem = dot != NULL && dot != base ? (int)(dot - base) : (int)strlen(base);
    if (r->output != NULL)
        pv_text_add(&pdf, "%s", r->output);
    else
        pv_text_add(&pdf, "%.*s.pdf", stem, base);
    r->pdf_name = pv_text_take(&pdf);
    if (r->pdf_name == NULL)
        return false;
    size_t length = strlen(r->pdf_name);
    if (length > 4 && strcmp(r->pdf_name + length - 4, ".pdf") == 0)
        length -= 4;
    if (r->plan != NULL)
        pv_text_add(&plan, "%s", r->plan);
    else
        pv_text_add(&plan, "%.*s.plan.json", (int)length, r->pdf_name);
    r->plan_name = pv_text_take(&plan);
    return r->plan_name != NULL;
}

static int check_names(const cli_sheets_request *r)
{
    bool to_output = strcmp(r->pdf_name, "-") == 0;
    if (to_output && r->plan == NULL)
        return cli_usage("sheets", "with -o - say by --plan where the plan is to go");
    if (strcmp(r->pdf_name, r->plan_name) == 0 || cli_same_file(r->pdf_name, r->plan_name))
        return cli_usage("sheets", "the PDF and its plan need two names");
    const char *const outputs[2] = {r->pdf_name, r->plan_name};
    for (int i = 0; i < 2; i++)
        if (cli_overwrites("sheets", outputs[i], "course", r->course) ||
            cli_overwrites("sheets", outputs[i], "printer", r->printer))
            return CLI_USAGE;
    if (to_output && isatty(STDOUT_FILENO) == 1)
        return cli_usage("sheets", "a PDF is no reading for a terminal: redirect it");
    return CLI_OK;
}

/* A proof has neither course nor overlap nor range. */
static int check_proof(const cli_sheets_request *r)
{
    if (!r->proof)
        return r->course == NULL ? cli_usage("sheets", "which course?") : CLI_OK;
    if (r->course != NULL)
        return cli_usage("sheets", "--proof takes no course: what is \"%.100s\"?", r->course);
    if (r->explain)
        return cli_usage("sheets", "--proof is one page: it has no seams to --explain");
    if (r->joint_given)
        return cli_usage("sheets", "--proof is one page: it takes no --joint");
    if (r->overlap_given || r->range != NULL)
        return cli_usage("sheets", "--proof is one page: it takes neither --overlap nor --range");
    if (r->gray || r->sparing)
        return cli_usage("sheets", "--proof has the colours that it measures: it takes neither "
                                   "--gray nor --ink-saver");
    if (r->layout.roll != 0 || r->layout.border != 0)
        return cli_usage("sheets", "--proof is a page on a sheet: it takes neither --roll nor "
                                   "--border");
    return CLI_OK;
}

static int check_roll(const cli_sheets_request *r)
{
    if (r->layout.roll == 0 && r->layout.panel_length != 0)
        return cli_usage("sheets", "--panel-length goes with --roll");
    if (r->layout.roll != 0 && r->layout.paper != NULL)
        return cli_usage("sheets", "--paper and --roll exclude each other");
    if (r->layout.roll != 0 && r->printer != NULL)
        return cli_usage("sheets", "--printer corrects sheets, not rolls");
    return CLI_OK;
}

static int read_options(cli_sheets_request *r, int argc, char **argv)
{
    cli_scan scan = cli_scan_start("sheets", options, argc, argv);
    for (int option; (option = cli_scan_next(&scan)) != CLI_END;)
        if (option == CLI_BAD || !take_option(r, option, scan.value))
            return CLI_USAGE;
    if (r->list)
        return CLI_OK;
    int status = check_proof(r);
    if (status == CLI_OK)
        status = check_roll(r);
    if (status == CLI_OK && r->explain && r->json)
        return cli_usage("sheets", "--explain is text: it excludes --json");
    if (status != CLI_OK || (r->course == NULL && !r->proof))
        return status;
    cli_sheets_settle_margins(r);
    if (r->layout.paper == NULL && r->layout.roll == 0) {
        r->layout.paper = locale_paper();
        r->paper_by_locale = true;
    }
    if (!name_files(r)) {
        fputs("error: out of memory\n", stderr);
        return CLI_OS;
    }
    return check_names(r);
}

static int list_papers(void)
{
    for (size_t i = 0; i < pv_paper_count(); i++) {
        const pv_paper *paper = pv_paper_at(i);
        printf("%-10s %7.1f x %6.1f mm  %s\n", paper->everyday, paper->width, paper->height,
               paper->name);
    }
    return CLI_OK;
}

/* ---- making ---- */

/* Reads the printer, and makes room for a page that is corrected for it. */
static bool read_printer(cli_sheets_request *r, cli_sheets_product *p, pv_diags *diags)
{
    if (r->printer == NULL)
        return true;
    pv_bytes text;
    if (!cli_read_kind(r->printer, CLI_KIND_PRINTER, PV_PRINTER_BYTES_MAX, &text, diags))
        return false;
    p->printer = pv_printer_parse((const char *)text.data, text.size, r->printer, diags);
    pv_free(text.data);
    if (p->printer == NULL)
        return false;
    char *name = NULL;
    double page[2];
    if (!pv_paper_find(r->layout.paper, &name, &page[0], &page[1], diags))
        return false;
    if (fabs(page[0] - p->printer->page[0]) > 0.5 || fabs(page[1] - p->printer->page[1]) > 0.5)
        pv_diags_add(diags, PV_WARNING, PV_CAUSE_NONE, NULL,
                     "print a proof on this paper and calibrate by that",
                     "%s was measured on %s, and may treat %s otherwise", r->printer,
                     p->printer->paper, name);
    pv_free(name);
    p->widened = pv_printer_widen(p->printer, page, r->layout.margin);
    return true;
}

static pv_plan *make_plan(const cli_sheets_request *r, char **explained, pv_diags *diags)
{
    if (r->proof)
        return pv_plan_proof(&r->layout, diags);
    pv_bytes text;
    if (!cli_read_kind(r->course, CLI_KIND_COURSE, PV_COURSE_BYTES_MAX, &text, diags))
        return NULL;
    const char *name = strcmp(r->course, "-") == 0 ? "standard input" : r->course;
    pv_course *course =
        pv_course_parse((const char *)text.data, text.size, name, r->layout.type, diags);
    if (course != NULL && !pv_course_print_as(course, r->gray, r->sparing, diags)) {
        pv_course_free(course);
        course = NULL;
    }
    pv_plan *plan = course != NULL ? pv_plan_make(course, &r->layout, diags) : NULL;
    if (plan != NULL && r->explain) {
        *explained = pv_plan_explain(plan, course, diags);
        if (*explained == NULL) {
            pv_plan_free(plan);
            plan = NULL;
        }
    }
    pv_course_free(course);
    pv_free(text.data);
    return plan;
}

static void warn_borderless(const cli_sheets_request *r, pv_diags *diags)
{
    if (r->printer_class != NULL && strcmp(r->printer_class, "borderless") == 0)
        pv_diags_add(diags, PV_WARNING, PV_CAUSE_NONE, NULL,
                     "choose the driver's setting that keeps the size, and hold a scale bar "
                     "against a ruler first",
                     "printers enlarge pages that they print without borders, by some per cent");
}

static bool make_pdfs(const cli_sheets_request *r, cli_sheets_product *p, pv_diags *diags)
{
    cli_progress progress;
    bool watched = cli_progress_start(&progress, "sheets", r->progress, r->quiet);
    pv_pdf_job job = {.how = {.printer = p->printer, .type = p->type}, .chosen = p->chosen};
    job.progress = watched ? cli_progress_show : NULL;
    job.progress_context = &progress;
    job.sink = cli_sheets_take_part;
    job.sink_context = &p->output;
    bool good = pv_sheets_pdf_files(p->plan, &job, diags);
    cli_progress_end(&progress);
    return good;
}

/* Everything but putting the files in place. */
static bool make(cli_sheets_request *r, cli_sheets_product *p, pv_diags *diags)
{
    warn_borderless(r, diags);
    if (!read_printer(r, p, diags))
        return false;
    p->type = pv_type_open(r->font, diags);
    if (p->type == NULL)
        return false;
    r->layout.type = p->type;
    p->plan = make_plan(r, &p->explained, diags);
    if (p->plan == NULL || !pv_plan_choose(p->plan, r->range, &p->chosen, diags))
        return false;
    for (size_t i = 0; i < p->plan->n_sheets; i++)
        p->printed += p->chosen[i];
    pv_plan_correct(p->plan, p->printer);
    p->plan_text = pv_plan_json(p->plan, diags);
    if (p->plan_text == NULL || !cli_sheets_same_plan(r, p, diags) ||
        !cli_sheets_keeps_others(r, p, diags))
        return false;
    if (!r->proof && (r->json || !r->quiet) &&
        !pv_takeoff_make(p->plan, r->paper_weight, &p->takes, diags))
        return false;
    return make_pdfs(r, p, diags);
}

static void drop(cli_sheets_request *r, cli_sheets_product *p)
{
    pv_plan_free(p->plan);
    pv_printer_free(p->printer);
    pv_type_free(p->type);
    pv_free(p->chosen);
    cli_sheets_output_drop(&p->output);
    pv_free(p->plan_text);
    pv_takeoff_drop(&p->takes);
    pv_free(p->explained);
    pv_free(r->pdf_name);
    pv_free(r->plan_name);
}

static int run(int argc, char **argv)
{
    cli_sheets_request r = {.layout = pv_layout_defaults(), .paper_weight = PV_PAPER_WEIGHT};
    cli_sheets_product p = {0};
    r.layout.paper = NULL;
    int status = read_options(&r, argc, argv);
    if (status != CLI_OK || r.list || r.plan_name == NULL) {
        drop(&r, &p);
        return status == CLI_OK ? list_papers() : status;
    }
    pv_diags *diags = pv_diags_new();
    if (diags == NULL) {
        fputs("error: out of memory\n", stderr);
        drop(&r, &p);
        return CLI_OS;
    }
    cli_sheets_output_init(&p.output, r.pdf_name, r.plan_name);
    bool good = make(&r, &p, diags) && cli_sheets_write(&p.output, p.plan_text, diags);
    cli_report(diags, r.quiet);
    status = good ? CLI_OK : cli_status(diags);
    if (good && !cli_sheets_tell(&r, &p))
        status = CLI_OS;
    pv_diags_free(diags);
    drop(&r, &p);
    return status;
}

const cli_command cli_sheets = {"sheets", "the sheets to print as a PDF, and their plan",
                                cli_sheets_help, run};
