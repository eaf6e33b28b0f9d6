/* What a mat takes, before anyone prints it. */
#include "base/memory.h"
#include "course/regions.h"
#include "plan/layout.h"

#include <stdlib.h>
#include <string.h>

/* Rules of thumb for one person with a knife and a steel ruler. Estimates. */
#define MINUTES_A_SHEET   1.0 /* sorting, turning, lining up */
#define MINUTES_A_CUT_M   1.5
#define MINUTES_A_TAPED_M 2.0

#define MM2_PER_M2 1e6
#define MM_PER_M   1e3

#define BLACK 3 /* in pv_takeoff's ink */

typedef struct takeoff {
    pv_takeoff whole; /* what is handed out */
    pv_colour_info *colours;
    size_t n_colours;
} takeoff;

/* With the border, through which cuts and seams run out. */
static double side_length(const pv_plan *plan, const pv_sheet *sheet, pv_side side)
{
    pv_box box = pv_sheet_trim_box(plan, sheet);
    return side == PV_LEFT || side == PV_RIGHT ? box.hi.y - box.lo.y : box.hi.x - box.lo.x;
}

void pv_plan_work(const pv_plan *plan, pv_takeoff *out)
{
    for (size_t i = 0; i < plan->n_sheets; i++)
        for (pv_side side = PV_LEFT; side <= PV_TOP; side++) {
            const pv_sheet *sheet = &plan->sheets[i];
            double length = side_length(plan, sheet, side) / MM_PER_M;
            if (sheet->side[side] != PV_UNDER)
                out->cut += length;
            /* Each seam once, from its left or lower sheet. */
            if (sheet->side[side] != PV_OUTER && (side == PV_RIGHT || side == PV_TOP))
                out->tape += length;
        }
    out->minutes = MINUTES_A_SHEET * (double)plan->n_sheets + MINUTES_A_CUT_M * out->cut +
                   MINUTES_A_TAPED_M * out->tape;
}

static void count_paper(const pv_plan *plan, pv_takeoff *out)
{
    double printed = 0;
    for (size_t i = 0; i < plan->n_sheets; i++) {
        pv_box box = pv_sheet_art_box(plan, &plan->sheets[i]);
        printed += (box.hi.x - box.lo.x) * (box.hi.y - box.lo.y);
    }
    out->sheets = plan->n_sheets;
    out->paper = plan->page[0] * plan->page[1] * (double)plan->n_sheets / MM2_PER_M2;
    out->mass = out->paper * out->weight / 1000;
    out->printed = printed / (plan->art.size.x * plan->art.size.y);
}

static void count_ink(const pv_art *art, const double *area, pv_takeoff *out)
{
    double mat = art->size.x * art->size.y;
    for (size_t i = 0; i < art->n_colours; i++) {
        double c[3], black = 1, share = area[i] / mat;
        for (int k = 0; k < 3; k++) {
            c[k] = 1 - art->colours[i].rgb[k] / 255.0;
            black = fmin(black, c[k]);
        }
        for (int k = 0; k < 3; k++)
            out->ink[k] += share * (c[k] - black);
        out->ink[BLACK] += share * black;
    }
}

static bool fill(takeoff *t, const pv_plan *plan, double *area, pv_diags *diags)
{
    const pv_art *art = &plan->art;
    pv_plan_work(plan, &t->whole);
    count_paper(plan, &t->whole);
    if (!pv_scene_painted(plan->mat, area, diags))
        return false;
    count_ink(art, area, &t->whole);
    t->n_colours = art->n_colours;
    for (size_t i = 0; i < art->n_colours; i++) {
        t->colours[i] = (pv_colour_info){.name = art->colours[i].name, .area = area[i]};
        memcpy(t->colours[i].rgb, art->colours[i].rgb, sizeof t->colours[i].rgb);
    }
    return true;
}

pv_takeoff *pv_takeoff_make(const pv_plan *plan, double weight, pv_diags *diags)
{
    if (!(weight >= PV_PAPER_WEIGHT_MIN && weight <= PV_PAPER_WEIGHT_MAX)) {
        pv_fail(diags, PV_CAUSE_USAGE, "paper weight must be from %g to %g g/m2",
                PV_PAPER_WEIGHT_MIN, PV_PAPER_WEIGHT_MAX);
        return NULL;
    }
    takeoff *t = PV_NEW(takeoff);
    double *area = PV_NEW_ARRAY(plan->art.n_colours, double);
    bool good = t != NULL && area != NULL;
    if (good) {
        t->whole.weight = weight;
        t->colours = PV_NEW_ARRAY(plan->art.n_colours, pv_colour_info);
        good = t->colours != NULL;
    }
    if (!good)
        pv_fail_memory(diags);
    good = good && fill(t, plan, area, diags);
    free(area);
    if (good)
        return &t->whole;
    if (t != NULL)
        pv_takeoff_free(&t->whole);
    return NULL;
}

void pv_takeoff_free(pv_takeoff *whole)
{
    takeoff *t = (takeoff *)whole;
    if (t != NULL)
        free(t->colours);
    free(t);
}

const pv_colour_info *pv_takeoff_colour(const pv_takeoff *whole, size_t index)
{
    const takeoff *t = (const takeoff *)whole;
    return index < t->n_colours ? &t->colours[index] : NULL;
}
