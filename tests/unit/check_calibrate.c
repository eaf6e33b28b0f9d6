/* From made-up inspections of a printer whose truth is known to its file, against closed forms of
 * weighted means, Monte Carlo and the printer's own map. */
#include "common.h"
#include "wording.h"

#include "base/text.h"
#include "base/vec.h"
#include "paper/printer.h"
#include "report/calibrate.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- means ---- */

static double determinant(double m[3][3])
{
    return m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1]) -
           m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0]) +
           m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0]);
}

/* Gauss and Markov: of three values of covariance S the best mean has the weights S^-1 1, by
 * Cramer's rule, and the variance 1 / (1' S^-1 1); chi-squared is r' S^-1 r. */
static double best_mean(const pv_sample s[3], double *u, double *chi)
{
    double cov[3][3], weight[3], sum = 0, mean = 0;
    for (int r = 0; r < 3; r++)
        for (int c = 0; c < 3; c++)
            cov[r][c] = s[r].shared * s[c].shared + (r == c ? s[r].own * s[r].own : 0);
    double all = determinant(cov);
    for (int k = 0; k < 3; k++) {
        double other[3][3];
        memcpy(other, cov, sizeof cov);
        for (int r = 0; r < 3; r++)
            other[r][k] = 1;
        weight[k] = determinant(other) / all;
        sum += weight[k];
    }
    for (int k = 0; k < 3; k++)
        mean += weight[k] / sum * s[k].value;
    *u = 1 / sqrt(sum);
    *chi = 0;
    for (int k = 0; k < 3; k++) {
        double other[3][3];
        memcpy(other, cov, sizeof cov);
        for (int r = 0; r < 3; r++)
            other[r][k] = s[r].value - mean;
        *chi += (s[k].value - mean) * determinant(other) / all;
    }
    return mean;
}

/* What all share alike moves none of the weights. */
START_TEST(means_are_the_best_there_are)
{
    double worst = 0;
    int agree = 0;
    for (int i = 0; i < 200; i++) {
        pv_sample s[3];
        double shared = 3e-4 * uniform(), u, chi;
        for (int k = 0; k < 3; k++) {
            double own = 1e-4 * (1 + 3 * uniform());
            s[k] = (pv_sample){1 + own * gauss(), own, shared, HUGE_VAL};
        }
        double mean = best_mean(s, &u, &chi);
        pv_mean m = pv_mean_of(s, 3);
        worst = fmax(worst, fabs(m.value - mean) / u);
        worst = fmax(worst, fabs(m.chi - chi) / fmax(chi, 0.1));
        /* 5 % of chi-squared with two degrees of freedom lies beyond -2 ln 0.05. */
        ck_assert_double_eq_tol(m.limit, 5.991464547, 1e-8);
        ck_assert(isinf(m.freedom));
        if (chi < 5.99)
            worst = fmax(worst, fabs(m.u / u - 1));
        agree += chi < 5.99;
    }
    say_worst("mean of three, its u and chi-squared", worst, 1e-7, "of u");
    ck_assert_double_lt(worst, 1e-7);
    ck_assert_int_gt(agree, 180);
}
END_TEST

START_TEST(means_worked_by_hand)
{
    /* Where one alone has a part that others might share, that is its own: (0/25 + 1/16) over
     * (1/25 + 1/16), and the root of the reciprocal. */
    const pv_sample lone[] = {{0, 3, 4, HUGE_VAL}, {1, 4, 0, HUGE_VAL}};
    pv_mean m = pv_mean_of(lone, 2);
    ck_assert_double_eq_tol(m.value, 25.0 / 41, 1e-12);
    ck_assert_double_eq_tol(m.u, 20 / sqrt(41), 1e-12);
    /* Far more apart than they say, of equal weight: the spread over the root of their number, as
     * of any mean, here 10 per mille over the root of three. */
    const pv_sample apart[] = {{0.99, 1e-3, 0, 9}, {1.00, 1e-3, 0, 9}, {1.01, 1e-3, 0, 9}};
    m = pv_mean_of(apart, 3);
    ck_assert_double_eq_tol(m.chi, 200, 1e-9);
    ck_assert_double_eq_tol(m.u, 0.01 / sqrt(3), 1e-12);
    /* JCGM 100:2008, G.4.1: three alike have three times the degrees of freedom of one; of weights
     * 4 to 1 and 5 each: (4^2/5 + ...)^2 over it, 5 (16/25 + 4/25)^2 / ((16/25)^2 + (4/25)^2). */
    const pv_sample alike[] = {{1, 1e-3, 0, 7}, {1, 1e-3, 0, 7}, {1, 1e-3, 0, 7}};
    ck_assert_double_eq_tol(pv_mean_of(alike, 3).freedom, 21, 1e-9);
    const pv_sample uneven[] = {{1, 1e-3, 0, 5}, {1, 2e-3, 0, 5}};
    ck_assert_double_eq_tol(pv_mean_of(uneven, 2).freedom, 5 * 400 / 272.0, 1e-9);
    const pv_sample one = {0.98, 3e-4, 4e-4, 7};
    m = pv_mean_of(&one, 1);
    ck_assert_double_eq_tol(m.u, 5e-4, 1e-12);
    ck_assert_double_eq(m.value, 0.98);
    ck_assert_double_eq_tol(m.freedom, 7, 1e-9);
}
END_TEST

