/* The taping guide without memory: each allocation is refused once. */
#include "common.h"
#include "guide/pages.h"
#include "refuse.h"

static const char text[] = "course \"Tiny\" edition \"1\"\n"
                           "mat 240mm by 100mm\n"
                           "robot 40mm by 30mm pivot 20mm\n"
                           "route from (20, 50)mm heading 0deg, ahead 200mm\n";
static pv_plan *plan;

static void make_plan(void)
{
    pv_diags *diags = pv_diags_new();
    pv_course *course = pv_course_parse(text, sizeof text - 1, NULL, test_type(), diags);
    pv_layout_options options = pv_layout_defaults();
    options.paper = "A5";
    plan = course != NULL ? pv_plan_make(course, &options, diags) : NULL;
    char *why = diags_text(diags);
    ck_assert_msg(plan != NULL, "%s", why);
    ck_assert_uint_eq(plan->n_sheets, 2);
    pv_free(why);
    pv_course_free(course);
    pv_diags_free(diags);
}

static void drop_plan(void)
{
    pv_plan_free(plan);
}

static bool take(void *context, const pv_drawing *page, pv_diags *diags)
{
    (void)diags;
    *(size_t *)context += page->n_ops > 0;
    return true;
}

static bool make_pages(pv_diags *diags)
{
    size_t n = 0;
    pv_guide *guide = pv_guide_make(plan, diags);
    bool good = guide != NULL && pv_guide_pages(guide, test_type(), take, &n, diags) && n >= 3;
    pv_guide_free(guide);
    return good;
}

START_TEST(pages_without_memory)
{
    refuse_each(make_pages, "guide");
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("guide without memory");
    TCase *tests = tcase_create("pages");
    tcase_set_timeout(tests, 120);
    tcase_add_unchecked_fixture(tests, make_plan, drop_plan);
    tcase_add_test(tests, pages_without_memory);
    suite_add_tcase(suite, tests);
    return run_suite(suite);
}
