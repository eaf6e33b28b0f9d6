/* Inspections as one page for people; docs/use/reading-a-report.md says what it shows and how it is
 * limited. */
#include "report/html.h"
#include "judge/results.h"

#include <math.h>
#include <string.h>

#define REASONS_MAX 6

/* ---- what decided ---- */

typedef struct count {
    size_t of[3]; /* by verdict */
} count;

static count count_values(const pv_inspection *in)
{
    count c = {{0, 0, 0}};
    const pv_value *sheet[] = {&in->scale[0], &in->scale[1], &in->skew};
    for (int i = 0; i < 3; i++)
        c.of[sheet[i]->verdict]++;
    for (size_t i = 0; i < in->n_lines; i++) {
        const pv_line_result *line = &in->lines[i];
        if (line->planned == 0)
            continue;
        c.of[line->width.verdict]++;
        if (line->straight.measured)
            c.of[line->straight.verdict]++;
    }
    for (size_t i = 0; i < in->n_spacings; i++)
        c.of[in->spacings[i].value.verdict]++;
    return c;
}

/* "scale x: 96.000 % ±0.100, allowed 99.700 to 100.300 %" */
static void reason(pv_text *to, const char *what, const char *from, const char *upto,
                   const pv_value *value, double nominal, double factor, int decimals,
                   const char *unit)
{
    pv_text_add(to, "<li class=\"%s\">", pv_html_class(value->verdict));
    pv_html_sign(to, pv_html_class(value->verdict));
    pv_text_add(to, "<span><b>%s", what);
    if (from != NULL)
        pv_html_text(to, from);
    if (upto != NULL) {
        pv_text_add(to, " \xE2\x80\x93 ");
        pv_html_text(to, upto);
    }
    pv_text_add(to, "</b> ");
    if (!value->measured) {
        pv_text_add(to, "not measured</span></li>\n");
        return;
    }
    double tolerance = factor * value->tolerance, middle = factor * nominal;
    pv_html_number(to, factor * value->value, decimals);
    pv_text_add(to, " ");
    pv_html_uncertainty(to, factor * value->U, decimals);
    pv_text_add(to, " %s, allowed ", unit);
    pv_html_number(to, middle - tolerance, decimals);
    pv_text_add(to, " to ");
    pv_html_number(to, middle + tolerance, decimals);
    pv_text_add(to, " %s</span></li>\n", unit);
}

/* The first reasons for a verdict that isn't "conforms", of one verdict. */
static size_t add_reasons(pv_text *to, const pv_html_sheet *sheet, pv_verdict verdict, size_t n)
{
    const pv_inspection *in = sheet->in;
    static const char *const names[] = {"scale x", "scale y"};
    for (int i = 0; i < 2; i++)
        if (in->scale[i].verdict == verdict && n++ < REASONS_MAX)
            reason(to, names[i], NULL, NULL, &in->scale[i], 1, 100, 3, "%");
    if (in->skew.verdict == verdict && n++ < REASONS_MAX)
        reason(to, "skew", NULL, NULL, &in->skew, 0, 1, 2, "mrad");
    for (size_t i = 0; i < in->n_lines; i++) {
        const pv_line_result *line = &in->lines[sheet->line[i]];
        if (line->planned > 0 && line->width.verdict == verdict && n++ < REASONS_MAX)
            reason(to, "width of ", line->id, NULL, &line->width, line->nominal, 1, 3, "mm");
        if (line->planned > 0 && line->straight.measured && line->straight.verdict == verdict &&
            n++ < REASONS_MAX)
            reason(to, "straightness of ", line->id, NULL, &line->straight, 0, 1, 3, "mm");
    }
    for (size_t i = 0; i < in->n_spacings; i++) {
        const pv_spacing_result *one = &in->spacings[sheet->spacing[i]];
        if (one->value.verdict == verdict && n++ < REASONS_MAX)
            reason(to, "spacing ", one->from, one->to, &one->value, one->nominal, 1, 3, "mm");
    }
    return n;
}

