/* Where two plans' mats look different.
 *
 * Whether a cell shows the same is asked at points: everything that two pictures can differ by ends
 * at an edge of something, or covers a stretch of ground. So points beside every edge of either
 * art, and a grid of points besides, are asked of both scenes. Lettering is compared letter by
 * letter, each as a box about its ink; crosses by where they stand. */
#ifndef PLAN_DIFFERENCE_H
#define PLAN_DIFFERENCE_H

#include "plan/layout.h"

typedef struct pv_difference {
    const pv_plan *plan[2]; /* the older one first; borrowed */
    pv_box *changed;        /* of what is in one art and not in the other, or in another order */
    size_t n_changed, cap_changed;
    bool ground;                          /* it has another colour */
    struct pv_difference_letter *letters; /* of texts in one art that are not in the other */
    size_t n_letters, cap_letters;
    pv_look look;
} pv_difference;

/* False where memory ran out; close it either way. */
bool pv_difference_open(pv_difference *seen, const pv_plan *older, const pv_plan *plan);
void pv_difference_close(pv_difference *seen);

/* Calls `differs` for places within a box where the two differ, as long as it gives true. False
 * where memory ran out. */
typedef bool pv_difference_differs(void *context, pv_vec at);
bool pv_difference_visit(pv_difference *seen, pv_box box, pv_difference_differs *differs,
                         void *context);

/* The sheet of a plan that has that cell, to a nanometre; SIZE_MAX where none has. */
size_t pv_difference_sheet(const pv_plan *plan, pv_box cell);

/* Whether the seams of two sheets of one cell have the same crosses; and whether all that the cell
 * shows is the same, crosses as well: false, of the latter, where memory ran out. */
bool pv_difference_same_crosses(const pv_difference *seen, const pv_sheet *older,
                                const pv_sheet *sheet);
bool pv_difference_alike(pv_difference *seen, const pv_sheet *older, const pv_sheet *sheet,
                         bool *alike);

/* Whether two things of an art, and the colours that they name there, are the same. */
bool pv_difference_same_line(const pv_art *p, const pv_line *a, const pv_art *q, const pv_line *b);
bool pv_difference_same_area(const pv_art *p, const pv_area *a, const pv_art *q, const pv_area *b);
bool pv_difference_same_lettering(const pv_art *p, const pv_lettering *a, const pv_art *q,
                                  const pv_lettering *b);
bool pv_difference_same_colour(const pv_art *p, size_t a, const pv_art *q, size_t b);

#endif
