#include "common.h"

#include "base/memory.h"
#include "base/text.h"
#include "base/units.h"
#include "base/vec.h"

#include <pavior/pavior.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

START_TEST(version_says_itself_once)
{
    int major = 0, minor = 0, patch = 0;
    ck_assert_int_eq(sscanf(PV_VERSION_STRING, "%d.%d.%d", &major, &minor, &patch), 3);
    ck_assert_int_eq(major, PV_VERSION_MAJOR);
    ck_assert_int_eq(minor, PV_VERSION_MINOR);
    ck_assert_int_eq(patch, PV_VERSION_PATCH);
    ck_assert_str_eq(pv_version(), PV_VERSION_STRING);
}
END_TEST

START_TEST(units_are_exact)
{
    double mm = 0;
    ck_assert(pv_length_parse("1in", &mm) && mm == 25.4);
    ck_assert(pv_length_parse("1 ft", &mm) && mm == 304.8);
    ck_assert(pv_length_parse("-2.5cm", &mm) && mm == -25.0);
    ck_assert(pv_length_parse("0.1mm", &mm) && mm == 0.1);
    ck_assert(!pv_length_parse("12", &mm));
    ck_assert(!pv_length_parse("12 parsec", &mm));
    ck_assert(!pv_length_parse("mm", &mm));
    ck_assert(!pv_length_parse("", &mm));
    ck_assert(!pv_length_parse("1e400mm", &mm));
    ck_assert(mm == 0.1); /* what is no length sets nothing */
}
END_TEST

START_TEST(finding_has_a_caret_under_its_place)
{
    pv_diags *diags = pv_diags_new();
    pv_place place = {"a.course", "mat 12 furlongs\nnext", 20, 3, 8, 8};
    pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, &place, "use mm", "no unit \"%s\"", "furlongs");
    char *text = pv_diag_text(pv_diags_at(diags, 0));
    ck_assert_str_eq(text, "a.course:3:8: error: no unit \"furlongs\"\n"
                           "    3 | mat 12 furlongs\n"
                           "      |        ^~~~~~~~\n"
                           "      = use mm\n");
    ck_assert_int_eq(pv_diags_cause(diags), PV_CAUSE_DATA);
    pv_free(text);
    pv_diags_free(diags);
}
END_TEST

/* Names of files and words of the input neither forge lines nor steer a terminal: C1 controls
 * (U+009B starts a command), line separators, turned directions, bytes that are no UTF-8. */
START_TEST(findings_show_strangers_words_harmlessly)
{
    pv_diags *diags = pv_diags_new();
    pv_place place = {"a\nb\xC2\x9B.course", "mat\t\x1B[31m x\xE2\x80\xAE\r", 14, 3, 5, 1};
    pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, &place, "hint\xE2\x80\xA8", "no \"%s\"",
                 "x\nnote: \xFF\xC3\xA9");
    char *text = pv_diag_text(pv_diags_at(diags, 0));
    ck_assert_str_eq(text, "a?b?.course:3:5: error: no \"x?note: ?\xC3\xA9\"\n"
                           "    3 | mat\t?[31m x?\n"
                           "      |    \t^\n"
                           "      = hint?\n");
    pv_free(text);
    pv_diags_free(diags);
    pv_text out = PV_TEXT_INIT;
    pv_text_shown(&out, "\0a\xE2\x82", 4, "");
    pv_text_shown(&out, "b\n\t", 3, "\n");
    ck_assert_str_eq(out.chars, "?a??b\n?");
    pv_text_drop(&out);
}
END_TEST

START_TEST(findings_past_the_limit_are_counted)
{
    pv_diags *diags = pv_diags_new();
    for (int i = 0; i < PV_DIAGS_MAX + 7; i++)
        pv_fail(diags, PV_CAUSE_DATA, "number %d", i);
    ck_assert_uint_eq(pv_diags_size(diags), PV_DIAGS_MAX);
    ck_assert_uint_eq(pv_diags_count(diags, PV_ERROR), PV_DIAGS_MAX + 7);
    pv_diags_free(diags);
}
END_TEST

/* Else a failure after many notes would look like success. */
START_TEST(first_error_is_kept_in_a_full_list)
{
    pv_diags *diags = pv_diags_new();
    for (int i = 0; i < PV_DIAGS_MAX + 7; i++)
        pv_diags_say(diags, i < PV_DIAGS_MAX - 1 ? PV_NOTE : PV_WARNING, PV_CAUSE_NONE, NULL, "%d",
                     i);
    ck_assert_int_eq(pv_diags_cause(diags), PV_CAUSE_NONE);
    pv_fail(diags, PV_CAUSE_LIMIT, "first");
    pv_fail(diags, PV_CAUSE_DATA, "second");
    ck_assert_int_eq(pv_diags_cause(diags), PV_CAUSE_LIMIT);
    ck_assert_uint_eq(pv_diags_size(diags), PV_DIAGS_MAX);
    ck_assert_str_eq(pv_diags_at(diags, PV_DIAGS_MAX - 1)->message, "first");
    ck_assert_int_eq(pv_diags_at(diags, PV_DIAGS_MAX - 2)->severity, PV_WARNING);
    ck_assert_uint_eq(pv_diags_count(diags, PV_ERROR), 2);
    ck_assert_uint_eq(pv_diags_count(diags, PV_WARNING), 2 + 8);
    ck_assert_uint_eq(pv_diags_count(diags, PV_NOTE), PV_DIAGS_MAX + 7 + 2);
    pv_diags_free(diags);
    diags = pv_diags_new();
    for (int i = 0; i < PV_DIAGS_MAX; i++)
        pv_diags_say(diags, PV_WARNING, PV_CAUSE_NONE, NULL, "%d", i);
    pv_fail(diags, PV_CAUSE_USAGE, "first");
    ck_assert_int_eq(pv_diags_cause(diags), PV_CAUSE_USAGE);
    ck_assert_uint_eq(pv_diags_count(diags, PV_WARNING), PV_DIAGS_MAX + 1);
    pv_diags_free(diags);
}
END_TEST

START_TEST(null_has_no_findings)
{
    ck_assert_uint_eq(pv_diags_size(NULL), 0);
    ck_assert_uint_eq(pv_diags_count(NULL, PV_NOTE), 0);
    ck_assert_ptr_null(pv_diags_at(NULL, 0));
    ck_assert_int_eq(pv_diags_cause(NULL), PV_CAUSE_NONE);
}
END_TEST

START_TEST(sizes_that_overflow_are_refused)
{
    void *items = NULL;
    size_t capacity = 0;
    ck_assert(!pv_reserve(&items, &capacity, SIZE_MAX / 2, 16));
    ck_assert_ptr_null(pv_new_array(SIZE_MAX / 4, 16));
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("base");
    TCase *tcase = tcase_create("base");
    tcase_add_test(tcase, version_says_itself_once);
    tcase_add_test(tcase, units_are_exact);
    tcase_add_test(tcase, finding_has_a_caret_under_its_place);
    tcase_add_test(tcase, findings_show_strangers_words_harmlessly);
    tcase_add_test(tcase, findings_past_the_limit_are_counted);
    tcase_add_test(tcase, first_error_is_kept_in_a_full_list);
    tcase_add_test(tcase, null_has_no_findings);
    tcase_add_test(tcase, sizes_that_overflow_are_refused);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
