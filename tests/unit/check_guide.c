/* The taping guide's steps, by hand: two by two sheets, with a lap and edge to edge. */
#include "art_by_hand.h"

#include "course/model.h"
#include "guide/data.h"
#include "guide/pages.h"

static pv_plan *plan_of(double side, const char *paper, pv_joint joint, bool route)
{
    struct pv_course course = {.robot = {.given = false}};
    /* From A1 to A2, on to B2, and back. */
    pv_piece pieces[] = {pv_segment(pv_v(40, side - 40), pv_v(side - 40, side - 40)),
                         pv_segment(pv_v(side - 40, side - 40), pv_v(side - 40, 40))};
    course.route.pieces = pieces;
    course.route.n = route ? 2 : 0;
    art_start(&course.art, "Plain", side, side);
    pv_layout_options options = pv_layout_defaults();
    options.paper = paper;
    options.joint = joint;
    options.type = test_type();
    pv_plan *plan = pv_plan_make(&course, &options, NULL);
    ck_assert_ptr_nonnull(plan);
    pv_art_clear(&course.art);
    return plan;
}

static void expect_side(const pv_guide *guide, size_t step, pv_side side, bool cut,
                        const char *neighbour, bool joins)
{
    const pv_guide_side *s = &guide->steps[step].side[side];
    const char *name = s->neighbour == SIZE_MAX ? "" : guide->plan->sheets[s->neighbour].name;
    ck_assert_msg(s->cut == cut, "step %zu, side %d: cut %d", step, side, s->cut);
    ck_assert_str_eq(name, neighbour);
    ck_assert_msg(s->joins == joins, "step %zu, side %d: joins %d", step, side, s->joins);
    ck_assert(s->on_top == (joins && guide->plan->joint == PV_JOINT_LAP));
    ck_assert(s->n_crosses >= 2 || *neighbour == '\0');
}

/* In reading order each sheet lies over those that lie: A1 A2 B1 B2. */
START_TEST(steps_of_four_sheets)
{
    for (int butt = 0; butt < 2; butt++) {
        pv_plan *plan = plan_of(300, "A4", butt ? PV_JOINT_BUTT : PV_JOINT_LAP, false);
        ck_assert_uint_eq(plan->n_sheets, 4);
        pv_guide *guide = pv_guide_make(plan, NULL);
        ck_assert_ptr_nonnull(guide);
        expect_side(guide, 0, PV_LEFT, true, "", false);
        expect_side(guide, 0, PV_TOP, true, "", false);
        expect_side(guide, 0, PV_RIGHT, butt, "A2", false);
        expect_side(guide, 0, PV_BOTTOM, butt, "B1", false);
        expect_side(guide, 1, PV_LEFT, true, "A1", true);
        expect_side(guide, 1, PV_BOTTOM, butt, "B2", false);
        expect_side(guide, 2, PV_TOP, true, "A1", true);
        expect_side(guide, 2, PV_RIGHT, butt, "B2", false);
        expect_side(guide, 3, PV_LEFT, true, "B1", true);
        expect_side(guide, 3, PV_TOP, true, "A2", true);
        expect_side(guide, 3, PV_RIGHT, true, "", false);
        expect_side(guide, 3, PV_BOTTOM, true, "", false);
        pv_guide_free(guide);
        pv_plan_free(plan);
    }
}
END_TEST

/* Each crossing is told once, in the step that closes its seam. */
START_TEST(crossings_are_told_once)
{
    pv_plan *plan = plan_of(300, "A4", PV_JOINT_LAP, true);
    pv_guide *guide = pv_guide_make(plan, NULL);
    size_t n = 0, down = 0, up = 0;
    for (size_t i = 0; i < guide->n; i++)
        for (int s = 0; s < 4; s++) {
            const pv_guide_side *side = &guide->steps[i].side[s];
            ck_assert(side->joins || side->n_crossings == 0);
            n += side->n_crossings;
            down += side->down;
            up += side->up;
        }
    ck_assert_uint_eq(n, 2);
    ck_assert(down == 2 && up == 0); /* it goes down where an order allows that */
    pv_guide_free(guide);
    pv_plan_free(plan);
}
END_TEST

static bool count_page(void *context, const pv_drawing *page, pv_diags *diags)
{
    (void)diags;
    ck_assert(page->n_ops > 0 && !page->failed);
    ++*(size_t *)context;
    return true;
}