/* Own parts independent, shared ones of one cause but of any size, all as stated: u is what means
 * then scatter by. */
START_TEST(a_means_uncertainty_is_true)
{
    static const double own[] = {2e-4, 4e-4, 3e-4};
    static const double shared[][3] = {{3e-4, 3e-4, 3e-4}, {1e-4, 3e-4, 5e-4}};
    double worst = 0, least = 1;
    for (int which = 0; which < 2; which++) {
        int n = 20000, held = 0;
        double squares = 0, u = 0;
        for (int i = 0; i < n; i++) {
            pv_sample s[3];
            double all = gauss();
            for (int k = 0; k < 3; k++) {
                double off = shared[which][k] * all + own[k] * gauss();
                s[k] = (pv_sample){1 + off, own[k], shared[which][k], HUGE_VAL};
            }
            pv_mean m = pv_mean_of(s, 3);
            squares += (m.value - 1) * (m.value - 1) / n;
            u += m.u * m.u / n;
            held += fabs(m.value - 1) <= 2 * m.u;
        }
        worst = fmax(worst, fabs(sqrt(u / squares) - 1));
        least = fmin(least, (double)held / n);
    }
    say_worst("stated u of means against their scatter", worst, 0.04, "");
    ck_assert_double_lt(worst, 0.04);
    ck_assert_double_gt(least, 0.951);
}
END_TEST

/* ---- reports ---- */

typedef struct sheet {
    const char *file;
    double page[2];
    double x, y, U, skew, skew_U, ink, ink_U; /* U 0: null */
    double U_rel;
    bool photograph;
    const char *more;                      /* further members */
    double ink_u, ink_shared, ink_freedom; /* ink_u 0: not told, as in earlier versions */
} sheet;

static sheet a4(const char *file)
{
    return (sheet){.file = file,
                   .page = {210, 297},
                   .x = 0.989,
                   .y = 0.996,
                   .U = 0.0011,
                   .skew = 2,
                   .skew_U = 1,
                   .ink = 0.06,
                   .ink_U = 0.01,
                   .U_rel = 0.001,
                   .more = ""};
}

static void add_value(pv_text *out, const char *key, double value, double U, const char *end)
{
    if (U > 0)
        pv_text_add(out, "\"%s\": {\"value\": %s, \"U\": %s}%s", key, pv_fixed(value, 9).chars,
                    pv_fixed(U, 9).chars, end);
    else
        pv_text_add(out, "\"%s\": {\"value\": null, \"U\": null}%s", key, end);
}

static void add_sheet(pv_text *out, const sheet *s)
{
    pv_text_add(out, "%s{\"file\": \"%s\", \"paper\": \"paper %s\", \"page_mm\": [%s, %s], ",
                out->length > 1 ? ", " : "", s->file, pv_fixed(s->page[0], 0).chars,
                pv_fixed(s->page[0], 2).chars, pv_fixed(s->page[1], 2).chars);
    pv_text_add(out, "\"photograph\": %s, ", s->photograph ? "true" : "false");
    if (s->U_rel > 0)
        pv_text_add(
            out,
            "\"reference\": {\"kind\": \"scanner\", \"U_rel\": %s, \"scanner\": \"flatbed\"}, ",
            pv_fixed(s->U_rel, 9).chars);
    else
        pv_text_add(out, "\"reference\": {\"kind\": \"none\", \"U_rel\": null}, ");
    pv_text_add(out, "\"scale\": {");
    add_value(out, "x", s->x, s->U, ", ");
    add_value(out, "y", s->y, s->U, "}, ");
    add_value(out, "skew_mrad", s->skew, s->skew_U, ", ");
    add_value(out, "ink_mm", s->ink, s->ink_U, "");
    if (s->ink_u > 0) {
        out->length--; /* the brace */
        pv_text_add(out, ", \"u\": %s, \"shared\": %s, \"freedom\": %s}",
                    pv_fixed(s->ink_u, 9).chars, pv_fixed(s->ink_shared, 9).chars,
                    pv_fixed(s->ink_freedom, 1).chars);
    }
    pv_text_add(out, ", ");
    pv_text_add(out, "\"turn_deg\": 0.1%s}", s->more);
}

typedef struct outcome {
    pv_printer *printer;
    char *said;
    size_t errors, warnings;
    pv_cause cause;
} outcome;

static outcome calibrated(const sheet *sheets, size_t n)
{
    pv_text text = PV_TEXT_INIT;
    pv_text_add(&text, "[");
    for (size_t i = 0; i < n; i++)
        add_sheet(&text, &sheets[i]);
    pv_text_add(&text, "]");
    pv_report_text report = {"r.json", text.chars, text.length};
    pv_diags *diags = pv_diags_new();
    outcome out = {.printer = pv_calibrate_printer(&report, 1, NULL, diags)};
    out.said = diags_text(diags);
    out.errors = pv_diags_count(diags, PV_ERROR);
    out.warnings = pv_diags_count(diags, PV_WARNING);
    out.cause = pv_diags_cause(diags);
    ck_assert_msg((out.printer == NULL) == (out.errors > 0), "%s", out.said);
    pv_diags_free(diags);
    pv_text_drop(&text);
    return out;
}

static void drop(outcome *o)
{
    pv_printer_free(o->printer);
    pv_free(o->said);
}

