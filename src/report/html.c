/* Inspections as one page for people; docs/use/reading-a-report.md says what it shows. */
#include "report/html.h"
#include "judge/answer.h"
#include "judge/notes.h"
#include "report/summary.h"

#include <math.h>
#include <string.h>

#define REASONS_MAX 6

static void capital(pv_text *to, const char *words)
{
    char first[2] = {words[0], '\0'};
    if (first[0] >= 'a' && first[0] <= 'z')
        first[0] = (char)(first[0] - 'a' + 'A');
    pv_html_text(to, first);
    pv_html_text(to, words[0] != '\0' ? words + 1 : "");
}

/* ---- what decided, and what to do ---- */

static void notes(pv_text *to, char *const *items, size_t n)
{
    if (n == 0)
        return;
    pv_text_add(to, "<ul class=\"notes\">\n");
    for (size_t i = 0; i < n; i++) {
        pv_text_add(to, "<li>");
        capital(to, items[i]);
        pv_text_add(to, "</li>\n");
    }
    pv_text_add(to, "</ul>\n");
}

/* "scale x: 96.000 % ±0.100, allowed 99.700 to 100.300 %" */
static void reason(pv_text *to, const pv_value *value)
{
    const pv_kind_info shown = pv_value_shown(value), *kind = &shown;
    const char *class = pv_html_class(value->verdict);
    double tolerance = kind->factor * value->tolerance, middle = kind->factor * value->nominal;
    pv_text_add(to, "<li class=\"%s\">", class);
    pv_html_sign(to, class);
    pv_text_add(to, "<span><b>%s%s", kind->name, kind->of == PV_OF_LINE ? " of " : " ");
    pv_html_name(to, value);
    pv_text_add(to, "</b> ");
    if (!value->measured) {
        pv_text_add(to, "not measured</span></li>\n");
        return;
    }
    pv_html_number(to, kind->factor * value->value, kind->decimals);
    pv_text_add(to, " ");
    pv_html_uncertainty(to, kind->factor * value->U, kind->decimals);
    pv_text_add(to, " %s, allowed ", kind->unit);
    pv_html_number(to, middle - tolerance, kind->decimals);
    pv_text_add(to, " to ");
    pv_html_number(to, middle + tolerance, kind->decimals);
    pv_text_add(to, " %s</span></li>\n", kind->unit);
}

/* The first reasons for a verdict that isn't "conforms", of one verdict: of the sheet, then of its
 * lines and spacings, the worst first. `n` have been given already. */
static size_t reasons(pv_text *to, const pv_html_sheet *sheet, pv_verdict verdict, size_t n)
{
    const pv_measures *table = &sheet->in->table;
    for (size_t i = 0; i < table->n_values; i++) {
        const pv_value *value = &table->values[i];
        if (pv_kind_of(value->kind)->of == PV_OF_SHEET && value->counts &&
            value->verdict == verdict && n++ < REASONS_MAX)
            reason(to, value);
    }
    for (size_t i = 0; i < table->n_lines; i++) {
        size_t line = sheet->ranking.lines[i];
        for (size_t k = table->lines[line].first_value;
             k < table->n_values && table->values[k].subject == line &&
             pv_kind_of(table->values[k].kind)->of == PV_OF_LINE;
             k++)
            if (table->values[k].counts && table->values[k].verdict == verdict && n++ < REASONS_MAX)
                reason(to, &table->values[k]);
    }
    for (size_t i = 0; i < sheet->ranking.n_spacings; i++)
        if (sheet->ranking.spacings[i]->verdict == verdict && n++ < REASONS_MAX)
            reason(to, sheet->ranking.spacings[i]);
    return n;
}

static void advice(pv_text *to, const pv_inspected *sheet)
{
    pv_text_add(to, "<p class=\"lead\">");
    pv_html_text(to, sheet->advice);
    pv_text_add(to, "</p>\n");
}

