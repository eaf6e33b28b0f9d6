/* Maps of the plane as 3 x 3 matrices. */
#ifndef POSE_SOLVE_H
#define POSE_SOLVE_H

#include "base/vec.h"

#include <stddef.h>

/* out = a b, row by row; out may be neither. */
void pv_matrix3_product(const double a[9], const double b[9], double out[9]);

/* (X, Y, W) = h (p, 1) divided by W; not finite where W is 0. */
pv_vec pv_map_point(const double h[9], pv_vec p);

/* Its derivative at p: columns d/dx and d/dy. */
void pv_map_jacobian(const double h[9], pv_vec p, pv_vec *dx, pv_vec *dy);

/* Moves points so that their mean is the origin and their mean distance from it the square root of
 * 2: what makes the equations below well conditioned (Hartley, "In defense of the eight-point
 * algorithm", IEEE PAMI 19, 1997). centre and scale: p -> (p - centre) / scale. False where all
 * points are one. */
bool pv_conditioning(const pv_vec *points, size_t n, pv_vec *centre, double *scale);
/* The map whose conditioned form is h: from (p - from_centre) / from_scale to
 * (q - to_centre) / to_scale. h[8] becomes 1 where it can. */
void pv_uncondition(const double h[9], pv_vec from_centre, double from_scale, pv_vec to_centre,
                    double to_scale, double out[9]);

/* The homography that maps from[i] to to[i], by the direct linear transform with conditioning; of
 * more than four pairs, the least squares of the algebraic error. The affinity, of the geometric
 * one. False where the points do not determine it. */
bool pv_homography(const pv_vec *from, const pv_vec *to, size_t n, double h[9]);
bool pv_affinity(const pv_vec *from, const pv_vec *to, size_t n, double h[9]);

#endif
