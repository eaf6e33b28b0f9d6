/* Wide format: which rolls take which mats, worked out by hand, and that what comes out can be
 * printed, cut and read back. */
#include "art_by_hand.h"
#include "wording.h"

#include "paper/roll.h"
#include "plan/roll.h"

#define TINY 1e-9

/* Beside a cell: bleed 3, label 4, overlap 16. At the ends alone: two overlaps and 106 for the bars
 * that run along. A plotter's margins: 5 at the edges, 18 at the ends. */
typedef struct fit {
    double mat[2], roll, border, panel;
    pv_orientation way;
    size_t columns, rows;
    double page[2];
    pv_strips strips;
} fit;

#define FREE PV_FEWEST

static const fit fits[] = {
    /* 904.4 can be printed of 36 in, 881.4 with strips beside it. */
    {{880, 1200}, 914.4, 0, 0, FREE, 1, 1, {914.4, 1259}, PV_STRIPS_AROUND},
    {{881.4, 2000}, 914.4, 0, 0, FREE, 1, 1, {914.4, 2059}, PV_STRIPS_AROUND},
    {{900, 1200}, 914.4, 0, 0, FREE, 1, 1, {914.4, 1374}, PV_STRIPS_ALONG_Y},
    {{1200, 900}, 914.4, 0, 0, FREE, 1, 1, {1374, 914.4}, PV_STRIPS_ALONG_X},
    {{904.4, 1200}, 914.4, 0, 0, FREE, 1, 1, {914.4, 1374}, PV_STRIPS_ALONG_Y},
    /* As wide as the roll: two panels. */
    {{914.4, 2000}, 914.4, 0, 0, FREE, 2, 1, {914.4, 2059}, PV_STRIPS_AROUND},
    {{2000, 914.4}, 914.4, 0, 0, FREE, 1, 2, {2059, 914.4}, PV_STRIPS_AROUND},
    {{1200, 900}, 1066.8, 0, 0, FREE, 1, 1, {1259, 1066.8}, PV_STRIPS_AROUND},
    /* 1200 / 576.6 makes 3 panels upright, 900 / 576.6 makes 2 lying. */
    {{1200, 900}, 609.6, 0, 0, FREE, 1, 2, {1259, 609.6}, PV_STRIPS_AROUND},
    {{1200, 900}, 609.6, 0, 0, PV_PORTRAIT, 3, 1, {609.6, 959}, PV_STRIPS_AROUND},
    /* One piece both ways: the one that takes less paper. */
    {{600, 500}, 610, 0, 0, FREE, 1, 1, {659, 610}, PV_STRIPS_AROUND},
    {{600, 500}, 610, 0, 0, PV_PORTRAIT, 1, 1, {610, 674}, PV_STRIPS_ALONG_Y},
    {{800, 700}, 1118, 0, 0, FREE, 1, 1, {1118, 759}, PV_STRIPS_AROUND},
    {{600, 600}, 1067, 0, 0, FREE, 1, 1, {1067, 659}, PV_STRIPS_AROUND},
    /* A border on both sides: 960 is more than 904.4; 1200 goes across twice 851.4, lying. */
    {{900, 1200}, 914.4, 30, 0, FREE, 1, 2, {1019, 914.4}, PV_STRIPS_AROUND},
    {{840, 1200}, 914.4, 30, 0, FREE, 1, 1, {914.4, 1434}, PV_STRIPS_ALONG_Y},
    {{820, 1200}, 914.4, 30, 0, FREE, 1, 1, {914.4, 1319}, PV_STRIPS_AROUND},
    /* Pages of 800 at most: 741 of mat; 3 x 2 upright, 2 x 2 lying, of 600 + 59. */
    {{1200, 900}, 610, 0, 800, FREE, 2, 2, {659, 610}, PV_STRIPS_AROUND},
    /* No room for the ends of a single page of 1300: cut across. */
    {{900, 1200}, 914.4, 0, 1300, FREE, 1, 2, {959, 914.4}, PV_STRIPS_AROUND},
    {{30000, 30000}, 1067, 0, 0, FREE, 30, 1, {1067, 30059}, PV_STRIPS_AROUND},
    {{100000, 500}, 610, 0, 0, FREE, 1, 1, {100059, 610}, PV_STRIPS_AROUND},
    {{12000, 500}, 610, 0, 5080, FREE, 3, 1, {4059, 610}, PV_STRIPS_AROUND},
};

