/* A grid over the mat: which of many boxes meet a window, in time that grows with what is found.
 * Seams ask it millions of times, so it answers without allocating more than the answer's room. */
#ifndef SCENE_GRID_H
#define SCENE_GRID_H

#include "base/vec.h"

#include <stddef.h>

/* A part of a thing: long slanting things give several boxes. */
typedef struct pv_grid_box {
    pv_box box;
    size_t thing;
} pv_grid_box;

typedef struct pv_grid {
    const pv_grid_box *boxes; /* must outlive the grid */
    pv_vec origin;
    double side; /* of a square, mm */
    size_t columns, rows;
    size_t *first;   /* of each square's entries, row by row; one more at the end */
    size_t *entries; /* indexes of boxes */
} pv_grid;

/* Squares are as many as boxes at most, and so large that all boxes together stand in few times as
 * many squares; what that makes of memory and time is linear in n. Boxes that are empty or not
 * finite are never found. False where memory ran out; close it either way. */
bool pv_grid_open(pv_grid *grid, const pv_grid_box *boxes, size_t n);
void pv_grid_close(pv_grid *grid);

/* An answer, kept by the caller from one question to the next; free(list) in the end. */
typedef struct pv_found {
    size_t *list; /* things, ascending, each once */
    size_t n, cap;
} pv_found;

/* All things of which a box meets the window, edges included. False where memory ran out. */
bool pv_grid_find(const pv_grid *grid, pv_box window, pv_found *found);

/* Without memory: in each square that the window meets, things whose box meets it, from the box
 * added last to the first, until the visit gives false. Some come several times. */
typedef bool pv_grid_visit(void *context, size_t thing);
void pv_grid_visit_down(const pv_grid *grid, pv_box window, pv_grid_visit *visit, void *context);

#endif
