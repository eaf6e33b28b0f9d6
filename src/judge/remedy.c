#include "judge/remedy.h"

#include "base/vec.h"
#include "po/po.h"
#include "reference/basis.h"
#include "reference/ruler.h"

#include <string.h>

/* What a careful user reaches. Assumed, all of them. */
#define BEST_REFERENCE 0.0003 /* relative, k = 2: a scanner checked against a long steel rule */
#define BEST_SKEW      0.5    /* mrad, k = 1: both diagonals of an A4 sheet by a steel rule */
#define BEST_GRID      0.001  /* mm, at that resolution, in gray */
#define BEST_TONE      0.003  /* mm, alike */
#define BEST_SCATTER   0.7    /* of what it is, by less noise: the print's own raggedness stays */
#define BEST_MAP       0.5    /* of what it is, by a flat sheet seen straight */

/* Times as uncertain as the best reference: from there on one counts as coarse (assumed). */
#define COARSE 2.0
/* Share of U: the report says so of a value closer to its limit than this. */
#define NEAR 0.15

/* mm, k = 2: what a magnifying glass and great care reach (assumed). */
#define READING_FINE   0.2
#define READING_FINEST 0.1

/* Of a tolerance, what U must be for a value that isn't known yet to be decided if it is off by no
 * more than the rest (assumed). */
#define UNKNOWN_SHARE 0.6

/* What is left of a part after its remedy. */
static double reachable(const pv_inspection *in, pv_contribution part, double u)
{
    double finer = fmin(1, pv_inspection_dpi(in) / PV_BEST_DPI);
    /* Without any, a right angle still has what an unknown scanner leaves open. */
    double U_rel = in->sheet.reference == PV_REFERENCE_NONE ? 2 * PV_FEED_OFF / sqrt(3)
                                                            : in->sheet.reference_U_rel;
    switch (part) {
    case PV_PART_SCATTER:
        return finer < 1 ? BEST_SCATTER * u : u;
    case PV_PART_GRID:
        return fmin(finer * u, BEST_GRID);
    case PV_PART_TONE:
        return fmin(finer * u, BEST_TONE);
    case PV_PART_POSE:
        return BEST_MAP * u;
    case PV_PART_REFERENCE:
        return U_rel > BEST_REFERENCE ? u * BEST_REFERENCE / U_rel : u;
    case PV_PART_SCREEN:
    case PV_PART_INK:
    case PV_PARTS:
        break;
    }
    return u;
}

static unsigned remedy_of(pv_contribution part)
{
    switch (part) {
    case PV_PART_SCATTER:
    case PV_PART_GRID:
    case PV_PART_TONE:
        return PV_REMEDY_IMAGE;
    case PV_PART_POSE:
        return PV_REMEDY_FLAT;
    case PV_PART_REFERENCE:
        return PV_REMEDY_REFERENCE;
    case PV_PART_SCREEN:
    case PV_PART_INK:
    case PV_PARTS:
        break;
    }
    return PV_REMEDY_PRINT;
}

/* A coarse reference is most of the doubt: a better one will put the value elsewhere, and hardly as
 * near to its limit. */
static bool moves(const pv_inspection *in, const pv_value *value)
{
    double part = value->part[PV_PART_REFERENCE], all = value->U / value->k;
    return in->sheet.reference_U_rel > COARSE * BEST_REFERENCE && part * part > 0.5 * all * all;
}

