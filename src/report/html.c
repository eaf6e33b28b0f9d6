/* Inspections as one page for people; docs/use/reading-a-report.md says what it shows. */
#include "report/html.h"

#include "base/words.h"
#include "html/html.h"
#include "judge/answer.h"
#include "judge/notes.h"
#include "po/po.h"
#include "report/summary.h"

#include <math.h>
#include <string.h>

#define REASONS_MAX 6

/* ---- what decided, and what to do ---- */

static void note(pv_html *page, const char *words)
{
    char first = pv_capital(words[0]);
    pv_data_words(&page->data, NULL, "%.1s%s", &first, words[0] != '\0' ? words + 1 : "");
}

static void notes(pv_html *page, char *const *items, size_t n)
{
    pv_data_bool(&page->data, "noted", n > 0);
    pv_data_open(&page->data, "notes", '[');
    for (size_t i = 0; i < n; i++)
        note(page, items[i]);
    pv_json_close(&page->data, ']');
}

/* "scale x: 96.000 % ±0.100, allowed 99.700 to 100.300 %" */
static void reason(pv_html *page, const pv_value *value)
{
    const pv_kind_info shown = pv_value_shown(value), *kind = &shown;
    pv_json_writer *w = &page->data;
    double tolerance = kind->factor * value->tolerance, middle = kind->factor * value->nominal;
    pv_text what = PV_TEXT_INIT;
    pv_html_what(page, &what, value);
    pv_data_open(w, NULL, '{');
    pv_data_text(w, "kind", pv_html_class(value->verdict));
    pv_data_take(w, "what", &what);
    pv_data_bool(w, "measured", value->measured);
    pv_data_number(w, "value", kind->factor * value->value, kind->decimals);
    pv_data_uncertainty(w, "U", kind->factor * value->U, kind->decimals);
    pv_data_text(w, "unit", kind->unit);
    pv_data_number(w, "from", middle - tolerance, kind->decimals);
    pv_data_number(w, "to", middle + tolerance, kind->decimals);
    pv_json_close(w, '}');
}

/* The first reasons for a verdict that isn't "conforms", of one verdict: of the sheet, then of its
 * lines and spacings, the worst first. `n` have been given already. */
static size_t reasons(pv_html *page, const pv_html_sheet *sheet, pv_verdict verdict, size_t n)
{
    const pv_measures *table = &sheet->in->table;
    for (size_t i = 0; i < table->n_values; i++) {
        const pv_value *value = &table->values[i];
        if (pv_kind_of(value->kind)->of == PV_OF_SHEET && value->counts &&
            value->verdict == verdict && n++ < REASONS_MAX)
            reason(page, value);
    }
    for (size_t i = 0; i < table->n_lines; i++) {
        size_t line = sheet->ranking.lines[i];
        for (size_t k = table->lines[line].first_value;
             k < table->n_values && table->values[k].subject == line &&
             pv_kind_of(table->values[k].kind)->of == PV_OF_LINE;
             k++)
            if (table->values[k].counts && table->values[k].verdict == verdict && n++ < REASONS_MAX)
                reason(page, &table->values[k]);
    }
    for (size_t i = 0; i < sheet->ranking.n_spacings; i++)
        if (sheet->ranking.spacings[i]->verdict == verdict && n++ < REASONS_MAX)
            reason(page, sheet->ranking.spacings[i]);
    return n;
}

static void decision(pv_html *page, const pv_html_sheet *sheet)
{
    const pv_inspection *in = sheet->in;
    pv_json_writer *w = &page->data;
    pv_text counts = PV_TEXT_IN(page->language);
    size_t n = 0;
    pv_data_open(w, "decision", '{');
    pv_data_bool(w, "conforms", in->sheet.verdict == PV_CONFORMS);
    pv_data_bool(w, "fails", in->sheet.verdict == PV_DOES_NOT_CONFORM);
    pv_values_summary(&counts, in);
    pv_data_take(w, "counts", &counts);
    pv_notes doubts = {0};
    pv_notes_of_doubts(&doubts, in);
    w->out.failed = w->out.failed || doubts.failed;
    notes(page, doubts.items, doubts.n);
    pv_notes_clear(&doubts);
    pv_data_open(w, "why", '[');
    n = reasons(page, sheet, PV_DOES_NOT_CONFORM, 0);
    n = reasons(page, sheet, PV_UNDECIDED, n);
    pv_json_close(w, ']');
    pv_data_bool(w, "reasons", n > 0);
    pv_data_count(w, "more", n > REASONS_MAX ? n - REASONS_MAX : 0);
    pv_json_close(w, '}');
}

/* ---- the values at a glance ---- */