START_TEST(one_sheet_is_taken_as_it_says)
{
    sheet s = a4("a.png");
    outcome o = calibrated(&s, 1);
    ck_assert_ptr_nonnull(o.printer);
    const pv_printer *p = o.printer;
    ck_assert(p->scale[0].corrected && p->scale[1].corrected && p->skew.corrected &&
              p->ink.corrected);
    ck_assert_double_eq_tol(p->scale[0].value, 0.989, 1e-12);
    ck_assert_double_eq_tol(p->scale[1].value, 0.996, 1e-12);
    ck_assert_double_eq_tol(p->skew.value, 2, 1e-12);
    ck_assert_double_eq_tol(p->ink.value, 0.06, 1e-12);
    /* Its own U, and what a printer repeats itself to. */
    ck_assert_double_eq_tol(p->scale[0].U, hypot(0.0011, 4e-5), 1e-9);
    ck_assert_double_eq_tol(p->skew.U, hypot(1, 0.1), 1e-9);
    ck_assert_double_eq_tol(p->ink.U, hypot(0.01, 0.006), 1e-9);
    ck_assert_str_eq(p->paper, "paper 210");
    assert_says(o.said, "across|98.900");
    assert_says(o.said, "ink|0.060");
    drop(&o);
}
END_TEST

START_TEST(several_sheets_are_a_weighted_mean)
{
    sheet s[] = {a4("a.png"), a4("b.png"), a4("c.png")};
    s[1].x = 0.9894;
    s[1].U = 0.0012;
    s[2].x = 0.9891;
    s[2].U = 0.0015;
    outcome o = calibrated(s, 3);
    /* Half of U each, of which half a per mille of the scale is the scanner's and all have it; 2e-5
     * more, to which a printer repeats itself: solved as least squares of that covariance by NumPy.
     */
    ck_assert_double_eq_tol(o.printer->scale[0].value, 0.989130, 1e-6);
    ck_assert_double_eq_tol(o.printer->scale[0].U, 0.0010567, 1e-7);
    /* What they share doesn't get less: never better than the scanner. */
    ck_assert_double_gt(o.printer->scale[0].U, 0.00098);
    ck_assert_uint_eq(o.warnings, 0);
    drop(&o);
}
END_TEST

static sheet with_ink(const char *file, double ink, double u, double shared, double freedom)
{
    sheet s = a4(file);
    s.ink = ink;
    s.ink_U = 2.5 * u;
    s.ink_u = u;
    s.ink_shared = shared;
    s.ink_freedom = freedom;
    return s;
}

/* A sheet whose ink is known to a tenth of another's counts for nearly all, however much of both is
 * the tone curve's. */
START_TEST(ink_is_weighed_by_what_sheets_know)
{
    static const double shared[] = {0.001, 0.0045};
    for (int i = 0; i < 2; i++) {
        sheet s[] = {with_ink("a.png", 0.055, 0.005, shared[i], 1e6),
                     with_ink("b.png", 0.120, 0.045, shared[i], 1e6)};
        outcome o = calibrated(s, 2);
        /* By least squares, as above; 0.003 mm is what a printer repeats itself to. */
        static const double value[] = {0.056038238, 0.055440814}, U[] = {0.011571153, 0.011645901};
        ck_assert_double_eq_tol(o.printer->ink.value, value[i], 1e-8);
        ck_assert_double_eq_tol(o.printer->ink.U, U[i], 1e-7);
        drop(&o);
    }
    /* Where the tone curve is nearly all of it, likewise. */
    sheet s[] = {with_ink("a.png", 0.055, 0.005, 0.0049, 1e6),
                 with_ink("b.png", 0.120, 0.045, 0.0449, 1e6)};
    outcome o = calibrated(s, 2);
    ck_assert_double_lt(o.printer->ink.value, 0.0565);
    drop(&o);
    /* Reports of earlier versions don't tell the parts apart. */
    sheet old[] = {a4("a.png"), a4("b.png")};
    old[0].ink = 0.055;
    old[1].ink = 0.120;
    old[1].ink_U = 0.090;
    o = calibrated(old, 2);
    ck_assert_double_lt(o.printer->ink.value, 0.0565);
    ck_assert_double_lt(fabs(o.printer->ink.U / hypot(0.01, 0.006) - 1), 0.05);
    drop(&o);
}
END_TEST

/* U is k times u, and k is large where few lines tell: u is read, not half of U. Two sheets of one
 * degree of freedom each have two together, and t for 95.45 % is then 4.5266 (JCGM 100:2008, table
 * G.2: 4.53). */
START_TEST(few_lines_have_a_large_factor)
{
    sheet s[] = {with_ink("a.png", 0.07, 0.004, 0, 1), with_ink("b.png", 0.07, 0.004, 0, 1)};
    outcome o = calibrated(s, 2);
    double u = sqrt((0.004 * 0.004 + 9e-6) / 2);
    ck_assert_double_eq_tol(o.printer->ink.value, 0.07, 1e-12);
    say_worst("U of ink by two sheets of two lines each, in u", o.printer->ink.U / u, 4.53, "");
    ck_assert_double_eq_tol(o.printer->ink.U / u, 4.53, 0.005);
    drop(&o);
}
END_TEST

