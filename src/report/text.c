/* Inspections for people, on a terminal of 80 columns. */
#include "base/text.h"

#include <pavior/inspect.h>

#include <math.h>
#include <string.h>

#define COLUMNS  78
#define ROWS_MAX 24 /* of a table; the worst are shown */
#define INCH     25.4

typedef struct page {
    pv_text out;
    bool colour;
} page;

/* ---- characters ---- */

/* Columns that a UTF-8 text takes, one for each character. */
static size_t columns(const char *text)
{
    size_t n = 0;
    for (; *text != '\0'; text++)
        n += (*text & 0xC0) != 0x80;
    return n;
}

static void blanks(page *p, size_t n)
{
    pv_text_add(&p->out, "%*s", (int)n, "");
}

/* Bytes from files and names: control characters must not reach a terminal. */
static void add_plain(page *p, const char *text, size_t length)
{
    for (size_t i = 0; i < length; i++) {
        unsigned char c = (unsigned char)text[i];
        pv_text_add(&p->out, "%c", c < 0x20 || c == 0x7F ? '?' : c);
    }
}

/* Left in a field of so many columns, cut with an ellipsis where it is longer. */
static void left(page *p, const char *text, size_t width)
{
    size_t n = columns(text), length = strlen(text);
    if (n > width) {
        size_t seen = 0;
        for (length = 0; text[length] != '\0'; length++)
            if ((text[length] & 0xC0) != 0x80 && ++seen == width)
                break;
        add_plain(p, text, length);
        pv_text_add(&p->out, "\xE2\x80\xA6");
        return;
    }
    add_plain(p, text, length);
    blanks(p, width - n);
}

static void right(page *p, const char *text, size_t width)
{
    size_t n = columns(text);
    blanks(p, n < width ? width - n : 0);
    pv_text_add(&p->out, "%s", text);
}

static void number(page *p, double value, int decimals, size_t width)
{
    right(p, pv_fixed(value, decimals).chars, width);
}

static void uncertainty(page *p, double U, int decimals, size_t width)
{
    char text[48] = "\xC2\xB1";
    strncat(text, pv_fixed(U, decimals).chars, sizeof text - 3);
    right(p, text, width);
}

static void off(page *p, double error, int decimals, size_t width)
{
    char text[48] = "";
    const pv_digits digits = pv_fixed(error, decimals);
    if (digits.chars[0] != '-' && strspn(digits.chars, "0.") < strlen(digits.chars))
        text[0] = '+';
    strncat(text, digits.chars, sizeof text - 2);
    right(p, text, width);
}

static const char *paint(pv_verdict verdict)
{
    return verdict == PV_CONFORMS           ? "\033[1;32m"
           : verdict == PV_DOES_NOT_CONFORM ? "\033[1;31m"
                                            : "\033[1;33m";
}

static void painted(page *p, pv_verdict verdict, const char *text)
{
    pv_text_add(&p->out, "%s%s%s", p->colour ? paint(verdict) : "", text,
                p->colour ? "\033[0m" : "");
}

static void bold(page *p, const char *text)
{
    pv_text_add(&p->out, "%s", p->colour ? "\033[1m" : "");
    add_plain(p, text, strlen(text));
    pv_text_add(&p->out, "%s", p->colour ? "\033[0m" : "");
}

/* Up to the next blank where a line may be broken: not between a number and its "%". */
static size_t word_length(const char *text)
{
    size_t length = strcspn(text, " ");
    while (text[length] == ' ' && text[length + 1] == '%')
        length += 1 + strcspn(text + length + 1, " ");
    return length;
}

/* Words of a sentence, broken at blanks, later lines indented. */
static void wrapped(page *p, const char *lead, const char *text)
{
    size_t indent = columns(lead), at = indent;
    pv_text_add(&p->out, "%s", lead);
    while (*text != '\0') {
        size_t length = word_length(text);
        char word[512];
        size_t kept = length < sizeof word ? length : sizeof word - 1;
        memcpy(word, text, kept);
        word[kept] = '\0';
        if (at > indent && at + 1 + columns(word) > COLUMNS) {
            pv_text_add(&p->out, "\n");
            blanks(p, indent);
            at = indent;
        } else if (at > indent) {
            pv_text_add(&p->out, " ");
            at++;
        }
        add_plain(p, word, kept);
        at += columns(word);
        text += length + (text[length] == ' ');
    }
    pv_text_add(&p->out, "\n");
}

