#include "common.h"

#include "json/json.h"

#include <locale.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* A locale with a decimal comma, made for the test, since a machine need not have one. */
static void enter_comma_locale(void)
{
    char folder[] = "/tmp/pavior-locale-XXXXXX";
    ck_assert_ptr_nonnull(mkdtemp(folder));
    char command[128];
    snprintf(command, sizeof command, "localedef -i de_DE -f UTF-8 %s/de_DE.UTF-8 && true", folder);
    ck_assert_msg(system(command) == 0, "localedef and its de_DE are needed (package locales)");
    setenv("LOCPATH", folder, 1);
    ck_assert_ptr_nonnull(setlocale(LC_ALL, "de_DE.UTF-8"));
    ck_assert_str_eq(localeconv()->decimal_point, ",");
    snprintf(command, sizeof command, "rm -r %s", folder);
    ck_assert_int_eq(system(command), 0);
}

START_TEST(texts_and_findings_keep_their_points)
{
    enter_comma_locale();
    pv_text text = PV_TEXT_INIT;
    pv_text_add(&text, "%.2f %g %5.1f", 1.25, -0.5, 2.5);
    ck_assert_str_eq(text.chars, "1.25 -0.5   2.5");
    ck_assert_str_eq(localeconv()->decimal_point, ","); /* the program's locale is as it was */
    pv_text_drop(&text);
    pv_diags *diags = pv_diags_new();
    pv_fail(diags, PV_CAUSE_DATA, "%.1f mm", 0.5);
    ck_assert_str_eq(pv_diags_at(diags, 0)->message, "0.5 mm");
    pv_diags_free(diags);
}
END_TEST

/* Every finite double must come back bit for bit, by the C library's strtod as the judge. */
static void numbers_come_back(bool by_strtod)
{
    dice d = {1};
    for (int i = 0; i < 20000; i++) {
        uint64_t bits = dice_bits(&d);
        double value;
        memcpy(&value, &bits, sizeof value);
        if (i % 2 == 0)
            value = (double)(int64_t)(bits % 2000001) / 1000 - 1000;
        if (!isfinite(value) || value == 0)
            continue;
        char text[PV_JSON_NUMBER + 2];
        pv_json_format(value, text);
        ck_assert_msg(strchr(text, ',') == NULL, "%s", text);
        if (by_strtod)
            ck_assert(strtod(text, NULL) == value);
        char document[PV_JSON_NUMBER + 4];
        snprintf(document, sizeof document, "[%s]", text);
        pv_json *json = pv_json_parse(document, strlen(document), NULL, NULL);
        ck_assert_msg(json != NULL, "%s", document);
        double back = pv_json_get_number(json, pv_json_item(json, pv_json_root(json), 0), -INFINITY,
                                         INFINITY);
        ck_assert_msg(back == value, "%s became %.17g", text, back);
        pv_json_free(json);
    }
}

START_TEST(numbers_are_shortest_and_exact)
{
    static const struct {
        double value;
        const char *text;
    } known[] = {
        {0.1, "0.1"},
        {-0.0, "0"},
        {297, "297"},
        {25.4, "25.4"},
        {1e21, "1e+21"},
        {1.0 / 3, "0.3333333333333333"},
        {5e-324, "5e-324"},
        {1.7976931348623157e308, "1.7976931348623157e+308"},
        {0.1 + 0.2, "0.30000000000000004"},
        {9007199254740993.0, "9007199254740992"},
    };
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        char text[PV_JSON_NUMBER];
        pv_json_format(known[i].value, text);
        ck_assert_str_eq(text, known[i].text);
    }
    numbers_come_back(true);
}
END_TEST

START_TEST(numbers_do_not_know_the_locale)
{
    enter_comma_locale();
    numbers_come_back(false);
    pv_json_writer w = PV_JSON_WRITER_INIT;
    pv_json_open_inline(&w, '[');
    pv_json_number(&w, 0.5);
    pv_json_rounded(&w, -1234.5678, 2);
    pv_json_close(&w, ']');
    char *text = pv_json_take(&w);
    ck_assert_str_eq(text, "[0.5, -1234.57]\n");
    pv_free(text);
}
END_TEST

