/* pavior sheets: the sheets to print as one PDF, and the plan of them beside it. */
#include "cli.h"

#include <langinfo.h>
#include <locale.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

typedef struct request {
    const char *course, *range, *output, *plan, *printer, *font; /* may be NULL */
    pv_layout_options layout;
    double weight; /* g/m2, of the paper */
    bool portrait, landscape, joint_given, overlap_given, gray, sparing, proof;
    bool list, explain, json, replace, progress, quiet, paper_by_locale;
    bool side_given[4];
    char *pdf_name, *plan_name; /* owned */
} request;

/* One PDF of one or several. */
typedef struct part {
    char *name; /* owned */
    size_t first, last, pages;
    cli_staged staged; /* until it is put in place */
} part;

/* What was made. The PDFs come one after the other and are written beside their place; the plan
 * comes last, and with it all are put in place. */
typedef struct product {
    const request *asked;
    pv_printer *printer; /* or NULL */
    pv_type *type;
    pv_plan *plan;
    pv_summary *summary;
    pv_takeoff *takes; /* NULL for a proof, or if no output shows it */
    char *plan_text, *explained;
    part *parts;
    size_t n_parts, pages;
    cli_bytes stream; /* the PDF, where it goes to no file that could be replaced */
    cli_staged staged_plan;
} product;

/* ---- options ---- */

static bool take_joint(void *to, const char *name)
{
    request *r = to;
    bool butt = strcmp(name, "butt") == 0;
    r->joint_given = true;
    r->layout.joint = butt ? PV_JOINT_BUTT : PV_JOINT_LAP;
    if (!butt && strcmp(name, "lap") != 0)
        cli_usage("sheets", "--joint must be lap or butt, not \"%.40s\"", name);
    return butt || strcmp(name, "lap") == 0;
}

static bool take_overlap(void *to, const char *text)
{
    request *r = to;
    r->overlap_given = true;
    return cli_length("sheets", "--overlap", text, &r->layout.overlap);
}

/* What isn't asked for is 0 in the layout, so that 0 can't be asked for. */
static bool some_length(const char *option, const char *text, double *mm)
{
    if (!cli_length("sheets", option, text, mm))
        return false;
    if (!(*mm > 0))
        cli_usage("sheets", "%s must be more than 0 mm", option);
    return *mm > 0;
}

static bool take_roll(void *to, const char *text)
{
    return some_length("--roll", text, &((request *)to)->layout.roll);
}

static bool take_panel(void *to, const char *text)
{
    return some_length("--panel-length", text, &((request *)to)->layout.panel_length);
}

static bool take_weight(void *to, const char *text)
{
    request *r = to;
    size_t used = 0;
    bool good = pv_number_parse(text, strlen(text), &r->weight, &used);
    const char *unit = text + used;
    while (good && *unit == ' ')
        unit++;
    good = good && (strcmp(unit, "g/m2") == 0 || strcmp(unit, "g/m\xC2\xB2") == 0 ||
                    strcmp(unit, "gsm") == 0 || strcmp(unit, "g") == 0);
    if (good && r->weight >= PV_PAPER_WEIGHT_MIN && r->weight <= PV_PAPER_WEIGHT_MAX)
        return true;
    cli_usage("sheets", "--paper-weight needs %g to %g g/m2, such as 80g/m2, not \"%.40s\"",
              PV_PAPER_WEIGHT_MIN, PV_PAPER_WEIGHT_MAX, text);
    return false;
}

static const char *printer_class(const char *word)
{
    size_t i = 0;
    while (pv_printer_class(i) != NULL && strcmp(word, pv_printer_class(i)) != 0)
        i++;
    return pv_printer_class(i);
}

