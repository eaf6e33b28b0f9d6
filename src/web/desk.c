#include "desk.h"

#include <pavior/pavior.h>

#include <stdlib.h>
#include <string.h>

#define WORD_MAX 120 /* bytes of a paper's name, with its NUL */

/* Bytes that grow. */
typedef struct heap {
    unsigned char *bytes; /* owned */
    size_t size, room;
} heap;

struct desk {
    pv_diags *diags;
    bool elsewhere; /* their places are in another file than the course */
    pv_type *type;
    const pv_language *language;
    /* The course as it was read, and its text, for the kit. */
    pv_course *course;
    pv_review *review; /* of the course, once it was asked for */
    char *text;
    size_t text_size;
    /* What sheets are laid by. */
    pv_layout_options how;
    char paper[WORD_MAX], url[PV_URL_MAX + 1];
    pv_printer *printer;
    bool grey, sparing;
    char papers[PV_KIT_PAPERS_MAX][WORD_MAX];
    const char *listed[PV_KIT_PAPERS_MAX];
    double rolls[PV_KIT_PAPERS_MAX];
    size_t n_papers, n_rolls;
    /* What was made. */
    pv_plan *plan;
    pv_summary *summary;
    pv_takeoff *takes;
    heap *pdfs;
    size_t n_pdfs;
    heap zip;
    char *checker, *maker; /* owned */
    size_t checker_size, maker_size;
};

/* ---- findings ---- */

static bool no_memory(desk *d)
{
    pv_diags_say(d->diags, PV_ERROR, PV_CAUSE_MEMORY, NULL, "out of memory");
    return false;
}

/* Each work begins with an empty list. False where there is no memory even for that; the former
 * list then stays. */
static bool begin(desk *d)
{
    pv_diags *fresh = pv_diags_new();
    if (fresh == NULL)
        return false;
    pv_diags_free(d->diags);
    d->diags = fresh;
    d->elsewhere = false;
    return true;
}

/* Whether the desk has what a work needs; said where not. */
static bool has(desk *d, const void *thing, const char *what)
{
    if (thing == NULL)
        pv_diags_say(d->diags, PV_ERROR, PV_CAUSE_USAGE, NULL, "there is no %s yet", what);
    return thing != NULL;
}

size_t desk_said(const desk *d)
{
    return pv_diags_size(d->diags);
}

int desk_said_severity(const desk *d, size_t i)
{
    return (int)pv_diags_at(d->diags, i)->severity;
}

int desk_said_line(const desk *d, size_t i)
{
    return d->elsewhere ? 0 : pv_diags_at(d->diags, i)->line;
}

int desk_said_column(const desk *d, size_t i)
{
    return pv_diags_at(d->diags, i)->column;
}

int desk_said_length(const desk *d, size_t i)
{
    return pv_diags_at(d->diags, i)->length;
}

const char *desk_said_message(const desk *d, size_t i)
{
    return pv_diags_at(d->diags, i)->message;
}

const char *desk_said_hint(const desk *d, size_t i)
{
    /* What names a command's option helps nobody here. */
    const char *hint = pv_diags_at(d->diags, i)->hint;
    return hint != NULL && strstr(hint, "--") != NULL ? NULL : hint;
}

/* ---- the desk ---- */

static void clear_laid(desk *d)
{
    for (size_t i = 0; i < d->n_pdfs; i++)
        free(d->pdfs[i].bytes);
    free(d->pdfs);
    d->pdfs = NULL;
    d->n_pdfs = 0;
    pv_takeoff_free(d->takes);
    pv_summary_free(d->summary);
    pv_plan_free(d->plan);
    d->takes = NULL;
    d->summary = NULL;
    d->plan = NULL;
}

static void clear_zip(desk *d)
{
    free(d->zip.bytes);
    d->zip = (heap){0};
}

static void clear_course(desk *d)
{
    clear_laid(d);
    clear_zip(d);
    pv_review_free(d->review);
    pv_course_free(d->course);
    d->review = NULL;
    d->course = NULL;
    free(d->text);
    d->text = NULL;
    d->text_size = 0;
}

desk *desk_open(const char *language)
{
    desk *d = calloc(1, sizeof *d);
    if (d == NULL)
        return NULL;
    d->diags = pv_diags_new();
    d->type = d->diags != NULL ? pv_type_open(NULL, d->diags) : NULL;
    d->language = pv_language_find(language);
    if (d->type == NULL) {
        desk_close(d);
        return NULL;
    }
    desk_usual(d);
    return d;
}

