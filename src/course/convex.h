/* Convex polygons against the paint: what the robot sweeps, and how near it comes. */
#ifndef COURSE_CONVEX_H
#define COURSE_CONVEX_H

#include "scene/outline.h"

#define PV_CONVEX_MAX 8

/* Corners counter-clockwise; two are a segment, one a point. */
typedef struct pv_convex {
    pv_vec corner[PV_CONVEX_MAX];
    int n;
} pv_convex;

/* The convex hull of at most PV_CONVEX_MAX points. */
pv_convex pv_convex_hull(const pv_vec *points, int n);
bool pv_convex_covers(const pv_convex *convex, pv_vec p);
pv_box pv_convex_box(const pv_convex *convex);

/* The smallest distance, 0 where they meet; *at, if not NULL, is where on the piece or solid. Exact
 * but for rounding. */
double pv_convex_to_piece(const pv_convex *convex, const pv_piece *piece, pv_vec *at);
double pv_convex_to_solid(const pv_convex *convex, const pv_solid *solid, pv_vec *at);

#endif