/* `what` stands before an id, in its own colour. */
static void tile(pv_html *page, const char *what, const pv_value *value)
{
    const pv_kind_info shown = pv_value_shown(value), *kind = &shown;
    bool sheet = kind->of == PV_OF_SHEET;
    pv_json_writer *w = &page->data;
    pv_text name = PV_TEXT_INIT;
    pv_html_name(&name, value);
    pv_data_open(w, NULL, '{');
    pv_data_text(w, "what", pv_say(page->language, what));
    pv_data_take(w, "name", &name);
    pv_data_bool(w, "whole", sheet);
    pv_data_bool(w, "measured", value->measured);
    if (sheet)
        pv_data_number(w, "value", kind->factor * value->value, kind->decimals);
    else
        pv_data_signed(w, "value", kind->factor * (value->value - value->nominal), kind->decimals);
    pv_data_text(w, "unit", kind->unit);
    pv_data_uncertainty(w, "U", kind->factor * value->U, kind->decimals);
    pv_html_gauge(page, "gauge", value);
    pv_json_close(w, '}');
}

static void tiles(pv_html *page, const pv_inspection *in)
{
    pv_json_writer *w = &page->data;
    pv_data_open(w, "tiles", '[');
    for (size_t i = 0; i < in->table.n_values; i++) {
        const pv_kind_info *kind = pv_kind_of(in->table.values[i].kind);
        if (kind->of == PV_OF_SHEET && kind->judged)
            tile(page, kind->heading, &in->table.values[i]);
    }
    const pv_value *line = pv_worst_of_lines(in), *spacing = pv_worst(in, PV_KIND_SPACING);
    if (line != NULL)
        tile(page,
             line->kind == PV_KIND_WIDTH ? PV_SAID("Largest error, width")
                                         : PV_SAID("Largest error, bow"),
             line);
    if (spacing != NULL)
        tile(page, PV_SAID("Largest error, spacing"), spacing);
    pv_json_close(w, ']');
    pv_data_text(w, "reference", pv_say(page->language, pv_reference_name(in->sheet.reference)));
    if (in->sheet.reference != PV_REFERENCE_NONE)
        pv_data_uncertainty(w, "reference_U", 100 * in->sheet.reference_U_rel, 3);
    else
        pv_data_text(w, "reference_U", NULL);
}

/* ---- one image ---- */

/* "Not true: the page came out at ...", its lead apart. */
static void answer(pv_html *page, const pv_inspected *sheet, const char *kind)
{
    size_t lead = pv_answer_lead(sheet->answer);
    pv_json_writer *w = &page->data;
    pv_data_open(w, "answer", '{');
    pv_data_text(w, "kind", kind);
    const char *name = sheet->proof ? pv_say(page->language, "Proof page") : sheet->sheet;
    pv_data_text(w, "sheet", sheet->error == NULL ? name : NULL);
    pv_data_words(w, "lead", "%.*s", (int)lead, sheet->answer);
    pv_data_text(w, "rest", sheet->answer + lead);
    pv_json_close(w, '}');
}

static bool usable(pv_html *page, const pv_html_sheet *sheet)
{
    notes(page, sheet->in->notes, sheet->in->n_notes);
    if (!pv_html_surface(page, sheet) || !pv_html_picture(page, sheet))
        return false;
    decision(page, sheet);
    tiles(page, sheet->in);
    pv_html_charts(page, sheet);
    if (page->n > 1)
        pv_html_locator(page, "place", sheet);
    else
        pv_html_map(page, "place");
    pv_html_tables(page, sheet);
    pv_html_budgets(page, sheet);
    return true;
}

/* The measured part of an image that can be used. */
static bool measured(pv_html *page, const pv_inspection *in, size_t number)
{
    pv_html_sheet sheet = {.in = in, .number = number};
    const pv_inspected *about = &in->sheet;
    if (about->plan >= page->n_plans || about->number >= page->plans[about->plan]->n_sheets) {
        pv_fail(page->diags, PV_CAUSE_USAGE, "%s was inspected with other plans than the report's",
                about->label);
        return false;
    }
    pv_html_take_plan(page, about->plan);
    sheet.sheet = &page->plan->sheets[about->number];
    pv_data_open(&page->data, "measured", '{');
    bool good = pv_ranking_make(&sheet.ranking, sheet.in);
    if (good)
        good = usable(page, &sheet);
    else
        pv_fail_memory(page->diags);
    pv_ranking_clear(&sheet.ranking);
    pv_json_close(&page->data, '}');
    return good;
}

