/* Decisions: JCGM 106:2012, 8.3.2, a guarded acceptance on both sides with a guard band of U. */
#ifndef JUDGE_JUDGE_H
#define JUDGE_JUDGE_H

#include <pavior/inspect.h>

/* error = measured - nominal; U >= 0 expanded, k = 2; not-finite input is undecided. */
pv_verdict pv_judge(double error, double U, double tolerance);

/* The verdict on a whole of which these are parts: the worst, where "does not conform" is worse
 * than "undecided" is worse than "conforms". */
pv_verdict pv_judge_worse(pv_verdict a, pv_verdict b);

#endif
