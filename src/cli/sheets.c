/* pavior sheets: the sheets to print as one PDF, and the plan of them beside it. */
#include "sheets.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static void list_papers(void)
{
    const pv_paper *paper;
    for (size_t i = 0; (paper = pv_paper_at(i)) != NULL; i++)
        printf("%-10s %7.1f x %6.1f mm  %s\n", paper->everyday, paper->width, paper->height,
               paper->name);
}

/* ---- files ---- */

/* A pv_pdf_sink; the context is the product. */
static bool take_part(void *context, const pv_pdf_part *from, pv_diags *diags)
{
    sheets_product *p = context;
    const char *name = p->asked->pdf_name;
    bool stream = cli_is_stream(name);
    if (stream && p->n_parts > 0) {
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_USAGE,
                     "choose fewer with --range, or name a file with --output",
                     "so many sheets make several files, which %s can't take",
                     strcmp(name, "-") == 0 ? "standard output" : name);
        return false;
    }
    sheets_part *more = realloc(p->parts, (p->n_parts + 1) * sizeof *more);
    if (more == NULL)
        return cli_no_memory(diags);
    p->parts = more;
    sheets_part *to = &more[p->n_parts++];
    *to = (sheets_part){.first = from->first, .last = from->last, .pages = from->pages};
    p->pages += from->pages;
    p->guide += from->guide;
    if (!stream)
        return cli_stage(name, from->bytes, from->size, &to->staged, diags);
    p->stream = (cli_bytes){malloc(from->size), from->size};
    if (p->stream.data == NULL)
        return cli_no_memory(diags);
    memcpy(p->stream.data, from->bytes, from->size);
    return true;
}

/* "F-3.pdf" for the third of several PDFs, "F.pdf" for n = 0, and the same with another ending;
 * NULL where memory ran out. */
static char *name_of_part(const char *pdf, size_t n, const char *ending)
{
    char more[64];
    if (n == 0)
        snprintf(more, sizeof more, "%s", ending);
    else
        snprintf(more, sizeof more, "-%zu%s", n, ending);
    return sheets_beside(pdf, more);
}

/* "F.pdf", or of several "F-1.pdf" and so on. */
static bool name_parts(sheets_product *p, pv_diags *diags)
{
    const char *name = p->asked->pdf_name;
    for (size_t i = 0; i < p->n_parts; i++) {
        p->parts[i].name = name_of_part(name, p->n_parts > 1 ? i + 1 : 0, name + sheets_stem(name));
        if (p->parts[i].name == NULL)
            return cli_no_memory(diags);
    }
    return true;
}

/* A set that came in another number of PDFs before must not stay beside this one, where somebody
 * would print it. What has a plan of its own is another set. False with a reason. */
static bool nothing_stays_beside(const sheets_product *p, pv_diags *diags)
{
    const char *name = p->asked->pdf_name;
    if (p->stream.data != NULL || p->asked->range != NULL || name[sheets_stem(name)] == '\0')
        return true;
    size_t n = p->n_parts > 1 ? p->n_parts + 1 : 1; /* the first that isn't written now */
    const size_t others[2] = {n, p->n_parts > 1 ? 0 : n};
    bool good = true;
    for (int i = 0; good && i < 2; i++) {
        char *pdf = name_of_part(name, others[i], ".pdf");
        char *plan = name_of_part(name, others[i], ".plan.json");
        if (pdf == NULL || plan == NULL)
            good = cli_no_memory(diags);
        else if (access(pdf, F_OK) == 0 && (others[i] == 0 || access(plan, F_OK) != 0)) {
            pv_diags_say(diags, PV_ERROR, PV_CAUSE_USAGE,
                         "move it and its like away, or give these sheets another name with -o",
                         "%s is of a former set of this name, and would stay beside this one", pdf);
            good = false;
        }
        free(pdf);
        free(plan);
    }
    return good;
}

/* Puts all in place, or leaves nothing and says why. Streams first: what went wrong with them
 * leaves no file. */