/* In a column headed "conforms". */
static void answer(page *p, pv_verdict verdict)
{
    pv_text_add(&p->out, "  ");
    painted(p, verdict,
            verdict == PV_CONFORMS           ? "yes"
            : verdict == PV_DOES_NOT_CONFORM ? "no"
                                             : "undecided");
    pv_text_add(&p->out, "\n");
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

static void add_head(page *p, const pv_inspection *in)
{
    bold(p, in->sheet);
    pv_text_add(&p->out, "  ");
    painted(p, in->verdict, pv_verdict_name(in->verdict));
    size_t used = columns(in->sheet) + 2 + columns(pv_verdict_name(in->verdict));
    size_t kit = columns(in->kit);
    if (used + 2 + kit <= COLUMNS)
        blanks(p, COLUMNS - used - kit);
    else
        pv_text_add(&p->out, "\n    ");
    add_plain(p, in->kit, strlen(in->kit));
    pv_text_add(&p->out, "\n");

    pv_text line = PV_TEXT_INIT;
    double x = in->resolution[0] * INCH, y = in->resolution[1] * INCH;
    pv_text_add(&line, "%s: ", in->file);
    if (in->reference == PV_REFERENCE_NONE) {
        pv_text_add(&line, "no reference, so lengths are relative to the sheet's own size");
    } else {
        pv_text_add(&line, "scan at %s", pv_fixed(x, 0).chars);
        if (fabs(x - y) > 0.5)
            pv_text_add(&line, " x %s", pv_fixed(y, 0).chars);
        pv_text_add(&line, " dpi, good to \xC2\xB1%s %%",
                    pv_fixed(100 * in->reference_U_rel, 2).chars);
    }
    /* A half turn has no sign. */
    double turn = in->turn < -179.95 ? in->turn + 360 : in->turn;
    pv_text_add(&line, ", turned by %s\xC2\xB0", pv_fixed(turn, 1).chars);
    char *text = pv_text_take(&line);
    if (text != NULL)
        wrapped(p, "    ", text);
    else
        p->out.failed = true;
    pv_free(text);
}

static void add_sheet_row(page *p, const char *name, const pv_value *value, double factor,
                          int decimals, const char *unit)
{
    pv_text_add(&p->out, "  ");
    left(p, name, 10);
    if (value->measured) {
        number(p, factor * value->value, decimals, 9);
        uncertainty(p, factor * value->U, decimals, 8);
        pv_text_add(&p->out, " ");
        left(p, unit, 4);
    } else {
        left(p, "      not measured", 22);
    }
    pv_text_add(&p->out, "  allowed ");
    uncertainty(p, factor * value->tolerance, decimals, 7);
    pv_text_add(&p->out, " ");
    left(p, unit, 16);
    answer(p, value->verdict);
}

static void add_sheet_rows(page *p, const pv_inspection *in)
{
    blanks(p, 68);
    pv_text_add(&p->out, "  conforms\n");
    add_sheet_row(p, "scale x", &in->scale[0], 100, 3, "%");
    add_sheet_row(p, "scale y", &in->scale[1], 100, 3, "%");
    add_sheet_row(p, "skew", &in->skew, 1, 2, "mrad");
}

static void more_rows(page *p, size_t hidden)
{
    if (hidden > 0)
        pv_text_add(&p->out, "  %zu more that use less of their tolerance (--json has all)\n",
                    hidden);
}

static void add_line_rows(page *p, const pv_inspection *in)
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
            pv_text_add(&p->out, "\n  line, mm              drawn  printed       U      off   bow "
                                 "places  conforms\n");
        pv_text_add(&p->out, "  ");
        left(p, line->id, 18);
        number(p, line->nominal, 3, 9);
        if (line->width.measured) {
            number(p, line->width.value, 3, 9);
            uncertainty(p, line->width.U, 3, 8);
            off(p, line->width.value - line->nominal, 3, 9);
        } else {
            left(p, "   not found", 26);
        }
        right(p, line->straight.measured ? pv_fixed(line->straight.value, 2).chars : "-", 6);
        number(p, (double)line->stations, 0, 7);
        answer(p, line_verdict(line));
    }
    more_rows(p, hidden);
}

static void add_spacing_rows(page *p, const pv_inspection *in)
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
                                 "off      conforms\n");
        pv_text_add(&p->out, "  ");
        size_t from = columns(s->from), to = columns(s->to);
        size_t room = 27 - 3, half = room / 2;
        size_t first = from <= half ? from : to < room - half ? room - to : half;
        first = first < from ? first : from;
        left(p, s->from, first);
        pv_text_add(&p->out, " - ");
        left(p, s->to, room - first);
        number(p, s->nominal, 3, 9);
        number(p, s->value.value, 3, 9);
        uncertainty(p, s->value.U, 3, 8);
        off(p, s->value.value - s->nominal, 3, 9);
        blanks(p, 4);
        answer(p, s->value.verdict);
    }
    more_rows(p, hidden);
}

static void add_worst(page *p, const pv_inspection *in)
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
        wrapped(p, "  worst line: ", chars);
    else
        p->out.failed = true;
    pv_free(chars);
}

static void add_inspection(page *p, const pv_inspection *in)
{
    if (in->error != NULL) {
        bold(p, in->file);
        pv_text_add(&p->out, "  ");
        painted(p, PV_DOES_NOT_CONFORM, "can't be used");
        pv_text_add(&p->out, "\n");
        wrapped(p, "    ", in->error);
        return;
    }
    add_head(p, in);
    pv_text_add(&p->out, "\n");
    add_sheet_rows(p, in);
    add_line_rows(p, in);
    add_spacing_rows(p, in);
    add_worst(p, in);
    for (size_t i = 0; i < in->n_notes; i++)
        wrapped(p, "  note: ", in->notes[i]);
}

static void add_summary(page *p, const pv_inspection *const *items, size_t n)
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
    page p = {PV_TEXT_INIT, colour};
    for (size_t i = 0; i < n; i++) {
        if (i > 0)
            pv_text_add(&p.out, "\n");
        add_inspection(&p, items[i]);
    }
    if (n > 1)
        add_summary(&p, items, n);
    return pv_text_take(&p.out);
}
