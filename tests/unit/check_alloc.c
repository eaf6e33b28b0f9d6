/* Reading a course, laying it on sheets, writing the plan and reading it back, each with every one
 * of its allocations refused in turn: no crash, no leak (under the sanitizers), nothing half done,
 * and the reason is said. */
#include "common.h"
#include "refuse.h"

#include "base/diag.h"
#include "plan/layout.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* All kinds of things in little space; its seams run along an edge, so that they are moved. */
static const char text[] = "course \"Alloc\" edition \"1\"\n"
                           "mat 340mm by 200mm ground white\n"
                           "colour sand = rgb(240, 225, 180)\n"
                           "let gap = 20mm\n"
                           "paint width 20mm, colour black, ends flat\n"
                           "line a from (180.2, 0)mm to (180.2, 200)mm\n"
                           "repeat y from 40mm to 160mm step 60mm\n"
                           "    line b from (gap, y) to (160mm, y)\n"
                           "end\n"
                           "arc c centre (260, 100)mm radius 50mm from 0deg sweep 180deg\n"
                           "fill at (100, 10)mm colour sand\n"
                           "text \"HELLO\" at (20, 120)mm height 12mm\n"
                           "start at (230, 60)mm heading 0deg size 30mm\n"
                           "route from start ahead 30mm left 180deg radius 50mm ahead 200mm\n";

typedef struct inputs {
    pv_course *course, *other; /* in another edition */
    pv_plan *plan, *kept;      /* of that, with the first one's seams */
    char *json;
} inputs;

/* Each gives true where it was done; Check's own assertions need memory, so there are none. */
typedef bool work(const inputs *in, pv_diags *diags);

static bool read_course(const inputs *in, pv_diags *diags)
{
    (void)in;
    pv_course *course = pv_course_parse(text, strlen(text), "alloc.course", test_type(), diags);
    bool good = course != NULL;
    pv_course_free(course);
    return good;
}

static bool make_plan(const inputs *in, pv_diags *diags)
{
    pv_layout_options options = pv_layout_defaults();
    pv_plan *plan = pv_plan_make(in->course, &options, diags);
    bool good = plan != NULL;
    pv_plan_free(plan);
    return good;
}

static bool keep_plan(const inputs *in, pv_diags *diags)
{
    pv_layout_options options = pv_layout_defaults();
    options.keep = in->plan;
    pv_plan *plan = pv_plan_make(in->other, &options, diags);
    bool good = plan != NULL;
    pv_plan_free(plan);
    return good;
}

static bool compare_plans(const inputs *in, pv_diags *diags)
{
    pv_comparison *found = pv_plan_compare(in->plan, in->kept, NULL, diags);
    bool good = found != NULL;
    pv_comparison_free(found);
    return good;
}

static bool make_custom(const inputs *in, pv_diags *diags)
{
    pv_layout_options options = pv_layout_defaults();
    options.paper = "12 x 9 in";
    pv_plan *plan = pv_plan_make(in->course, &options, diags);
    bool good = plan != NULL;
    pv_plan_free(plan);
    return good;
}

static bool explain_plan(const inputs *in, pv_diags *diags)
{
    char *said = pv_plan_explain(in->plan, in->course, diags);
    bool good = said != NULL;
    pv_free(said);
    return good;
}

static bool write_plan(const inputs *in, pv_diags *diags)
{
    char *json = pv_plan_json(in->plan, diags);
    bool good = json != NULL;
    pv_free(json);
    return good;
}

static bool read_plan(const inputs *in, pv_diags *diags)
{
    pv_plan *plan = pv_plan_parse(in->json, strlen(in->json), "alloc.plan.json", diags);
    bool good = plan != NULL;
    pv_plan_free(plan);
    return good;
}

static bool choose(const inputs *in, pv_diags *diags)
{
    bool *chosen = NULL;
    bool good = pv_plan_choose(in->plan, "A1-A2", &chosen, diags);
    pv_free(chosen);
    return good;
}

static bool make_page(const inputs *in, pv_diags *diags)
{
    pv_scene *page = pv_plan_page(in->plan, &in->plan->sheets[0]);
    bool good = page != NULL;
    pv_scene_free(page);
    if (!good)
        pv_fail_memory(diags);
    return good;
}

static const struct {
    const char *what;
    work *run;
} works[] = {
    {"reading a course", read_course}, {"making a plan", make_plan},
    {"a custom sheet", make_custom},   {"writing a plan", write_plan},
    {"reading a plan", read_plan},     {"choosing sheets", choose},
    {"a sheet's page", make_page},     {"explaining a plan", explain_plan},
    {"keeping seams", keep_plan},      {"comparing plans", compare_plans},
};

START_TEST(every_allocation_may_fail)
{
    inputs in = {0};
    in.course = pv_course_parse(text, strlen(text), NULL, test_type(), NULL);
    ck_assert_ptr_nonnull(in.course);
    char *changed = pv_copy_text(text);
    memcpy(strstr(changed, "HELLO"), "HULLO", 5);
    in.other = pv_course_parse(changed, strlen(changed), NULL, test_type(), NULL);
    ck_assert_ptr_nonnull(in.other);
    pv_layout_options options = pv_layout_defaults();
    in.plan = pv_plan_make(in.course, &options, NULL);
    options.keep = in.plan;
    in.kept = pv_plan_make(in.other, &options, NULL);
    ck_assert_ptr_nonnull(in.kept);
    ck_assert_ptr_nonnull(in.plan);
    ck_assert_uint_eq(in.plan->n_sheets, 2);
    in.json = pv_plan_json(in.plan, NULL);
    ck_assert_ptr_nonnull(in.json);

    long failures = 0, saved = 0;
    bool done = false;
    for (long n = 0; !done; n++) {
        pv_diags *diags = pv_diags_new();
        ck_assert_ptr_nonnull(diags);
        hit = false;
        until = n;
        bool good = works[_i].run(&in, diags);
        until = -1;
        ck_assert_msg(good || hit, "%s fails though nothing was refused", works[_i].what);
        /* A slower way round may save the work; what fails must say why. */
        ck_assert_msg(good || pv_diags_cause(diags) == PV_CAUSE_MEMORY,
                      "%s: nothing is said of allocation %ld", works[_i].what, n);
        saved += good && hit;
        failures += hit;
        done = !hit;
        pv_diags_free(diags);
    }
    printf("    %-18s %4ld allocations, each refused once; %ld times done even so\n",
           works[_i].what, failures, saved);
    ck_assert_int_le(saved, 3);
    ck_assert_int_gt(failures, 0);
    pv_free(in.json);
    pv_plan_free(in.plan);
    pv_plan_free(in.kept);
    pv_course_free(in.course);
    pv_course_free(in.other);
    free(changed);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("refused allocations");
    TCase *tcase = tcase_create("course and plan");
    tcase_set_timeout(tcase, 120);
    tcase_add_loop_test(tcase, every_allocation_may_fail, 0, sizeof works / sizeof *works);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
