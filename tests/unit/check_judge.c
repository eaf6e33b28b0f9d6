/* Decisions against closed forms of the normal distribution and JCGM 106:2012. */
#include "common.h"

#include "base/vec.h"
#include "judge/judge.h"

#include <math.h>

static double normal_cdf(double z)
{
    return 0.5 * erfc(-z / sqrt(2));
}

static unsigned long long state = 7;

static double uniform(void)
{
    state = state * 6364136223846793005ull + 1442695040888963407ull;
    return (double)(state >> 11) / 9007199254740992.0;
}

static double gauss(void)
{
    double u = 1 - uniform(), v = uniform();
    return sqrt(-2 * log(u)) * cos(2 * PV_PI * v);
}

START_TEST(the_guard_band_is_U_on_both_sides)
{
    /* Powers of two, so that the sums are exact and the limits themselves can be tried. */
    ck_assert_int_eq(pv_judge(0.25, 0.25, 0.5), PV_CONFORMS);
    ck_assert_int_eq(pv_judge(-0.25, 0.25, 0.5), PV_CONFORMS);
    ck_assert_int_eq(pv_judge(0.2500001, 0.25, 0.5), PV_UNDECIDED);
    ck_assert_int_eq(pv_judge(0.5, 0.25, 0.5), PV_UNDECIDED);
    ck_assert_int_eq(pv_judge(0.75, 0.25, 0.5), PV_UNDECIDED);
    ck_assert_int_eq(pv_judge(0.7500001, 0.25, 0.5), PV_DOES_NOT_CONFORM);
    ck_assert_int_eq(pv_judge(-0.8, 0.25, 0.5), PV_DOES_NOT_CONFORM);
    ck_assert_int_eq(pv_judge(0.5, 0, 0.5), PV_CONFORMS);
    ck_assert_int_eq(pv_judge(0, 0.6, 0.5), PV_UNDECIDED); /* too coarse to say anything */
}
END_TEST

START_TEST(what_is_not_a_number_decides_nothing)
{
    ck_assert_int_eq(pv_judge(NAN, 0.1, 1), PV_UNDECIDED);
    ck_assert_int_eq(pv_judge(0, NAN, 1), PV_UNDECIDED);
    ck_assert_int_eq(pv_judge(0, HUGE_VAL, 1), PV_UNDECIDED);
    ck_assert_int_eq(pv_judge(HUGE_VAL, 0.1, 1), PV_UNDECIDED);
    ck_assert_int_eq(pv_judge(0, -0.1, 1), PV_UNDECIDED);
    ck_assert_int_eq(pv_judge(0, 0.1, NAN), PV_UNDECIDED);
}
END_TEST

/* JCGM 106:2012, 8.3.3: with a guard band of U = 2 u, an item that lies right on the tolerance
 * limit is accepted with probability 1 - Phi(2) = 2.275 %, and one whose reading lies on the
 * acceptance limit conforms with Phi(2) = 97.725 %. Rejection is guarded alike. */
START_TEST(wrong_decisions_are_as_rare_as_the_guard_band_says)
{
    const double u = 0.1, tolerance = 1;
    int n = 400000, accepted = 0, rejected = 0;
    for (int i = 0; i < n; i++) {
        pv_verdict verdict = pv_judge(tolerance + u * gauss(), 2 * u, tolerance);
        accepted += verdict == PV_CONFORMS;
        rejected += verdict == PV_DOES_NOT_CONFORM;
    }
    double expected = 1 - normal_cdf(2);
    ck_assert_double_eq_tol(expected, 0.02275, 5e-6);
    double worst =
        fmax(fabs((double)accepted / n - expected), fabs((double)rejected / n - expected));
    say_worst("share of wrong decisions at the limit", worst, 0.001, "");
    ck_assert_double_lt(worst, 0.001);
}
END_TEST

START_TEST(the_whole_is_as_bad_as_its_worst_part)
{
    static const pv_verdict order[] = {PV_CONFORMS, PV_UNDECIDED, PV_DOES_NOT_CONFORM};
    for (int a = 0; a < 3; a++)
        for (int b = 0; b < 3; b++)
            ck_assert_int_eq(pv_judge_worse(order[a], order[b]), order[a > b ? a : b]);
}
END_TEST

START_TEST(verdicts_have_the_names_of_the_format)
{
    ck_assert_str_eq(pv_verdict_name(PV_CONFORMS), "conforms");
    ck_assert_str_eq(pv_verdict_name(PV_DOES_NOT_CONFORM), "does not conform");
    ck_assert_str_eq(pv_verdict_name(PV_UNDECIDED), "undecided");
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("judge");
    TCase *tcase = tcase_create("judge");
    tcase_add_test(tcase, the_guard_band_is_U_on_both_sides);
    tcase_add_test(tcase, what_is_not_a_number_decides_nothing);
    tcase_add_test(tcase, wrong_decisions_are_as_rare_as_the_guard_band_says);
    tcase_add_test(tcase, the_whole_is_as_bad_as_its_worst_part);
    tcase_add_test(tcase, verdicts_have_the_names_of_the_format);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
