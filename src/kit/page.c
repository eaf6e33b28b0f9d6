/* Data of a page, key by key. */
#include "kit/page.h"

#include "base/vec.h"
#include "guide/say.h"
#include "html/html.h"
#include "po/po.h"

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

void pv_web_svg(pv_kit_page *page, const char *key, char *svg)
{
    page->data.out.failed = page->data.out.failed || svg == NULL;
    pv_data_text(&page->data, key, svg);
    free(svg);
}

/* Millimetres to a tenth, inches to a hundredth; zeros at the end left out. */
static pv_digits plain(double value, int decimals)
{
    pv_digits d = pv_fixed(value, decimals);
    if (strchr(d.chars, '.') == NULL)
        return d;
    size_t n = strlen(d.chars);
    while (n > 0 && d.chars[n - 1] == '0')
        n--;
    if (n > 0 && d.chars[n - 1] == '.')
        n--;
    d.chars[n] = '\0';
    return d;
}

static pv_digits as_mm(double mm)
{
    return plain(mm, 1);
}

static pv_digits as_inches(double mm)
{
    return plain(mm / PV_MM_PER_IN, 2);
}

/* A line breaks between the two units, and not within a measure. */
#define NBSP "\xC2\xA0"
#define BY   NBSP "\xC3\x97" NBSP

void pv_web_length(pv_kit_page *page, const char *key, double mm)
{
    if (page->m->course->art.inches)
        pv_data_words(&page->data, key, "%s" NBSP "in (%s" NBSP "mm)", as_inches(mm).chars,
                      as_mm(mm).chars);
    else
        pv_data_words(&page->data, key, "%s" NBSP "mm (%s" NBSP "in)", as_mm(mm).chars,
                      as_inches(mm).chars);
}

void pv_web_size(pv_kit_page *page, const char *key, const double mm[2])
{
    if (page->m->course->art.inches)
        pv_data_words(&page->data, key, "%s" BY "%s" NBSP "in (%s" BY "%s" NBSP "mm)",
                      as_inches(mm[0]).chars, as_inches(mm[1]).chars, as_mm(mm[0]).chars,
                      as_mm(mm[1]).chars);
    else
        pv_data_words(&page->data, key, "%s" BY "%s" NBSP "mm (%s" BY "%s" NBSP "in)",
                      as_mm(mm[0]).chars, as_mm(mm[1]).chars, as_inches(mm[0]).chars,
                      as_inches(mm[1]).chars);
}

void pv_web_minutes(pv_kit_page *page, const char *key, double minutes)
{
    pv_text text = PV_TEXT_INIT;
    pv_guide_time(&text, page->m->o.language, minutes);
    pv_data_take(&page->data, key, &text);
}

void pv_web_begin(pv_kit_page *page, pv_kit_making *m, const char *name, const char *title, ...)
{
    pv_text text = PV_TEXT_INIT;
    va_list args;
    va_start(args, title);
    pv_text_addv(&text, title, args);
    va_end(args);
    bool below = strchr(name, '/') != NULL;
    *page = (pv_kit_page){.m = m, .name = name, .data = PV_JSON_WRITER_INIT};
    pv_json_open(&page->data, '{');
    pv_data_text(&page->data, "lang", pv_language_code(m->o.language));
    pv_data_take(&page->data, "title", &text);
    pv_data_text(&page->data, "stylesheet", below ? "../pavior.css" : "pavior.css");
    pv_data_text(&page->data, "top", below ? "../" : "");
    pv_data_bool(&page->data, "checker", m->o.checker != NULL);
    pv_data_bool(&page->data, "maker", m->o.maker != NULL);
    pv_data_text(&page->data, "course", m->course->art.name);
    pv_data_text(&page->data, "edition", m->course->art.edition);
    pv_vec size = m->course->art.size;
    pv_web_size(page, "size", (const double[2]){size.x, size.y});
    double diagonal = hypot(size.x, size.y);
    const pv_tolerances *t = &m->course->art.tolerances;
    pv_web_length(page, "diagonal", diagonal);
    pv_data_words(&page->data, "off_across", "%s", pv_fixed(t->scale * size.x, 1).chars);
    pv_data_words(&page->data, "off_up", "%s", pv_fixed(t->scale * size.y, 1).chars);
    /* Of a parallelogram d1^2 - d2^2 = 4 w h sin(skew), and d1 + d2 is twice the diagonal. */
    pv_data_words(&page->data, "off_diagonals", "%s",
                  pv_fixed(2 * size.x * size.y * t->skew / 1000 / diagonal, 1).chars);
}

bool pv_web_end(pv_kit_page *page, const char *template)
{
    pv_json_close(&page->data, '}');
    char *json = pv_json_take(&page->data);
    pv_text text = PV_TEXT_INIT;
    if (json == NULL) {
        pv_fail_memory(page->m->diags);
        return false;
    }
    bool good =
        pv_html_fill(&text, template, json, strlen(json), page->m->o.language, page->m->diags);
    free(json);
    if (good)
        return pv_kit_put_text(page->m, page->name, pv_text_take(&text));
    pv_text_drop(&text);
    return false;
}
