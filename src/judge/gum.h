/* Uncertainty as JCGM 100:2008 has it: combining parts, effective degrees of freedom, coverage. */
#ifndef JUDGE_GUM_H
#define JUDGE_GUM_H

#include <stddef.h>

/* The coverage of k = 2 for a normal distribution, erf(sqrt 2): the "95.45 %" of table G.2. */
#define PV_COVERAGE 0.95449973610364158

/* So many degrees of freedom limit nothing: k is 2.0003 for them, and their number says more about
 * the arithmetic's last digits than about the sheet. */
#define PV_FREEDOM_MANY 1e4

/* A component of uncertainty: the input's standard uncertainty times the sensitivity, |c_i| u(x_i),
 * in the unit of the result; with its degrees of freedom, HUGE_VAL where they are many. */
typedef struct pv_component {
    double u, freedom;
} pv_component;

/* Combined standard uncertainty of a result whose inputs are not correlated: the root of the sum of
 * squares (5.1.2, equation 10). *freedom becomes the effective degrees of freedom by the
 * Welch-Satterthwaite formula (G.4.1, equation G.2b), HUGE_VAL from PV_FREEDOM_MANY. */
double pv_combine_parts(const pv_component *parts, size_t n, double *freedom);

/* Probability that a variable with Student's distribution is at most t; a normal one where freedom
 * is HUGE_VAL. freedom > 0, not necessarily whole. */
double pv_student_cdf(double t, double freedom);

/* t_p of table G.2: -t_p to t_p holds the share `coverage` (0 < coverage < 1) of Student's
 * distribution. Not-whole degrees of freedom are taken as they are, which is the interpolation that
 * the note to G.4.1 speaks of. */
double pv_student_t(double coverage, double freedom);

#endif