static void decision(pv_text *to, const pv_html_sheet *sheet)
{
    const pv_inspection *in = sheet->in;
    size_t of[3] = {0, 0, 0};
    for (size_t i = 0; i < in->table.n_values; i++)
        of[in->table.values[i].verdict] += in->table.values[i].counts;
    pv_text_add(to, "<h3>For engineers: the sheet %s%s</h3>\n",
                in->sheet.verdict == PV_UNDECIDED ? "is " : "", pv_verdict_name(in->sheet.verdict));
    pv_text_add(to, "<p>%zu values judged: %zu conform%s, %zu undecided, %zu do%s not conform",
                of[0] + of[1] + of[2], of[PV_CONFORMS], of[PV_CONFORMS] == 1 ? "s" : "",
                of[PV_UNDECIDED], of[PV_DOES_NOT_CONFORM],
                of[PV_DOES_NOT_CONFORM] == 1 ? "es" : "");
    size_t marks = 0;
    for (size_t i = 0; i < in->table.n_marks; i++)
        marks += in->table.marks[i].verdict != PV_CONFORMS;
    if (marks > 0)
        pv_text_add(to, "; %zu mark%s on the surface decide%s, too", marks, marks == 1 ? "" : "s",
                    marks == 1 ? "s" : "");
    pv_text_add(to, ".</p>\n");
    pv_notes doubts = {0};
    pv_notes_of_doubts(&doubts, in);
    to->failed = to->failed || doubts.failed;
    notes(to, doubts.items, doubts.n);
    pv_notes_clear(&doubts);
    if (of[PV_UNDECIDED] + of[PV_DOES_NOT_CONFORM] == 0)
        return;
    pv_text_add(to, "<ul class=\"why\">\n");
    size_t n = reasons(to, sheet, PV_DOES_NOT_CONFORM, 0);
    n = reasons(to, sheet, PV_UNDECIDED, n);
    pv_text_add(to, "</ul>\n");
    if (n > REASONS_MAX)
        pv_text_add(to, "<p class=\"m\">and %zu more, in the tables.</p>\n", n - REASONS_MAX);
}

/* ---- the values at a glance ---- */

/* `what` stands before an id, in its own colour. */
static void tile(pv_text *to, const char *what, const pv_value *value)
{
    const pv_kind_info shown = pv_value_shown(value), *kind = &shown;
    bool sheet = kind->of == PV_OF_SHEET;
    pv_text_add(to, "<div><dt>%s%s", what, sheet ? " " : " <span>");
    pv_html_name(to, value);
    pv_text_add(to, "%s</dt><dd><b>", sheet ? "" : "</span>");
    if (!value->measured) {
        pv_text_add(to, PV_HTML_DASH "</b> not measured</dd></div>\n");
        return;
    }
    if (sheet)
        pv_html_number(to, kind->factor * value->value, kind->decimals);
    else
        pv_html_signed(to, kind->factor * (value->value - value->nominal), kind->decimals);
    pv_text_add(to, "</b> %s%s <span>", kind->unit, sheet ? "" : " off");
    pv_html_uncertainty(to, kind->factor * value->U, kind->decimals);
    pv_text_add(to, "</span>");
    pv_html_gauge(to, value);
    pv_text_add(to, "</dd></div>\n");
}

static void reference_tile(pv_text *to, const pv_inspected *sheet)
{
    pv_text_add(to, "<div><dt>Reference</dt><dd><b>%s</b> ", pv_reference_name(sheet->reference));
    if (sheet->reference != PV_REFERENCE_NONE) {
        pv_text_add(to, "good to <span>");
        pv_html_uncertainty(to, 100 * sheet->reference_U_rel, 3);
        pv_text_add(to, " %%</span>");
    } else {
        pv_text_add(to, "lengths are relative to the sheet\xE2\x80\x99s own size");
    }
    pv_text_add(to, "</dd></div>\n");
}

