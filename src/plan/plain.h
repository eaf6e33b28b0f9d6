/* Where the art is of one plain colour. */
#ifndef PLAN_PLAIN_H
#define PLAN_PLAIN_H

#include "course/art.h"

/* The art's parts near a window, in the order in which one sees them. Borrows from the art. */
typedef struct pv_layers pv_layers;

/* Of the whole mat. NULL where memory ran out. */
pv_layers *pv_layers_of(const pv_art *art);
/* The parts of a scene that meet a window, found by place; only boxes within it may be asked for.
 * Asking walks all of a scene, so ask one that is no larger than it need be. Borrows from `whole`.
 * NULL where memory ran out. */
pv_layers *pv_layers_near(const pv_layers *whole, pv_box window);
void pv_layers_free(pv_layers *scene);

/* True where nothing but one colour is seen within the box: it lies on the mat, no lettering's box
 * meets it, and no edge between two colours passes through it. An edge that is hidden beneath later
 * paint, or that has the same colour on both sides, is none. Never true where an edge is seen; may
 * be false for a box that an edge misses by less than 1/100 of the box's side. */
bool pv_layers_plain(const pv_layers *scene, pv_box box, size_t *colour);

/* The colour that is seen at a point, lettering left out. */
size_t pv_layers_colour(const pv_layers *scene, pv_vec p);

#endif
