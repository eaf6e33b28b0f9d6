/* Boxes of what is painted, for a grid: slanting things are cut into parts, whose boxes hug them.
 */
#ifndef SCENE_BOXES_H
#define SCENE_BOXES_H

#include "scene/grid.h"
#include "scene/outline.h"

typedef struct pv_boxes {
    pv_grid_box *list;
    size_t n, cap;
} pv_boxes;

#define PV_BOXES_PART  200.0 /* mm: a part's box is slimmer than this, about a sheet's side */
#define PV_BOXES_PARTS 64    /* to a solid, at most */

/* False where memory ran out. The caller frees boxes->list with free(). */
bool pv_boxes_add(pv_boxes *boxes, pv_box box, size_t thing);
/* The solid's parts, each grown by so much. */
bool pv_boxes_add_solid(pv_boxes *boxes, const pv_solid *solid, double grow, size_t thing);
/* The same for what is within `half` of a piece. */
bool pv_boxes_add_piece(pv_boxes *boxes, const pv_piece *piece, double half, size_t thing);

#endif