/* Of many sheets those that are treated alike share a step, and each is in one. */
START_TEST(many_sheets_share_steps)
{
    pv_plan *plan = plan_of(3000, "A6", PV_JOINT_LAP, false);
    pv_guide *guide = pv_guide_make(plan, NULL);
    ck_assert(guide->n > 1000);
    size_t told = 0, groups = 0, pages = 0;
    for (size_t i = 0; i < guide->n; i = pv_guide_next(guide, i)) {
        const pv_guide_step *first = &guide->steps[i];
        for (size_t k = i; k <= pv_guide_group(guide, i); k++, told++)
            for (int s = 0; s < 4; s++) {
                ck_assert(guide->steps[k].side[s].cut == first->side[s].cut);
                ck_assert(guide->steps[k].side[s].joins == first->side[s].joins);
            }
        groups++;
    }
    ck_assert_uint_eq(told, guide->n);
    ck_assert_uint_eq(groups, pv_guide_groups(guide));
    ck_assert_uint_eq(groups, 3 * plan->rows); /* the first of a row, the last, and the others */
    ck_assert(pv_guide_pages(guide, test_type(), count_page, &pages, NULL));
    printf("    %zu sheets, %zu steps, %zu pages\n", guide->n, groups, pages);
    ck_assert(pages <= groups + 4);
    pv_guide_free(guide);
    pv_plan_free(plan);
}
END_TEST

/* The whole, what to know, and four steps to a page of A4: no page has a few lines alone. */
START_TEST(no_page_for_a_few_lines)
{
    static const double sides[] = {500, 700, 900, 1000, 1200};
    for (size_t l = 0; pv_language_at(l) != NULL; l++)
        for (size_t i = 0; i < sizeof sides / sizeof *sides; i++) {
            pv_plan *plan = plan_of(sides[i], "A4", PV_JOINT_LAP, false);
            plan->language = pv_language_at(l);
            pv_guide *guide = pv_guide_make(plan, NULL);
            size_t pages = 0, steps = pv_guide_groups(guide);
            ck_assert(pv_guide_pages(guide, test_type(), count_page, &pages, NULL));
            printf("    %s, %g mm: %zu steps, %zu pages\n", pv_language_code(plan->language),
                   sides[i], steps, pages);
            ck_assert_uint_eq(pages, 2 + (steps + 3) / 4);
            pv_guide_free(guide);
            pv_plan_free(plan);
        }
}
END_TEST

START_TEST(one_sheet_has_no_guide)
{
    pv_plan *plan = plan_of(100, "A4", PV_JOINT_LAP, false);
    ck_assert(!pv_guide_wanted(plan));
    pv_plan_free(plan);
    pv_layout_options options = pv_layout_defaults();
    options.type = test_type();
    plan = pv_plan_proof(&options, NULL);
    ck_assert(!pv_guide_wanted(plan));
    pv_plan_free(plan);
}
END_TEST

/* What a page gets can be read, has all steps, and names pictures that can be made. */
START_TEST(data_for_a_page)
{
    pv_plan *plan = plan_of(300, "A4", PV_JOINT_LAP, true);
    pv_guide *guide = pv_guide_make(plan, NULL);
    pv_json_writer w = PV_JSON_WRITER_INIT;
    pv_json_open(&w, '{');
    ck_assert(pv_guide_members(&w, guide, "guide/"));
    pv_json_close(&w, '}');
    char *text = pv_json_take(&w);
    pv_diags *diags = pv_diags_new();
    pv_json *json = pv_json_parse(text, strlen(text), NULL, diags);
    ck_assert_ptr_nonnull(json);
    const pv_json_node *steps = pv_json_member(json, pv_json_root(json), "steps");
    ck_assert_uint_eq(pv_json_length(json, steps), 4);
    for (size_t i = 0; i < 4; i++) {
        const pv_json_node *step = pv_json_item(json, steps, i);
        ck_assert_int_eq(pv_json_get_integer(json, pv_json_member(json, step, "number"), 1, 4),
                         (long long)i + 1);
        ck_assert_uint_ge(pv_json_length(json, pv_json_member(json, step, "lines")), 3);
        char file[64] = "guide/";
        pv_guide_file(guide, PV_GUIDE_LAYING, i, file + strlen(file));
        const pv_json_node *lay = pv_json_member(json, step, "lay");
        ck_assert_str_eq(pv_json_get_string(json, pv_json_member(json, lay, "file")), file);
        char *svg = pv_guide_svg(guide, PV_GUIDE_LAYING, i, test_type(), diags);
        ck_assert_ptr_nonnull(svg);
        pv_free(svg);
    }
    ck_assert(pv_json_good(json));
    pv_json_free(json);
    pv_free(text);
    pv_diags_free(diags);
    pv_guide_free(guide);
    pv_plan_free(plan);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("guide");
    TCase *tests = tcase_create("steps");
    tcase_set_timeout(tests, 60);
    tcase_add_test(tests, steps_of_four_sheets);
    tcase_add_test(tests, crossings_are_told_once);
    tcase_add_test(tests, many_sheets_share_steps);
    tcase_add_test(tests, no_page_for_a_few_lines);
    tcase_add_test(tests, one_sheet_has_no_guide);
    tcase_add_test(tests, data_for_a_page);
    suite_add_tcase(suite, tests);
    return run_suite(suite);
}