static void tiles(pv_text *to, const pv_inspection *in)
{
    pv_text_add(to, "<dl class=\"tiles\">\n");
    for (size_t i = 0; i < in->table.n_values; i++) {
        const pv_kind_info *kind = pv_kind_of(in->table.values[i].kind);
        if (kind->of == PV_OF_SHEET && kind->judged)
            tile(to, kind->heading, &in->table.values[i]);
    }
    const pv_value *line = pv_worst_of_lines(in), *spacing = pv_worst(in, PV_KIND_SPACING);
    if (line != NULL)
        tile(to, line->kind == PV_KIND_WIDTH ? "Largest error, width" : "Largest error, bow", line);
    if (spacing != NULL)
        tile(to, "Largest error, spacing", spacing);
    reference_tile(to, &in->sheet);
    pv_text_add(to, "</dl>\n<p class=\"m\">\xC2\xB1: the uncertainty; with a probability of 95 %% "
                    "the true value is within it. The grey zone is what the course allows. "
                    "Largest error: the largest share of what is allowed.</p>\n");
}

/* ---- one image ---- */

/* "Not true: the page came out at ...", its lead apart. */
static void answer(pv_text *to, const pv_inspected *sheet, const char *kind)
{
    size_t lead = pv_answer_lead(sheet->answer);
    pv_html_sign(to, kind);
    pv_text_add(to, "<span>");
    if (sheet->error == NULL) {
        pv_html_text(to, sheet->sheet);
        pv_text_add(to, " ");
    }
    pv_text_add(to, "<b class=\"%s\">%.*s</b>", kind, (int)lead, sheet->answer);
    pv_html_text(to, sheet->answer + lead);
    pv_text_add(to, "</span>");
}

/* The page's own head has said it of a single image. */
static void section_start(pv_html *page, size_t number)
{
    const pv_inspected *sheet = &page->items[number - 1]->sheet;
    pv_text *to = &page->out;
    const char *kind = sheet->error != NULL ? "er" : pv_html_class(sheet->verdict);
    pv_text_add(to, "<section id=\"i%zu\" class=\"sheet%s\">", number,
                page->n == 1 ? " alone" : "");
    if (page->n > 1) {
        pv_text_add(to, "<h2 class=\"said\">");
        answer(to, sheet, kind);
        pv_text_add(to, "</h2>\n");
        advice(to, sheet);
    }
    pv_text_add(to, "<p class=\"file\">%s",
                sheet->error != NULL ? ""
                : sheet->photograph  ? "Photograph "
                                     : "Scan ");
    pv_html_text(to, sheet->label);
    pv_text_add(to, "</p>\n");
}

static bool usable(pv_html *page, const pv_html_sheet *sheet)
{
    pv_text *to = &page->out;
    notes(to, sheet->in->notes, sheet->in->n_notes);
    if (!pv_html_surface(page, sheet) || !pv_html_picture(page, sheet))
        return false;
    decision(to, sheet);
    tiles(to, sheet->in);
    pv_html_profiles(to, sheet);
    pv_text_add(to, "<div class=\"many\">\n");
    pv_html_histogram(to, sheet->in);
    pv_html_form(to, sheet->in);
    if (page->n > 1)
        pv_html_locator(page, sheet);
    else
        pv_html_map(page);
    pv_text_add(to, "</div>\n");
    pv_html_tables(to, sheet);
    if (page->n > 1)
        pv_text_add(to, "<p class=\"up\"><a href=\"#top\">back to the overview</a></p>\n");
    pv_text_add(to, "</section>\n");
    return true;
}

static bool section(pv_html *page, size_t index)
{
    pv_html_sheet sheet = {.in = page->items[index], .number = index + 1};
    const pv_inspected *about = &sheet.in->sheet;
    section_start(page, index + 1);
    if (about->error != NULL) {
        pv_text_add(&page->out, "</section>\n");
        return true;
    }
    if (about->plan >= page->n_plans || about->number >= page->plans[about->plan]->n_sheets) {
        pv_fail(page->diags, PV_CAUSE_USAGE, "%s was inspected with other plans than the report's",
                about->label);
        return false;
    }
    pv_html_take_plan(page, about->plan);
    sheet.sheet = &page->plan->sheets[about->number];
    bool good = pv_ranking_make(&sheet.ranking, sheet.in);
    if (good)
        good = usable(page, &sheet);
    else
        pv_fail_memory(page->diags);
    pv_ranking_clear(&sheet.ranking);
    return good;
}

/* ---- the batch ---- */

typedef struct batch {
    size_t of[3], errors, pictures;
} batch;

