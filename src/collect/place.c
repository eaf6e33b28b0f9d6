/* Whose picture a report shows. A report is made of a picture's bytes alone, and may be that of
 * several files; what it is called, and the way back from it, are put into it afterwards, and again
 * where a file has another name or another team. */
#include "base/memory.h"
#include "collect/page.h"
#include "html/escape.h"
#include "html/html.h"

#include <stdlib.h>
#include <string.h>

#define BEGIN  "<!--place-->\n"
#define END    "<!--/place-->\n"
#define BESIDE "<header id=\"top\">\n" /* of report.html, before which it goes */

/* ---- which rows have which report ---- */

static bool has_report(const pv_tally_row *row)
{
    return row->error == NULL;
}

static int by_report(const void *a, const void *b)
{
    const pv_tally_row *p = *(const pv_tally_row *const *)a, *q = *(const pv_tally_row *const *)b;
    int order = strcmp(p->report, q->report);
    return order != 0 ? order : (p > q) - (p < q); /* as they stand in the tally */
}

bool pv_tally_index_reports(pv_tally *t)
{
    t->by_report = PV_NEW_ARRAY(t->n_rows, const pv_tally_row *);
    if (t->by_report == NULL)
        return false;
    for (size_t i = 0; i < t->n_rows; i++)
        if (has_report(&t->rows[i]))
            t->by_report[t->n_by_report++] = &t->rows[i];
    size_t each = sizeof(void *);
    qsort((void *)t->by_report, t->n_by_report, each, by_report);
    return true;
}

/* The first row in that order with a report of that name. */
static size_t first_of(const pv_tally *t, const char *report)
{
    size_t from = 0, to = t->n_by_report;
    while (from < to) {
        size_t middle = from + (to - from) / 2;
        if (strcmp(t->by_report[middle]->report, report) < 0)
            from = middle + 1;
        else
            to = middle;
    }
    return from;
}

static const pv_tally_team *team_of(const pv_tally *t, const pv_tally_row *row)
{
    size_t index = (size_t)(row - t->rows), from = 0, to = t->n_teams;
    while (to - from > 1) {
        size_t middle = from + (to - from) / 2;
        if (t->teams[middle].first <= index)
            from = middle;
        else
            to = middle;
    }
    return &t->teams[from];
}

/* ---- what is put in ---- */

/* "C3.png (north end): Quayside", of the first row. */
static void add_title(pv_text *to, const pv_tally *t, const pv_tally_row *row)
{
    pv_text text = PV_TEXT_INIT;
    pv_text_add(&text, "%s", row->file);
    if (row->page > 0) {
        pv_text_drop(&text);
        pv_text_add(&text, pv_say(t->language, "%s, page %zu"), row->file, row->page);
    }
    pv_text_add(&text, " (%s)", pv_results_team(t, row->team));
    if (row->plan != SIZE_MAX)
        pv_text_add(&text, ": %s", t->plans[row->plan].name);
    if (!text.failed)
        pv_html_text(to, text.chars);
    to->failed = to->failed || text.failed;
    pv_text_drop(&text);
}

static char *place_html(const pv_tally *t, size_t first, pv_diags *diags)
{
    pv_results_page page;
    pv_results_page_begin(&page, t, "", diags);
    pv_data_open(&page.data, "places", '[');
    const char *report = t->by_report[first]->report;
    for (size_t i = first; i < t->n_by_report && strcmp(t->by_report[i]->report, report) == 0;
         i++) {
        const pv_tally_row *row = t->by_report[i];
        pv_json_open(&page.data, '{');
        pv_results_row(&page, row);
        pv_data_text(&page.data, "team", pv_results_team(t, row->team));
        pv_data_text(&page.data, "page", team_of(t, row)->info.page);
        pv_json_close(&page.data, '}');
    }
    pv_json_close(&page.data, ']');
    return pv_results_page_end(&page, "results_place");
}

/* What lies between two marks of a text; false where they aren't there. */
static bool find(const char *text, const char *from, const char *to, const char **begin,
                 const char **end)
{
    const char *a = strstr(text, from), *b = a != NULL ? strstr(a + strlen(from), to) : NULL;
    if (b == NULL)
        return false;
    *begin = a + strlen(from);
    *end = b;
    return true;
}

char *pv_tally_place(const pv_tally *t, size_t picture, const char *html, pv_diags *diags)
{
    const char *title, *after_title, *before = NULL, *after = NULL;
    const pv_tally_row *row = picture < t->n_rows ? &t->rows[picture] : NULL;
    bool good =
        row != NULL && has_report(row) && find(html, "<title>", "</title>", &title, &after_title);
    bool placed = good && find(after_title, BEGIN, END, &before, &after);
    if (!good || (!placed && (before = after = strstr(after_title, BESIDE)) == NULL)) {
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_DATA, "delete it, and collect again",
                     "report/%s.html is no report of a picture", row != NULL ? row->report : "?");
        return NULL;
    }
    if (placed) {
        before -= sizeof BEGIN - 1;
        after += sizeof END - 1;
    }
    size_t first = first_of(t, row->report);
    char *place = place_html(t, first, diags);
    if (place == NULL)
        return NULL;
    pv_text out = PV_TEXT_INIT;
    pv_text_bytes(&out, html, (size_t)(title - html));
    add_title(&out, t, t->by_report[first]);
    pv_text_bytes(&out, after_title, (size_t)(before - after_title));
    pv_text_add(&out, BEGIN);
    pv_text_bytes(&out, place, strlen(place));
    pv_text_add(&out, END);
    pv_text_bytes(&out, after, strlen(after));
    free(place);
    char *text = pv_text_take(&out);
    if (text == NULL)
        pv_fail_memory(diags);
    return text;
}
