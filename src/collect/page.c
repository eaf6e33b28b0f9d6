#include "collect/page.h"

#include "html/html.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void pv_results_text(pv_results_page *page, const char *key, const char *text)
{
    pv_json_key(&page->data, key);
    pv_json_string(&page->data, text);
}

void pv_results_count(pv_results_page *page, const char *key, size_t n)
{
    pv_json_key(&page->data, key);
    pv_json_integer(&page->data, (long long)n);
}

void pv_results_take(pv_results_page *page, const char *key, pv_text *text)
{
    char *taken = pv_text_take(text);
    page->failed = page->failed || taken == NULL;
    pv_results_text(page, key, taken);
    free(taken);
}

void pv_results_say(pv_results_page *page, const char *key, const char *format, ...)
{
    pv_text text = PV_TEXT_INIT;
    va_list args;
    va_start(args, format);
    pv_text_addv(&text, format, args);
    va_end(args);
    pv_results_take(page, key, &text);
}

pv_digits pv_results_number(double value, int decimals)
{
    pv_digits plain = pv_fixed(value, decimals), out;
    bool minus = plain.chars[0] == '-' && plain.chars[1] != '\0';
    snprintf(out.chars, sizeof out.chars, "%s%.36s", minus ? "\xE2\x88\x92" : "",
             plain.chars + minus);
    return out;
}

/* ---- what pages say alike ---- */

const char *pv_results_kind(const pv_tally_row *row)
{
    static const char *const kinds[] = {
        [PV_CONFORMS] = "ok", [PV_DOES_NOT_CONFORM] = "no", [PV_UNDECIDED] = "un"};
    return row->error != NULL ? "er" : kinds[row->verdict];
}

void pv_results_row(pv_results_page *page, const pv_tally_row *row)
{
    const pv_tally *t = page->tally;
    bool sheet = row->error == NULL && row->plan != SIZE_MAX;
    if (row->page > 0)
        pv_results_say(page, "file", pv_say(t->language, "%s, page %zu"), row->file, row->page);
    else
        pv_results_text(page, "file", row->file);
    pv_results_text(page, "kind", pv_results_kind(row));
    pv_results_text(page, "sheet", sheet ? t->plans[row->plan].sheets[row->number] : NULL);
    pv_results_text(page, "paper", sheet ? t->plans[row->plan].paper : NULL);
    pv_results_text(page, "answer", row->error != NULL ? row->error : row->answer);
    pv_results_text(page, "advice", row->advice);
    pv_results_text(page, "report", row->error == NULL ? row->report : NULL);
}

/* ---- the whole ---- */

void pv_results_page_begin(pv_results_page *page, const pv_tally *t, const char *title,
                           pv_diags *diags)
{
    *page = (pv_results_page){.tally = t, .data = PV_JSON_WRITER_INIT, .diags = diags};
    size_t plan = 0;
    while (plan + 1 < t->n_plans && t->plans[plan].proof)
        plan++;
    pv_json_open(&page->data, '{');
    pv_results_text(page, "lang", pv_language_code(t->language));
    pv_results_text(page, "title", title);
    pv_json_key(&page->data, "stylesheet");
    pv_json_bool(&page->data, false);
    pv_results_text(page, "course", plan < t->n_plans ? t->plans[plan].name : "");
    pv_results_text(page, "edition", plan < t->n_plans ? t->plans[plan].edition : "");
}

char *pv_results_page_end(pv_results_page *page, const char *template_name)
{
    pv_json_close(&page->data, '}');
    char *json = pv_json_take(&page->data);
    if (json == NULL || page->failed) {
        free(json);
        pv_fail_memory(page->diags);
        return NULL;
    }
    pv_text text = PV_TEXT_INIT;
    bool good =
        pv_html_fill(&text, template_name, json, strlen(json), page->tally->language, page->diags);
    free(json);
    if (!good) {
        pv_text_drop(&text);
        return NULL;
    }
    char *out = pv_text_take(&text);
    if (out == NULL)
        pv_fail_memory(page->diags);
    return out;
}
