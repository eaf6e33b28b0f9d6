/* What one page shows to measuring: its scene, with what lies upon it. */
#ifndef MEASURE_SHOWN_H
#define MEASURE_SHOWN_H

#include "plan/layout.h"
#include "reference/reference.h"

#define PV_CLUTTER_CLEAR 0.5 /* mm kept clear around lettering, crosses and what lies there */

typedef struct pv_shown {
    const pv_scene *page;
    const pv_art *art;
    pv_box window; /* mat frame: where this page prints art */
    size_t *lines; /* of the art, ascending: those that come into the window */
    size_t n_lines, cap_lines;
    pv_box *clutter; /* lettering, what the page prints over the art (alignment crosses), and what
                        lies on it: no edge is measured there */
    size_t n_clutter, cap_clutter;
    size_t n_lettered;     /* so many of these, the first, are letterings' */
    size_t tooth, n_teeth; /* the first tooth about a card's place, and how many */
    size_t n_printed;      /* so many are printed; the others lie there, and PV_CLUTTER_CLEAR is in
                              their boxes */
} pv_shown;

/* covered: what lies on the sheet, or NULL. It borrows from the page. False, with nothing held,
 * where memory ran out. */
bool pv_shown_make(pv_shown *shown, const pv_scene *page, const pv_covered *covered);
void pv_shown_clear(pv_shown *shown);

#endif
