/* Numerics of the base room: medians, small systems, least squares, chance. */
#include "common.h"

#include "base/numeric.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Sorted, the middle is where it is: of few values and many, all alike, in order, upside down. */
START_TEST(medians_are_the_middle_of_the_sorted)
{
    enum { MOST = 300 };
    double values[MOST], sorted[MOST], scratch[MOST];
    for (int i = 0; i < 2000; i++) {
        size_t n = 1 + (size_t)(uniform() * (i % 2 == 0 ? 9 : MOST - 1));
        for (size_t k = 0; k < n; k++)
            values[k] = i % 4 == 0   ? floor(3 * uniform())
                        : i % 4 == 1 ? gauss()
                        : i % 4 == 2 ? (double)k
                                     : -(double)k;
        memcpy(sorted, values, n * sizeof *values);
        qsort(sorted, n, sizeof *sorted, pv_by_value);
        double middle = (sorted[(n - 1) / 2] + sorted[n / 2]) / 2;
        ck_assert_double_eq(pv_median(values, n, scratch), middle);
        ck_assert_double_eq(pv_median_of(values, n), middle);
    }
    double odd[] = {NAN, 1, NAN, 2, 3}; /* ends, whatever it gives */
    pv_median_of(odd, 5);
}
END_TEST

/* Hilbert's matrix a(i, k) = 1 / (i + k + 1), whose inverse has whole numbers (Choi, American
 * Mathematical Monthly 90, 1983): of order 3 these. */
START_TEST(positive_systems_are_solved)
{
    double a[9], out[9];
    static const double inverse[9] = {9, -36, 30, -36, 192, -180, 30, -180, 180};
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++)
            a[3 * i + k] = 1.0 / (i + k + 1);
    ck_assert(pv_cholesky(a, 3));
    pv_cholesky_inverse(a, 3, out);
    double worst = 0;
    for (int i = 0; i < 9; i++)
        worst = fmax(worst, fabs(out[i] - inverse[i]));
    say_worst("inverse of Hilbert's matrix", worst, 1e-10, "");
    ck_assert_double_le(worst, 1e-10);
    double short_of[] = {1, 1, 1, 1}, no_number[] = {NAN};
    ck_assert(!pv_cholesky(short_of, 2));
    ck_assert(!pv_cholesky(no_number, 1));
}
END_TEST

START_TEST(straight_lines_are_fitted)
{
    double columns[] = {1, 0, 1, 1, 1, 2, 1, 3}, y[] = {1, 3, 5, 7}, c[3];
    ck_assert(pv_least_squares(columns, 2, y, 4, c));
    ck_assert_double_eq_tol(c[0], 1, 1e-12);
    ck_assert_double_eq_tol(c[1], 2, 1e-12);
    double flat[] = {1, 1, 1, 1, 1, 1, 1, 1};
    ck_assert(!pv_least_squares(flat, 2, y, 4, c));
}
END_TEST

/* Rosenbrock's valley (Computer Journal 3, 1960): 10 (y - x^2) and 1 - x, from (-1.2, 1); a part of
 * the plane that the way crosses can be closed. */
static void valley(void *closed, size_t m, size_t n, const double *x, double *values,
                   double *jacobian)
{
    ck_assert(m == 2 && n == 2);
    if (jacobian != NULL) {
        double d[4] = {-20 * x[0], -1, 10, 0};
        memcpy(jacobian, d, sizeof d);
        return;
    }
    values[0] = 10 * (x[1] - x[0] * x[0]);
    values[1] = 1 - x[0];
    if (*(bool *)closed && x[1] < -0.5)
        values[0] = values[1] = 1e100;
}

START_TEST(a_curved_valley_is_walked_to_its_end)
{
    double scratch[64];
    ck_assert_uint_le(pv_minimise_scratch(2, 2), 64);
    for (int i = 0; i < 2; i++) {
        bool closed = i == 1;
        double x[2] = {-1.2, 1};
        ck_assert(pv_minimise(valley, &closed, 2, 2, 1e-12, x, scratch));
        ck_assert_double_eq_tol(x[0], 1, 1e-9);
        ck_assert_double_eq_tol(x[1], 1, 1e-9);
    }
}
END_TEST

/* Printed tables of chi-squared, 5 % beyond (NIST/SEMATECH e-Handbook, 1.3.6.7.4, and any
 * textbook's; three decimals). */
START_TEST(chi_squared_has_its_printed_quantiles)
{
    static const struct {
        int freedom;
        double limit;
    } table[] = {{1, 3.841},   {2, 5.991},   {3, 7.815},   {4, 9.488},
                 {5, 11.070},  {6, 12.592},  {7, 14.067},  {8, 15.507},
                 {9, 16.919},  {10, 18.307}, {15, 24.996}, {20, 31.410},
                 {25, 37.652}, {30, 43.773}, {50, 67.505}, {100, 124.342}};
    double worst = 0;
    for (size_t i = 0; i < sizeof table / sizeof *table; i++)
        worst = fmax(worst, fabs(pv_chi_squared_limit(table[i].freedom) - table[i].limit));
    say_worst("chi-squared's quantiles in print", worst, 0.00051, "");
    ck_assert_double_le(worst, 0.00051);
    /* One degree: the square of the normal distribution's two-sided limit; two: -2 ln 0.05. */
    ck_assert_double_eq_tol(pv_chi_squared_limit(1), 1.959963984540054 * 1.959963984540054, 1e-9);
    ck_assert_double_eq_tol(pv_chi_squared_limit(2), -2 * log(0.05), 1e-9);
    ck_assert(isinf(pv_chi_squared_limit(0)) && isinf(pv_chi_squared_limit(-3)));
    /* No step where the way of computing changes, and never less for more. */
    double step = pv_chi_squared_limit(PV_CHANCE_EXACT + 1) - pv_chi_squared_limit(PV_CHANCE_EXACT);
    ck_assert_double_eq_tol(step, 1.06, 0.03);
    for (int f = 1; f < 1000; f++)
        ck_assert_double_gt(pv_chi_squared_limit(f + 1), pv_chi_squared_limit(f));
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("numeric");
    TCase *tcase = tcase_create("numeric");
    tcase_add_test(tcase, medians_are_the_middle_of_the_sorted);
    tcase_add_test(tcase, positive_systems_are_solved);
    tcase_add_test(tcase, straight_lines_are_fitted);
    tcase_add_test(tcase, a_curved_valley_is_walked_to_its_end);
    tcase_add_test(tcase, chi_squared_has_its_printed_quantiles);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
