/* Languages: what is said in each, and what where nothing is translated. */
#include "common.h"

#include "po/po.h"

#include <stdio.h>
#include <string.h>

START_TEST(languages_are_found_by_code)
{
    const pv_language *english = pv_language_find("en"), *german = pv_language_find("de");
    ck_assert_ptr_nonnull(english);
    ck_assert_ptr_nonnull(german);
    ck_assert_str_eq(pv_language_code(german), "de");
    ck_assert_str_eq(pv_language_name(german), "Deutsch");
    ck_assert_str_eq(pv_language_code(NULL), "en");
    ck_assert_str_eq(pv_language_name(NULL), "English");
    ck_assert_ptr_eq(pv_language_at(0), english);
    for (size_t i = 0; pv_language_at(i) != NULL; i++)
        ck_assert_ptr_eq(pv_language_find(pv_language_code(pv_language_at(i))), pv_language_at(i));
    ck_assert_ptr_null(pv_language_find("xx"));
    ck_assert_ptr_null(pv_language_find(""));
    ck_assert_ptr_null(pv_language_find(NULL));
}
END_TEST

START_TEST(what_has_no_translation_is_said_in_english)
{
    const pv_language *german = pv_language_find("de");
    const char *text = "nobody has ever translated this";
    ck_assert_ptr_eq(pv_say(german, text), text);
    ck_assert_ptr_eq(pv_say(NULL, text), text);
    ck_assert_ptr_eq(pv_say_in(german, "nowhere", text), text);
    ck_assert_ptr_null(pv_say(german, NULL));
    /* A file's head stands under the empty text. */
    ck_assert_str_eq(pv_say(german, ""), "");
    ck_assert_str_eq(pv_say_count(german, "one such", "many such", 1), "one such");
    ck_assert_str_eq(pv_say_count(german, "one such", "many such", 0), "many such");
}
END_TEST

/* What de.po says, by hand. */
START_TEST(german_is_said)
{
    const pv_language *german = pv_language_find("de"), *english = pv_language_find("en");
    ck_assert_str_eq(pv_say(german, "cut here"), "hier schneiden");
    ck_assert_str_eq(pv_say(english, "cut here"), "cut here");
    ck_assert_str_eq(pv_say(NULL, "cut here"), "cut here");
    /* The first and the last in the order of bytes, and one whose beginning is another's whole. */
    ck_assert_str_eq(pv_say(german, "do not cut"), "nicht schneiden");
    ck_assert_str_eq(pv_say(german, "do not cut: this goes beneath %s"),
                     "nicht schneiden: kommt unter %s");
    ck_assert_str_eq(pv_say(german, "do not cu"), "do not cu");
}
END_TEST

/* ---- all of a PO file, read here as a text editor would ---- */

enum { CONTEXT, ENGLISH, MANY, SAID, SAID_OF_MANY, PARTS };

typedef struct entry {
    char part[PARTS][4096];
    bool has[PARTS];
} entry;

/* Appends what a line has between its first and its last quote. */
static void add_quoted(char *to, const char *line, const char *end)
{
    const char *from = memchr(line, '"', (size_t)(end - line));
    size_t n = strlen(to);
    while (end > line && end[-1] != '"')
        end--;
    for (const char *c = from + 1; c < end - 1; c++) {
        ck_assert_uint_lt(n + 1, sizeof((entry *)NULL)->part[0]);
        if (*c == '\\')
            c++;
        to[n++] = *c;
    }
    to[n] = '\0';
}

/* Reads lines up to a blank one; NULL at the end. */
static const char *read_entry(const char *text, entry *e)
{
    static const char *const keys[] = {"msgctxt ", "msgid ", "msgid_plural ", "msgstr",
                                       "msgstr[1] "};
    memset(e, 0, sizeof *e);
    int part = -1;
    while (*text == '\n')
        text++;
    for (const char *end; *text != '\0' && *text != '\n'; text = end + (*end == '\n')) {
        end = text + strcspn(text, "\n");
        for (int k = 0; k < PARTS; k++)
            if (strncmp(text, keys[k], strlen(keys[k])) == 0)
                part = k;
        if (*text == '#' || part < 0)
            continue;
        e->has[part] = true;
        add_quoted(e->part[part], text, end);
    }
    return part < 0 ? NULL : text;
}

