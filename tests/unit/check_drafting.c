/* The dimension drawing's parts: scales, how lengths are said, what is dimensioned, and that no
 * text meets another one. */
#include "common.h"

#include "drafting/board.h"
#include "drafting/features.h"
#include "drafting/scales.h"

#include <pavior/drawing.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ISO 5455: 1, 2 and 5 times a power of ten, either way. */
START_TEST(scales)
{
    static const struct {
        double most, scale;
        const char *said;
    } table[] = {
        {1, 1, "1:1"},        {1.99, 1, "1:1"},          {2, 2, "2:1"},
        {0.99, 0.5, "1:2"},   {0.5, 0.5, "1:2"},         {0.49, 0.2, "1:5"},
        {0.2, 0.2, "1:5"},    {0.199, 0.1, "1:10"},      {0.1, 0.1, "1:10"},
        {0.09, 0.05, "1:20"}, {0.049, 0.02, "1:50"},     {0.0021, 0.002, "1:500"},
        {73, 50, "50:1"},     {0.0011, 0.001, "1:1000"},
    };
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        char said[24];
        ck_assert_double_eq_tol(pv_scale_for(table[i].most, said), table[i].scale, 1e-12);
        ck_assert_str_eq(said, table[i].said);
    }
    char said[24];
    ck_assert_double_eq_tol(pv_scale_below(0.2, said), 0.1, 1e-12);
    ck_assert_str_eq(said, "1:10");
}
END_TEST

/* The inch is 25.4 mm. */
START_TEST(lengths)
{
    static const struct {
        double mm;
        const char *over, *under;
    } table[] = {{914.4, "914.4", "[36.00]"}, {228.6, "228.6", "[9.00]"},
                 {20, "20", "[0.79]"},        {1000, "1000", "[39.37]"},
                 {0.106, "0.11", "[0.00]"},   {593.636, "593.64", "[23.37]"}};
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        pv_dual said = pv_length_said(table[i].mm);
        ck_assert_str_eq(said.over, table[i].over);
        ck_assert_str_eq(said.under, table[i].under);
    }
}
END_TEST

static pv_course *course_of(const char *text)
{
    pv_diags *diags = pv_diags_new();
    pv_course *course = pv_course_parse(text, strlen(text), NULL, test_type(), diags);
    char *why = diags_text(diags);
    ck_assert_msg(course != NULL, "%s", why);
    pv_free(why);
    pv_diags_free(diags);
    return course;
}

static void expect_positions(const pv_features *f, int axis, const double *at, size_t n)
{
    ck_assert_uint_eq(f->n[axis], n);
    for (size_t i = 0; i < n; i++)
        ck_assert_double_eq_tol(f->positions[axis][i].at, at[i], 1e-9);
}

/* A fillet between two lines has its radius alone; the end of a stroke one position; a circle its
 * centre and diameter; what is there twice is said once. */
START_TEST(features)
{
    pv_course *course = course_of("course \"F\" edition \"1\"\n"
                                  "mat 500mm by 400mm ground white\n"
                                  "paint width 10mm, colour black, ends flat\n"
                                  "line a from (50, 0)mm heading 90deg, ahead 100mm, "
                                  "right 90deg radius 60mm, ahead 80mm\n"
                                  "circle c centre (300, 200)mm radius 40mm\n"
                                  "circle d centre (300, 300)mm radius 40mm\n"
                                  "line e width 4mm from (50, 350)mm to (150, 350)mm\n");
    pv_features f;
    ck_assert(pv_features_find(course, &f));
    /* Line a's end at 190 and e's at 150 and 50; the circles share x. */
    expect_positions(&f, 0, (double[]){50, 150, 190, 300}, 4);
    expect_positions(&f, 1, (double[]){160, 200, 300, 350}, 4);
    size_t widths = 0;
    for (size_t i = 0; i < f.n_notes; i++) {
        const pv_note_item *n = &f.notes[i];
        widths += n->kind == PV_NOTE_WIDTH;
        if (n->kind == PV_NOTE_RADIUS)
            ck_assert(n->count == 1 && fabs(n->value - 60) < 1e-9);
        if (n->kind == PV_NOTE_DIAMETER)
            ck_assert(n->count == 2 && fabs(n->value - 80) < 1e-9);
    }
    ck_assert_uint_eq(widths, 2);
    pv_features_drop(&f);
    pv_course_free(course);
}
END_TEST

/* Figures a course has nothing for are refused; the camera's height is that of the triangle. */
START_TEST(figures)
{
    pv_course *course = course_of("course \"F\" edition \"1\"\nmat 1000mm by 500mm ground white\n");
    ck_assert(!pv_figure_shows(course, PV_FIGURE_START));
    pv_diags *diags = pv_diags_new();
    ck_assert_ptr_null(pv_figure_svg(course, PV_FIGURE_START, diags));
    ck_assert_int_eq(pv_diags_cause(diags), PV_CAUSE_USAGE);
    pv_diags_free(diags);
    pv_camera_info camera;
    /* Right angles along: half of 1100 mm is the height. */
    ck_assert(pv_camera_of(course, (double[]){90, 90}, &camera));
    ck_assert_double_eq_tol(camera.height, 550, 1e-9);
    ck_assert_double_eq_tol(camera.seen[0], 1100, 1e-9);
    /* Along the short side 500 + 2 x 50 mm under 60 degrees: 300 / tan 30. */
    ck_assert(pv_camera_of(course, (double[]){120, 60}, &camera));
    ck_assert_double_eq_tol(camera.height, 300 * sqrt(3), 1e-9);
    ck_assert(!pv_camera_of(course, (double[]){0, 60}, &camera));
    ck_assert(!pv_camera_of(course, (double[]){180, 60}, &camera));
    size_t n = 0;
    while (pv_camera_at(course, n, &camera))
        n++;
    ck_assert_uint_ge(n, 3);
    pv_course_free(course);
}
END_TEST

START_TEST(refusals)
{
    pv_course *course = course_of("course \"F\" edition \"1\"\nmat 1000mm by 500mm ground white\n");
    pv_drawing_options options = pv_drawing_defaults();
    pv_diags *diags = pv_diags_new();
    options.paper = "A7";
    ck_assert_ptr_null(pv_dimensions_svg(course, &options, diags));
    ck_assert_int_eq(pv_diags_cause(diags), PV_CAUSE_USAGE);
    pv_diags_free(diags);
    pv_course_free(course);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("drafting");
    TCase *tcase = tcase_create("drafting");
    tcase_add_test(tcase, scales);
    tcase_add_test(tcase, lengths);
    tcase_add_test(tcase, features);
    tcase_add_test(tcase, figures);
    tcase_add_test(tcase, refusals);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
