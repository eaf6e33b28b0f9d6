/* Lines of text in a column, from the top down, for pages that people read. */
#ifndef DRAW_COLUMN_H
#define DRAW_COLUMN_H

#include "draw/drawing.h"

#define PV_COLUMN_LEADING 1.28 /* of lines, over the em; chosen */

typedef struct pv_column {
    pv_drawing *d;
    pv_box box;
    double y;       /* where the next line's top is */
    uint8_t rgb[3]; /* black to begin with */
    bool measure;   /* nothing is drawn: only `y` moves */
} pv_column;

pv_column pv_column_of(pv_drawing *d, pv_box box);
/* Breaks a text between words; what is wider than the column alone stands out of it. `before` is
 * put to the left of the first line, and the text is set in by `indent` mm; either may be nothing.
 */
void pv_column_say(pv_column *column, double em, bool bold, const char *before, double indent,
                   const char *text);
void pv_column_skip(pv_column *column, double height);

#endif
