/* Which colours stand side by side, and the rule that they can be told apart. */
#ifndef COURSE_CONTRAST_H
#define COURSE_CONTRAST_H

#include "course/findings.h"

/* After the run, which says what lines the route meets. False with an error in diags. */
bool pv_review_contrast(pv_reviewing *r);

/* Two colours that stand side by side, however often. */
typedef struct pv_colour_pair {
    size_t a, b; /* a < b */
    bool across; /* the two sides of a line, else a line or mark and its side */
} pv_colour_pair;

/* All of a mat's, as the rule looks for them. The caller frees *pairs. False where memory ran out.
 */
bool pv_contrast_pairs(const pv_scene *mat, pv_colour_pair **pairs, size_t *n);

#endif