static pv_plan *plan_of(const fit *f, pv_diags *diags)
{
    pv_art art;
    art_start(&art, "Roll", f->mat[0], f->mat[1]);
    pv_layout_options options = pv_layout_defaults();
    options.roll = f->roll;
    options.border = f->border;
    options.panel_length = f->panel;
    options.orientation = f->way;
    pv_plan *plan = pv_plan_of_art(&art, &options, diags);
    pv_art_clear(&art);
    return plan;
}

static bool inside(pv_box a, pv_box b)
{
    b = pv_box_grow(b, TINY);
    return pv_box_holds(b, a.lo) && pv_box_holds(b, a.hi);
}

static bool apart(pv_box a, pv_box b)
{
    return !pv_box_meets(pv_box_grow(a, -TINY), pv_box_grow(b, -TINY));
}

static pv_box on_sheet(pv_box mat, const pv_sheet *s)
{
    return (pv_box){pv_sub(mat.lo, s->origin), pv_sub(mat.hi, s->origin)};
}

static void check_sheet(const pv_plan *plan, const pv_sheet *s)
{
    pv_box area = pv_plan_printable(plan), kept = on_sheet(pv_sheet_kept_box(plan, s), s);
    pv_box art = on_sheet(pv_sheet_art_box(plan, s), s);
    bool bars[2] = {false, false};
    ck_assert(inside(kept, area) && inside(art, kept));
    for (int side = 0; side < 4; side++) {
        const double beyond[4] = {art.lo.x - kept.lo.x, art.lo.y - kept.lo.y, kept.hi.x - art.hi.x,
                                  kept.hi.y - art.hi.y};
        double border = s->side[side] == PV_OUTER ? plan->border : 0;
        ck_assert_double_eq_tol(beyond[side], border, 1e-6);
    }
    for (int p = 0; p < PV_TAG_PLACES; p++) {
        pv_box tag = pv_tag_box(&s->tag[p]);
        ck_assert_msg(inside(tag, area) && apart(tag, kept), "tag %d of %s", p, s->name);
        for (int q = 0; q < p; q++)
            ck_assert(apart(tag, pv_tag_box(&s->tag[q])));
    }
    for (size_t k = 0; k < s->n_bars; k++) {
        const pv_bar *bar = &s->bar[k];
        double length = bar->count * bar->step;
        pv_vec end = bar->vertical ? pv_v(2 * bar->tick, length) : pv_v(length, 2 * bar->tick);
        pv_vec start = bar->vertical ? bar->at : pv_sub(bar->at, pv_v(0, bar->tick));
        pv_box box = {start, pv_add(start, end)}; /* with its figures */
        ck_assert_msg(inside(box, area) && apart(box, kept), "bar %zu of %s", k, s->name);
        for (int p = 0; p < PV_TAG_PLACES; p++)
            ck_assert(apart(box, pv_tag_box(&s->tag[p])));
        bars[bar->vertical] = bars[bar->vertical] || (!bar->inch && bar->count == 10);
    }
    if (strstr(plan->paper, "roll") != NULL)
        ck_assert_msg(bars[0] && bars[1], "100 mm both ways on %s", s->name);
}

/* Written and read again it is the same, so that it can be inspected. */
static void check_round_trip(const pv_plan *plan)
{
    pv_diags *diags = pv_diags_new();
    char *text = pv_plan_json(plan, diags);
    ck_assert_ptr_nonnull(text);
    pv_plan *again = pv_plan_parse(text, strlen(text), "roll", diags);
    char *said = diags_text(diags);
    ck_assert_msg(again != NULL, "%s", said);
    ck_assert_double_eq(again->border, plan->border);
    char *text_again = pv_plan_json(again, diags);
    ck_assert_str_eq(text, text_again);
    pv_free(text_again);
    pv_free(said);
    pv_free(text);
    pv_plan_free(again);
    pv_diags_free(diags);
}

START_TEST(mats_on_rolls_by_hand)
{
    const fit *f = &fits[_i];
    pv_diags *diags = pv_diags_new();
    pv_plan *plan = plan_of(f, diags);
    char *said = diags_text(diags);
    ck_assert_msg(plan != NULL, "%g x %g on %g: %s", f->mat[0], f->mat[1], f->roll, said);
    ck_assert_uint_eq(plan->columns, f->columns);
    ck_assert_uint_eq(plan->rows, f->rows);
    ck_assert_double_eq_tol(plan->page[0], f->page[0], TINY);
    ck_assert_double_eq_tol(plan->page[1], f->page[1], TINY);
    ck_assert_int_eq(plan->strips, f->strips);
    for (size_t i = 0; i < plan->n_sheets; i++)
        check_sheet(plan, &plan->sheets[i]);
    check_round_trip(plan);
    pv_free(said);
    pv_plan_free(plan);
    pv_diags_free(diags);
}
END_TEST

