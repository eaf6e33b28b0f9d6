/* Laying the mat on the paper that was asked for: how many sheets of it, and which way round. */
#ifndef PLAN_LAY_H
#define PLAN_LAY_H

#include "plan/laying.h"

/* The ways to lay the mat that take the fewest sheets, into layings[]: one or two, the second upon
 * landscape sheets; where its seams are to go decides between them. `plan` has art, margins, bleed,
 * overlap and border; it gets the paper's name, and on a roll the margins of a page. 0 with a
 * reason where there is no way. */
size_t pv_plan_lay(pv_plan *plan, const pv_layout_options *options, pv_laying layings[2],
                   pv_diags *diags);

#endif