START_TEST(layout_is_fixed)
{
    pv_json_writer w = PV_JSON_WRITER_INIT;
    pv_json_open(&w, '{');
    pv_json_key(&w, "box");
    pv_json_open_inline(&w, '[');
    pv_json_integer(&w, 1);
    pv_json_open(&w, '[');
    pv_json_number(&w, 2.5);
    pv_json_number(&w, NAN);
    pv_json_close(&w, ']');
    pv_json_close(&w, ']');
    pv_json_key(&w, "list");
    pv_json_open(&w, '[');
    pv_json_bool(&w, true);
    pv_json_string(&w, "say \"hi\"\n\x01 \xC3\xA9 \xFF \xED\xA0\x80");
    pv_json_string(&w, NULL);
    pv_json_rounded(&w, -0.001, 2);
    pv_json_close(&w, ']');
    pv_json_key(&w, "none");
    pv_json_open(&w, '{');
    pv_json_close(&w, '}');
    pv_json_close(&w, '}');
    char *text = pv_json_take(&w);
    ck_assert_str_eq(text, "{\n"
                           "  \"box\": [1, [2.5, null]],\n"
                           "  \"list\": [\n"
                           "    true,\n"
                           "    \"say \\\"hi\\\"\\n\\u0001 \xC3\xA9 \xEF\xBF\xBD "
                           "\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD\",\n"
                           "    null,\n"
                           "    0.00\n"
                           "  ],\n"
                           "  \"none\": {}\n"
                           "}\n");
    pv_free(text);
}
END_TEST

static void expect_refusal(const char *text, const char *piece)
{
    pv_diags *diags = pv_diags_new();
    pv_json *json = pv_json_parse(text, strlen(text), "x.json", diags);
    ck_assert_msg(json == NULL, "accepted: %s", text);
    char *said = diags_text(diags);
    ck_assert_msg(strstr(said, piece) != NULL, "said: %s\nwanted: %s", said, piece);
    pv_free(said);
    pv_diags_free(diags);
}

START_TEST(malformed_text_is_refused_with_its_place)
{
    expect_refusal("", "x.json:1:1: error: not valid JSON");
    expect_refusal("{\n  \"a\": 1,\n  \"a\": 2\n}", "x.json:3:");
    expect_refusal("{\"a\": 1, \"a\": 2}", "duplicate");
    expect_refusal("{\"a\": 1} x", "x.json:1:10: error");
    expect_refusal("[1, 2", "error");
    expect_refusal("[NaN]", "error");
    expect_refusal("[1e999]", "error");
    expect_refusal("[99999999999999999999]", "error");
    expect_refusal("[\"\xFF\"]", "error");
    expect_refusal("[\"\\u0000\"]", "error");
    expect_refusal("[01]", "error");
    expect_refusal("\"text\"", "error");
    expect_refusal("{\n\t\"k\xC3\xA9y\" 5}", "x.json:2:8: error");
}
END_TEST

START_TEST(depth_is_limited)
{
    char text[4 * PV_JSON_DEPTH_MAX];
    memset(text, '[', PV_JSON_DEPTH_MAX);
    memset(text + PV_JSON_DEPTH_MAX, ']', PV_JSON_DEPTH_MAX);
    pv_json *json = pv_json_parse(text, 2 * PV_JSON_DEPTH_MAX, NULL, NULL);
    ck_assert_ptr_nonnull(json);
    pv_json_free(json);
    memset(text, '[', PV_JSON_DEPTH_MAX + 1);
    memset(text + PV_JSON_DEPTH_MAX + 1, ']', PV_JSON_DEPTH_MAX + 1);
    text[2 * PV_JSON_DEPTH_MAX + 2] = '\0';
    expect_refusal(text, "x.json:1:65: error: brackets are nested deeper than the limit of 64");
    /* Brackets in strings are no brackets. */
    const char *quoted =
        "[\"[[[[\\\"[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[\"]";
    json = pv_json_parse(quoted, strlen(quoted), NULL, NULL);
    ck_assert_ptr_nonnull(json);
    pv_json_free(json);
}
END_TEST

static const char sample[] = "{\"a\": [1, {\"b\": null, \"c\": \"x\", \"d\": null}], \"e\": 2.5}";