void desk_close(desk *d)
{
    if (d == NULL)
        return;
    clear_course(d);
    pv_printer_free(d->printer);
    pv_type_free(d->type);
    pv_diags_free(d->diags);
    free(d->checker);
    free(d->maker);
    free(d);
}

const char *desk_version(void)
{
    return pv_version();
}

const char *desk_paper(size_t index)
{
    const pv_paper *paper = pv_paper_at(index);
    return paper != NULL ? paper->everyday : NULL;
}

double desk_paper_width(size_t index)
{
    const pv_paper *paper = pv_paper_at(index);
    return paper != NULL ? paper->width : 0;
}

double desk_paper_height(size_t index)
{
    const pv_paper *paper = pv_paper_at(index);
    return paper != NULL ? paper->height : 0;
}

const char *desk_language(size_t index)
{
    const pv_language *language = pv_language_at(index);
    return language != NULL ? pv_language_code(language) : NULL;
}

const char *desk_language_name(size_t index)
{
    return pv_language_name(pv_language_at(index));
}

/* ---- the course ---- */

bool desk_course(desk *d, const char *text, size_t size, const char *name)
{
    if (!begin(d))
        return false;
    clear_course(d);
    d->text = malloc(size + 1);
    if (d->text == NULL)
        return no_memory(d);
    memcpy(d->text, text, size);
    d->text[size] = '\0';
    d->text_size = size;
    d->course = pv_course_parse(d->text, size, name, d->type, d->diags);
    return d->course != NULL;
}

const char *desk_name(const desk *d)
{
    return d->course != NULL ? pv_course_name(d->course) : "";
}

double desk_width(const desk *d)
{
    return d->course != NULL ? pv_course_width(d->course) : 0;
}

double desk_height(const desk *d)
{
    return d->course != NULL ? pv_course_height(d->course) : 0;
}

char *desk_drawing(desk *d, bool run)
{
    return has(d, d->course, "course") ? pv_course_svg(d->course, run, d->diags) : NULL;
}

char *desk_review(desk *d, bool text)
{
    if (!begin(d) || !has(d, d->course, "course"))
        return NULL;
    if (d->review == NULL)
        d->review = pv_review_make(d->course, d->diags);
    if (d->review == NULL)
        return NULL;
    char *said = text ? pv_review_text(d->review) : pv_review_json(d->review);
    if (said == NULL)
        no_memory(d);
    return said;
}

/* ---- choices ---- */

void desk_usual(desk *d)
{
    pv_printer_free(d->printer);
    d->printer = NULL;
    d->how = pv_layout_defaults();
    d->how.type = d->type;
    d->how.language = d->language;
    d->grey = d->sparing = false;
    d->n_papers = d->n_rolls = 0;
    d->url[0] = '\0';
}

static bool refuse(desk *d, const char *name, const char *value)
{
    pv_diags_say(d->diags, PV_ERROR, PV_CAUSE_USAGE, NULL, "%s can't be \"%.60s\"", name, value);
    return false;
}

/* A word that is kept. */
static bool keep(desk *d, const char *name, const char *value, char *to, size_t room)
{
    size_t length = strlen(value);
    if (length == 0 || length >= room)
        return refuse(d, name, value);
    memcpy(to, value, length + 1);
    return true;
}

/* Below nought are the library's own signs (PV_MARGIN_USUAL). */
static bool choose_length(desk *d, const char *name, const char *value, double *to)
{
    double mm;
    if (!pv_length_parse(value, &mm) || !(mm >= 0))
        return refuse(d, name, value);
    *to = mm;
    return true;
}

/* One of several words; -1, and said, where it is none of them. */
static int which(desk *d, const char *name, const char *value, const char *const *words)
{
    for (int i = 0; words[i] != NULL; i++)
        if (strcmp(words[i], value) == 0)
            return i;
    refuse(d, name, value);
    return -1;
}

static bool choose_class(desk *d, const char *value)
{
    const char *known;
    for (size_t i = 0; (known = pv_printer_class(i)) != NULL; i++)
        if (strcmp(known, value) == 0) {
            d->how.printer_class = known;
            return true;
        }
    return refuse(d, "printer-class", value);
}

static bool choose_word(desk *d, const char *name, const char *value)
{
    if (strcmp(name, "orientation") != 0 && strcmp(name, "joint") != 0 &&
        strcmp(name, "colours") != 0)
        return refuse(d, name, value);
    static const char *const ways[] = {"fewest", "portrait", "landscape", NULL};
    static const char *const joints[] = {"lap", "butt", NULL};
    static const char *const inks[] = {"plain", "grey", "sparing", "both", NULL};
    bool way = strcmp(name, "orientation") == 0, joint = strcmp(name, "joint") == 0;
    int i = which(d, name, value, way ? ways : joint ? joints : inks);
    if (i < 0)
        return false;
    if (way)
        d->how.orientation = (pv_orientation)i;
    else if (joint)
        d->how.joint = (pv_joint)i;
    else {
        d->grey = i == 1 || i == 3;
        d->sparing = i >= 2;
    }
    return true;
}

