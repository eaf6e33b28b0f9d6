/* Places of a sheet that can be sighted exactly: strokes of crosses and bars, the squares in its
 * tags, and stretches of course lines with plain colour at both sides. */
#ifndef POSE_TARGET_H
#define POSE_TARGET_H

#include "pose/fit.h"

typedef enum pv_target_kind {
    PV_TARGET_LINE,   /* sighted by its two edges */
    PV_TARGET_STROKE, /* thin: sighted by its middle */
    PV_TARGET_TAG     /* two opposite sides of the white square in a tag's black frame, which ink
                         moves towards each other alike */
} pv_target_kind;

typedef struct pv_target {
    pv_target_kind kind;
    pv_vec a, b;          /* sheet mm: opposite points on the two edges, or twice the middle */
    pv_vec along, across; /* sheet, unit; across runs from a to b */
    double width;         /* mm from a to b; of a stroke, its own */
    double band;          /* mm, averaged over +-band along */
    double room;          /* mm of plain colour beside the edges, or beside a stroke's middle */
    size_t group, mark;   /* see pv_sight */
} pv_target;

#define PV_STROKE_NEED 0.8 /* mm: less is not enough ground to see a stroke against */

/* All of a page, sorted by group. The caller frees *targets with free(). False
 * where memory ran out (said). */
bool pv_targets_list(const pv_scene *page, pv_target **targets, size_t *n, pv_diags *diags);

/* Looks for a target where a map (h and lens) puts it, give or take `reach` mm. False where it
 * isn't there to be seen, or lies outside the image. */
bool pv_target_sight(const pv_target *target, const pv_plane *plane, const pv_pose *map,
                     double reach, pv_sight *out);

#endif
