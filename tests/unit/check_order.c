#include "art_by_hand.h"

#include "course/model.h"
#include "plan/crossings.h"
#include "plan/order.h"
#include "plan/rings.h"

/* ---- rings ---- */

/* Is there a ring among the wishes whose bits are not set? By taking away what has none before it.
 */
static bool has_ring(const pv_wish *wishes, size_t n, size_t n_nodes, unsigned given_up)
{
    bool gone[16] = {false};
    for (size_t round = 0; round < n_nodes; round++)
        for (size_t v = 0; v < n_nodes; v++) {
            bool waits = false;
            for (size_t i = 0; i < n; i++)
                waits = waits ||
                        (!(given_up >> i & 1) && wishes[i].then == v && !gone[wishes[i].first]);
            gone[v] = gone[v] || !waits;
        }
    for (size_t v = 0; v < n_nodes; v++)
        if (!gone[v])
            return true;
    return false;
}

START_TEST(rings_are_broken_at_the_least_weight)
{
    dice d = {31};
    size_t broken = 0, several = 0;
    for (int round = 0; round < 400; round++) {
        pv_wish wishes[12];
        size_t n_nodes = 3 + pick(&d, 5), n = 3 + pick(&d, 10), least = SIZE_MAX, got = 0;
        for (size_t i = 0; i < n; i++) {
            size_t first = pick(&d, n_nodes), step = 1 + pick(&d, n_nodes - 1);
            wishes[i] = (pv_wish){first, (first + step) % n_nodes, 1 + pick(&d, 4), false};
        }
        for (unsigned set = 0; set < 1u << n; set++) {
            size_t weight = 0;
            for (size_t i = 0; i < n; i++)
                weight += set >> i & 1 ? wishes[i].weight : 0;
            if (weight < least && !has_ring(wishes, n, n_nodes, set))
                least = weight;
        }
        bool proved = false;
        ck_assert(pv_rings_break(wishes, n, n_nodes, &proved));
        ck_assert(proved);
        unsigned set = 0;
        for (size_t i = 0; i < n; i++) {
            got += wishes[i].given_up ? wishes[i].weight : 0;
            set |= (wishes[i].given_up ? 1u : 0u) << i;
        }
        ck_assert_msg(got == least, "round %d: %zu, but %zu would do", round, got, least);
        ck_assert(!has_ring(wishes, n, n_nodes, set));
        broken += least > 0;
        several += least > 3;
    }
    printf("    400 sets of wishes, %zu with rings\n", broken);
    ck_assert(broken > 100 && several > 20);
}
END_TEST

/* ---- plans ---- */

static pv_plan *plan_of(double width, double height, const pv_piece *route, size_t n,
                        pv_joint joint)
{
    struct pv_course course = {.robot = {.given = false}};
    pv_piece *own = pv_copy_bytes(route, n, sizeof *route);
    art_start(&course.art, "Plain", width, height);
    course.route.pieces = own;
    course.route.n = n;
    pv_layout_options options = pv_layout_defaults();
    options.orientation = PV_PORTRAIT;
    options.joint = joint;
    pv_plan *plan = pv_plan_make(&course, &options, NULL);
    ck_assert_ptr_nonnull(plan);
    pv_art_clear(&course.art);
    free(own);
    return plan;
}

static void expect_taping(const pv_plan *plan, const char *wanted)
{
    char said[400] = "";
    for (size_t i = 0; i < plan->n_sheets; i++) {
        strcat(said, i > 0 ? " " : "");
        strcat(said, plan->sheets[plan->taping[i]].name);
    }
    ck_assert_str_eq(said, wanted);
}

static size_t steps_up(const pv_plan *plan)
{
    size_t down, up, sum = 0;
    for (size_t i = 0; i < plan->n_seams; i++) {
        ck_assert(pv_seam_steps(plan, &plan->seams[i], &down, &up));
        sum += up;
    }
    return sum;
}

START_TEST(without_a_route_the_order_is_that_of_reading)
{
    pv_plan *plan = plan_of(450, 450, NULL, 0, PV_JOINT_LAP);
    expect_taping(plan, "A1 A2 A3 B1 B2 B3");
    for (size_t i = 0; i < plan->n_seams; i++)
        ck_assert_uint_gt(plan->seams[i].over, plan->seams[i].under);
    pv_plan_free(plan);
}
END_TEST

