#include "common.h"

#include "course/findings.h"
#include "course/inks.h"
#include "paper/paper.h"
#include "plan/layout.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define HEAD                                                                                       \
    "mat 600mm by 400mm\n"                                                                         \
    "tolerance scale 0.3 %, width 0.5mm, spacing 1mm, straightness 1mm, skew 3mrad\n"

static pv_course *parse(const char *text)
{
    pv_diags *diags = pv_diags_new();
    pv_course *course = pv_course_parse(text, strlen(text), "t.course", test_type(), diags);
    if (course == NULL) {
        char *said = diags_text(diags);
        ck_abort_msg("%s", said);
    }
    pv_diags_free(diags);
    return course;
}

static size_t colour(const pv_course *course, const char *name)
{
    for (size_t i = 0; i < course->art.n_colours; i++)
        if (strcmp(course->art.colours[i].name, name) == 0)
            return i;
    ck_abort_msg("no colour %s", name);
    return 0;
}

static double luminance(const pv_course *course, const char *name)
{
    return pv_colour_luminance(&course->art.colours[colour(course, name)]);
}

static double area(const pv_takeoff *takeoff, const char *name)
{
    const pv_colour_info *colour;
    for (size_t i = 0; (colour = pv_takeoff_colour(takeoff, i)) != NULL; i++)
        if (strcmp(colour->name, name) == 0)
            return colour->area;
    return NAN;
}

/* A ring of 10 mm about a disc of radius 95 mm, on a mat of 600 by 400 mm, on A4: closed forms. */
START_TEST(areas_and_lengths_are_those_of_closed_forms)
{
    pv_course *course = parse(HEAD "colour red = rgb(200, 0, 0)\n"
                                   "circle c centre (300, 200)mm radius 100mm width 10mm\n"
                                   "fill at (300, 200)mm colour red\n");
    pv_layout_options options = pv_layout_defaults();
    pv_plan *plan = pv_plan_make(course, &options, NULL);
    ck_assert_ptr_nonnull(plan);
    pv_takeoff *taken = pv_takeoff_make(plan, 160, NULL);
    ck_assert_ptr_nonnull(taken);
    const pv_takeoff t = *taken;
    double disc = PV_PI * 95 * 95, ring = PV_PI * (105 * 105 - 95 * 95), mat = 600.0 * 400;
    double worst = fmax(fabs(area(taken, "red") / disc - 1), fabs(area(taken, "black") / ring - 1));
    worst = fmax(worst, fabs(area(taken, "white") / (mat - disc - ring) - 1));
    say_worst("painted areas against closed forms", worst, 1e-4, "");
    ck_assert(worst < 1e-4);
    /* red is 200/255 of white's red alone: 55/255 black, 200/255 magenta and yellow */
    ck_assert(fabs(t.ink[1] - disc / mat * 200 / 255) < 1e-5);
    ck_assert(fabs(t.ink[2] - t.ink[1]) < 1e-12 && t.ink[0] == 0);
    ck_assert(fabs(t.ink[3] - (ring + disc * 55 / 255) / mat) < 1e-5);
    /* Cells of at most 177 by 264 mm upright, 264 by 177 lying: 4 by 2 sheets are the fewest. Three
     * seams are 400 mm long and one is 600; all are cut once, and 2 m of outer edge. */
    ck_assert(plan->columns == 4 && plan->rows == 2);
    ck_assert_double_eq_tol(t.tape, 1.8, 1e-9);
    ck_assert_double_eq_tol(t.cut, 3.8, 1e-9);
    ck_assert_double_eq_tol(t.paper, 0.49896, 1e-9);  /* 8 of 0.06237 m2 */
    ck_assert_double_eq_tol(t.mass, 0.0798336, 1e-9); /* at 160 g/m2 */
    ck_assert_double_eq_tol(t.minutes, 17.3,
                            1e-9); /* 1 a sheet, 1.5 a metre cut, 2 a metre taped */
    /* Along each seam 3 mm of bleed on the one sheet and 4 of lap on the other, in corners twice:
     * 621 by 407 mm. */
    ck_assert_double_eq_tol(t.printed, 621.0 * 407 / (600 * 400), 1e-9);
    pv_takeoff_free(taken);
    pv_plan_free(plan);
    pv_course_free(course);
}
END_TEST

#define FIELDS                                                                                     \
    HEAD "colour reddish = rgb(200, 90, 90)\n"                                                     \
         "colour greenish = rgb(80, 140, 80)\n"                                                    \
         "colour deep = rgb(10, 20, 90)\n"                                                         \
         "line a width 10mm from (200, 0)mm to (200, 400)mm\n"                                     \
         "line b width 10mm from (400, 0)mm to (400, 400)mm\n"                                     \
         "fill at (100, 200)mm colour reddish\n"                                                   \
         "fill at (300, 200)mm colour greenish\n"                                                  \
         "fill at (500, 200)mm colour deep\n"                                                      \
         "text \"HALT\" at (450, 200)mm height 20mm colour white\n"

