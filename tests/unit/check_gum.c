/* Uncertainty against JCGM 100:2008 (the GUM): its worked example H.1, its table G.2, and closed
 * forms of Student's distribution. */
#include "common.h"

#include "base/vec.h"
#include "judge/gum.h"

#include <math.h>

/* H.1, calibration of an end gauge, in nm. Each input's standard uncertainty and degrees of freedom
 * are those that the example prints. */
START_TEST(the_end_gauge_comes_out_as_printed)
{
    /* H.1.3.2: d is a mean of readings (a), and the comparator's random (b) and systematic (c)
     * effects. */
    static const pv_component comparison[] = {{5.8, 24}, {3.9, 5}, {6.7, 8}};
    double freedom, u = pv_combine_parts(comparison, 3, &freedom);
    ck_assert_double_eq_tol(u, 9.7, 0.05);
    ck_assert_double_eq_tol(freedom, 25.6, 0.5); /* of inputs rounded to two digits */
    /* What five readings add to a large part that is known: 5 (1.04 / 0.04)^2, and past 10,000. */
    pv_combine_parts((const pv_component[]){{1, HUGE_VAL}, {0.2, 5}}, 2, &freedom);
    ck_assert_double_eq_tol(freedom, 3380, 1e-9);
    pv_combine_parts((const pv_component[]){{1, HUGE_VAL}, {0.01, 5}}, 2, &freedom);
    ck_assert(isinf(freedom));
    /* Table H.1: the standard's length, the comparison, the difference of expansion coefficients,
     * the difference of temperatures. */
    static const pv_component gauge[] = {{25, 18}, {9.7, 25.6}, {2.9, 50}, {16.6, 2}};
    u = pv_combine_parts(gauge, 4, &freedom);
    say_worst("H.1: u^2 from 1002 nm2", fabs(u * u - 1002), 1.5, "nm2");
    say_worst("H.1: effective degrees of freedom from 16.7", fabs(freedom - 16.7), 0.1, "");
    ck_assert_double_eq_tol(u, 32, 0.5);
    /* 1003.06 and 16.76 from the inputs as rounded in print; 1002 and 16.7 from those before. */
    ck_assert_double_eq_tol(u * u, 1002, 1.5);
    ck_assert_double_eq_tol(freedom, 16.7, 0.1);
    /* H.1.6: cut to 16, t_99 = 2.92, and 93 nm from u = 32 nm. */
    double t = pv_student_t(0.99, floor(freedom));
    ck_assert_double_eq_tol(t, 2.92, 0.005);
    ck_assert_double_eq_tol(t * rint(u), 93, 0.5);
}
END_TEST

/* H.1.7: with two terms of second order, l_s u(da) u(t) and l_s u(a) u(dt), u is 34 nm. The inputs
 * are from memory, but give the first-order terms that the example prints: 2.9 and 16.6 nm. */
START_TEST(the_end_gauge_has_terms_of_second_order)
{
    const double length = 50e6, mean_t = -0.1, expansion = 11.5e-6; /* nm, deg C, 1/deg C */
    const double u_da = 0.58e-6, u_t = 0.41, u_a = 1.2e-6, u_dt = 0.029;
    ck_assert_double_eq_tol(length * fabs(mean_t) * u_da, 2.9, 0.05);
    ck_assert_double_eq_tol(length * expansion * u_dt, 16.6, 0.1);
    const pv_component gauge[] = {{25, 18},
                                  {9.7, 25.6},
                                  {2.9, 50},
                                  {16.6, 2},
                                  {length * u_da * u_t, HUGE_VAL},
                                  {length * u_a * u_dt, HUGE_VAL}};
    double freedom, u = pv_combine_parts(gauge, 6, &freedom);
    ck_assert_double_eq_tol(u, 34, 0.5);
}
END_TEST

