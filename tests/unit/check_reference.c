/* References and how they are combined, against closed forms, printed tables and Monte Carlo. */
#include "common.h"
#include "wording.h"

#include "base/text.h"
#include "reference/basis.h"
#include "reference/combine.h"
#include "reference/ground.h"
#include "reference/paper.h"
#include "reference/ruler.h"
#include "reference/scanner.h"

#include <pavior/printer.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- several references ---- */

static pv_evidence scan_says(double sx, double sy, double u, double shared, double skew,
                             double u_skew)
{
    pv_metric m = {.scale = {sx, sy}, .skew = skew};
    m.cov[0] = m.cov[4] = u * u;
    m.cov[1] = m.cov[3] = shared * u * u;
    m.cov[8] = u_skew * u_skew;
    pv_evidence out = pv_evidence_of_metric(PV_REFERENCE_SCANNER, &m);
    pv_evidence_result(&out);
    return out;
}

/* About one axis alone. */
static pv_evidence one_says(pv_reference_kind kind, int axis, double scale, double u)
{
    pv_evidence out = {.result = {.kind = kind}, .rows = 1};
    out.row[0][axis] = 1;
    out.z[0] = log(scale);
    out.cov[0] = u * u;
    pv_evidence_result(&out);
    return out;
}

static pv_evidence card_says(double sx, double sy, double u)
{
    pv_evidence out = scan_says(sx, sy, u, 0, 0, 1e-3);
    out.result.kind = PV_REFERENCE_CARD;
    return out;
}

START_TEST(every_kind_has_its_own_name_and_a_noun)
{
    for (int i = 0; i < PV_REFERENCE_KINDS; i++) {
        ck_assert_ptr_nonnull(pv_reference_noun((pv_reference_kind)i));
        for (int k = 0; k < i; k++)
            ck_assert_str_ne(pv_reference_name((pv_reference_kind)i),
                             pv_reference_name((pv_reference_kind)k));
    }
    ck_assert_str_eq(pv_reference_name(PV_REFERENCE_KINDS), "none");
}
END_TEST

/* Uncorrelated: mean by 1/u^2, its variance the reciprocal of the sum, times Birge's ratio where
 * that is over 1. What the weak prior does to it is below 1e-6 of u. */
START_TEST(two_that_agree_are_a_weighted_mean)
{
    pv_evidence items[] = {scan_says(1.001, 0.998, 5e-4, 0, 1e-3, 5e-4),
                           card_says(1.0018, 0.9973, 4e-4)};
    pv_combined c = pv_combine(items, 2);
    double w[2] = {1 / (5e-4 * 5e-4), 1 / (4e-4 * 4e-4)}, worst = 0;
    const double z[2][2] = {{log(1.001), log(0.998)}, {log(1.0018), log(0.9973)}};
    double chi = 0;
    for (int a = 0; a < 2; a++) {
        double mean = (w[0] * z[0][a] + w[1] * z[1][a]) / (w[0] + w[1]);
        double own = w[0] * pow(z[0][a] - mean, 2) + w[1] * pow(z[1][a] - mean, 2);
        double birge = sqrt(fmax(1, own)); /* of one degree of freedom */
        chi += own;
        worst = fmax(worst, fabs(log(c.metric.scale[a]) - mean));
        worst = fmax(worst, fabs(sqrt(c.metric.cov[4 * a]) - birge / sqrt(w[0] + w[1])));
        ck_assert_double_eq_tol(c.widened[a], birge, 1e-5);
        for (int i = 0; i < 2; i++)
            ck_assert_double_eq_tol(items[i].result.weight[a], w[i] / (w[0] + w[1]), 1e-6);
    }
    double ws[2] = {1 / (5e-4 * 5e-4), 1 / (1e-3 * 1e-3)};
    double skew = ws[0] * 1e-3 / (ws[0] + ws[1]);
    chi += ws[0] * pow(1e-3 - skew, 2) + ws[1] * skew * skew;
    worst = fmax(worst, fabs(c.metric.skew - skew));
    say_worst("weighted mean of two references, and its u", worst, 1e-9, "");
    ck_assert_double_lt(worst, 1e-9);
    ck_assert_int_eq(c.agreement, PV_AGREE);
    ck_assert_int_eq(c.freedom, 3);
    ck_assert_double_eq_tol(c.chi_squared, chi, 1e-5);
    ck_assert_double_eq_tol(c.limit, 7.815, 5e-4);
    pv_text note = PV_TEXT_INIT;
    pv_combined_note(&c, items, 2, &note);
    ck_assert_uint_eq(note.length, 0);
}
END_TEST

/* Correlated: a scan whose two scales share part of their error, and a reading along x alone. By
 * the update form of least squares, p = p1 + K (z - x1), K = C h / (h'Ch + u^2), it moves y, too.
 */
