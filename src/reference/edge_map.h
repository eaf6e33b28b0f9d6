/* Where the ground shows edges, a pixel wide, and which way they run. */
#ifndef REFERENCE_EDGE_MAP_H
#define REFERENCE_EDGE_MAP_H

#include "reference/ground.h"

#define PV_EDGE_ANGLES 360 /* bins over half a turn */

typedef struct pv_edge_map {
    size_t width, height; /* the ground's */
    int16_t *bin;         /* direction of the gradient, half turns alike; -1: no edge */
} pv_edge_map;

/* Edge pixels are those whose gradient, of the colour channel that has the largest, is largest
 * along its own direction, and clearly steeper than the mean within some millimetres: a wooden
 * table's grain is full of weaker ones. False where memory ran out. */
bool pv_edge_map_make(const pv_ground *ground, pv_edge_map *out);
void pv_edge_map_clear(pv_edge_map *map);

#endif
