#include "judge/gum.h"

#include <float.h>
#include <math.h>
#include <stdbool.h>

double pv_combine_parts(const pv_component *parts, size_t n, double *freedom)
{
    double variance = 0, limited = 0;
    for (size_t i = 0; i < n; i++)
        variance += parts[i].u * parts[i].u;
    double u = sqrt(variance);
    /* Ratios to u keep the fourth powers within range, however small u is. */
    for (size_t i = 0; i < n && u > 0; i++)
        limited += pow(parts[i].u / u, 4) / parts[i].freedom;
    *freedom = limited > 1 / PV_FREEDOM_MANY ? 1 / limited : HUGE_VAL;
    return u;
}

/* ---- Student's distribution ---- */

#define TERMS 2000  /* of the continued fraction; about sqrt(freedom) are needed */
#define MANY  1.0e5 /* degrees of freedom from which the normal distribution is near enough */

/* Denominators of the continued fraction that are zero would stop it (Lentz's remedy). */
static double not_zero(double value)
{
    return fabs(value) < DBL_MIN / DBL_EPSILON ? DBL_MIN / DBL_EPSILON : value;
}

/* The continued fraction of the incomplete beta function (NIST Digital Library of Mathematical
 * Functions, 8.17.22), by the modified Lentz algorithm; it converges quickly for x < (a + 1)/(a + b
 * + 2). */
static double beta_fraction(double x, double a, double b)
{
    double c = 1, d = 1 / not_zero(1 - (a + b) * x / (a + 1)), value = d;
    for (int m = 1; m <= TERMS; m++) {
        double even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m));
        d = 1 / not_zero(1 + even * d);
        c = not_zero(1 + even / c);
        value *= d * c;
        double odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1));
        d = 1 / not_zero(1 + odd * d);
        c = not_zero(1 + odd / c);
        value *= d * c;
        if (fabs(d * c - 1) < DBL_EPSILON)
            break;
    }
    return value;
}

/* ln x, given also 1 - x, which keeps its digits where x is nearly one. */
static double log_share(double x, double rest)
{
    return x > 0.5 ? log1p(-rest) : log(x);
}

/* ln Gamma(x) of x > 0, without the C library's lgamma, which writes to a variable that all threads
 * share: Stirling's series from 12 on (Abramowitz and Stegun, 6.1.41), what it leaves is below
 * 2e-13; to there by Gamma(x + 1) = x Gamma(x). */
static double log_gamma(double x)
{
    double product = 1;
    while (x < 12) {
        product *= x;
        x += 1;
    }
    double r = 1 / (x * x);
    double series = (1.0 / 12 - r * (1.0 / 360 - r * (1.0 / 1260 - r / 1680))) / x;
    return (x - 0.5) * log(x) - x + 0.5 * log(2 * acos(-1)) + series - log(product);
}

/* I_x(a, b), given also 1 - x. */
static double incomplete_beta(double x, double rest, double a, double b)
{
    if (!(x > 0) || !(rest > 0))
        return x > 0 ? 1 : 0;
    double front = exp(log_gamma(a + b) - log_gamma(a) - log_gamma(b) + a * log_share(x, rest) +
                       b * log_share(rest, x));
    if (x < (a + 1) / (a + b + 2))
        return front * beta_fraction(x, a, b) / a;
    return 1 - front * beta_fraction(rest, b, a) / b;
}

/* Share of the distribution above t >= 0. */
static double upper_tail(double t, double freedom)
{
    if (freedom > MANY) {
        /* Abramowitz and Stegun, Handbook of Mathematical Functions, 26.7.8 (from memory); what it
         * leaves is of the order of 1 / freedom^2. */
        double z =
            isinf(freedom) ? t : t * (1 - 1 / (4 * freedom)) / sqrt(1 + t * t / (2 * freedom));
        return erfc(z / sqrt(2)) / 2;
    }
    /* DLMF 8.17 with x = nu/(nu + t^2): two tails are I_x(nu/2, 1/2). */
    double sum = freedom + t * t;
    if (isinf(sum))
        return 0;
    return incomplete_beta(freedom / sum, t * t / sum, freedom / 2, 0.5) / 2;
}

double pv_student_cdf(double t, double freedom)
{
    double tail = upper_tail(fabs(t), freedom);
    return t > 0 ? 1 - tail : tail;
}

double pv_student_t(double coverage, double freedom)
{
    double tail = (1 - coverage) / 2, low = 0, high = 1;
    while (upper_tail(high, freedom) > tail && high < DBL_MAX / 4) {
        low = high;
        high *= 2;
    }
    for (bool moves = true; moves;) {
        double middle = low + (high - low) / 2;
        moves = middle > low && middle < high;
        if (upper_tail(middle, freedom) > tail)
            low = middle;
        else
            high = middle;
    }
    return high;
}
