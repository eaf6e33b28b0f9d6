/* Where the robot's route crosses seams. */
#ifndef PLAN_CROSSINGS_H
#define PLAN_CROSSINGS_H

#include "plan/layout.h"

typedef struct pv_crossing {
    double along; /* mat frame: its place along the seam, y on a vertical one, else x */
    bool forward; /* towards larger x (over a vertical seam) or y */
} pv_crossing;

/* Nearer to a seam than this, mm, the route counts as on it, so that no rounding makes a crossing
 * of a touch. */
#define PV_CROSSING_TRUE 1e-6

typedef struct pv_crossings {
    pv_crossing *list;
    size_t n, capacity;
} pv_crossings;

/* All crossings of a seam, in the order of travel. The route crosses where it comes from one side
 * and goes on to the other: neither where it touches the seam nor where it runs along it and turns
 * back. Where it runs along the seam before it goes on to the other side, it crosses where it
 * leaves the seam. A crossing at a corner of four cells belongs to the seams above and to the right
 * of it. Closed forms for segments and arcs. The caller frees found->list with free(), also where
 * it fails. False where memory ran out. */
bool pv_seam_crossings(const pv_plan *plan, const pv_seam *seam, pv_crossings *found);

/* Does the robot step up at a crossing, from the sheet beneath to the one that lies over? */
bool pv_crossing_up(const pv_plan *plan, const pv_seam *seam, const pv_crossing *crossing);

/* How often it steps down at a seam, and how often up. False where memory ran out. */
bool pv_seam_steps(const pv_plan *plan, const pv_seam *seam, size_t *down, size_t *up);

#endif