/* Brings down one part after the other, that first which gains most, until U is small enough. */
static unsigned choose(const pv_inspection *in, const pv_value *value)
{
    double left[PV_PARTS], gain[PV_PARTS], variance = 0;
    for (int i = 0; i < PV_PARTS; i++) {
        left[i] = reachable(in, (pv_contribution)i, value->part[i]);
        if (value->kind == PV_KIND_SKEW && i == PV_PART_REFERENCE &&
            !(in->sheet.reference_U_rel > 0))
            left[i] = fmin(value->part[i], BEST_SKEW);
        gain[i] = value->part[i] * value->part[i] - left[i] * left[i];
        variance += value->part[i] * value->part[i];
    }
    unsigned remedy = 0;
    double least = value->U_needed / value->k;
    while (variance > least * least) {
        int best = 0;
        for (int i = 1; i < PV_PARTS; i++)
            if (gain[i] > gain[best])
                best = i;
        if (!(gain[best] > 0))
            return moves(in, value) ? PV_REMEDY_REFERENCE : PV_REMEDY_PRINT;
        variance -= gain[best];
        gain[best] = 0;
        remedy |= remedy_of((pv_contribution)best);
    }
    return remedy;
}

void pv_remedy_find(const pv_inspection *in, pv_value *value, bool partly)
{
    const pv_kind_info *kind = pv_kind_of(value->kind);
    bool relative = kind->length && in->sheet.reference == PV_REFERENCE_NONE;
    value->remedy = 0;
    value->U_needed = 0;
    if (value->verdict != PV_UNDECIDED)
        return;
    if (partly)
        value->remedy = PV_REMEDY_SIGHT;
    else if (!value->measured)
        value->remedy = kind->of == PV_OF_SHEET ? PV_REMEDY_REFERENCE : PV_REMEDY_SIGHT;
    else if (relative)
        value->remedy = PV_REMEDY_REFERENCE;
    if (value->remedy != 0)
        return;
    value->U_needed = fabs(value->tolerance - fabs(value->value - value->nominal));
    value->remedy = choose(in, value);
}

/* ---- what to measure by hand ---- */

/* Whether readings that give ln sx, ln sy and the skew (where `skew`) with that covariance decide a
 * value. */
static bool decides(const pv_value *value, const double *cov, bool skew)
{
    size_t m = skew ? 3 : 2;
    double part = fabs(value->nominal) * sqrt(fmax(cov[0], cov[m + 1])), rest = 0;
    if (value->kind == PV_KIND_SKEW)
        part = skew ? 1000 * sqrt(cov[8]) : HUGE_VAL;
    else if (value->kind == PV_KIND_SCALE)
        part = sqrt(cov[(m + 1) * value->subject]);
    for (int i = 0; value->measured && i < PV_PARTS; i++)
        rest = hypot(rest, i == PV_PART_REFERENCE ? 0 : value->part[i]);
    double need = value->U_needed > 0 ? value->U_needed : UNKNOWN_SHARE * value->tolerance;
    return 2 * hypot(part, rest) <= need;
}

/* Tries the first n of the steps, read to U (0: as usual). */
static bool steps_decide(pv_inspection *in, size_t n, double U)
{
    double w = in->sheet.gauge[0], h = in->sheet.gauge[1];
    pv_sheet sheet = {.n_gauge = PV_GAUGE_MARKS, .gauge = {{0, 0}, {w, 0}, {w, h}, {0, h}}};
    static const char pairs[PV_STEPS_MAX][2] = {"PQ", "PS", "PR", "QS", "SR", "QR"};
    pv_ruler_reading readings[PV_STEPS_MAX];
    for (size_t i = 0; i < n; i++) {
        double nominal = pv_ruler_nominal(&sheet, pairs[i][0], pairs[i][1]);
        readings[i] = (pv_ruler_reading){pairs[i][0], pairs[i][1], nominal, U};
        in->steps[i] =
            (pv_distance){pairs[i][0], pairs[i][1], nominal, pv_ruler_U(&readings[i], nominal)};
    }
    pv_text none = PV_TEXT_INIT;
    pv_evidence e = pv_ruler_evidence(&sheet, readings, n, &none);
    pv_text_drop(&none);
    for (size_t i = 0; i < in->table.n_values; i++) {
        const pv_value *row = &in->table.values[i];
        if (row->counts && (row->remedy & PV_REMEDY_REFERENCE) != 0 &&
            !decides(row, e.cov, e.rows == 3))
            return false;
    }
    return true;
}