/* Table G.2 as printed, two decimals; 95 and 99 % stand in any textbook, too. The figures are from
 * memory; the closed forms below hold the same values to more digits. */
START_TEST(table_G2_as_printed)
{
    static const struct {
        double share, t[10]; /* 1 to 10 degrees of freedom */
    } columns[] = {
        {0.95, {12.71, 4.30, 3.18, 2.78, 2.57, 2.45, 2.36, 2.31, 2.26, 2.23}},
        {PV_COVERAGE, {13.97, 4.53, 3.31, 2.87, 2.65, 2.52, 2.43, 2.37, 2.32, 2.28}},
        {0.99, {63.66, 9.92, 5.84, 4.60, 4.03, 3.71, 3.50, 3.36, 3.25, 3.17}},
    };
    double worst = 0;
    for (size_t c = 0; c < 3; c++)
        for (int i = 0; i < 10; i++)
            worst = fmax(worst, fabs(pv_student_t(columns[c].share, i + 1) - columns[c].t[i]));
    say_worst("table G.2", worst, 0.0051, "");
    ck_assert_double_lt(worst, 0.0051);
}
END_TEST

/* Of table G.2 the rows of 1 and 2 degrees of freedom have closed forms, and the last row is the
 * normal distribution's, whose k = 2 stands for 95.45 %. */
START_TEST(table_G2_has_its_closed_forms)
{
    static const double shares[] = {0.6827, 0.90, 0.95, PV_COVERAGE, 0.99, 0.9973};
    double worst = 0;
    for (size_t i = 0; i < sizeof shares / sizeof *shares; i++) {
        double p = shares[i];
        double one = tan(PV_PI * p / 2), two = p * sqrt(2 / (1 - p * p));
        worst = fmax(worst, fabs(pv_student_t(p, 1) / one - 1));
        worst = fmax(worst, fabs(pv_student_t(p, 2) / two - 1));
    }
    say_worst("t for 1 and 2 degrees of freedom, relative", worst, 1e-12, "");
    ck_assert_double_lt(worst, 1e-12);
    ck_assert_double_eq_tol(pv_student_t(PV_COVERAGE, HUGE_VAL), 2, 1e-14);
    ck_assert_double_eq_tol(pv_student_t(PV_COVERAGE, 1), 13.97, 0.005);
    ck_assert_double_eq_tol(pv_student_t(PV_COVERAGE, 2), 4.53, 0.005);
}
END_TEST

/* Whole degrees of freedom have finite sums (Abramowitz and Stegun, 26.7.3 and 26.7.4, from memory,
 * and by integrating the density numerically below). */
static double closed_share(double t, int freedom)
{
    double angle = atan2(t, sqrt(freedom)), c = cos(angle), s = sin(angle), sum = 0, term = 1;
    if (freedom % 2 == 0) {
        for (int k = 0; k <= (freedom - 2) / 2; k++) {
            sum += term;
            term *= c * c * (2 * k + 1) / (2 * k + 2);
        }
        return s * sum;
    }
    for (int k = 0; k <= (freedom - 3) / 2; k++) {
        sum += term * c;
        term *= c * c * (2 * k + 2) / (2 * k + 3);
    }
    return 2 / PV_PI * (angle + (freedom > 1 ? s * sum : 0));
}

START_TEST(students_distribution_has_its_finite_sums)
{
    double worst = 0, back = 0;
    for (int freedom = 1; freedom <= 400; freedom++) {
        for (double t = 0.05; t < 40; t *= 1.7) { /* NOLINT: some twelve steps */
            double share = 2 * pv_student_cdf(t, freedom) - 1;
            worst = fmax(worst, fabs(share - closed_share(t, freedom)));
            ck_assert_double_eq_tol(pv_student_cdf(-t, freedom), 1 - pv_student_cdf(t, freedom),
                                    1e-15);
        }
        double t = pv_student_t(PV_COVERAGE, freedom);
        back = fmax(back, fabs(closed_share(t, freedom) - PV_COVERAGE));
    }
    say_worst("Student's distribution, 1 to 400 degrees of freedom", worst, 1e-12, "");
    say_worst("share that t for 95.45 % leaves between its limits", back, 1e-12, "");
    ck_assert_double_lt(worst, 1e-12);
    ck_assert_double_lt(back, 1e-12);
}
END_TEST

