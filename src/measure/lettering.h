/* The surface within the boxes of lettering: where its letters are, by their outlines, and what may
 * be seen where that isn't known, or where an edge of theirs is near. */
#ifndef MEASURE_LETTERING_H
#define MEASURE_LETTERING_H

#include "measure/surface.h"

/* A lettering of the art that comes into the window, and its box on the mat. */
typedef struct pv_lettering_here {
    const pv_lettering *of;
    pv_box box;
} pv_lettering_here;

typedef struct pv_letterings {
    pv_lettering_here *items;
    size_t n, cap;
} pv_letterings;

/* Where a sheet has more texts than this, or more corners of their outlines, nothing is asked
 * within their boxes: a bound on work, far beyond what a sheet of a course for people has. */
#define PV_LETTERINGS_MAX     64
#define PV_LETTER_CORNERS_MAX 200000u

/* Tells lettered squares apart by the letters' outlines: what is nothing but a letter has the
 * letter's colour as its label from then on, and counts as plain. Letters that were printed in
 * another typeface than the plan's stay PV_LETTERED_MAYBE. False where memory ran out. */
bool pv_letterings_place(const pv_letterings *list, pv_surface *surface);

/* False where memory ran out. */
bool pv_letterings_find(pv_letterings *list, const pv_shown *shown);
void pv_letterings_clear(pv_letterings *list);

#define PV_LETTER_REACH 1.5 /* squares from a square's middle: it and its neighbours */

/* Widens what may be seen in a square by the colours of letters that may be there, and by what lies
 * beneath and within reach. */
void pv_letterings_widen(const pv_letterings *list, const pv_surface *s, size_t index,
                         pv_range *range);

/* Where a letter's colour fills a square larger than any letter's stroke, it is none: sets what
 * that is off from what lies beneath. False where memory ran out. */
bool pv_letterings_fill(const pv_letterings *letterings, pv_surface *surface);

#endif
