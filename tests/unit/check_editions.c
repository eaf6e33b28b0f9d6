/* Editions of one course, laid where an older one lies. */
#include "art_by_hand.h"

#include "plan/former.h"
#include "plan/make.h"

static pv_plan *laid(const pv_art *art, const pv_plan *keep, const char *paper, pv_diags *diags)
{
    pv_layout_options options = pv_layout_defaults();
    options.paper = paper;
    options.keep = keep;
    return pv_plan_of_art(art, &options, diags);
}

/* The yard, with one line more where `at` is on the mat. */
static pv_plan *yard(const pv_plan *keep, pv_vec size, pv_vec at, double width)
{
    pv_art art;
    art_yard(&art);
    art.size = size;
    art.lines[2].width = width;
    if (at.x >= 0)
        add_straight(&art, 8, at, pv_v(at.x + 30, at.y));
    pv_plan *plan = laid(&art, keep, "A4", NULL);
    ck_assert_ptr_nonnull(plan);
    pv_art_clear(&art);
    return plan;
}

static const pv_vec whole = {914.4, 914.4}, nowhere = {-1, -1};

static bool same_ids(const pv_sheet *a, const pv_sheet *b)
{
    for (int p = 0; p < PV_TAG_PLACES; p++)
        if (a->tag[p].id != b->tag[p].id)
            return false;
    return true;
}

START_TEST(what_has_not_changed_stays)
{
    pv_plan *old = yard(NULL, whole, nowhere, 20), *new = yard(old, whole, nowhere, 20);
    pv_comparison *c = pv_plan_compare(old, new, NULL, NULL);
    ck_assert_ptr_nonnull(c);
    ck_assert_uint_eq(pv_comparison_again(c), 0);
    ck_assert_ptr_null(pv_comparison_range(c));
    ck_assert_ptr_null(pv_comparison_gone(c, 0));
    ck_assert_ptr_null(pv_comparison_change(c, 0));
    ck_assert_ptr_null(pv_comparison_part(c, 0));
    ck_assert_ptr_null(pv_comparison_sheet(c, new->n_sheets));
    ck_assert(old->fingerprint == new->fingerprint);
    for (size_t i = 0; i < new->n_sheets; i++) {
        ck_assert(same_ids(&old->sheets[i], &new->sheets[i]));
        ck_assert(pv_comparison_sheet(c, i)->same_identity);
        ck_assert_uint_eq(old->taping[i], new->taping[i]);
    }
    pv_comparison_free(c);
    pv_plan_free(old);
    pv_plan_free(new);
}
END_TEST

/* A line of 30 mm by 8 mm in the white of one sheet: that sheet, that line, that place. */
START_TEST(one_line_more_is_one_sheet)
{
    pv_plan *old = yard(NULL, whole, nowhere, 20);
    pv_vec at = pv_v(20, 20);
    pv_plan *new = yard(old, whole, at, 20);
    pv_comparison *c = pv_plan_compare(old, new, NULL, NULL);
    ck_assert_uint_eq(pv_comparison_again(c), 1);
    size_t which = pv_plan_find_sheet(new, pv_comparison_range(c));
    ck_assert_uint_ne(which, SIZE_MAX);
    ck_assert(pv_box_holds(new->sheets[which].cell, at));
    const pv_again_info *sheet = pv_comparison_sheet(c, which);
    ck_assert_int_eq(sheet->again, PV_AGAIN_SURFACE);
    ck_assert_str_eq(sheet->was, old->sheets[which].name);
    ck_assert(!sheet->same_identity);
    for (size_t i = 0; i < new->n_sheets; i++)
        ck_assert(same_ids(&old->sheets[i], &new->sheets[i]) == (i != which));
    const pv_change_info *change = pv_comparison_change(c, 0);
    ck_assert_int_eq(change->change, PV_CHANGE_NEW);
    ck_assert_double_eq_tol(change->box[0], 20, 1e-9);
    ck_assert_double_eq_tol(change->box[3], 24, 1e-9);
    ck_assert_ptr_null(pv_comparison_change(c, 1));
    const pv_changed_part *part = pv_comparison_part(c, 0);
    const double expected[4] = {20, 16, 50, 24};
    for (int i = 0; i < 4; i++)
        ck_assert_double_eq_tol(part->box[i], expected[i], 0.3);
    ck_assert_ptr_null(pv_comparison_part(c, 1));
    pv_comparison_free(c);
    pv_plan_free(old);
    pv_plan_free(new);
}
END_TEST

