/* What the course language says of wrong text: the place, the nearest word, how reading goes on,
 * and the limits. tests/bad/course has more, with every message whole. */
#include "common.h"

#include "base/text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static pv_diags *findings(const char *text, size_t length)
{
    pv_diags *diags = pv_diags_new();
    pv_course *course = pv_course_parse(text, length, NULL, test_type(), diags);
    ck_assert_msg((course == NULL) == (pv_diags_count(diags, PV_ERROR) > 0), "%s", text);
    pv_course_free(course);
    return diags;
}

/* All that is said of statements on a mat of 1 m by 1 m, which is line 1. */
static char *said_of(const char *statements)
{
    pv_text text = PV_TEXT_INIT;
    pv_text_add(&text, "mat 1m by 1m\n%s\n", statements);
    pv_diags *diags = findings(text.chars, text.length);
    char *said = diags_text(diags);
    pv_diags_free(diags);
    pv_text_drop(&text);
    return said;
}

#define SAYS(statements, expected)                                                                 \
    do {                                                                                           \
        char *said = said_of(statements);                                                          \
        ck_assert_str_eq(said, expected);                                                          \
        pv_free(said);                                                                             \
    } while (0)

START_TEST(the_caret_stands_under_the_place)
{
    SAYS("let gap = 9inn", "2:12: error: there is no unit \"inn\"\n"
                           "    2 | let gap = 9inn\n"
                           "      |            ^~~\n"
                           "      = did you mean \"in\"?\n");
    SAYS("text \"na\xC3\xAFve \xCD\xB8\" at (1, 1)cm height 1cm", /* not assigned by Unicode */
         "2:13: error: no typeface on this machine has the character \"\xCD\xB8\" (U+0378)\n"
         "    2 | text \"na\xC3\xAFve \xCD\xB8\" at (1, 1)cm height 1cm\n"
         "      |             ^\n"
         "      = install a TrueType face that has it; docs/how/lettering.md lists some\n");
    SAYS("line from (0, 0)mm,\n\tto (1,\t1)mm, at",
         "3:15: error: expected ahead, arc, by, close, colour, ends, from, left, right, to or "
         "width, found \"at\"\n"
         "    3 | \tto (1,\t1)mm, at\n"
         "      | \t      \t      ^~\n");
}
END_TEST

/* A statement, and what must be among what is said of it. */
static const struct {
    const char *statements, *said;
} suggestions[] = {
    {"lnie from (0, 0)mm to (9, 9)mm", "\"line\""},
    {"REPEAT i from 1 to 3\nend", "\"repeat\""},
    {"pain width 3mm", "\"paint\""},
    {"line from (0, 0)mm ot (9, 9)mm", "\"to\""},
    {"line ends rond from (0, 0)mm to (9, 9)mm", "\"round\""},
    {"text \"A\" at (1, 1)mm hieght 3mm", "\"height\""},
    {"text \"A\" at (1, 1)mm height 3mm anchor centr", "\"centre\""},
    {"let berth_gap = 9mm\nlet a = bert_gap", "\"berth_gap\""},
    {"let a = 5degg", "\"deg\""},
    {"let a = sqr(4)", "\"sqrt\""},
    {"colour seagreen = grey(9)\npaint colour sea_green", "\"seagreen\""},
    {"colour a = rbg(1, 2, 3)", "\"rgb\""},
    {"tolerance spaceing 3mm", "\"spacing\""},
    {"let a = xyzzy", "2:9: error|\"xyzzy\""},
};

START_TEST(the_nearest_word_is_suggested)
{
    for (size_t i = 0; i < sizeof suggestions / sizeof *suggestions; i++) {
        char *said = said_of(suggestions[i].statements);
        assert_says(said, suggestions[i].said);
        pv_free(said);
    }
}
END_TEST

