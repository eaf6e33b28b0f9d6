/* Decisions against closed forms of the normal distribution and JCGM 106:2012. */
#include "common.h"
#include "values.h"

#include "base/vec.h"
#include "judge/gum.h"
#include "judge/judge.h"
#include "judge/notes.h"
#include "judge/remedy.h"

#include <math.h>
#include <string.h>

static double normal_cdf(double z)
{
    return 0.5 * erfc(-z / sqrt(2));
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

/* JCGM 106:2012, 8.3 (from memory): with a guard band of U = 2 u, an item that lies right on the
 * tolerance limit is accepted with probability 1 - Phi(2) = 2.275 %, and one whose reading lies on
 * the acceptance limit conforms with Phi(2) = 97.725 %. Rejection is guarded alike. */
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

/* JCGM 106:2012, table 1 (clause 7.3): how far, in u, a limit must be for a conformance probability
 * p. The figures are computed. */
START_TEST(one_limit_as_in_table_1)
{
    static const double p[] = {0.80, 0.90, 0.95, 0.99, 0.999};
    static const double z[] = {0.8416, 1.2816, 1.6449, 2.3263, 3.0902};
    double worst = 0;
    for (size_t i = 0; i < 5; i++) {
        double above = pv_conformance(0.3, 0.01, HUGE_VAL, -HUGE_VAL, 0.3 + 0.01 * z[i]);
        double below = pv_conformance(0.3, 0.01, HUGE_VAL, 0.3 - 0.01 * z[i], HUGE_VAL);
        worst = fmax(worst, fmax(fabs(above - p[i]), fabs(below - p[i])));
    }
    say_worst("table 1 of JCGM 106", worst, 2e-5, ""); /* z has four decimals */
    ck_assert_double_lt(worst, 2e-5);
}
END_TEST

/* The worked examples of JCGM 106:2012, 7.3 and 7.4; their inputs are from memory, the results
 * computed from them. */
START_TEST(conformance_probabilities_of_the_examples)
{
    double gauge = pv_conformance(-5.47, 0.05, HUGE_VAL, -HUGE_VAL, -5.40);
    double zener = pv_conformance(509.7, 8.6, HUGE_VAL, 490, HUGE_VAL);
    double both = pv_conformance(13.6, 1.8, HUGE_VAL, 12.5, 16.3);
    ck_assert_double_eq_tol(gauge, 0.9192, 5e-5);
    ck_assert_double_eq_tol(zener, 0.9890, 5e-5);
    ck_assert_double_eq_tol(both, 0.6626, 5e-5);
}
END_TEST

/* Annex B and clause 9 of JCGM 106:2012: resistors of a nominal 1500 ohm that are made with a
 * standard deviation of 0.12 and measured with 0.04, tolerance 0.20, accepted within 0.18. The risk
 * of accepting a bad one, or rejecting a good one, is the integral of the density of what is made
 * over what the instrument then says; for one true value that is pv_conformance again, of the
 * acceptance interval. Inputs from memory, results computed. */
static void global_risks(double acceptance, double *consumer, double *producer)
{
    const double made = 0.12, read = 0.04, tolerance = 0.20;
    int n = 40000;
    double reach = 1, h = 2 * reach / n;
    *consumer = *producer = 0;
    for (int i = 0; i < n; i++) { /* midpoints; the limits lie between cells */
        double at = -reach + (i + 0.5) * h;
        double density = exp(-at * at / (2 * made * made)) / (made * sqrt(2 * PV_PI));
        double accepted = pv_conformance(at, read, HUGE_VAL, -acceptance, acceptance);
        if (fabs(at) > tolerance)
            *consumer += density * accepted * h;
        else
            *producer += density * (1 - accepted) * h;
    }
}

START_TEST(risks_of_the_examples)
{
    double conforming = pv_conformance(0, 0.12, HUGE_VAL, -0.20, 0.20);
    ck_assert_double_eq_tol(conforming, 0.9044, 5e-5);
    double consumer, producer;
    global_risks(0.18, &consumer, &producer);
    ck_assert_double_eq_tol(consumer, 0.00988, 5e-6);
    ck_assert_double_eq_tol(producer, 0.0690, 5e-5);
    global_risks(0.20, &consumer, &producer);
    ck_assert_double_eq_tol(consumer, 0.01894, 5e-6);
    ck_assert_double_eq_tol(producer, 0.03721, 5e-6);
    /* A guard band of U = 2 u leaves Phi(2) on the acceptance limit (8.3). */
    ck_assert_double_eq_tol(pv_conformance(0.8, 0.1, HUGE_VAL, -HUGE_VAL, 1), 0.97725, 5e-6);
}
END_TEST

START_TEST(few_degrees_of_freedom_make_less_sure)
{
    double last = 0;
    static const double freedom[] = {1, 2, 3, 5, 10, 30, 100, HUGE_VAL};
    for (size_t i = 0; i < sizeof freedom / sizeof *freedom; i++) {
        double p = pv_conformance(0.1, 0.1, freedom[i], -0.4, 0.4);
        ck_assert_double_gt(p, last);
        last = p;
        /* Where U with its own k reaches just to the limit, the other limit far away. */
        double k = pv_student_t(PV_COVERAGE, freedom[i]);
        double near = pv_conformance(1 - 0.1 * k, 0.1, freedom[i], -HUGE_VAL, 1);
        ck_assert_double_eq_tol(near, 0.5 + PV_COVERAGE / 2, 1e-12);
    }
    ck_assert_double_eq(pv_conformance(0.2, 0, HUGE_VAL, -0.2, 0.2), 1);
    ck_assert_double_eq(pv_conformance(0.21, 0, HUGE_VAL, -0.2, 0.2), 0);
}
END_TEST

/* ---- many values ---- */

/* Of n values in a sheet, all right on their limit, which is the worst case; a share `common` of
 * their variance is an error that all share. How often the sheet is condemned. */
static double condemned(size_t n, double common, int sheets)
{
    int times = 0;
    for (int i = 0; i < sheets; i++) {
        double chance[60], shared = sqrt(common) * gauss();
        size_t outside = 0;
        for (size_t k = 0; k < n; k++) {
            double z = shared + sqrt(1 - common) * gauss();
            if (z > 2)
                chance[outside++] = normal_cdf(-z);
        }
        times += pv_judge_many(chance, outside, n);
    }
    return (double)times / sheets;
}

START_TEST(one_of_many_condemns_no_sheet)
{
    double one = (1 - PV_COVERAGE) / 2, worst = 0;
    static const double common[] = {0, 0.3, 0.7, 0.95, 1};
    for (size_t i = 0; i < sizeof common / sizeof *common; i++)
        worst = fmax(worst, condemned(60, common[i], 20000));
    /* Three standard deviations of the count above what a single value is allowed. */
    double most = one + 3 * sqrt(one * (1 - one) / 20000);
    say_worst("share of sheets condemned, 60 values at their limit", worst, most, "");
    ck_assert_double_lt(worst, most);
    /* For comparison: with the worst value alone deciding it would be 1 - 0.977^60 = 75 %. */
    double chance[] = {0.02, 0.0003};
    ck_assert(!pv_judge_many(chance, 1, 60));
    ck_assert(pv_judge_many(chance + 1, 1, 60));
    ck_assert(pv_judge_many(chance, 1, 1));
    /* Many that are moderately out are as telling as one that is far out, in any order. */
    double some[] = {0.01, 0.02, 0.001, 0.015};
    ck_assert(pv_judge_many(some, 4, 4));
    ck_assert(!pv_judge_many(some, 4, 400));
    ck_assert(!pv_judge_many(some, 0, 10));
}
END_TEST

/* ---- what would settle it ---- */

static pv_inspection scanned(double dpi, double U_rel)
{
    pv_inspection in = {.sheet = {.reference = PV_REFERENCE_SCANNER, .reference_U_rel = U_rel}};
    in.sheet.measured_resolution[0] = in.sheet.measured_resolution[1] = dpi / 25.4;
    return in;
}

static pv_value undecided(pv_value_kind kind, double nominal, double value, double tolerance)
{
    return (pv_value){.kind = kind,
                      .nominal = nominal,
                      .value = value,
                      .k = 2,
                      .freedom = HUGE_VAL,
                      .tolerance = tolerance,
                      .verdict = PV_UNDECIDED,
                      .measured = true};
}

static pv_value with_part(pv_value value, pv_contribution part, double u)
{
    value.part[part] = u;
    value.u = hypot(value.u, u);
    value.U = value.k * value.u;
    return value;
}

START_TEST(the_remedy_is_where_the_budget_says)
{
    pv_inspection in = scanned(300, 0.001);
    pv_value v = with_part(undecided(PV_KIND_SPACING, 400, 400.5, 0.8), PV_PART_REFERENCE, 0.2);
    v = with_part(v, PV_PART_SCATTER, 0.001);
    pv_remedy_find(&in, &v, false);
    ck_assert_uint_eq(v.remedy, PV_REMEDY_REFERENCE);
    ck_assert_double_eq_tol(v.U_needed, 0.3, 1e-9);
    v = with_part(undecided(PV_KIND_WIDTH, 20, 20.293, 0.3), PV_PART_GRID, 0.005);
    pv_remedy_find(&in, &v, false);
    ck_assert_uint_eq(v.remedy, PV_REMEDY_IMAGE);
    v = with_part(undecided(PV_KIND_SKEW, 0, 2.5, 3), PV_PART_POSE, 0.4);
    pv_remedy_find(&in, &v, false);
    ck_assert_uint_eq(v.remedy, PV_REMEDY_FLAT);
    /* Two at once, where neither alone is enough. */
    v = with_part(with_part(undecided(PV_KIND_SKEW, 0, 2.45, 3), PV_PART_POSE, 0.4),
                  PV_PART_REFERENCE, 0.4);
    pv_remedy_find(&in, &v, false);
    ck_assert_uint_eq(v.remedy, PV_REMEDY_FLAT | PV_REMEDY_REFERENCE);
    /* On the limit itself nothing that measures decides; nor where ink's spread is the doubt. */
    v = with_part(undecided(PV_KIND_WIDTH, 20, 20.3, 0.3), PV_PART_GRID, 0.005);
    pv_remedy_find(&in, &v, false);
    ck_assert_uint_eq(v.remedy, PV_REMEDY_PRINT);
    v = with_part(undecided(PV_KIND_WIDTH, 20, 20.25, 0.3), PV_PART_INK, 0.05);
    pv_remedy_find(&in, &v, false);
    ck_assert_uint_eq(v.remedy, PV_REMEDY_PRINT);
    /* A coarse reference's own error is in the value: a better one moves it. */
    v = with_part(undecided(PV_KIND_SCALE, 1, 0.99701, 0.003), PV_PART_REFERENCE, 0.0011);
    in.sheet.reference_U_rel = 0.0022;
    pv_remedy_find(&in, &v, false);
    ck_assert_uint_eq(v.remedy, PV_REMEDY_REFERENCE);
    in.sheet.reference_U_rel = 0.0003;
    pv_remedy_find(&in, &v, false);
    ck_assert_uint_eq(v.remedy, PV_REMEDY_PRINT);
    /* A picture of 600 dpi can't be taken finer. */
    in = scanned(600, 0.001);
    v = with_part(undecided(PV_KIND_WIDTH, 20, 20.299, 0.3), PV_PART_SCATTER, 0.005);
    pv_remedy_find(&in, &v, false);
    ck_assert_uint_eq(v.remedy, PV_REMEDY_PRINT);
}
END_TEST

static char *advised(const pv_inspection *in)
{
    pv_text text = PV_TEXT_INIT;
    pv_remedy_advice(&text, in, PV_REMEDY_REFERENCE);
    return pv_text_take(&text);
}

/* What readings must reach comes from the textbook's propagation: a length of L read to U gives its
 * scale to U / L. */
START_TEST(steps_are_those_that_decide)
{
    pv_inspection in = {.sheet = {.photograph = true, .gauge = {180, 240}}};
    in.sheet.verdict = PV_UNDECIDED;
    for (size_t i = 0; i < 2; i++)
        add_row(&in.table, missing_row(PV_KIND_SCALE, i, 0.003));
    for (size_t i = 0; i < 2; i++)
        pv_remedy_find(&in, row_of(&in, PV_KIND_SCALE, i), false);
    /* 0.3 / 180 = 0.17 %, of 0.3 % allowed: both sides will do. */
    pv_remedy_steps(&in);
    ck_assert_uint_eq(pv_inspection_steps(&in), 2);
    ck_assert(in.steps[0].from == 'P' && in.steps[0].to == 'Q' && in.steps[0].nominal == 180);
    ck_assert(in.steps[1].from == 'P' && in.steps[1].to == 'S' && in.steps[1].nominal == 240);
    char *said = advised(&in);
    assert_says(said, "card|P to Q (180 mm|P to S (240 mm|steel rule|--measured|scan");
    pv_free(said);
    /* With the skew both diagonals, too. */
    add_row(&in.table, missing_row(PV_KIND_SKEW, 0, 3));
    pv_remedy_find(&in, row_of(&in, PV_KIND_SKEW, 0), false);
    pv_remedy_steps(&in);
    ck_assert_uint_eq(pv_inspection_steps(&in), 4);
    ck_assert_double_eq_tol(in.steps[3].nominal, 300, 1e-9);
    /* On a sheet of half that size the rule must be read better; on a roll a tape is needed. */
    in.sheet.gauge[0] = 85;
    in.sheet.gauge[1] = 125;
    pv_remedy_steps(&in);
    ck_assert_uint_ge(pv_inspection_steps(&in), 4);
    ck_assert_double_lt(in.steps[0].U, PV_RULER_U);
    said = advised(&in);
    assert_says(said, "magnifying glass|+-0.");
    pv_free(said);
    in.sheet.gauge[0] = 850;
    in.sheet.gauge[1] = 1250;
    pv_remedy_steps(&in);
    ck_assert_uint_eq(pv_inspection_steps(&in), 4);
    said = advised(&in);
    assert_says(said, "tape");
    pv_free(said);
    /* Nobody reads to a hundredth: then a ruler isn't said. */
    in.sheet.gauge[0] = 85;
    in.sheet.gauge[1] = 125;
    row_of(&in, PV_KIND_SCALE, 1)->tolerance = 0.0002;
    pv_remedy_steps(&in);
    ck_assert_uint_eq(pv_inspection_steps(&in), 0);
    said = advised(&in);
    ck_assert_ptr_null(strstr(said, "steel"));
    assert_says(said, "card|scan");
    pv_free(said);
    pv_measures_clear(&in.table);
}
END_TEST

START_TEST(a_need_that_rounds_to_what_there_is)
{
    pv_value v = {
        .kind = PV_KIND_SCALE, .U = 0.001, .U_needed = 0.0009999, .remedy = PV_REMEDY_REFERENCE};
    pv_text text = PV_TEXT_INIT;
    pv_remedy_need(&text, &v);
    assert_says(text.chars, "0.100 %");
    ck_assert_ptr_null(strstr(strstr(text.chars, "0.1") + 1, "0.1")); /* not from it to itself */
    pv_text_drop(&text);
}
END_TEST

START_TEST(lines_are_too_thin_by_the_resolution)
{
    ck_assert(pv_line_too_thin(1.0, 300 / 25.4));
    ck_assert(!pv_line_too_thin(1.05, 300 / 25.4));
    ck_assert(!pv_line_too_thin(1.0, 600 / 25.4));
    ck_assert(pv_line_too_thin(0.85, 600 / 25.4));
    pv_line_result lines[] = {{.id = "one", .nominal = 1, .too_thin = true},
                              {.id = "hair", .nominal = 0.25, .too_thin = true},
                              {.id = "hidden", .nominal = 5}};
    pv_inspection in = scanned(300, 0.001);
    in.table.lines = lines;
    in.table.n_lines = 3;
    ck_assert(pv_no_line_measured(&in));
    pv_notes notes = {0};
    pv_notes_of_results(&notes, &in);
    ck_assert_uint_eq(notes.n, 3);
    assert_says(notes.items[0], "300 dpi|600 dpi|one");
    assert_says(notes.items[1], "0.9 mm|hair");
    assert_says(notes.items[2], "hidden");
    for (size_t i = 0; i < notes.n; i++)
        pv_free(notes.items[i]);
    pv_free(notes.items);
    lines[2].planned = 3;
    ck_assert(!pv_no_line_measured(&in));
    in.table.n_lines = 0;
    ck_assert(!pv_no_line_measured(&in));
}
END_TEST

START_TEST(what_was_not_measured_says_what_is_missing)
{
    pv_inspection in = {.sheet = {.photograph = true}};
    pv_value v = missing_row(PV_KIND_SCALE, 0, 0.003);
    pv_remedy_find(&in, &v, false);
    ck_assert_uint_eq(v.remedy, PV_REMEDY_REFERENCE);
    ck_assert_double_eq(v.U_needed, 0);
    v = undecided(PV_KIND_WIDTH, 20, 20.1, 0.3); /* relative only */
    pv_remedy_find(&in, &v, false);
    ck_assert_uint_eq(v.remedy, PV_REMEDY_REFERENCE);
    pv_remedy_find(&in, &v, true);
    ck_assert_uint_eq(v.remedy, PV_REMEDY_SIGHT);
    in = scanned(300, 0.001);
    v = missing_row(PV_KIND_WIDTH, 0, 0.3);
    pv_remedy_find(&in, &v, false);
    ck_assert_uint_eq(v.remedy, PV_REMEDY_SIGHT);
    v.kind = PV_KIND_SCALE;
    pv_remedy_find(&in, &v, false); /* of one direction nothing tells it */
    ck_assert_uint_eq(v.remedy, PV_REMEDY_REFERENCE);
    v.verdict = PV_CONFORMS;
    pv_remedy_find(&in, &v, false);
    ck_assert_uint_eq(v.remedy, 0);
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
    tcase_add_test(tcase, one_limit_as_in_table_1);
    tcase_add_test(tcase, conformance_probabilities_of_the_examples);
    tcase_add_test(tcase, risks_of_the_examples);
    tcase_add_test(tcase, few_degrees_of_freedom_make_less_sure);
    tcase_add_test(tcase, one_of_many_condemns_no_sheet);
    tcase_add_test(tcase, the_remedy_is_where_the_budget_says);
    tcase_add_test(tcase, steps_are_those_that_decide);
    tcase_add_test(tcase, a_need_that_rounds_to_what_there_is);
    tcase_add_test(tcase, lines_are_too_thin_by_the_resolution);
    tcase_add_test(tcase, what_was_not_measured_says_what_is_missing);
    tcase_add_test(tcase, verdicts_have_the_names_of_the_format);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
