/* Data of a page, key by key. */
#include "kit/page.h"

#include "base/vec.h"
#include "guide/say.h"
#include "html/html.h"
#include "po/po.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void pv_kit_page_svg(pv_kit_page *page, const char *key, char *svg)
{
    page->data.out.failed = page->data.out.failed || svg == NULL;
    pv_data_text(&page->data, key, svg);
    free(svg);
}

/* Zeros at the end left out. */
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

/* mm below which a length is a line's width or a tolerance, and shows one more decimal. */
#define SMALL_MM 100.0
#define SMALL_IN PV_MM_PER_IN
/* Up to here it is a rounding, and said as 0. */
#define NONE 1e-9

static pv_digits in_unit(double mm, bool inches)
{
    double value = inches ? mm / PV_MM_PER_IN : mm;
    int usual = inches ? fabs(mm) < SMALL_IN ? 3 : 2 : fabs(mm) < SMALL_MM ? 2 : 1;
    return plain(value, value > NONE ? (int)fmax(usual, pv_guide_decimals(value)) : usual);
}

/* A line breaks between the two units, and not within a measure. */
#define NBSP "\xC2\xA0"

static pv_lengths both(const pv_kit_page *page, const char *inches, const char *metric,
                       const char *in, const char *mm)
{
    bool own = page->m->course->art.inches;
    pv_lengths out;
    snprintf(out.chars, sizeof out.chars, "%s" NBSP "%s (%s" NBSP "%s)", own ? inches : metric,
             own ? in : mm, own ? metric : inches, own ? mm : in);
    return out;
}

pv_lengths pv_kit_page_mm(const pv_kit_page *page, double mm)
{
    return both(page, in_unit(mm, true).chars, in_unit(mm, false).chars, "in", "mm");
}

pv_lengths pv_kit_page_two(const pv_kit_page *page, double a, const char *between, double b)
{
    char pair[2][64];
    for (int inches = 0; inches < 2; inches++)
        snprintf(pair[inches], sizeof pair[inches], "%.24s%.8s%.24s", in_unit(a, inches).chars,
                 between, in_unit(b, inches).chars);
    return both(page, pair[1], pair[0], "in", "mm");
}

static double round_up(double value, int decimals)
{
    double scale = pow(10, decimals);
    return ceil(value * scale - 1e-6) / scale;
}

/* The other unit is that of the rounded length: nobody reads two lengths. */
pv_lengths pv_kit_page_metres(const pv_kit_page *page, double metres, int decimals)
{
    const double foot = 12 * PV_MM_PER_IN / 1000;
    int of_feet = decimals > 0 ? decimals - 1 : 0;
    double m = metres, ft = metres / foot;
    if (page->m->course->art.inches) {
        ft = round_up(ft, of_feet);
        m = round_up(ft * foot, decimals);
    } else {
        m = round_up(m, decimals);
        ft = round_up(m / foot, of_feet);
    }
    return both(page, plain(ft, of_feet).chars, plain(m, decimals).chars, "ft", "m");
}

void pv_kit_page_length(pv_kit_page *page, const char *key, double mm)
{
    pv_data_text(&page->data, key, pv_kit_page_mm(page, mm).chars);
}

void pv_kit_page_size(pv_kit_page *page, const char *key, const double mm[2])
{
    pv_data_text(&page->data, key, pv_kit_page_two(page, mm[0], PV_BY, mm[1]).chars);
}

void pv_kit_page_minutes(pv_kit_page *page, const char *key, double minutes)
{
    pv_text text = PV_TEXT_INIT;
    pv_guide_time(&text, page->m->o.language, minutes);
    pv_data_take(&page->data, key, &text);
}

void pv_kit_page_begin(pv_kit_page *page, pv_kit_making *m, const char *name, const char *title,
                       ...)
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
    pv_data_text(&page->data, "contact", m->o.contact);
    pv_data_text(&page->data, "url", m->o.url);
    pv_data_bool(&page->data, "maker", m->o.maker != NULL);
    pv_data_text(&page->data, "course", m->course->art.name);
    pv_data_text(&page->data, "edition", m->course->art.edition);
    pv_vec size = m->course->art.size;
    pv_kit_page_size(page, "size", (const double[2]){size.x, size.y});
    double diagonal = hypot(size.x, size.y);
    const pv_tolerances *t = &m->course->art.tolerances;
    pv_kit_page_length(page, "diagonal", diagonal);
    pv_kit_page_length(page, "off_across", t->scale * size.x);
    pv_kit_page_length(page, "off_up", t->scale * size.y);
    /* Of a parallelogram d1^2 - d2^2 = 4 w h sin(skew), and d1 + d2 is twice the diagonal. */
    pv_kit_page_length(page, "off_diagonals", 2 * size.x * size.y * t->skew / 1000 / diagonal);
}

bool pv_kit_page_end(pv_kit_page *page, const char *template)
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
