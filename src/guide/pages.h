/* The guide as pages of the sheets' paper, or of A4 or letter where that is for plotters: the whole
 * mat, what to know and to have, the steps. */
#ifndef GUIDE_PAGES_H
#define GUIDE_PAGES_H

#include "draw/column.h"
#include "guide/picture.h"
#include "guide/say.h"

/* Takes a page; false, having said why, stops. */
typedef bool pv_guide_take(void *context, const pv_drawing *page, pv_diags *diags);

/* All pages, one after the other, in that type. Pages are labelled "guide 1" and so on. */
bool pv_guide_pages(const pv_guide *guide, pv_type *type, pv_guide_take *take, void *context,
                    pv_diags *diags);

/* ---- private to this room ---- */

/* The pages so far, and the one that is open. */
typedef struct pv_guide_book {
    const pv_guide *guide;
    pv_type *type;
    pv_guide_take *take;
    void *context;
    pv_diags *diags;
    size_t n; /* pages that were begun */
    pv_drawing page;
    pv_pen pen;
    pv_box whole, area; /* of the page, for its content; and what is left of it */
} pv_guide_book;

/* A fresh page, and the end of one. */
void pv_guide_open_page(pv_guide_book *book);
bool pv_guide_close_page(pv_guide_book *book);

/* What to know and to have before the first step: in what is left of the page that is open, or on
 * pages of its own. Closes the page. */
bool pv_guide_before(pv_guide_book *book);

#endif
