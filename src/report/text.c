/* Inspections for people, on a terminal of 80 columns: the answer in plain words, what to do, then
 * the values, the worst first. */
#include "judge/answer.h"
#include "judge/notes.h"
#include "po/po.h"
#include "reference/basis.h"
#include "report/rank.h"
#include "report/summary.h"
#include "report/text_page.h"

#include <math.h>
#include <string.h>

#define ROWS_MAX 24 /* of a table; the worst are shown */
#define INDENT   4
#define INCH     25.4

/* ---- the head ---- */

/* What kind of picture, and how fine. */
static void add_picture(pv_text *line, const pv_inspected *sheet)
{
    double x = sheet->resolution[0] * INCH, y = sheet->resolution[1] * INCH;
    const double *shown = sheet->measured_resolution;
    if (sheet->photograph) {
        pv_text_say(line, "photograph, %s px per mm", pv_fixed((shown[0] + shown[1]) / 2, 1).chars);
        return;
    }
    pv_text_say(line, "scan");
    if (!(x > 0 && y > 0))
        return;
    pv_text_say(line, " at %s", pv_fixed(x, fabs(x - round(x)) < 0.05 ? 0 : 1).chars);
    if (fabs(x - y) > 0.5)
        pv_text_add(line, " x %s", pv_fixed(y, 0).chars);
    pv_text_add(line, " dpi");
}

/* What its scale rests on, and how well. */
static void add_reference(pv_text *line, const pv_inspection *in)
{
    const pv_language *l = line->language;
    double U_rel = in->sheet.reference_U_rel;
    if (in->sheet.reference == PV_REFERENCE_NONE) {
        pv_text_add(line, "%s",
                    in->sheet.disagree
                        ? pv_say(l, ", references that disagree, so lengths are relative to the "
                                    "sheet's own size")
                        : pv_say(l, ", no reference, so lengths are relative to the sheet's own "
                                    "size"));
        return;
    }
    pv_text_say(line, ", lengths by ");
    size_t n = 0;
    for (size_t i = 0; i < in->n_references; i++) {
        const pv_reference_result *one = &in->references[i];
        bool again = i > 0 && one->kind == in->references[i - 1].kind;
        if (pv_basis_counts(one) && !again)
            pv_text_add(line, "%s%s", n++ > 0 ? pv_say(l, " and ") : "",
                        pv_say(l, pv_reference_noun(one->kind)));
    }
    if (n == 0)
        pv_text_add(line, "%s", pv_say(l, pv_reference_noun(in->sheet.reference)));
    pv_text_say(line, " to ±%s %%", pv_fixed(100 * U_rel, U_rel < 5e-5 ? 4 : 2).chars);
}

/* A wrapped text that is made up first. */
static void put_text(pv_text_page *p, const char *lead, pv_text *text)
{
    char *chars = pv_text_take(text);
    if (chars != NULL)
        pv_put_wrapped(p, lead, chars);
    else
        p->out.failed = true;
    pv_free(chars);
}

/* "B2  Not true: ...", its lead in colour, and what to do. */
static void add_answer(pv_text_page *p, const pv_inspected *sheet)
{
    bool usable = sheet->error == NULL;
    const char *name = !usable        ? sheet->label
                       : sheet->proof ? pv_say(sheet->language, "Proof page")
                                      : sheet->sheet;
    size_t lead = pv_answer_lead(sheet->answer);
    char chars[32] = "";
    strncat(chars, sheet->answer, lead < sizeof chars ? lead : 0);
    pv_put_bold(p, name);
    pv_text_add(&p->out, "  ");
    pv_put_painted(p, usable ? sheet->verdict : PV_DOES_NOT_CONFORM, chars);
    pv_put_words(p, INDENT, pv_columns(name) + 2 + strlen(chars), sheet->answer + strlen(chars));
    pv_put_wrapped(p, "    ", sheet->advice);
}

static void add_notes(pv_text_page *p, char *const *notes, size_t n)
{
    for (size_t i = 0; i < n; i++)
        pv_put_wrapped(p, "  - ", notes[i]);
}

