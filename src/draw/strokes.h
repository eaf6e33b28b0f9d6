/* Strokes as outlines, for what people look at: rules, arcs, dashes, arrow heads, dots. Each adds
 * to the path; the caller fills it. All run counter-clockwise, so that what overlaps is filled. */
#ifndef DRAW_STROKES_H
#define DRAW_STROKES_H

#include "draw/drawing.h"
#include "scene/piece.h"

/* A stroke along a piece; flat ends. */
void pv_draw_piece(pv_drawing *d, const pv_piece *piece, double width);
void pv_draw_disc(pv_drawing *d, pv_vec at, double radius);
void pv_draw_circle(pv_drawing *d, pv_vec at, double radius, double width);
/* A box's outline, inside and outside of it by half the width. */
void pv_draw_frame(pv_drawing *d, pv_box box, double width);

/* Dashes along a piece: `pattern` has n lengths, dash and gap in turn (n even, sum above 0). The
 * pattern is stretched by up to its own length so that the piece begins and ends with a dash. At
 * most PV_DASHES_MAX dashes: past that the stroke is whole. */
#define PV_DASHES_MAX 1000
void pv_draw_dashes(pv_drawing *d, const pv_piece *piece, double width, const double *pattern,
                    size_t n);

/* A closed, filled head of 20 degrees (ISO 129-1 has 15 to 30), its tip at `tip`, pointing along
 * the unit vector `ahead`. */
void pv_draw_arrow(pv_drawing *d, pv_vec tip, pv_vec ahead, double length);

#endif
