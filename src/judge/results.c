#include "judge/results.h"
#include "measure/station.h"

#include "base/memory.h"
#include "judge/gum.h"
#include "judge/judge.h"
#include "judge/remedy.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

pv_value pv_value_judged(const pv_quantity *q, double nominal, double tolerance)
{
    pv_value out = {.tolerance = tolerance,
                    .probability = NAN,
                    .verdict = PV_UNDECIDED,
                    .measured = q->measured};
    if (!q->measured)
        return out;
    pv_component parts[PV_PARTS];
    for (int i = 0; i < PV_PARTS; i++) {
        bool limited = i == PV_PART_SCATTER && q->freedom > 0;
        parts[i] = (pv_component){q->part[i], limited ? q->freedom : HUGE_VAL};
    }
    out.value = q->value;
    memcpy(out.part, q->part, sizeof out.part);
    out.u = pv_combine_parts(parts, PV_PARTS, &out.freedom);
    out.k = pv_student_t(PV_COVERAGE, out.freedom);
    out.U = out.k * out.u;
    double error = q->value - nominal;
    out.probability = pv_conformance(error, out.u, out.freedom, -tolerance, tolerance);
    out.verdict = pv_judge(error, out.U, tolerance);
    return out;
}

/* A length: without a reference it is only relative, and proves nothing. */
static pv_value judged_length(const pv_inspection *in, const pv_quantity *q, double nominal,
                              double tolerance)
{
    pv_value out = pv_value_judged(q, nominal, tolerance);
    if (in->reference == PV_REFERENCE_NONE) {
        out.verdict = PV_UNDECIDED;
        out.probability = NAN;
    }
    return out;
}

static void judge_sheet(pv_inspection *in, const pv_tolerances *tolerances, const pv_measures *m)
{
    for (int i = 0; i < 2; i++)
        in->scale[i] = pv_value_judged(&m->scale[i], 1, tolerances->scale);
    in->skew = pv_value_judged(&m->skew, 0, tolerances->skew);
    in->ink = pv_value_judged(&m->ink, 0, 0);
    in->ink.verdict = PV_UNDECIDED; /* nobody asks for it: the widths are judged */
    for (int i = 0; i < 2; i++)
        pv_remedy_find(in, PV_KIND_SCALE, &in->scale[i], 1, false);
    pv_remedy_find(in, PV_KIND_SKEW, &in->skew, 0, false);
    in->turn = m->turn;
}

static bool keep_stations(const pv_measures *m, const pv_line_measure *from, pv_line_result *to)
{
    to->station = PV_NEW_ARRAY(from->stations, pv_station_result);
    if (to->station == NULL)
        return false;
    for (size_t i = 0; i < from->stations; i++)
        to->station[i] = m->stations[from->first + i];
    return true;
}

bool pv_no_line_measured(const pv_inspection *in)
{
    size_t planned = 0;
    for (size_t i = 0; i < in->n_lines; i++)
        planned += in->lines[i].planned;
    return in->n_lines > 0 && planned == 0;
}

bool pv_line_too_thin(double width, double px_per_mm)
{
    double near, far;
    return !pv_plateaus(width, px_per_mm, 0, &near, &far);
}

static bool judge_lines(pv_inspection *in, const pv_art *art, const pv_measures *m)
{
    double px = fmin(in->measured_resolution[0], in->measured_resolution[1]);
    in->lines = PV_NEW_ARRAY(m->n_lines, pv_line_result);
    if (in->lines == NULL)
        return false;
    for (size_t i = 0; i < m->n_lines; i++) {
        const pv_line_measure *from = &m->lines[i];
        const pv_line *line = &art->lines[from->line];
        pv_line_result *to = &in->lines[in->n_lines++];
        to->id = pv_copy_text(line->id);
        if (to->id == NULL)
            return false;
        to->nominal = line->width;
        to->width = judged_length(in, &from->width, line->width, art->tolerances.width);
        to->straight = pv_value_judged(&from->straight, 0, art->tolerances.straight);
        to->planned = from->planned;
        to->too_thin = from->planned == 0 && pv_line_too_thin(line->width, px);
        to->stations = from->stations;
        to->shape = from->shape;
        if (!keep_stations(m, from, to))
            return false;
        bool partly = 2 * from->stations < from->planned;
        if (partly)
            to->width.verdict = PV_UNDECIDED;
        if (to->planned == 0)
            continue; /* it counts for nothing */
        pv_remedy_find(in, PV_KIND_WIDTH, &to->width, to->nominal, partly);
        pv_remedy_find(in, PV_KIND_STRAIGHT, &to->straight, 0, partly);
    }
    return true;
}