static bool image(pv_html *page, size_t index)
{
    const pv_inspection *in = page->items[index];
    const pv_inspected *sheet = &in->sheet;
    pv_json_writer *w = &page->data;
    bool bad = sheet->error != NULL, good = true;
    pv_data_open(w, NULL, '{');
    pv_data_count(w, "number", index + 1);
    pv_data_text(w, "advice", sheet->advice);
    answer(page, sheet, bad ? "er" : pv_html_class(sheet->verdict));
    pv_data_text(w, "file", sheet->label);
    pv_data_bool(w, "photograph", !bad && sheet->photograph);
    pv_data_bool(w, "scan", !bad && !sheet->photograph);
    if (bad)
        pv_data_text(w, "measured", NULL);
    else
        good = measured(page, in, index + 1);
    pv_json_close(w, '}');
    return good;
}

/* ---- the batch ---- */

/* What all images came to, in one sentence; the class of that. */
static void summary(pv_html *page)
{
    size_t of[3] = {0, 0, 0}, errors = 0;
    for (size_t i = 0; i < page->n; i++) {
        const pv_inspected *sheet = &page->items[i]->sheet;
        errors += sheet->error != NULL;
        of[sheet->verdict] += sheet->error == NULL;
    }
    pv_text text = PV_TEXT_IN(page->language);
    pv_batch_summary(&text, page->items, page->n);
    pv_data_open(&page->data, "summary", '{');
    pv_data_text(&page->data, "kind",
                 of[PV_DOES_NOT_CONFORM] > 0 ? "no"
                 : errors > 0                ? "er"
                 : of[PV_UNDECIDED] > 0      ? "un"
                                             : "ok");
    pv_data_take(&page->data, "words", &text);
    pv_json_close(&page->data, '}');
}

static size_t picture_share(const pv_html *page)
{
    size_t pictures = 0;
    for (size_t i = 0; i < page->n; i++)
        pictures += page->items[i]->sheet.error == NULL && page->items[i]->picture.rgb != NULL;
    return PV_REPORT_PICTURES_MAX / (pictures > 0 ? pictures : 1);
}

/* ---- the page ---- */

/* That of the first sheet; among several plans the first one may be a proof page's. */
static const pv_plan *plan_of_title(const pv_html *page)
{
    for (size_t i = 0; i < page->n; i++)
        if (page->items[i]->sheet.error == NULL && page->items[i]->sheet.plan < page->n_plans)
            return page->plans[page->items[i]->sheet.plan];
    return page->plans[0];
}

static bool page_data(pv_html *page)
{
    pv_json_writer *w = &page->data;
    bool good = true;
    pv_json_open(w, '{');
    pv_data_text(w, "lang", pv_language_code(page->language));
    pv_data_words(w, "title", pv_say(page->language, "Inspection report: %s"),
                  plan_of_title(page)->art.name);
    pv_data_bool(w, "stylesheet", false);
    pv_data_bool(w, "many", page->n > 1);
    pv_data_count(w, "h", page->n > 1 ? 3 : 2);
    pv_data_open(w, "plans", '[');
    for (size_t i = 0; i < page->n_plans; i++) {
        pv_html_take_plan(page, i);
        if (page->n_plans == 1 || pv_html_shows_plan(page))
            pv_html_plan(page, NULL, page->plan);
    }
    pv_json_close(w, ']');
    if (page->n > 1) {
        summary(page);
        pv_html_overview(page);
    }
    pv_data_open(w, "images", '[');
    for (size_t i = 0; good && i < page->n; i++)
        good = image(page, i);
    pv_json_close(w, ']');
    pv_json_close(w, '}');
    return good;
}

char *pv_inspections_html(const pv_plan *const *plans, size_t n_plans,
                          const pv_inspection *const *items, size_t n, pv_diags *diags)
{
    if (n == 0 || n_plans == 0) {
        pv_fail(diags, PV_CAUSE_USAGE, "a report needs at least one image and its plan");
        return NULL;
    }
    pv_html page = {.data = PV_JSON_WRITER_INIT,
                    .language = items[0]->sheet.language,
                    .plans = plans,
                    .n_plans = n_plans,
                    .items = items,
                    .n = n,
                    .diags = diags};
    page.share = picture_share(&page);
    pv_text out = PV_TEXT_INIT;
    bool good = page_data(&page);
    char *data = pv_json_take(&page.data), *text = NULL;
    if (good && data == NULL)
        pv_fail_memory(diags);
    if (good && data != NULL &&
        pv_html_fill(&out, "report", data, strlen(data), page.language, diags)) {
        text = pv_text_take(&out);
        if (text == NULL)
            pv_fail_memory(diags);
    }
    pv_text_drop(&out);
    pv_free(data);
    return text;
}