START_TEST(what_is_shared_carries_over)
{
    double worst = 0, worst_u = 0, worst_chi = 0;
    for (int i = 0; i < 500; i++) {
        double u = 1e-4 * (1 + 20 * uniform()), r = -0.95 + 1.9 * uniform(),
               v = 1e-4 * (1 + 20 * uniform());
        double x = 1 + 0.02 * (uniform() - 0.5), y = 1 + 0.02 * (uniform() - 0.5);
        double away = 1.3 * sqrt(u * u + v * v) * (2 * uniform() - 1), read = exp(log(x) + away);
        pv_evidence items[] = {scan_says(x, y, u, r, 1e-3, 5e-4),
                               one_says(PV_REFERENCE_RULER, 0, read, v)};
        pv_combined c = pv_combine(items, 2);
        double sum = u * u + v * v, kx = u * u / sum, ky = r * u * u / sum;
        worst = fmax(worst, fabs(log(c.metric.scale[0]) - (log(x) + kx * away)) / u);
        worst = fmax(worst, fabs(log(c.metric.scale[1]) - (log(y) + ky * away)) / u);
        double birge = sqrt(fmax(1, away * away / sum)); /* of x alone, which two tell */
        const double cov[3] = {birge * birge * (u * u - kx * u * u),
                               birge * (r * u * u - kx * r * u * u), u * u - ky * r * u * u};
        worst_u = fmax(worst_u, fabs(c.metric.cov[0] - cov[0]) / (u * u));
        worst_u = fmax(worst_u, fabs(c.metric.cov[1] - cov[1]) / (u * u));
        worst_u = fmax(worst_u, fabs(c.metric.cov[4] - cov[2]) / (u * u));
        worst_chi = fmax(worst_chi, fabs(c.chi_squared - away * away / sum));
        ck_assert_int_eq(c.agreement, PV_AGREE);
        ck_assert_int_eq(c.freedom, 1);
    }
    say_worst("correlated references, value by its u", worst, 1e-4, "");
    say_worst("correlated references, covariance by u^2", worst_u, 1e-5, "");
    say_worst("correlated references, chi-squared", worst_chi, 1e-4, "");
    ck_assert_double_lt(worst, 1e-4);
    ck_assert_double_lt(worst_u, 1e-5);
    ck_assert_double_lt(worst_chi, 1e-4);
}
END_TEST

/* Where two say what they are worth, they are said to disagree in 5 % of cases; and the interval
 * holds the truth as often as it says. */
START_TEST(chance_alone_is_called_disagreement_in_one_of_twenty)
{
    int n = 40000, apart = 0, held = 0, known = 0;
    for (int i = 0; i < n; i++) {
        pv_evidence items[] = {one_says(PV_REFERENCE_RULER, 0, exp(4e-4 * gauss()), 4e-4),
                               one_says(PV_REFERENCE_RULER, 1, exp(4e-4 * gauss()), 4e-4),
                               one_says(PV_REFERENCE_PAPER, 0, exp(7e-4 * gauss()), 7e-4)};
        pv_combined c = pv_combine(items, 3);
        apart += c.agreement != PV_AGREE;
        known += c.metric.known;
        held += c.metric.known && fabs(log(c.metric.scale[0])) <= 2 * sqrt(c.metric.cov[0]);
    }
    double share = (double)apart / n, hold = (double)held / known;
    say_worst("share said to disagree by chance, from 5 %", fabs(share - 0.05), 0.0035, "");
    ck_assert_double_eq_tol(share, 0.05, 0.0035); /* three standard deviations of the count */
    printf("    intervals that hold the truth: %.2f %%\n", 100 * hold);
    ck_assert_double_gt(hold, 0.951);
}
END_TEST

START_TEST(of_two_that_disagree_none_decides)
{
    /* A scan good to 0.1 % that says 100 %, and a ruler good to 0.2 % that says 98.8 %. */
    pv_evidence items[] = {scan_says(1, 1, 5e-4, 0, 0, 1e-3),
                           one_says(PV_REFERENCE_RULER, 0, 0.988, 1e-3)};
    pv_combined c = pv_combine(items, 2);
    double sum = 5e-4 * 5e-4 + 1e-3 * 1e-3, off = log(0.988);
    ck_assert_int_eq(c.agreement, PV_DISAGREE);
    ck_assert_double_eq_tol(c.chi_squared, off * off / sum, 1e-3);
    ck_assert(!c.metric.known && !c.metric.has_skew);
    ck_assert(items[0].result.disagrees && items[1].result.disagrees);
    ck_assert_double_eq(items[0].result.weight[0], 0);
    pv_text note = PV_TEXT_INIT;
    pv_combined_note(&c, items, 2, &note);
    assert_says(note.chars, "scanner|ruler|1.20 % along x|x 100.00|x 98.80|card");
    pv_text_drop(&note);
    /* Of three, the two that do most are named: here the card and the paper. */
    pv_evidence three[] = {one_says(PV_REFERENCE_PAPER, 0, 0.985, 2e-3), card_says(1, 1, 5e-4),
                           scan_says(0.9982, 0.9982, 4e-3, 0, 0, 1e-3)};
    c = pv_combine(three, 3);
    ck_assert_int_eq(c.agreement, PV_DISAGREE);
    ck_assert_uint_eq(c.pair[0], 0);
    ck_assert_uint_eq(c.pair[1], 1);
    ck_assert(!three[2].result.disagrees);
}
END_TEST

/* Whatever two say, with one of them wrong by any amount in one direction: where a scale comes out,
 * its interval holds what the true one says, or nearly. */
START_TEST(what_agrees_only_just_makes_nothing_surer)
{
    double worst = 0;
    for (int i = 0; i <= 400; i++) {
        double wrong = 1 + 1e-5 * i;
        pv_evidence items[] = {scan_says(1, 1, 0.00115, 0, 0, 1e-3), card_says(wrong, 1, 7e-4)};
        pv_combined c = pv_combine(items, 2);
        if (c.agreement == PV_AGREE)
            worst = fmax(worst, fabs(log(c.metric.scale[0])) / (2 * sqrt(c.metric.cov[0])));
    }
    say_worst("true scale off the interval's middle, by its U", worst, 1.1, "");
    ck_assert_double_lt(worst, 1.1);
}
END_TEST

