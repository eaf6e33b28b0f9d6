/* The mat in small: which sheet is which, and what it came to. */
#include "report/html.h"

#include <math.h>

#define CELLS_MAX  600  /* sheets of a plan that a map can show */
#define PIECES_MAX 4000 /* of all lines; more wouldn't be seen at this size */

bool pv_html_map_fits(const pv_html *page)
{
    return page->plan->n_sheets > 1 && page->plan->n_sheets <= CELLS_MAX;
}

static void frame(pv_html *page, const char *kind)
{
    const pv_art *art = &page->plan->art;
    pv_text_add(&page->out, "<svg class=\"%s\" viewBox=\"0 0 ", kind);
    pv_svg_number(&page->out, art->size.x);
    pv_text_add(&page->out, " ");
    pv_svg_number(&page->out, art->size.y);
    pv_text_add(&page->out, "\"");
}

static void box(pv_html *page, pv_box b)
{
    double height = page->plan->art.size.y;
    pv_text_add(&page->out, "<rect x=\"");
    pv_svg_number(&page->out, b.lo.x);
    pv_text_add(&page->out, "\" y=\"");
    pv_svg_number(&page->out, height - b.hi.y);
    pv_text_add(&page->out, "\" width=\"");
    pv_svg_number(&page->out, b.hi.x - b.lo.x);
    pv_text_add(&page->out, "\" height=\"");
    pv_svg_number(&page->out, b.hi.y - b.lo.y);
    pv_text_add(&page->out, "\"/>");
}

static void art(pv_html *page)
{
    const pv_art *a = &page->plan->art;
    pv_box all = {{0, 0}, a->size};
    size_t room = PIECES_MAX;
    pv_text_add(&page->out, "<g id=\"art\" fill=\"#c3cbd4\"><path d=\"");
    for (size_t i = 0; i < a->n_lines; i++)
        pv_html_outline(&page->out, &a->lines[i], all, pv_v(0, 0), a->size.y, &room);
    pv_text_add(&page->out, "\"/></g>");
}

/* The last one of this sheet: its number, or 0. */
static size_t inspected(const pv_html *page, size_t sheet, size_t *times)
{
    size_t found = 0;
    *times = 0;
    for (size_t i = 0; i < page->n; i++)
        if (page->items[i]->error == NULL && page->items[i]->number == sheet) {
            found = found == 0 ? i + 1 : found;
            ++*times;
        }
    return found;
}

/* The worst of all images of a sheet. */
static pv_verdict verdict_of(const pv_html *page, size_t sheet)
{
    pv_verdict worst = PV_CONFORMS;
    for (size_t i = 0; i < page->n; i++) {
        const pv_inspection *in = page->items[i];
        if (in->error != NULL || in->number != sheet || worst == PV_DOES_NOT_CONFORM)
            continue;
        worst = in->verdict == PV_CONFORMS ? worst : in->verdict;
    }
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
        box(page, sheet->cell);
    } else {
        const char *kind = pv_html_class(verdict_of(page, sheet->number));
        pv_text_add(to, "<a href=\"#i%zu\"><g class=\"%s\">", first, kind);
        box(page, sheet->cell);
        pv_text_add(to, "<use href=\"#%s\" x=\"", kind);
        pv_svg_number(to, mid.x - 0.45 * size);
        pv_text_add(to, "\" y=\"");
        pv_svg_number(to, y - 1.05 * size);
        pv_text_add(to, "\" width=\"");
        pv_svg_number(to, 0.9 * size);
        pv_text_add(to, "\" height=\"");
        pv_svg_number(to, 0.9 * size);
        pv_text_add(to, "\"/>");
    }
    pv_text_add(to, "<text text-anchor=\"middle\" font-size=\"");
    pv_svg_number(to, 0.8 * size);
    pv_text_add(to, "\" x=\"");
    pv_svg_number(to, mid.x);
    pv_text_add(to, "\" y=\"");
    pv_svg_number(to, first == 0 ? y + 0.28 * size : y + 0.72 * size);
    pv_text_add(to, "\">");
    pv_html_text(to, sheet->name);
    pv_text_add(to, first == 0 ? "</text></g>\n" : "</text></g></a>\n");
}

bool pv_html_map(pv_html *page)
{
    const pv_plan *plan = page->plan;
    size_t seen = 0, times;
    if (!pv_html_map_fits(page))
        return false;
    for (size_t i = 0; i < plan->n_sheets; i++)
        seen += inspected(page, i, &times) > 0;
    pv_text_add(&page->out, "<figure class=\"mapfig\">");
    frame(page, "map");
    pv_text_add(&page->out, " role=\"group\" aria-label=\"the mat: %zu of %zu sheets inspected\">",
                seen, plan->n_sheets);
    pv_box all = {{0, 0}, plan->art.size};
    pv_text_add(&page->out, "<g class=\"ground\">");
    box(page, all);
    pv_text_add(&page->out, "</g>");
    art(page);
    for (size_t i = 0; i < plan->n_sheets; i++)
        cell(page, &plan->sheets[i]);
    pv_text_add(&page->out, "</svg><figcaption>%zu of the mat\xE2\x80\x99s %zu sheets inspected",
                seen, plan->n_sheets);
    if (page->n > seen && page->n > 1)
        pv_text_add(&page->out, ", in %zu images", page->n);
    pv_text_add(&page->out, "</figcaption></figure>\n");
    return true;
}

void pv_html_locator(pv_html *page, const pv_html_sheet *sheet)
{
    if (!pv_html_map_fits(page))
        return;
    pv_text_add(&page->out, "<figure class=\"mapfig\">");
    frame(page, "map lo");
    pv_text_add(&page->out, " role=\"img\" aria-label=\"where this sheet lies in the mat\">");
    pv_box all = {{0, 0}, page->plan->art.size};
    pv_text_add(&page->out, "<g class=\"ground\">");
    box(page, all);
    pv_text_add(&page->out, "</g><use href=\"#art\"/><g class=\"here\">");
    box(page, sheet->sheet->cell);
    pv_text_add(&page->out, "</g></svg><figcaption>Where ");
    pv_html_text(&page->out, sheet->in->sheet);
    pv_text_add(&page->out, " lies in the mat</figcaption></figure>\n");
}
