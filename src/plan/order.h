/* Which sheet lies over which, and the order of taping (docs/reference/plan-format.md).
 *
 * Sheets are laid one after the other, each over those of its neighbours that lie already. A robot
 * that goes from one sheet to the next steps down where the sheet that it leaves lies over; so that
 * sheet is to be laid later. Where the route asks for a ring of such seams, the lightest seams that
 * break it are given up, and there the robot steps up. Then the sheets are laid in reading order as
 * far as those wishes allow, and as far as paper does: no sheet may come to lie beneath both of its
 * opposite neighbours unless its page has room for two laps, and of four sheets at a corner no two
 * opposite ones may both lie beneath the other two, since the later one's lap would come to lie on
 * the earlier one's finished surface. */
#ifndef PLAN_ORDER_H
#define PLAN_ORDER_H

#include "plan/layout.h"

/* Orders the sheets of a plan, in reading order where the joint is butt, whose grid
 * stands and whose largest cell is `most`: over, under and sides of all seams, and `taping`. False
 * where memory ran out. */
bool pv_plan_order(pv_plan *plan, const double most[2]);

/* `taping` from over and under of a plan that was read, and the sides from them. *ring: no order
 * puts each over sheet after its under sheet. False where memory ran out. */
bool pv_plan_order_from_seams(pv_plan *plan, bool *ring);

/* Sides of all sheets from the seams' over and under, and the joint. */
void pv_plan_set_sides(pv_plan *plan);

/* How much longer than the largest cell a page must be for a sheet that lies beneath both of its
 * opposite neighbours, mm. */
double pv_plan_two_laps(const pv_plan *plan);

#endif
