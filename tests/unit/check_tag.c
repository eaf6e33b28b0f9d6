#include "common.h"

#include "tag/tag.h"

#include <stdio.h>
#include <string.h>

START_TEST(ids_say_where_they_stand)
{
    static const unsigned sheets[] = {0, 1, 511, 512, 5000, 16383};
    static const unsigned prints[] = {0, 1, 31, 32, 4097, 8191};
    for (size_t s = 0; s < 6; s++) {
        for (size_t f = 0; f < 6; f++) {
            for (unsigned place = 0; place < PV_TAG_PLACES; place++) {
                unsigned id = pv_tag_id(sheets[s], prints[f], place);
                ck_assert_uint_lt(id, 2048);
                ck_assert_uint_eq(pv_tag_place(id), place);
            }
        }
    }
}
END_TEST

/* docs/reference/plan-format.md by hand: sheet 5000 of fingerprint 4321 is the number 70800264,
 * 270, 41 and 392 in groups of nine bits; the fourth word, 175, makes bits of all four even. */
START_TEST(ids_are_those_of_the_format)
{
    static const unsigned ids[] = {392, 512 + 41, 1024 + 270, 1536 + 175};
    for (unsigned place = 0; place < PV_TAG_PLACES; place++)
        ck_assert_uint_eq(pv_tag_id(5000, 4321, place), ids[place]);
    /* A kit's lowest bit is the 15th. */
    ck_assert_uint_eq(pv_tag_id(1, 1, 0), 1);
    ck_assert_uint_eq(pv_tag_id(1, 1, 1), 512 + 32);
}
END_TEST

START_TEST(any_three_tags_tell_everything)
{
    for (unsigned sheet = 0; sheet < 16384; sheet += 37) {
        for (unsigned print = 0; print < 8192; print += 419) {
            unsigned ids[4], out_sheet = 0, out_print = 0;
            for (unsigned p = 0; p < 4; p++)
                ids[3 - p] = pv_tag_id(sheet, print, p);
            ck_assert_int_eq(pv_tag_read(ids, 4, &out_sheet, &out_print), PV_TAGS_READ);
            ck_assert(out_sheet == sheet && out_print == print);
            for (unsigned gone = 0; gone < 4; gone++) {
                unsigned three[4] = {2100, 0, 0, 0};
                for (unsigned p = 0, k = 1; p < 4; p++)
                    if (p != gone)
                        three[k++] = ids[p];
                ck_assert_int_eq(pv_tag_read(three, 4, &out_sheet, &out_print), PV_TAGS_READ);
                ck_assert(out_sheet == sheet && out_print == print);
                ck_assert_int_eq(pv_tag_read(three, 3, &out_sheet, &out_print), PV_TAGS_TOO_FEW);
            }
        }
    }
}
END_TEST

/* Past 16,384 sheets the number's 15th bit stands in the fingerprint's last, which is then even. */
START_TEST(many_sheets_take_a_bit_of_the_fingerprint)
{
    const size_t many = 16385;
    ck_assert(!pv_tag_many(16384) && pv_tag_many(many));
    ck_assert_uint_eq(pv_tag_fingerprint(16384, 4321), 4321);
    ck_assert_uint_eq(pv_tag_fingerprint(many, 4321), 4320);
    for (unsigned sheet = 0; sheet < 32768; sheet += 331) {
        for (unsigned print = 0; print < 8192; print += 418) {
            unsigned ids[4], out_sheet = 0, out_print = 0;
            for (unsigned p = 0; p < 4; p++)
                ids[p] = pv_tag_id(sheet, print, p);
            ck_assert_int_eq(pv_tag_read(ids, 4, &out_sheet, &out_print), PV_TAGS_READ);
            pv_tag_put_right(many, &out_sheet, &out_print);
            ck_assert(out_sheet == sheet && out_print == print);
        }
    }
    unsigned sheet = 5, print = 4321;
    pv_tag_put_right(16384, &sheet, &print);
    ck_assert(sheet == 5 && print == 4321);
}
END_TEST

START_TEST(disagreement_is_noticed)
{
    unsigned sheet = 7, print = 9;
    for (unsigned other = 0; other < 16384; other += 91) {
        for (unsigned place = 0; place < 4; place++) {
            unsigned ids[5];
            for (unsigned p = 0; p < 4; p++)
                ids[p] = pv_tag_id(1234, 4321, p);
            unsigned strange = pv_tag_id(other, 77, place);
            if (strange == ids[place])
                continue;
            ids[4] = strange;
            ck_assert_int_eq(pv_tag_read(ids, 5, &sheet, &print), PV_TAGS_DISAGREE);
            ids[place] = strange;
            ck_assert_int_eq(pv_tag_read(ids, 4, &sheet, &print), PV_TAGS_DISAGREE);
        }
    }
    ck_assert_uint_eq(sheet, 7);
    ck_assert_int_eq(pv_tag_read(NULL, 0, &sheet, &print), PV_TAGS_TOO_FEW);
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
    tcase_add_test(tcase, ids_say_where_they_stand);
    tcase_add_test(tcase, ids_are_those_of_the_format);
    tcase_add_test(tcase, any_three_tags_tell_everything);
    tcase_add_test(tcase, many_sheets_take_a_bit_of_the_fingerprint);
    tcase_add_test(tcase, disagreement_is_noticed);
    tcase_add_test(tcase, patterns_have_the_family_s_border);
    tcase_add_test(tcase, patterns_differ_by_the_family_s_distance);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
