#include "judge/judge.h"

#include <math.h>

pv_verdict pv_judge(double error, double U, double tolerance)
{
    double off = fabs(error);
    if (!isfinite(off) || !isfinite(U) || !isfinite(tolerance) || U < 0)
        return PV_UNDECIDED;
    if (off + U <= tolerance)
        return PV_CONFORMS;
    return off - U > tolerance ? PV_DOES_NOT_CONFORM : PV_UNDECIDED;
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

const char *pv_reference_name(pv_reference_kind kind)
{
    static const char *const names[] = {"none", "scanner", "card", "ruler", "paper", "combined"};
    return (size_t)kind < sizeof names / sizeof *names ? names[kind] : "none";
}

const char *pv_contribution_name(pv_contribution part)
{
    static const char *const names[PV_PARTS] = {"scatter", "pixel grid",    "tone",
                                                "map",     "spread of ink", "reference"};
    return (size_t)part < PV_PARTS ? names[part] : "";
}