START_TEST(of_three_the_odd_one_is_left_out)
{
    pv_evidence items[] = {scan_says(0.971, 0.971, 5e-4, 0.5, 0, 1e-3), card_says(1, 1, 5e-4),
                           one_says(PV_REFERENCE_RULER, 0, 1.0004, 1e-3),
                           one_says(PV_REFERENCE_PAPER, 1, 0.9993, 2e-3)};
    pv_combined c = pv_combine(items, 4);
    ck_assert_int_eq(c.agreement, PV_ONE_LEFT_OUT);
    ck_assert_uint_eq(c.left_out, 0);
    /* As if it weren't there. */
    pv_evidence rest[] = {items[1], items[2], items[3]};
    pv_combined without = pv_combine(rest, 3);
    for (int a = 0; a < 2; a++) {
        ck_assert_double_eq(c.metric.scale[a], without.metric.scale[a]);
        ck_assert_double_eq(c.metric.cov[4 * a], without.metric.cov[4 * a]);
        ck_assert_double_eq(items[0].result.weight[a], 0);
    }
    pv_text note = PV_TEXT_INIT;
    pv_combined_note(&c, items, 4, &note);
    assert_says(note.chars, "scanner|" SAYS_LEFT_OUT);
    pv_text_drop(&note);
    /* A coarse one that contradicts neither of two can't tell which of them is wrong. */
    pv_evidence coarse[] = {scan_says(1, 1, 0.00115, 0, 0, 1e-3), card_says(1.01, 1.01, 7e-4),
                            one_says(PV_REFERENCE_PAPER, 0, 1.0, 5e-3)};
    ck_assert_int_eq(pv_combine(coarse, 3).agreement, PV_DISAGREE);
}
END_TEST

START_TEST(one_axis_alone_is_not_known)
{
    pv_evidence ruler = one_says(PV_REFERENCE_RULER, 1, 0.99, 1e-3);
    pv_combined c = pv_combine(&ruler, 1);
    ck_assert(!c.metric.known && !c.metric.has_skew);
    ck_assert_double_eq(c.metric.scale[0], 1);
    ck_assert_double_eq(c.metric.scale[1], 1);
    ck_assert_int_eq(c.freedom, 0);
    c = pv_combine(NULL, 0);
    ck_assert(!c.metric.known);
    ck_assert_int_eq(c.agreement, PV_AGREE);
    /* Square pixels carry the reading over: x = y + (x - y). */
    pv_evidence square = {.result = {.kind = PV_REFERENCE_SCANNER}, .silent = true, .rows = 1};
    square.row[0][0] = 1;
    square.row[0][1] = -1;
    square.z[0] = 0.002;
    square.cov[0] = 3e-4 * 3e-4;
    pv_evidence both[] = {ruler, square};
    c = pv_combine(both, 2);
    ck_assert(c.metric.known);
    ck_assert_double_eq_tol(log(c.metric.scale[0]), log(0.99) + 0.002, 1e-7);
    ck_assert_double_eq_tol(sqrt(c.metric.cov[0]), hypot(1e-3, 3e-4), 1e-8);
    ck_assert_double_eq_tol(sqrt(c.metric.cov[4]), 1e-3, 1e-8);
}
END_TEST

/* ---- ruler ---- */

/* A sheet with gauge marks 180 mm apart across and 240 mm up: the diagonals are 300 mm. */
static const pv_sheet gauged = {
    .name = "A1", .gauge = {{10, 20}, {190, 20}, {190, 260}, {10, 260}}, .n_gauge = PV_GAUGE_MARKS};

/* What a print of that metric has between two marks, by its corners. */
static double printed(double sx, double sy, double skew, char from, char to)
{
    pv_metric m = {.scale = {sx, sy}, .skew = skew};
    pv_vec a = gauged.gauge[from - 'P'], b = gauged.gauge[to - 'P'];
    return pv_dist(pv_metric_true(&m, a), pv_metric_true(&m, b));
}

/* Fewer than three directions: each direction's mean by weight. Half of the variance is shared
 * (ruler.h). */
START_TEST(readings_by_weight)
{
    static const pv_ruler_reading readings[] = {
        {'P', 'Q', 179.6, 0.3}, {'S', 'R', 179.4, 0.6}, {'P', 'S', 239.4, 0.2}};
    pv_text note = PV_TEXT_INIT;
    pv_evidence e = pv_ruler_evidence(&gauged, readings, 3, &note);
    ck_assert_uint_eq(note.length, 0);
    ck_assert_uint_eq(e.rows, 2);
    double u[3] = {0.15 / 179.6, 0.3 / 179.4, 0.1 / 239.4};
    double w[2] = {1 / (u[0] * u[0]), 1 / (u[1] * u[1])}, sum = w[0] + w[1];
    double mean = (w[0] * log(179.6 / 180) + w[1] * log(179.4 / 180)) / sum;
    double variance = (w[0] * w[0] * u[0] * u[0] + w[1] * w[1] * u[1] * u[1] +
                       2 * w[0] * w[1] * PV_RULER_SHARED * u[0] * u[1]) /
                      (sum * sum);
    ck_assert_double_eq_tol(e.z[0], mean, 1e-12);
    ck_assert_double_eq_tol(e.cov[0], variance, 1e-6 * variance);
    ck_assert_double_eq_tol(e.z[1], log(239.4 / 240), 1e-12);
    ck_assert_double_eq_tol(e.cov[3], u[2] * u[2], 1e-6 * u[2] * u[2]);
    double both = PV_RULER_SHARED * u[2] * (w[0] * u[0] + w[1] * u[1]) / sum;
    ck_assert_double_eq_tol(e.cov[1], both, 1e-6 * both);
    ck_assert_double_eq_tol(e.result.scale[0], exp(mean), 1e-12);
    ck_assert_double_eq_tol(e.result.U[1], 2 * u[2] * 239.4 / 240, 1e-9);
    ck_assert_double_eq(e.result.skew_U, 0);
}
END_TEST

