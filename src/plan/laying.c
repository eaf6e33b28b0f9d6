#include "plan/laying.h"

double pv_laying_strips(const pv_plan *plan)
{
    return plan->bleed + PV_LABEL_STRIP + plan->overlap;
}

void pv_plan_largest_cell(const pv_plan *plan, double most[2])
{
    pv_box area = pv_plan_printable(plan);
    pv_laying_cells(plan, plan->art.size.x, area.hi.x - area.lo.x, &most[0]);
    pv_laying_cells(plan, plan->art.size.y, area.hi.y - area.lo.y, &most[1]);
}

double pv_laying_cells(const pv_plan *plan, double side, double printable, double *most)
{
    double one = printable - pv_laying_strips(plan) - 2 * plan->border;
    *most = one;
    /* A mat that fits but for rounding fits. */
    if (plan->border == 0 || side <= one + 1e-9)
        return fmax(ceil(side / one - 1e-9), 1);
    *most = one + plan->border;
    return fmax(ceil(side / *most - 1e-9), 2);
}
