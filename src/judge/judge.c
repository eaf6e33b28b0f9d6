#include "judge/judge.h"

#include "base/numeric.h"

#include "judge/gum.h"
#include "po/po.h"

#include <math.h>
#include <stdlib.h>

pv_verdict pv_judge(double error, double U, double tolerance)
{
    double off = fabs(error);
    if (!isfinite(off) || !isfinite(U) || !isfinite(tolerance) || U < 0)
        return PV_UNDECIDED;
    if (off + U <= tolerance)
        return PV_CONFORMS;
    return off - U > tolerance ? PV_DOES_NOT_CONFORM : PV_UNDECIDED;
}

double pv_conformance(double y, double u, double freedom, double lower, double upper)
{
    if (!(u > 0))
        return lower <= y && y <= upper ? 1 : 0;
    /* Both as tails of the side on which they are small, so that nothing cancels. */
    double a = (lower - y) / u, b = (upper - y) / u;
    if (a > 0)
        return pv_student_cdf(-a, freedom) - pv_student_cdf(-b, freedom);
    return pv_student_cdf(b, freedom) - pv_student_cdf(a, freedom);
}

bool pv_judge_many(double *chance, size_t n_chance, size_t n)
{
    const double one = (1 - PV_COVERAGE) / 2;
    qsort(chance, n_chance, sizeof *chance, pv_by_value);
    for (size_t m = 0; m < n_chance; m++)
        if (chance[m] * (double)n <= one * (double)(m + 1))
            return true;
    return false;
}

pv_verdict pv_judge_worse(pv_verdict a, pv_verdict b)
{
    if (a == PV_DOES_NOT_CONFORM || b == PV_DOES_NOT_CONFORM)
        return PV_DOES_NOT_CONFORM;
    return a == PV_UNDECIDED || b == PV_UNDECIDED ? PV_UNDECIDED : PV_CONFORMS;
}

const char *pv_verdict_name(pv_verdict verdict)
{
    switch (verdict) {
    case PV_CONFORMS:
        return "conforms";
    case PV_DOES_NOT_CONFORM:
        return "does not conform";
    case PV_UNDECIDED:
        break;
    }
    return "undecided";
}

const char *pv_contribution_name(pv_contribution part)
{
    static const char *const names[PV_PARTS] = {
        PV_SAID("scatter"), PV_SAID("pixel grid"),    PV_SAID("tone"),     PV_SAID("halftone"),
        PV_SAID("map"),     PV_SAID("spread of ink"), PV_SAID("reference")};
    return (size_t)part < PV_PARTS ? names[part] : "";
}