/* Sides and diagonals of a print whose metric is known give it back, however far off it is. */
START_TEST(sides_and_diagonals_give_scales_and_skew)
{
    static const double prints[][3] = {
        {1, 1, 0}, {0.94, 0.94, 0}, {1.004, 0.996, 0.003}, {0.99, 1.01, -0.01}};
    for (size_t i = 0; i < sizeof prints / sizeof *prints; i++) {
        static const char pairs[][2] = {"PQ", "PS", "PR", "QS", "SR", "QR"};
        const double *p = prints[i];
        pv_ruler_reading readings[6];
        for (int k = 0; k < 6; k++)
            readings[k] =
                (pv_ruler_reading){pairs[k][k % 2], pairs[k][1 - k % 2],
                                   printed(p[0], p[1], p[2], pairs[k][0], pairs[k][1]), 0.3};
        for (size_t n = 3; n <= 6; n++) {
            pv_text note = PV_TEXT_INIT;
            pv_evidence e = pv_ruler_evidence(&gauged, readings, n, &note);
            ck_assert_uint_eq(note.length, 0);
            ck_assert_uint_eq(e.rows, 3);
            ck_assert_double_eq_tol(e.result.scale[0], p[0], 1e-7);
            ck_assert_double_eq_tol(e.result.scale[1], p[1], 1e-7);
            ck_assert_double_eq_tol(e.result.skew, 1000 * p[2], 1e-3);
        }
    }
    /* Two diagonals of 300 mm, each +-0.3 mm: their difference is 2 W H skew / D. */
    static const pv_ruler_reading four[] = {
        {'P', 'Q', 180, 0.3}, {'P', 'S', 240, 0.3}, {'P', 'R', 300, 0.3}, {'Q', 'S', 300, 0.3}};
    pv_text note = PV_TEXT_INIT;
    pv_evidence e = pv_ruler_evidence(&gauged, four, 4, &note);
    double U = 1000 * 0.3 * sqrt(2) * 300 / (2 * 180 * 240);
    ck_assert_double_eq_tol(e.result.skew_U, U, 0.001 * U);
    ck_assert_double_lt(e.result.U[0], 0.3 / 180);
    ck_assert_double_lt(e.result.U[1], 0.3 / 240);
}
END_TEST

/* Readings whose errors are as stated, with or without a part that all share: U holds the truth as
 * often as it should, and few sets are said to disagree. */
START_TEST(readings_are_as_good_as_they_say)
{
    static const char pairs[][2] = {"PQ", "PS", "PR", "QS"};
    for (int shares = 0; shares <= 1; shares++) {
        int n = 5000, held[3] = {0}, said = 0;
        double part = shares ? PV_RULER_SHARED : 0;
        const double truth[3] = {0.995, 1.002, 1.5};
        for (int i = 0; i < n; i++) {
            pv_ruler_reading readings[4];
            double shared = gauss();
            for (int k = 0; k < 4; k++) {
                double error = 0.15 * (sqrt(part) * shared + sqrt(1 - part) * gauss());
                double length =
                    printed(truth[0], truth[1], truth[2] / 1000, pairs[k][0], pairs[k][1]);
                readings[k] = (pv_ruler_reading){pairs[k][0], pairs[k][1], length + error, 0.3};
            }
            pv_text note = PV_TEXT_INIT;
            pv_evidence e = pv_ruler_evidence(&gauged, readings, 4, &note);
            for (int k = 0; k < 2; k++)
                held[k] += fabs(e.result.scale[k] - truth[k]) <= e.result.U[k];
            held[2] += fabs(e.result.skew - truth[2]) <= e.result.skew_U;
            said += note.length > 0;
            pv_text_drop(&note);
        }
        printf("    readings: %.2f %.2f %.2f %% of intervals hold the truth, %.2f %% disagree\n",
               100.0 * held[0] / n, 100.0 * held[1] / n, 100.0 * held[2] / n, 100.0 * said / n);
        for (int k = 0; k < 3; k++)
            ck_assert_double_gt((double)held[k] / n, 0.945);
        ck_assert_double_lt((double)said / n, 0.06);
    }
}
END_TEST

START_TEST(readings_that_contradict_each_other_are_said)
{
    static const pv_ruler_reading readings[] = {
        {'P', 'S', 240, 0.3}, {'R', 'Q', 244, 0.3}, {'P', 'Q', 180, 0.3}};
    pv_text note = PV_TEXT_INIT;
    pv_evidence e = pv_ruler_evidence(&gauged, readings, 3, &note);
    assert_says(note.chars, "disagree");
    pv_text_drop(&note);
    /* Of two alike, chi-squared is their difference by its own u, one degree of freedom. */
    double mean = log(244.0 / 240) / 2;
    ck_assert_double_eq_tol(e.z[1], mean, 2e-4);
    ck_assert_double_gt(2 * sqrt(e.cov[3]), mean);
    /* A side of a whole rectangle that is misread by 2 mm. */
    static const pv_ruler_reading side[] = {
        {'P', 'Q', 182, 0.3}, {'P', 'S', 240, 0.3}, {'P', 'R', 300, 0.3}, {'Q', 'S', 300, 0.3}};
    e = pv_ruler_evidence(&gauged, side, 4, &note);
    assert_says(note.chars, "disagree");
    pv_text_drop(&note);
    ck_assert_double_gt(e.result.U[0], e.result.scale[0] - 1);
    /* Only readings that their reader calls exact are limited. */
    static const pv_ruler_reading sure = {'P', 'Q', 180, 1e-9};
    e = pv_ruler_evidence(&gauged, &sure, 1, &note);
    ck_assert_uint_eq(e.rows, 1);
    ck_assert_double_gt(e.cov[0], 0);
    /* Beyond a rule's length a tape of class II. */
    ck_assert_double_eq_tol(pv_ruler_U(&(pv_ruler_reading){'P', 'R', 1500, 0}, 1500),
                            sqrt(0.04 + 4 * 0.7 * 0.7 / 3), 1e-9);
    ck_assert_double_eq(pv_ruler_U(&(pv_ruler_reading){'P', 'R', 300, 0}, 300), PV_RULER_U);
}
END_TEST