/* Fewer readings first, then finer ones. */
void pv_remedy_steps(pv_inspection *in)
{
    static const struct {
        size_t n;
        double U;
    } tries[] = {{2, 0}, {4, 0}, {6, 0}, {4, READING_FINE}, {6, READING_FINE}, {6, READING_FINEST}};
    bool wanted = false;
    in->n_steps = 0;
    for (size_t i = 0; i < in->table.n_values; i++)
        wanted = wanted || (in->table.values[i].counts &&
                            (in->table.values[i].remedy & PV_REMEDY_REFERENCE) != 0);
    if (!wanted || in->sheet.verdict != PV_UNDECIDED || !(in->sheet.gauge[0] > 0))
        return;
    for (size_t i = 0; i < sizeof tries / sizeof *tries && in->n_steps == 0; i++)
        if (steps_decide(in, tries[i].n, tries[i].U))
            in->n_steps = tries[i].n;
}

/* ---- in words ---- */

void pv_remedy_measure(pv_text *out, const pv_inspection *in)
{
    const pv_language *l = out->language;
    double longest = 0;
    for (size_t i = 0; i < in->n_steps; i++) {
        const pv_distance *s = &in->steps[i];
        bool whole = fabs(s->nominal - round(s->nominal)) < 0.05;
        pv_text_add(out,
                    i == 0                 ? pv_say(l, "from %c to %c (%s mm as drawn)")
                    : i + 1 == in->n_steps ? pv_say(l, " and %c to %c (%s mm)")
                                           : pv_say(l, ", %c to %c (%s mm)"),
                    s->from, s->to, pv_fixed(s->nominal, whole ? 0 : 1).chars);
        longest = fmax(longest, s->nominal);
    }
    if (longest > PV_RULER_LONGEST)
        pv_text_say(out, " with a steel tape");
    else
        pv_text_say(out, " with a steel rule");
    if (in->steps[0].U < PV_RULER_U)
        pv_text_say(out, " and a magnifying glass, each to %s mm",
                    pv_fixed(in->steps[0].U, 1).chars);
}

void pv_remedy_reading(pv_text *out, const pv_inspection *in)
{
    pv_text_add(out, "--measured P-Q=...mm");
    if (in->steps[0].U < PV_RULER_U)
        pv_text_add(out, "+-%smm", pv_fixed(in->steps[0].U, 1).chars);
}

static bool has_card(const pv_inspection *in)
{
    for (size_t i = 0; i < in->n_references; i++)
        if (in->references[i].kind == PV_REFERENCE_CARD && !in->references[i].unused)
            return true;
    return false;
}

/* Whether a scanner tells the size of which nobody said what it is. */
static bool by_any_scanner(const pv_inspection *in)
{
    for (size_t i = 0; i < in->n_references; i++)
        if (in->references[i].kind == PV_REFERENCE_SCANNER && pv_basis_counts(&in->references[i]))
            return in->sheet.scanner == PV_SCANNER_UNKNOWN &&
                   in->references[i].U[0] > PV_FEED_OFF; /* nor stated otherwise */
    return false;
}

/* One of several ways: "lay a card..., or measure ...". */
static void add_way(pv_text *out, const char *said)
{
    if (out->length > 0)
        pv_text_say(out, ", or ");
    pv_text_add(out, "%s", said);
}

