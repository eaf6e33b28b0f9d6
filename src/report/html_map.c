/* The mat in small: which sheet is which, and what it came to; all images in one table. */
#include "html/escape.h"
#include "judge/answer.h"
#include "judge/judge.h"
#include "po/po.h"
#include "report/html.h"

#include <math.h>
#include <string.h>

#define CELLS_MAX  600  /* sheets of a plan that a map can show */
#define PIECES_MAX 4000 /* of all lines; more wouldn't be seen at this size */

static bool fits(const pv_html *page)
{
    return page->plan->n_sheets > 1 && page->plan->n_sheets <= CELLS_MAX;
}

static void box(const pv_html *page, pv_text *to, const char *kind, pv_box b)
{
    double height = page->plan->art.size.y;
    if (*kind != '\0')
        pv_text_add(to, "<g class=\"%s\">", kind);
    pv_svg_rect(to, "", (pv_box){pv_v(b.lo.x, height - b.hi.y), pv_v(b.hi.x, height - b.lo.y)});
    if (*kind != '\0')
        pv_text_add(to, "</g>");
}

static void art(const pv_html *page, pv_text *to)
{
    const pv_art *a = &page->plan->art;
    pv_box all = {{0, 0}, a->size};
    size_t room = PIECES_MAX;
    pv_text_add(to, "<g id=\"art%zu\" class=\"art\"><path d=\"", page->which);
    for (size_t i = 0; i < a->n_lines; i++)
        pv_html_outline(to, &a->lines[i], all, pv_v(0, 0), a->size.y, &room);
    pv_text_add(to, "\"/></g>");
}

/* Whether an image shows that sheet of the plan being shown. */
static bool shows(const pv_html *page, size_t image, size_t sheet)
{
    const pv_inspected *one = &page->items[image]->sheet;
    return one->error == NULL && one->plan == page->which && one->number == sheet;
}

bool pv_html_shows_plan(const pv_html *page)
{
    for (size_t i = 0; i < page->n; i++)
        if (page->items[i]->sheet.error == NULL && page->items[i]->sheet.plan == page->which)
            return true;
    return false;
}

/* The first image of this sheet: its number, or 0. */
static size_t inspected(const pv_html *page, size_t sheet, size_t *times)
{
    size_t found = 0;
    *times = 0;
    for (size_t i = 0; i < page->n; i++)
        if (shows(page, i, sheet)) {
            found = found == 0 ? i + 1 : found;
            ++*times;
        }
    return found;
}

/* The worst of all images of a sheet. */
static pv_verdict verdict_of(const pv_html *page, size_t sheet)
{
    pv_verdict worst = PV_CONFORMS;
    for (size_t i = 0; i < page->n; i++)
        if (shows(page, i, sheet))
            worst = pv_judge_worse(worst, page->items[i]->sheet.verdict);
    return worst;
}

static void cell(const pv_html *page, pv_text *to, const pv_sheet *sheet)
{
    size_t times, first = inspected(page, sheet->number, &times);
    pv_vec mid = pv_box_middle(sheet->cell);
    double width = sheet->cell.hi.x - sheet->cell.lo.x,
           height = sheet->cell.hi.y - sheet->cell.lo.y;
    double y = page->plan->art.size.y - mid.y;
    double size = fmin(height / 3.2, width / (0.75 * (double)page->plan->columns < 7 ? 2.6 : 3.2));
    if (first == 0) {
        pv_text_add(to, "<g class=\"un0\">");
        box(page, to, "", sheet->cell);
    } else {
        const char *kind = pv_html_class(verdict_of(page, sheet->number));
        pv_text_add(to, "<a href=\"#i%zu\"><g class=\"%s\">", first, kind);
        box(page, to, "", sheet->cell);
        pv_vec at = pv_v(mid.x - 0.45 * size, y - 1.05 * size);
        pv_svg_use(to, kind, (pv_box){at, pv_add(at, pv_v(0.9 * size, 0.9 * size))});
    }
    pv_svg_text(to, "", "middle", pv_v(mid.x, first == 0 ? y + 0.28 * size : y + 0.72 * size),
                0.8 * size);
    pv_html_text(to, sheet->name);
    pv_text_add(to, first == 0 ? "</text></g>\n" : "</text></g></a>\n");
}

void pv_html_plan(pv_html *page, const char *key, const pv_plan *plan)
{
    pv_data_words(&page->data, key, pv_say(page->language, "%s, edition %s, kit %s \xC2\xB7 %s"),
                  plan->art.name, plan->art.edition, pv_plan_kit(plan).chars, plan->paper);
}

static void start_map(pv_html *page, const char *key, pv_text *svg, pv_box all)
{
    pv_text view = PV_TEXT_INIT;
    pv_svg_view(&view, all);
    pv_data_open(&page->data, key, '{');
    pv_data_take(&page->data, "view", &view);
    box(page, svg, "ground", all);
}

