/* What the parts of the HTML report share. Private to this room.
 *
 * A part adds to the page's text; memory that runs out there shows when the text is taken. Where a
 * part needs memory of its own, or a library, it gives false with the reason in diags. */
#ifndef REPORT_HTML_H
#define REPORT_HTML_H

#include "html/escape.h"
#include "html/svg.h"
#include "image/encode.h"
#include "plan/layout.h"
#include "report/rank.h"

typedef struct pv_html {
    pv_text out;
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

/* ---- embedded/: fixed looks and words ---- */

extern const char pv_embedded_pavior_css[], pv_embedded_signs_svg[], pv_embedded_reading_html[],
    pv_embedded_legend_html[], pv_embedded_switches_html[];

/* Shows that plan's sheets from now on. */
static inline void pv_html_take_plan(pv_html *page, size_t which)
{
    page->which = which;
    page->plan = page->plans[which];
}

/* ---- html_markup.c: characters and numbers ---- */

/* With a true minus sign; a dash where not finite. */
void pv_html_number(pv_text *to, double value, int decimals);
/* With its sign always, but for zero. */
void pv_html_signed(pv_text *to, double value, int decimals);
void pv_html_uncertainty(pv_text *to, double U, int decimals);
void pv_html_base64(pv_text *to, const unsigned char *bytes, size_t size);

/* ---- html_marks.c: what stands for a verdict, a value, a table ---- */

#define PV_HTML_DASH "\xE2\x80\x93" /* where nothing was measured */

/* "ok", "no", "un": the class of everything that has this verdict. */
const char *pv_html_class(pv_verdict verdict);
/* The sign of a class ("er": can't be used), and with its words. */
void pv_html_sign(pv_text *to, const char *kind);
void pv_html_badge(pv_text *to, pv_verdict verdict);
/* A value against its tolerance, to scale: a picture of one line of text's height. */
void pv_html_gauge(pv_text *to, const pv_value *value);
/* What a value is of: "x", an id, two ids; nothing of the sheet's skew. */
void pv_html_name(pv_text *to, const pv_value *value);
/* A head that begins with "|" stands to the left, over words. */
void pv_html_table_start(pv_text *to, const char *caption, const char *const *heads);
void pv_html_table_end(pv_text *to);

/* ---- html_outline.c ---- */

/* The outline of what a line paints, where it comes near to `window`, as the data of a path: places
 * less `origin`, y downwards from `height`. *room counts down with each piece and stops at 0. */
void pv_html_outline(pv_text *to, const pv_line *line, pv_box window, pv_vec origin, double height,
                     size_t *room);

/* ---- html_jpeg.c ---- */

/* The picture as a JPEG of at most `share` bytes, with fewer pixels where need be; data NULL where
 * it would be too small to show anything. The caller frees out->data. False with a finding. */
bool pv_html_jpeg(const pv_picture *picture, size_t share, pv_bytes *out, pv_diags *diags);

/* ---- html_picture.c ---- */

/* The sheet's picture with the course and the deviations drawn over it. */
bool pv_html_picture(pv_html *page, const pv_html_sheet *sheet);

/* ---- html_surface.c ---- */

/* Before a mark's number, on the picture and in the tables. */
#define PV_HTML_MARK 'm'

/* Each of the largest marks, cut out of the picture, with what it means. False with a finding. */
bool pv_html_surface(pv_html *page, const pv_html_sheet *sheet);

/* ---- html_map.c: of more than one sheet, or image ---- */

/* Which course, edition, kit and paper a plan is of. */
void pv_html_plan(pv_text *to, const pv_plan *plan);
/* Whether an image of the page shows a sheet of the plan being shown. */
bool pv_html_shows_plan(const pv_html *page);
/* All images in one table, and where they lie in their mats. */
void pv_html_overview(pv_html *page);
/* The mat with its sheets: those inspected with their verdicts, or one of them alone marked; of a
 * mat of one sheet nothing. The whole map comes first in the page, since the others show its art.
 */
void pv_html_map(pv_html *page);
void pv_html_locator(pv_html *page, const pv_html_sheet *sheet);

/* ---- html_charts.c ---- */

/* Widths along the worst lines; how the widths of all places spread; the print's own shape. */
void pv_html_profiles(pv_text *to, const pv_html_sheet *sheet);
void pv_html_histogram(pv_text *to, const pv_inspection *in);
void pv_html_form(pv_text *to, const pv_inspection *in);
/* A line's widths in a row of a table; `range` is half its height, mm. */
void pv_html_spark(pv_text *to, const pv_inspection *in, const pv_line_result *line, double range);
/* mm by which any place's width is off, at most. */
double pv_html_widths_range(const pv_inspection *in);
/* mm: stations of a line that lie farther apart along it aren't neighbours. */
double pv_html_gap(const pv_inspection *in, const pv_line_result *line);

/* ---- html_tables.c ---- */

/* Every number of one image, and the budgets of its values. */
void pv_html_tables(pv_text *to, const pv_html_sheet *sheet);

#endif
