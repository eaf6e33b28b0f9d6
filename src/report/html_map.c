/* The mat in small: which sheet is which, and what it came to; all images in one table. */
#include "judge/answer.h"
#include "judge/judge.h"
#include "report/html.h"

#include <math.h>

#define CELLS_MAX  600  /* sheets of a plan that a map can show */
#define PIECES_MAX 4000 /* of all lines; more wouldn't be seen at this size */

static bool fits(const pv_html *page)
{
    return page->plan->n_sheets > 1 && page->plan->n_sheets <= CELLS_MAX;
}

static void box(pv_html *page, const char *kind, pv_box b)
{
    double height = page->plan->art.size.y;
    if (*kind != '\0')
        pv_text_add(&page->out, "<g class=\"%s\">", kind);
    pv_svg_rect(&page->out, "",
                (pv_box){pv_v(b.lo.x, height - b.hi.y), pv_v(b.hi.x, height - b.lo.y)});
    if (*kind != '\0')
        pv_text_add(&page->out, "</g>");
}

static void art(pv_html *page)
{
    const pv_art *a = &page->plan->art;
    pv_box all = {{0, 0}, a->size};
    size_t room = PIECES_MAX;
    pv_text_add(&page->out, "<g id=\"art%zu\" class=\"art\"><path d=\"", page->which);
    for (size_t i = 0; i < a->n_lines; i++)
        pv_html_outline(&page->out, &a->lines[i], all, pv_v(0, 0), a->size.y, &room);
    pv_text_add(&page->out, "\"/></g>");
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

static void cell(pv_html *page, const pv_sheet *sheet)
{
    pv_text *to = &page->out;
    size_t times, first = inspected(page, sheet->number, &times);
    pv_vec mid = pv_box_middle(sheet->cell);
    double width = sheet->cell.hi.x - sheet->cell.lo.x,
           height = sheet->cell.hi.y - sheet->cell.lo.y;
    double y = page->plan->art.size.y - mid.y;
    double size = fmin(height / 3.2, width / (0.75 * (double)page->plan->columns < 7 ? 2.6 : 3.2));
    if (first == 0) {
        pv_text_add(to, "<g class=\"un0\">");
        box(page, "", sheet->cell);
    } else {
        const char *kind = pv_html_class(verdict_of(page, sheet->number));
        pv_text_add(to, "<a href=\"#i%zu\"><g class=\"%s\">", first, kind);
        box(page, "", sheet->cell);
        pv_vec at = pv_v(mid.x - 0.45 * size, y - 1.05 * size);
        pv_svg_use(to, kind, (pv_box){at, pv_add(at, pv_v(0.9 * size, 0.9 * size))});
    }
    pv_svg_text(to, "", "middle", pv_v(mid.x, first == 0 ? y + 0.28 * size : y + 0.72 * size),
                0.8 * size);
    pv_html_text(to, sheet->name);
    pv_text_add(to, first == 0 ? "</text></g>\n" : "</text></g></a>\n");
}

void pv_html_plan(pv_text *to, const pv_plan *plan)
{
    pv_html_text(to, plan->art.name);
    pv_text_add(to, ", edition ");
    pv_html_text(to, plan->art.edition);
    pv_text_add(to, ", kit %s \xC2\xB7 ", pv_plan_kit(plan).chars);
    pv_html_text(to, plan->paper);
}

void pv_html_map(pv_html *page)
{
    const pv_plan *plan = page->plan;
    pv_box all = {{0, 0}, plan->art.size};
    size_t seen = 0, images = 0, times;
    if (!fits(page))
        return;
    for (size_t i = 0; i < plan->n_sheets; i++) {
        seen += inspected(page, i, &times) > 0;
        images += times;
    }
    pv_text_add(&page->out, "<figure class=\"mapfig\">");
    pv_svg_open(&page->out, "map", all);
    pv_text_add(&page->out, " role=\"group\" aria-label=\"the mat: %zu of %zu sheets inspected\">",
                seen, plan->n_sheets);
    box(page, "ground", all);
    art(page);
    for (size_t i = 0; i < plan->n_sheets; i++)
        cell(page, &plan->sheets[i]);
    pv_text_add(&page->out, "</svg><figcaption>");
    if (page->n_plans > 1) {
        pv_html_plan(&page->out, plan);
        pv_text_add(&page->out, ": ");
    }
    pv_text_add(&page->out, "%zu of the mat\xE2\x80\x99s %zu sheets inspected", seen,
                plan->n_sheets);
    if (images > seen)
        pv_text_add(&page->out, ", in %zu images", images);
    pv_text_add(&page->out, "</figcaption></figure>\n");
}

void pv_html_locator(pv_html *page, const pv_html_sheet *sheet)
{
    pv_box all = {{0, 0}, page->plan->art.size};
    if (!fits(page))
        return;
    pv_text_add(&page->out, "<figure class=\"mapfig\">");
    pv_svg_open(&page->out, "map lo", all);
    pv_text_add(&page->out, " role=\"img\" aria-label=\"where this sheet lies in the mat\">");
    box(page, "ground", all);
    pv_text_add(&page->out, "<use href=\"#art%zu\"/>", page->which);
    box(page, "here", sheet->sheet->cell);
    pv_text_add(&page->out, "</svg><figcaption>Where ");
    pv_html_text(&page->out, sheet->in->sheet.sheet);
    pv_text_add(&page->out, " lies in the mat</figcaption></figure>\n");
}

/* ---- all images in one table ---- */

/* `off`: how far it is from nominal, else the value itself; NULL: there is none. */
static void overview_cell(pv_text *to, const pv_value *value, bool off)
{
    if (value == NULL || !value->measured) {
        pv_text_add(to, "<td>" PV_HTML_DASH "</td>");
        return;
    }
    const pv_kind_info shown = pv_value_shown(value), *kind = &shown;
    pv_text_add(to, "<td class=\"%s\">", pv_html_class(value->verdict));
    if (off) {
        pv_html_signed(to, kind->factor * (value->value - value->nominal), kind->decimals);
        pv_text_add(to, " %s", kind->unit);
    } else
        pv_html_number(to, kind->factor * value->value, kind->decimals);
    pv_html_gauge(to, value);
    pv_text_add(to, "</td>");
}

static void overview_values(pv_text *to, const pv_inspection *in)
{
    const char *kind = pv_html_class(in->sheet.verdict);
    pv_text_add(to, "<span class=\"b %s\">", kind);
    pv_html_sign(to, kind);
    pv_text_add(to, "%.*s</span></td>", (int)pv_answer_lead(in->sheet.answer), in->sheet.answer);
    overview_cell(to, pv_inspection_find(in, PV_KIND_SCALE, 0), false);
    overview_cell(to, pv_inspection_find(in, PV_KIND_SCALE, 1), false);
    overview_cell(to, pv_inspection_find(in, PV_KIND_SKEW, 0), false);
    overview_cell(to, pv_worst(in, PV_KIND_WIDTH), true);
    overview_cell(to, pv_worst(in, PV_KIND_SPACING), true);
    pv_text_add(to, "</tr>\n");
}

static void overview_row(pv_html *page, size_t index)
{
    pv_text *to = &page->out;
    const pv_inspection *in = page->items[index];
    pv_text_add(to, "<tr><th scope=\"row\"><a href=\"#i%zu\">", index + 1);
    pv_html_text(to, in->sheet.error != NULL ? "image" : in->sheet.sheet);
    pv_text_add(to, "</a></th><td class=\"t\">");
    pv_html_text(to, in->sheet.label);
    pv_text_add(to, "</td><td class=\"t\">");
    if (in->sheet.error != NULL) {
        pv_text_add(to, "<span class=\"b er\">");
        pv_html_sign(to, "er");
        pv_text_add(to, "can\xE2\x80\x99t be used</span></td><td class=\"t\" colspan=\"5\">");
        pv_html_text(to, in->sheet.error);
        pv_text_add(to, "</td></tr>\n");
        return;
    }
    overview_values(to, in);
}

void pv_html_overview(pv_html *page)
{
    static const char *const heads[] = {"|sheet",
                                        "|image",
                                        "|answer",
                                        "scale x, %",
                                        "scale y, %",
                                        "skew, mrad",
                                        "largest width error",
                                        "largest spacing error",
                                        NULL};
    pv_text_add(&page->out, "<section class=\"over\"><h2>Overview</h2>\n");
    pv_html_table_start(&page->out, "All images of this report", heads);
    for (size_t i = 0; i < page->n; i++)
        overview_row(page, i);
    pv_html_table_end(&page->out);
    for (size_t i = 0; i < page->n_plans; i++) {
        pv_html_take_plan(page, i);
        if (page->n_plans == 1 || pv_html_shows_plan(page))
            pv_html_map(page);
    }
    pv_text_add(&page->out, "</section>\n");
}