static bool choose_printer(desk *d, const char *value)
{
    d->elsewhere = true;
    pv_printer *printer = pv_printer_parse(value, strlen(value), NULL, d->diags);
    if (printer == NULL)
        return false;
    pv_printer_free(d->printer);
    d->how.printer = d->printer = printer;
    return true;
}

static bool choose_for_kit(desk *d, const char *name, const char *value)
{
    if (strcmp(name, "url") == 0)
        return keep(d, name, value, d->url, sizeof d->url);
    if (d->n_papers + d->n_rolls == PV_KIT_PAPERS_MAX) {
        pv_diags_say(d->diags, PV_ERROR, PV_CAUSE_LIMIT, NULL, "a kit takes at most %u papers",
                     PV_KIT_PAPERS_MAX);
        return false;
    }
    if (strcmp(name, "kit-paper") == 0) {
        if (!keep(d, "paper", value, d->papers[d->n_papers], WORD_MAX))
            return false;
        d->listed[d->n_papers] = d->papers[d->n_papers];
        d->n_papers++;
        return true;
    }
    double *width = &d->rolls[d->n_rolls];
    if (!pv_length_parse(value, width) || !(*width > 0))
        return refuse(d, "roll", value);
    d->n_rolls++;
    return true;
}

bool desk_choose(desk *d, const char *name, const char *value)
{
    const struct {
        const char *name;
        double *to;
    } lengths[] = {{"margin-left", &d->how.margin[0]},  {"margin-bottom", &d->how.margin[1]},
                   {"margin-right", &d->how.margin[2]}, {"margin-top", &d->how.margin[3]},
                   {"overlap", &d->how.overlap},        {"border", &d->how.border}};
    if (!begin(d))
        return false;
    for (size_t i = 0; i < sizeof lengths / sizeof *lengths; i++)
        if (strcmp(name, lengths[i].name) == 0)
            return choose_length(d, name, value, lengths[i].to);
    if (strcmp(name, "paper") == 0) {
        if (!keep(d, name, value, d->paper, sizeof d->paper))
            return false;
        d->how.paper = d->paper;
        return true;
    }
    if (strcmp(name, "printer-class") == 0)
        return choose_class(d, value);
    if (strcmp(name, "printer") == 0)
        return choose_printer(d, value);
    if (strcmp(name, "language") == 0) {
        const pv_language *language = pv_language_find(value);
        if (language == NULL)
            return refuse(d, name, value);
        d->how.language = language;
        return true;
    }
    if (strcmp(name, "kit-paper") == 0 || strcmp(name, "kit-roll") == 0 || strcmp(name, "url") == 0)
        return choose_for_kit(d, name, value);
    return choose_word(d, name, value);
}

/* ---- the sheets ---- */

/* The course in the colours that are printed, where those are others: read once more, since that
 * changes a course. NULL, and said. */
static pv_course *printed(desk *d)
{
    pv_course *course = pv_course_parse(d->text, d->text_size, NULL, d->type, d->diags);
    if (course != NULL && !pv_course_print_as(course, d->grey, d->sparing, d->diags)) {
        pv_course_free(course);
        return NULL;
    }
    return course;
}

bool desk_lay(desk *d)
{
    if (!begin(d))
        return false;
    clear_laid(d);
    if (!has(d, d->course, "course"))
        return false;
    bool changed = d->grey || d->sparing;
    pv_course *other = changed ? printed(d) : NULL;
    const pv_course *course = changed ? other : d->course;
    d->plan = course != NULL ? pv_plan_make(course, &d->how, d->diags) : NULL;
    pv_course_free(other);
    d->summary = d->plan != NULL ? pv_summary_make(d->plan, d->diags) : NULL;
    d->takes = d->summary != NULL ? pv_takeoff_make(d->plan, PV_PAPER_WEIGHT, d->diags) : NULL;
    if (d->takes == NULL)
        clear_laid(d);
    return d->takes != NULL;
}

size_t desk_sheets(const desk *d)
{
    return d->summary != NULL ? pv_summary_plan(d->summary)->sheets : 0;
}

const char *desk_kit_identity(const desk *d)
{
    return d->summary != NULL ? pv_summary_plan(d->summary)->kit : "";
}

