/* Parts of the plan that making and reading it share. */
#ifndef PLAN_MAKE_H
#define PLAN_MAKE_H

#include "plan/division.h"
#include "plan/layout.h"
#include "plan/options.h"
#include "json/json.h"

/* Sheets in reading order with names, cells and neighbours, and the seams between them, from the
 * two divisions; nothing is placed on a page yet. Each sheet lies over its left and its upper
 * neighbour until plan/order.h says otherwise. The plan's `columns` and `rows` come from the
 * divisions. False where memory ran out. */
bool pv_plan_build_grid(pv_plan *plan, const pv_division *x, const pv_division *y);

/* Borrows from the course. */
pv_regard pv_regard_of(const pv_course *course);

/* pv_plan_make and pv_plan_of_art, with the options settled. */
pv_plan *pv_plan_of(const pv_regard *regard, const pv_settled *how, pv_type *type, pv_diags *diags);

/* "A1" for row 0 and column 0. */
void pv_plan_name_sheet(char name[12], size_t row, size_t column);

/* Upper PV_FINGERPRINT_NAME_BITS bits from the kit's name, the rest from name, edition, art, route,
 * page, margins, strips and seams, as canonical JSON text (docs/reference/plan-format.md), so that
 * every machine gets the same. False where memory ran out. */
bool pv_plan_compute_fingerprint(const pv_plan *plan, unsigned *fingerprint);

/* The art as members of the object that the writer is in. */
void pv_plan_write_art(pv_json_writer *w, const pv_art *art);

#endif
