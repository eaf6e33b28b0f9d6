#include "common.h"

#include "base/words.h"
#include "scene/art.h"
#include "type/face.h"

#include <pavior/course.h>

#include <hpdf.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define type test_type()

/* The default is made to have the widths of Helvetica, which libharu carries in whole thousandths
 * of an em; its own are in 2048ths. */
START_TEST(widths_are_those_of_helvetica)
{
    HPDF_Doc pdf = HPDF_New(NULL, NULL);
    double worst = 0;
    for (int bold = 0; bold < 2; bold++) {
        HPDF_Font font = HPDF_GetFont(pdf, bold ? "Helvetica-Bold" : "Helvetica", NULL);
        ck_assert_ptr_nonnull(font);
        for (char c = ' '; c <= '~'; c++) {
            if (c == '\'' || c == '`') /* slanted in its standard encoding */
                continue;
            const char one[2] = {c, '\0'};
            double theirs = HPDF_Font_TextWidth(font, (const HPDF_BYTE *)one, 1).width / 1000.0;
            worst = fmax(worst, fabs(pv_type_ems(type, one, bold) - theirs));
        }
    }
    HPDF_Free(pdf);
    say_worst("advance of a character", worst, 1e-3, "em");
    ck_assert(worst < 1e-3);
    /* asked for again, from memory */
    ck_assert(pv_type_ems(type, "seam A1|A2", true) == pv_type_ems(type, "seam A1|A2", true));
    ck_assert(pv_type_ems(type, "seam A1|A2", true) != pv_type_ems(type, "seam A1|A2", false));
}
END_TEST

START_TEST(glyphs_stand_one_behind_the_other)
{
    pv_setting s;
    ck_assert(pv_type_set(type, "Quay", false, &s));
    ck_assert_uint_eq(s.n, 4);
    double pen = 0;
    for (size_t i = 0; i < s.n; i++) {
        ck_assert(fabs(s.glyphs[i].at.x - pen) < 0.1 && s.glyphs[i].at.y == 0);
        ck_assert_uint_eq(s.glyphs[i].from, i);
        ck_assert_uint_eq(s.glyphs[i].to, i + 1);
        pen += s.glyphs[i].advance;
    }
    ck_assert(fabs(pen - s.width) < 1e-12);
    ck_assert(s.plain);
    /* Q and y reach below the base line, Q as high as a capital and a little */
    ck_assert(s.ink.lo.y < -0.15 && s.ink.lo.y > -0.25);
    ck_assert(s.ink.hi.y >= pv_type_cap(type) && s.ink.hi.y < pv_type_cap(type) + 0.03);
    pv_setting_drop(&s);
    ck_assert(pv_type_set(type, "", false, &s));
    ck_assert(s.n == 0 && s.width == 0 && s.ink.lo.x > s.ink.hi.x);
    pv_setting_drop(&s);
}
END_TEST

/* Hebrew alef, bet, then 12: as UAX 9 has it, the number stands left of the letters, and reads from
 * left to right. */
START_TEST(directions_are_mixed)
{
    pv_setting s;
    ck_assert_int_eq(pv_type_cover(type, 0x5D0), PV_COVERED);
    ck_assert_int_eq(pv_type_cover(type, 0x5D1), PV_COVERED);
    ck_assert(pv_type_set(type, "\xD7\x90\xD7\x91 12", false, &s));
    static const size_t from[] = {5, 6, 4, 2, 0};
    ck_assert_uint_eq(s.n, 5);
    for (size_t i = 0; i < s.n; i++) {
        ck_assert_uint_eq(s.glyphs[i].from, from[i]);
        ck_assert(i == 0 || s.glyphs[i].at.x > s.glyphs[i - 1].at.x);
    }
    pv_setting_drop(&s);
    ck_assert(pv_type_set(type, "ab \xD7\x90\xD7\x91 c", false, &s));
    static const size_t latin[] = {0, 1, 2, 5, 3, 7, 8};
    for (size_t i = 0; i < s.n; i++)
        ck_assert_uint_eq(s.glyphs[i].from, latin[i]);
    pv_setting_drop(&s);
}
END_TEST