static void decision(pv_html *page, const pv_html_sheet *sheet)
{
    const pv_inspection *in = sheet->in;
    count c = count_values(in);
    pv_text *to = &page->out;
    pv_text_add(
        to, "<p>%zu values judged: %zu conform%s, %zu undecided, %zu do%s not conform.</p>\n",
        c.of[0] + c.of[1] + c.of[2], c.of[PV_CONFORMS], c.of[PV_CONFORMS] == 1 ? "s" : "",
        c.of[PV_UNDECIDED], c.of[PV_DOES_NOT_CONFORM], c.of[PV_DOES_NOT_CONFORM] == 1 ? "es" : "");
    if (c.of[PV_UNDECIDED] + c.of[PV_DOES_NOT_CONFORM] == 0) {
        if (in->verdict != PV_CONFORMS)
            pv_text_add(to, "<p>All of them conform, but the print has faults for which the course "
                            "gives no tolerance, so a person has to decide.</p>\n");
        return;
    }
    pv_text_add(to, "<ul class=\"why\">\n");
    size_t n = add_reasons(to, sheet, PV_DOES_NOT_CONFORM, 0);
    n = add_reasons(to, sheet, PV_UNDECIDED, n);
    pv_text_add(to, "</ul>\n");
    if (n > REASONS_MAX)
        pv_text_add(to, "<p class=\"m\">and %zu more, in the tables.</p>\n", n - REASONS_MAX);
}

static void notes(pv_html *page, const pv_inspection *in)
{
    if (in->n_notes == 0)
        return;
    pv_text_add(&page->out, "<ul class=\"notes\">\n");
    for (size_t i = 0; i < in->n_notes; i++) {
        const char *note = in->notes[i];
        char first[2] = {note[0], '\0'};
        if (first[0] >= 'a' && first[0] <= 'z')
            first[0] = (char)(first[0] - 'a' + 'A');
        pv_text_add(&page->out, "<li>");
        if (first[0] != note[0])
            pv_html_text(&page->out, first);
        pv_html_text(&page->out, first[0] != note[0] ? note + 1 : note);
        pv_text_add(&page->out, "</li>\n");
    }
    pv_text_add(&page->out, "</ul>\n");
}

/* ---- the values at a glance ---- */

static void tile_start(pv_text *to, const char *name, const char *of, const char *upto)
{
    pv_text_add(to, "<div><dt>%s", name);
    if (of != NULL) {
        pv_text_add(to, " <span>");
        pv_html_text(to, of);
        if (upto != NULL) {
            pv_text_add(to, " \xE2\x80\x93 ");
            pv_html_text(to, upto);
        }
        pv_text_add(to, "</span>");
    }
    pv_text_add(to, "</dt><dd>");
}

static void tile(pv_text *to, const pv_value *value, double nominal, double factor, int decimals,
                 const char *unit, bool off)
{
    pv_text_add(to, "<b>");
    if (!value->measured) {
        pv_text_add(to, "\xE2\x80\x93</b> not measured</dd></div>\n");
        return;
    }
    if (off)
        pv_html_signed(to, factor * (value->value - nominal), decimals);
    else
        pv_html_number(to, factor * value->value, decimals);
    pv_text_add(to, "</b> %s <span>", unit);
    pv_html_uncertainty(to, factor * value->U, decimals);
    pv_text_add(to, "</span>");
    pv_html_gauge(to, value, nominal);
    pv_text_add(to, "</dd></div>\n");
}

static void reference_tile(pv_text *to, const pv_inspection *in)
{
    tile_start(to, "Reference", NULL, NULL);
    pv_text_add(to, "<b>%s</b> ", pv_reference_name(in->reference));
    if (in->reference != PV_REFERENCE_NONE) {
        pv_text_add(to, "good to <span>");
        pv_html_uncertainty(to, 100 * in->reference_U_rel, 3);
        pv_text_add(to, " %%</span>");
    } else {
        pv_text_add(to, "lengths are relative to the sheet\xE2\x80\x99s own size");
    }
    pv_text_add(to, "</dd></div>\n");
}

static void tiles(pv_html *page, const pv_html_sheet *sheet)
{
    const pv_inspection *in = sheet->in;
    pv_text *to = &page->out;
    pv_text_add(to, "<dl class=\"tiles\">\n");
    tile_start(to, "Scale x", NULL, NULL);
    tile(to, &in->scale[0], 1, 100, 3, "%", false);
    tile_start(to, "Scale y", NULL, NULL);
    tile(to, &in->scale[1], 1, 100, 3, "%", false);
    tile_start(to, "Skew", NULL, NULL);
    tile(to, &in->skew, 0, 1, 2, "mrad", false);
    if (in->n_lines > 0) {
        const pv_line_result *line = &in->lines[sheet->line[0]];
        bool bowed =
            pv_html_strain(&line->straight, 0) > pv_html_strain(&line->width, line->nominal);
        tile_start(to, bowed ? "Worst line, bow" : "Worst line, width", line->id, NULL);
        if (bowed)
            tile(to, &line->straight, 0, 1, 3, "mm", true);
        else
            tile(to, &line->width, line->nominal, 1, 3, "mm off", true);
    }
    if (in->n_spacings > 0) {
        const pv_spacing_result *one = &in->spacings[sheet->spacing[0]];
        tile_start(to, "Worst spacing", one->from, one->to);
        tile(to, &one->value, one->nominal, 1, 3, "mm off", true);
    }
    reference_tile(to, in);
    pv_text_add(to, "</dl>\n");
}

