/* What pavior sheets is asked for. */
#include "sheets.h"

#include <langinfo.h>
#include <locale.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static bool take_joint(void *to, const char *name)
{
    sheets_request *r = to;
    bool butt = strcmp(name, "butt") == 0;
    r->joint_given = true;
    r->layout.joint = butt ? PV_JOINT_BUTT : PV_JOINT_LAP;
    if (!butt && strcmp(name, "lap") != 0)
        cli_usage("sheets", "--joint must be lap or butt, not \"%.40s\"", name);
    return butt || strcmp(name, "lap") == 0;
}

static bool take_overlap(void *to, const char *text)
{
    sheets_request *r = to;
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
    return some_length("--roll", text, &((sheets_request *)to)->layout.roll);
}

static bool take_panel(void *to, const char *text)
{
    return some_length("--panel-length", text, &((sheets_request *)to)->layout.panel_length);
}

static bool take_weight(void *to, const char *text)
{
    sheets_request *r = to;
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
static bool take_sides(sheets_request *r, const char *word)
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
    sheets_request *r = to;
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
static const char *contradiction(const sheets_request *r)
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
    if (r->proof && r->keep != NULL)
        return "--proof is one page: it has no seams to --keep";
    if (r->explain && r->keep != NULL)
        return "with --keep, seams lie where they lay: there is nothing to --explain";
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
    if (r->range != NULL && strcmp(r->range, "again") == 0 && r->keep == NULL)
        return "--range again goes with --keep";
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
size_t sheets_stem(const char *pdf)
{
    size_t length = strlen(pdf);
    return length > 4 && strcmp(pdf + length - 4, ".pdf") == 0 ? length - 4 : length;
}

char *sheets_beside(const char *pdf, const char *ending)
{
    return joined(pdf, sheets_stem(pdf), ending);
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
static bool name_files(sheets_request *r)
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
        r->plan_name = sheets_beside(r->pdf_name, ".plan.json");
    else if (r->pdf_name != NULL)
        r->plan_name = joined(base, stem, ".plan.json");
    return r->plan_name != NULL || cli_no_memory(NULL);
}

static int check_names(const sheets_request *r)
{
    bool to_output = strcmp(r->pdf_name, "-") == 0;
    if (to_output && r->plan == NULL)
        return cli_usage("sheets", "with -o -, name the plan's file with --plan");
    if (strcmp(r->pdf_name, r->plan_name) == 0 || cli_same_file(r->pdf_name, r->plan_name))
        return cli_usage("sheets", "the PDF and its plan need different names");
    const char *const outputs[2] = {r->pdf_name, r->plan_name};
    for (int i = 0; i < 2; i++)
        if (cli_overwrites("sheets", outputs[i], "course", r->course) ||
            cli_overwrites("sheets", outputs[i], "printer", r->printer) ||
            cli_overwrites("sheets", outputs[i], "plan", r->keep))
            return CLI_USAGE;
    if (to_output && isatty(STDOUT_FILENO) == 1)
        return cli_usage("sheets", "refusing to write a PDF to a terminal: redirect it");
    return CLI_OK;
}

int sheets_options(sheets_request *r, int argc, char **argv)
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
                                  {"language", 0, .language = &r->layout.language},
                                  {"url", 0, .word = &r->layout.url},
                                  {"proof", 0, .flag = &r->proof},
                                  {"no-guide", 0, .flag = &r->no_guide},
                                  {"output", 'o', .word = &r->output},
                                  {"plan", 0, .word = &r->plan},
                                  {"keep", 0, .word = &r->keep},
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