/* Each byte of a text belongs to one glyph, or to one cluster of several, whatever is mixed: what
 * runs from right to left, marks that stack, and characters that no face has. */
START_TEST(glyphs_share_the_text_out)
{
    static const char *const parts[] = {"a",
                                        "e\xCC\x81\xCC\xA3",
                                        "\xD7\x90",
                                        "\xD7\xA9\xD6\xBC\xD7\x81",
                                        "12",
                                        " ",
                                        "\xE2\x80\x8D",
                                        "\xCD\xB8",
                                        "\xCC\x81",
                                        "\xD7\x91",
                                        "\xD7\x9C\xD6\xB9"};
    dice d = {7};
    for (int i = 0; i < 2000; i++) {
        char text[400] = "";
        unsigned char taken[400] = {0};
        for (size_t k = 0, n = 1 + pick(&d, 40); k < n; k++)
            strcat(text, parts[pick(&d, sizeof parts / sizeof *parts)]);
        pv_setting s;
        ck_assert(pv_type_set(type, text, false, &s));
        for (size_t k = 0; k < s.n; k++)
            for (size_t at = s.glyphs[k].from; at < s.glyphs[k].to; at++)
                taken[at]++;
        for (size_t at = 0; at < sizeof taken; at++)
            ck_assert_msg(taken[at] == (at < strlen(text)), "byte %zu of \"%s\"", at, text);
        pv_setting_drop(&s);
    }
}
END_TEST

START_TEST(what_no_face_has_is_known)
{
    ck_assert_int_eq(pv_type_cover(type, 0x378), PV_COVER_NONE); /* not assigned by Unicode */
    ck_assert(!pv_type_has(type, 0x378));
    ck_assert(pv_type_has(type, 'A'));
    ck_assert(pv_type_has(type, 0x200D));
    pv_setting s; /* it gets the face's box, and malformed bytes do, too */
    ck_assert(pv_type_set(type, "\xCD\xB8\xFF", false, &s));
    ck_assert_uint_eq(s.n, 2);
    ck_assert_uint_eq(s.glyphs[0].id, 0);
    ck_assert(s.width > 0.5);
    pv_setting_drop(&s);
}
END_TEST

/* That there are as many families as there may be is no word about what is installed. */
START_TEST(families_have_a_limit)
{
    static const char text[] = "course \"A\" edition \"1\"\nmat 100mm by 100mm ground white\n"
                               "text \"A\xCD\xB8\" at (1, 1)mm height 9mm\n";
    pv_type *own = pv_type_open(NULL, NULL);
    pv_diags *diags = pv_diags_new();
    own->n_families = PV_TYPE_FAMILIES_MAX;
    ck_assert_int_eq(pv_type_cover(own, 'A'), PV_COVERED);
    ck_assert_int_eq(pv_type_cover(own, 0x378), PV_COVER_FULL);
    ck_assert_ptr_null(pv_course_parse(text, strlen(text), NULL, own, diags));
    ck_assert_int_eq(pv_diags_cause(diags), PV_CAUSE_LIMIT);
    ck_assert_uint_eq(pv_diags_size(diags), 1);
    assert_says(pv_diags_at(diags, 0)->message, "24 typefaces");
    pv_diags_free(diags);
    pv_type_free(own);
}
END_TEST

/* "Quay" is 778 + 556 + 556 + 500 thousandths of an em wide by the published metrics of Helvetica,
 * which the default shares, and its ink stands within 0.05 em of its advance at either end. */
START_TEST(lettering_is_framed)
{
    char text[] = "Quay";
    static const double left[] = {
        [PV_ANCHOR_LEFT] = 0, [PV_ANCHOR_CENTRE] = -0.5, [PV_ANCHOR_RIGHT] = -1};
    for (int anchor = PV_ANCHOR_LEFT; anchor <= PV_ANCHOR_RIGHT; anchor++) {
        pv_lettering word = {.text = text, .height = 10, .anchor = (pv_anchor)anchor};
        ck_assert(pv_lettering_set(&word, type));
        double em = 10 / pv_type_cap(type), width = 2.390 * em;
        ck_assert(fabs(word.frame.lo.x - left[anchor] * width) < 0.05 * em);
        ck_assert(fabs(word.frame.hi.x - (1 + left[anchor]) * width) < 0.05 * em);
        ck_assert(word.frame.hi.y >= 10 && word.frame.hi.y < 10.5);
        ck_assert(word.frame.lo.y < -2 && word.frame.lo.y > -3.7);
        pv_lettering_drop_outline(&word);
    }
}
END_TEST

