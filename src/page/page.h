/* From a plan and a sheet to all that its page shows.
 *
 * plan/page.c begins a page's scene with what inspection looks for: crosses, scale bars, tags, a
 * card's place. This room adds what people read, around the cell (docs/how/sheet-anatomy.md): cut
 * marks, the bars' numbers, the seams' labels, darts of travel, the sheet's name and kit, a map, an
 * arrow. These become items like the others, WORDS and SHAPEs, so that drawing walks one list.
 *
 * Room is scarce and differs from sheet to sheet. space.h keeps what is taken of the bands around
 * the art, and finds the free place nearest to where a thing belongs. Each thing is tried in its
 * largest size first, then smaller, and is left out where it fits nowhere. So the order of the
 * calls in pv_page_make and pv_page_labels is the order of importance.
 *
 * Widths of texts are those of the typeface that the page is printed in, so a page is made for one
 * printing; inspection, which reads no words, uses pv_plan_page. */
#ifndef PAGE_PAGE_H
#define PAGE_PAGE_H

#include "paper/printer.h"
#include "plan/layout.h"
#include "type/type.h"

#include <pavior/printer.h>

/* In that type, for that printer or NULL. It borrows from the plan. NULL where memory ran out
 * (said).
 */
pv_scene *pv_page_make(const pv_plan *plan, size_t index, pv_type *type, const pv_printer *printer,
                       pv_diags *diags);

/* The name of a sheet's own page in a kit, to which its code leads: "c12.html" for C12. */
#define PV_SHEET_PAGE 24
void pv_sheet_page(const pv_sheet *sheet, char name[PV_SHEET_PAGE]);

#endif
