/* Inspections for people, on a terminal of 80 columns. */
#include "judge/results.h"
#include "reference/combine.h"
#include "report/text_page.h"

#include <math.h>
#include <string.h>

#define ROWS_MAX 24 /* of a table; the worst are shown */
#define INCH     25.4

/* In a column headed "conforms"; with the probability that it does where that is known and nothing
 * is decided. */
static void answer(pv_text_page *p, pv_verdict verdict, double probability)
{
    pv_text_add(&p->out, "  ");
    pv_put_painted(p, verdict,
                   verdict == PV_CONFORMS           ? "yes"
                   : verdict == PV_DOES_NOT_CONFORM ? "no"
                                                    : "undecided");
    if (verdict == PV_UNDECIDED && probability >= 0)
        pv_text_add(&p->out, " %s %%", pv_fixed(100 * probability, 0).chars);
    pv_text_add(&p->out, "\n");
}

/* Negative where it isn't known: not measured, or seen only in part, or relative alone. */
static double probability_of(const pv_value *value)
{
    bool known = value->measured && value->U_needed > 0;
    return known ? value->probability : -1;
}

/* ---- which rows ---- */

/* How much of its tolerance a value uses up; more than 1 doesn't conform, or isn't proven to. */
static double strain(const pv_value *value, double nominal)
{
    if (!value->measured)
        return 0;
    double most = fabs(value->value - nominal) + value->U;
    return value->tolerance > 0 ? most / value->tolerance : most > 0 ? HUGE_VAL : 0;
}

static double line_strain(const pv_line_result *line)
{
    return fmax(strain(&line->width, line->nominal), strain(&line->straight, 0));
}

static pv_verdict line_verdict(const pv_line_result *line)
{
    pv_verdict width = line->width.verdict, straight = line->straight.verdict;
    if (!line->straight.measured || width == PV_DOES_NOT_CONFORM)
        return width;
    return straight == PV_DOES_NOT_CONFORM || width == PV_CONFORMS ? straight : width;
}

/* Of a line that is undecided: the lesser of what is undecided of it. */
static double line_probability(const pv_line_result *line)
{
    double width = probability_of(&line->width), straight = probability_of(&line->straight);
    if (line->width.verdict != PV_UNDECIDED || width < 0)
        return line->width.verdict != PV_UNDECIDED ? straight : width;
    return straight >= 0 ? fmin(width, straight) : width;
}

/* Both kinds of table choose rows alike: those of rank below ROWS_MAX by strain. */
typedef double strain_at(const pv_inspection *in, size_t index);

static double strain_of_line(const pv_inspection *in, size_t index)
{
    return in->lines[index].planned == 0 ? -1 : line_strain(&in->lines[index]);
}

static double strain_of_spacing(const pv_inspection *in, size_t index)
{
    return strain(&in->spacings[index].value, in->spacings[index].nominal);
}

/* The least strain that a row must have to be among the ROWS_MAX worst. */
static double least_shown(const pv_inspection *in, size_t n, strain_at *of)
{
    double worst[ROWS_MAX] = {0}; /* falling */
    size_t m = 0;
    for (size_t i = 0; i < n; i++) {
        double one = of(in, i);
        if (m == ROWS_MAX && one <= worst[m - 1])
            continue;
        size_t k = m < ROWS_MAX ? m++ : m - 1;
        for (; k > 0 && worst[k - 1] < one; k--)
            worst[k] = worst[k - 1];
        worst[k] = one;
    }
    return n > ROWS_MAX ? worst[ROWS_MAX - 1] : -HUGE_VAL;
}

/* ---- the parts of a report ---- */

/* What kind of picture, and how fine. */
static void add_kind(pv_text *line, const pv_inspection *in)
{
    double x = in->resolution[0] * INCH, y = in->resolution[1] * INCH;
    const double *shown = in->measured_resolution;
    if (in->photograph) {
        pv_text_add(line, "photograph, %s px to a mm",
                    pv_fixed((shown[0] + shown[1]) / 2, 1).chars);
        return;
    }
    pv_text_add(line, "scan");
    if (!(x > 0 && y > 0))
        return;
    pv_text_add(line, " at %s", pv_fixed(x, fabs(x - round(x)) < 0.05 ? 0 : 1).chars);
    if (fabs(x - y) > 0.5)
        pv_text_add(line, " x %s", pv_fixed(y, 0).chars);
    pv_text_add(line, " dpi");
}

/* What its scale rests on, and how well. */
static void add_reference(pv_text *line, const pv_inspection *in)
{
    if (in->reference == PV_REFERENCE_NONE) {
        pv_text_add(line, ", no reference, so lengths are relative to the sheet's own size");
        return;
    }
    pv_text_add(line, ", scale good to " PV_PLUS_MINUS "%s %% by ",
                pv_fixed(100 * in->reference_U_rel, in->reference_U_rel < 5e-5 ? 4 : 2).chars);
    size_t n = 0;
    for (size_t i = 0; i < in->n_references; i++) {
        const pv_reference_result *one = &in->references[i];
        bool again = i > 0 && one->kind == in->references[i - 1].kind;
        if (fmax(one->weight[0], one->weight[1]) > 0 && !again)
            pv_text_add(line, "%s%s", n++ > 0 ? " and " : "", pv_reference_noun(one->kind));
    }
    if (n == 0)
        pv_text_add(line, "%s", pv_reference_noun(in->reference));
}