START_TEST(the_robot_steps_down)
{
    pv_piece east[] = {pv_segment(pv_v(20, 300), pv_v(430, 300))};
    pv_plan *plan = plan_of(450, 450, east, 1, PV_JOINT_LAP);
    /* Along row A from left to right: each sheet over the next. */
    expect_taping(plan, "A3 A2 A1 B1 B2 B3");
    ck_assert_uint_eq(steps_up(plan), 0);
    pv_plan_free(plan);
    pv_piece west[] = {pv_segment(pv_v(430, 300), pv_v(20, 300))};
    plan = plan_of(450, 450, west, 1, PV_JOINT_LAP);
    expect_taping(plan, "A1 A2 A3 B1 B2 B3");
    pv_plan_free(plan);
    /* There and back: one of the two steps is up, whichever way. */
    pv_piece both[] = {east[0], west[0]};
    plan = plan_of(450, 450, both, 2, PV_JOINT_LAP);
    expect_taping(plan, "A1 A2 A3 B1 B2 B3");
    ck_assert_uint_eq(steps_up(plan), 2);
    pv_plan_free(plan);
}
END_TEST

/* Round a corner of four sheets every step down would make a pinwheel: one step leads up. */
START_TEST(a_ring_of_four_sheets_has_one_step_up)
{
    pv_vec c = {150, 220};
    for (int way = -1; way <= 1; way += 2) {
        pv_piece round[] = {pv_arc(c, 50, 0.3, way * 2 * PV_PI)};
        pv_plan *plan = plan_of(300, 440, round, 1, PV_JOINT_LAP);
        ck_assert_uint_eq(plan->n_sheets, 4);
        ck_assert_uint_eq(steps_up(plan), 1);
        pv_plan_free(plan);
    }
}
END_TEST

/* Towards the middle sheet of three from both sides: it would lie beneath both, for which the page
 * must have room. */
START_TEST(two_laps_need_the_room)
{
    pv_piece towards[] = {pv_segment(pv_v(20, 100), pv_v(225, 100)),
                          pv_segment(pv_v(225, 100), pv_v(225, 300)), /* past the mat and back */
                          pv_segment(pv_v(225, 300), pv_v(440, 300)),
                          pv_segment(pv_v(440, 300), pv_v(440, 100)),
                          pv_segment(pv_v(440, 100), pv_v(230, 100))};
    pv_plan *plan = plan_of(450, 200, towards, 5, PV_JOINT_LAP);
    ck_assert_uint_eq(plan->n_sheets, 3);
    ck_assert(plan->sheets[1].side[PV_LEFT] == PV_UNDER);
    ck_assert(plan->sheets[1].side[PV_RIGHT] == PV_UNDER);
    ck_assert_double_eq_tol(pv_sheet_allowance(plan, &plan->sheets[1], PV_LEFT), 16, 1e-12);
    ck_assert(steps_up(plan) <= 1); /* the way along y = 300 is off the mat, but crosses */
    pv_plan_free(plan);
    /* 177 mm a cell: no room for 16 + 16 beside it. */
    towards[2] = pv_segment(pv_v(225, 300), pv_v(520, 300));
    towards[3] = pv_segment(pv_v(520, 300), pv_v(520, 100));
    towards[4] = pv_segment(pv_v(520, 100), pv_v(270, 100));
    plan = plan_of(530, 200, towards, 5, PV_JOINT_LAP);
    ck_assert_uint_eq(plan->n_sheets, 3);
    ck_assert(
        !(plan->sheets[1].side[PV_LEFT] == PV_UNDER && plan->sheets[1].side[PV_RIGHT] == PV_UNDER));
    pv_plan_free(plan);
}
END_TEST

START_TEST(butt_joints_have_no_laps)
{
    pv_piece east[] = {pv_segment(pv_v(20, 300), pv_v(430, 300))};
    pv_plan *plan = plan_of(450, 450, east, 1, PV_JOINT_BUTT);
    expect_taping(plan, "A1 A2 A3 B1 B2 B3");
    for (size_t i = 0; i < plan->n_sheets; i++) {
        pv_box art = pv_sheet_art_box(plan, &plan->sheets[i]);
        for (int s = 0; s < 4; s++)
            ck_assert(plan->sheets[i].side[s] == PV_OUTER ||
                      (plan->sheets[i].side[s] == PV_OVER &&
                       pv_sheet_is_wide(&plan->sheets[i], (pv_side)s) ==
                           (s == PV_BOTTOM || s == PV_RIGHT)));
        if (plan->sheets[i].side[PV_RIGHT] == PV_OVER)
            ck_assert_double_eq_tol(art.hi.x - plan->sheets[i].cell.hi.x, PV_BLEED, 1e-12);
    }
    pv_plan_free(plan);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("order");
    TCase *tcase = tcase_create("order");
    tcase_set_timeout(tcase, 120);
    tcase_add_test(tcase, rings_are_broken_at_the_least_weight);
    tcase_add_test(tcase, without_a_route_the_order_is_that_of_reading);
    tcase_add_test(tcase, the_robot_steps_down);
    tcase_add_test(tcase, a_ring_of_four_sheets_has_one_step_up);
    tcase_add_test(tcase, two_laps_need_the_room);
    tcase_add_test(tcase, butt_joints_have_no_laps);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