/* Two hues of nearly one luminance on the two sides of a line. */
START_TEST(grays_are_told_apart)
{
    pv_course *course = parse(FIELDS);
    ck_assert(fabs(luminance(course, "reddish") - luminance(course, "greenish")) < 0.04);
    pv_diags *diags = pv_diags_new();
    ck_assert(pv_course_print_as(course, true, false, diags));
    ck_assert_uint_eq(pv_diags_size(diags), 0);
    for (size_t i = 0; i < course->art.n_colours; i++) {
        const uint8_t *rgb = course->art.colours[i].rgb;
        ck_assert(rgb[0] == rgb[1] && rgb[1] == rgb[2]);
    }
    double red = luminance(course, "reddish"), green = luminance(course, "greenish");
    ck_assert(fabs(red - green) >= PV_INKS_ACROSS - 1e-9);
    ck_assert(red >= PV_CONTRAST_LEAST - 1e-9 && green >= PV_CONTRAST_LEAST - 1e-9);
    ck_assert(luminance(course, "black") == 0 && luminance(course, "white") == 1);
    ck_assert(luminance(course, "deep") >= PV_CONTRAST_LEAST - 1e-9); /* beside a black line */
    pv_diags_free(diags);
    pv_course_free(course);
}
END_TEST

START_TEST(little_ink_keeps_contrast)
{
    pv_course *before = parse(FIELDS), *after = parse(FIELDS);
    ck_assert(pv_course_print_as(after, false, true, NULL));
    static const char *const fills[] = {"reddish", "greenish", "deep"};
    for (int i = 0; i < 3; i++) {
        ck_assert_msg(luminance(after, fills[i]) > luminance(before, fills[i]) + 0.05, "%s",
                      fills[i]);
        ck_assert(luminance(after, fills[i]) >= PV_CONTRAST_LEAST - 1e-9); /* the black line */
    }
    ck_assert(luminance(after, "deep") <= 1 - PV_CONTRAST_LEAST + 1e-9); /* white lettering */
    ck_assert(luminance(after, "black") == 0);
    pv_review *a = pv_review_make(before, NULL), *b = pv_review_make(after, NULL);
    ck_assert_uint_le(b->facts.problems, a->facts.problems);
    pv_review_free(a);
    pv_review_free(b);
    pv_course_free(before);
    pv_course_free(after);
}
END_TEST

/* One colour for a line and for a fill becomes two, and the line keeps its own. */
START_TEST(lines_stay_true)
{
    pv_course *course = parse(HEAD "colour mid = grey(120)\n"
                                   "line a width 10mm colour mid from (200, 0)mm to (200, 400)mm\n"
                                   "line b width 10mm from (400, 0)mm to (400, 400)mm\n"
                                   "fill at (500, 200)mm colour mid\n");
    ck_assert(pv_course_print_as(course, false, true, NULL));
    const pv_art *art = &course->art;
    ck_assert_uint_eq(art->colours[art->lines[0].colour].rgb[0], 120);
    ck_assert_uint_gt(art->colours[art->fills[0].colour].rgb[0], 120);
    ck_assert_str_eq(art->colours[art->fills[0].colour].name, "mid of fills");
    pv_course_free(course);
}
END_TEST

START_TEST(classes_of_printers_have_margins)
{
    double upright[4], lying[4], either[4];
    size_t n = 0;
    for (; pv_printer_class(n) != NULL; n++) {
        const char *name = pv_printer_class(n);
        ck_assert(pv_class_margins(name, PV_PORTRAIT, upright));
        ck_assert(pv_class_margins(name, PV_LANDSCAPE, lying));
        ck_assert(pv_class_margins(name, PV_FEWEST, either));
        for (int i = 0; i < 4; i++) {
            ck_assert(either[i] >= upright[i] && either[i] >= lying[i]);
            /* whichever way a lying page is turned */
            ck_assert(lying[i] >= upright[(i + 1) % 4] && lying[i] >= upright[(i + 3) % 4]);
        }
    }
    ck_assert_uint_eq(n, 3);
    ck_assert(!pv_class_margins("typewriter", PV_PORTRAIT, upright));
}
END_TEST

/* 600 by 400 mm with a border of 20 mm all round: cuts and seams run out through it; in a butt
 * joint both sheets are cut at a seam. */
START_TEST(borders_and_butt_joints_are_cut)
{
    pv_course *course = parse(HEAD);
    for (int butt = 0; butt < 2; butt++) {
        pv_layout_options options = pv_layout_defaults();
        options.border = 20;
        options.joint = butt ? PV_JOINT_BUTT : PV_JOINT_LAP;
        pv_plan *plan = pv_plan_make(course, &options, NULL);
        ck_assert_ptr_nonnull(plan);
        pv_takeoff *taken = pv_takeoff_make(plan, 80, NULL);
        ck_assert_ptr_nonnull(taken);
        const pv_takeoff t = *taken;
        double r = (double)plan->rows, c = (double)plan->columns;
        ck_assert(r > 1 && c > 1);
        double seams = ((c - 1) * 440 + (r - 1) * 640) / 1000, outline = 2 * 0.440 + 2 * 0.640;
        ck_assert(fabs(t.tape - seams) < 1e-9);
        ck_assert(fabs(t.cut - (outline + (butt ? 2 : 1) * seams)) < 1e-9);
        pv_takeoff_free(taken);
        pv_plan_free(plan);
    }
    pv_course_free(course);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("takeoff");
    TCase *tcase = tcase_create("takeoff");
    tcase_add_test(tcase, areas_and_lengths_are_those_of_closed_forms);
    tcase_add_test(tcase, borders_and_butt_joints_are_cut);
    tcase_add_test(tcase, grays_are_told_apart);
    tcase_add_test(tcase, little_ink_keeps_contrast);
    tcase_add_test(tcase, lines_stay_true);
    tcase_add_test(tcase, classes_of_printers_have_margins);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
