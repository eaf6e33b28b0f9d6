/* Laying the mat on a roll: one piece if it fits either way round, else the fewest panels, then the
 * least paper, then running up the mat rather than across it.
 *
 * A page is as wide as the roll, and as long as its cell needs. Where the roll runs along x, the
 * page lies, and is turned by a quarter clockwise on its way to the roll. A mat that fits between
 * the margins, but not with the service strip and the label's strip beside it, has the tags in
 * waste before and after it, and the scale bars before it. */
#ifndef PLAN_ROLL_H
#define PLAN_ROLL_H

#include "plan/laying.h"

/* mm along the roll, beyond the service strip: for a scale bar of 100 mm that runs along it. */
#define PV_ENDS_BARS (100.0 + 2 * PV_BAR_END + 1.0)
#define PV_PANEL_MIN 200.0 /* mm: the shortest page that may be asked for */

/* `plan` has art, bleed, overlap and border; margins count as those of the roll: left and right its
 * edges, bottom and top its ends. False, and said, where the roll is too narrow. */
bool pv_roll_lay(const pv_plan *plan, const pv_layout_options *options, pv_laying *l,
                 pv_diags *diags);

/* Once the cells stand: the pages no longer than the longest cell needs, in whole mm. */
void pv_roll_cut(pv_plan *plan, const pv_laying *l);

/* Says what does not go in one piece, why, and on which roll it would; and what readers may not
 * take. */
void pv_roll_say(const pv_plan *plan, const pv_layout_options *options, pv_diags *diags);

#endif