/* ---- scanner ---- */

typedef struct print_setup {
    double sx, sy, skew, turn; /* the print, rad */
    double fx, fy, lean;       /* the scanner */
    double px;                 /* stated, per mm */
} print_setup;

/* The image of a print: nominal to true mm by the print's map, turned, then by the scanner's
 * inverse to stated mm, and to pixels with y down. */
static pv_pose scanned(const print_setup *s)
{
    pv_pose pose = {.kind = PV_POSE_AFFINE, .h = {0, 0, 500, 0, 0, 4000, 0, 0, 1}};
    for (int k = 0; k < 2; k++) {
        double x = k == 0 ? s->sx : s->sy * sin(s->skew), y = k == 0 ? 0 : s->sy * cos(s->skew);
        double right = cos(s->turn) * x - sin(s->turn) * y,
               up = sin(s->turn) * x + cos(s->turn) * y;
        double stated_up = up / (s->fy * cos(s->lean));
        double stated_right = (right - s->fy * sin(s->lean) * stated_up) / s->fx;
        pose.h[k] = s->px * stated_right;
        pose.h[3 + k] = -s->px * stated_up;
    }
    return pose;
}

static pv_evidence scan_of(const print_setup *s, const pv_scanner *own, double U_rel)
{
    pv_pose pose = scanned(s);
    pv_plane plane = {.source = PV_RESOLUTION_PNG, .resolution = {s->px, s->px}};
    pv_inspect_options options = pv_inspect_defaults();
    options.scanner = own;
    options.scanner_U_rel = U_rel;
    static const double page[2] = {210, 297};
    pv_scanner_limits limits = pv_scanner_limits_of(&pose, page, &options);
    pv_text note = PV_TEXT_INIT;
    pv_scan_reference scan = pv_scan_reference_decide(&plane, &pose, &options, &note);
    ck_assert(scan.believed);
    pv_text_drop(&note);
    return pv_scan_evidence(&scan, &pose, &limits, &options);
}

START_TEST(a_scanner_known_is_put_right)
{
    double worst = 0, skew = 0;
    for (int i = 0; i < 300; i++) {
        print_setup s = {.sx = 0.95 + 0.1 * uniform(), .sy = 0.95 + 0.1 * uniform()};
        s.skew = 0.01 * (uniform() - 0.5);
        s.turn = 2 * PV_PI * uniform();
        s.fx = 0.99 + 0.02 * uniform();
        s.fy = 0.99 + 0.02 * uniform();
        s.lean = 0.006 * (uniform() - 0.5);
        s.px = 300 / 25.4;
        pv_scanner own = {{s.fx, s.fy}, {2e-4, 2e-4}, 1000 * s.lean, 0.1};
        pv_evidence e = scan_of(&s, &own, 0.001);
        ck_assert_uint_eq(e.rows, 3);
        worst = fmax(worst,
                     fmax(fabs(e.result.scale[0] / s.sx - 1), fabs(e.result.scale[1] / s.sy - 1)));
        skew = fmax(skew, fabs(e.result.skew - 1000 * s.skew));
    }
    say_worst("scale by a known scanner, any turn", worst, 1e-12, "");
    say_worst("skew by a known scanner, any turn", skew, 1e-9, "mrad");
    ck_assert_double_lt(worst, 1e-12);
    ck_assert_double_lt(skew, 1e-9);
}
END_TEST

/* What is stated of a scanner, carried over to the print's own axes: the spread of prints as they
 * would come out, were the scanner off by as much at random. */
START_TEST(a_scanners_doubt_is_the_prints)
{
    static const double turns[] = {0, 0.4, PV_PI / 4, PV_PI / 2, 2.5};
    double worst = 0;
    for (size_t t = 0; t < sizeof turns / sizeof *turns; t++) {
        print_setup s = {1.01, 0.98, 0.003, turns[t], 1, 1, 0, 300 / 25.4};
        double U = 0.002;
        pv_evidence e = scan_of(&s, NULL, U);
        pv_pose pose = scanned(&s);
        int n = 20000;
        double sum[3] = {0}, cross[9] = {0};
        for (int i = 0; i < n; i++) {
            double f[2], lean = U / 2 * gauss();
            for (int k = 0; k < 2; k++)
                f[k] = exp(U / 2 * gauss());
            pv_vec d[2];
            for (int k = 0; k < 2; k++) {
                double right = pose.h[k] / s.px, up = -pose.h[3 + k] / s.px;
                d[k] = pv_v(f[0] * right + f[1] * sin(lean) * up, f[1] * cos(lean) * up);
            }
            double p[3] = {log(pv_len(d[0])), log(pv_len(d[1])), 0};
            p[2] = asin(pv_dot(d[0], d[1]) / (pv_len(d[0]) * pv_len(d[1])));
            for (int a = 0; a < 3; a++) {
                double off = p[a] - e.z[a];
                sum[a] += off;
                for (int b = 0; b < 3; b++)
                    cross[3 * a + b] += off * (p[b] - e.z[b]);
            }
        }
        for (int a = 0; a < 3; a++)
            for (int b = 0; b < 3; b++) {
                double seen = (cross[3 * a + b] - sum[a] * sum[b] / n) / n;
                double unit = sqrt(e.cov[4 * a] * e.cov[4 * b]);
                worst = fmax(worst, fabs(seen - e.cov[3 * a + b]) / unit);
            }
    }
    say_worst("a scanner's covariance in the print's axes", worst, 0.05, "");
    ck_assert_double_lt(worst, 0.05); /* five standard deviations of 20000 draws */
}
END_TEST