/* An I fills its box, an O about the ellipse in its own, and the O's hole runs against its outside.
 */
START_TEST(letters_have_outlines)
{
    char text[] = "IO";
    pv_lettering word = {.text = text, .height = 100};
    ck_assert(pv_lettering_set(&word, type));
    ck_assert_uint_eq(word.n_rings, 3);
    double area[3] = {0}, box[3] = {0};
    for (size_t i = 0; i < 3; i++) {
        const pv_ring *ring = &word.rings[i];
        pv_box b = pv_box_none();
        for (size_t k = 0; k < ring->n; k++) {
            area[i] += pv_cross_z(ring->points[k], ring->points[(k + 1) % ring->n]) / 2;
            b = pv_box_add(b, ring->points[k]);
            ck_assert(pv_box_holds(pv_box_grow(word.frame, 0.01), ring->points[k]));
        }
        box[i] = (b.hi.x - b.lo.x) * (b.hi.y - b.lo.y);
    }
    ck_assert_uint_eq(word.rings[0].n, 4);
    ck_assert_double_eq_tol(fabs(area[0]), box[0], 0.01);
    ck_assert(area[1] * area[2] < 0 && fabs(area[1]) > fabs(area[2]));
    for (int i = 1; i < 3; i++) /* about an ellipse */
        ck_assert_double_eq_tol(fabs(area[i]) / box[i], PV_PI / 4, 0.05);
    word.height = PV_OUTLINED - 0.1;
    ck_assert(pv_lettering_set(&word, type));
    ck_assert_uint_eq(word.n_rings, 0);
    pv_lettering_drop_outline(&word);
}
END_TEST

START_TEST(texts_that_print)
{
    static const struct {
        const char *text;
        size_t bad;
    } cases[] = {
        {"a\tb", 1},         {"\x7F", 0},         {"x\xC2\x85", 1},        {"\xE2\x80\xAE", 0},
        {"\xEE\x80\x80", 0}, {"\xEF\xBB\xBF", 0}, {"\xF4\x8F\xBF\xBF", 0}, {"ok\xFF", 2},
        {"\xEF\xB7\x90", 0}, {"\xE2\x80\x8B", 0},
    };
    size_t bad = 99;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        ck_assert_msg(!pv_text_prints(cases[i].text, &bad), "case %zu", i);
        ck_assert_uint_eq(bad, cases[i].bad);
    }
    ck_assert(pv_text_prints("Gr\xC3\xB6\xC3\x9F"
                             "e \xE6\xA1\xA5 \xF0\x9F\x9A\xA2",
                             NULL));
}
END_TEST

/* ---- files that aren't what they say ---- */

static pv_bytes face_bytes(void)
{
    char line[1024] = "";
    FILE *said = popen("fc-match -f '%{file}' 'Liberation Sans:style=Regular'", "r");
    ck_assert_ptr_nonnull(said);
    ck_assert_ptr_nonnull(fgets(line, sizeof line, said));
    pclose(said);
    return read_input(line);
}

/* Uses all that there is of a face in a file. True where it could be opened. */
static bool use_file(const char *path)
{
    pv_diags *diags = pv_diags_new();
    pv_type *own = pv_type_open(path, diags);
    bool good = own != NULL;
    ck_assert(good || pv_diags_count(diags, PV_ERROR) == 1);
    if (good) {
        static const unsigned glyphs[] = {3, 36, 40, 500, 60000};
        unsigned renamed[5];
        unsigned char *part = NULL;
        size_t size = 0;
        pv_setting s;
        pv_face_facts facts;
        if (pv_type_set(own, "Quay \xC3\x84 AV 1", false, &s))
            ck_assert(isfinite(s.width));
        pv_setting_drop(&s);
        pv_type_face(own, 0, &facts);
        if (pv_type_subset(own, 0, glyphs, 5, renamed, &part, &size, diags))
            ck_assert(size > 0);
        free(part);
    }
    pv_type_free(own);
    pv_diags_free(diags);
    return good;
}

