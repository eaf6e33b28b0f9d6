/* Where the alignment crosses of a seam stand.
 *
 * Rules, in this order: at least two; none more than PV_CROSS_PITCH from the next or from the
 * seam's end; the box of half side PV_CROSS_ARM + PV_CROSS_CLEAR about each of one plain colour,
 * off the other seams and on the mat; evenly spread. Where evenly spread places are all clear,
 * those are taken; else, of all choices among places every PV_CROSS_STEP along the seam, the best
 * (dynamic programming). */
#ifndef PLAN_CROSSES_H
#define PLAN_CROSSES_H

#include "plan/layout.h"
#include "scene/scene.h"

#define PV_CROSS_STEP 0.5 /* mm */
/* mm from a seam's end to a cross, at least; on seams too short for that, the box alone decides. */
#define PV_CROSS_END 5.0

/* A stretch of seam between two corners. */
typedef struct pv_stretch {
    bool vertical;
    double at;       /* its x (vertical) or y */
    double from, to; /* along the other axis */
} pv_stretch;

typedef struct pv_cross_places {
    double *along; /* ascending, along the seam */
    size_t n;
    size_t unclear; /* how many of them are not clear, where there was no better */
} pv_cross_places;

/* The box about a cross. */
pv_box pv_cross_box(const pv_stretch *stretch, double along, double half);

/* *possible: whether the rules can be kept on this stretch. False where memory ran out. */
bool pv_crosses_possible(const pv_scene *scene, const pv_stretch *stretch, pv_look *look,
                         bool *possible);

/* The places; where the rules can't be kept, the best that can be had. The caller frees
 * places->along. False where memory ran out. */
bool pv_crosses_place(const pv_scene *scene, const pv_stretch *stretch, pv_look *look,
                      pv_cross_places *places);

#endif
