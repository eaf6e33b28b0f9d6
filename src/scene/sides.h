/* The sides of an area, found by place: runs of neighbouring sides with their boxes, runs of those
 * runs, and so on up to one. What a question costs grows with the logarithm of the sides. */
#ifndef SCENE_SIDES_H
#define SCENE_SIDES_H

#include "scene/art.h"

typedef struct pv_run {
    pv_box box;
    pv_vec a, b;          /* where its sides start and end; the same point where they go round */
    const pv_ring *ring;  /* whose sides these are, from `first`; NULL: `n` runs from `first` */
    const pv_ring *whole; /* all of this ring, or NULL */
    size_t first, n;
} pv_run;

typedef struct pv_sides {
    pv_run *runs; /* the last is all of them */
    size_t n_runs, cap_runs;
} pv_sides;

/* Borrows the area's rings. False where memory ran out; close it either way. */
bool pv_sides_open(pv_sides *sides, const pv_area *area);
void pv_sides_close(pv_sides *sides);

pv_box pv_sides_box(const pv_sides *sides);
/* As pv_area_covers. */
bool pv_sides_cover(const pv_sides *sides, pv_vec p);
/* Calls `visit` with each side whose box meets `box`, ring by ring, until it gives false; whether
 * it never did. */
typedef bool pv_side_visit(void *context, pv_vec a, pv_vec b);
bool pv_sides_each(const pv_sides *sides, pv_box box, pv_side_visit *visit, void *context);

/* The same with each ring whose box meets `box`. */
typedef bool pv_ring_visit(void *context, const pv_ring *ring);
bool pv_sides_each_ring(const pv_sides *sides, pv_box box, pv_ring_visit *visit, void *context);

#endif
