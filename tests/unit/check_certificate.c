/* Certificates and their codes, of a small sheet's scans. */
#include "sheet_picture.h"

#include "judge/inspection.h"

#include <stdlib.h>
#include <string.h>

static pv_plan *plan;
static pv_bytes png;

static void make_all(void)
{
    picture_setup s = {
        .dpi = {150, 150}, .scale = {1, 1}, .stated_dpi = {150, 150}, .turn = 0.01, .shown = 1};
    plan = picture_plan();
    png = sheet_picture(plan, &s);
}

static void drop_all(void)
{
    pv_plan_free(plan);
    free(png.data);
}

static pv_inspection *look(const pv_plan *with, const pv_bytes *bytes, const char *name,
                           const pv_inspect_options *how)
{
    pv_inspection *in =
        pv_inspect((const pv_plan *[]){with}, 1, bytes->data, bytes->size, name, how, NULL);
    ck_assert_ptr_nonnull(in);
    return in;
}

static pv_inspect_options flatbed(void)
{
    pv_inspect_options how = pv_inspect_defaults();
    how.scanner_kind = PV_SCANNER_FLATBED;
    return how;
}

static pv_code code_of(const pv_plan *with, const pv_bytes *bytes, const pv_inspect_options *how)
{
    pv_inspection *in = look(with, bytes, "a.png", how);
    pv_code code = pv_inspection_code(in);
    pv_inspection_free(in);
    return code;
}

/* A picture with a byte behind its end, which no decoder reads. */
static pv_bytes longer(void)
{
    pv_bytes out = {malloc(png.size + 1), png.size + 1};
    memcpy(out.data, png.data, png.size);
    out.data[png.size] = 0;
    return out;
}

/* ---- letters ---- */

START_TEST(every_slip_shows)
{
    static const char letters[] = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
    pv_inspect_options how = flatbed();
    pv_code code = code_of(plan, &png, &how), read;
    size_t slips = 0;
    ck_assert_uint_eq(strlen(code.chars), 19);
    ck_assert(pv_code_parse(code.chars, &read));
    ck_assert_str_eq(code.chars, read.chars);
    for (size_t i = 0; i < 19; i++) {
        for (const char *c = letters; code.chars[i] != '-' && *c != '\0'; c++) {
            pv_code wrong = code;
            wrong.chars[i] = *c;
            bool same = *c == code.chars[i];
            ck_assert_msg(pv_code_parse(wrong.chars, &read) == same, "%s", wrong.chars);
            slips += !same;
        }
        for (size_t k = i + 1; k < 19; k++) {
            pv_code wrong = code;
            wrong.chars[i] = code.chars[k];
            wrong.chars[k] = code.chars[i];
            if (code.chars[i] == code.chars[k] || code.chars[i] == '-' || code.chars[k] == '-')
                continue;
            ck_assert_msg(!pv_code_parse(wrong.chars, &read), "%s", wrong.chars);
            slips++;
        }
    }
    printf("    %zu slips in %s, each noticed\n", slips, code.chars);
}
END_TEST

START_TEST(codes_are_read_as_people_write_them)
{
    /* Of fifteen zeros the last letter is a zero; of fourteen and a 1 it is the field's generator,
     * 2. */
    static const char *const same[] = {"0000-0000-0000-0012", "oooo OOOO 0000 oOi2",
                                       "00000000000000L2", " 0000-0000-0000-0o12 "};
    static const char *const none[] = {"",
                                       "0000-0000-0000-0010",
                                       "0000-0000-0000-001",
                                       "0000-0000-0000-00122",
                                       "0000-0000-0000-00U2",
                                       "0000_0000_0000_0012",
                                       "0000-0000-0000-00\xC3\xA4",
                                       "\xEF\xBB\xBF"
                                       "0000-0000-0000-0012"};
    pv_code code;
    ck_assert(pv_code_parse("0000 0000 0000 0000", &code));
    for (size_t i = 0; i < sizeof same / sizeof *same; i++) {
        ck_assert_msg(pv_code_parse(same[i], &code), "%s", same[i]);
        ck_assert_str_eq(code.chars, "0000-0000-0000-0012");
    }
    for (size_t i = 0; i < sizeof none / sizeof *none; i++) {
        ck_assert_msg(!pv_code_parse(none[i], &code), "%s", none[i]);
        ck_assert_str_eq(code.chars, "");
    }
}
END_TEST

/* ---- what a code is of ---- */

START_TEST(a_code_is_of_the_answer_alone)
{
    pv_inspect_options how = flatbed();
    pv_code code = code_of(plan, &png, &how);
    how.language = pv_language_find("de");
    how.picture_px_per_mm = 2;
    how.pixels_max /= 2;
    pv_inspection *in = look(plan, &png, "b/other name.png", &how);
    ck_assert_int_eq(pv_code_compare(&code, in), PV_CODE_RIGHT);
    ck_assert_str_eq(pv_inspection_code(in).chars, code.chars);
    pv_inspection_free(in);
    ck_assert_uint_eq(pv_code_page(&code, png.data, png.size, 0), 0);
    ck_assert_uint_eq(pv_code_page(&code, png.data, png.size, 1), SIZE_MAX);
}
END_TEST