void pv_html_map(pv_html *page, const char *key)
{
    const pv_plan *plan = page->plan;
    pv_json_writer *w = &page->data;
    pv_box all = {{0, 0}, plan->art.size};
    pv_text svg = PV_TEXT_INIT;
    size_t seen = 0, images = 0, times;
    if (!fits(page)) {
        pv_data_text(w, key, NULL);
        return;
    }
    for (size_t i = 0; i < plan->n_sheets; i++) {
        seen += inspected(page, i, &times) > 0;
        images += times;
    }
    start_map(page, key, &svg, all);
    art(page, &svg);
    for (size_t i = 0; i < plan->n_sheets; i++)
        cell(page, &svg, &plan->sheets[i]);
    pv_data_take(w, "map_svg", &svg);
    pv_data_bool(w, "here", false);
    if (page->n_plans > 1)
        pv_html_plan(page, "of", plan);
    pv_data_count(w, "seen", seen);
    pv_data_count(w, "sheets", plan->n_sheets);
    pv_data_count(w, "pictures", images > seen ? images : 0);
    pv_json_close(w, '}');
}

void pv_html_locator(pv_html *page, const char *key, const pv_html_sheet *sheet)
{
    pv_box all = {{0, 0}, page->plan->art.size};
    pv_text svg = PV_TEXT_INIT;
    if (!fits(page)) {
        pv_data_text(&page->data, key, NULL);
        return;
    }
    start_map(page, key, &svg, all);
    pv_text_add(&svg, "<use href=\"#art%zu\"/>", page->which);
    box(page, &svg, "here", sheet->sheet->cell);
    pv_data_take(&page->data, "map_svg", &svg);
    pv_data_text(&page->data, "here", sheet->in->sheet.sheet);
    pv_json_close(&page->data, '}');
}

/* ---- all images in one table ---- */

/* `off`: how far it is from nominal, else the value itself; NULL: there is none. */
static void overview_cell(pv_html *page, const pv_value *value, bool off)
{
    pv_json_writer *w = &page->data;
    if (value == NULL || !value->measured) {
        pv_data_text(w, NULL, PV_DASH);
        return;
    }
    const pv_kind_info shown = pv_value_shown(value), *kind = &shown;
    pv_text text = PV_TEXT_INIT;
    if (off) {
        pv_html_signed(&text, kind->factor * (value->value - value->nominal), kind->decimals);
        pv_text_add(&text, " %s", kind->unit);
    } else
        pv_html_number(&text, kind->factor * value->value, kind->decimals);
    pv_cell_start(w, "judged");
    pv_data_text(w, "kind", pv_html_class(value->verdict));
    pv_data_take(w, "text", &text);
    pv_html_gauge(page, "mark", value);
    pv_cell_end(w);
}

static void overview_badge(pv_html *page, const char *kind, const char *words, size_t length)
{
    pv_cell_start(&page->data, "badge");
    pv_data_text(&page->data, "kind", kind);
    pv_data_words(&page->data, "words", "%.*s", (int)length, words);
    pv_cell_end(&page->data);
}

static void overview_row(pv_html *page, size_t index)
{
    pv_json_writer *w = &page->data;
    const pv_inspection *in = page->items[index];
    const pv_inspected *sheet = &in->sheet;
    const char *unusable = pv_say(page->language, "can\xE2\x80\x99t be used");
    pv_row_start(w);
    pv_cell_start(w, "link");
    pv_data_words(w, "href", "#i%zu", index + 1);
    pv_data_text(w, "text", sheet->error != NULL ? pv_say(page->language, "image") : sheet->sheet);
    pv_cell_end(w);
    pv_cell_words(w, sheet->label);
    if (sheet->error != NULL) {
        overview_badge(page, "er", unusable, strlen(unusable));
        pv_cell_start(w, "span");
        pv_data_count(w, "columns", 5);
        pv_data_text(w, "text", sheet->error);
        pv_cell_end(w);
    } else {
        overview_badge(page, pv_html_class(sheet->verdict), sheet->answer,
                       pv_answer_lead(sheet->answer));
        overview_cell(page, pv_inspection_find(in, PV_KIND_SCALE, 0), false);
        overview_cell(page, pv_inspection_find(in, PV_KIND_SCALE, 1), false);
        overview_cell(page, pv_inspection_find(in, PV_KIND_SKEW, 0), false);
        overview_cell(page, pv_worst(in, PV_KIND_WIDTH), true);
        overview_cell(page, pv_worst(in, PV_KIND_SPACING), true);
    }
    pv_row_end(w);
}

void pv_html_overview(pv_html *page)
{
    static const pv_head heads[] = {{PV_SAID("sheet"), 't'},
                                    {PV_SAID("image"), 't'},
                                    {PV_SAID("answer"), 't'},
                                    {PV_SAID("scale x, %"), 0},
                                    {PV_SAID("scale y, %"), 0},
                                    {PV_SAID("skew, mrad"), 0},
                                    {PV_SAID("largest width error"), 0},
                                    {PV_SAID("largest spacing error"), 0}};
    pv_json_writer *w = &page->data;
    pv_data_open(w, "overview", '{');
    pv_table_start(w, "table", page->language, pv_say(page->language, "All images of this report"),
                   heads, sizeof heads / sizeof *heads);
    for (size_t i = 0; i < page->n; i++)
        overview_row(page, i);
    pv_table_end(w, NULL);
    pv_data_open(w, "maps", '[');
    for (size_t i = 0; i < page->n_plans; i++) {
        pv_html_take_plan(page, i);
        if (fits(page) && (page->n_plans == 1 || pv_html_shows_plan(page)))
            pv_html_map(page, NULL);
    }
    pv_json_close(w, ']');
    pv_json_close(w, '}');
}
