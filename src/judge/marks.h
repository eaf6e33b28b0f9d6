/* What the marks on a sheet's surface mean: each one's verdict and sentence. */
#ifndef JUDGE_MARKS_H
#define JUDGE_MARKS_H

#include "judge/inspection.h"

/* Decides each mark in place and says what it means; the worst of their verdicts in *worst. What
 * may be dust, a shadow or gloss never fails a sheet: past the tolerance it is undecided. False
 * where memory ran out. */
bool pv_marks_judge(pv_inspection *in, pv_verdict *worst);

#endif
