/* What one card can hide: points of rectangles laid any way round. */
#include "common.h"

#include "measure/under_card.h"

#include <math.h>

static pv_reach reach_of(double length, double width, double turn, pv_vec middle)
{
    pv_reach out = pv_reach_none();
    pv_vec along = pv_polar(1, turn);
    for (int k = 0; k < 4; k++) {
        pv_vec at = pv_along(middle, along, (k & 1 ? 0.5 : -0.5) * length);
        pv_reach_add(&out, pv_along(at, pv_left(along), (k & 2 ? 0.5 : -0.5) * width));
    }
    return out;
}

static bool covered(double length, double width, double turn)
{
    pv_reach one = reach_of(length, width, turn, pv_v(100, 50));
    return pv_reach_under_one_card(&one, &one);
}

START_TEST(a_card_is_as_small_as_a_card_any_way_round)
{
    for (double turn = 0; turn < 6.3; turn += 0.013) {
        ck_assert(covered(85.6, 53.98, turn));
        ck_assert(covered(60, 0.5, turn));
        ck_assert(!covered(150, 19, turn));
        ck_assert(!covered(110, 70, turn));
        ck_assert(!covered(80, 80, turn));
    }
}
END_TEST

/* Two corners of one card, and two that are farther apart than any. */
START_TEST(pieces_of_one_card_belong_together)
{
    for (double turn = 0; turn < 6.3; turn += 0.013) {
        pv_vec along = pv_polar(1, turn), up = pv_left(along);
        pv_vec corner = pv_along(pv_scale(along, 38), up, 22), far = pv_scale(along, 57);
        pv_reach a = reach_of(8, 8, turn, corner);
        pv_reach b = reach_of(8, 8, turn, pv_scale(corner, -1));
        pv_reach c = reach_of(8, 8, turn, far), d = reach_of(8, 8, turn, pv_scale(far, -1));
        ck_assert(pv_reach_under_one_card(&a, &b));
        ck_assert(!pv_reach_under_one_card(&c, &d));
    }
}
END_TEST

/* A card's own rectangle has its sides, and holds what lies on it; a square has none. */
START_TEST(its_rectangle_is_found_any_way_round)
{
    for (double turn = 0; turn < 6.3; turn += 0.013) {
        pv_vec middle = {30, -20}, along = pv_polar(1, turn);
        pv_reach card = reach_of(85.6, 53.98, turn, middle);
        pv_reach square = reach_of(70, 70, turn, middle);
        int k = pv_reach_card_turn(&card);
        ck_assert_int_lt(k, PV_CARD_TURNS);
        ck_assert_int_eq(pv_reach_card_turn(&square), PV_CARD_TURNS);
        ck_assert(pv_reach_holds(&card, k, pv_along(middle, along, 42)));
        ck_assert(!pv_reach_holds(&card, k, pv_along(middle, along, 47)));
        ck_assert(!pv_reach_holds(&card, k, pv_along(middle, pv_left(along), -31)));
    }
}
END_TEST

START_TEST(its_sides_are_those_of_the_standard)
{
    ck_assert(pv_like_card_side(85.6) && pv_like_card_side(53.98));
    ck_assert(pv_like_card_side(53.98 / 0.94) && pv_like_card_side(85.6 / 0.94));
    ck_assert(!pv_like_card_side(75) && !pv_like_card_side(50));
    ck_assert(pv_like_card_side(87.5) && !pv_like_card_side(150) && !pv_like_card_side(19));
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("under card");
    TCase *tcase = tcase_create("under card");
    tcase_add_test(tcase, a_card_is_as_small_as_a_card_any_way_round);
    tcase_add_test(tcase, pieces_of_one_card_belong_together);
    tcase_add_test(tcase, its_rectangle_is_found_any_way_round);
    tcase_add_test(tcase, its_sides_are_those_of_the_standard);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
