/* The paper's own edges are a coarse reference: beside a fine one they check it. */
#ifndef REFERENCE_COARSE_H
#define REFERENCE_COARSE_H

#include "reference/combine.h"

/* The paper only checks what the others say together where these are known so many times better. By
 * weight it would add a tenth of itself at most. */
#define PV_COARSE_TIMES 3.0

/* It contradicts them from so many standard uncertainties of the difference, along x or y. */
#define PV_COARSE_APART 3.0

/* As pv_combine, but for the paper's part. Where it only checks, it has no weight. Where it
 * contradicts a scanner's resolution or a ruler, these stand, since paper that was trimmed or is of
 * another size is likelier than either to be far off; it is marked and said. Against a card alone,
 * which may be something else that looks like one, it counts as any other. Several sentences at
 * most into `note`. */
pv_combined pv_combine_checked(pv_evidence *items, size_t n, pv_text *note);

#endif
