/* The kit's pages: data for a template of embedded/, filled and put. */
#ifndef KIT_PAGE_H
#define KIT_PAGE_H

#include "guide/steps.h"
#include "html/data.h"
#include "kit/kit.h"

/* A page that is being made. What it says goes into the data by key; all text is escaped when the
 * template is filled. */
typedef struct pv_kit_page {
    pv_kit_making *m;
    const char *name; /* its path in the kit */
    pv_json_writer data;
} pv_kit_page;

/* Begins with what all pages need: language, title (printf's words, already translated), the way to
 * the kit's top. */
void pv_kit_page_begin(pv_kit_page *page, pv_kit_making *m, const char *name, const char *title,
                       ...) __attribute__((format(printf, 4, 5)));
/* Fills the template and puts the page. False with a reason. */
bool pv_kit_page_end(pv_kit_page *page, const char *template);

/* An SVG of our own; frees it with pv_free. NULL: the page fails. */
void pv_kit_page_svg(pv_kit_page *page, const char *key, char *svg);
/* Lengths in the course's own unit with the other in brackets: "1200 mm (47.24 in)", of two "1200 ×
 * 900 mm (47.24 × 35.43 in)"; only what the unit's decimals show. Meant to stand among printf's
 * arguments. The one place that says both units of a kit's pages. */
typedef struct pv_lengths {
    char chars[160];
} pv_lengths;
pv_lengths pv_kit_page_mm(const pv_kit_page *page, double mm);
#define PV_BY "\xC2\xA0\xC3\x97\xC2\xA0" /* between the two: " × " */
#define PV_TO "\xE2\x80\x93"             /* from one to the other: "–" */
pv_lengths pv_kit_page_two(const pv_kit_page *page, double a, const char *between, double b);
/* In metres and feet, "6.82 m (22.4 ft)", rounded up to so many decimals of a metre and one fewer
 * of a foot. */
pv_lengths pv_kit_page_metres(const pv_kit_page *page, double metres, int decimals);

/* The same as data. */
void pv_kit_page_length(pv_kit_page *page, const char *key, double mm);
void pv_kit_page_size(pv_kit_page *page, const char *key, const double mm[2]);
/* As pv_guide_time. */
void pv_kit_page_minutes(pv_kit_page *page, const char *key, double minutes);

/* ---- paper_words.c ---- */

/* What several pages say of a paper: id, name, kit, pieces, page, time, sheets_many. */
void pv_kit_page_paper(pv_kit_page *page, const pv_laid *laid);

/* P-Q and P-S of a sheet, mm; 0 where it has no gauge marks. */
void pv_kit_gauge(const pv_sheet *sheet, double gauge[2]);
/* What a ruler must read on a page, by the course's tolerance of scale: bar_off; of marks so
 * far apart gauge {across, along}; of several pages, NULL, gauge_off; of 0, bar_alone. */
void pv_kit_page_ruler(pv_kit_page *page, const double gauge[2]);

/* ---- guide_page.c ---- */

/* The guide's page and all its pictures. */
bool pv_kit_guide_page(pv_kit_making *m, const pv_laid *laid, const pv_guide *guide);
/* What a sheet's page says of its step: guide, pictures; step, cut_picture, lay_picture. Of no
 * guide: that there is none. */
void pv_kit_page_step(pv_kit_page *page, const pv_guide *guide, size_t turn);

/* ---- map.c ---- */

/* Where the sheets lie on the mat, over its drawing (`to_top` leads to the kit's top: "", "../").
 * `here` stands out; SIZE_MAX: none does. Names, unless it is small. NULL where memory ran out. */
char *pv_kit_map(const pv_plan *plan, const char *to_top, size_t here, bool names,
                 const char *words);
/* The parts of such a picture: its beginning, "<svg ...>" with the mat, whose `words` are for those
 * who don't see it (NULL: they needn't know of it); gives how far it reaches beyond the mat's
 * edges, in mm, so that their outline is whole. And a sheet, and its name. "</svg>" ends it. */
double pv_map_open(pv_text *to, const pv_plan *plan, const char *to_top, const char *words);
void pv_map_cell(pv_text *to, const pv_plan *plan, const pv_sheet *sheet);
void pv_map_name(pv_text *to, const pv_plan *plan, const pv_sheet *sheet);

#endif