/* What an engineer asks first. */
static void add_grounds(pv_text_page *p, const pv_inspection *in)
{
    const pv_inspected *sheet = &in->sheet;
    const pv_language *l = sheet->language;
    pv_text_add(&p->out, "\n  %s\n",
                sheet->verdict == PV_CONFORMS ? pv_say(l, "For engineers: the sheet conforms")
                : sheet->verdict == PV_DOES_NOT_CONFORM
                    ? pv_say(l, "For engineers: the sheet does not conform")
                    : pv_say(l, "For engineers: the sheet is undecided"));
    pv_text text = PV_TEXT_IN(l);
    pv_text_add(&text, "%s", sheet->kit);
    put_text(p, "  ", &text);
    pv_text_add(&text, "%s: ", sheet->label);
    add_picture(&text, sheet);
    add_reference(&text, in);
    /* A half turn has no sign. */
    double turn = sheet->turn < -179.95 ? sheet->turn + 360 : sheet->turn;
    pv_text_say(&text, ", turned by %s°", pv_fixed(turn, 1).chars);
    put_text(p, "  ", &text);
    pv_notes doubts = {0};
    pv_notes_of_doubts(&doubts, in);
    p->out.failed = p->out.failed || doubts.failed;
    add_notes(p, doubts.items, doubts.n);
    pv_notes_clear(&doubts);
}

/* ---- tables ---- */

/* Negative where it isn't known: not measured, or seen only in part, or relative alone. */
static double probability_of(const pv_value *value)
{
    bool known = value->measured && value->U_needed > 0;
    return known ? value->probability : -1;
}

/* In a column headed "conforms"; with the probability that it does where that is known and nothing
 * is decided. */
static void answer(pv_text_page *p, pv_verdict verdict, double probability)
{
    pv_text_add(&p->out, "  ");
    const pv_language *l = p->out.language;
    pv_put_painted(p, verdict,
                   verdict == PV_CONFORMS           ? pv_say(l, "yes")
                   : verdict == PV_DOES_NOT_CONFORM ? pv_say(l, "no")
                                                    : pv_say(l, "undecided"));
    if (verdict == PV_UNDECIDED && probability >= 0)
        pv_text_add(&p->out, " %s %%", pv_fixed(100 * probability, 0).chars);
    pv_text_add(&p->out, "\n");
}

static void add_sheet_row(pv_text_page *p, const pv_value *value)
{
    const pv_kind_info shown = pv_value_shown(value), *kind = &shown;
    const pv_language *l = p->out.language;
    pv_text name = PV_TEXT_INIT;
    if (!kind->judged && !value->measured)
        return;
    pv_text_add(&name, "%s%s%s", pv_say(l, kind->name), value->name[0] != '\0' ? " " : "",
                value->name);
    pv_text_add(&p->out, "  ");
    pv_put_left(p, name.chars != NULL ? name.chars : "", 13);
    p->out.failed = p->out.failed || name.failed;
    pv_text_drop(&name);
    if (!value->measured) {
        pv_put_left(p, pv_say(l, "   not measured"), 19);
    } else {
        (kind->judged ? pv_put_number : pv_put_off)(p, kind->factor * value->value, kind->decimals,
                                                    10);
        pv_put_U(p, kind->factor * value->U, kind->decimals, 9);
    }
    if (!kind->judged) {
        pv_put_right(p, "-", 10);
        pv_text_say(&p->out, " %s at each edge", kind->unit);
        pv_text_add(&p->out, "\n");
        return;
    }
    pv_put_U(p, kind->factor * value->tolerance, kind->decimals, 10);
    pv_text_add(&p->out, " ");
    pv_put_left(p, kind->unit, 19);
    answer(p, value->verdict, probability_of(value));
}

static void add_sheet_rows(pv_text_page *p, const pv_inspection *in)
{
    /* TRANSLATORS: a table's head: its columns must end where they end in English. */
    const char *head =
        pv_say(p->out.language,
               "whole sheet     printed        U   allowed                      conforms");
    pv_text_add(&p->out, "\n  %s\n", head);
    for (size_t i = 0; i < in->table.n_values; i++) {
        if (pv_kind_of(in->table.values[i].kind)->of != PV_OF_SHEET)
            break;
        add_sheet_row(p, &in->table.values[i]);
    }
}

static void __attribute__((format(printf, 2, 0)))
more(pv_text_page *p, const char *format, size_t all)
{
    pv_text_add(&p->out, "  ");
    pv_text_add(&p->out, format, all - ROWS_MAX);
    pv_text_add(&p->out, "\n");
}

