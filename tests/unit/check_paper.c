#include "common.h"

#include "paper/paper.h"

#include <cups/cups.h>
#include <cups/pwg.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

/* The cups library has its own table of PWG 5101.1 names: pwgMediaForSize only knows sizes that are
 * in it, in whole 1/100 mm. */
START_TEST(table_agrees_with_cups)
{
    double worst = 0;
    for (size_t i = 0; i < pv_paper_count(); i++) {
        const pv_paper *paper = pv_paper_at(i);
        pwg_media_t *media = pwgMediaForPWG(paper->name);
        ck_assert_msg(media != NULL, "%s", paper->name);
        worst = fmax(worst, fabs(media->width / 100.0 - paper->width));
        worst = fmax(worst, fabs(media->length / 100.0 - paper->height));
        pwg_media_t *member =
            pwgMediaForSize((int)lround(paper->width * 100), (int)lround(paper->height * 100));
        ck_assert_msg(member != NULL, "%s is not in its table", paper->name);
        ck_assert_str_eq(member->pwg, paper->name);
    }
    say_worst("sheet sizes against cups' table of PWG 5101.1", worst, 0.01, "mm");
    ck_assert_double_lt(worst, 0.01);
    ck_assert_ptr_null(pv_paper_at(pv_paper_count()));
}
END_TEST

static void expect(const char *text, const char *shown, double width, double height)
{
    char *name = NULL;
    double w = 0, h = 0;
    pv_diags *diags = pv_diags_new();
    bool good = pv_paper_find(text, &name, &w, &h, diags);
    ck_assert_msg(good, "%s: %s", text, diags_text(diags));
    ck_assert_str_eq(name, shown);
    ck_assert_msg(fabs(w - width) < 1e-9 && fabs(h - height) < 1e-9, "%s is %g x %g", text, w, h);
    /* What is shown is a name again. */
    char *again = NULL;
    ck_assert_msg(pv_paper_find(name, &again, &w, &h, diags), "%s", name);
    ck_assert_str_eq(again, shown);
    pv_free(again);
    pv_free(name);
    pv_diags_free(diags);
}

/* ISO 216:2007, table 1 (A) and table 2 (B). */
START_TEST(sizes_of_iso_216)
{
    static const struct {
        const char *name;
        double width, height;
    } iso[] = {{"A0", 841, 1189}, {"A1", 594, 841}, {"A2", 420, 594}, {"A3", 297, 420},
               {"A4", 210, 297},  {"A5", 148, 210}, {"A6", 105, 148}, {"B0", 1000, 1414},
               {"B1", 707, 1000}, {"B2", 500, 707}, {"B3", 353, 500}, {"B4", 250, 353},
               {"B5", 176, 250},  {"B6", 125, 176}};
    for (size_t i = 0; i < sizeof iso / sizeof *iso; i++)
        expect(iso[i].name, iso[i].name, iso[i].width, iso[i].height);
}
END_TEST

START_TEST(names_of_every_kind)
{
    expect("a4", "A4", 210, 297);
    expect(" A 4 ", "A4", 210, 297);
    expect("iso_a4_210x297mm", "A4", 210, 297);
    expect("ISO_A4", "A4", 210, 297);
    expect("Letter", "letter", 215.9, 279.4);
    expect("na_letter", "letter", 215.9, 279.4);
    expect("ANSI A", "letter", 215.9, 279.4);
    expect("ledger", "tabloid", 279.4, 431.8);
    expect("ansi-b", "tabloid", 279.4, 431.8);
    expect("JIS B4", "B4 JIS", 257, 364);
    expect("b4jis", "B4 JIS", 257, 364);
    expect("arch c", "ARCH C", 457.2, 609.6);
    expect("A3+", "super B", 330.2, 482.6);
    expect("arch-e1", "ARCH E1", 762, 1066.8);
    for (size_t i = 0; i < pv_paper_count(); i++) {
        const pv_paper *paper = pv_paper_at(i);
        expect(paper->name, paper->everyday, paper->width, paper->height);
        expect(paper->everyday, paper->everyday, paper->width, paper->height);
    }
}
END_TEST

START_TEST(custom_sizes)
{
    expect("300x450mm", "300 x 450 mm", 300, 450);
    expect("300 x 450 mm", "300 x 450 mm", 300, 450);
    expect("450mm x 30cm", "300 x 450 mm", 300, 450);
    expect("300\xC3\x97"
           "450mm",
           "300 x 450 mm", 300, 450);
    expect("custom_mine_300x450mm", "300 x 450 mm", 300, 450);
    expect("custom_roll_12.5x20in", "12.5 x 20 in", 317.5, 508);
    expect("11x17in", "tabloid", 279.4, 431.8);
    expect("297x210mm", "A4", 210, 297);
    expect("0.9m x 2m", "900 x 2000 mm", 900, 2000);
    expect("100.125x200mm", "100.125 x 200 mm", 100.125, 200);
    expect("1ftx2ft", "12 x 24 in", 304.8, 609.6);
}
END_TEST

static void expect_refusal(const char *text, const char *facts)
{
    char *name = NULL;
    double w = 0, h = 0;
    pv_diags *diags = pv_diags_new();
    ck_assert_msg(!pv_paper_find(text, &name, &w, &h, diags), "accepted %s as %s", text, name);
    ck_assert_ptr_null(name);
    ck_assert_int_eq(pv_diags_cause(diags), PV_CAUSE_USAGE);
    ck_assert_uint_eq(pv_diags_size(diags), 1);
    char *said = diags_text(diags);
    assert_says(said, facts);
    pv_free(said);
    pv_diags_free(diags);
}

START_TEST(unknown_names_get_the_nearest)
{
    expect_refusal("leter", "\"letter\"");
    expect_refusal("tabliod", "\"tabloid\"");
    expect_refusal("A44", "\"A4\"");
    expect_refusal("arch f", "\"ARCH ");
    expect_refusal("", "\"\"");
    expect_refusal("300x450", "unit");
    expect_refusal("8,5x11in", "point");
    expect_refusal("300x450furlongs", "300x450furlongs");
    expect_refusal("-300x450mm", "-300x450mm");
    expect_refusal("0x0mm", "50 mm|5080 mm");
    expect_refusal("10x300mm", "50 mm|5080 mm");
    expect_refusal("300mm x 90m", "50 mm|5080 mm");
    expect_refusal("custom_", "custom_");
    char lengthy[500];
    memset(lengthy, 'a', sizeof lengthy - 1);
    lengthy[sizeof lengthy - 1] = '\0';
    expect_refusal(lengthy, "aaa");
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("paper");
    TCase *tcase = tcase_create("paper");
    tcase_add_test(tcase, table_agrees_with_cups);
    tcase_add_test(tcase, sizes_of_iso_216);
    tcase_add_test(tcase, names_of_every_kind);
    tcase_add_test(tcase, custom_sizes);
    tcase_add_test(tcase, unknown_names_get_the_nearest);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