/* Things that move alike are told together; each keeps a change of its own. */
START_TEST(equal_moves_are_told_in_one_sentence)
{
    pv_plan *old = yard(NULL, whole, nowhere, 20);
    pv_art art;
    art_yard(&art);
    for (size_t i = 1; i < 3; i++) {
        art.lines[i].pieces[0].a.x += 3;
        art.lines[i].pieces[0].b.x += 3;
    }
    for (size_t i = 0; i < art.fills[0].rings[0].n; i++)
        art.fills[0].rings[0].points[i].x += 3;
    pv_plan *new = laid(&art, old, "A4", NULL);
    pv_comparison *c = pv_plan_compare(old, new, NULL, NULL);
    char words[100];
    snprintf(words, sizeof words, "2 lines and 1 area have moved by 3.0 mm to the right: %s, %s.",
             art.lines[1].id, art.lines[2].id);
    ck_assert_str_eq(pv_comparison_told(c, 0), words);
    ck_assert_ptr_null(pv_comparison_told(c, 1));
    for (size_t i = 0; i < 3; i++)
        ck_assert_ptr_nonnull(strstr(pv_comparison_change(c, i)->words, " has moved by 3.0 mm"));
    pv_comparison_free(c);
    pv_art_clear(&art);
    pv_plan_free(old);
    pv_plan_free(new);
}
END_TEST

/* A hundredth of a millimetre on each side of a line: all sheets that show its edges, no others. */
START_TEST(a_line_that_is_wider_is_seen)
{
    pv_plan *old = yard(NULL, whole, nowhere, 20), *new = yard(old, whole, nowhere, 20.02);
    pv_comparison *c = pv_plan_compare(old, new, NULL, NULL);
    pv_vec a = pv_v(300, 100), b = pv_v(650, 820), along = pv_unit(pv_sub(b, a));
    for (size_t i = 0; i < new->n_sheets; i++) {
        bool shows = false;
        for (double s = 0; s < pv_dist(a, b); s += 0.1)
            for (int side = -1; side <= 1; side += 2) {
                pv_vec p = pv_along(pv_along(a, along, s), pv_left(along), side * 10.005);
                double d = pv_dist(p, pv_v(457.2, 457.2)); /* the ring lies beneath, black, too */
                shows = shows || (pv_box_holds(new->sheets[i].cell, p) && fabs(d - 380) > 13 &&
                                  fabs(p.y - 457.2) > 13);
            }
        ck_assert(shows == (pv_comparison_sheet(c, i)->again == PV_AGAIN_SURFACE));
    }
    ck_assert_ptr_nonnull(strstr(pv_comparison_change(c, 0)->words, "20.0 mm wide; it was 20.0"));
    pv_comparison_free(c);
    pv_plan_free(old);
    pv_plan_free(new);
}
END_TEST

/* A colour of the same name: only its code says what has changed. */
START_TEST(a_colour_of_the_same_name_is_told_by_its_code)
{
    pv_plan *old = yard(NULL, whole, nowhere, 20);
    pv_art art;
    art_yard(&art);
    pv_colour *colour = &art.colours[art.lines[2].colour];
    uint8_t was = colour->rgb[2];
    colour->rgb[2] = (uint8_t)(was ^ 1);
    char code[2][20];
    for (int i = 0; i < 2; i++)
        snprintf(code[i], sizeof code[i], " (%d, %d, %d)", colour->rgb[0], colour->rgb[1],
                 i == 0 ? was ^ 1 : was);
    pv_plan *new = laid(&art, old, "A4", NULL);
    pv_comparison *c = pv_plan_compare(old, new, NULL, NULL);
    const char *words = pv_comparison_change(c, 0)->words, *first = strstr(words, code[0]);
    ck_assert_msg(first != NULL && strstr(first, code[1]) != NULL, "%s", words);
    pv_comparison_free(c);
    pv_art_clear(&art);
    pv_plan_free(old);
    pv_plan_free(new);
}
END_TEST

/* Wider by 100 mm, or narrower: the seams that it still has stay, and so do all sheets but those of
 * the last columns. */
START_TEST(seams_stay_where_the_mat_grows)
{
    pv_plan *old = yard(NULL, whole, nowhere, 20);
    for (int more = -1; more <= 1; more += 2) {
        pv_plan *new = yard(old, pv_v(whole.x + 100 * more, whole.y), nowhere, 20);
        pv_comparison *c = pv_plan_compare(old, new, NULL, NULL);
        ck_assert_uint_eq(new->rows, old->rows);
        for (size_t i = 0; i + 1 < old->columns && old->sheets[i].cell.hi.x < whole.x - 150; i++)
            ck_assert(new->sheets[i].cell.hi.x == old->sheets[i].cell.hi.x);
        ck_assert_str_eq(pv_comparison_change(c, 0)->words,
                         more > 0
                             ? "The mat is 1014.4 mm by 914.4 mm; it was 914.4 mm by 914.4 mm."
                             : "The mat is 814.4 mm by 914.4 mm; it was 914.4 mm by 914.4 mm.");
        size_t fresh = 0;
        for (size_t i = 0; i < new->n_sheets; i++)
            fresh += pv_comparison_sheet(c, i)->again == PV_AGAIN_NEW;
        ck_assert_uint_gt(fresh, 0);
        ck_assert_uint_lt(fresh, new->n_sheets);
        pv_comparison_free(c);
        pv_plan_free(new);
    }
    pv_plan_free(old);
}
END_TEST

