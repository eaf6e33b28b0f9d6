/* Putting words and marks around a sheet's cell. Private to this room. Everything is in the page's
 * frame until it becomes an item. */
#ifndef PAGE_ANATOMY_H
#define PAGE_ANATOMY_H

#include "page/page.h"
#include "page/space.h"
#include "po/po.h"

typedef struct pv_anatomy {
    pv_scene *page;
    const pv_plan *plan;
    const pv_sheet *sheet;
    pv_type *type;
    const pv_printer *printer; /* that the page is for, or NULL */
    pv_space space;
    pv_box cell, trim;
    size_t shape; /* the number of the shape that is begun */
    bool failed;  /* memory ran out */
} pv_anatomy;

/* ---- anatomy.c ---- */
/* Parts of a shape, all counter-clockwise or all clockwise; then its end. */
void pv_page_polygon(pv_anatomy *a, const pv_vec *corners, size_t n);
void pv_page_box(pv_anatomy *a, pv_box box);
void pv_page_bar(pv_anatomy *a, pv_vec from, pv_vec to, double width);
void pv_page_end_shape(pv_anatomy *a);
/* The same of the shape that is the QR code. */
void pv_page_end_code(pv_anatomy *a);
double pv_page_ems(pv_anatomy *a, const char *text, bool bold);
void pv_page_text(pv_anatomy *a, pv_vec at, double em, double angle, bool bold, const char *text);

/* Height of a text's box in ems, and how much of that is below the base line: brackets and bars
 * reach from -0.225 to 0.775 in the font's metrics, accents on capitals to 0.94. */
double pv_text_height(const char *text);
#define PV_TEXT_BELOW 0.225

/* Writes a text into a box of its own width and height, turned by a quarter or not. */
void pv_page_words(pv_anatomy *a, pv_box box, bool turned, double em, bool bold, const char *text);

/* ---- marks.c ---- */
/* Short lines on the trim lines, outside of the art. */
void pv_page_cut_marks(pv_anatomy *a);
/* The grid of cells with this one filled in, and an arrow with "this way up". */
void pv_page_map(pv_anatomy *a);
void pv_page_way_up(pv_anatomy *a);

/* ---- code.c ---- */
/* The QR code that leads to the sheet's own page, where the plan has an address and the page has
 * room; pv_page_has_code says whether it does. False with a reason. */
bool pv_page_code(pv_anatomy *a, pv_diags *diags);

/* ---- proof.c ---- */
/* What a proof page says in words. */
void pv_page_proof_words(pv_anatomy *a);

/* ---- travel.c ---- */
/* Where the robot's route crosses the sheet's seams: a dart that points the way, with its word. */
void pv_page_travel(pv_anatomy *a);
/* Takes the places at the art's edge where darts of a side belong; how many. */
size_t pv_page_keep_travel(pv_anatomy *a, pv_side side);

/* ---- numbers.c ---- */
/* Numbers and unit of the scale bars. */
void pv_page_numbers(pv_anatomy *a);

/* ---- gauge.c ---- */
/* The gauge marks' names beside them. */
void pv_page_gauge_names(pv_anatomy *a);
/* What its marks are apart, of a sheet that has them: all, with or without what to do about it; or
 * only the sides, or the diagonals. */
typedef enum pv_gauge_wording {
    PV_GAUGE_ALL,
    PV_GAUGE_BRIEF,
    PV_GAUGE_SIDES,
    PV_GAUGE_ACROSS
} pv_gauge_wording;
void pv_page_gauge_words(const pv_anatomy *a, pv_gauge_wording how, char *text, size_t size);

/* ---- words.c ---- */
/* All that is said in words, but for the numbers of the bars; and the QR code, which has its place
 * in their order. False with a reason. */
bool pv_page_labels(pv_anatomy *a, pv_diags *diags);

#endif
