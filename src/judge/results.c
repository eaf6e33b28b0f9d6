#include "judge/results.h"

#include "base/memory.h"
#include "judge/gum.h"
#include "judge/judge.h"
#include "judge/marks.h"
#include "judge/remedy.h"
#include "measure/station.h"

#include <math.h>
#include <stdlib.h>

/* ---- one value ---- */

void pv_value_judge(pv_value *row)
{
    row->probability = NAN;
    row->verdict = PV_UNDECIDED;
    if (!row->measured)
        return;
    pv_component parts[PV_PARTS];
    for (int i = 0; i < PV_PARTS; i++) {
        bool limited = i == PV_PART_SCATTER && row->freedom > 0;
        parts[i] = (pv_component){row->part[i], limited ? row->freedom : HUGE_VAL};
    }
    row->u = pv_combine_parts(parts, PV_PARTS, &row->freedom);
    row->k = pv_student_t(PV_COVERAGE, row->freedom);
    row->U = row->k * row->u;
    double error = row->value - row->nominal;
    row->probability = pv_conformance(error, row->u, row->freedom, -row->tolerance, row->tolerance);
    row->verdict = pv_judge(error, row->U, row->tolerance);
}

static double tolerance_of(const pv_tolerances *tolerances, pv_value_kind kind)
{
    switch (kind) {
    case PV_KIND_SCALE:
        return tolerances->scale;
    case PV_KIND_SKEW:
        return tolerances->skew;
    case PV_KIND_WIDTH:
        return tolerances->width;
    case PV_KIND_STRAIGHT:
        return tolerances->straight;
    case PV_KIND_SPACING:
        return tolerances->spacing;
    default:
        return 0;
    }
}

static void judge_row(const pv_inspection *in, const pv_tolerances *tolerances, pv_value *row)
{
    const pv_kind_info *kind = pv_kind_of(row->kind);
    row->inches = in->sheet.inches;
    if (kind->judged)
        row->tolerance = tolerance_of(tolerances, row->kind);
    pv_value_judge(row);
    bool relative = kind->length && in->sheet.reference == PV_REFERENCE_NONE;
    if (relative || !kind->judged) { /* a relative length proves nothing */
        row->verdict = PV_UNDECIDED;
        row->probability = NAN;
    }
    if (!kind->judged)
        return;
    /* A line that is nowhere to be seen by the plan says nothing; its straightness only what was
     * seen of it. */
    bool of_line = kind->of == PV_OF_LINE, partly = of_line && 2 * row->places < row->planned;
    if (partly && row->kind == PV_KIND_WIDTH)
        row->verdict = PV_UNDECIDED;
    row->counts = !of_line || (row->planned > 0 && (row->measured || row->kind == PV_KIND_WIDTH));
    if (!of_line || row->planned > 0)
        pv_remedy_find(in, row, partly);
}

/* ---- what withholds a verdict ---- */

static bool broken_too_much(const pv_inspection *in, const pv_value *row)
{
    const pv_line_result *line = &in->table.lines[row->subject];
    return row->value > PV_BROKEN_BOUND * line->looked || line->longest_break > PV_BREAK_BOUND;
}

bool pv_value_withholds(const pv_inspection *in, const pv_value *row)
{
    if (row->kind == PV_KIND_STRENGTH && in->table.fills[row->subject].whitened)
        return true;
    if (row->kind == PV_KIND_MISSING)
        return row->measured && row->value >= PV_MISSING_BOUND;
    return row->kind == PV_KIND_BREAKS && row->places > 0 && broken_too_much(in, row);
}

bool pv_no_line_measured(const pv_inspection *in)
{
    size_t planned = 0;
    for (size_t i = 0; i < in->table.n_lines; i++)
        planned += in->table.lines[i].planned;
    return in->table.n_lines > 0 && planned == 0;
}

bool pv_line_too_thin(double width, double px_per_mm)
{
    double near, far;
    return !pv_plateaus(width, px_per_mm, 0, &near, &far);
}

bool pv_finer_shows(const pv_line_result *line)
{
    return line->too_thin && !pv_line_too_thin(line->nominal, PV_BEST_DPI / PV_MM_PER_IN);
}

/* ---- the whole ---- */

/* How probable a reading that far out or farther is, of a value right on its limit. */
static double chance_of(const pv_value *row)
{
    double beyond = fabs(row->value - row->nominal) - row->tolerance;
    return row->u > 0 ? pv_student_cdf(-beyond / row->u, row->freedom) : 0;
}

bool pv_results_of_kind(const pv_inspection *in, pv_value_kind kind, pv_kind_result *out)
{
    *out = (pv_kind_result){.verdict = PV_CONFORMS};
    double *chance = PV_NEW_ARRAY(in->table.n_values, double);
    if (chance == NULL)
        return false;
    for (size_t i = 0; i < in->table.n_values; i++) {
        const pv_value *row = &in->table.values[i];
        if (row->kind != kind || !row->counts)
            continue;
        out->n += row->measured;
        if (row->verdict == PV_DOES_NOT_CONFORM)
            chance[out->outside++] = chance_of(row);
        else
            out->verdict = pv_judge_worse(out->verdict, row->verdict);
    }
    if (out->outside > 0)
        out->verdict =
            pv_judge_many(chance, out->outside, out->n) ? PV_DOES_NOT_CONFORM : PV_UNDECIDED;
    free(chance);
    return true;
}

bool pv_results_judge(pv_inspection *in, const pv_tolerances *tolerances)
{
    pv_measures *table = &in->table;
    const double *px = in->sheet.measured_resolution;
    for (size_t i = 0; i < table->n_lines; i++)
        table->lines[i].too_thin = table->lines[i].planned == 0 &&
                                   pv_line_too_thin(table->lines[i].nominal, fmin(px[0], px[1]));
    bool withheld = in->sheet.unpaired > 0 || in->sheet.unsought || in->sheet.hidden ||
                    in->sheet.surface < PV_SURFACE_BOUND;
    for (size_t i = 0; i < table->n_values; i++) {
        judge_row(in, tolerances, &table->values[i]);
        withheld = withheld || pv_value_withholds(in, &table->values[i]);
    }
    in->sheet.verdict = withheld ? PV_UNDECIDED : PV_CONFORMS;
    for (int kind = 0; kind < PV_KINDS; kind++) {
        pv_kind_result one;
        if (!pv_results_of_kind(in, (pv_value_kind)kind, &one))
            return false;
        in->sheet.verdict = pv_judge_worse(in->sheet.verdict, one.verdict);
    }
    pv_verdict marks;
    if (!pv_marks_judge(in, &marks))
        return false;
    in->sheet.verdict = pv_judge_worse(in->sheet.verdict, marks);
    pv_remedy_steps(in);
    return true;
}
