/* What a batch and an image came to, in one sentence for people each. Private to this room. */
#ifndef REPORT_SUMMARY_H
#define REPORT_SUMMARY_H

#include "base/text.h"
#include "judge/inspection.h"

/* "12 of 12 sheets are true", "11 true, 1 not true: B2"; names as they are, unescaped. */
void pv_batch_summary(pv_text *to, const pv_inspection *const *items, size_t n);

/* "29 values judged: 27 conform, 1 undecided, 1 does not conform." of one image. */
void pv_values_summary(pv_text *to, const pv_inspection *in);

#endif