static void expect_refusal(const pv_plan *keep, const char *paper, const char *what)
{
    pv_art art;
    pv_diags *diags = pv_diags_new();
    art_yard(&art);
    ck_assert_ptr_null(laid(&art, keep, paper, diags));
    char *said = diags_text(diags);
    ck_assert_msg(strstr(said, what) != NULL, "%s", said);
    free(said);
    pv_diags_free(diags);
    pv_art_clear(&art);
}

START_TEST(what_cannot_be_kept_is_said)
{
    pv_plan *old = yard(NULL, whole, nowhere, 20);
    expect_refusal(old, "A3", "laid on A4");
    old->proof = true;
    expect_refusal(old, "A4", "proof page");
    pv_diags *diags = pv_diags_new();
    ck_assert_ptr_null(pv_plan_compare(old, old, NULL, diags));
    ck_assert_int_eq(pv_diags_cause(diags), PV_CAUSE_USAGE);
    pv_diags_free(diags);
    pv_plan_free(old);
}
END_TEST

static pv_plan *reread(const pv_plan *plan, pv_diags *diags)
{
    char *json = pv_plan_json(plan, NULL);
    pv_plan *again = pv_plan_parse(json, strlen(json), "kept", diags);
    pv_free(json);
    return again;
}

/* A plan that keeps an older one's comes back with its identities; those of no sheet, or of two,
 * don't. */
START_TEST(kept_plans_come_back)
{
    pv_plan *old = yard(NULL, whole, nowhere, 20), *new = yard(old, whole, pv_v(20, 20), 20);
    pv_plan *again = reread(new, NULL);
    ck_assert_ptr_nonnull(again);
    ck_assert(again->kept && again->fingerprint == new->fingerprint);
    ck_assert_str_eq(again->former.chars, pv_plan_kit(old).chars);
    for (size_t i = 0; i < new->n_sheets; i++)
        ck_assert(same_ids(&again->sheets[i], &new->sheets[i]));
    pv_comparison *c = pv_plan_compare(new, again, NULL, NULL);
    ck_assert_uint_eq(pv_comparison_again(c), 0);
    pv_comparison_free(c);
    const char *const wrong[] = {"<b>bold</b>", "--------", "5K72XQM-", "5K7-2XQ-", "5K722XQM"};
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        memcpy(new->former.chars, wrong[i], PV_KIT_CHARS);
        ck_assert_ptr_null(reread(new, NULL));
    }
    new->former = pv_plan_kit(old);
    for (int p = 0; p < PV_TAG_PLACES; p++)
        new->sheets[1].tag[p].id = new->sheets[0].tag[p].id;
    ck_assert_ptr_null(reread(new, NULL));
    new->sheets[1].tag[3].id = (new->sheets[1].tag[3].id + 1) % PV_TAG_BASE;
    ck_assert_ptr_null(reread(new, NULL));
    pv_plan_free(old);
    pv_plan_free(new);
    pv_plan_free(again);
}
END_TEST

/* The former edition's sheets have the identities that a kept plan tells of them. */
START_TEST(former_sheets_are_known)
{
    pv_plan *old = yard(NULL, whole, nowhere, 20), *new = yard(old, whole, pv_v(20, 20), 20);
    pv_former none, former;
    ck_assert(pv_former_make(old, &none));
    ck_assert_uint_eq(none.plan.n_sheets, 0);
    ck_assert(pv_former_make(new, &former));
    ck_assert(former.in_place);
    ck_assert_uint_eq(former.plan.n_sheets, old->n_sheets);
    size_t changed = 0;
    for (size_t i = 0; i < old->n_sheets; i++) {
        ck_assert(same_ids(&former.plan.sheets[i], &old->sheets[i]));
        changed += !same_ids(&new->sheets[i], &old->sheets[i]);
    }
    ck_assert(changed > 0 && changed < old->n_sheets);
    pv_former_clear(&former);
    /* Of two editions ago, a sheet's number says no more where it lay. */
    pv_plan *newer = yard(new, whole, pv_v(60, 20), 20);
    ck_assert(pv_former_make(newer, &former));
    ck_assert(!former.in_place);
    pv_former_clear(&former);
    pv_former_clear(&none);
    pv_plan_free(old);
    pv_plan_free(new);
    pv_plan_free(newer);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("editions");
    TCase *tcase = tcase_create("editions");
    tcase_set_timeout(tcase, 60);
    tcase_add_test(tcase, what_has_not_changed_stays);
    tcase_add_test(tcase, one_line_more_is_one_sheet);
    tcase_add_test(tcase, equal_moves_are_told_in_one_sentence);
    tcase_add_test(tcase, a_line_that_is_wider_is_seen);
    tcase_add_test(tcase, a_colour_of_the_same_name_is_told_by_its_code);
    tcase_add_test(tcase, seams_stay_where_the_mat_grows);
    tcase_add_test(tcase, what_cannot_be_kept_is_said);
    tcase_add_test(tcase, kept_plans_come_back);
    tcase_add_test(tcase, former_sheets_are_known);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
