/* Rectangles of a known size on the ground, roughly: where to look for a card. */
#ifndef REFERENCE_RECTANGLE_H
#define REFERENCE_RECTANGLE_H

#include "reference/edge_map.h"

typedef struct pv_rectangle {
    pv_vec corner[4]; /* sheet mm, counter-clockwise; 0 to 1 is a long side */
    double score;     /* share of its four sides that shows an edge, their sum: 0 to 4 */
} pv_rectangle;

#define PV_RECTANGLES_MAX 32
#define PV_RECTANGLE_TOO  0.10 /* how far each side may be off, relative */

/* Lines by a Hough transform in which each edge pixel votes for lines along its own edge only
 * (O'Gorman and Clowes, IEEE Trans. Computers C-25, 1976), then pairs of pairs at right angles and
 * of the right distances; or three of them, the fourth by the shape. The best come first. Edges
 * of the ground within `without` (sheet mm; or NULL) don't count. False where memory ran out. */
bool pv_rectangles_find(const pv_ground *ground, const pv_edge_map *edges, double length,
                        double width, const pv_box *without, pv_rectangle out[PV_RECTANGLES_MAX],
                        size_t *n);

#endif