START_TEST(sheets_that_scatter_are_less_certain_and_said)
{
    sheet s[] = {a4("a.png"), a4("b.png"), a4("c.png")};
    for (int i = 0; i < 3; i++)
        s[i].U = 0.00102;
    s[0].x = 0.988;
    s[1].x = 0.990;
    outcome o = calibrated(s, 3);
    ck_assert_ptr_nonnull(o.printer);
    ck_assert_uint_eq(o.warnings, 1);
    assert_says(o.said, "3 images|across");
    /* Birge: the scatter itself, 1 per mille over the root of three, and the scanner. */
    double scatter = 1e-3 / sqrt(3), scanner = 0.001 * 0.989 / 2;
    ck_assert_double_eq_tol(o.printer->scale[0].U, 2 * hypot(scatter, scanner), 2e-6);
    drop(&o);
    /* Past what a correction is good for it is left alone. */
    s[0].x = 0.984;
    s[1].x = 0.994;
    o = calibrated(s, 3);
    ck_assert(!o.printer->scale[0].corrected && o.printer->scale[1].corrected);
    assert_says(o.said, SAYS_TOO_UNCERTAIN);
    drop(&o);
}
END_TEST

START_TEST(what_is_within_its_uncertainty_is_left_alone)
{
    sheet s = a4("a.png");
    s.x = 1.0009;
    s.skew = -0.8;
    s.ink = 0.008;
    outcome o = calibrated(&s, 1);
    const pv_printer *p = o.printer;
    ck_assert(!p->scale[0].corrected && p->scale[1].corrected && !p->skew.corrected &&
              !p->ink.corrected);
    assert_says(o.said, SAYS_MAY_BE_TRUE);
    /* Recorded, but not drawn against. */
    ck_assert_double_eq_tol(p->scale[0].value, 1.0009, 1e-9);
    ck_assert_double_eq(pv_printer_inverse(p, p->page).a, 1);
    drop(&o);
    s.y = 0.9995;
    o = calibrated(&s, 1);
    ck_assert_ptr_null(o.printer);
    ck_assert_int_eq(o.cause, PV_CAUSE_DATA);
    assert_says(o.said, SAYS_NO_CORRECTION);
    drop(&o);
}
END_TEST

START_TEST(what_no_printer_does_is_left_alone)
{
    sheet s = a4("a.png");
    s.x = 0.89;
    s.skew = 25;
    s.ink = 0.4;
    s.ink_U = 0.02;
    outcome o = calibrated(&s, 1);
    const pv_printer *p = o.printer;
    ck_assert(!p->scale[0].corrected && p->scale[1].corrected && !p->skew.corrected &&
              !p->ink.corrected);
    assert_says(o.said, SAYS_NOT_SOUND);
    /* Its file can be read again, and says of none of them what wasn't measured. */
    ck_assert(p->scale[0].U == 0 && p->skew.U == 0 && p->ink.U == 0);
    char *json = pv_printer_json(p, NULL);
    ck_assert_ptr_nonnull(
        strstr(json, "\"x\": {\"value\": null, \"U\": null, \"corrected\": false}"));
    ck_assert_ptr_nonnull(strstr(json, "\"ink_mm\": {\"value\": null, \"U\": null"));
    ck_assert_ptr_nonnull(strstr(json, "\"y\": {\"value\": 0.996"));
    pv_printer *back = pv_printer_parse(json, strlen(json), "p", NULL);
    ck_assert_ptr_nonnull(back);
    ck_assert(back->scale[0].value == 1 && back->scale[0].U == 0 && !back->scale[0].corrected);
    pv_printer_free(back);
    pv_free(json);
    drop(&o);
    s = a4("a.png");
    s.skew_U = 3.5;
    s.ink_U = 0.11;
    s.ink = 0.2;
    s.skew = 10;
    o = calibrated(&s, 1);
    ck_assert(!o.printer->skew.corrected && !o.printer->ink.corrected);
    drop(&o);
    s.ink_U = 0; /* null */
    o = calibrated(&s, 1);
    assert_says(o.said, "ink|" SAYS_NOT_MEASURED);
    ck_assert(!o.printer->ink.corrected && o.printer->ink.value == 0);
    drop(&o);
}
END_TEST

/* Whatever is uncertain by more than a file can say isn't known. */
START_TEST(what_is_written_can_be_read)
{
    sheet s = a4("a.png");
    s.skew_U = 999.9;
    s.ink_U = 900;
    s.U_rel = 0.001;
    sheet two[] = {s, s};
    two[1].x = 60; /* Birge's ratio makes U some 80 */
    outcome o = calibrated(two, 2);
    ck_assert_ptr_nonnull(o.printer);
    ck_assert(!o.printer->scale[0].corrected && o.printer->scale[1].corrected);
    char *json = pv_printer_json(o.printer, NULL);
    pv_printer *back = pv_printer_parse(json, strlen(json), "p", NULL);
    ck_assert_ptr_nonnull(back);
    ck_assert(back->scale[0].U == 0 && back->ink.U == 0 && back->skew.U > 0);
    pv_printer_free(back);
    pv_free(json);
    drop(&o);
}
END_TEST