static batch count_batch(const pv_html *page)
{
    batch all = {{0, 0, 0}, 0, 0};
    for (size_t i = 0; i < page->n; i++) {
        const pv_inspection *in = page->items[i];
        if (in->sheet.error != NULL)
            all.errors++;
        else
            all.of[in->sheet.verdict]++;
        all.pictures += in->sheet.error == NULL && in->picture.rgb != NULL;
    }
    return all;
}

static void headline(pv_html *page, const batch *all)
{
    pv_text *to = &page->out;
    const pv_inspected *first = &page->items[0]->sheet;
    size_t no = all->of[PV_DOES_NOT_CONFORM], un = all->of[PV_UNDECIDED];
    const char *kind = no > 0 ? "no" : all->errors > 0 ? "er" : un > 0 ? "un" : "ok";
    pv_text_add(to, "<h1 class=\"said\">");
    if (page->n == 1) {
        answer(to, first, kind);
    } else {
        pv_text summary = PV_TEXT_INIT;
        pv_batch_summary(&summary, page->items, page->n);
        pv_html_sign(to, kind);
        pv_text_add(to, "<span>");
        pv_html_text(to, summary.chars != NULL ? summary.chars : "");
        pv_text_add(to, "</span>");
        to->failed = to->failed || summary.failed;
        pv_text_drop(&summary);
    }
    pv_text_add(to, "</h1>\n");
}

static void masthead(pv_html *page, const batch *all)
{
    pv_text *to = &page->out;
    pv_text_add(to, "<header id=\"top\"><p class=\"kicker\">Inspection report</p>\n");
    headline(page, all);
    if (page->n == 1)
        advice(to, &page->items[0]->sheet);
    for (size_t i = 0; i < page->n_plans; i++) {
        pv_html_take_plan(page, i);
        if (page->n_plans > 1 && !pv_html_shows_plan(page))
            continue;
        pv_text_add(to, "<p class=\"file\">");
        pv_html_plan(to, page->plan);
        pv_text_add(to, "</p>\n");
    }
    pv_text_add(to, "</header>\n");
}

/* ---- the page ---- */

static bool fill_page(pv_html *page, const batch *all)
{
    pv_text *to = &page->out;
    pv_text_add(to, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                    "<meta name=\"generator\" content=\"pavior\">\n"
                    "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
                    "<title>Inspection report: ");
    pv_html_text(to, page->plan->art.name); /* the first's */
    pv_text_add(to, "</title>\n<style>\n");
    pv_text_bytes(to, pv_embedded_pavior_css, strlen(pv_embedded_pavior_css));
    pv_text_add(to, "</style>\n</head>\n<body>\n");
    pv_text_bytes(to, pv_embedded_signs_svg, strlen(pv_embedded_signs_svg));
    masthead(page, all);
    pv_text_add(to, "<main>\n");
    if (page->n > 1)
        pv_html_overview(page);
    for (size_t i = 0; i < page->n; i++)
        if (!section(page, i))
            return false;
    pv_text_bytes(to, pv_embedded_reading_html, strlen(pv_embedded_reading_html));
    pv_text_add(to, "</main>\n</body>\n</html>\n");
    return true;
}

char *pv_inspections_html(const pv_plan *const *plans, size_t n_plans,
                          const pv_inspection *const *items, size_t n, pv_diags *diags)
{
    if (n == 0 || n_plans == 0) {
        pv_fail(diags, PV_CAUSE_USAGE, "a report needs at least one image and its plan");
        return NULL;
    }
    pv_html page = {.out = PV_TEXT_INIT,
                    .plans = plans,
                    .n_plans = n_plans,
                    .items = items,
                    .n = n,
                    .diags = diags};
    pv_html_take_plan(&page, 0);
    batch all = count_batch(&page);
    page.share = PV_REPORT_PICTURES_MAX / (all.pictures > 0 ? all.pictures : 1);
    bool good = fill_page(&page, &all);
    if (good) {
        char *text = pv_text_take(&page.out);
        if (text == NULL)
            pv_fail_memory(diags);
        return text;
    }
    pv_text_drop(&page.out);
    return NULL;
}