static void more_rows(pv_text_page *p, size_t all)
{
    if (all > ROWS_MAX)
        more(p,
             pv_say(p->out.language, "%zu more that use less of their tolerance (--json has all)"),
             all);
}

/* What was printed, its U and how far that is off. */
static void put_measured(pv_text_page *p, const pv_value *value, size_t width)
{
    const pv_kind_info shown = pv_value_shown(value), *kind = &shown;
    if (!value->measured) {
        pv_put_left(p, pv_say(p->out.language, "  not found"), 3 * width);
        return;
    }
    pv_put_number(p, kind->factor * value->value, kind->decimals, width);
    pv_put_U(p, kind->factor * value->U, kind->decimals, width);
    pv_put_off(p, kind->factor * (value->value - value->nominal), kind->decimals, width);
}

/* A table's head, which has the unit in it. */
static void __attribute__((format(printf, 3, 0)))
put_head(pv_text_page *p, const pv_inspection *in, const char *format)
{
    pv_text_add(&p->out, "\n  ");
    pv_text_add(&p->out, format, in->sheet.inches ? "in" : "mm");
    pv_text_add(&p->out, "\n");
}

/* A length of an inspection's table: in its unit, or a dash. */
static void put_length(pv_text_page *p, const pv_inspection *in, double mm, int decimals,
                       size_t width)
{
    pv_put_number(p, in->sheet.inches ? mm / INCH : mm, decimals + in->sheet.inches, width);
}

static void put_allowed(pv_text_page *p, const pv_value *value, size_t width)
{
    const pv_kind_info kind = pv_value_shown(value);
    pv_put_U(p, kind.factor * value->tolerance, kind.decimals, width);
}

/* Of a line that is undecided: the lesser of what is undecided of it. */
static double line_probability(const pv_value *w, const pv_value *s)
{
    double width = probability_of(w), straight = probability_of(s);
    if (w->verdict != PV_UNDECIDED || width < 0)
        return w->verdict != PV_UNDECIDED ? straight : width;
    return straight >= 0 ? fmin(width, straight) : width;
}

static void add_line_rows(pv_text_page *p, const pv_inspection *in, const pv_ranking *ranking)
{
    size_t all = 0;
    for (size_t i = 0; i < in->table.n_lines; i++) {
        const pv_line_result *line = &in->table.lines[ranking->lines[i]];
        const pv_value *width = pv_inspection_find(in, PV_KIND_WIDTH, ranking->lines[i]);
        const pv_value *straight = pv_inspection_find(in, PV_KIND_STRAIGHT, ranking->lines[i]);
        if (line->planned == 0 || ++all > ROWS_MAX)
            continue;
        if (all == 1)
            put_head(p, in,
                     pv_say(p->out.language, "line, %s        drawn printed       U     off "
                                             "allowed    bow  conforms"));
        pv_text_add(&p->out, "  ");
        pv_put_left(p, line->id, 13);
        put_length(p, in, line->nominal, 3, 8);
        put_measured(p, width, 8);
        put_allowed(p, width, 8);
        put_length(p, in, straight->measured ? straight->value : NAN, 3, 7);
        answer(p, pv_line_verdict(in, ranking->lines[i]), line_probability(width, straight));
    }
    more_rows(p, all);
}

static void add_spacing_rows(pv_text_page *p, const pv_inspection *in, const pv_ranking *ranking)
{
    for (size_t i = 0; i < ranking->n_spacings && i < ROWS_MAX; i++) {
        const pv_value *s = ranking->spacings[i];
        if (i == 0)
            put_head(p, in,
                     pv_say(p->out.language, "centre lines, %s         drawn printed       U "
                                             "    off allowed  conforms"));
        pv_text_add(&p->out, "  ");
        size_t from = pv_columns(s->name), to = pv_columns(s->to);
        size_t room = 21 - 3, half = room / 2;
        size_t first = from <= half ? from : to < room - half ? room - to : half;
        first = first < from ? first : from;
        pv_put_left(p, s->name, first);
        pv_text_add(&p->out, " - ");
        pv_put_left(p, s->to, room - first);
        put_length(p, in, s->nominal, 3, 9);
        put_measured(p, s, 8);
        put_allowed(p, s, 8);
        answer(p, s->verdict, probability_of(s));
    }
    more_rows(p, ranking->n_spacings);
}