/* Each kind's limits, uniform: a / sqrt(3) (JCGM 100, 4.3.7); along which of the image's axes a
 * feeder fed the paper follows from the edge that went in first, however the picture was turned. */
START_TEST(scanners_by_kind)
{
    static const double upright[2] = {210, 297}, lying[2] = {297, 210}, square[2] = {200, 200};
    const double fine = 0.002 / sqrt(3), feed = 0.010 / sqrt(3);
    static const struct {
        pv_scanner_kind kind;
        double turn; /* of the picture, in quarters */
        const double *page;
        bool coarse[2];
    } cases[] = {
        {PV_SCANNER_UNKNOWN, 0, upright, {true, true}},
        {PV_SCANNER_FLATBED, 0, upright, {false, false}},
        {PV_SCANNER_FEEDER, 1, upright, {true, true}},
        {PV_SCANNER_FEEDER_SHORT, 0, upright, {false, true}},
        {PV_SCANNER_FEEDER_SHORT, 1, upright, {true, false}},
        {PV_SCANNER_FEEDER_SHORT, 2, upright, {false, true}},
        {PV_SCANNER_FEEDER_SHORT, 0, lying, {true, false}},
        {PV_SCANNER_FEEDER_SHORT, 3, lying, {false, true}},
        {PV_SCANNER_FEEDER_LONG, 0, upright, {true, false}},
        {PV_SCANNER_FEEDER_LONG, 0, lying, {false, true}},
        {PV_SCANNER_FEEDER_LONG, 0, square, {true, true}},
        {PV_SCANNER_FEEDER_LONG, 0.5, upright, {true, true}}, /* lies at no edge */
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        print_setup s = {1, 1, 0, cases[i].turn * PV_PI / 2 + 0.02, 1, 1, 0, 300 / 25.4};
        pv_pose pose = scanned(&s);
        pv_inspect_options options = pv_inspect_defaults();
        options.scanner_kind = cases[i].kind;
        pv_scanner_limits l = pv_scanner_limits_of(&pose, cases[i].page, &options);
        for (int k = 0; k < 2; k++)
            ck_assert_msg(fabs(l.u[k] - (cases[i].coarse[k] ? feed : fine)) < 1e-12,
                          "case %zu, axis %d", i, k);
        options.scanner_U_rel = 0.0004; /* what the user states counts */
        l = pv_scanner_limits_of(&pose, cases[i].page, &options);
        ck_assert_double_eq(l.u[0], 0.0002);
        ck_assert_double_eq(l.u[1], 0.0002);
    }
}
END_TEST

/* Scanners drawn from what is assumed of each kind: U holds the truth at least 95 % of the time. */
START_TEST(each_kinds_interval_holds)
{
    for (int kind = PV_SCANNER_UNKNOWN; kind < PV_SCANNER_KINDS; kind++) {
        int held = 0, all = 0;
        for (int i = 0; i < 4000; i++) {
            static const double page[2] = {210, 297};
            bool feeder = kind != PV_SCANNER_FLATBED;
            /* Long edge first: along the sheet's x. Where nothing is stated, either. */
            bool along_x = kind == PV_SCANNER_FEEDER_LONG ||
                           (kind != PV_SCANNER_FEEDER_SHORT && uniform() < 0.5);
            double quarter = floor(4 * uniform()), off[2];
            bool lies = (int)quarter % 2 == 1;
            for (int k = 0; k < 2; k++) {
                bool feed = feeder && (k == 0) == (along_x != lies);
                off[k] = (feed ? 0.010 : 0.002) * (2 * uniform() - 1);
            }
            print_setup s = {
                0.99,       1.01,       0, quarter * PV_PI / 2 + 0.04 * (uniform() - 0.5),
                1 + off[0], 1 + off[1], 0, 300 / 25.4};
            pv_pose pose = scanned(&s);
            pv_inspect_options options = pv_inspect_defaults();
            options.scanner_kind = (pv_scanner_kind)kind;
            pv_scan_reference scan = {.believed = true, .px_per_mm = {s.px, s.px}};
            pv_scanner_limits l = pv_scanner_limits_of(&pose, page, &options);
            pv_evidence e = pv_scan_evidence(&scan, &pose, &l, &options);
            const double truth[2] = {s.sx, s.sy};
            for (int a = 0; a < 2; a++, all++)
                held += fabs(e.result.scale[a] - truth[a]) <= e.result.U[a];
        }
        printf("    %s: %.2f %% of intervals hold\n", pv_scanner_kind_name((pv_scanner_kind)kind),
               100.0 * held / all);
        ck_assert_double_ge((double)held / all, 0.95);
    }
}
END_TEST

