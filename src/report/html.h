/* What the parts of the HTML report share. Private to this room.
 *
 * A part adds to the page's data, for the templates in embedded/, which have its name; memory that
 * runs out there shows when the data is taken. What is drawn is SVG, by html/svg.h. Where a part
 * needs memory of its own, or a library, it gives false with the reason in diags. */
#ifndef REPORT_HTML_H
#define REPORT_HTML_H

#include "html/data.h"
#include "html/svg.h"
#include "plan/layout.h"
#include "report/jpeg.h"
#include "report/rank.h"

typedef struct pv_html {
    pv_json_writer data;
    const pv_language *language;
    const pv_plan *const *plans;
    size_t n_plans;
    const pv_plan *plan; /* the one whose sheets are being shown */
    size_t which;        /* of the plans it is */
    const pv_inspection *const *items;
    size_t n;
    size_t share; /* bytes that each picture may take */
    pv_diags *diags;
} pv_html;

/* One image's part of the page. */
typedef struct pv_html_sheet {
    const pv_inspection *in;
    const pv_sheet *sheet;
    size_t number; /* of the image, from 1 */
    pv_ranking ranking;
} pv_html_sheet;

/* Shows that plan's sheets from now on. */
static inline void pv_html_take_plan(pv_html *page, size_t which)
{
    page->which = which;
    page->plan = page->plans[which];
}

/* ---- html_values.c: what stands for a verdict, a value ---- */

/* "ok", "no", "un": the class of everything that has this verdict. */
const char *pv_html_class(pv_verdict verdict);
/* Members "kind", its class, and "words"; an object of the two. */
void pv_html_verdict(pv_html *page, pv_verdict verdict);
void pv_html_badge(pv_html *page, const char *key, pv_verdict verdict);
/* A value against its tolerance, to scale: members "kind" and "gauge_svg"; an object of the two,
 * null where there is nothing to show. */
void pv_html_gauge(pv_html *page, const char *key, const pv_value *value);
bool pv_html_gauged(const pv_value *value);
/* What a value is of: "x", an id, two ids; nothing of the sheet's skew. And with its kind: "scale
 * x", "width of kerb_east". */
void pv_html_name(pv_text *to, const pv_value *value);
void pv_html_what(pv_html *page, pv_text *to, const pv_value *value);
void pv_html_base64(pv_text *to, const unsigned char *bytes, size_t size);

/* ---- html_outline.c ---- */

/* The outline of what a line paints, where it comes near to `window`, as the data of a path: places
 * less `origin`, y downwards from `height`. *room counts down with each piece and stops at 0. */
void pv_html_outline(pv_text *to, const pv_line *line, pv_box window, pv_vec origin, double height,
                     size_t *room);

/* ---- html_picture.c ---- */

/* The sheet's picture with the course and the deviations drawn over it: member "picture". */
bool pv_html_picture(pv_html *page, const pv_html_sheet *sheet);

/* ---- html_surface.c ---- */

/* Before a mark's number, on the picture and in the tables. */
#define PV_HTML_MARK 'm'

/* Each of the largest marks, cut out of the picture, with what it means: member "surface". False
 * with a finding. */
bool pv_html_surface(pv_html *page, const pv_html_sheet *sheet);

/* ---- html_map.c: of more than one sheet, or image ---- */

/* Which course, edition, kit and paper a plan is of. */
void pv_html_plan(pv_html *page, const char *key, const pv_plan *plan);
/* Whether an image of the page shows a sheet of the plan being shown. */
bool pv_html_shows_plan(const pv_html *page);
/* All images in one table, and where they lie in their mats: member "overview". */
void pv_html_overview(pv_html *page);
/* The mat with its sheets: those inspected with their verdicts, or one of them alone marked; null
 * of a mat of one sheet. The whole map comes first in the page, since the others show its art. */
void pv_html_map(pv_html *page, const char *key);
void pv_html_locator(pv_html *page, const char *key, const pv_html_sheet *sheet);

/* ---- html_charts.c ---- */

/* Members "profiles", widths along the worst lines, and "histogram", how the widths of all places
 * spread; "form", the print's own shape. */
void pv_html_charts(pv_html *page, const pv_html_sheet *sheet);
/* A line's widths in a row of a table, null where there is nothing to show; `range` is half its
 * height, mm. */
void pv_html_spark(pv_html *page, const pv_inspection *in, const pv_line_result *line,
                   double range);
/* mm by which any place's width is off, at most. */
double pv_html_widths_range(const pv_inspection *in);
/* mm: stations of a line that lie farther apart along it aren't neighbours. */
double pv_html_gap(const pv_inspection *in, const pv_line_result *line);

/* ---- html_tables.c, html_budgets.c ---- */

/* Every number of one image: member "tables"; the budgets of its values: "budget", "budgets". */
void pv_html_tables(pv_html *page, const pv_html_sheet *sheet);
void pv_html_budgets(pv_html *page, const pv_html_sheet *sheet);
/* Ends a table of one image. */
void pv_html_table_end(pv_html *page, const pv_html_sheet *sheet);

#endif