const char *desk_laid_paper(const desk *d)
{
    return d->summary != NULL ? pv_summary_plan(d->summary)->paper : "";
}

double desk_minutes(const desk *d)
{
    return d->takes != NULL ? d->takes->minutes : 0;
}

static const pv_sheet_info *sheet_at(const desk *d, size_t sheet)
{
    return d->summary != NULL ? pv_summary_sheet(d->summary, sheet) : NULL;
}

const char *desk_sheet(const desk *d, size_t sheet)
{
    const pv_sheet_info *info = sheet_at(d, sheet);
    return info != NULL ? info->name : "";
}

double desk_cell(const desk *d, size_t sheet, int side)
{
    const pv_sheet_info *info = sheet_at(d, sheet);
    return info != NULL && side >= 0 && side < 4 ? info->cell[side] : 0;
}

char *desk_plan(desk *d)
{
    return begin(d) && has(d, d->plan, "plan") ? pv_plan_json(d->plan, d->diags) : NULL;
}

/* A pv_bytes_sink; the context is the heap. */
static bool take_bytes(void *context, const void *bytes, size_t size, pv_diags *diags)
{
    heap *to = context;
    if (size > to->room - to->size) {
        size_t room = to->room + size + to->room / 2;
        unsigned char *more = realloc(to->bytes, room);
        if (more == NULL) {
            pv_diags_say(diags, PV_ERROR, PV_CAUSE_MEMORY, NULL, "out of memory");
            return false;
        }
        to->bytes = more;
        to->room = room;
    }
    if (size > 0)
        memcpy(to->bytes + to->size, bytes, size);
    to->size += size;
    return true;
}

/* A pv_pdf_sink; the context is the desk. */
static bool take_part(void *context, const pv_pdf_part *part, pv_diags *diags)
{
    desk *d = context;
    heap *more = realloc(d->pdfs, (d->n_pdfs + 1) * sizeof *more);
    if (more == NULL)
        return no_memory(d);
    d->pdfs = more;
    more[d->n_pdfs] = (heap){0};
    return take_bytes(&more[d->n_pdfs++], part->bytes, part->size, diags);
}

size_t desk_draw(desk *d)
{
    if (!begin(d) || !has(d, d->plan, "plan"))
        return 0;
    for (size_t i = 0; i < d->n_pdfs; i++)
        free(d->pdfs[i].bytes);
    d->n_pdfs = 0;
    return pv_sheets_pdf(d->plan, NULL, take_part, d, d->diags) ? d->n_pdfs : 0;
}

const unsigned char *desk_pdf(const desk *d, size_t i)
{
    return i < d->n_pdfs ? d->pdfs[i].bytes : NULL;
}

size_t desk_pdf_size(const desk *d, size_t i)
{
    return i < d->n_pdfs ? d->pdfs[i].size : 0;
}

/* ---- the kit ---- */

void desk_scripts(desk *d, char *checker, size_t checker_size, char *maker, size_t maker_size)
{
    free(d->checker);
    free(d->maker);
    d->checker = checker;
    d->checker_size = checker_size;
    d->maker = maker;
    d->maker_size = maker_size;
}

size_t desk_kit(desk *d, const char *folder)
{
    if (!begin(d))
        return 0;
    clear_zip(d);
    pv_kit_options how = pv_kit_defaults();
    how.papers = d->listed;
    how.n_papers = d->n_papers;
    how.rolls = d->rolls;
    how.n_rolls = d->n_rolls;
    how.url = d->url[0] != '\0' ? d->url : NULL;
    how.language = d->how.language;
    how.checker = d->checker;
    how.checker_size = d->checker_size;
    how.maker = d->maker;
    how.maker_size = d->maker_size;
    pv_kit_zip *zip = pv_kit_zip_open(folder, take_bytes, &d->zip, d->diags);
    if (zip == NULL)
        return 0;
    pv_kit *kit = pv_kit_make(d->text != NULL ? d->text : "", d->text_size, NULL, d->type, &how,
                              pv_kit_zip_add, zip, d->diags);
    bool good = kit != NULL && pv_kit_zip_close(zip, d->diags);
    if (kit == NULL)
        pv_kit_zip_free(zip);
    pv_kit_free(kit);
    if (!good)
        clear_zip(d);
    return d->zip.size;
}

const unsigned char *desk_kit_bytes(const desk *d)
{
    return d->zip.bytes;
}

char *desk_page(desk *d)
{
    if (!begin(d))
        return NULL;
    return pv_course_page(d->text != NULL ? d->text : "", d->text_size, d->language, d->diags);
}