/* ---- one image ---- */

static void unusable(pv_html *page, const pv_inspection *in, size_t number)
{
    pv_text *to = &page->out;
    pv_text_add(to, "<section id=\"i%zu\" class=\"sheet%s\">", number,
                page->n == 1 ? " alone" : "");
    if (page->n > 1) {
        pv_text_add(to, "<h2>");
        pv_html_sign(to, "er");
        pv_text_add(to, "<span class=\"er\">Can\xE2\x80\x99t be used</span></h2>\n");
    }
    pv_text_add(to, "<p class=\"file\">");
    pv_html_text(to, in->file);
    pv_text_add(to, "</p>\n<p class=\"error\">");
    pv_html_text(to, in->error);
    pv_text_add(to, "</p>\n</section>\n");
}

static void section_head(pv_html *page, const pv_html_sheet *sheet)
{
    const pv_inspection *in = sheet->in;
    pv_text *to = &page->out;
    /* The page's own head has said it of a single image. */
    pv_text_add(to, "<section id=\"i%zu\" class=\"sheet%s\">", sheet->number,
                page->n == 1 ? " alone" : "");
    if (page->n > 1) {
        pv_text_add(to, "<h2>");
        pv_html_sign(to, pv_html_class(in->verdict));
        pv_text_add(to, "<span class=\"name\">");
        pv_html_text(to, in->sheet);
        pv_text_add(to, "</span> <span class=\"%s\">%s%s</span></h2>\n", pv_html_class(in->verdict),
                    pv_verdict_name(in->verdict),
                    pv_no_line_measured(in) ? ", no line measured" : "");
    }
    pv_text_add(to, "<p class=\"file\">%s ", in->photograph ? "Photograph" : "Scan");
    pv_html_text(to, in->file);
    pv_text_add(to, "</p>\n");
}

static bool usable(pv_html *page, const pv_html_sheet *sheet)
{
    section_head(page, sheet);
    pv_text_add(&page->out, "<div class=\"two\"><div>\n");
    decision(page, sheet);
    notes(page, sheet->in);
    pv_text_add(&page->out, "</div>");
    if (page->n > 1)
        pv_html_locator(page, sheet);
    else
        pv_html_map(page);
    pv_text_add(&page->out, "</div>\n");
    tiles(page, sheet);
    if (!pv_html_picture(page, sheet))
        return false;
    pv_html_profiles(page, sheet);
    pv_text_add(&page->out, "<div class=\"many\">\n");
    pv_html_histogram(page, sheet);
    pv_html_form(page, sheet->in);
    pv_text_add(&page->out, "</div>\n");
    pv_html_tables(page, sheet);
    pv_html_budget(page, sheet);
    if (page->n > 1)
        pv_text_add(&page->out, "<p class=\"up\"><a href=\"#top\">to the overview</a></p>\n");
    pv_text_add(&page->out, "</section>\n");
    return true;
}

static bool section(pv_html *page, size_t index)
{
    pv_html_sheet sheet = {.in = page->items[index], .number = index + 1};
    if (sheet.in->error != NULL) {
        unusable(page, sheet.in, index + 1);
        return true;
    }
    if (sheet.in->number >= page->plan->n_sheets) {
        pv_fail(page->diags, PV_CAUSE_USAGE, "%s was inspected by another plan than the report's",
                sheet.in->file);
        return false;
    }
    sheet.sheet = &page->plan->sheets[sheet.in->number];
    bool good = pv_html_sheet_open(&sheet);
    if (good)
        good = usable(page, &sheet);
    else
        pv_fail_memory(page->diags);
    pv_html_sheet_close(&sheet);
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
        if (page->items[i]->error != NULL)
            all.errors++;
        else
            all.of[page->items[i]->verdict]++;
        all.pictures += page->items[i]->error == NULL && page->items[i]->picture.rgb != NULL;
    }
    return all;
}

