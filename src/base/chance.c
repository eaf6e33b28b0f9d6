#include "base/chance.h"

#include <math.h>

#define RARE      0.05
#define NORMAL_95 1.6448536269514722 /* one-sided quantile of the normal distribution */

/* The chance of more than x. */
static double beyond(double x, int freedom)
{
    double half = x / 2, odd = freedom % 2;
    /* The terms are half^j exp(-half) / gamma(j + 1), of whole j, or of j that end in a half. */
    double sum = odd > 0 ? erfc(sqrt(half)) : 0;
    /* gamma(1.5) = sqrt(pi) / 2 = sqrt(atan(1)) */
    double j = odd / 2, term = exp(-half) * (odd > 0 ? sqrt(half / atan(1)) : 1);
    for (int k = 0; k < freedom / 2; k++) {
        sum += term;
        j += 1;
        term *= half / j;
    }
    return sum;
}

double pv_chi_squared_limit(int freedom)
{
    if (freedom <= 0)
        return HUGE_VAL;
    double part = 2.0 / (9.0 * freedom), root = 1 - part + NORMAL_95 * sqrt(part);
    double near = freedom * root * root * root;
    if (freedom > PV_CHANCE_EXACT)
        return near;
    double lo = 0.9 * near, hi = 1.1 * near;
    for (int i = 0; i < 60; i++) {
        double middle = (lo + hi) / 2;
        if (beyond(middle, freedom) > RARE)
            lo = middle;
        else
            hi = middle;
    }
    return (lo + hi) / 2;
}