START_TEST(without_a_scale_nothing_is_calibrated)
{
    sheet s[] = {a4("a.png"), a4("b.jpg")};
    s[0].U_rel = s[1].U_rel = 0;
    s[1].photograph = true;
    outcome o = calibrated(s, 2);
    ck_assert_ptr_null(o.printer);
    assert_says(o.said, "a.png|" SAYS_NO_MILLIMETRE "|--dpi");
    assert_says(o.said, "b.jpg|" SAYS_NO_MILLIMETRE "|--measured");
    assert_says(o.said, SAYS_NO_IMAGE_OF_USE);
    drop(&o);
    /* One axis alone. */
    s[0] = a4("a.png");
    s[0].U = 0;
    o = calibrated(s, 1);
    ck_assert_ptr_null(o.printer);
    drop(&o);
    o = calibrated(NULL, 0);
    ck_assert_ptr_null(o.printer);
    ck_assert_int_eq(o.cause, PV_CAUSE_DATA);
    assert_says(o.said, SAYS_NO_IMAGE_OF_USE);
    drop(&o);
    /* One that is of use is enough. */
    s[0] = a4("a.png");
    o = calibrated(s, 2);
    ck_assert_ptr_nonnull(o.printer);
    assert_says(o.said, "b.jpg");
    drop(&o);
}
END_TEST

START_TEST(another_paper_is_refused)
{
    sheet s[] = {a4("a.png"), a4("b.png")};
    s[1].page[0] = 215.9;
    s[1].page[1] = 279.4;
    outcome o = calibrated(s, 2);
    ck_assert_ptr_null(o.printer);
    ck_assert_int_eq(o.cause, PV_CAUSE_DATA);
    assert_says(o.said, "a.png|paper 210|b.png|paper 216");
    drop(&o);
    /* The same, lying. */
    s[1].page[0] = 297;
    s[1].page[1] = 210;
    o = calibrated(s, 2);
    ck_assert_ptr_nonnull(o.printer);
    ck_assert(o.printer->page[0] == 210 && o.printer->page[1] == 297);
    drop(&o);
}
END_TEST

/* ---- what a printer does to corrected and to lying sheets ---- */

typedef struct linear {
    double m[2][2];
} linear;

static linear product(const linear *a, const linear *b)
{
    linear out;
    for (int i = 0; i < 2; i++)
        for (int k = 0; k < 2; k++)
            out.m[i][k] = a->m[i][0] * b->m[0][k] + a->m[i][1] * b->m[1][k];
    return out;
}

static linear map_of(double sx, double sy, double skew)
{
    return (linear){{{sx, sy * sin(skew / 1000)}, {0, sy * cos(skew / 1000)}}};
}

/* What an inspection finds of a map: the lengths of its columns and the angle between them. */
static void inspected(const linear *l, sheet *s)
{
    s->x = hypot(l->m[0][0], l->m[1][0]);
    s->y = hypot(l->m[0][1], l->m[1][1]);
    double dot = l->m[0][0] * l->m[0][1] + l->m[1][0] * l->m[1][1];
    s->skew = 1000 * asin(dot / (s->x * s->y));
}

static double off_by(const pv_printer *p, double sx, double sy, double skew)
{
    double worst = fmax(fabs(p->scale[0].value - sx), fabs(p->scale[1].value - sy));
    return fmax(worst, fabs(p->skew.value - skew) / 1000);
}

START_TEST(corrected_and_lying_sheets_tell_the_same_printer)
{
    double worst = 0, share = 0, lying = 0;
    for (int i = 0; i < 100; i++) {
        double sx = 0.97 + 0.06 * uniform(), sy = 0.97 + 0.06 * uniform();
        double skew = 10 * (uniform() - 0.5);
        linear true_map = map_of(sx, sy, skew);
        /* A first, imperfect calibration. */
        double ax = sx + 0.002 * gauss(), ay = sy + 0.002 * gauss(), ak = skew + gauss();
        pv_printer first = {.scale = {{ax, 1e-3, true}, {ay, 1e-3, true}}, .skew = {ak, 1, true}};
        char more[200];
        snprintf(more, sizeof more,
                 ", \"corrected\": {\"scale\": [%.9f, %.9f], \"skew_mrad\": %.9f, \"ink_mm\": "
                 "0.05}",
                 ax, ay, ak);
        sheet s = a4("second.png");
        pv_linear inverse = pv_printer_inverse(&first, s.page);
        linear drawn = {{{inverse.a, inverse.b}, {inverse.c, inverse.d}}};
        linear seen = product(&true_map, &drawn);
        inspected(&seen, &s);
        s.ink = 0.013;
        s.U = 1e-4;
        s.skew_U = 0.01;
        s.U_rel = 1e-5;
        s.more = more;
        outcome o = calibrated(&s, 1);
        /* Scales are multiplied and skews added: true but for terms of second order, which are
         * products of what the first calibration was off by and of the skew. */
        double off = fabs(sx / ax - 1) + fabs(sy / ay - 1) + fabs(skew - ak) / 1000;
        double second = off * (fabs(ak) + fabs(skew - ak)) / 1000 + 1e-8;
        double found = off_by(o.printer, sx, sy, skew);
        share = fmax(share, found / second);
        worst = fmax(worst, found);
        ck_assert_double_eq_tol(o.printer->ink.value, 0.063, 1e-9);
        drop(&o);
        /* A page that lies, turned by a quarter on its way. */
        s = a4("lying.png");
        s.page[0] = 297;
        s.page[1] = 210;
        linear quarter = {{{0, -1}, {1, 0}}};
        seen = product(&true_map, &quarter);
        inspected(&seen, &s);
        o = calibrated(&s, 1);
        lying = fmax(lying, off_by(o.printer, sx, sy, skew));
        drop(&o);
    }
    say_worst("a printer by a page that lies", lying, 1e-8, "");
    say_worst("a printer by sheets corrected for it", worst, 1e-4, "");
    say_worst("the same, by its terms of second order", share, 1, "");
    ck_assert_double_lt(lying, 1e-8);
    ck_assert_double_lt(worst, 1e-4); /* a tenth of what a scanner is good to */
    ck_assert_double_le(share, 1);
}
END_TEST

