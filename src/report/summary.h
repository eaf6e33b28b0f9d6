/* What a batch came to, in one sentence for people. Private to this room. */
#ifndef REPORT_SUMMARY_H
#define REPORT_SUMMARY_H

#include "base/text.h"
#include "judge/inspection.h"

/* "12 of 12 sheets are true", "11 true, 1 not true: B2"; names as they are, unescaped. */
void pv_batch_summary(pv_text *to, const pv_inspection *const *items, size_t n);

#endif