static bool judge_spacings(pv_inspection *in, const pv_art *art, const pv_measures *m)
{
    in->unpaired = m->runs_left;
    in->spacings = PV_NEW_ARRAY(m->n_spacings, pv_spacing_result);
    if (in->spacings == NULL)
        return false;
    for (size_t i = 0; i < m->n_spacings; i++) {
        const pv_spacing_measure *from = &m->spacings[i];
        pv_spacing_result *to = &in->spacings[in->n_spacings++];
        to->from = pv_copy_text(art->lines[from->from].id);
        to->to = pv_copy_text(art->lines[from->to].id);
        if (to->from == NULL || to->to == NULL)
            return false;
        to->nominal = from->nominal;
        for (int k = 0; k < 2; k++) {
            to->x[k] = from->at[k].x;
            to->y[k] = from->at[k].y;
        }
        to->value = judged_length(in, &from->value, from->nominal, art->tolerances.spacing);
        pv_remedy_find(in, PV_KIND_SPACING, &to->value, to->nominal, false);
    }
    return true;
}

static bool keep_shapes(pv_inspection *in, const pv_measures *m)
{
    in->fills = PV_NEW_ARRAY(m->n_fills, pv_fill_result);
    if (in->fills == NULL)
        return false;
    for (size_t i = 0; i < m->n_fills; i++) {
        pv_fill_result *to = &in->fills[in->n_fills++];
        *to = m->fills[i];
        to->colour = pv_copy_text(m->fills[i].colour);
        if (to->colour == NULL)
            return false;
    }
    in->flaws = PV_NEW_ARRAY(m->n_flaws, pv_flaw);
    if (in->flaws == NULL)
        return false;
    for (size_t i = 0; i < m->n_flaws; i++)
        in->flaws[in->n_flaws++] = m->flaws[i];
    return true;
}

/* ---- what withholds a verdict ---- */

bool pv_line_withholds(const pv_inspection *in, size_t line)
{
    const pv_shape *shape = &in->lines[line].shape;
    if (shape->breaks == 0)
        return false;
    bool many = shape->broken > PV_BROKEN_BOUND * shape->looked;
    for (size_t i = 0; !many && i < in->n_flaws; i++) {
        const pv_flaw *flaw = &in->flaws[i];
        many = flaw->line == line && !flaw->blob && flaw->length > PV_BREAK_BOUND;
    }
    return many;
}

bool pv_shape_withholds(const pv_inspection *in)
{
    for (size_t i = 0; i < in->n_lines; i++)
        if (pv_line_withholds(in, i))
            return true;
    for (size_t i = 0; i < in->n_fills; i++)
        if (in->fills[i].missing >= PV_MISSING_BOUND)
            return true;
    return false;
}

/* ---- the whole ---- */

/* How probable a reading that far out or farther is, of a value right on its limit. */
static double chance_of(const pv_judged *one)
{
    double beyond = fabs(one->value->value - one->nominal) - one->value->tolerance;
    return one->value->u > 0 ? pv_student_cdf(-beyond / one->value->u, one->value->freedom) : 0;
}

bool pv_results_of_kind(const pv_inspection *in, pv_value_kind kind, pv_kind_result *out)
{
    *out = (pv_kind_result){.verdict = PV_CONFORMS};
    size_t all = pv_judged_count(in);
    double *chance = PV_NEW_ARRAY(all, double);
    if (chance == NULL)
        return false;
    for (size_t i = 0; i < all; i++) {
        pv_judged one = pv_judged_at(in, i);
        if (one.kind != kind || !one.counts)
            continue;
        out->n += one.value->measured;
        if (one.value->verdict == PV_DOES_NOT_CONFORM)
            chance[out->outside++] = chance_of(&one);
        else
            out->verdict = pv_judge_worse(out->verdict, one.value->verdict);
    }
    if (out->outside > 0)
        out->verdict =
            pv_judge_many(chance, out->outside, out->n) ? PV_DOES_NOT_CONFORM : PV_UNDECIDED;
    free(chance);
    return true;
}

static bool judge_whole(pv_inspection *in)
{
    in->verdict = PV_CONFORMS;
    for (int kind = 0; kind < PV_KINDS; kind++) {
        pv_kind_result one;
        if (!pv_results_of_kind(in, (pv_value_kind)kind, &one))
            return false;
        in->verdict = pv_judge_worse(in->verdict, one.verdict);
    }
    if (in->unpaired > 0)
        in->verdict = pv_judge_worse(in->verdict, PV_UNDECIDED);
    if (pv_shape_withholds(in))
        in->verdict = pv_judge_worse(in->verdict, PV_UNDECIDED);
    return true;
}

bool pv_results_fill(pv_inspection *in, const pv_art *art, const pv_measures *m)
{
    judge_sheet(in, &art->tolerances, m);
    return judge_lines(in, art, m) && judge_spacings(in, art, m) && keep_shapes(in, m) &&
           judge_whole(in);
}
