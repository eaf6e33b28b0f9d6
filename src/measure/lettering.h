/* The surface beneath lettering, whose glyphs are not known here. */
#ifndef MEASURE_LETTERING_H
#define MEASURE_LETTERING_H

#include "measure/surface.h"

/* The art's letterings that come into the window, with their boxes. */
typedef struct pv_letterings {
    const pv_lettering **items;
    size_t n, cap;
} pv_letterings;

/* More than this many on a sheet stay unlooked at. */
#define PV_LETTERINGS_MAX 64

/* False where memory ran out. */
bool pv_letterings_find(pv_letterings *list, const pv_shown *shown);
void pv_letterings_clear(pv_letterings *list);

/* Widens what may be seen at a place by the colours of letters there and by what lies beneath and
 * within `reach` mm. */
void pv_letterings_widen(const pv_letterings *list, const pv_surface *s, pv_vec at, double reach,
                         pv_range *range);

/* Where a letter's colour fills a square larger than any letter's stroke, it is none: sets what
 * that is off from what lies beneath. False where memory ran out. */
bool pv_letterings_fill(const pv_letterings *letterings, pv_surface *surface);

#endif