START_TEST(a_basis_is_named)
{
    pv_reference_result items[2] = {{.kind = PV_REFERENCE_SCANNER, .weight = {1, 1}},
                                    {.kind = PV_REFERENCE_CARD}};
    pv_references found = {.items = items, .n = 1};
    found.metric.known = true;
    pv_inspect_options options = pv_inspect_defaults();
    static const char *const says[PV_SCANNER_KINDS] = {
        "taking a scanner of unknown kind to be true to 1 %",
        "taking the flatbed to be true to 0.2 %", "taking the sheet feeder to be true to 1 %",
        "taking the sheet feeder to be true to 1 % along its feed and 0.2 % across",
        "taking the sheet feeder to be true to 1 % along its feed and 0.2 % across"};
    pv_text text = PV_TEXT_INIT;
    for (int kind = 0; kind < PV_SCANNER_KINDS; kind++) {
        options.scanner_kind = (pv_scanner_kind)kind;
        pv_basis(&found, &options, &text);
        ck_assert_str_eq(text.chars, says[kind]);
        pv_text_drop(&text);
    }
    options.scanner_kind = PV_SCANNER_FLATBED;
    options.scanner_U_rel = 0.0005;
    found.n = 2;
    items[1].weight[1] = 0.3;
    pv_basis(&found, &options, &text);
    ck_assert_str_eq(text.chars, "taking the flatbed to be true to 0.05 %, and by the bank card, "
                                 "taking it to be of standard size");
    pv_text_drop(&text);
    found.metric.known = false;
    pv_basis(&found, &options, &text);
    ck_assert_str_eq(text.chars, "nothing");
    pv_text_drop(&text);
}
END_TEST

START_TEST(square_pixels_tell_shape_but_no_size)
{
    print_setup s = {0.97, 0.975, 0.002, 0.3, 1, 1, 0, 9.1};
    pv_pose pose = scanned(&s);
    static const double page[2] = {210, 297};
    pv_inspect_options options = pv_inspect_defaults();
    pv_scanner_limits limits = pv_scanner_limits_of(&pose, page, &options);
    pv_evidence e = pv_square_evidence(&pose, &limits, &options);
    ck_assert(e.silent);
    ck_assert_uint_eq(e.rows, 2);
    ck_assert_double_eq_tol(e.z[0], log(0.97 / 0.975), 2e-4); /* the mean of both isn't known */
    ck_assert_double_eq_tol(e.z[1], 0.002, 1e-5);
    pv_combined c = pv_combine(&e, 1);
    ck_assert(!c.metric.known);
    s.sy = 0.93; /* a fax */
    s.turn = 0;
    pose = scanned(&s);
    ck_assert_uint_eq(pv_square_evidence(&pose, &limits, &options).rows, 0);
}
END_TEST

