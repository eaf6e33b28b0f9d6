/* The rules about lines, texts and marks: ends that miss, open regions, what lies off the mat. */
#ifndef COURSE_ENDS_H
#define COURSE_ENDS_H

#include "course/findings.h"

/* A dead end this many line widths or less from another line misses it by a hair: the paint all but
 * closes the gap, so that the region looks shut and is not. Common practice, no source. */
#define PV_HAIR_WIDTHS 1.0

/* False with an error in diags. */
bool pv_review_ends(pv_reviewing *r);
bool pv_review_outside(pv_reviewing *r);

#endif