/* What the surface has that the course has not. */
static void add_mark_rows(pv_text_page *p, const pv_inspection *in)
{
    for (size_t i = 0; i < in->table.n_marks && i < ROWS_MAX; i++) {
        const pv_mark *mark = &in->table.marks[i];
        if (i == 0)
            put_head(p, in,
                     pv_say(p->out.language, "on the surface, %s      at x     y   long  "
                                             "wide  contrast  spot  conforms"));
        pv_text_add(&p->out, "  ");
        pv_put_left(p, pv_say(p->out.language, pv_mark_kind_name(mark->kind)), 17);
        put_length(p, in, mark->x, 1, 9);
        put_length(p, in, mark->y, 1, 8);
        put_length(p, in, mark->length, 1, 7);
        put_length(p, in, mark->width, 1, 6);
        pv_put_off(p, mark->contrast, 2, 8);
        pv_put_number(p, mark->off, 2, 6);
        answer(p, mark->verdict, -1);
        pv_put_wrapped(p, "    ", mark->meaning);
    }
    if (in->table.n_marks > ROWS_MAX)
        more(p, pv_say(p->out.language, "%zu more that stand out less (--json has all)"),
             in->table.n_marks);
}

/* The line whose error is the largest share of what is allowed, in words. */
static void add_worst(pv_text_page *p, const pv_inspection *in)
{
    const pv_value *worst = pv_worst_of_lines(in);
    if (worst == NULL)
        return;
    double error = worst->value - worst->nominal;
    pv_text lead = PV_TEXT_IN(p->out.language), text = PV_TEXT_IN(p->out.language);
    pv_text_add(&lead, "  ");
    pv_text_say(&lead, "largest error of a line: ");
    pv_text_add(&text, "%s, ", worst->name);
    if (worst->kind == PV_KIND_STRAIGHT)
        pv_text_say(&text, "bent by %s", pv_inspection_length(in, error, 3).chars);
    else if (error < 0)
        pv_text_say(&text, "%s too narrow", pv_inspection_length(in, fabs(error), 3).chars);
    else
        pv_text_say(&text, "%s too wide", pv_inspection_length(in, fabs(error), 3).chars);
    pv_text_say(&text, ", %s %% of what is allowed", pv_fixed(100 * pv_strain(worst), 0).chars);
    if (!lead.failed)
        put_text(p, lead.chars, &text);
    p->out.failed = p->out.failed || lead.failed;
    pv_text_drop(&lead);
    pv_text_drop(&text);
}

static void add_inspection(pv_text_page *p, const pv_inspection *in)
{
    add_answer(p, &in->sheet);
    if (in->sheet.error != NULL)
        return;
    add_notes(p, in->notes, in->n_notes);
    pv_ranking ranking;
    p->out.failed = !pv_ranking_make(&ranking, in) || p->out.failed;
    if (!p->out.failed) {
        add_grounds(p, in);
        add_worst(p, in);
        add_mark_rows(p, in);
        add_sheet_rows(p, in);
        add_line_rows(p, in, &ranking);
        add_spacing_rows(p, in, &ranking);
        pv_text_add(&p->out, "\n");
        const char *reading = PV_SAID(
            "U: with 95 % probability the true value is within ±U of the one printed here. A value "
            "conforms if it is inside its tolerance by more than U, does not conform if it is "
            "outside by more than U, and is undecided in between. A skew of 1 mrad moves a corner "
            "by 1 mm over 1 m.");
        pv_put_wrapped(p, "  ", pv_say(in->sheet.language, reading));
    }
    pv_ranking_clear(&ranking);
}

char *pv_inspections_text(const pv_inspection *const *items, size_t n, bool colour)
{
    const pv_language *l = n > 0 ? items[0]->sheet.language : NULL;
    pv_text_page p = {PV_TEXT_IN(l), colour};
    pv_text summary = PV_TEXT_IN(l);
    if (n > 1) {
        pv_batch_summary(&summary, items, n);
        put_text(&p, "", &summary);
    }
    for (size_t i = 0; i < n; i++) {
        if (n > 1)
            pv_text_add(&p.out, "\n");
        add_inspection(&p, items[i]);
    }
    return pv_text_take(&p.out);
}
