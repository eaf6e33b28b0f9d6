#include "judge/remedy.h"

#include "base/vec.h"

#include <string.h>

/* What a careful user reaches. Assumed, all of them. */
#define BEST_REFERENCE 0.0003 /* relative, k = 2: a scanner checked against a long steel rule */
#define BEST_GRID      0.001  /* mm, at that resolution, in gray */
#define BEST_TONE      0.003  /* mm, alike */
#define BEST_SCATTER   0.7    /* of what it is, by less noise: the print's own raggedness stays */
#define BEST_MAP       0.5    /* of what it is, by a flat sheet seen straight */

/* Times as uncertain as the best reference: from there on one counts as coarse (assumed). */
#define COARSE 2.0
/* Share of U: the report says so of a value closer to its limit than this. */
#define NEAR 0.15

/* mm, k = 2: the finest reading of a bar that anybody can make, and the coarsest that is worth
 * asking for (assumed). */
#define READING_LEAST 0.1
#define READING_MOST  1.0

/* What is left of a part after its remedy. */
static double reachable(const pv_inspection *in, pv_contribution part, double u)
{
    double finer = fmin(1, pv_inspection_dpi(in) / PV_BEST_DPI);
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
        return in->sheet.reference_U_rel > BEST_REFERENCE
                   ? u * BEST_REFERENCE / in->sheet.reference_U_rel
                   : u;
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

/* ---- in words ---- */

static bool has_card(const pv_inspection *in)
{
    for (size_t i = 0; i < in->n_references; i++)
        if (in->references[i].kind == PV_REFERENCE_CARD && !in->references[i].unused)
            return true;
    return false;
}

/* mm to which the bars must be read, k = 2, for the scales to be decided: by what U they need, or
 * where they aren't known by their whole tolerance; infinite where nothing tells. */
static double reading_U(const pv_inspection *in)
{
    double U = HUGE_VAL;
    for (size_t k = 0; k < 2; k++) {
        const pv_value *scale = pv_inspection_find(in, PV_KIND_SCALE, k);
        if (!(in->sheet.bar[k] > 0) || scale == NULL)
            continue;
        if (scale->U_needed > 0)
            U = fmin(U, scale->U_needed * in->sheet.bar[k]);
        else if (!scale->measured && scale->tolerance > 0)
            U = fmin(U, scale->tolerance * in->sheet.bar[k]);
    }
    return U;
}

static void add_bars(pv_text *out, const pv_inspection *in)
{
    const double *bar = in->sheet.bar;
    double U = reading_U(in);
    pv_text_add(out, "measure ");
    if (bar[0] > 0)
        pv_text_add(out, "the %s mm bar across", pv_fixed(bar[0], 0).chars);
    if (bar[1] > 0)
        pv_text_add(out, "%sthe %s mm bar up", bar[0] > 0 ? " and " : "",
                    pv_fixed(bar[1], 0).chars);
    pv_text_add(out, " with a ruler");
    if (U <= READING_MOST)
        pv_text_add(out, ", each to \xC2\xB1%s mm or better,", pv_fixed(U, 2).chars);
    pv_text_add(out, " and give --measured");
}

static void reference_advice(pv_text *out, const pv_inspection *in)
{
    bool has_bar = in->sheet.bar[0] > 0 || in->sheet.bar[1] > 0;
    bool by_ruler = has_bar && !(reading_U(in) < READING_LEAST);
    bool scanner = in->sheet.reference == PV_REFERENCE_SCANNER;
    const char *joint = "";
    if (in->sheet.photograph && !has_card(in)) {
        pv_text_add(out, "lay a bank card (ISO/IEC 7810 ID-1) beside the sheet or on it");
        joint = ", or ";
    } else if (in->sheet.reference == PV_REFERENCE_NONE && !in->sheet.photograph &&
               !in->sheet.disagree) {
        pv_text_add(out, "scan it so that the file keeps its resolution");
        joint = ", or ";
    } else if (scanner && in->sheet.scanner == PV_SCANNER_UNKNOWN) {
        pv_text_add(out, "scan it on a flatbed and say so with --scanner flatbed");
        joint = ", or ";
    } else if (scanner) {
        pv_text_add(out, "calibrate the scanner (pavior calibrate --scanner) and give --scanner");
        joint = ", or ";
    }
    if (by_ruler) {
        pv_text_add(out, "%s", joint);
        add_bars(out, in);
        joint = ", or ";
    }
    if (in->sheet.photograph)
        pv_text_add(out, "%sscan the sheet", joint);
    else if (!scanner && in->sheet.reference != PV_REFERENCE_NONE)
        pv_text_add(out, "%scalibrate the scanner (pavior calibrate --scanner) and give --scanner",
                    joint);
}

static const char *image_advice(const pv_inspection *in)
{
    if (in->sheet.photograph)
        return "scan it at 600 dpi, or photograph it from closer so that it fills the picture";
    if (pv_inspection_dpi(in) < PV_BEST_DPI)
        return "scan it at 600 dpi, in grey or colour, without sharpening";
    return "scan it in grey or colour, without sharpening";
}

void pv_remedy_advice(pv_text *out, const pv_inspection *in, unsigned remedy)
{
    pv_text reference = PV_TEXT_INIT;
    if (remedy & PV_REMEDY_REFERENCE)
        reference_advice(&reference, in);
    out->failed = out->failed || reference.failed;
    const char *const said[] = {
        remedy & PV_REMEDY_SIGHT ? "check its edges: are they faded or covered?" : NULL,
        remedy & PV_REMEDY_REFERENCE ? reference.chars : NULL,
        remedy & PV_REMEDY_IMAGE ? image_advice(in) : NULL,
        remedy & PV_REMEDY_FLAT
            ? (in->sheet.photograph ? "lay it flat and photograph it from straight above"
                                    : "press it flat under the lid")
            : NULL,
        remedy & PV_REMEDY_PRINT
            ? "no measurement can decide a value so close to its limit: reprint the sheet"
            : NULL};
    bool first = true;
    for (size_t i = 0; i < sizeof said / sizeof *said; i++) {
        if (said[i] == NULL)
            continue;
        pv_text_add(out, "%s%s", first ? "" : "; and ", said[i]);
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
        pv_text_add(out, "it lies within %s %s of its limit", needed.chars, kind->unit);
    else if (value->U_needed < NEAR * value->U)
        pv_text_add(out, "it lies within %s %s of its limit; U (%s) is too large to tell",
                    needed.chars, kind->unit, U.chars);
    else if (strcmp(U.chars, needed.chars) == 0)
        pv_text_add(out, "U must fall a little below %s %s", U.chars, kind->unit);
    else
        pv_text_add(out, "U must fall from %s to %s %s", U.chars, needed.chars, kind->unit);
}
