#include "judge/remedy.h"

#include "base/vec.h"

/* What a careful user reaches; estimates all of them. */
#define BEST_REFERENCE 0.0003 /* relative, k = 2: a scanner checked against a long steel rule */
#define BEST_GRID      0.001  /* mm, at that resolution, in gray */
#define BEST_TONE      0.003  /* mm, alike */
#define BEST_SCATTER   0.7    /* of what it is, by less noise: the print's own raggedness stays */
#define BEST_MAP       0.5    /* of what it is, by a flat sheet seen straight */

static double dpi_of(const pv_inspection *in)
{
    return fmin(in->measured_resolution[0], in->measured_resolution[1]) * PV_MM_PER_IN;
}

/* What is left of a part after its remedy. */
static double reachable(const pv_inspection *in, pv_contribution part, double u)
{
    double finer = fmin(1, dpi_of(in) / PV_BEST_DPI);
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
        return in->reference_U_rel > BEST_REFERENCE ? u * BEST_REFERENCE / in->reference_U_rel : u;
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
            return PV_REMEDY_PRINT;
        variance -= gain[best];
        gain[best] = 0;
        remedy |= remedy_of((pv_contribution)best);
    }
    return remedy;
}

void pv_remedy_find(const pv_inspection *in, pv_value_kind kind, pv_value *value, double nominal,
                    bool partly)
{
    bool of_sheet = kind == PV_KIND_SCALE || kind == PV_KIND_SKEW;
    bool relative = in->reference == PV_REFERENCE_NONE && kind != PV_KIND_STRAIGHT;
    value->remedy = 0;
    value->U_needed = 0;
    if (value->verdict != PV_UNDECIDED)
        return;
    if (partly)
        value->remedy = PV_REMEDY_SIGHT;
    else if (!value->measured)
        value->remedy = of_sheet ? PV_REMEDY_REFERENCE : PV_REMEDY_SIGHT;
    else if (relative && kind != PV_KIND_SKEW)
        value->remedy = PV_REMEDY_REFERENCE;
    if (value->remedy != 0)
        return;
    value->U_needed = fabs(value->tolerance - fabs(value->value - nominal));
    value->remedy = choose(in, value);
}

/* ---- in words ---- */

static bool has_card(const pv_inspection *in)
{
    for (size_t i = 0; i < in->n_references; i++)
        if (in->references[i].kind == PV_REFERENCE_CARD)
            return true;
    return false;
}

static const char *reference_advice(const pv_inspection *in)
{
    if (in->photograph && !has_card(in))
        return "lay a bank card (ISO/IEC 7810 ID-1) beside the sheet or on it, or measure the "
               "longest scale bars with a ruler and give --measured, or scan the sheet";
    if (in->reference == PV_REFERENCE_NONE)
        return "scan it with the resolution kept in the file, or measure a scale bar with a ruler "
               "and give --measured";
    if (in->reference == PV_REFERENCE_SCANNER)
        return "find out how far the scanner is off from a scan of a known length and give "
               "--scanner, or measure the longest scale bars with a ruler and give --measured";
    if (in->photograph)
        return "measure the longest scale bars with a ruler and give --measured, or scan the sheet";
    return "measure the longest scale bars with a ruler and give --measured, or give --scanner "
           "from a scan of a known length";
}

static const char *image_advice(const pv_inspection *in)
{
    if (in->photograph)
        return "scan it at 600 dpi, or photograph it nearer, so that it fills the picture";
    if (dpi_of(in) < PV_BEST_DPI)
        return "scan it at 600 dpi, in gray or colour, without sharpening";
    return "scan it in gray or colour, without sharpening";
}

void pv_remedy_advice(pv_text *out, const pv_inspection *in, unsigned remedy)
{
    const char *const said[] = {
        remedy & PV_REMEDY_SIGHT ? "uncover its edges: faded, or is something lying on them?"
                                 : NULL,
        remedy & PV_REMEDY_REFERENCE ? reference_advice(in) : NULL,
        remedy & PV_REMEDY_IMAGE ? image_advice(in) : NULL,
        remedy & PV_REMEDY_FLAT
            ? (in->photograph ? "lay it flat and photograph it from straight above"
                              : "press it flat under the lid")
            : NULL,
        remedy & PV_REMEDY_PRINT
            ? "no measurement of this kind decides so near to a limit: print it again"
            : NULL};
    bool first = true;
    for (size_t i = 0; i < sizeof said / sizeof *said; i++) {
        if (said[i] == NULL)
            continue;
        pv_text_add(out, "%s%s", first ? "" : "; and ", said[i]);
        first = false;
    }
}

pv_unit_text pv_unit_of(pv_value_kind kind)
{
    if (kind == PV_KIND_SCALE)
        return (pv_unit_text){"%", 100, 3};
    if (kind == PV_KIND_SKEW)
        return (pv_unit_text){"mrad", 1, 3};
    return (pv_unit_text){"mm", 1, 3};
}

void pv_remedy_need(pv_text *out, const pv_judged *judged)
{
    const pv_value *value = judged->value;
    pv_unit_text unit = pv_unit_of(judged->kind);
    if (value->remedy == 0 || !(value->U_needed > 0))
        return;
    const pv_digits needed = pv_fixed(unit.factor * value->U_needed, unit.decimals);
    if (value->remedy & PV_REMEDY_PRINT)
        pv_text_add(out, "it lies within %s %s of its limit", needed.chars, unit.name);
    else
        pv_text_add(out, "U must fall from %s to %s %s",
                    pv_fixed(unit.factor * value->U, unit.decimals).chars, needed.chars, unit.name);
}
