/* What each seam costs and why it lies where it does, for people. */
#include "base/memory.h"
#include "base/text.h"
#include "plan/division.h"
#include "plan/lattice.h"
#include "plan/make.h"

#include <stdlib.h>

/* One way to place the seams. By direction: 0 for upright seams, by column from the left; 1 for
 * those across, by row from the bottom. */
typedef struct places {
    double *at[2]; /* n + 1 of each */
    pv_cost *cost[2];
    double sum;
} places;

typedef struct explainer {
    pv_cost_axis *axis[2];
    size_t n[2];
    double length[2], most[2];
    places chosen, even;
    pv_text out;
} explainer;

static const char *const term_words[PV_COST_TERMS] = {
    "along the edge of",
    "along the inside of",
    "through or close to a mark,",
    "through the finish region",
    "through the text",
    "along the route, or across it at a shallow angle",
    "corners of four sheets on",
    "cells as narrow as a sliver",
};

/* ---- costs ---- */

static bool count_corners(explainer *e, places *p)
{
    for (size_t k = 1; k < e->n[0]; k++) {
        const pv_cost_span *spans = NULL;
        size_t n = 0;
        if (!pv_cost_paint(e->axis[0], p->at[0][k], &spans, &n))
            return false;
        pv_cost *cost = &p->cost[0][k];
        for (size_t i = 1; i < e->n[1]; i++)
            for (size_t s = 0; s < n; s++)
                if (p->at[1][i] >= spans[s].lo && p->at[1][i] <= spans[s].hi) {
                    cost->tenths[PV_COST_CORNER] += pv_cost_tenths(PV_COST_CORNER_EACH);
                    cost->count[PV_COST_CORNER]++;
                    cost->most[PV_COST_CORNER] = spans[s].id;
                    break;
                }
    }
    return true;
}

/* Cell k's is counted with the seam on its right or upper side; the last with the mat's edge. */
static void count_slivers(const explainer *e, places *p, int d)
{
    double even = e->length[d] / (double)e->n[d];
    for (size_t k = 1; k <= e->n[d]; k++) {
        int64_t tenths = pv_cell_cost(p->at[d][k] - p->at[d][k - 1], even);
        p->cost[d][k].tenths[PV_COST_SLIVER] = tenths;
        p->cost[d][k].count[PV_COST_SLIVER] = tenths > 0;
    }
}

static bool find_costs(explainer *e, places *p)
{
    for (int d = 0; d < 2; d++) {
        for (size_t k = 1; k < e->n[d]; k++) {
            if (!pv_cost_axis_near(e->axis[d], p->at[d][k], p->at[d][k]))
                return false;
            pv_cost_at(e->axis[d], p->at[d][k], &p->cost[d][k]);
        }
        count_slivers(e, p, d);
    }
    if (!count_corners(e, p))
        return false;
    int64_t sum = 0;
    for (int d = 0; d < 2; d++)
        for (size_t k = 1; k <= e->n[d]; k++)
            sum += pv_cost_sum(&p->cost[d][k]);
    p->sum = (double)sum / PV_COST_TENTHS;
    return true;
}

/* ---- words ---- */

static double units(int64_t tenths)
{
    return (double)tenths / PV_COST_TENTHS;
}

static void say_terms(explainer *e, const pv_cost *cost)
{
    for (int t = 0; t < PV_COST_TERMS; t++) {
        if (cost->tenths[t] == 0)
            continue;
        pv_text_add(&e->out, "            %8.1f  %s", units(cost->tenths[t]), term_words[t]);
        bool named = t != PV_COST_ROUTE && t != PV_COST_FINISH && cost->most[t] != NULL;
        if (named)
            pv_text_add(&e->out, t == PV_COST_TEXT ? " \"%s\"" : " %s", cost->most[t]);
        if (cost->count[t] > 1)
            pv_text_add(&e->out, ", %zu times", cost->count[t]);
        if (cost->mm[t] > 0 && t != PV_COST_MARK)
            pv_text_add(&e->out, " (%.0f mm)", cost->mm[t]);
        pv_text_add(&e->out, "\n");
    }
}

static void say_seam(explainer *e, int d, size_t k)
{
    double at = e->chosen.at[d][k], even = e->even.at[d][k], off = at - even;
    const pv_cost *own = &e->chosen.cost[d][k], *other = &e->even.cost[d][k];
    bool moved = fabs(off) > 1e-6;
    double here = units(pv_cost_sum(own)), there = units(pv_cost_sum(other));
    pv_text_add(&e->out, "  %s %-3zu %8.1f mm: costs %.1f", d == 0 ? "x" : "y", k, at, here);
    if (!moved) {
        pv_text_add(&e->out, "; evenly spaced%s\n",
                    here > 0 ? ", because no other place lowers the total cost" : "");
        say_terms(e, own);
        return;
    }
    pv_text_add(&e->out, "; %.1f mm %s than evenly spaced", fabs(off),
                d == 0 ? (off < 0 ? "farther left" : "farther right")
                       : (off < 0 ? "lower" : "higher"));
    pv_text_add(&e->out,
                there > here    ? ", which would cost %.1f:\n"
                : there == here ? ", which would cost as much: this makes room for other seams\n"
                                : ", which would cost %.1f: this lets other seams cost less\n",
                there);
    say_terms(e, own);
    if (there > here) {
        if (here > 0)
            pv_text_add(&e->out, "            instead of\n");
        say_terms(e, other);
    }
}