/* Simpson's rule on the density, from 0 to t, for degrees of freedom that aren't whole. */
static double integrated_share(double t, double freedom)
{
    int n = 4000;
    double h = t / n, sum = 0;
    double front = exp(lgamma((freedom + 1) / 2) - lgamma(freedom / 2)) / sqrt(freedom * PV_PI);
    for (int i = 0; i <= n; i++) {
        double x = i * h, weight = i == 0 || i == n ? 1 : i % 2 == 1 ? 4 : 2;
        sum += weight * pow(1 + x * x / freedom, -(freedom + 1) / 2);
    }
    return 2 * front * sum * h / 3;
}

START_TEST(parts_of_a_degree_count_too)
{
    double worst = 0, last = HUGE_VAL;
    static const double some[] = {1.3, 2.5, 3.9, 7.7, 16.76, 33.3, 250.5};
    for (size_t i = 0; i < sizeof some / sizeof *some; i++)
        for (double t = 0.3; t < 6; t += 0.9) /* NOLINT: seven steps */
            worst = fmax(worst,
                         fabs(2 * pv_student_cdf(t, some[i]) - 1 - integrated_share(t, some[i])));
    say_worst("Student's distribution between whole degrees", worst, 1e-9, "");
    ck_assert_double_lt(worst, 1e-9);
    /* From few to many, without a step where the way of computing changes. */
    for (double freedom = 1; freedom < 1e12; freedom *= 1.07) { /* NOLINT: some 400 steps */
        double t = pv_student_t(PV_COVERAGE, freedom);
        ck_assert_double_lt(t, last + 1e-9);
        ck_assert_double_ge(t, 2 - 1e-9);
        last = t;
    }
    double step = pv_student_t(0.99, 0.99999e5) - pv_student_t(0.99, 1.00001e5);
    ck_assert_double_eq_tol(step, 0, 1e-8);
}
END_TEST

START_TEST(parts_without_limit_limit_nothing)
{
    static const pv_component sure[] = {{3, HUGE_VAL}, {4, HUGE_VAL}};
    double freedom;
    ck_assert_double_eq(pv_combine_parts(sure, 2, &freedom), 5);
    ck_assert(isinf(freedom));
    ck_assert_double_eq(pv_combine_parts(sure, 0, &freedom), 0);
    ck_assert(isinf(freedom));
    /* One part alone keeps its own; G.4.1: never less than the least of them, nor more than all. */
    static const pv_component one[] = {{1e-3, 7}, {0, 1}};
    ck_assert_double_eq(pv_combine_parts(one, 2, &freedom), 1e-3);
    ck_assert_double_eq_tol(freedom, 7, 1e-12);
    static const pv_component two[] = {{1, 7}, {1, 7}, {1, HUGE_VAL}};
    pv_combine_parts(two, 3, &freedom);
    ck_assert_double_eq_tol(freedom, 9.0 / (2.0 / 7), 1e-9);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("gum");
    TCase *tcase = tcase_create("gum");
    tcase_add_test(tcase, the_end_gauge_comes_out_as_printed);
    tcase_add_test(tcase, the_end_gauge_has_terms_of_second_order);
    tcase_add_test(tcase, table_G2_as_printed);
    tcase_add_test(tcase, table_G2_has_its_closed_forms);
    tcase_add_test(tcase, students_distribution_has_its_finite_sums);
    tcase_add_test(tcase, parts_of_a_degree_count_too);
    tcase_add_test(tcase, parts_without_limit_limit_nothing);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