START_TEST(reports_are_read_with_care)
{
    static const struct {
        const char *text, *says;
    } bad[] = {
        {"", "r.json:1"},
        {"{}", "r.json: error"},
        {"[1]", "[0]"},
        {"[{}]", "file"},
        {"[{\"file\": 3}]", "file"},
        {"[{\"file\": \"a\"}]", "paper"},
        {"[{\"file\": \"a\", \"error\": \"it is dark\"}]", "a|it is dark"},
        {"[{\"file\": \"a\", \"paper\": \"p\", \"page_mm\": [210, 1e9]}]", "page_mm"},
        {"[{\"file\": \"a\", \"paper\": \"p\", \"page_mm\": [210]}]", "page_mm"},
        {"[{\"file\": \"a\", \"paper\": \"\\u001b\"}]", "paper"},
        {"[{\"file\": \"a\", \"paper\": \"p\", \"page_mm\": [210, 297], \"photograph\": 0}]",
         "photograph"},
        {"[{\"file\": \"a\", \"paper\": \"p\", \"page_mm\": [210, 297], \"photograph\": false, "
         "\"reference\": {\"U_rel\": 1e300}}]",
         "U_rel"},
        {"[{\"file\": \"a\", \"paper\": \"p\", \"page_mm\": [210, 297], \"photograph\": false, "
         "\"reference\": {}, \"scale\": {\"x\": {\"value\": \"NaN\", \"U\": 1}}}]",
         "scale.x.value"},
        {"[{\"file\": \"a\", \"paper\": \"p\", \"page_mm\": [210, 297], \"photograph\": false, "
         "\"reference\": {}, \"scale\": null}]",
         "scale"},
        {"[{\"file\": \"a\", \"paper\": \"p\", \"page_mm\": [210, 297], \"photograph\": false, "
         "\"reference\": {}, \"scale\": {\"x\": {\"value\": 1, \"U\": 0.1, \"u\": 0.11}}}]",
         "scale.x.u"},
        {"[{\"file\": \"a\", \"paper\": \"p\", \"page_mm\": [210, 297], \"photograph\": false, "
         "\"reference\": {}, \"scale\": {\"x\": {\"value\": 1, \"U\": 0.1, \"u\": 0.05, "
         "\"shared\": 0.06}}}]",
         "scale.x.shared"},
        {"[{\"file\": \"a\", \"paper\": \"p\", \"page_mm\": [210, 297], \"photograph\": false, "
         "\"reference\": {}, \"scale\": {\"x\": {\"value\": 1, \"U\": 0.1, \"freedom\": 0}}}]",
         "scale.x.freedom"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        pv_report_text report = {"r.json", bad[i].text, strlen(bad[i].text)};
        pv_diags *diags = pv_diags_new();
        ck_assert_ptr_null(pv_calibrate_printer(&report, 1, NULL, diags));
        char *said = diags_text(diags);
        assert_says(said, bad[i].says);
        ck_assert_uint_eq(pv_diags_count(diags, PV_ERROR), 1);
        pv_free(said);
        pv_scanner scanner;
        ck_assert(!calibrate_scanner(&report, 1, &scanner, NULL));
        pv_diags_free(diags);
    }
}
END_TEST

START_TEST(images_are_limited_over_all_reports)
{
    pv_text text = PV_TEXT_INIT;
    pv_text_add(&text, "[");
    for (int i = 0; i < 500; i++)
        pv_text_add(&text, "{\"file\": \"f\", \"error\": \"e\"},");
    pv_text_add(&text, "{\"file\": \"f\", \"error\": \"e\"}]");
    pv_report_text reports[] = {{"a", text.chars, text.length}, {"b", text.chars, text.length}};
    pv_diags *diags = pv_diags_new();
    ck_assert_ptr_null(pv_calibrate_printer(reports, 2, NULL, diags));
    char *said = diags_text(diags);
    assert_says(said, "1000");
    pv_free(said);
    pv_diags_free(diags);
    pv_text_drop(&text);
}
END_TEST

/* ---- the scanner ---- */

/* A scanner of factors fx, fy and skew ks shows a true print: the file's map is its inverse. */
static outcome scanner_said(double fx, double fy, double ks, double turn, double U, int kinds,
                            pv_scanner *out, bool *good)
{
    double t = turn * PV_PI / 180;
    linear print = map_of(0.991, 0.997, 1.5);
    linear turned = {{{cos(t), -sin(t)}, {sin(t), cos(t)}}};
    double k = ks / 1000, d = fx * fy * cos(k);
    linear inverse = {{{fy * cos(k) / d, -fy * sin(k) / d}, {0, fx / d}}};
    linear seen = product(&turned, &print);
    seen = product(&inverse, &seen);
    sheet stated = a4("scan.png"), truth = a4("x");
    inspected(&seen, &stated);
    inspected(&print, &truth);
    /* `turn_deg` is the sheet's own x axis as the file has it. */
    double seen_turn = atan2(seen.m[1][0], seen.m[0][0]) * 180 / PV_PI;
    char more[900], card[400] = "";
    if (kinds > 0)
        snprintf(
            card, sizeof card,
            ", {\"kind\": \"ruler\", \"x\": {\"value\": %.12f, \"U\": %.9f}, \"y\": {\"value\": "
            "%.12f, \"U\": %.9f}, \"skew_mrad\": {\"value\": %.9f, \"U\": %s}, "
            "\"disagrees\": true}",
            truth.x, U, truth.y, U, truth.skew, kinds == 1 ? "0.2" : "null");
    snprintf(more, sizeof more,
             ", \"references\": [{\"kind\": \"scanner\", \"x\": {\"value\": %.12f, \"U\": 0.001}, "
             "\"y\": {\"value\": %.12f, \"U\": 0.001}, \"skew_mrad\": {\"value\": %.9f, \"U\": 1}, "
             "\"disagrees\": false}%s]",
             stated.x, stated.y, stated.skew, card);
    stated.more = more;
    pv_text text = PV_TEXT_INIT;
    pv_text_add(&text, "[");
    add_sheet(&text, &stated);
    char *at = strstr(text.chars, "\"turn_deg\": 0.1");
    ck_assert_ptr_nonnull(at);
    pv_text whole = PV_TEXT_INIT;
    pv_text_add(&whole, "%.*s\"turn_deg\": %s%s]", (int)(at - text.chars), text.chars,
                pv_fixed(seen_turn, 9).chars, at + strlen("\"turn_deg\": 0.1"));
    pv_report_text report = {"r.json", whole.chars, whole.length};
    pv_diags *diags = pv_diags_new();
    *good = calibrate_scanner(&report, 1, out, diags);
    outcome o = {.said = diags_text(diags), .errors = pv_diags_count(diags, PV_ERROR)};
    ck_assert_int_eq(*good, o.errors == 0);
    pv_diags_free(diags);
    pv_text_drop(&text);
    pv_text_drop(&whole);
    return o;
}

START_TEST(a_scanner_is_found_whichever_way_the_sheet_lies)
{
    double worst = 0, skew = 0;
    static const double turns[] = {0, 3, -8, 90, 177, -90, -84};
    for (int i = 0; i < 140; i++) {
        double fx = 0.985 + 0.03 * uniform(), fy = 0.985 + 0.03 * uniform();
        double k = 4 * (uniform() - 0.5);
        pv_scanner found;
        bool good;
        outcome o = scanner_said(fx, fy, k, turns[i % 7], 0.0008, 1, &found, &good);
        ck_assert_msg(good, "%s", o.said);
        worst = fmax(worst, fmax(fabs(found.factor[0] - fx), fabs(found.factor[1] - fy)));
        skew = fmax(skew, fabs(found.skew - k));
        /* Square to the axes the ruler's U is the scanner's. */
        if (turns[i % 7] == 0) {
            ck_assert_double_eq_tol(found.U_rel[0], hypot(0.0008 / 0.991, 4e-5), 2e-6);
            ck_assert_double_eq_tol(found.U_rel[1], hypot(0.0008 / 0.997, 4e-5), 2e-6);
        }
        drop(&o);
    }
    say_worst("a scanner's factors", worst, 1e-8, "");
    say_worst("a scanner's skew", skew, 1e-5, "mrad");
    ck_assert_double_lt(worst, 1e-8);
    ck_assert_double_lt(skew, 1e-5);
}
END_TEST

/* A ruler tells nothing of the angle: then it is as good as any flatbed's, square to 1 mrad, any
 * value within as likely, and not exactly square. */
START_TEST(an_angle_that_nothing_tells_is_uncertain)
{
    pv_scanner found;
    bool good;
    outcome o = scanner_said(1.001, 0.999, 0, 0, 0.0008, 2, &found, &good);
    ck_assert(good);
    ck_assert_double_eq(found.skew, 0);
    ck_assert_double_eq_tol(found.skew_U, 2 / sqrt(3), 1e-12);
    assert_says(o.said, SAYS_TAKEN_AS_SQUARE);
    drop(&o);
}
END_TEST

/* U of a scanner's factor by n scans of prints, each with its own readings or all with the same. */
static double scanner_U(size_t n, bool same, const char *kind, double map_u)
{
    pv_text text = PV_TEXT_INIT;
    for (size_t i = 0; i < n; i++) {
        double x = 0.991 + (same ? 0 : 1e-6 * (double)i);
        double u = hypot(4e-4, map_u);
        pv_text_add(&text, "%s{\"file\": \"s.png\", \"paper\": \"A4\", \"page_mm\": [210, 297], ",
                    i > 0 ? ", " : "[");
        pv_text_add(&text, "\"photograph\": false, \"turn_deg\": 0, \"reference\": {\"U_rel\": "
                           "0.0008, \"scanner\": \"flatbed\"}, \"scale\": {");
        for (int axis = 0; axis < 2; axis++)
            pv_text_add(&text,
                        "\"%c\": {\"value\": %s, \"U\": %s, \"u\": %s, \"shared\": 0.0004}%s",
                        "xy"[axis], pv_fixed(x, 9).chars, pv_fixed(2 * u, 12).chars,
                        pv_fixed(u, 12).chars, axis == 0 ? ", " : "}, ");
        pv_text_add(&text, "\"skew_mrad\": {\"value\": 0, \"U\": 1}, \"references\": [");
        for (int which = 0; which < 2; which++)
            pv_text_add(&text,
                        "{\"kind\": \"%s\", \"x\": {\"value\": %s, \"U\": 0.0008}, \"y\": "
                        "{\"value\": %s, \"U\": 0.0008}, \"skew_mrad\": {\"value\": %s, \"U\": "
                        "%s}, \"disagrees\": false}%s",
                        which == 0 ? "scanner" : kind, pv_fixed(x, 9).chars, pv_fixed(x, 9).chars,
                        which == 0 ? "0" : "null", which == 0 ? "1" : "null",
                        which == 0 ? ", " : "]}");
    }
    pv_text_add(&text, "]");
    pv_report_text report = {"r.json", text.chars, text.length};
    pv_scanner out;
    pv_diags *diags = pv_diags_new();
    bool good = calibrate_scanner(&report, 1, &out, diags);
    char *said = diags_text(diags);
    ck_assert_msg(good, "%s", said);
    pv_free(said);
    pv_diags_free(diags);
    pv_text_drop(&text);
    return out.U_rel[0];
}

/* Readings of several prints have only the rule in common, half of their variance; those of one
 * print typed in for several scans, and one card, all of it. */
START_TEST(several_scans_do_better_where_they_say_more)
{
    double one = scanner_U(1, false, "ruler", 0), reading = 0.0008 / 0.991,
           rule = reading / sqrt(2);
    double left = hypot(rule, 4e-5);
    double worst = fabs(one / hypot(reading, 4e-5) - 1);
    for (size_t n = 2; n < 10; n++) {
        double U = scanner_U(n, false, "ruler", 0);
        worst = fmax(worst, fabs(U / hypot(left / sqrt((double)n), rule) - 1));
        ck_assert_double_lt(U, one);
        double fixed = hypot(4e-5 / sqrt((double)n), reading);
        worst = fmax(worst, fabs(scanner_U(n, true, "ruler", 0) / fixed - 1));
        worst = fmax(worst, fabs(scanner_U(n, false, "card", 0) / fixed - 1));
    }
    /* What the map from print to scan is known to comes on top. */
    double map = 2 * 3e-4 / 0.991, seen = scanner_U(1, false, "ruler", 3e-4);
    worst = fmax(worst, fabs(seen / hypot(hypot(reading, 4e-5), map) - 1));
    say_worst("U of a scanner's factors by several scans, relative", worst, 3e-4, "");
    ck_assert_double_lt(worst, 3e-4); /* the step by which the map is moved, of second order */
}
END_TEST

START_TEST(a_scanner_is_refused_what_it_cannot_know)
{
    static const struct {
        double fx, skew, turn, U;
        int kinds;
        const char *says;
    } bad[] = {
        {1, 0, 30, 0.0005, 1, "20"},
        {1, 0, 0, 0.0005, 0, SAYS_NO_OTHER_REFERENCE},
        {1.04, 0, 0, 0.0005, 1, SAYS_NO_SCANNER_IS},
        {1, 0, 0, 0.0025, 1, SAYS_WORSE_THAN_ITS_WORD},
        {1, 30, 0, 0.0005, 1, "30.0 mrad|" SAYS_NO_SCANNER_IS},
    };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        pv_scanner found;
        bool good;
        outcome o = scanner_said(bad[i].fx, 1, bad[i].skew, bad[i].turn, bad[i].U, bad[i].kinds,
                                 &found, &good);
        ck_assert(!good);
        assert_says(o.said, bad[i].says);
        drop(&o);
    }
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("calibrate");
    TCase *tcase = tcase_create("calibrate");
    tcase_set_timeout(tcase, 60);
    tcase_add_test(tcase, means_are_the_best_there_are);
    tcase_add_test(tcase, means_worked_by_hand);
    tcase_add_test(tcase, a_means_uncertainty_is_true);
    tcase_add_test(tcase, one_sheet_is_taken_as_it_says);
    tcase_add_test(tcase, several_sheets_are_a_weighted_mean);
    tcase_add_test(tcase, ink_is_weighed_by_what_sheets_know);
    tcase_add_test(tcase, few_lines_have_a_large_factor);
    tcase_add_test(tcase, sheets_that_scatter_are_less_certain_and_said);
    tcase_add_test(tcase, what_is_within_its_uncertainty_is_left_alone);
    tcase_add_test(tcase, what_no_printer_does_is_left_alone);
    tcase_add_test(tcase, what_is_written_can_be_read);
    tcase_add_test(tcase, without_a_scale_nothing_is_calibrated);
    tcase_add_test(tcase, another_paper_is_refused);
    tcase_add_test(tcase, corrected_and_lying_sheets_tell_the_same_printer);
    tcase_add_test(tcase, reports_are_read_with_care);
    tcase_add_test(tcase, images_are_limited_over_all_reports);
    tcase_add_test(tcase, a_scanner_is_found_whichever_way_the_sheet_lies);
    tcase_add_test(tcase, an_angle_that_nothing_tells_is_uncertain);
    tcase_add_test(tcase, several_scans_do_better_where_they_say_more);
    tcase_add_test(tcase, a_scanner_is_refused_what_it_cannot_know);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