/* The lines of the errors that are found, in order. */
static const struct {
    const char *statements, *lines;
} recoveries[] = {
    {"let a = 9inn\nlet b = 8mn\nline from (a, b) to (b, a)", "2 3"},
    {"let a = 9inn\nlet c = a + 2deg\nlet d = c * c\npaint width d\nlet e = zzz", "2 6"},
    {"colour sea = rgb(1, 2)\npaint colour sea\nmat 3m by 3m", "2 4"},
    {"line kerb width\nline kerb from (0, 0)mm to (1, 1)mm", "2 3"},
    {"paint width 3mm,\nline form (0, 0)mm to (9, 9)mm\npaint colour red", "3 3 4"},
    {"line from (0, 0)mm,\n to (1, zz)mm,\n arc centre (0, 0)mm sweep 2\npaint ends flt", "3 5"},
    {"repeat i from 1 to 9\nline from (i, 0)mm to (i, 0)mm\npaint width i\nend\npaint width 3",
     "3 4 6"},
    {"repeat i form 1 to 9\npaint width i * 1mm\npaint colour red\nend\nend", "2 4 6"},
    {"repeat i from 1 to 2\nrepeat j from 1 to 2\npaint width j\nend", "2 4"},
    {"repeat i from 1 to 2\nlet a = 3,\nend\npaint colour red", "3 5"},
    {"start at (9, 9)mm\nroute from start ahead 3\n", "2"},
    {"route heading 3deg\nroute from (0, 0)mm to (3, 3)mm", "2 3"},
    {"text \"a\nb\" at (1, 1)mm\nlet a = 1 +", "2 3 4"},
    {"let a = (1mm\nlet b = 3)\nlet c = 1mm +* 2mm", "2 3 4"},
    {"fill at (20, 20)mm colour red\nfinish at (30, 3000)mm", "2 3"},
    {"line a from (0, 50)mm to (1000, 50)mm\nfill at (9, 50)mm colour black\n"
     "finish at (50, 50)mm",
     "3 4"},
};

START_TEST(reading_goes_on_without_cascades)
{
    for (size_t i = 0; i < sizeof recoveries / sizeof *recoveries; i++) {
        pv_text text = PV_TEXT_INIT, lines = PV_TEXT_INIT;
        pv_text_add(&text, "mat 1m by 1m\n%s\n", recoveries[i].statements);
        pv_diags *diags = findings(text.chars, text.length);
        for (size_t j = 0; j < pv_diags_size(diags); j++)
            pv_text_add(&lines, "%s%d", j > 0 ? " " : "", pv_diags_at(diags, j)->line);
        char *said = diags_text(diags);
        ck_assert_msg(strcmp(lines.chars, recoveries[i].lines) == 0, "expected %s\n%s",
                      recoveries[i].lines, said);
        pv_free(said);
        pv_diags_free(diags);
        pv_text_drop(&text);
        pv_text_drop(&lines);
    }
}
END_TEST

START_TEST(warnings_do_not_fail)
{
    const char *text =
        "mat 1m by 1m\nfill at (50, 1)mm colour black\nfill at (50, 2)mm colour black\n"
        "repeat i from 2 to 1\nend\n"
        "line from (0, 0)mm to (9, 0)mm to (9, 9)mm to (0, 0)mm";
    pv_diags *diags = findings(text, strlen(text));
    ck_assert_uint_eq(pv_diags_count(diags, PV_ERROR), 0);
    ck_assert_uint_eq(pv_diags_size(diags), 3);
    pv_diags_free(diags);
    ck_assert_ptr_null(pv_course_parse("mat", 3, NULL, test_type(), NULL)); /* nobody listens */
}
END_TEST

/* --- limits -------------------------------------------------------------------------------- */

static void past_limit(const char *text, size_t length, const char *what)
{
    pv_diags *diags = findings(text, length);
    char *said = diags_text(diags);
    ck_assert_msg(pv_diags_cause(diags) == PV_CAUSE_LIMIT && strstr(said, what) != NULL,
                  "expected \"%s\"\n%.500s", what, said);
    pv_free(said);
    pv_diags_free(diags);
}

static void repeated(const char *start, const char *again, size_t times, const char *end,
                     const char *what)
{
    pv_text text = PV_TEXT_INIT;
    pv_text_add(&text, "mat 1m by 1m\n%s", start);
    for (size_t i = 0; i < times; i++)
        pv_text_add(&text, "%s", again);
    pv_text_add(&text, "%s", end);
    ck_assert(!text.failed);
    past_limit(text.chars, text.length, what);
    pv_text_drop(&text);
}