static void expect_said(const fit *f, bool possible, const char *facts)
{
    pv_diags *diags = pv_diags_new();
    pv_plan *plan = plan_of(f, diags);
    char *said = diags_text(diags);
    ck_assert_msg((plan != NULL) == possible, "%s", said);
    assert_says(said, facts);
    pv_free(said);
    pv_plan_free(plan);
    pv_diags_free(diags);
}

START_TEST(says_which_roll_would_do)
{
    expect_said(&(fit){.mat = {914.4, 2000}, .roll = 914.4}, true,
                "36 in roll|914.4 mm|10 mm|904.4 mm|42 in (1067 mm)");
    expect_said(&(fit){.mat = {600, 2000}, .roll = 640, .border = 20}, true,
                "border|640 mm|36 in (914 mm)");
    expect_said(&(fit){.mat = {1000, 2000}, .roll = 610}, true, "610 mm roll|42 in (1067 mm)");
    expect_said(&(fit){.mat = {1700, 2000}, .roll = 610}, true, "64 in");
    expect_said(&(fit){.mat = {12000, 500}, .roll = 610}, true,
                "12059 mm|UserUnit|3 times|--panel-length 5080mm|3 panels");
    expect_said(&(fit){.mat = {900, 1200}, .roll = 914.4}, true, SAYS_NO_WASTE_BESIDE);
}
END_TEST

START_TEST(refuses_what_no_roll_is)
{
    expect_said(&(fit){.mat = {500, 500}, .roll = 99}, false, "100 mm|5080 mm");
    expect_said(&(fit){.mat = {500, 500}, .roll = 5081}, false, "100 mm|5080 mm");
    expect_said(&(fit){.mat = {500, 500}, .roll = NAN}, false, "100 mm|5080 mm");
    expect_said(&(fit){.mat = {500, 500}, .roll = 610, .panel = 150}, false, "panel|200 mm");
    expect_said(&(fit){.mat = {500, 500}, .roll = 610, .border = -1}, false, "border|1000 mm");
    expect_said(&(fit){.mat = {500, 500}, .roll = 610, .border = NAN}, false, "border|1000 mm");
    expect_said(&(fit){.mat = {500, 500}, .roll = 110, .border = 40}, false, "40 mm|110 mm roll");
    expect_said(&(fit){.mat = {100000, 100000}, .roll = 110, .panel = 200}, false, "32768");
}
END_TEST

START_TEST(rolls_have_names)
{
    char name[PV_ROLL_NAME];
    pv_roll_name(609.6, name);
    ck_assert_str_eq(name, "24 in roll");
    pv_roll_name(610, name);
    ck_assert_str_eq(name, "610 mm roll");
    pv_roll_name(419.1, name);
    ck_assert_str_eq(name, "16.5 in roll");
    ck_assert_str_eq(pv_roll_of(1000)->name, "42 in");
    ck_assert_str_eq(pv_roll_of(1066.8)->name, "42 in");
    ck_assert_str_eq(pv_roll_of(1067)->name, "44 in");
    ck_assert_ptr_null(pv_roll_of(2000));
    for (size_t i = 1; i < pv_roll_count(); i++)
        ck_assert_double_gt(pv_roll_at(i)->width, pv_roll_at(i - 1)->width);
}
END_TEST

/* On cut sheets, too, only the mat's own edges have a border. */
START_TEST(sheets_may_have_a_border)
{
    for (int k = 0; k < 3; k++) {
        pv_art art;
        art_start(&art, "Border", 700 - 250 * k, 500 - 200 * k);
        pv_layout_options options = pv_layout_defaults();
        options.paper = "A4";
        options.border = 10 + 5 * k;
        pv_diags *diags = pv_diags_new();
        pv_plan *plan = pv_plan_of_art(&art, &options, diags);
        ck_assert_ptr_nonnull(plan);
        for (size_t i = 0; i < plan->n_sheets; i++)
            check_sheet(plan, &plan->sheets[i]);
        check_round_trip(plan);
        pv_plan_free(plan);
        pv_diags_free(diags);
        pv_art_clear(&art);
    }
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("roll");
    TCase *t = tcase_create("fit");
    tcase_set_timeout(t, 120);
    tcase_add_loop_test(t, mats_on_rolls_by_hand, 0, sizeof fits / sizeof *fits);
    tcase_add_test(t, says_which_roll_would_do);
    tcase_add_test(t, refuses_what_no_roll_is);
    tcase_add_test(t, rolls_have_names);
    tcase_add_test(t, sheets_may_have_a_border);
    suite_add_tcase(suite, t);
    return run_suite(suite);
}
