/* Each allocation of filling a template is refused in turn. */
#include "refuse.h"

#include "html/html.h"

#include <string.h>

static const pv_template templates[] = {
    {"page.html", "<h1>{{name}}</h1>\n{{#rows}}\n{{> row}}\n{{/rows}}\n"
                  "{{#_}}A sentence\nwith {{name}} in it{{/_}}{{^none}}.{{/none}}\n"},
    {"row.html", "<p>{{a}} {{b.c}} {{{d_svg}}}</p>\n"},
};
static const char data[] = "{\"name\":\"<quay>\",\"rows\":[{\"a\":1,\"b\":{\"c\":true},\"d_svg\":"
                           "\"<svg/>\"},{\"a\":\"x\",\"b\":{\"c\":2},\"d_svg\":\"\"}]}";

/* No assertion in these: Check itself needs memory. */
static bool fill(pv_diags *diags)
{
    pv_text out = PV_TEXT_INIT;
    bool good = pv_html_fill_from(&out, templates, 2, "page", data, strlen(data), NULL, diags);
    pv_text_drop(&out);
    return good;
}

START_TEST(pages_without_memory)
{
    refuse_each(fill, "a page");
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("pages without memory");
    TCase *tcase = tcase_create("pages without memory");
    tcase_set_timeout(tcase, 60);
    tcase_add_test(tcase, pages_without_memory);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
