/* A plan that keeps an older one's seams, so that what is printed anew fits what is taped already.
 *
 * The seams stay where they are; where the mat has grown, its last cell is divided anew, where it
 * has shrunk, seams beyond its edge are gone. With the same seams the sheets lie over each other as
 * they do. Alignment crosses stay where they still have plain ground. A sheet that comes out as it
 * was, with its tags, bars and gauge marks in the same places, has the same identity: those that
 * lie already are taken for the new plan's. */
#ifndef PLAN_KEEP_H
#define PLAN_KEEP_H

#include "plan/crosses.h"
#include "plan/division.h"
#include "plan/laying.h"

/* The paper that the older one lies on is asked for again, and the same way round. */
bool pv_keep_options(const pv_plan *older, pv_layout_options *options, pv_diags *diags);

/* The divisions of a plan that has its art, paper and margins; the caller frees their `at`. False
 * with a reason. */
bool pv_keep_divide(const pv_plan *older, const pv_plan *plan, bool roll, const pv_laying *l,
                    pv_division *x, pv_division *y, pv_diags *diags);

/* Over, under and taping of the older plan, where the grid is the same. *done: it is. False where
 * memory ran out. */
bool pv_keep_order(const pv_plan *older, pv_plan *plan, bool *done);

/* The older plan's crosses on a seam, where none of them has lost its plain ground; else none:
 * places->n is 0. False where memory ran out. */
bool pv_keep_crosses(const pv_plan *older, const pv_plan *plan, size_t index, pv_look *look,
                     pv_cross_places *places);

/* The identities of sheets that come out as they were; the others get new ones. False where memory
 * ran out. */
bool pv_keep_identities(const pv_plan *older, pv_plan *plan);

#endif
