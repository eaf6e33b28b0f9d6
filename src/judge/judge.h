/* Deciding: JCGM 106:2012 on one value, and on many at once. */
#ifndef JUDGE_JUDGE_H
#define JUDGE_JUDGE_H

#include <pavior/inspect.h>

/* error = measured - nominal, and a tolerance bounds it on both sides; U >= 0 expanded; not-finite
 * input is undecided. A guard band of U on both sides of the limit (8.3, from memory: acceptance is
 * guarded; rejection is guarded alike). */
pv_verdict pv_judge(double error, double U, double tolerance);

/* Conformance probability: that what was measured as y with standard uncertainty u lies between
 * two limits, either of which may be infinite (7.2 to 7.4, for a normal distribution; with limited
 * degrees of freedom Student's, scaled and shifted, as JCGM 101:2008, 6.4.9, has it). */
double pv_conformance(double y, double u, double freedom, double lower, double upper);

/* Do some of n values, each judged by itself, show that not all of them are within tolerance?
 * `chance` has, of each that does not conform, the probability of a reading that far out or farther
 * from a value right on its limit (reordered here). Simes' test (An improved Bonferroni procedure
 * for multiple tests of significance, Biometrika 73, 1986): yes, where for some m the m-th smallest
 * is at most m / n of what a single value may have, which is half of 1 - 95.45 %. For one value it
 * is the same decision as pv_judge's. */
bool pv_judge_many(double *chance, size_t n_chance, size_t n);

/* The verdict on a whole of which these are parts: the worst, where "does not conform" is worse
 * than "undecided" is worse than "conforms". */
pv_verdict pv_judge_worse(pv_verdict a, pv_verdict b);

#endif