static bool write_files(sheets_product *p, pv_diags *diags)
{
    const char *pdf = p->asked->pdf_name, *plan = p->asked->plan_name;
    bool to_file = !cli_is_stream(plan);
    size_t size = strlen(p->plan_text), n = 0;
    if (!name_parts(p, diags) || !nothing_stays_beside(p, diags) ||
        (to_file && !cli_stage(plan, p->plan_text, size, &p->staged_plan, diags)) ||
        (p->stream.data != NULL && !cli_write(pdf, p->stream.data, p->stream.size, false, diags)) ||
        (!to_file && !cli_write(plan, p->plan_text, size, false, diags)))
        return false;
    assert(p->n_parts <= PV_PLAN_SHEETS_MAX);
    cli_staged **staged = calloc(p->n_parts + 1, sizeof(cli_staged *));
    const char **names = calloc(p->n_parts + 1, sizeof(char *));
    bool good = staged != NULL && names != NULL;
    /* The plan first: sheets without it would be worse than the other way round. */
    if (good && to_file) {
        staged[n] = &p->staged_plan;
        names[n++] = plan;
    }
    for (size_t i = 0; good && p->stream.data == NULL && i < p->n_parts; i++) {
        staged[n] = &p->parts[i].staged;
        names[n++] = p->parts[i].name;
    }
    good = good ? cli_settle(staged, names, n, p->asked->replace, diags) : cli_no_memory(diags);
    free((void *)staged);
    free((void *)names);
    return good;
}

/* ---- the plan that is there already ---- */

static void refuse_former_plan(const sheets_product *p, const pv_plan_info *old, pv_diags *diags)
{
    const char *name = p->asked->plan_name;
    const pv_plan_info *new = pv_summary_plan(p->summary);
    bool range = p->asked->range != NULL;
    if (old == NULL)
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_USAGE,
                     "give the plan another name with --plan, or move that file away",
                     "%s is there already, and is not a readable plan", name);
    else if (strcmp(old->kit, new->kit) == 0)
        pv_diags_say(
            diags, PV_ERROR, PV_CAUSE_USAGE,
            range
                ? "use the same tolerances, printer, language and version as before; or reprint "
                  "all "
                  "sheets under another name (-o)"
                : "use the same tolerances, printer, language and version as before; or give this "
                  "plan another name with --plan; or use --replace",
            "%s has the same kit %s, but differs from this plan in what isn't on the mat", name,
            old->kit);
    else if (range)
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_USAGE,
                     "use the same course, paper, margins, overlap, joint, colours, typeface and "
                     "version as before; or reprint all sheets under another name (-o)",
                     "these sheets would not fit those printed before: %s has kit %s, and these "
                     "would have kit %s",
                     name, old->kit, new->kit);
    else if (strcmp(old->name, new->name) == 0 && strcmp(old->edition, new->edition) == 0 &&
             strcmp(old->paper, new->paper) == 0)
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_USAGE,
                     "if the course has changed, give it a new edition; in any case give these "
                     "sheets another name with -o, or use --replace",
                     "%s is of the same edition %s, but of other sheets: it has kit %s, and "
                     "these would have kit %s",
                     name, old->edition, old->kit, new->kit);
    else
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_USAGE,
                     "give these sheets another name with -o, or use --replace",
                     "%s belongs to prints of another layout (kit %s, edition %s, %s, %zu %s), "
                     "which can't be inspected without it",
                     name, old->kit, old->edition, old->paper, old->sheets,
                     old->sheets == 1 ? "sheet" : "sheets");
}

/* A plan that is there already must be this one: without it the sheets that were printed by it
 * can't be inspected. Asked before the sheets are drawn; cli_settle asks again. False with a
 * reason. */
static bool fits_former_plan(const sheets_product *p, pv_diags *diags)
{
    const sheets_request *r = p->asked;
    cli_bytes text;
    if (r->replace || cli_is_stream(r->plan_name) || access(r->plan_name, F_OK) != 0)
        return true;
    if (!cli_read(r->plan_name, PV_PLAN_BYTES_MAX, &text, diags))
        return false;
    bool same =
        text.size == strlen(p->plan_text) && memcmp(text.data, p->plan_text, text.size) == 0;
    if (!same) {
        pv_plan *plan = pv_plan_parse((const char *)text.data, text.size, r->plan_name, NULL);
        pv_summary *summary = plan != NULL ? pv_summary_make(plan, NULL) : NULL;
        refuse_former_plan(p, summary != NULL ? pv_summary_plan(summary) : NULL, diags);
        pv_summary_free(summary);
        pv_plan_free(plan);
    }
    free(text.data);
    return same;
}

/* ---- making ---- */

static pv_printer *read_printer(const char *name, pv_diags *diags)
{
    cli_bytes text;
    if (!cli_read_kind(name, PV_FILE_PRINTER, PV_PRINTER_BYTES_MAX, &text, diags))
        return NULL;
    pv_printer *printer = pv_printer_parse((const char *)text.data, text.size, name, diags);
    free(text.data);
    return printer;
}

static pv_plan *read_plan(const char *name, pv_diags *diags)
{
    cli_bytes text;
    if (!cli_read_kind(name, PV_FILE_PLAN, PV_PLAN_BYTES_MAX, &text, diags))
        return NULL;
    pv_plan *plan = pv_plan_parse((const char *)text.data, text.size, name, diags);
    free(text.data);
    return plan;
}