START_TEST(every_text_of_the_file_is_said)
{
    const pv_language *german = pv_language_find("de");
    pv_bytes file = read_input("src/po/de.po");
    static entry e;
    size_t n = 0, many = 0, placed = 0;
    for (const char *at = (const char *)file.data; (at = read_entry(at, &e)) != NULL;) {
        if (e.part[ENGLISH][0] == '\0' || e.part[SAID][0] == '\0')
            continue;
        const char *english = e.part[ENGLISH];
        const char *said =
            e.has[CONTEXT] ? pv_say_in(german, e.part[CONTEXT], english) : pv_say(german, english);
        ck_assert_str_eq(said, e.part[SAID]);
        if (e.has[MANY]) {
            ck_assert_str_eq(pv_say_count(german, english, e.part[MANY], 1), e.part[SAID]);
            ck_assert_str_eq(pv_say_count(german, english, e.part[MANY], 0), e.part[SAID_OF_MANY]);
            ck_assert_str_eq(pv_say_count(german, english, e.part[MANY], 7), e.part[SAID_OF_MANY]);
        }
        n++;
        many += e.has[MANY];
        placed += e.has[CONTEXT];
    }
    printf("    %zu texts, %zu of them count, %zu have their place\n", n, many, placed);
    ck_assert_uint_gt(n, 500);
    ck_assert_uint_gt(many, 0);
    ck_assert_uint_gt(placed, 0);
    pv_free(file.data);
}
END_TEST

START_TEST(findings_are_said)
{
    pv_diags *diags = pv_diags_new();
    pv_diags_speak(diags, pv_say, pv_language_find("de"));
    pv_diags_add(diags, PV_ERROR, PV_CAUSE_LIMIT, NULL, "scan at a lower resolution",
                 "the image is %zu x %zu pixels; the limit is %zu pixels", (size_t)3, (size_t)2,
                 (size_t)1);
    pv_fail(diags, PV_CAUSE_DATA, "%s", "the PDF is damaged");
    ck_assert_str_eq(pv_diags_at(diags, 0)->message,
                     "das Bild hat 3 x 2 Pixel; die Grenze sind 1 Pixel");
    ck_assert_str_eq(pv_diags_at(diags, 0)->hint, "scannen Sie mit geringerer Auflösung");
    ck_assert_str_eq(pv_diags_at(diags, 1)->message, "das PDF ist beschädigt");
    pv_diags_free(diags);
}
END_TEST

START_TEST(sections_of_templates)
{
    const char *section = " \n  cut\t\n  here ";
    pv_text out = PV_TEXT_INIT;
    pv_say_section(&out, pv_language_find("de"), section, strlen(section));
    ck_assert_str_eq(out.chars, "hier schneiden");
    pv_say_section(&out, NULL, section, strlen(section));
    ck_assert_str_eq(out.chars, "hier schneidencut here");
    pv_say_section(&out, NULL, " \n", 2);
    pv_say_section(&out, NULL, "100 %s {{n}}", 12);
    ck_assert_str_eq(out.chars, "hier schneidencut here100 %s {{n}}");
    pv_text_drop(&out);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("po");
    TCase *tests = tcase_create("po");
    tcase_add_test(tests, languages_are_found_by_code);
    tcase_add_test(tests, what_has_no_translation_is_said_in_english);
    tcase_add_test(tests, german_is_said);
    tcase_add_test(tests, every_text_of_the_file_is_said);
    tcase_add_test(tests, findings_are_said);
    tcase_add_test(tests, sections_of_templates);
    suite_add_tcase(suite, tests);
    return run_suite(suite);
}
