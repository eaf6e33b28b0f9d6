/* Drawing for ink that spreads (or shrinks): every visible edge is moved the other way beforehand.
 */
#ifndef DRAW_GAIN_H
#define DRAW_GAIN_H

#include "scene/scene.h"

/* A mat's art as it must be drawn so that, once all edges between two colours have moved by `ink`
 * mm (pv_colour_spread), it is as planned. A line gets another width and, where what lies beside it
 * changes on its way, thin lines along its sides; flat ends that stand free are moved, too. The
 * edges of fills and marks move; those of fills beneath a line stay. Lettering is left alone, and
 * no line gets thinner than PV_GAIN_LEAST. *out borrows names, colours and lettering; drop it with
 * pv_gain_drop. Ids are no longer unique. False where memory ran out. */
bool pv_gain_art(const pv_scene *mat, double ink, pv_art *out);
void pv_gain_drop(pv_art *art);

#define PV_GAIN_LEAST 0.1 /* mm */

/* The width of a stroke of that width that is darker, or lighter, than what is around it. */
double pv_gain_stroke(double width, double ink, bool light);

#endif
