/* What a pixel sees of an edge, in closed form: a half plane behind a Gaussian blur, averaged over
 * the pixel's square.
 *
 * The light of a pixel whose centre lies d in front of the edge: with E2(x) = E[max(0, x + sZ)^2]
 * = (x^2 + s^2) Phi(x/s) + x s phi(x/s) and the normal's components a, b >= 0, it is the second
 * difference [E2(d + (a+b)/2) - E2(d + (a-b)/2) - E2(d - (a-b)/2) + E2(d - (a+b)/2)] / (2 a b),
 * worked out for these tests: a pixel's square is the convolution of two boxes a and b wide. */
#ifndef TESTS_HALF_PLANE_H
#define TESTS_HALF_PLANE_H

#include "base/vec.h"

#include <math.h>

static double normal_cdf(double z)
{
    return 0.5 * erfc(-z / sqrt(2));
}

static double normal_pdf(double z)
{
    return exp(-z * z / 2) / sqrt(2 * PV_PI);
}

static double half_plane_e1(double x, double s)
{
    return s == 0 ? fmax(x, 0) : x * normal_cdf(x / s) + s * normal_pdf(x / s);
}

static double half_plane_e2(double x, double s)
{
    if (s == 0)
        return x > 0 ? x * x : 0;
    return (x * x + s * s) * normal_cdf(x / s) + x * s * normal_pdf(x / s);
}

/* The share of it that the half plane is. All in px. */
static double pixel_light(double d, pv_vec normal, double blur)
{
    double a = fabs(normal.x), b = fabs(normal.y);
    if (fabs(d) > 6 * blur + 1) /* all but 1e-9 of it */
        return d > 0;
    if (fmin(a, b) < 1e-4) /* the shorter box then moves nothing by more than 1e-9 */
        return half_plane_e1(d + 0.5, blur) - half_plane_e1(d - 0.5, blur);
    return (half_plane_e2(d + (a + b) / 2, blur) - half_plane_e2(d + (a - b) / 2, blur) -
            half_plane_e2(d - (a - b) / 2, blur) + half_plane_e2(d - (a + b) / 2, blur)) /
           (2 * a * b);
}

#endif
