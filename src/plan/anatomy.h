/* Putting tags and scale bars on a sheet whose cell and origin stand. */
#ifndef PLAN_ANATOMY_H
#define PLAN_ANATOMY_H

#include "plan/layout.h"

/* Four tags: in the bottom strip's left end, in the corner between the strips, in the right strip's
 * upper end, and in the middle of the longer strip, or as near to it as the others leave. On a cell
 * too short for that, the end's tag stands past the cell's end, in waste. False where the page has
 * no room for them. */
bool pv_sheet_place_tags(const pv_plan *plan, pv_sheet *sheet);

/* Up to four scale bars, mm and inch in both service strips, up to 100 mm and 4 in, in the strip's
 * longest stretch between tags. Bars shorter than 20 mm or 1 in are left out. */
void pv_sheet_place_bars(const pv_plan *plan, pv_sheet *sheet);

#endif
