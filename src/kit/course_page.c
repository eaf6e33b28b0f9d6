/* The page that draws courses and lays them on sheets in a browser: in a kit, where the caller has
 * the script for it, with the kit's course; and by itself. */
#include "base/memory.h"
#include "html/html.h"
#include "kit/page.h"
#include "po/po.h"

#include <stdlib.h>
#include <string.h>

/* False where memory ran out. */
static bool add_text(pv_json_writer *data, const char *text, size_t length)
{
    char *copy = pv_copy_chars(text, length);
    pv_data_text(data, "text", copy);
    free(copy);
    return copy != NULL;
}

bool pv_kit_course_page(pv_kit_making *m)
{
    if (m->o.maker == NULL)
        return true;
    pv_kit_page page;
    pv_kit_page_begin(&page, m, "pavior.html", pv_say(m->o.language, "The drawing table, %s"),
                      m->course->art.name);
    pv_data_bool(&page.data, "kit", true);
    bool good = add_text(&page.data, m->text, m->length);
    page.data.out.failed = page.data.out.failed || !good;
    return pv_kit_page_end(&page, "course") && pv_kit_put_plain(m, "course.js") &&
           pv_kit_put_plain(m, "course.css") &&
           pv_kit_put(m, "course-module.js", m->o.maker, m->o.maker_size);
}

char *pv_course_page(const char *text, size_t length, const pv_language *language, pv_diags *diags)
{
    pv_json_writer data = PV_JSON_WRITER_INIT;
    pv_text page = PV_TEXT_INIT;
    pv_json_open(&data, '{');
    pv_data_text(&data, "lang", pv_language_code(language));
    pv_data_text(&data, "title", pv_say(language, "The drawing table"));
    pv_data_text(&data, "stylesheet", "pavior.css");
    pv_data_bool(&data, "kit", false);
    bool good = add_text(&data, text, length);
    pv_json_close(&data, '}');
    char *json = pv_json_take(&data);
    if (!good || json == NULL)
        pv_fail_memory(diags);
    good =
        good && json != NULL && pv_html_fill(&page, "course", json, strlen(json), language, diags);
    free(json);
    char *made = good ? pv_text_take(&page) : NULL;
    if (good && made == NULL)
        pv_fail_memory(diags);
    if (!good)
        pv_text_drop(&page);
    return made;
}
