#include "plan/takeoff.h"

#include "base/memory.h"
#include "course/regions.h"

#include <stdlib.h>

#define MM2_PER_M2 1e6
#define MM_PER_M   1e3

/* With the border, through which cuts and seams run out. */
static double side_length(const pv_plan *plan, const pv_sheet *sheet, pv_side side)
{
    pv_box box = pv_sheet_trim_box(plan, sheet);
    return side == PV_LEFT || side == PV_RIGHT ? box.hi.y - box.lo.y : box.hi.x - box.lo.x;
}

static void count_work(const pv_plan *plan, pv_takeoff *out)
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
    out->minutes = PV_MINUTES_A_SHEET * (double)plan->n_sheets + PV_MINUTES_A_CUT_M * out->cut +
                   PV_MINUTES_A_TAPED_M * out->tape;
}

static void count_paper(const pv_plan *plan, double weight, pv_takeoff *out)
{
    double printed = 0;
    for (size_t i = 0; i < plan->n_sheets; i++) {
        pv_box box = pv_sheet_art_box(plan, &plan->sheets[i]);
        printed += (box.hi.x - box.lo.x) * (box.hi.y - box.lo.y);
    }
    out->sheets = plan->n_sheets;
    out->paper = plan->page[0] * plan->page[1] * (double)plan->n_sheets / MM2_PER_M2;
    out->mass = out->paper * weight / 1000;
    out->printed = printed / (plan->art.size.x * plan->art.size.y);
}

static void count_ink(const pv_art *art, pv_takeoff *out)
{
    double mat = art->size.x * art->size.y;
    for (size_t i = 0; i < art->n_colours; i++) {
        double c[3], black = 1, share = out->area[i] / mat;
        for (int k = 0; k < 3; k++) {
            c[k] = 1 - art->colours[i].rgb[k] / 255.0;
            black = fmin(black, c[k]);
        }
        for (int k = 0; k < 3; k++)
            out->ink[k] += share * (c[k] - black);
        out->ink[PV_BLACK] += share * black;
    }
}

bool pv_takeoff_make(const pv_plan *plan, double paper_weight, pv_takeoff *out, pv_diags *diags)
{
    *out = (pv_takeoff){0};
    out->area = PV_NEW_ARRAY(plan->art.n_colours, double);
    if (out->area == NULL) {
        pv_fail_memory(diags);
        return false;
    }
    count_work(plan, out);
    count_paper(plan, paper_weight, out);
    if (!pv_scene_painted(plan->mat, out->area, diags))
        return false;
    count_ink(&plan->art, out);
    return true;
}

void pv_takeoff_drop(pv_takeoff *takeoff)
{
    free(takeoff->area);
    *takeoff = (pv_takeoff){0};
}
