/* Putting tags and scale bars on a sheet whose cell and origin stand. */
#ifndef PLAN_ANATOMY_H
#define PLAN_ANATOMY_H

#include "plan/layout.h"

/* Four tags in the two service strips that have them: in the free end of the one across, in the
 * corner between them, in the free end of the upright one, and in the middle of the longer one, or
 * as near to it as the others leave. On a cell too short for that, the end's tag stands past the
 * cell's end, in waste. Where strips stand only before and after the mat, one in each corner of it.
 * False where the page has no room for them. */
bool pv_sheet_place_tags(const pv_plan *plan, pv_sheet *sheet);

/* Up to four scale bars, mm and inch in both service strips, up to 100 mm and 4 in, in the strip's
 * longest stretch between tags. Bars shorter than 20 mm or 1 in are left out. Where
 * strips stand only before and after the mat, those along the roll stand beyond the strip. */
void pv_sheet_place_bars(const pv_plan *plan, pv_sheet *sheet);

/* Where those stand; false on other sheets, which have none. */
bool pv_sheet_bars_beyond(const pv_plan *plan, const pv_sheet *sheet, pv_box *room);

#endif
