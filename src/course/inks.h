/* Colours as they are to be printed: by black ink alone, or with little ink.
 *
 * Lines, marks and lettering on one side, fills and the ground on the other are told apart first: a
 * colour that both use becomes two. Colours that stand side by side are those that the review's
 * rule of contrast looks at, and what lettering stands on. */
#ifndef COURSE_INKS_H
#define COURSE_INKS_H

#include "course/model.h"

/* Least differences of luminance: along an edge the review's own, and between the two sides of a
 * line. Assumed: 0.1 is about 25 codes of 255 in the middle of the scale, which a grey print still
 * shows. */
#define PV_INKS_ACROSS 0.10
/* A fill keeps at least this share of its ink. Assumed: a paler one looks like bare paper. */
#define PV_INKS_KEPT 0.30

#endif
