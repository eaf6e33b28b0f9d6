/* Numerics, each routine once for all rooms: ordering, medians, small linear systems, least
 * squares, chance. The only header that knows of cminpack. */
#ifndef BASE_NUMERIC_H
#define BASE_NUMERIC_H

#include <stdbool.h>
#include <stddef.h>

/* ---- ordering ---- */

/* Negative, 0 or positive, as qsort wants it. */
static inline int pv_order(double a, double b)
{
    return (a > b) - (a < b);
}
static inline int pv_order_index(size_t a, size_t b)
{
    return (a > b) - (a < b);
}
/* The same of arrays of double and of size_t. */
int pv_by_value(const void *a, const void *b);
int pv_by_index(const void *a, const void *b);

/* Median of n > 0 values: of an even number the mean of the middle two. The first one changes their
 * order, the second one uses `scratch` of n places. Takes time in proportion to n. */
double pv_median_of(double *values, size_t n);
double pv_median(const double *values, size_t n, double *scratch);

/* What the median of |x - median| is multiplied by to give a normal distribution's standard
 * deviation: 1 / 0.6745, the inverse of that distribution's upper quartile. */
#define PV_MAD_TO_SIGMA 1.4826

/* ---- symmetric positive systems ---- */

/* Factors a symmetric positive matrix (n x n, row by row, only its lower half is read) in place,
 * A = L L^T. False where it is not positive to within rounding: the system is short of equations.
 */
bool pv_cholesky(double *a, size_t n);
/* Solve with the factor: b becomes x; `out` (n x n) becomes A^-1. */
void pv_cholesky_solve(const double *l, size_t n, double *b);
void pv_cholesky_inverse(const double *l, size_t n, double *out);

/* ---- least squares ---- */

/* Linear: of y on k <= PV_COLUMNS_MAX columns (row by row, k numbers a row) into c. False where the
 * columns don't determine the coefficients. */
#define PV_COLUMNS_MAX 3
bool pv_least_squares(const double *columns, size_t k, const double *y, size_t n, double *c);

/* Any other: least sum of squares of m values that depend on n <= m unknowns, by Levenberg's and
 * Marquardt's method (MINPACK's lmder). The function fills `values`, or where `jacobian` isn't NULL
 * that instead: d value i / d x k at jacobian[i + m * k]. Values that aren't finite, or are very
 * large, mark unknowns that can't be. */
typedef void pv_residuals(void *context, size_t m, size_t n, const double *x, double *values,
                          double *jacobian);

/* Numbers of scratch that pv_minimise needs. */
size_t pv_minimise_scratch(size_t m, size_t n);

/* From the start x to the minimum, where the sum of squares and x both settle to `tolerance`,
 * relative. False, with x as it was, where no finite x was reached. */
#define PV_MINIMISED_MAX 16 /* unknowns at most */
bool pv_minimise(pv_residuals *function, void *context, size_t m, size_t n, double tolerance,
                 double *x, double *scratch);

/* ---- chance ---- */

/* The value that chi-squared of so many degrees of freedom exceeds in 5 % of cases; HUGE_VAL for
 * none or fewer. To 1e-9, relative, up to PV_CHANCE_EXACT degrees: by the finite sums of whole
 * degrees of freedom (Abramowitz and Stegun, 26.4.4 and 26.4.5; from memory, checked against
 * printed tables); past that by Wilson and Hilferty's approximation (PNAS 17, 1931; from memory),
 * which is then within 2e-5. */
double pv_chi_squared_limit(int freedom);

#define PV_CHANCE_EXACT 300

#endif