static void reference_advice(pv_text *out, const pv_inspection *in)
{
    const pv_language *l = out->language;
    const char *calibrate = pv_say(
        l, "calibrate the scanner (pavior calibrate --scanner) and give pavior inspect --scanner");
    bool scanner = in->sheet.reference == PV_REFERENCE_SCANNER;
    bool any = by_any_scanner(in);
    if (in->sheet.photograph && !has_card(in))
        add_way(out, pv_say(l, "lay a bank card (ISO/IEC 7810 ID-1) beside the sheet or on it"));
    else if (in->sheet.reference == PV_REFERENCE_NONE && !in->sheet.photograph &&
             !in->sheet.disagree)
        add_way(out, pv_say(l, "scan it so that the file keeps its resolution"));
    else if (any)
        add_way(out, pv_say(l, "scan it on a flatbed and say so with --scanner flatbed"));
    else if (scanner)
        add_way(out, calibrate);
    if (in->n_steps > 0) {
        pv_text measure = PV_TEXT_IN(l), reading = PV_TEXT_IN(l);
        pv_remedy_measure(&measure, in);
        pv_remedy_reading(&reading, in);
        out->failed = out->failed || measure.failed || reading.failed;
        add_way(out, "");
        if (!out->failed)
            pv_text_say(out, "measure %s, and give pavior inspect each reading as %s",
                        measure.chars, reading.chars);
        pv_text_drop(&measure);
        pv_text_drop(&reading);
    }
    if (in->sheet.photograph)
        add_way(out, pv_say(l, "scan the sheet"));
    else if (!scanner && !any && in->sheet.reference != PV_REFERENCE_NONE)
        add_way(out, calibrate);
}

static const char *image_advice(const pv_inspection *in)
{
    if (in->sheet.photograph)
        return PV_SAID("scan it at 600 dpi, or photograph it from closer so that it fills the "
                       "picture");
    if (pv_inspection_dpi(in) < PV_BEST_DPI)
        return PV_SAID("scan it at 600 dpi, in grey or colour, without sharpening");
    return PV_SAID("scan it in grey or colour, without sharpening");
}

void pv_remedy_advice(pv_text *out, const pv_inspection *in, unsigned remedy)
{
    const pv_language *l = out->language;
    pv_text reference = PV_TEXT_IN(l);
    if (remedy & PV_REMEDY_REFERENCE)
        reference_advice(&reference, in);
    out->failed = out->failed || reference.failed;
    const char *const said[] = {
        remedy & PV_REMEDY_SIGHT ? pv_say(l, "check its edges: are they faded or covered?") : NULL,
        remedy & PV_REMEDY_REFERENCE ? reference.chars : NULL,
        remedy & PV_REMEDY_IMAGE ? pv_say(l, image_advice(in)) : NULL,
        (remedy & PV_REMEDY_FLAT) == 0 ? NULL
        : in->sheet.photograph ? pv_say(l, "lay it flat and photograph it from straight above")
                               : pv_say(l, "press it flat under the lid"),
        remedy & PV_REMEDY_PRINT ? pv_say(l, "no measurement can decide a value so close to its "
                                             "limit: reprint the sheet")
                                 : NULL};
    bool first = true;
    for (size_t i = 0; i < sizeof said / sizeof *said; i++) {
        if (said[i] == NULL)
            continue;
        if (!first)
            pv_text_say(out, "; and ");
        pv_text_add(out, "%s", said[i]);
        first = false;
    }
    pv_text_drop(&reference);
}

void pv_remedy_need(pv_text *out, const pv_value *value)
{
    const pv_kind_info shown = pv_value_shown(value), *kind = &shown;
    if (value->remedy == 0 || !(value->U_needed > 0))
        return;
    const pv_digits needed = pv_fixed(kind->factor * value->U_needed, kind->decimals);
    const pv_digits U = pv_fixed(kind->factor * value->U, kind->decimals);
    if (value->remedy & PV_REMEDY_PRINT)
        pv_text_say(out, "it lies within %s %s of its limit", needed.chars, kind->unit);
    else if (value->U_needed < NEAR * value->U)
        pv_text_say(out, "it lies within %s %s of its limit; U (%s) is too large to tell",
                    needed.chars, kind->unit, U.chars);
    else if (strcmp(U.chars, needed.chars) == 0)
        pv_text_say(out, "U must fall a little below %s %s", U.chars, kind->unit);
    else
        pv_text_say(out, "U must fall from %s to %s %s", U.chars, needed.chars, kind->unit);
}