static bool plan_course(sheets_product *p, const pv_layout_options *layout, pv_diags *diags)
{
    const sheets_request *r = p->asked;
    cli_bytes text;
    if (!cli_read_kind(r->course, PV_FILE_COURSE, PV_COURSE_BYTES_MAX, &text, diags))
        return false;
    pv_course *course = pv_course_parse((const char *)text.data, text.size,
                                        cli_input_name(r->course), p->type, diags);
    bool good = course != NULL && pv_course_print_as(course, r->gray, r->sparing, diags);
    p->plan = good ? pv_plan_make(course, layout, diags) : NULL;
    if (p->plan != NULL && r->explain)
        p->explained = pv_plan_explain(p->plan, course, diags);
    pv_course_free(course);
    free(text.data);
    return p->plan != NULL && (!r->explain || p->explained != NULL);
}

static bool make_plan(sheets_product *p, pv_diags *diags)
{
    const sheets_request *r = p->asked;
    pv_layout_options layout = r->layout;
    if (r->printer != NULL && (p->printer = read_printer(r->printer, diags)) == NULL)
        return false;
    p->type = pv_type_open(r->font, diags);
    if (p->type == NULL)
        return false;
    layout.printer = p->printer;
    layout.type = p->type;
    if (r->keep != NULL && (p->keep = read_plan(r->keep, diags)) == NULL)
        return false;
    layout.keep = p->keep;
    if (r->proof)
        p->plan = pv_plan_proof(&layout, diags);
    else if (!plan_course(p, &layout, diags))
        return false;
    if (p->plan != NULL && p->keep != NULL &&
        (p->comparison = pv_plan_compare(p->keep, p->plan, NULL, diags)) == NULL)
        return false;
    p->summary = p->plan != NULL ? pv_summary_make(p->plan, diags) : NULL;
    p->plan_text = p->summary != NULL ? pv_plan_json(p->plan, diags) : NULL;
    return p->plan_text != NULL;
}

/* Everything but putting the files in place. */
static bool make(sheets_product *p, pv_diags *diags)
{
    const sheets_request *r = p->asked;
    if (!make_plan(p, diags) || !fits_former_plan(p, diags))
        return false;
    bool told = !r->proof && (r->json || !r->quiet);
    if (told && (p->takes = pv_takeoff_make(p->plan, r->weight, diags)) == NULL)
        return false;
    cli_progress progress;
    pv_pdf_options options = pv_pdf_defaults();
    options.no_guide = r->no_guide;
    bool again = r->range != NULL && strcmp(r->range, "again") == 0;
    options.range = again ? pv_comparison_range(p->comparison) : r->range;
    options.taping = again;
    if (again && options.range == NULL) {
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_USAGE, NULL, "no sheet must be printed again");
        return false;
    }
    if (cli_progress_start(&progress, "sheets", r->progress, r->quiet))
        options.progress = cli_progress_show;
    options.progress_context = &progress;
    bool good = pv_sheets_pdf(p->plan, &options, take_part, p, diags);
    cli_progress_end(&progress);
    return good;
}

/* ---- all together ---- */

/* Leaves nothing of what was not put in place. */
static void drop(sheets_product *p)
{
    for (size_t i = 0; i < p->n_parts; i++) {
        cli_discard(&p->parts[i].staged);
        free(p->parts[i].name);
    }
    cli_discard(&p->staged_plan);
    free(p->parts);
    free(p->stream.data);
    pv_free(p->plan_text);
    pv_free(p->explained);
    pv_takeoff_free(p->takes);
    pv_summary_free(p->summary);
    pv_comparison_free(p->comparison);
    pv_plan_free(p->plan);
    pv_plan_free(p->keep);
    pv_printer_free(p->printer);
    pv_type_free(p->type);
}

static int lay(const sheets_request *r)
{
    sheets_product p = {.asked = r};
    pv_diags *diags = pv_diags_new();
    if (diags == NULL) {
        cli_no_memory(NULL);
        return CLI_OS;
    }
    bool good = make(&p, diags) && write_files(&p, diags);
    cli_report(diags, r->quiet);
    int status = good ? CLI_OK : cli_status(diags);
    if (good)
        sheets_tell(&p);
    pv_diags_free(diags);
    drop(&p);
    return status;
}

int cli_sheets(int argc, char **argv)
{
    sheets_request r = {.layout = pv_layout_defaults(), .weight = PV_PAPER_WEIGHT};
    r.layout.paper = NULL;
    int status = sheets_options(&r, argc, argv);
    if (status == CLI_OK && r.list)
        list_papers();
    else if (status == CLI_OK)
        status = lay(&r);
    free(r.pdf_name);
    free(r.plan_name);
    return status;
}