/* "5mm" for all sides that have none of their own yet, or "left=5mm" for one. */
static bool take_sides(request *r, const char *word)
{
    static const char *const sides[] = {"left", "bottom", "right", "top"};
    const char *equals = strchr(word, '=');
    double mm = 0;
    if (!cli_length("sheets", "--margin", equals != NULL ? equals + 1 : word, &mm))
        return false;
    if (!(mm >= 0)) {
        cli_usage("sheets", "--margin must be 0 mm or more, not \"%.40s\"", word);
        return false;
    }
    for (int i = 0; equals == NULL && i < 4; i++)
        r->layout.margin[i] = mm;
    if (equals == NULL)
        return true;
    for (int i = 0; i < 4; i++) {
        if (strlen(sides[i]) != (size_t)(equals - word) ||
            strncmp(word, sides[i], strlen(sides[i])) != 0)
            continue;
        if (r->side_given[i])
            cli_usage("sheets", "--margin gives two lengths for the %s side", sides[i]);
        else
            r->layout.margin[i] = mm;
        bool first = !r->side_given[i];
        r->side_given[i] = true;
        return first;
    }
    cli_usage("sheets", "--margin takes the sides left, bottom, right and top, not \"%.40s\"",
              word);
    return false;
}

/* A list such as "inkjet,left=5mm". */
static bool take_margin(void *to, const char *text)
{
    request *r = to;
    while (text != NULL) {
        char word[64];
        const char *comma = strchr(text, ',');
        int length = comma != NULL ? (int)(comma - text) : (int)strlen(text);
        snprintf(word, sizeof word, "%.*s", length, text);
        const char *known = printer_class(word), *had = r->layout.printer_class;
        bool letters = *word >= 'a' && *word <= 'z' && strchr(word, '=') == NULL;
        if (known != NULL && had != NULL && strcmp(had, known) != 0)
            cli_usage("sheets", "--margin gives two classes, %s and %s", had, known);
        else if (known == NULL && letters)
            cli_usage("sheets",
                      "--margin takes the classes laser, inkjet and borderless, not \"%.40s\"",
                      word);
        else if (known != NULL)
            r->layout.printer_class = known;
        if ((known != NULL && had != NULL && strcmp(had, known) != 0) ||
            (known == NULL && (letters || !take_sides(r, word))))
            return false;
        text = comma != NULL ? comma + 1 : NULL;
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

/* What the options lack or contradict; NULL where nothing. */
static const char *contradiction(const request *r)
{
    bool roll = r->layout.roll != 0;
    if (r->portrait && r->landscape)
        return "--portrait and --landscape exclude each other";
    if (!r->proof && r->course == NULL)
        return "no course given";
    if (r->proof && r->course != NULL)
        return "--proof prints no course: leave the course out";
    if (r->proof && r->explain)
        return "--proof is one page: it has no seams to --explain";
    if (r->proof && r->joint_given)
        return "--proof is one page: it takes no --joint";
    if (r->proof && (r->overlap_given || r->range != NULL))
        return "--proof is one page: it takes neither --overlap nor --range";
    if (r->proof && (r->gray || r->sparing))
        return "--proof has the colours that it measures: it takes neither --gray nor --ink-saver";
    if (r->proof && (roll || r->layout.border != 0))
        return "--proof is a page on a sheet: it takes neither --roll nor --border";
    if (!roll && r->layout.panel_length != 0)
        return "--panel-length goes with --roll";
    if (roll && r->layout.paper != NULL)
        return "--paper and --roll exclude each other";
    if (roll && r->printer != NULL)
        return "--printer corrects sheets, not rolls";
    if (r->range != NULL && r->replace)
        return "--range adds sheets to a set and replaces nothing: leave --replace out";
    if (r->explain && r->json)
        return "--explain is text: it excludes --json";
    return NULL;
}

/* `length` characters of `stem` and `more`; NULL where memory ran out. The caller frees it. */
static char *joined(const char *stem, size_t length, const char *more)
{
    size_t size = strlen(more) + 1;
    char *out = malloc(length + size);
    if (out == NULL)
        return NULL;
    memcpy(out, stem, length);
    memcpy(out + length, more, size);
    return out;
}

/* Without the last ".pdf". */
static size_t stem_of_pdf(const char *name)
{
    size_t length = strlen(name);
    return length > 4 && strcmp(name + length - 4, ".pdf") == 0 ? length - 4 : length;
}

/* ".pdf", with the range before it, so that a range's PDF doesn't take the place of the set's. NULL
 * where memory ran out; the caller frees it. */
static char *ending_of_pdf(const char *range)
{
    size_t length = range != NULL ? strlen(range) : 0, n = 0;
    char *out = malloc(length + sizeof "-.pdf");
    if (out == NULL)
        return NULL;
    if (range != NULL)
        out[n++] = '-';
    for (size_t i = 0; i < length; i++)
        if (range[i] != ' ' && range[i] != '/')
            out[n++] = range[i];
    memcpy(out + n, ".pdf", sizeof ".pdf");
    return out;
}

/* "F.pdf" beside which "F.plan.json" stands; by default named after the course. A range by default
 * goes into "F-B2.pdf", beside the set's plan. */
static bool name_files(request *r)
{
    const char *base = r->proof ? "proof" : r->course, *slash = strrchr(base, '/');
    base = strcmp(base, "-") == 0 ? "course" : slash != NULL ? slash + 1 : base;
    const char *dot = strrchr(base, '.');
    size_t stem = dot != NULL && dot != base ? (size_t)(dot - base) : strlen(base);
    char *ending = ending_of_pdf(r->range);
    if (ending != NULL && r->output != NULL)
        r->pdf_name = joined(r->output, strlen(r->output), "");
    else if (ending != NULL)
        r->pdf_name = joined(base, stem, ending);
    free(ending);
    if (r->pdf_name != NULL && r->plan != NULL)
        r->plan_name = joined(r->plan, strlen(r->plan), "");
    else if (r->pdf_name != NULL && r->output != NULL)
        r->plan_name = joined(r->pdf_name, stem_of_pdf(r->pdf_name), ".plan.json");
    else if (r->pdf_name != NULL)
        r->plan_name = joined(base, stem, ".plan.json");
    return r->plan_name != NULL || cli_no_memory(NULL);
}

static int check_names(const request *r)
{
    bool to_output = strcmp(r->pdf_name, "-") == 0;
    if (to_output && r->plan == NULL)
        return cli_usage("sheets", "with -o -, name the plan's file with --plan");
    if (strcmp(r->pdf_name, r->plan_name) == 0 || cli_same_file(r->pdf_name, r->plan_name))
        return cli_usage("sheets", "the PDF and its plan need different names");
    const char *const outputs[2] = {r->pdf_name, r->plan_name};
    for (int i = 0; i < 2; i++)
        if (cli_overwrites("sheets", outputs[i], "course", r->course) ||
            cli_overwrites("sheets", outputs[i], "printer", r->printer))
            return CLI_USAGE;
    if (to_output && isatty(STDOUT_FILENO) == 1)
        return cli_usage("sheets", "refusing to write a PDF to a terminal: redirect it");
    return CLI_OK;
}

static int read_options(request *r, int argc, char **argv)
{
    const cli_option options[] = {{"paper", 'p', .word = &r->layout.paper},
                                  {"roll", 0, .take = take_roll},
                                  {"panel-length", 0, .take = take_panel},
                                  {"border", 0, .length = &r->layout.border},
                                  {"list-papers", 0, .flag = &r->list},
                                  {"portrait", 0, .flag = &r->portrait},
                                  {"landscape", 0, .flag = &r->landscape},
                                  {"overlap", 0, .take = take_overlap},
                                  {"joint", 0, .take = take_joint},
                                  {"margin", 0, .take = take_margin},
                                  {"range", 0, .word = &r->range},
                                  {"printer", 0, .word = &r->printer},
                                  {"font", 0, .word = &r->font},
                                  {"gray", 0, .flag = &r->gray},
                                  {"grey", 0, .flag = &r->gray},
                                  {"paper-weight", 0, .take = take_weight},
                                  {"ink-saver", 0, .flag = &r->sparing},
                                  {"proof", 0, .flag = &r->proof},
                                  {"output", 'o', .word = &r->output},
                                  {"plan", 0, .word = &r->plan},
                                  {"explain", 0, .flag = &r->explain},
                                  {"json", 0, .flag = &r->json},
                                  {"replace", 0, .flag = &r->replace},
                                  {"progress", 0, .flag = &r->progress},
                                  {"quiet", 'q', .flag = &r->quiet},
                                  {0}};
    int n = cli_options("sheets", options, r, argc, argv);
    if (n < 0)
        return CLI_USAGE;
    if (n > 1)
        return cli_usage("sheets", "one course at a time: \"%.100s\" is a second", argv[1]);
    if (r->list)
        return CLI_OK;
    r->course = n == 1 ? argv[0] : NULL;
    const char *why = contradiction(r);
    if (why != NULL)
        return cli_usage("sheets", "%s", why);
    r->layout.orientation = r->portrait ? PV_PORTRAIT : r->landscape ? PV_LANDSCAPE : PV_FEWEST;
    r->paper_by_locale = r->layout.paper == NULL && r->layout.roll == 0;
    if (r->paper_by_locale)
        r->layout.paper = locale_paper();
    return name_files(r) ? check_names(r) : CLI_OS;
}

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
    product *p = context;
    const char *name = p->asked->pdf_name;
    bool stream = cli_is_stream(name);
    if (stream && p->n_parts > 0) {
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_USAGE,
                     "choose fewer with --range, or name a file with --output",
                     "so many sheets make several files, which %s can't take",
                     strcmp(name, "-") == 0 ? "standard output" : name);
        return false;
    }
    part *more = realloc(p->parts, (p->n_parts + 1) * sizeof *more);
    if (more == NULL)
        return cli_no_memory(diags);
    p->parts = more;
    part *to = &more[p->n_parts++];
    *to = (part){.first = from->first, .last = from->last, .pages = from->pages};
    p->pages += from->pages;
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
    size_t stem = stem_of_pdf(pdf);
    char more[64];
    if (n == 0)
        snprintf(more, sizeof more, "%s", ending);
    else
        snprintf(more, sizeof more, "-%zu%s", n, ending);
    return joined(pdf, stem, more);
}

