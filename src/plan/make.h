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

/* All that decides what is printed, as the plan's JSON with rounded numbers, so that every machine
 * gets the same (docs/reference/plan-format.md). The caller frees it; NULL where memory ran out. */
char *pv_plan_canonical(const pv_plan *plan);
/* A hash of that. False where memory ran out. */
bool pv_plan_compute_fingerprint(const pv_plan *plan, uint64_t *fingerprint);
/* Gives a plan that is complete its fingerprint, and all tags their ids. False where memory ran
 * out. */
bool pv_plan_identify(pv_plan *plan);
/* *wrong: the first sheet whose tags don't have the ids that the fingerprint makes, or in a plan
 * that keeps an older one's, no sheet's or another sheet's; or SIZE_MAX. False where memory ran
 * out.
 */
bool pv_plan_ids_differ(const pv_plan *plan, size_t *wrong);

/* The art as members of the object that the writer is in. */
void pv_plan_write_art(pv_json_writer *w, const pv_art *art);

#endif
