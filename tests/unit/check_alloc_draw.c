/* Every allocation of drawing and of writing files is refused once: no crash, no leak (under the
 * sanitizers), and the reason is said. */
#include "common.h"
#include "refuse.h"

#include "course/model.h"
#include "draw/backend.h"

#include <stdio.h>
#include <stdlib.h>

static pv_type *type; /* that the course and its plan are drawn in */

static const char text[] = "course \"Alloc\" edition \"1\"\n"
                           "mat 250mm by 150mm ground white\n"
                           "paint width 20mm, colour black, ends flat\n"
                           "line a from (0, 0)mm to (250, 150)mm\n"
                           "text \"HELLO\" at (20, 100)mm height 12mm\n"
                           "route from (30, 20)mm to (220, 30)mm to (220, 120)mm\n";

typedef bool work(const pv_course *course, const pv_plan *plan, pv_diags *diags);

static bool make_pdf(const pv_course *course, const pv_plan *plan, pv_diags *diags)
{
    (void)course;
    unsigned char *bytes = NULL;
    size_t size = 0;
    bool good = sheets_pdf(plan, NULL, &bytes, &size, diags);
    bool same = good == (bytes != NULL);
    pv_free(bytes);
    return same && good; /* no assertion here: Check itself needs memory */
}

static bool make_sheet_svg(const pv_course *course, const pv_plan *plan, pv_diags *diags)
{
    (void)course;
    char *svg = pv_sheet_svg(plan, 0, test_type(), diags);
    pv_free(svg);
    return svg != NULL;
}

static bool make_course_svg(const pv_course *course, const pv_plan *plan, pv_diags *diags)
{
    (void)plan;
    char *svg = pv_course_svg(course, true, diags);
    pv_free(svg);
    return svg != NULL;
}

/* Work with a fresh type, so that no width is known from before. */
static bool with_fresh_type(work *what, const pv_plan *plan, long n, pv_diags *diags)
{
    type = pv_type_open(NULL, NULL);
    pv_course *course = pv_course_parse(text, sizeof text - 1, NULL, type, NULL);
    ck_assert_ptr_nonnull(course);
    until = n;
    bool good = what(course, plan, diags);
    pv_course_free(course);
    pv_type_free(type);
    return good;
}

static void refuse_each(work *what, const char *name)
{
    pv_diags *diags = pv_diags_new();
    pv_course *course = pv_course_parse(text, sizeof text - 1, NULL, test_type(), diags);
    pv_layout_options options = pv_layout_defaults();
    options.paper = "A5";
    pv_plan *plan = course != NULL ? pv_plan_make(course, &options, diags) : NULL;
    char *why = diags_text(diags);
    ck_assert_msg(plan != NULL, "%s", why);
    pv_free(why);
    long n = 0;
    for (bool reached = true; reached; n++) {
        pv_diags *said = pv_diags_new();
        bool good = with_fresh_type(what, plan, n, said);
        reached = until < 0;
        until = -1;
        if (good == reached)
            ck_abort_msg("%s: refusing allocation %ld went unnoticed", name, n);
        if (!good && pv_diags_cause(said) != PV_CAUSE_MEMORY)
            ck_abort_msg("%s: refusing allocation %ld gave cause %d", name, n,
                         (int)pv_diags_cause(said));
        pv_diags_free(said);
        ck_assert_int_lt(n, 100000);
    }
    printf("    %s: each of %ld allocations refused once\n", name, n - 1);
    pv_plan_free(plan);
    pv_course_free(course);
    pv_diags_free(diags);
}

START_TEST(pdf_without_memory)
{
    refuse_each(make_pdf, "pdf");
}
END_TEST

static bool open_type(const pv_course *course, const pv_plan *plan, pv_diags *diags)
{
    (void)course;
    (void)plan;
    pv_type *own = pv_type_open(NULL, diags);
    pv_type_free(own);
    return own != NULL;
}

START_TEST(type_without_memory)
{
    refuse_each(open_type, "opening a typeface");
}
END_TEST

START_TEST(svg_without_memory)
{
    refuse_each(make_sheet_svg, "sheet as svg");
    refuse_each(make_course_svg, "course as svg");
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("draw without memory");
    TCase *tcase = tcase_create("draw without memory");
    tcase_set_timeout(tcase, 60);
    tcase_add_test(tcase, pdf_without_memory);
    tcase_add_test(tcase, type_without_memory);
    tcase_add_test(tcase, svg_without_memory);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