static void say_slack(explainer *e, int d)
{
    double even = e->length[d] / (double)e->n[d];
    pv_text_add(&e->out,
                "%s: %zu cells of %.1f mm if evenly spaced; the paper holds up to %.1f mm\n",
                d == 0 ? "upright seams, from the left" : "seams across, from the bottom", e->n[d],
                even, e->most[d]);
}

/* What was proven: that no choice costs less. Crosses are no part of the cost. */
static void say_proof(explainer *e, double gap, size_t blind)
{
    if (gap > 0)
        pv_text_add(&e->out, "no choice costs less than %.1f; one between the two may exist\n",
                    e->chosen.sum - gap);
    else
        pv_text_add(&e->out, "no choice costs less\n");
    if (blind > 0)
        pv_text_add(&e->out,
                    "%zu stretch%s of seam between two corners %s no room for alignment crosses on "
                    "plain colour; a choice with fewer may exist\n",
                    blind, blind == 1 ? "" : "es", blind == 1 ? "has" : "have");
}

static void say_all(explainer *e, double gap, size_t blind)
{
    if (e->n[0] < 2 && e->n[1] < 2) {
        pv_text_add(&e->out, "The mat is in one piece, without seams.\n");
        return;
    }
    pv_text_add(&e->out,
                "What the seams cost, in mm of seam along a line's edge (docs/how/seams.md)\n");
    for (int d = 0; d < 2; d++) {
        if (e->n[d] < 2)
            continue;
        say_slack(e, d);
        for (size_t k = 1; k < e->n[d]; k++)
            say_seam(e, d, k);
    }
    pv_text_add(&e->out, "all seams cost %.1f; evenly spaced they would cost %.1f\n", e->chosen.sum,
                e->even.sum);
    say_proof(e, gap, blind);
}

/* ---- all together ---- */

static bool make_room(explainer *e, places *p)
{
    bool good = true;
    for (int d = 0; d < 2; d++) {
        p->at[d] = PV_NEW_ARRAY(e->n[d] + 1, double);
        p->cost[d] = PV_NEW_ARRAY(e->n[d] + 1, pv_cost);
        good = good && p->at[d] != NULL && p->cost[d] != NULL;
    }
    return good;
}

static void read_places(explainer *e, const pv_plan *plan)
{
    for (int d = 0; d < 2; d++)
        for (size_t k = 0; k <= e->n[d]; k++)
            e->even.at[d][k] = e->length[d] * (double)k / (double)e->n[d];
    for (size_t c = 0; c < e->n[0]; c++)
        e->chosen.at[0][c + 1] = plan->sheets[c].cell.hi.x;
    for (size_t r = 0; r < e->n[1]; r++)
        e->chosen.at[1][e->n[1] - r] = plan->sheets[r * plan->columns].cell.hi.y;
}

/* On how many stretches the rules of crosses can't be kept. */
static bool count_blind(const pv_plan *plan, size_t *blind)
{
    pv_look look = {0};
    bool good = true;
    *blind = 0;
    for (size_t i = 0; i < plan->n_seams && good; i++) {
        const pv_seam *seam = &plan->seams[i];
        pv_stretch stretch = {seam->vertical, seam->at, seam->from, seam->to};
        bool possible = true;
        good = pv_crosses_possible(plan->mat, &stretch, &look, &possible);
        *blind += !possible;
    }
    pv_look_drop(&look);
    return good;
}

static bool explain(explainer *e, const pv_regard *regard, const pv_plan *plan)
{
    if (!make_room(e, &e->chosen) || !make_room(e, &e->even))
        return false;
    read_places(e, plan);
    for (int d = 0; d < 2; d++) {
        e->axis[d] = pv_cost_axis_new(regard, d == 0);
        if (e->axis[d] == NULL)
            return false;
    }
    if (!find_costs(e, &e->chosen) || !find_costs(e, &e->even))
        return false;
    size_t blind;
    if (!count_blind(plan, &blind))
        return false;
    say_all(e, plan->seams_gap, blind);
    return !e->out.failed;
}

char *pv_plan_explain(const pv_plan *plan, const pv_course *course, pv_diags *diags)
{
    pv_regard regard = pv_regard_of(course);
    explainer e = {.n = {plan->columns, plan->rows}, .out = PV_TEXT_INIT};
    e.length[0] = plan->art.size.x;
    e.length[1] = plan->art.size.y;
    pv_plan_largest_cell(plan, e.most);
    char *text = NULL;
    if (explain(&e, &regard, plan))
        text = pv_text_take(&e.out);
    if (text == NULL)
        pv_fail_memory(diags);
    pv_text_drop(&e.out);
    for (int d = 0; d < 2; d++) {
        pv_cost_axis_free(e.axis[d]);
        free(e.chosen.at[d]);
        free(e.chosen.cost[d]);
        free(e.even.at[d]);
        free(e.even.cost[d]);
    }
    return text;
}