START_TEST(another_picture_has_another_code)
{
    pv_inspect_options how = flatbed();
    pv_code code = code_of(plan, &png, &how);
    pv_bytes other = longer();
    pv_inspection *in = look(plan, &other, "a.png", &how);
    ck_assert_ptr_null(pv_inspection_sheet(in)->error);
    ck_assert_uint_eq(pv_code_page(&code, other.data, other.size, 0), SIZE_MAX);
    ck_assert_int_eq(pv_code_compare(&code, in), PV_CODE_OTHER_PICTURE);
    pv_inspection_free(in);
    free(other.data);
}
END_TEST

START_TEST(another_plan_has_another_code)
{
    static const char course[] = "course \"Jetty\" edition \"1\"\n"
                                 "mat 90mm by 60mm ground white\n"
                                 "line low width 8mm colour black from (18, 15)mm, to (72, 15)mm\n";
    pv_inspect_options how = flatbed();
    pv_code code = code_of(plan, &png, &how);
    pv_plan *other = picture_plan_of(course, "140x110mm");
    pv_inspection *in = look(other, &png, "a.png", &how);
    ck_assert_ptr_nonnull(pv_inspection_sheet(in)->error);
    ck_assert_int_eq(pv_code_compare(&code, in), PV_CODE_OTHER_PLAN);
    ck_assert_str_eq(pv_inspection_code(in).chars, "");
    pv_inspection_free(in);
    pv_plan_free(other);
}
END_TEST

START_TEST(other_options_have_another_code)
{
    static const pv_ruler_reading readings[] = {{'P', 'Q', 130, 0.3}, {'P', 'Q', 130, 0.4}};
    static const pv_scanner own = {{1.0001, 1}, {1e-4, 1e-4}, 0, 0.1};
    pv_inspect_options how[] = {flatbed(), flatbed(), flatbed(),
                                flatbed(), flatbed(), pv_inspect_defaults()};
    const size_t n = sizeof how / sizeof *how;
    how[1].scanner_U_rel = 0.001;
    how[2].scanner = &own;
    how[3].readings = &readings[0];
    how[3].n_readings = 1;
    how[4].readings = &readings[1];
    how[4].n_readings = 1;
    pv_inspection *in[sizeof how / sizeof *how];
    for (size_t i = 0; i < n; i++) {
        in[i] = look(plan, &png, "a.png", &how[i]);
        ck_assert_ptr_null(pv_inspection_sheet(in[i])->error);
    }
    for (size_t i = 0; i < n; i++) {
        pv_code code = pv_inspection_code(in[i]);
        for (size_t k = 0; k < n; k++)
            ck_assert_int_eq(pv_code_compare(&code, in[k]),
                             i == k ? PV_CODE_RIGHT : PV_CODE_OTHER_OPTIONS);
    }
    for (size_t i = 0; i < n; i++)
        pv_inspection_free(in[i]);
}
END_TEST

/* Tolerances are no part of a plan's fingerprint, and a number on the page is no part of the
 * options. */
START_TEST(another_answer_has_another_code)
{
    pv_inspect_options how = flatbed();
    pv_inspection *in = look(plan, &png, "a.png", &how);
    pv_code code = pv_inspection_code(in);
    pv_value *scale = &in->table.values[0];
    ck_assert_int_eq(scale->kind, PV_KIND_SCALE);
    const pv_value was = *scale;
    scale->tolerance *= 2;
    ck_assert_int_eq(pv_code_compare(&code, in), PV_CODE_OTHER_ANSWER);
    *scale = was;
    scale->value += 0.00002; /* 0.002 % */
    ck_assert_int_eq(pv_code_compare(&code, in), PV_CODE_OTHER_ANSWER);
    *scale = was;
    in->sheet.verdict = PV_UNDECIDED;
    ck_assert_int_eq(pv_code_compare(&code, in), PV_CODE_OTHER_ANSWER);
    pv_inspection_free(in);
}
END_TEST

/* ---- pages ---- */

static size_t count(const unsigned char *bytes, size_t size, const char *what)
{
    size_t n = 0, length = strlen(what);
    for (size_t i = 0; i + length <= size; i++)
        n += memcmp(bytes + i, what, length) == 0;
    return n;
}

static bool certify(const pv_plan *with, const pv_inspection *const *items, size_t n, pv_bytes *out,
                    pv_diags *diags)
{
    return pv_inspections_certificate((const pv_plan *[]){with}, 1, items, n, test_type(),
                                      &out->data, &out->size, diags);
}

