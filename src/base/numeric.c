#include "base/numeric.h"

#include <cminpack.h>
#include <math.h>
#include <string.h>

/* ---- ordering ---- */

int pv_by_value(const void *a, const void *b)
{
    return pv_order(*(const double *)a, *(const double *)b);
}

int pv_by_index(const void *a, const void *b)
{
    return pv_order_index(*(const size_t *)a, *(const size_t *)b);
}

static double middle_of_three(double a, double b, double c)
{
    return fmax(fmin(a, b), fmin(fmax(a, b), c));
}

/* Puts the k-th smallest of n > k values at its place, smaller ones before and larger ones behind
 * (Hoare's selection, with what is equal to the pivot kept together). */
static void select_place(double *v, size_t n, size_t k)
{
    size_t lo = 0, hi = n; /* the place is within [lo, hi) */
    while (hi - lo > 1) {
        double pivot = middle_of_three(v[lo], v[lo + (hi - lo) / 2], v[hi - 1]);
        size_t less = lo, more = hi;
        for (size_t i = lo; i < more;) {
            double x = v[i];
            if (x < pivot) {
                v[i++] = v[less];
                v[less++] = x;
            } else if (x > pivot) {
                v[i] = v[--more];
                v[more] = x;
            } else {
                i++;
            }
        }
        if (k >= less && k < more)
            return;
        if (k < less)
            hi = less;
        else
            lo = more;
    }
}

double pv_median_of(double *values, size_t n)
{
    size_t k = n / 2;
    select_place(values, n, k);
    if (n % 2 == 1)
        return values[k];
    double below = values[0];
    for (size_t i = 1; i < k; i++)
        below = values[i] > below ? values[i] : below;
    return (below + values[k]) / 2;
}

double pv_median(const double *values, size_t n, double *scratch)
{
    memcpy(scratch, values, n * sizeof *values);
    return pv_median_of(scratch, n);
}

/* ---- symmetric positive systems ---- */

/* A pivot this small beside the largest diagonal element is rounding. */
#define RANK_TOLERANCE 1e-13

bool pv_cholesky(double *a, size_t n)
{
    double most = 0;
    for (size_t i = 0; i < n; i++)
        most = fmax(most, a[i * n + i]);
    for (size_t j = 0; j < n; j++) {
        for (size_t i = j; i < n; i++) {
            double sum = a[i * n + j];
            for (size_t k = 0; k < j; k++)
                sum -= a[i * n + k] * a[j * n + k];
            if (i > j)
                a[i * n + j] = sum / a[j * n + j];
            else if (sum > RANK_TOLERANCE * most) /* false for what is not a number, too */
                a[j * n + j] = sqrt(sum);
            else
                return false;
        }
    }
    return true;
}

void pv_cholesky_solve(const double *l, size_t n, double *b)
{
    for (size_t i = 0; i < n; i++) {
        for (size_t k = 0; k < i; k++)
            b[i] -= l[i * n + k] * b[k];
        b[i] /= l[i * n + i];
    }
    for (size_t i = n; i-- > 0;) {
        for (size_t k = i + 1; k < n; k++)
            b[i] -= l[k * n + i] * b[k];
        b[i] /= l[i * n + i];
    }
}

void pv_cholesky_inverse(const double *l, size_t n, double *out)
{
    memset(out, 0, n * n * sizeof *out);
    for (size_t i = 0; i < n; i++) {
        double *row = out + i * n; /* symmetric: a column as well */
        row[i] = 1;
        pv_cholesky_solve(l, n, row);
    }
}

/* ---- least squares ---- */

bool pv_least_squares(const double *columns, size_t k, const double *y, size_t n, double *c)
{
    double normal[PV_COLUMNS_MAX * PV_COLUMNS_MAX] = {0};
    memset(c, 0, k * sizeof *c);
    for (size_t i = 0; i < n; i++) {
        const double *row = columns + i * k;
        for (size_t a = 0; a < k; a++) {
            for (size_t b = 0; b <= a; b++)
                normal[k * a + b] += row[a] * row[b];
            c[a] += row[a] * y[i];
        }
    }
    if (!pv_cholesky(normal, k))
        return false;
    pv_cholesky_solve(normal, k, c);
    return true;
}

typedef struct minimised {
    pv_residuals *function;
    void *context;
} minimised;

static int call(void *p, int m, int n, const double *x, double *values, double *jacobian,
                int stride, int wanted)
{
    const minimised *job = p;
    (void)stride; /* m */
    job->function(job->context, (size_t)m, (size_t)n, x, values, wanted == 1 ? NULL : jacobian);
    return 0;
}

/* lmder1's own room is 5 n + m. */
size_t pv_minimise_scratch(size_t m, size_t n)
{
    return m + m * n + 5 * n + m;
}

bool pv_minimise(pv_residuals *function, void *context, size_t m, size_t n, double tolerance,
                 double *x, double *scratch)
{
    double *values = scratch, *jacobian = values + m, *room = jacobian + m * n;
    double best[PV_MINIMISED_MAX];
    int pivots[PV_MINIMISED_MAX];
    minimised job = {function, context};
    memcpy(best, x, n * sizeof *x);
    int info = lmder1(call, &job, (int)m, (int)n, best, values, jacobian, (int)m, tolerance, pivots,
                      room, (int)(5 * n + m));
    /* 0: refused its input; above 4: stopped at the limit of precision or of calls, which is for
     * the values to judge. */
    for (size_t i = 0; i < n; i++)
        if (info < 1 || !isfinite(best[i]))
            return false;
    memcpy(x, best, n * sizeof *x);
    return true;
}

/* ---- chance ---- */

/* Chance at which references or images count as disagreeing: 5 %, as is usual. */
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
