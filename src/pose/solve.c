#include "pose/solve.h"

#include "base/numeric.h"

#include <string.h>

void pv_matrix3_product(const double a[9], const double b[9], double out[9])
{
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            out[3 * i + j] = a[3 * i] * b[j] + a[3 * i + 1] * b[3 + j] + a[3 * i + 2] * b[6 + j];
}

pv_vec pv_map_point(const double h[9], pv_vec p)
{
    double w = h[6] * p.x + h[7] * p.y + h[8];
    return pv_v((h[0] * p.x + h[1] * p.y + h[2]) / w, (h[3] * p.x + h[4] * p.y + h[5]) / w);
}

void pv_map_jacobian(const double h[9], pv_vec p, pv_vec *dx, pv_vec *dy)
{
    double w = h[6] * p.x + h[7] * p.y + h[8];
    pv_vec q = pv_map_point(h, p);
    *dx = pv_v((h[0] - h[6] * q.x) / w, (h[3] - h[6] * q.y) / w);
    *dy = pv_v((h[1] - h[7] * q.x) / w, (h[4] - h[7] * q.y) / w);
}

bool pv_conditioning(const pv_vec *points, size_t n, pv_vec *centre, double *scale)
{
    pv_vec sum = {0, 0};
    for (size_t i = 0; i < n; i++)
        sum = pv_add(sum, points[i]);
    *centre = pv_scale(sum, n > 0 ? 1.0 / (double)n : 0);
    double distance = 0;
    for (size_t i = 0; i < n; i++)
        distance += pv_dist(points[i], *centre);
    *scale = n > 0 ? distance / (double)n / sqrt(2) : 0;
    return *scale > 0 && isfinite(*scale);
}

void pv_uncondition(const double h[9], pv_vec from_centre, double from_scale, pv_vec to_centre,
                    double to_scale, double out[9])
{
    double from[9] = {1 / from_scale,
                      0,
                      -from_centre.x / from_scale,
                      0,
                      1 / from_scale,
                      -from_centre.y / from_scale,
                      0,
                      0,
                      1};
    double to[9] = {to_scale, 0, to_centre.x, 0, to_scale, to_centre.y, 0, 0, 1};
    double half[9];
    pv_matrix3_product(h, from, half);
    pv_matrix3_product(to, half, out);
    if (fabs(out[8]) > 1e-12) {
        double k = out[8];
        for (int i = 0; i < 9; i++)
            out[i] /= k;
    }
}

/* Adds one equation, row . x = value, to the normal equations. */
static void add_equation(double *normal, double *right, size_t n, const double *row, double value)
{
    for (size_t i = 0; i < n; i++) {
        for (size_t j = 0; j <= i; j++)
            normal[i * n + j] += row[i] * row[j];
        right[i] += row[i] * value;
    }
}

/* Both maps with `unknowns` 8 or 6: the affinity has no h[6], h[7]. */
static bool linear_map(const pv_vec *from, const pv_vec *to, size_t n, size_t unknowns, double h[9])
{
    pv_vec from_centre, to_centre;
    double from_scale, to_scale;
    if (!pv_conditioning(from, n, &from_centre, &from_scale) ||
        !pv_conditioning(to, n, &to_centre, &to_scale))
        return false;
    double normal[8 * 8] = {0}, x[8] = {0};
    for (size_t i = 0; i < n; i++) {
        pv_vec p = pv_scale(pv_sub(from[i], from_centre), 1 / from_scale);
        pv_vec q = pv_scale(pv_sub(to[i], to_centre), 1 / to_scale);
        double row[2][8] = {{p.x, p.y, 1, 0, 0, 0, -p.x * q.x, -p.y * q.x},
                            {0, 0, 0, p.x, p.y, 1, -p.x * q.y, -p.y * q.y}};
        add_equation(normal, x, unknowns, row[0], q.x);
        add_equation(normal, x, unknowns, row[1], q.y);
    }
    if (!pv_cholesky(normal, unknowns))
        return false;
    pv_cholesky_solve(normal, unknowns, x);
    double conditioned[9] = {0, 0, 0, 0, 0, 0, 0, 0, 1};
    memcpy(conditioned, x, unknowns * sizeof *x);
    pv_uncondition(conditioned, from_centre, from_scale, to_centre, to_scale, h);
    for (int i = 0; i < 9; i++)
        if (!isfinite(h[i]))
            return false;
    return true;
}

bool pv_homography(const pv_vec *from, const pv_vec *to, size_t n, double h[9])
{
    return linear_map(from, to, n, 8, h);
}

bool pv_affinity(const pv_vec *from, const pv_vec *to, size_t n, double h[9])
{
    return linear_map(from, to, n, 6, h);
}