START_TEST(each_usable_image_has_a_page)
{
    pv_inspect_options how = flatbed();
    how.picture_px_per_mm = 2;
    pv_bytes junk = {(unsigned char *)"junk", 4}, pdf[2];
    const pv_inspection *items[] = {look(plan, &png, "a.png", &how), look(plan, &junk, "b", &how),
                                    pv_inspection_unread("c", "gone", NULL),
                                    look(plan, &png, "a.png", &how)};
    pv_diags *diags = pv_diags_new();
    ck_assert(certify(plan, items, 4, &pdf[0], diags));
    ck_assert(certify(plan, items, 4, &pdf[1], diags));
    ck_assert_uint_eq(pdf[0].size, pdf[1].size);
    ck_assert_mem_eq(pdf[0].data, pdf[1].data, pdf[0].size);
    ck_assert_uint_eq(count(pdf[0].data, pdf[0].size, "/Type /Page\n"), 2);
    ck_assert_uint_eq(count(pdf[0].data, pdf[0].size, "/DCTDecode"), 2);
    ck_assert_uint_eq(count(pdf[0].data, pdf[0].size, "Date"), 0);
    free(pdf[0].data);
    free(pdf[1].data);
    ck_assert(!certify(plan, items + 1, 2, &pdf[0], diags));
    ck_assert_int_eq(pv_diags_cause(diags), PV_CAUSE_DATA);
    ck_assert_ptr_null(pdf[0].data);
    pv_diags_free(diags);
    for (int i = 0; i < 4; i++)
        pv_inspection_free((pv_inspection *)items[i]);
}
END_TEST

START_TEST(other_plans_than_the_inspections_are_refused)
{
    pv_inspection *in = look(plan, &png, "a.png", NULL);
    pv_diags *diags = pv_diags_new();
    pv_bytes pdf;
    in->sheet.number = 1;
    ck_assert(!certify(plan, (const pv_inspection *[]){in}, 1, &pdf, diags));
    ck_assert_int_eq(pv_diags_cause(diags), PV_CAUSE_USAGE);
    pv_diags_free(diags);
    pv_inspection_free(in);
}
END_TEST

/* A page of the sheet's paper's own kind: 210 x 297 mm, or 8.5 x 11 in. */
START_TEST(paper_is_that_of_the_sheet)
{
    static const char *const papers[] = {"A6", "140x110mm", "invoice", "executive"};
    picture_setup s = {.dpi = {120, 120}, .scale = {1, 1}, .stated_dpi = {120, 120}, .shown = 1};
    pv_diags *diags = pv_diags_new();
    for (size_t i = 0; i < sizeof papers / sizeof *papers; i++) {
        pv_plan *own = picture_plan_of(picture_course, papers[i]);
        pv_bytes scan = sheet_picture(own, &s), pdf;
        pv_inspection *in = look(own, &scan, "a.png", NULL);
        ck_assert(certify(own, (const pv_inspection *[]){in}, 1, &pdf, diags));
        ck_assert_uint_eq(
            count(pdf.data, pdf.size,
                  i < 2 ? "/MediaBox [ 0 0 595.27557 841.88977 ]" : "/MediaBox [ 0 0 612 792 ]"),
            1);
        free(pdf.data);
        free(scan.data);
        pv_inspection_free(in);
        pv_plan_free(own);
    }
    pv_diags_free(diags);
}
END_TEST

START_TEST(a_statement_says_what_the_page_does)
{
    pv_inspect_options how = flatbed();
    pv_inspection *in = look(plan, &png, "a.png", &how);
    static const char *const verdicts[] = {[PV_CONFORMS] = "This sheet conforms\n",
                                           [PV_DOES_NOT_CONFORM] = "This sheet does not conform\n",
                                           [PV_UNDECIDED] = "This sheet is undecided\n"};
    for (int i = 0; i < 3; i++) {
        in->sheet.verdict = (pv_verdict)i;
        char *text = pv_inspection_statement(in);
        ck_assert_ptr_nonnull(text);
        ck_assert_ptr_nonnull(strstr(text, verdicts[i]));
        ck_assert_ptr_nonnull(strstr(text, pv_fixed(100 * in->table.values[0].value, 3).chars));
        pv_free(text);
    }
    pv_inspection_free(in);
    in = pv_inspection_unread("a\033[31m", "gone", NULL);
    char *text = pv_inspection_statement(in);
    ck_assert_ptr_nonnull(text);
    ck_assert_ptr_null(strchr(text, '\033'));
    pv_free(text);
    pv_inspection_free(in);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("certificate");
    TCase *tcase = tcase_create("certificate");
    tcase_set_timeout(tcase, 240);
    tcase_add_unchecked_fixture(tcase, make_all, drop_all);
    tcase_add_test(tcase, every_slip_shows);
    tcase_add_test(tcase, codes_are_read_as_people_write_them);
    tcase_add_test(tcase, a_code_is_of_the_answer_alone);
    tcase_add_test(tcase, another_picture_has_another_code);
    tcase_add_test(tcase, another_plan_has_another_code);
    tcase_add_test(tcase, other_options_have_another_code);
    tcase_add_test(tcase, another_answer_has_another_code);
    tcase_add_test(tcase, each_usable_image_has_a_page);
    tcase_add_test(tcase, other_plans_than_the_inspections_are_refused);
    tcase_add_test(tcase, paper_is_that_of_the_sheet);
    tcase_add_test(tcase, a_statement_says_what_the_page_does);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