START_TEST(limits_hold)
{
    repeated("let a = ", "(", 1000000, "1", "more than 64 brackets");
    repeated("let a = ", "sqrt(", 100, "1", "more than 64 brackets");
    repeated("text \"", "x", 201, "\" at (1, 1)mm height 1mm\n", "at most 200 characters");
    repeated("line from (0, 0)mm", " by (1, 1)mm by (-1, 1)mm", 100001, "\n", "200000 pieces");
}
END_TEST

START_TEST(repetitions_have_limits)
{
    repeated("", "repeat i from 0 to 1 step 0.000001\n", 1, "end", "more than 100000 times");
    repeated("repeat a from 1 to 1000\nrepeat b from 1 to 1000\n", "", 0, "end\nend",
             "more than 100000 statements");
    repeated("repeat a from 1 to 90000\nlet b = 1", "+ 1 * 1 / 1", 100, "\nend",
             "more than 10000000 words");
    repeated("repeat a from 1 to 2000\ncircle centre (0, 0)mm radius 100m\nend", "", 0, "",
             "corners when flattened");
}
END_TEST

START_TEST(a_file_has_a_largest_size)
{
    size_t size = PV_COURSE_BYTES_MAX + 1u;
    char *text = calloc(1, size);
    ck_assert_ptr_nonnull(text);
    memset(text, '\n', size);
    past_limit(text, size, "at most 4194304 bytes");
    free(text);
}
END_TEST

START_TEST(a_flood_of_errors_is_cut_off)
{
    pv_text text = PV_TEXT_INIT;
    for (int i = 0; i < 300000; i++)
        pv_text_add(&text, "lien %d\n", i);
    pv_diags *diags = findings(text.chars, text.length);
    ck_assert_uint_eq(pv_diags_size(diags), 100);
    pv_diags_free(diags);
    pv_text_drop(&text);
}
END_TEST

/* A megabyte on one line, with an error at its end: found at its column, and not repeated. */
START_TEST(a_long_line_is_not_repeated)
{
    pv_text text = PV_TEXT_INIT;
    pv_text_add(&text, "mat 1m by 1m\nlet a = 1");
    for (int i = 0; i < 250000; i++)
        pv_text_add(&text, " + 1");
    pv_text_add(&text, " + zzz\n");
    pv_diags *diags = findings(text.chars, text.length);
    const pv_diag *diag = pv_diags_at(diags, 0);
    ck_assert_uint_eq(pv_diags_size(diags), 1);
    ck_assert_int_eq(diag->line, 2);
    ck_assert_int_eq(diag->column, 1000013);
    ck_assert_ptr_null(diag->source);
    pv_diags_free(diags);
    pv_text_drop(&text);
}
END_TEST

/* Whatever four megabytes are made of: where time grows with the square of their length, hours
 * would not do, and the timeout ends the test. */
START_TEST(hostile_text_is_read_to_its_end)
{
    static const char *const parts[] = {
        "(",     "\"{", "1",  "a ",   ",",       "\n",    "repeat i from 1 to 2\n",
        "end\n", "-",   "\\", "\xFF", "a1 b2\n", "line ", "let a=1\n"};
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        pv_text text = PV_TEXT_INIT;
        pv_text_add(&text, "mat 1m by 1m\n");
        size_t length = strlen(parts[i]);
        while (text.length + length < PV_COURSE_BYTES_MAX)
            pv_text_bytes(&text, parts[i], length);
        pv_diags_free(findings(text.chars, text.length));
        pv_text_drop(&text);
    }
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("language errors");
    TCase *places = tcase_create("places");
    tcase_add_test(places, the_caret_stands_under_the_place);
    tcase_add_test(places, the_nearest_word_is_suggested);
    tcase_add_test(places, reading_goes_on_without_cascades);
    tcase_add_test(places, warnings_do_not_fail);
    suite_add_tcase(suite, places);
    TCase *limits = tcase_create("limits");
    tcase_set_timeout(limits, 60);
    tcase_add_test(limits, limits_hold);
    tcase_add_test(limits, repetitions_have_limits);
    tcase_add_test(limits, a_file_has_a_largest_size);
    tcase_add_test(limits, a_flood_of_errors_is_cut_off);
    tcase_add_test(limits, a_long_line_is_not_repeated);
    tcase_add_test(limits, hostile_text_is_read_to_its_end);
    suite_add_tcase(suite, limits);
    return run_suite(suite);
}