/* Each case asks one wrong question and must get one complaint with the path. */
static void ask(int question, pv_json *json)
{
    const pv_json_node *root = pv_json_root(json);
    const pv_json_node *a = pv_json_member(json, root, "a");
    const pv_json_node *object = pv_json_item(json, a, 1);
    switch (question) {
    case 0:
        pv_json_get_number(json, pv_json_member(json, object, "d"), 0, 1);
        break;
    case 1:
        pv_json_get_number(json, pv_json_member(json, object, "missing"), 0, 1);
        break;
    case 2:
        pv_json_item(json, a, 2);
        break;
    case 3:
        pv_json_get_integer(json, pv_json_member(json, root, "e"), 0, 9);
        break;
    case 4:
        pv_json_get_number(json, pv_json_member(json, root, "e"), 3, 9.5);
        break;
    case 5:
        pv_json_get_integer(json, pv_json_item(json, a, 0), 2, 3);
        break;
    case 6:
        pv_json_length(json, root);
        break;
    case 7:
        pv_json_complain(json, object, "makes %s", "no sense");
        break;
    default:
        pv_json_get_bool(json, pv_json_member(json, object, "c"));
        break;
    }
}

START_TEST(complaints_carry_their_path)
{
    static const char *const wanted[] = {
        "a[1].d: should be a number, but is null",
        "a[1].missing: is missing",
        "a: has 2 items, needs more",
        "e: should be a whole number, but is a number",
        "e: is 2.5, but must be from 3 to 9.5",
        "a[0]: is 1, but must be from 2 to 3",
        "the document: should be an array, but is an object",
        "a[1]: makes no sense",
        "a[1].c: should be true or false, but is a string",
    };
    for (int i = 0; i < (int)(sizeof wanted / sizeof *wanted); i++) {
        pv_diags *diags = pv_diags_new();
        pv_json *json = pv_json_parse(sample, strlen(sample), NULL, diags);
        ck_assert(pv_json_good(json));
        ask(i, json);
        ck_assert(!pv_json_good(json));
        ask(i == 0 ? 1 : 0, json);
        ck_assert_uint_eq(pv_diags_size(diags), 1);
        ck_assert_str_eq(pv_diags_at(diags, 0)->message, wanted[i]);
        ck_assert(pv_json_get_number(json, pv_json_member(json, pv_json_root(json), "e"), 0, 9) ==
                  0);
        pv_json_free(json);
        pv_diags_free(diags);
    }
}
END_TEST

START_TEST(what_is_there_is_read)
{
    pv_json *json = pv_json_parse(sample, strlen(sample), NULL, NULL);
    const pv_json_node *root = pv_json_root(json);
    const pv_json_node *a = pv_json_member(json, root, "a");
    ck_assert_uint_eq(pv_json_length(json, a), 2);
    ck_assert_int_eq(pv_json_get_integer(json, pv_json_item(json, a, 0), 0, 5), 1);
    const pv_json_node *object = pv_json_item(json, a, 1);
    ck_assert_str_eq(pv_json_get_string(json, pv_json_member(json, object, "c")), "x");
    ck_assert_ptr_null(pv_json_optional(json, object, "b"));
    ck_assert_ptr_null(pv_json_optional(json, object, "nowhere"));
    ck_assert(pv_json_get_number(json, pv_json_optional(json, root, "e"), 0, 9) == 2.5);
    ck_assert(pv_json_good(json));
    pv_json_free(json);
    pv_json_free(NULL);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("json");
    TCase *tcase = tcase_create("json");
    tcase_set_timeout(tcase, 60);
    tcase_add_test(tcase, numbers_are_shortest_and_exact);
    tcase_add_test(tcase, numbers_do_not_know_the_locale);
    tcase_add_test(tcase, texts_and_findings_keep_their_points);
    tcase_add_test(tcase, layout_is_fixed);
    tcase_add_test(tcase, malformed_text_is_refused_with_its_place);
    tcase_add_test(tcase, depth_is_limited);
    tcase_add_test(tcase, complaints_carry_their_path);
    tcase_add_test(tcase, what_is_there_is_read);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