static void headline(pv_html *page, const batch *all)
{
    pv_text *to = &page->out;
    const pv_inspection *first = page->items[0];
    const char *kind = all->of[PV_DOES_NOT_CONFORM] > 0 ? "no"
                       : all->errors > 0                ? "er"
                       : all->of[PV_UNDECIDED] > 0      ? "un"
                                                        : "ok";
    pv_text_add(to, "<h1 class=\"%s\">", kind);
    pv_html_sign(to, kind);
    pv_text_add(to, "<span>");
    if (page->n == 1 && first->error != NULL) {
        pv_text_add(to, "The image can\xE2\x80\x99t be used");
    } else if (page->n == 1) {
        pv_text_add(to, "Sheet ");
        pv_html_text(to, first->sheet);
        pv_text_add(to, first->verdict == PV_UNDECIDED ? " is %s" : " %s",
                    pv_verdict_name(first->verdict));
    } else if (all->of[PV_CONFORMS] == page->n) {
        pv_text_add(to, "All %zu conform", page->n);
    } else {
        size_t n = all->of[PV_DOES_NOT_CONFORM];
        if (n > 0)
            pv_text_add(to, "%zu of %zu do%s not conform", n, page->n, n == 1 ? "es" : "");
        else if (all->errors > 0)
            pv_text_add(to, "%zu of %zu can\xE2\x80\x99t be used", all->errors, page->n);
        else
            pv_text_add(to, "%zu of %zu %s undecided", all->of[PV_UNDECIDED], page->n,
                        all->of[PV_UNDECIDED] == 1 ? "is" : "are");
    }
    pv_text_add(to, "</span></h1>\n");
}

static void masthead(pv_html *page, const batch *all)
{
    const pv_plan *plan = page->plan;
    pv_text *to = &page->out;
    pv_text_add(to, "<header id=\"top\"><p class=\"kicker\">Inspection report</p>\n");
    headline(page, all);
    pv_text_add(to, "<p class=\"file\">");
    pv_html_text(to, plan->art.name);
    pv_text_add(to, ", edition ");
    pv_html_text(to, plan->art.edition);
    pv_text_add(to, ", kit %04X \xC2\xB7 ", plan->fingerprint);
    pv_html_text(to, plan->paper);
    pv_text_add(to, "</p>\n");
    if (page->n > 1)
        pv_text_add(to,
                    "<p>%zu images: %zu conform%s, %zu undecided, %zu do%s not conform, %zu "
                    "can\xE2\x80\x99t be used.</p>\n",
                    page->n, all->of[PV_CONFORMS], all->of[PV_CONFORMS] == 1 ? "s" : "",
                    all->of[PV_UNDECIDED], all->of[PV_DOES_NOT_CONFORM],
                    all->of[PV_DOES_NOT_CONFORM] == 1 ? "es" : "", all->errors);
    pv_text_add(to, "</header>\n");
}

/* ---- how to read it ---- */

static void guide(pv_html *page)
{
    pv_text_add(
        &page->out,
        "<section class=\"guide\"><h2>How to read this report</h2>\n"
        "<p>Each value has an expanded uncertainty <i>U</i>, which holds the true value with a "
        "probability of 95.45 %% (JCGM 100:2008). A value <b>conforms</b> if it is within its "
        "tolerance by more than <i>U</i>, <b>does not conform</b> if it is outside by more than "
        "<i>U</i>, and is <b>undecided</b> between (JCGM 106:2012, guarded on both sides). A sheet "
        "conforms if all its values do; it does not conform if more of them don\xE2\x80\x99t than "
        "chance explains.</p>\n<p>");
    pv_text_add(&page->out, "<svg class=\"g ok\" viewBox=\"0 0 140 20\" role=\"img\" aria-label=\""
                            "example of a gauge\"><use href=\"#zone\"/><path class=\"i\" d=\"M64 "
                            "10H104\"/><path class=\"d\" d=\"M82.5 3h3v14h-3Z\"/></svg> A gauge: "
                            "the zone is the tolerance with the planned value in its middle, the "
                            "upright mark the measured value, the bar its \xC2\xB1<i>U</i>, the "
                            "gauge\xE2\x80\x99s ends twice the tolerance; an arrow stands for a "
                            "value beyond them.</p>\n</section>\n");
}

static bool fill_page(pv_html *page, const batch *all)
{
    pv_html_head(page);
    masthead(page, all);
    pv_text_add(&page->out, "<main>\n");
    if (page->n > 1 && !pv_html_overview(page))
        return false;
    for (size_t i = 0; i < page->n; i++)
        if (!section(page, i))
            return false;
    guide(page);
    pv_text_add(&page->out, "</main>\n</body>\n</html>\n");
    return true;
}

char *pv_inspections_html(const pv_plan *plan, const pv_inspection *const *items, size_t n,
                          pv_diags *diags)
{
    if (n == 0) {
        pv_fail(diags, PV_CAUSE_USAGE, "a report needs at least one image");
        return NULL;
    }
    pv_html page = {.out = PV_TEXT_INIT, .plan = plan, .items = items, .n = n, .diags = diags};
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
