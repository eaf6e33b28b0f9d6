/* How many pictures, sheets and teams there are of each kind: page and answer say the same numbers.
 * Private to this room. */
#ifndef COLLECT_COUNTS_H
#define COLLECT_COUNTS_H

#include "base/text.h"
#include "collect/tally.h"

typedef struct pv_counts {
    /* All pictures are one of: by the verdict on their sheet, of a proof page, unusable. */
    size_t pictures, verdict[3], proofs, unusable;
    size_t others; /* files that are no pictures */
    size_t teams, whole;
    size_t failed, undecided, disputed; /* sheets */
    size_t shared;                      /* pictures of a sheet that another team sent, too */
} pv_counts;

pv_counts pv_counts_of(const pv_tally *tally);

/* "Whole mats proven: 2 of 3 teams" */
void pv_counts_say_whole(pv_text *to, const pv_tally *tally, const pv_counts *counts);

#endif
