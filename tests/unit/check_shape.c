/* Labels: thin things slip between no cells. */
#include "common.h"

#include "measure/shape.h"
#include "plan/layout.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define RADIUS 12.37

static pv_plan *plan_of(const char *text)
{
    pv_diags *diags = pv_diags_new();
    pv_course *course = pv_course_parse(text, strlen(text), "hair", test_type(), diags);
    char *said = diags_text(diags);
    ck_assert_msg(course != NULL, "%s", said);
    pv_layout_options options = pv_layout_defaults();
    options.paper = "A4";
    options.orientation = PV_PORTRAIT;
    pv_plan *plan = pv_plan_make(course, &options, diags);
    ck_assert_ptr_nonnull(plan);
    ck_assert_uint_eq(plan->n_sheets, 1);
    free(said);
    pv_course_free(course);
    pv_diags_free(diags);
    return plan;
}

/* Hairlines of 0.1 to 0.4 mm, upright, flat and aslant, each at another offset against the cells:
 * nowhere on one, nor within a millimetre of it, is the sheet plain; 4 mm away it is. */
START_TEST(hairlines_are_never_taken_for_plain)
{
    pv_text text = PV_TEXT_INIT;
    pv_text_add(&text, "course \"Hair\" edition \"1\"\nmat 150mm by 220mm ground white\n");
    const int n = 12;
    for (int i = 0; i < n; i++) {
        double width = 0.1 + 0.027 * i, at = 10.0 + i * 10.02;
        pv_text_add(&text,
                    "line v%d width %.3fmm colour black from (%.3f, 10)mm, to (%.3f, 60)mm\n"
                    "line h%d width %.3fmm colour black from (10, %.3f)mm, to (60, %.3f)mm\n"
                    "line s%d width %.3fmm colour black from (%.3f, 195)mm, to (%.3f, 210)mm\n",
                    i, width, at, at, i, width, at + 65, at + 65, i, width, at, at + 7.3);
    }
    pv_text_add(&text, "circle r width 0.1mm colour black centre (105, 130)mm radius %gmm\n",
                RADIUS);
    ck_assert(!text.failed);
    pv_plan *plan = plan_of(text.chars);
    pv_text_drop(&text);
    pv_scene *page = pv_plan_page(plan, &plan->sheets[0]);
    pv_shown shown;
    pv_labels labels;
    ck_assert(page != NULL && pv_shown_make(&shown, page, NULL));
    ck_assert(pv_labels_make(&labels, &shown));
    int plain = 0, beside = 0, tried = 0;
    for (int i = 0; i < n; i++)
        for (double t = 0; t < 50; t += 0.13, tried += 3)
            for (int d = -1; d <= 1; d++) {
                double at = 10.0 + i * 10.02, off = 0.95 * d, s = t * 0.3;
                pv_vec p[3] = {pv_v(at + off, 10 + t), pv_v(10 + t, at + 65 + off),
                               pv_v(at + s * 7.3 / 15 + off, 195 + s)};
                for (int k = 0; k < 3; k++)
                    plain += pv_label_around(&labels, p[k], 1.1) != PV_LABEL_BLOCKED;
                pv_vec away = pv_v(at + 4, 12 + t * 0.9);
                beside += pv_label_around(&labels, away, 1.1) == (uint32_t)plan->art.ground;
            }
    for (double a = 0; a < 6.28; a += 0.01) {
        pv_vec p = pv_v(105 + RADIUS * cos(a), 130 + RADIUS * sin(a));
        plain += pv_label_around(&labels, p, 1.1) != PV_LABEL_BLOCKED;
    }
    ck_assert_int_eq(plain, 0);
    ck_assert_int_eq(beside, tried);
    pv_labels_clear(&labels);
    pv_shown_clear(&shown);
    pv_scene_free(page);
    pv_plan_free(plan);
}
END_TEST

/* What is covered again is plain: the thin line's marks go where something is painted over it. */
START_TEST(what_is_painted_over_leaves_no_edge)
{
    pv_plan *plan =
        plan_of("course \"Over\" edition \"1\"\nmat 150mm by 220mm ground white\n"
                "line thin width 0.1mm colour black from (10, 100.1)mm, to (140, 100.1)mm\n"
                "line wide width 20mm colour black from (75.3, 20)mm, to (75.3, 200)mm\n");
    pv_scene *page = pv_plan_page(plan, &plan->sheets[0]);
    pv_shown shown;
    pv_labels labels;
    ck_assert(page != NULL && pv_shown_make(&shown, page, NULL));
    ck_assert(pv_labels_make(&labels, &shown));
    uint32_t wide = (uint32_t)plan->art.n_colours + 1;
    ck_assert_uint_eq(pv_label_around(&labels, pv_v(75, 60), 1.1), wide);
    ck_assert_uint_eq(pv_label_around(&labels, pv_v(75, 100), 1.1), wide);
    ck_assert_uint_eq(pv_label_around(&labels, pv_v(30, 100), 1.1), PV_LABEL_BLOCKED);
    ck_assert_uint_eq(pv_label_around(&labels, pv_v(-500, 100), 1.1), PV_LABEL_BLOCKED);
    ck_assert_uint_eq(pv_label_around(&labels, pv_v(NAN, 100), 1.1), PV_LABEL_BLOCKED);
    pv_labels_clear(&labels);
    pv_shown_clear(&shown);
    pv_scene_free(page);
    pv_plan_free(plan);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("shape");
    TCase *tcase = tcase_create("labels");
    tcase_add_test(tcase, hairlines_are_never_taken_for_plain);
    tcase_add_test(tcase, what_is_painted_over_leaves_no_edge);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