/* "F.pdf", or of several "F-1.pdf" and so on. */
static bool name_parts(product *p, pv_diags *diags)
{
    const char *name = p->asked->pdf_name;
    for (size_t i = 0; i < p->n_parts; i++) {
        p->parts[i].name = name_of_part(name, p->n_parts > 1 ? i + 1 : 0, name + stem_of_pdf(name));
        if (p->parts[i].name == NULL)
            return cli_no_memory(diags);
    }
    return true;
}

/* A set that came in another number of PDFs before must not stay beside this one, where somebody
 * would print it. What has a plan of its own is another set. False with a reason. */
static bool nothing_stays_beside(const product *p, pv_diags *diags)
{
    const char *name = p->asked->pdf_name;
    if (p->stream.data != NULL || p->asked->range != NULL || name[stem_of_pdf(name)] == '\0')
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
static bool write_files(product *p, pv_diags *diags)
{
    const char *pdf = p->asked->pdf_name, *plan = p->asked->plan_name;
    bool to_file = !cli_is_stream(plan);
    size_t size = strlen(p->plan_text), n = 0;
    if (!name_parts(p, diags) || !nothing_stays_beside(p, diags) ||
        (to_file && !cli_stage(plan, p->plan_text, size, &p->staged_plan, diags)) ||
        (p->stream.data != NULL && !cli_write(pdf, p->stream.data, p->stream.size, false, diags)) ||
        (!to_file && !cli_write(plan, p->plan_text, size, false, diags)))
        return false;
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

static void refuse_former_plan(const product *p, const pv_plan_info *old, pv_diags *diags)
{
    const char *name = p->asked->plan_name;
    const pv_plan_info *new = pv_summary_plan(p->summary);
    bool range = p->asked->range != NULL;
    if (old == NULL)
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_USAGE,
                     "give the plan another name with --plan, or move that file away",
                     "%s is there already, and is not a readable plan", name);
    else if (strcmp(old->kit, new->kit) == 0)
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_USAGE,
                     "use the same tolerances, printer and version as before; or reprint all "
                     "sheets under another name (-o)",
                     "%s has the same kit %s, but differs from this plan in what isn't printed",
                     name, old->kit);
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
static bool fits_former_plan(const product *p, pv_diags *diags)
{
    const request *r = p->asked;
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

static bool plan_course(product *p, const pv_layout_options *layout, pv_diags *diags)
{
    const request *r = p->asked;
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

static bool make_plan(product *p, pv_diags *diags)
{
    const request *r = p->asked;
    pv_layout_options layout = r->layout;
    if (r->printer != NULL && (p->printer = read_printer(r->printer, diags)) == NULL)
        return false;
    p->type = pv_type_open(r->font, diags);
    if (p->type == NULL)
        return false;
    layout.printer = p->printer;
    layout.type = p->type;
    if (r->proof)
        p->plan = pv_plan_proof(&layout, diags);
    else if (!plan_course(p, &layout, diags))
        return false;
    p->summary = p->plan != NULL ? pv_summary_make(p->plan, diags) : NULL;
    p->plan_text = p->summary != NULL ? pv_plan_json(p->plan, diags) : NULL;
    return p->plan_text != NULL;
}

/* Everything but putting the files in place. */
static bool make(product *p, pv_diags *diags)
{
    const request *r = p->asked;
    if (!make_plan(p, diags) || !fits_former_plan(p, diags))
        return false;
    bool told = !r->proof && (r->json || !r->quiet);
    if (told && (p->takes = pv_takeoff_make(p->plan, r->weight, diags)) == NULL)
        return false;
    cli_progress progress;
    pv_pdf_options options = pv_pdf_defaults();
    options.range = r->range;
    if (cli_progress_start(&progress, "sheets", r->progress, r->quiet))
        options.progress = cli_progress_show;
    options.progress_context = &progress;
    bool good = pv_sheets_pdf(p->plan, &options, take_part, p, diags);
    cli_progress_end(&progress);
    return good;
}

/* ---- telling, as text ---- */

#define LIST_MOST  60 /* items; of more, only the first and the last are listed */
#define LIST_FIRST 20
#define LIST_WIDTH 70 /* columns */

/* Goes on with a list of n items. */
static void say_item(FILE *to, size_t *column, size_t i, size_t n, const char *text)
{
    int width = fprintf(to, " %s", text);
    *column += width > 0 ? (size_t)width : 0;
    if (*column > LIST_WIDTH && i + 1 < n) {
        fputs("\n          ", to);
        *column = 10;
    }
}

static void say_taping(FILE *to, const product *p)
{
    const pv_plan_info *plan = pv_summary_plan(p->summary);
    size_t column = 10, n = plan->sheets;
    fputs("taping    ", to);
    for (size_t i = 0; i < n; i++) {
        if (!p->asked->explain && n > LIST_MOST && i == LIST_FIRST) {
            fprintf(to, " ... %s (--explain lists all)", pv_summary_taped(p->summary, n - 1)->name);
            break;
        }
        say_item(to, &column, i, n, pv_summary_taped(p->summary, i)->name);
    }
    fputs("\n", to);
    if (n > 1)
        fputs(plan->joint == PV_JOINT_BUTT
                  ? "           edge to edge, taped from beneath\n"
                  : "           each lies over those already laid; its labels say which\n",
              to);
}

/* "A1|A2" for an upright seam, "A1/B1" for one across. */
static void name_seam(const product *p, const pv_seam_info *seam, char text[32])
{
    bool after = seam->over > seam->under;
    snprintf(text, 32, "%s%s%s",
             pv_summary_sheet(p->summary, after ? seam->under : seam->over)->name,
             seam->vertical ? "|" : "/",
             pv_summary_sheet(p->summary, after ? seam->over : seam->under)->name);
}

static void say_steps(FILE *to, const product *p)
{
    const pv_plan_info *plan = pv_summary_plan(p->summary);
    const pv_seam_info *seam;
    size_t n = 0, both = 0, column = 10;
    char text[32], last[32];
    if (plan->down + plan->up == 0)
        return;
    fprintf(to, "steps      the robot steps down at %zu of %zu crossings of seams", plan->down,
            plan->down + plan->up);
    if (plan->up == 0) {
        fputs(", never up\n", to);
        return;
    }
    for (size_t i = 0; (seam = pv_summary_seam(p->summary, i)) != NULL; i++)
        if (seam->up > 0) {
            name_seam(p, seam, last);
            both += seam->down > 0;
            n++;
        }
    bool all = p->asked->explain || n <= LIST_MOST;
    fprintf(to, ", up at %zu:\n          ", plan->up);
    for (size_t i = 0, k = 0; (seam = pv_summary_seam(p->summary, i)) != NULL; i++) {
        if (seam->up == 0 || (!all && k >= LIST_FIRST))
            continue;
        name_seam(p, seam, text);
        say_item(to, &column, k++, n, text);
    }
    if (!all)
        fprintf(to, " ... %s (--explain lists all)", last);
    fputs("\n", to);
    if (both > 0)
        fprintf(to, "           the robot crosses %zu of these seams both ways\n", both);
    if (n > both)
        fprintf(to,
                "           %zu %s a step up whatever the order: the route goes round, or a page "
                "has no room for two laps\n",
                n - both, n - both == 1 ? "seam needs" : "seams need");
}

static void say_printer(FILE *to, const product *p)
{
    static const char *const axes[2] = {"across", "up"};
    const pv_printer *pr = p->printer;
    const char *before = "; corrected:\n           ";
    fprintf(to, "printer    %s", pr->name != NULL ? pr->name : "unnamed");
    for (int i = 0; i < 2; i++)
        if (pr->scale[i].corrected) {
            fprintf(to, "%s%.2f %% %s", before, 100 * pr->scale[i].value, axes[i]);
            before = ", ";
        }
    if (pr->skew.corrected) {
        fprintf(to, "%s%.2f mrad of skew", before, pr->skew.value);
        before = ", ";
    }
    if (pr->ink.corrected) {
        fprintf(to, "%s%+.3f mm of ink", before, pr->ink.value);
        before = ", ";
    }
    fputs(before[1] == ' ' ? "\n" : "; nothing to correct\n", to);
    double widened = pv_summary_plan(p->summary)->widened;
    if (widened > 0.05)
        fprintf(to,
                "           the margins are %.1f mm wider, because the correction enlarges the "
                "drawing\n",
                widened);
}

static void say_paper(FILE *to, const product *p)
{
    const pv_plan_info *plan = pv_summary_plan(p->summary);
    const double *page = plan->page, *margin = plan->margin, roll = p->asked->layout.roll;
    bool lies = page[0] != roll;
    if (roll == 0)
        fprintf(to, "paper      %s %s, %g x %g mm%s\n", plan->paper,
                page[0] <= page[1] ? "portrait" : "landscape", page[0], page[1],
                p->asked->paper_by_locale ? " (from the locale; --paper chooses another)" : "");
    else
        fprintf(
            to, "roll       %s, %s; pages of %g x %g mm, %.2f m of roll in all\n%s", plan->paper,
            lies ? "running along the mat: print turned by a quarter turn" : "running up the mat",
            page[0], page[1], page[lies ? 0 : 1] * (double)plan->sheets / 1000,
            plan->sheets == 1 ? "           in one piece\n" : "");
    fprintf(to, "margins    left %g, bottom %g, right %g, top %g mm; overlap %g mm\n", margin[0],
            margin[1], margin[2], margin[3], plan->overlap);
    if (plan->border > 0)
        fprintf(to, "border     %g mm blank beyond the mat's edges, inside the cut line\n",
                plan->border);
}

/* Rounded to a quarter of an hour from two hours on, else to five minutes: it is a rule of thumb.
 */
static void say_time(FILE *to, double minutes)
{
    double step = minutes >= 120 ? 15 : 5;
    long rounded = (long)(step * fmax(1, round(minutes / step)));
    if (rounded < 60)
        fprintf(to, "%ld min", rounded);
    else if (rounded % 60 == 0)
        fprintf(to, "%ld h", rounded / 60);
    else
        fprintf(to, "%ld h %02ld min", rounded / 60, rounded % 60);
}

static void say_takes(FILE *to, const pv_takeoff *takes)
{
    fprintf(to, "takes      %.2f kg of paper at %g g/m2, %.1f m to cut, %.1f m of tape, about ",
            takes->mass, takes->weight, takes->cut, takes->tape);
    say_time(to, takes->minutes);
    fprintf(
        to,
        "\nink        black %.1f %%, yellow %.1f %%, magenta %.1f %%, cyan %.1f %% of the mat\n",
        100 * takes->ink[3], 100 * takes->ink[2], 100 * takes->ink[1], 100 * takes->ink[0]);
}

static void say_files(FILE *to, const product *p)
{
    for (size_t i = 0; i < p->n_parts; i++) {
        const part *one = &p->parts[i];
        fputs(i == 0 ? "to print   " : "           ", to);
        cli_show(to, one->name);
        fprintf(to, ", %zu %s", one->pages, one->pages == 1 ? "page" : "pages");
        if (p->n_parts > 1)
            fprintf(to, ", %s to %s", pv_summary_sheet(p->summary, one->first)->name,
                    pv_summary_sheet(p->summary, one->last)->name);
        fputc('\n', to);
    }
    if (p->n_parts > 1)
        fprintf(to, "           %zu files: one holds at most %u pages, or %u MiB uncompressed\n",
                p->n_parts, PV_PDF_PAGES_MAX, PV_PDF_CONTENTS_MAX >> 20);
    fputs("plan       ", to);
    cli_show(to, p->asked->plan_name);
    fputc('\n', to);
}

static void say(FILE *to, const product *p)
{
    const pv_plan_info *plan = pv_summary_plan(p->summary);
    fprintf(to, "%s, edition %s: %g x %g mm\n", plan->name, plan->edition, plan->mat[0],
            plan->mat[1]);
    say_paper(to, p);
    if (p->printer != NULL)
        say_printer(to, p);
    fprintf(to, "sheets     %zu: %zu %s of %zu, kit %s\n", plan->sheets, plan->rows,
            plan->rows == 1 ? "row" : "rows", plan->columns, plan->kit);
    fprintf(to, "seams      %zu with %zu alignment crosses\n", plan->seams, plan->crosses);
    say_taping(to, p);
    say_steps(to, p);
    if (p->takes != NULL)
        say_takes(to, p->takes);
    say_files(to, p);
    if (p->explained != NULL)
        fprintf(to, "\n%s", p->explained);
    fputs(
        p->asked->proof
            ? "\nPrint at 100 %, no scaling, on one side, on the mat's paper and with its "
              "settings. Scan it:\n  pavior inspect --plan "
            : "\nPrint at 100 %, no scaling, on one side only. Print one sheet first and hold its "
              "scale\nbars against a ruler, or scan it and run: pavior inspect --plan ",
        to);
    cli_show(to, p->asked->plan_name);
    fputs(p->asked->proof ? " --json -o proof.json IMAGE\n"
                            "  pavior calibrate proof.json -o printer.json\n"
                          : " IMAGE\n",
          to);
}

/* ---- telling, as JSON ---- */

/* `before` is a comma, or what else stands before the text, and its key. */
static void json_text(FILE *to, const char *before, const char *text)
{
    char *quoted = pv_text_json(text);
    fprintf(to, "%s%s", before, quoted != NULL ? quoted : "null");
    pv_free(quoted);
}

/* As many digits as tell the number from its neighbours. */
static void json_number(FILE *to, const char *before, double value)
{
    char text[32];
    for (int digits = 15; digits <= 17; digits++) {
        snprintf(text, sizeof text, "%.*g", digits, value);
        if (strtod(text, NULL) == value)
            break;
    }
    fprintf(to, "%s%s", before, text);
}

static void json_numbers(FILE *to, const char *before, const double *values, int n)
{
    fputs(before, to);
    for (int i = 0; i < n; i++)
        json_number(to, i == 0 ? "[" : ", ", values[i]);
    fputc(']', to);
}

/* Every PDF by itself, with its pages. */
static void json_files(FILE *to, const product *p)
{
    fputs(",\n  \"files\": [", to);
    for (size_t i = 0; i < p->n_parts; i++) {
        const part *one = &p->parts[i];
        json_text(to, i == 0 ? "\n    {\"pdf\": " : ",\n    {\"pdf\": ", one->name);
        fprintf(to, ", \"pages\": %zu", one->pages);
        json_text(to, ", \"first\": ", pv_summary_sheet(p->summary, one->first)->name);
        json_text(to, ", \"last\": ", pv_summary_sheet(p->summary, one->last)->name);
        fputc('}', to);
    }
    fputs("\n  ]", to);
}

static void json_takes(FILE *to, const pv_takeoff *t)
{
    static const char *const inks[] = {
        ", \"ink\": {\"cyan\": ", ", \"magenta\": ", ", \"yellow\": ", ", \"black\": "};
    fprintf(to, ",\n  \"takes\": {\"sheets\": %zu", t->sheets);
    json_number(to, ", \"paper_g_m2\": ", t->weight);
    json_number(to, ", \"paper_m2\": ", t->paper);
    json_number(to, ", \"paper_kg\": ", t->mass);
    json_number(to, ", \"cut_m\": ", t->cut);
    json_number(to, ", \"tape_m\": ", t->tape);
    json_number(to, ", \"minutes\": ", t->minutes);
    json_number(to, ", \"printed_per_mat\": ", t->printed);
    for (int i = 0; i < 4; i++)
        json_number(to, inks[i], t->ink[i]);
    fputs("},\n    \"colours\": [", to);
    const pv_colour_info *colour;
    for (size_t i = 0; (colour = pv_takeoff_colour(t, i)) != NULL; i++) {
        json_text(to, i == 0 ? "\n      {\"name\": " : ",\n      {\"name\": ", colour->name);
        fprintf(to, ", \"rgb\": [%d, %d, %d]", colour->rgb[0], colour->rgb[1], colour->rgb[2]);
        json_number(to, ", \"area_mm2\": ", colour->area);
        fputc('}', to);
    }
    fputs("\n    ]}", to);
}

static void say_json(FILE *to, const product *p)
{
    const request *r = p->asked;
    const pv_plan_info *plan = pv_summary_plan(p->summary);
    json_text(to, "{\n  \"pdf\": ", p->parts[0].name);
    json_files(to, p);
    json_text(to, ",\n  \"plan\": ", r->plan_name);
    json_text(to, ",\n  \"name\": ", plan->name);
    json_text(to, ",\n  \"edition\": ", plan->edition);
    fprintf(to, ",\n  \"kit\": \"%s\"", plan->kit);
    json_text(to, ",\n  \"paper\": ", plan->paper);
    json_text(to, ",\n  \"paper_from\": ", r->paper_by_locale ? "locale" : "option");
    if (r->layout.roll != 0)
        json_number(to, ",\n  \"roll_mm\": ", r->layout.roll);
    json_numbers(to, ",\n  \"page_mm\": ", plan->page, 2);
    json_numbers(to, ",\n  \"margin_mm\": ", plan->margin, 4);
    json_number(to, ",\n  \"overlap_mm\": ", plan->overlap);
    json_number(to, ",\n  \"border_mm\": ", plan->border);
    fprintf(to,
            ",\n  \"rows\": %zu,\n  \"columns\": %zu,\n  \"sheets\": %zu,\n  \"pages\": %zu,\n"
            "  \"seams\": %zu,\n  \"crosses\": %zu,\n  \"taping\": [",
            plan->rows, plan->columns, plan->sheets, p->pages, plan->seams, plan->crosses);
    for (size_t i = 0; i < plan->sheets; i++)
        json_text(to, i == 0 ? "" : ", ", pv_summary_taped(p->summary, i)->name);
    fprintf(to, "],\n  \"joint\": \"%s\",\n  \"steps\": {\"down\": %zu, \"up\": %zu}",
            plan->joint == PV_JOINT_BUTT ? "butt" : "lap", plan->down, plan->up);
    for (size_t i = 0; i < pv_type_families(p->type); i++)
        json_text(to, i == 0 ? ",\n  \"typefaces\": [" : ", ", pv_type_family(p->type, i));
    fputs("]", to);
    if (p->takes != NULL)
        json_takes(to, p->takes);
    fputs("\n}\n", to);
}

static void tell(const product *p)
{
    const request *r = p->asked;
    FILE *to = strcmp(r->pdf_name, "-") == 0 || strcmp(r->plan_name, "-") == 0 ? stderr : stdout;
    if (r->json)
        say_json(to, p);
    else if (!r->quiet)
        say(to, p);
    else if (p->explained != NULL)
        fputs(p->explained, to);
}

/* ---- all together ---- */

/* Leaves nothing of what was not put in place. */
static void drop(product *p)
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
    pv_plan_free(p->plan);
    pv_printer_free(p->printer);
    pv_type_free(p->type);
}

static int lay(const request *r)
{
    product p = {.asked = r};
    pv_diags *diags = pv_diags_new();
    if (diags == NULL) {
        cli_no_memory(NULL);
        return CLI_OS;
    }
    bool good = make(&p, diags) && write_files(&p, diags);
    cli_report(diags, r->quiet);
    int status = good ? CLI_OK : cli_status(diags);
    if (good)
        tell(&p);
    pv_diags_free(diags);
    drop(&p);
    return status;
}

int cli_sheets(int argc, char **argv)
{
    request r = {.layout = pv_layout_defaults(), .weight = PV_PAPER_WEIGHT};
    r.layout.paper = NULL;
    int status = read_options(&r, argc, argv);
    if (status == CLI_OK && r.list)
        list_papers();
    else if (status == CLI_OK)
        status = lay(&r);
    free(r.pdf_name);
    free(r.plan_name);
    return status;
}