static void write_file(const char *path, const unsigned char *data, size_t size)
{
    FILE *f = fopen(path, "wb");
    ck_assert_ptr_nonnull(f);
    ck_assert_uint_eq(fwrite(data, 1, size, f), size);
    fclose(f);
}

START_TEST(damaged_files_do_no_harm)
{
    char path[] = "/tmp/check_type_XXXXXX";
    int fd = mkstemp(path);
    ck_assert_int_ge(fd, 0);
    close(fd);
    pv_bytes whole = face_bytes();
    write_file(path, whole.data, whole.size);
    ck_assert(use_file(path));
    unsigned char *copy = malloc(whole.size);
    ck_assert_ptr_nonnull(copy);
    dice d = {12345};
    int opened = 0;
    for (int i = 0; i < 120; i++) {
        memcpy(copy, whole.data, whole.size);
        size_t size = i % 4 == 0 ? whole.size * (size_t)i / 120 : whole.size;
        /* the directory and the tables' heads first: there a byte does most */
        for (int k = 0; k < 12; k++) {
            size_t reach = i % 3 == 0 ? 400 : i % 3 == 1 ? 20000 : whole.size;
            copy[pick(&d, reach)] = (unsigned char)dice_bits(&d);
        }
        write_file(path, copy, size);
        opened += use_file(path);
    }
    printf("    of 120 damaged files %d could be opened\n", opened);
    ck_assert_int_gt(opened, 0);
    ck_assert_int_lt(opened, 120);
    /* its maker may forbid that it be embedded: fsType 2 in OS/2 */
    memcpy(copy, whole.data, whole.size);
    for (size_t t = 12; t < 12 + 16u * (size_t)(copy[4] << 8 | copy[5]); t += 16)
        if (memcmp(copy + t, "OS/2", 4) == 0) {
            size_t at = (size_t)copy[t + 8] << 24 | (size_t)copy[t + 9] << 16 |
                        (size_t)copy[t + 10] << 8 | copy[t + 11];
            copy[at + 9] = 2;
        }
    write_file(path, copy, whole.size);
    pv_diags *diags = pv_diags_new();
    ck_assert_ptr_null(pv_type_open(path, diags));
    assert_says(pv_diags_at(diags, 0)->message, "embed");
    pv_diags_free(diags);
    unlink(path);
    free(copy);
    pv_free(whole.data);
}
END_TEST

/* A part has few bytes, and is a TrueType file again. */
START_TEST(parts_are_small)
{
    static const unsigned glyphs[] = {36, 37, 38};
    unsigned renamed[3];
    unsigned char *part = NULL;
    size_t size = 0;
    ck_assert(pv_type_subset(type, 0, glyphs, 3, renamed, &part, &size, NULL));
    ck_assert_uint_lt(size, 4000);
    ck_assert_int_eq(memcmp(part, "\0\1\0\0", 4), 0);
    ck_assert(renamed[0] != renamed[1] && renamed[1] != renamed[2] && renamed[0] > 0);
    free(part);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("type");
    TCase *tcase = tcase_create("type");
    tcase_set_timeout(tcase, 120);
    tcase_add_test(tcase, widths_are_those_of_helvetica);
    tcase_add_test(tcase, glyphs_stand_one_behind_the_other);
    tcase_add_test(tcase, directions_are_mixed);
    tcase_add_test(tcase, glyphs_share_the_text_out);
    tcase_add_test(tcase, what_no_face_has_is_known);
    tcase_add_test(tcase, families_have_a_limit);
    tcase_add_test(tcase, lettering_is_framed);
    tcase_add_test(tcase, letters_have_outlines);
    tcase_add_test(tcase, texts_that_print);
    tcase_add_test(tcase, damaged_files_do_no_harm);
    tcase_add_test(tcase, parts_are_small);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