static void add_head(pv_text_page *p, const pv_inspection *in)
{
    pv_put_bold(p, in->sheet);
    pv_text_add(&p->out, "  ");
    pv_put_painted(p, in->verdict, pv_verdict_name(in->verdict));
    const char *unmeasured = pv_no_line_measured(in) ? ", no line measured" : "";
    pv_text_add(&p->out, "%s", unmeasured);
    size_t used = pv_columns(in->sheet) + 2 + pv_columns(pv_verdict_name(in->verdict)) +
                  pv_columns(unmeasured);
    size_t kit = pv_columns(in->kit);
    if (used + 2 + kit <= PV_COLUMNS)
        pv_put_blanks(p, PV_COLUMNS - used - kit);
    else
        pv_text_add(&p->out, "\n    ");
    pv_put_plain(p, in->kit, strlen(in->kit));
    pv_text_add(&p->out, "\n");

    pv_text line = PV_TEXT_INIT;
    pv_text_add(&line, "%s: ", in->file);
    add_kind(&line, in);
    add_reference(&line, in);
    /* A half turn has no sign. */
    double turn = in->turn < -179.95 ? in->turn + 360 : in->turn;
    pv_text_add(&line, ", turned by %s\xC2\xB0", pv_fixed(turn, 1).chars);
    char *text = pv_text_take(&line);
    if (text != NULL)
        pv_put_wrapped(p, "    ", text);
    else
        p->out.failed = true;
    pv_free(text);
}

static void add_sheet_row(pv_text_page *p, const char *name, const pv_value *value, double factor,
                          int decimals, const char *unit)
{
    pv_text_add(&p->out, "  ");
    pv_put_left(p, name, 10);
    if (value->measured) {
        pv_put_number(p, factor * value->value, decimals, 9);
        pv_put_U(p, factor * value->U, decimals, 8);
        pv_text_add(&p->out, " ");
        pv_put_left(p, unit, 4);
    } else {
        pv_put_left(p, "      not measured", 22);
    }
    pv_text_add(&p->out, "  allowed ");
    pv_put_U(p, factor * value->tolerance, decimals, 7);
    pv_text_add(&p->out, " ");
    pv_put_left(p, unit, 12);
    answer(p, value->verdict, probability_of(value));
}

static void add_sheet_rows(pv_text_page *p, const pv_inspection *in)
{
    pv_put_blanks(p, 64);
    pv_text_add(&p->out, "  conforms\n");
    add_sheet_row(p, "scale x", &in->scale[0], 100, 3, "%");
    add_sheet_row(p, "scale y", &in->scale[1], 100, 3, "%");
    add_sheet_row(p, "skew", &in->skew, 1, 2, "mrad");
    if (!in->ink.measured)
        return;
    pv_text_add(&p->out, "  ");
    pv_put_left(p, "ink spread", 10);
    pv_put_off(p, in->ink.value, 3, 9);
    pv_put_U(p, in->ink.U, 3, 8);
    pv_text_add(&p->out, " mm at each edge\n");
}

static void more_rows(pv_text_page *p, size_t hidden)
{
    if (hidden > 0)
        pv_text_add(&p->out, "  %zu more that use less of their tolerance (--json has all)\n",
                    hidden);
}

static void add_line_rows(pv_text_page *p, const pv_inspection *in)
{
    size_t hidden = 0, shown = 0;
    double least = least_shown(in, in->n_lines, strain_of_line);
    for (size_t i = 0; i < in->n_lines; i++) {
        const pv_line_result *line = &in->lines[i];
        if (line->planned == 0)
            continue;
        if (strain_of_line(in, i) < least) {
            hidden++;
            continue;
        }
        if (shown++ == 0)
            pv_text_add(&p->out,
                        "\n  line, mm             drawn printed      U     off   bow places"
                        "  conforms\n");
        pv_text_add(&p->out, "  ");
        pv_put_left(p, line->id, 18);
        pv_put_number(p, line->nominal, 3, 8);
        if (line->width.measured) {
            pv_put_number(p, line->width.value, 3, 8);
            pv_put_U(p, line->width.U, 3, 7);
            pv_put_off(p, line->width.value - line->nominal, 3, 8);
        } else {
            pv_put_left(p, "  not found", 23);
        }
        pv_put_right(p, line->straight.measured ? pv_fixed(line->straight.value, 2).chars : "-", 6);
        pv_put_number(p, (double)line->stations, 0, 7);
        answer(p, line_verdict(line), line_probability(line));
    }
    more_rows(p, hidden);
}