START_TEST(a_scanners_file_comes_back)
{
    pv_scanner scanner = {{1.0012345, 0.9987654}, {2.5e-4, 3e-4}, -0.321, 0.25}, back;
    pv_diags *diags = pv_diags_new();
    char *json = pv_scanner_json(&scanner, diags);
    ck_assert_ptr_nonnull(json);
    ck_assert(scanner_parse(json, strlen(json), "s", &back, diags));
    for (int i = 0; i < 2; i++) {
        ck_assert_double_eq_tol(back.factor[i], scanner.factor[i], 1e-9);
        ck_assert_double_eq_tol(back.U_rel[i], scanner.U_rel[i], 1e-7);
    }
    ck_assert_double_eq_tol(back.skew, scanner.skew, 1e-9);
    ck_assert_double_eq_tol(back.skew_U, scanner.skew_U, 1e-9);
    pv_free(json);
    static const struct {
        const char *text, *says;
    } bad[] = {
        {"", "s:1:"},
        {"[]", "s:"},
        {"{\"format\": \"pavior printer\", \"version\": 1}", "format|\"pavior scanner\""},
        {"{\"format\": \"pavior scanner\", \"version\": 2}", "version|1"},
        {"{\"format\": \"pavior scanner\", \"version\": 1}", "true_mm_per_stated_mm"},
        {"{\"format\": \"pavior scanner\", \"version\": 1, \"true_mm_per_stated_mm\": {\"x\": "
         "{\"value\": 2, \"U\": 0.1}}}",
         "0.9"},
        {"{\"format\": \"pavior scanner\", \"version\": 1, \"true_mm_per_stated_mm\": {\"x\": "
         "{\"value\": 1, \"U\": -0.1}}}",
         "U"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        pv_diags *said = pv_diags_new();
        ck_assert(!scanner_parse(bad[i].text, strlen(bad[i].text), "s", &back, said));
        char *text = diags_text(said);
        assert_says(text, bad[i].says);
        pv_free(text);
        pv_diags_free(said);
    }
    char *large = calloc(1, PV_PRINTER_BYTES_MAX + 2);
    ck_assert(!scanner_parse(large, PV_PRINTER_BYTES_MAX + 1, "s", &back, diags));
    ck_assert_int_eq(pv_diags_cause(diags), PV_CAUSE_LIMIT);
    free(large);
    pv_diags_free(diags);
}
END_TEST

/* ---- the paper's edges ---- */

/* ISO 216:2007, 7.1. */
START_TEST(paper_is_cut_as_the_standard_allows)
{
    ck_assert_double_eq(pv_paper_tolerance(105), 1.5);
    ck_assert_double_eq(pv_paper_tolerance(150), 1.5);
    ck_assert_double_eq(pv_paper_tolerance(150.1), 2);
    ck_assert_double_eq(pv_paper_tolerance(600), 2);
    ck_assert_double_eq(pv_paper_tolerance(600.1), 3);
    ck_assert_double_eq(pv_paper_tolerance(1189), 3);
}
END_TEST

/* A blank sheet of true size w by h on a table, its print of `scale` set off by `shift`; each pixel
 * takes the paper's share of it, exactly. */
static pv_plane sheet_on_table(double w, double h, double px, double edge, const pv_pose *pose,
                               double scale, pv_vec shift)
{
    pv_plane plane = {.width = (size_t)((w + 2 * edge) * px), .channels = 1};
    plane.height = (size_t)((h + 2 * edge) * px);
    plane.samples = calloc(plane.width * plane.height, sizeof *plane.samples);
    ck_assert_ptr_nonnull(plane.samples);
    pv_vec a = pv_pose_map(pose, pv_v(-shift.x / scale, -shift.y / scale));
    double x0 = a.x, x1 = a.x + w * px, y1 = a.y, y0 = a.y - h * px;
    for (size_t y = 0; y < plane.height; y++)
        for (size_t x = 0; x < plane.width; x++) {
            double cx = fmin((double)x + 1, x1) - fmax((double)x, x0);
            double cy = fmin((double)y + 1, y1) - fmax((double)y, y0);
            double share = fmax(0, cx) * fmax(0, cy);
            plane.samples[y * plane.width + x] = (uint16_t)(4000 + 50000 * share);
        }
    return plane;
}

static pv_evidence paper_says(double w, double h, double true_w, double true_h, double scale)
{
    double px = 6, edge = 12;
    pv_scene page = {.page = {{0, 0}, {w, h}}};
    pv_pose pose = {.h = {px * scale, 0, edge * px, 0, -px * scale, (h + edge) * px, 0, 0, 1}};
    pv_plane plane = sheet_on_table(true_w, true_h, px, edge, &pose, scale, pv_v(0.4, 0.7));
    pv_ground ground;
    bool found;
    ck_assert(pv_ground_make(&plane, &pose, (const double[2]){w, h}, &ground, &found));
    ck_assert(found);
    pv_evidence e = pv_paper_evidence(&page, &plane, &pose, &ground);
    pv_ground_clear(&ground);
    free(plane.samples);
    return e;
}

START_TEST(paper_tells_the_size_of_its_print)
{
    double worst = 0;
    static const double scales[] = {0.955, 0.98, 1, 1.005};
    for (size_t i = 0; i < sizeof scales / sizeof *scales; i++) {
        pv_evidence e = paper_says(210, 297, 210, 297, scales[i]);
        ck_assert_uint_eq(e.rows, 2);
        for (int a = 0; a < 2; a++)
            worst = fmax(worst, fabs(e.result.scale[a] / scales[i] - 1));
    }
    say_worst("scale by A4's own edges", worst, 1e-5, "");
    ck_assert_double_lt(worst, 1e-5);
    pv_evidence e = paper_says(210, 297, 210, 297, 1);
    /* 2 mm, evenly likely (7.1), and two edges of PV_PAPER_EDGE_U each. */
    double u = hypot(2 / sqrt(3), sqrt(2) * PV_PAPER_EDGE_U);
    ck_assert_double_eq_tol(sqrt(e.cov[0]), u / 210, 0.02 * u / 210);
    ck_assert_double_eq_tol(sqrt(e.cov[3]), u / 297, 0.02 * u / 297);
    /* Cut short within the standard: its interval still holds the truth. */
    e = paper_says(210, 297, 208.1, 298.9, 1);
    ck_assert_uint_eq(e.rows, 2);
    for (int a = 0; a < 2; a++)
        ck_assert_double_le(fabs(e.result.scale[a] - 1), e.result.U[a]);
    /* An edge is sought from PV_PAPER_INSIDE: a print 2 % too large has lost it. */
    ck_assert_uint_eq(paper_says(210, 297, 210, 297, 1.02).rows, 0);
    /* Cut to no standard. */
    ck_assert_uint_eq(paper_says(200, 280, 200, 280, 1).rows, 0);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("reference");
    TCase *tcase = tcase_create("reference");
    tcase_set_timeout(tcase, 120);
    tcase_add_test(tcase, every_kind_has_its_own_name_and_a_noun);
    tcase_add_test(tcase, two_that_agree_are_a_weighted_mean);
    tcase_add_test(tcase, what_is_shared_carries_over);
    tcase_add_test(tcase, chance_alone_is_called_disagreement_in_one_of_twenty);
    tcase_add_test(tcase, of_two_that_disagree_none_decides);
    tcase_add_test(tcase, what_agrees_only_just_makes_nothing_surer);
    tcase_add_test(tcase, of_three_the_odd_one_is_left_out);
    tcase_add_test(tcase, one_axis_alone_is_not_known);
    tcase_add_test(tcase, readings_by_weight);
    tcase_add_test(tcase, sides_and_diagonals_give_scales_and_skew);
    tcase_add_test(tcase, readings_are_as_good_as_they_say);
    tcase_add_test(tcase, readings_that_contradict_each_other_are_said);
    tcase_add_test(tcase, a_scanner_known_is_put_right);
    tcase_add_test(tcase, a_scanners_doubt_is_the_prints);
    tcase_add_test(tcase, scanners_by_kind);
    tcase_add_test(tcase, each_kinds_interval_holds);
    tcase_add_test(tcase, a_basis_is_named);
    tcase_add_test(tcase, square_pixels_tell_shape_but_no_size);
    tcase_add_test(tcase, a_scanners_file_comes_back);
    tcase_add_test(tcase, paper_is_cut_as_the_standard_allows);
    tcase_add_test(tcase, paper_tells_the_size_of_its_print);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
