/* Every allocation of drawing and of writing files is refused once: no crash, no leak (under the
 * sanitizers), and the reason is said. */
#include "common.h"
#include "refuse.h"

#include "course/model.h"
#include "draw/backend.h"

#include <pavior/drawing.h>

#include <stdio.h>
#include <stdlib.h>

static const char text[] = "course \"Alloc\" edition \"1\"\n"
                           "mat 250mm by 150mm ground white\n"
                           "paint width 20mm, colour black, ends flat\n"
                           "line a from (0, 0)mm to (250, 150)mm\n"
                           "text \"HELLO\" at (20, 100)mm height 12mm\n"
                           "route from (30, 20)mm to (220, 30)mm to (220, 120)mm\n";

/* Something of everything that a drawing has dimensions for. */
static const char all[] = "course \"Alloc\" edition \"1\"\n"
                          "mat 250mm by 150mm ground white\n"
                          "paint width 10mm, colour black, ends flat\n"
                          "line a from (20, 0)mm to (20, 100)mm to (90, 140)mm\n"
                          "circle c centre (180, 80)mm radius 30mm\n"
                          "start at (100, 30)mm heading 0deg size 20mm\n"
                          "finish at (180, 80)mm\n"
                          "robot 40mm by 30mm pivot 10mm\n";

static pv_course *course, *dimensioned;
static pv_plan *plan;

static void make_plan(void)
{
    pv_diags *diags = pv_diags_new();
    course = pv_course_parse(text, sizeof text - 1, NULL, test_type(), diags);
    dimensioned = pv_course_parse(all, sizeof all - 1, NULL, test_type(), diags);
    pv_layout_options options = pv_layout_defaults();
    options.paper = "A5";
    options.url = "http://a.de";
    plan = course != NULL ? pv_plan_make(course, &options, diags) : NULL;
    char *why = diags_text(diags);
    ck_assert_msg(plan != NULL && dimensioned != NULL, "%s", why);
    pv_free(why);
    pv_diags_free(diags);
}

static void drop_plan(void)
{
    pv_plan_free(plan);
    pv_course_free(dimensioned);
    pv_course_free(course);
}

static bool make_pdf(pv_diags *diags)
{
    forget_widths();
    unsigned char *bytes = NULL;
    size_t size = 0;
    pv_pdf_options how = pv_pdf_defaults();
    how.no_guide = true;
    bool good = sheets_pdf(plan, &how, &bytes, &size, diags);
    bool same = good == (bytes != NULL);
    pv_free(bytes);
    return same && good;
}

static bool make_course_svg(pv_diags *diags)
{
    forget_widths();
    char *svg = pv_course_svg(course, true, diags);
    pv_free(svg);
    return svg != NULL;
}

static bool draw_dimensions(pv_diags *diags)
{
    forget_widths();
    char *svg = pv_dimensions_svg(dimensioned, NULL, diags), *figure = NULL;
    bool good = svg != NULL;
    for (int k = 0; good && k <= PV_FIGURE_CAMERA; k++) {
        figure = pv_figure_svg(dimensioned, (pv_figure)k, diags);
        good = figure != NULL;
        pv_free(figure);
    }
    pv_free(svg);
    return good;
}

static bool make_sheet_svg(pv_diags *diags)
{
    char *svg = pv_sheet_svg(plan, 0, test_type(), diags);
    pv_free(svg);
    return svg != NULL;
}

static bool open_type(pv_diags *diags)
{
    pv_type *own = pv_type_open(NULL, diags);
    pv_type_free(own);
    return own != NULL;
}

START_TEST(pdf_without_memory)
{
    refuse_each(make_pdf, "pdf");
}
END_TEST

START_TEST(type_without_memory)
{
    refuse_each(open_type, "opening a typeface");
}
END_TEST

START_TEST(svg_without_memory)
{
    refuse_each(make_sheet_svg, "sheet as svg");
    refuse_each(make_course_svg, "course as svg");
    refuse_each(draw_dimensions, "dimensions and figures");
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("draw without memory");
    TCase *tcase = tcase_create("draw without memory");
    tcase_set_timeout(tcase, 60);
    tcase_add_unchecked_fixture(tcase, make_plan, drop_plan);
    tcase_add_test(tcase, pdf_without_memory);
    tcase_add_test(tcase, type_without_memory);
    tcase_add_test(tcase, svg_without_memory);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
