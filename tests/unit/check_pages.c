/* Templates filled with data: the language, what it refuses, its limits. */
#include "common.h"

#include "html/escape.h"
#include "html/html.h"
#include "json/json.h"

#include <stdlib.h>
#include <string.h>

static const pv_template partials[] = {
    {"row.html", "<td>{{name}}</td>\n"},
    {"tree.html", "{{v}}{{#in}}({{> tree}}){{/in}}"},
    {"ring.html", "{{> ring}}"},
    {"page.css", "a{b:c}"},
};

/* NULL where it failed; *diags then says why. */
static char *filled(const char *template, const char *data, pv_diags *diags)
{
    pv_template all[1 + sizeof partials / sizeof *partials] = {{"t.html", template}};
    memcpy(all + 1, partials, sizeof partials);
    pv_text out = PV_TEXT_INIT;
    bool good = pv_html_fill_from(&out, all, sizeof all / sizeof *all, "t", data, strlen(data),
                                  NULL, diags);
    ck_assert_uint_eq(pv_diags_count(diags, PV_ERROR), good ? 0 : 1);
    if (good)
        return pv_text_take(&out);
    pv_text_drop(&out);
    return NULL;
}

/* Worked out by hand from the language's manual, mustache(5). */
START_TEST(tags_are_filled)
{
    static const struct {
        const char *template, *data, *page;
    } cases[] = {
        {"", "{}", ""},
        {"a { b } }} c", "{}", "a { b } }} c"},
        {"{{x}}|{{ x }}|{{\tx\n}}", "{\"x\":\"<&>\\\"'\"}",
         "&lt;&amp;&gt;&quot;&#39;|&lt;&amp;&gt;&quot;&#39;|&lt;&amp;&gt;&quot;&#39;"},
        {"{{{x_svg}}}", "{\"x_svg\":\"<path d='M0 0'/>\"}", "<path d='M0 0'/>"},
        {"{{n}} {{t}} {{z}} {{r}}", "{\"n\":12,\"t\":true,\"z\":null,\"r\":0.5}", "12 true  0.5"},
        {"{{#a}}[{{.}}]{{/a}}", "{\"a\":[1,2,\"c\"]}", "[1][2][c]"},
        {"{{#a}}{{x}}{{y}} {{/a}}{{x}}", "{\"a\":[{\"x\":1},{\"x\":2},{}],\"x\":\"o\",\"y\":\"y\"}",
         "1y 2y oy o"},
        {"{{#a}}x{{/a}}{{^a}}-{{/a}}", "{\"a\":[]}", "-"},
        {"{{#a}}x{{/a}}{{^a}}-{{/a}}", "{\"a\":\"\"}", "-"},
        {"{{#a}}x{{/a}}{{^a}}-{{/a}}", "{\"a\":0}", "-"},
        {"{{#a}}x{{/a}}{{^a}}-{{/a}}", "{\"a\":false}", "-"},
        {"{{#a}}x{{/a}}{{^a}}-{{/a}}", "{\"a\":null}", "-"},
        {"{{#a}}x{{/a}}{{^a}}-{{/a}}", "{}", "-"},
        {"{{#a}}x{{/a}}{{^a}}-{{/a}}", "{\"a\":{}}", "x"},
        {"{{#a}}{{x}}{{/a}}", "{\"a\":true,\"x\":3}", "3"},
        {"{{#a}}{{.}}{{/a}}", "{\"a\":\"word\"}", "word"},
        {"{{a.b.c}} {{#a.b}}{{c}}{{/a.b}}", "{\"a\":{\"b\":{\"c\":7}}}", "7 7"},
        /* Only the nearest a counts, though it has no b. */
        {"{{#s}}{{^a.b}}none{{/a.b}}{{/s}}", "{\"a\":{\"b\":1},\"s\":{\"a\":{}}}", "none"},
        /* Null is there, and hides what lies around it. */
        {"{{#s}}[{{a}}]{{/s}}", "{\"a\":1,\"s\":{\"a\":null}}", "[]"},
        {"a{{! what\nnot }}b", "{}", "ab"},
        {"1\n  {{#a}}\n2\n{{/a}}  \n3", "{\"a\":true}", "1\n2\n3"},
        {"1\r\n{{! x }}\r\n2", "{}", "1\r\n2"},
        {"1\n {{#a}} {{/a}} x\n", "{\"a\":true}", "1\n   x\n"},
        {"{{#a}}\n{{> row}}\n{{/a}}\n.", "{\"a\":[{\"name\":1},{\"name\":\"<\"}]}",
         "<td>1</td>\n<td>&lt;</td>\n."},
        {"<style>{{> page.css}}</style>", "{}", "<style>a{b:c}</style>"},
        {"{{> tree}}",
         "{\"v\":1,\"in\":[{\"v\":2,\"in\":[{\"v\":3,\"in\":0}]},{\"v\":4,\"in\":0}]}",
         "1(2(3))(4)"},
        {"<p>{{#_}}\n  Print  sheet\n  <b>{{s}}</b>.\n{{/_}}</p>", "{\"s\":\"A&1\"}",
         "<p>Print sheet <b>A&amp;1</b>.</p>"},
        {"{{#_}} {{/_}}", "{}", ""},
        /* What would steer a terminal or turn the writing is no text. */
        {"{{x}}", "{\"x\":\"a\\u001b[1m\\tb\\n\\u202ec\"}",
         "a\xEF\xBF\xBD[1m\tb\n\xEF\xBF\xBD"
         "c"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        pv_diags *diags = pv_diags_new();
        char *page = filled(cases[i].template, cases[i].data, diags);
        ck_assert_msg(page != NULL, "%s: %s", cases[i].template,
                      page != NULL ? "" : pv_diags_at(diags, 0)->message);
        ck_assert_str_eq(page, cases[i].page);
        pv_free(page);
        pv_diags_free(diags);
    }
}
END_TEST

START_TEST(slips_are_told)
{
    static const struct {
        const char *template, *data;
        int line;
        pv_cause cause;
    } cases[] = {
        {"1\n2 {{x}}", "{}", 2, PV_CAUSE_USAGE},
        {"{{a.b}}", "{\"a\":{}}", 1, PV_CAUSE_USAGE},
        {"{{a.b}}", "{\"a\":\"b\"}", 1, PV_CAUSE_USAGE},
        {"{{x}}", "{\"x\":[1]}", 1, PV_CAUSE_USAGE},
        {"\n\n{{#a}}", "{}", 3, PV_CAUSE_USAGE},
        {"{{/a}}", "{}", 1, PV_CAUSE_USAGE},
        {"{{#a}}\n{{#b}}\n{{/a}}", "{}", 3, PV_CAUSE_USAGE},
        {"{{#a}}{{#b}}{{/b}}", "{}", 1, PV_CAUSE_USAGE},
        {"{{x", "{}", 1, PV_CAUSE_USAGE},
        {"{{{x_svg}}", "{}", 1, PV_CAUSE_USAGE},
        {"{{{x}}}", "{\"x\":\"<b>\"}", 1, PV_CAUSE_USAGE},
        {"{{}}", "{}", 1, PV_CAUSE_USAGE},
        {"{{#}}{{/}}", "{}", 1, PV_CAUSE_USAGE},
        {"{{a b}}", "{}", 1, PV_CAUSE_USAGE},
        {"{{&x}}", "{\"x\":1}", 1, PV_CAUSE_USAGE},
        {"{{=<% %>=}}", "{}", 1, PV_CAUSE_USAGE},
        {"{{> nowhere}}", "{}", 1, PV_CAUSE_USAGE},
        {"{{> page}}", "{}", 1, PV_CAUSE_USAGE},
        {"a\n  {{> row}}\n", "{\"name\":1}", 2, PV_CAUSE_USAGE},
        {"{{x}}", "{\"x\":", 1, PV_CAUSE_DATA},
        {"{{> ring}}", "{}", 1, PV_CAUSE_LIMIT},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        pv_diags *diags = pv_diags_new();
        ck_assert_msg(filled(cases[i].template, cases[i].data, diags) == NULL, "%s",
                      cases[i].template);
        const pv_diag *said = pv_diags_at(diags, 0);
        ck_assert_msg(said->cause == cases[i].cause && said->line == cases[i].line,
                      "%s: line %d, %s", cases[i].template, said->line, said->message);
        pv_diags_free(diags);
    }
    pv_diags *diags = pv_diags_new();
    pv_text out = PV_TEXT_INIT;
    ck_assert(!pv_html_fill(&out, "no-such-page", "{}", 2, NULL, diags));
    ck_assert(!pv_html_fill(&out, "page.css", "{}", 2, NULL, diags));
    ck_assert_uint_eq(pv_diags_count(diags, PV_ERROR), 2);
    pv_text_drop(&out);
    pv_diags_free(diags);
}
END_TEST

static char *times(const char *head, const char *part, size_t n, const char *tail)
{
    pv_text text = PV_TEXT_INIT;
    pv_text_bytes(&text, head, strlen(head));
    for (size_t i = 0; i < n; i++)
        pv_text_bytes(&text, part, strlen(part));
    pv_text_bytes(&text, tail, strlen(tail));
    char *chars = pv_text_take(&text);
    ck_assert_ptr_nonnull(chars);
    return chars;
}

static void assert_limit(const char *template, const char *data, bool good)
{
    pv_diags *diags = pv_diags_new();
    char *page = filled(template, data, diags);
    ck_assert_int_eq(page != NULL, good);
    if (!good)
        ck_assert_int_eq(pv_diags_cause(diags), PV_CAUSE_LIMIT);
    pv_free(page);
    pv_diags_free(diags);
}

/* Sections in a template, partials within partials, data, and what all of them multiply to. */
START_TEST(work_is_bounded)
{
    for (size_t n = PV_HTML_DEPTH_MAX - 1; n <= PV_HTML_DEPTH_MAX + 1; n += 2) {
        char *open = times("", "{{#a}}", n, ""), *whole = times(open, "{{/a}}", n, "");
        assert_limit(whole, "{\"a\":true}", n < PV_HTML_DEPTH_MAX);
        assert_limit(whole, "{\"a\":false}", n <= PV_HTML_DEPTH_MAX);
        free(open);
        free(whole);
    }
    for (size_t n = 10; n <= 50; n += 40) {
        char *open = times("", "{\"v\":1,\"in\":", n, "0"), *data = times(open, "}", n, "");
        assert_limit("{{> tree}}", data, n == 10);
        free(open);
        free(data);
    }
    for (size_t n = PV_JSON_DEPTH_MAX - 1; n <= PV_JSON_DEPTH_MAX; n++) {
        char *open = times("{\"a\":", "[", n, ""), *data = times(open, "]", n, "}");
        assert_limit("{{#a}}{{/a}}", data, n < PV_JSON_DEPTH_MAX);
        free(open);
        free(data);
    }
    char *data = times("{\"a\":[0", ",1", 200, "]}");
    assert_limit("{{#a}}{{#a}}{{/a}}{{/a}}", data, true);
    assert_limit("{{#a}}{{#a}}{{#a}}{{#a}}{{/a}}{{/a}}{{/a}}{{/a}}", data, false);
    free(data);
    /* As a drawing, which goes in as it is: escaping 256 MB takes long. */
    char *large = times("{\"a\":[0,1,2,3,4,5,6,7,8,9],\"x_svg\":\"", "0123456789", 300000, "\"}");
    assert_limit("{{#a}}{{{x_svg}}}{{/a}}", large, true);
    assert_limit("{{#a}}{{#a}}{{{x_svg}}}{{/a}}{{/a}}", large, false);
    free(large);
}
END_TEST

/* Every template of the program can be read, whatever is in the data. */
START_TEST(own_templates_are_sound)
{
    for (size_t i = 0; i < pv_n_templates; i++) {
        ck_assert_uint_gt(strlen(pv_templates[i].text), 0);
        for (size_t k = 0; k < i; k++)
            ck_assert_str_ne(pv_templates[i].name, pv_templates[k].name);
        pv_text guarded = PV_TEXT_INIT, out = PV_TEXT_INIT;
        pv_text_add(&guarded, "{{#never}}\n%s\n{{/never}}", pv_templates[i].text);
        ck_assert(!guarded.failed);
        const pv_template one = {pv_templates[i].name, guarded.chars};
        pv_diags *diags = pv_diags_new();
        bool good = pv_html_fill_from(&out, &one, 1, one.name, "{}", 2, NULL, diags);
        ck_assert_msg(good, "%s:%d: %s", one.name, good ? 0 : pv_diags_at(diags, 0)->line,
                      good ? "" : pv_diags_at(diags, 0)->message);
        pv_diags_free(diags);
        pv_text_drop(&guarded);
        pv_text_drop(&out);
    }
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("pages");
    TCase *tcase = tcase_create("pages");
    tcase_set_timeout(tcase, 60);
    tcase_add_test(tcase, tags_are_filled);
    tcase_add_test(tcase, slips_are_told);
    tcase_add_test(tcase, work_is_bounded);
    tcase_add_test(tcase, own_templates_are_sound);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
