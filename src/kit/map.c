/* A paper's sheets on the mat, as a picture of a page. */
#include "html/escape.h"
#include "html/svg.h"
#include "kit/page.h"

#include <math.h>

/* Cells shown around the one that is looked for: of more they would be a grey patch, and each of so
 * many pages large. */
#define AROUND_MOST 400
/* Of a cell's smaller side: a name of three characters then fits in it. Of the mat's larger one at
 * most, so that the mat is still seen where it is one cell. */
#define NAME_SIZE 0.3
#define NAME_MOST 0.08

static pv_box flip(const pv_plan *plan, pv_box b)
{
    double top = plan->art.size.y;
    return (pv_box){{b.lo.x, top - b.hi.y}, {b.hi.x, top - b.lo.y}};
}

void pv_map_name(pv_text *to, const pv_plan *plan, const pv_sheet *sheet)
{
    pv_box cell = flip(plan, sheet->cell);
    double size = fmin(NAME_SIZE * fmin(cell.hi.x - cell.lo.x, cell.hi.y - cell.lo.y),
                       NAME_MOST * fmax(plan->art.size.x, plan->art.size.y));
    pv_vec middle = pv_box_middle(cell);
    pv_svg_text(to, "", "middle", pv_v(middle.x, middle.y + 0.36 * size), size);
    pv_html_text(to, sheet->name);
    pv_text_add(to, "</text>");
}

double pv_map_open(pv_text *to, const pv_plan *plan, const char *to_top, const char *words)
{
    pv_box all = {{0, 0}, plan->art.size};
    double room = 0.004 * fmax(plan->art.size.x, plan->art.size.y);
    pv_svg_open(to, "map light", pv_box_grow(all, room));
    if (words != NULL) {
        pv_text_add(to, " role=\"img\" aria-label=\"");
        pv_html_text(to, words);
        pv_text_add(to, "\">");
    } else
        pv_text_add(to, " aria-hidden=\"true\">");
    pv_text_add(to, "<image href=\"%smat.svg\"", to_top);
    pv_svg_attribute(to, "width", all.hi.x);
    pv_svg_attribute(to, "height", all.hi.y);
    pv_text_add(to, "/>");
    return room;
}

void pv_map_cell(pv_text *to, const pv_plan *plan, const pv_sheet *sheet)
{
    pv_svg_rect(to, "", flip(plan, sheet->cell));
}

char *pv_kit_map(const pv_plan *plan, const char *to_top, size_t here, bool names,
                 const char *words)
{
    pv_text to = PV_TEXT_INIT;
    pv_map_open(&to, plan, to_top, words);
    bool all_cells = here == SIZE_MAX || plan->n_sheets <= AROUND_MOST;
    for (size_t i = 0; i < plan->n_sheets && all_cells; i++)
        if (i != here)
            pv_map_cell(&to, plan, &plan->sheets[i]);
    for (size_t i = 0; i < plan->n_sheets && names; i++)
        pv_map_name(&to, plan, &plan->sheets[i]);
    if (here < plan->n_sheets) {
        pv_text_add(&to, "<g class=\"here\">");
        pv_map_cell(&to, plan, &plan->sheets[here]);
        pv_map_name(&to, plan, &plan->sheets[here]);
        pv_text_add(&to, "</g>");
    }
    pv_text_add(&to, "</svg>");
    return pv_text_take(&to);
}
