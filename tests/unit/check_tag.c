#include "common.h"

#include "tag/tag.h"

#include <stdio.h>
#include <string.h>

#define BASE UINT64_C(2113)

/* docs/reference/plan-format.md by hand. */
START_TEST(ids_are_those_of_the_format)
{
    static const struct {
        uint64_t identity;
        unsigned ids[4];
    } cases[] = {
        {0, {0, 0, 0, 0}},
        {1, {1, 0, 0, 1}},
        {BASE, {0, 1, 0, 2}},
        {BASE * BASE, {0, 0, 1, 3}},
        {5 + 7 * BASE + 11 * BASE * BASE, {5, 7, 11, 52}},
        /* The last: 6 x 2112 = 12672 = 5 x 2113 + 2107. */
        {UINT64_C(9434056896), {2112, 2112, 2112, 2107}},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        unsigned ids[4];
        pv_tag_ids(cases[i].identity, ids);
        for (int p = 0; p < 4; p++)
            ck_assert_uint_eq(ids[p], cases[i].ids[p]);
        ck_assert(pv_tag_ids_agree(ids));
    }
    /* The next is 1, 2 and 4 more in the digits, with carry; one with two like ids is left out. */
    ck_assert_uint_eq(pv_tag_identity(5 + 7 * BASE + 11 * BASE * BASE, false),
                      5 + 7 * BASE + 11 * BASE * BASE);
    ck_assert_uint_eq(pv_tag_identity(5 + 7 * BASE + 11 * BASE * BASE, true),
                      6 + 9 * BASE + 15 * BASE * BASE);
    ck_assert_uint_eq(pv_tag_identity(5 + 5 * BASE + 11 * BASE * BASE, false),
                      6 + 7 * BASE + 15 * BASE * BASE);
    ck_assert_uint_eq(pv_tag_identity(2112 + 3 * BASE + 2110 * BASE * BASE, true),
                      0 + 6 * BASE + 1 * BASE * BASE);
}
END_TEST

/* Of four ids each is the only one that goes with the other three: so any three tell all. */
START_TEST(any_three_tags_tell_everything)
{
    chance(3);
    for (int round = 0; round < 200; round++) {
        uint64_t identity = (uint64_t)(uniform() * 9434056896.0);
        unsigned ids[4];
        pv_tag_ids(identity, ids);
        for (int p = 0; p < 4; p++) {
            unsigned right = ids[p], found = 0;
            for (ids[p] = 0; ids[p] < PV_TAG_IDS; ids[p]++)
                if (pv_tag_ids_agree(ids)) {
                    ck_assert_uint_eq(ids[p], right);
                    found++;
                }
            ck_assert_uint_eq(found, 1);
            ids[p] = right;
        }
    }
}
END_TEST

/* Two tags that change places make no sheet. */
START_TEST(places_are_told_apart)
{
    chance(4);
    for (int round = 0; round < 20000; round++) {
        uint64_t identity = pv_tag_identity((uint64_t)(uniform() * 9434056896.0), false);
        unsigned ids[4];
        pv_tag_ids(identity, ids);
        for (int a = 0; a < 4; a++)
            for (int b = 0; b < a; b++) {
                unsigned keep = ids[a];
                ck_assert_uint_ne(ids[a], ids[b]);
                ids[a] = ids[b];
                ids[b] = keep;
                ck_assert(!pv_tag_ids_agree(ids));
                ids[b] = ids[a];
                ids[a] = keep;
            }
    }
}
END_TEST

/* As many sheets as a plan may have: no two share more than two tags. */
START_TEST(sheets_of_a_plan_differ)
{
    enum { SHEETS = 32768 };
    static unsigned ids[SHEETS][4];
    static const uint64_t starts[] = {0, 4711, UINT64_C(9434056896), UINT64_C(5000000000)};
    for (size_t s = 0; s < sizeof starts / sizeof *starts; s++) {
        uint64_t identity = pv_tag_identity(starts[s], false);
        for (size_t i = 0; i < SHEETS; i++) {
            pv_tag_ids(identity, ids[i]);
            identity = pv_tag_identity(identity, true);
        }
        int most = 0;
        for (size_t i = 0; i < SHEETS; i += 97)
            for (size_t k = 0; k < SHEETS; k++) {
                int shared = 0;
                for (int p = 0; p < 4; p++)
                    shared += k != i && ids[i][p] == ids[k][p];
                most = shared > most ? shared : most;
            }
        ck_assert_int_le(most, 2);
    }
}
END_TEST

/* What the detector looks for: a square of 5 cells whose rim is white inside a black ring, so that
 * its corners lie PV_TAG_INSET cells inside the pattern. Data stands outside and within. */
START_TEST(patterns_have_the_family_s_border)
{
    uint8_t cells[PV_TAG_CELLS][PV_TAG_CELLS];
    static const unsigned ids[] = {0, 1, 511, 2047, 2114};
    for (size_t i = 0; i < sizeof ids / sizeof *ids; i++) {
        ck_assert(pv_tag_cells(ids[i], cells, NULL));
        int inner = 0, outer = 0;
        for (int r = 0; r < PV_TAG_CELLS; r++) {
            for (int c = 0; c < PV_TAG_CELLS; c++) {
                int ring = r < 8 - r ? r : 8 - r;
                int ring_c = c < 8 - c ? c : 8 - c;
                ring = ring < ring_c ? ring : ring_c;
                inner += ring == 2 && cells[r][c] == cells[2][2];
                outer += ring == 1 && cells[r][c] == cells[1][1];
            }
        }
        ck_assert_int_eq(inner, 16);
        ck_assert_int_eq(outer, 24);
        ck_assert(cells[1][1] != cells[2][2]);
    }
    pv_diags *diags = pv_diags_new();
    ck_assert(!pv_tag_cells(2115, cells, diags));
    ck_assert_uint_eq(pv_diags_size(diags), 1);
    pv_diags_free(diags);
}
END_TEST

/* Family property, named in it: any two patterns differ in at least 12 cells, however turned. */
START_TEST(patterns_differ_by_the_family_s_distance)
{
    static uint8_t cells[128][PV_TAG_CELLS][PV_TAG_CELLS];
    for (unsigned i = 0; i < 128; i++)
        ck_assert(pv_tag_cells(i * 16, cells[i], NULL));
    int least = 81;
    for (unsigned a = 0; a < 128; a++) {
        for (unsigned b = 0; b < a; b++) {
            int d[4] = {0};
            for (int r = 0; r < 9; r++) {
                for (int c = 0; c < 9; c++) {
                    d[0] += cells[a][r][c] != cells[b][r][c];
                    d[1] += cells[a][r][c] != cells[b][c][8 - r];
                    d[2] += cells[a][r][c] != cells[b][8 - r][8 - c];
                    d[3] += cells[a][r][c] != cells[b][8 - c][r];
                }
            }
            for (int t = 0; t < 4; t++)
                least = d[t] < least ? d[t] : least;
        }
    }
    printf("    least distance of 128 patterns in any turn: %d cells (at least 12)\n", least);
    ck_assert_int_ge(least, 12);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("tag");
    TCase *tcase = tcase_create("pattern");
    tcase_set_timeout(tcase, 60);
    tcase_add_test(tcase, ids_are_those_of_the_format);
    tcase_add_test(tcase, any_three_tags_tell_everything);
    tcase_add_test(tcase, places_are_told_apart);
    tcase_add_test(tcase, sheets_of_a_plan_differ);
    tcase_add_test(tcase, patterns_have_the_family_s_border);
    tcase_add_test(tcase, patterns_differ_by_the_family_s_distance);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