static void add_spacing_rows(pv_text_page *p, const pv_inspection *in)
{
    size_t hidden = 0, shown = 0;
    double least = least_shown(in, in->n_spacings, strain_of_spacing);
    for (size_t i = 0; i < in->n_spacings; i++) {
        const pv_spacing_result *s = &in->spacings[i];
        if (strain_of_spacing(in, i) < least) {
            hidden++;
            continue;
        }
        if (shown++ == 0)
            pv_text_add(&p->out, "\n  between centre lines, mm       drawn  printed       U      "
                                 "off  conforms\n");
        pv_text_add(&p->out, "  ");
        size_t from = pv_columns(s->from), to = pv_columns(s->to);
        size_t room = 27 - 3, half = room / 2;
        size_t first = from <= half ? from : to < room - half ? room - to : half;
        first = first < from ? first : from;
        pv_put_left(p, s->from, first);
        pv_text_add(&p->out, " - ");
        pv_put_left(p, s->to, room - first);
        pv_put_number(p, s->nominal, 3, 9);
        pv_put_number(p, s->value.value, 3, 9);
        pv_put_U(p, s->value.U, 3, 8);
        pv_put_off(p, s->value.value - s->nominal, 3, 9);
        answer(p, s->value.verdict, probability_of(&s->value));
    }
    more_rows(p, hidden);
}

static void add_worst(pv_text_page *p, const pv_inspection *in)
{
    const pv_line_result *worst = NULL;
    for (size_t i = 0; i < in->n_lines; i++) {
        const pv_line_result *line = &in->lines[i];
        if (line->width.measured && (worst == NULL || line_strain(line) > line_strain(worst)))
            worst = line;
    }
    if (worst == NULL)
        return;
    bool bowed = strain(&worst->straight, 0) > strain(&worst->width, worst->nominal);
    const pv_value *value = bowed ? &worst->straight : &worst->width;
    double error = bowed ? value->value : value->value - worst->nominal;
    pv_text text = PV_TEXT_INIT;
    pv_text_add(&text, "%s, ", worst->id);
    if (bowed)
        pv_text_add(&text, "which leaves its best fit by %s", pv_fixed(error, 3).chars);
    else
        pv_text_add(&text, "%s mm too %s", pv_fixed(fabs(error), 3).chars,
                    error < 0 ? "narrow" : "wide");
    pv_text_add(&text, " (\xC2\xB1%s) of %s mm allowed", pv_fixed(value->U, 3).chars,
                pv_fixed(value->tolerance, 3).chars);
    char *chars = pv_text_take(&text);
    pv_text_add(&p->out, "\n");
    if (chars != NULL)
        pv_put_wrapped(p, "  worst line: ", chars);
    else
        p->out.failed = true;
    pv_free(chars);
}

static void add_inspection(pv_text_page *p, const pv_inspection *in)
{
    if (in->error != NULL) {
        pv_put_bold(p, in->file);
        pv_text_add(&p->out, "  ");
        pv_put_painted(p, PV_DOES_NOT_CONFORM, "can't be used");
        pv_text_add(&p->out, "\n");
        pv_put_wrapped(p, "    ", in->error);
        return;
    }
    add_head(p, in);
    pv_text_add(&p->out, "\n");
    add_sheet_rows(p, in);
    add_line_rows(p, in);
    add_spacing_rows(p, in);
    add_worst(p, in);
    for (size_t i = 0; i < in->n_notes; i++)
        pv_put_wrapped(p, "  note: ", in->notes[i]);
}

static void add_summary(pv_text_page *p, const pv_inspection *const *items, size_t n)
{
    size_t count[3] = {0, 0, 0}, errors = 0;
    for (size_t i = 0; i < n; i++) {
        if (items[i]->error != NULL)
            errors++;
        else
            count[items[i]->verdict]++;
    }
    pv_text_add(&p->out, "\n%zu images: ", n);
    static const pv_verdict order[] = {PV_CONFORMS, PV_DOES_NOT_CONFORM, PV_UNDECIDED};
    static const char *const many[] = {"conform", "do not conform", "undecided"};
    for (int i = 0; i < 3; i++)
        pv_text_add(&p->out, "%s%zu %s", i > 0 ? ", " : "", count[order[i]],
                    count[order[i]] == 1 ? pv_verdict_name(order[i]) : many[i]);
    if (errors > 0)
        pv_text_add(&p->out, ", %zu can't be used", errors);
    pv_text_add(&p->out, "\n");
}

char *pv_inspections_text(const pv_inspection *const *items, size_t n, bool colour)
{
    pv_text_page p = {PV_TEXT_INIT, colour};
    for (size_t i = 0; i < n; i++) {
        if (i > 0)
            pv_text_add(&p.out, "\n");
        add_inspection(&p, items[i]);
    }
    if (n > 1)
        add_summary(&p, items, n);
    return pv_text_take(&p.out);
}
