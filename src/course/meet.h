/* Where two pieces meet. */
#ifndef COURSE_MEET_H
#define COURSE_MEET_H

#include "scene/piece.h"

#define PV_MEET_MAX 2

/* The points where two pieces cross or are tangent, as said by the closed forms for two lines, a
 * line and a circle, and two circles. Curves that come within `touch` mm of being tangent are taken
 * to be: they give one point, at most touch from either. None for parallel segments and arcs of one
 * circle, which meet along a stretch if at all: there the ends that lie on the other piece say all.
 * Gives how many, at most PV_MEET_MAX. */
int pv_pieces_meet(const pv_piece *a, const pv_piece *b, double touch, pv_vec out[PV_MEET_MAX]);

#endif
