/* Rules and tapes by what is cut, taped and measured. */
#include "guide/tools.h"

#include <pavior/inspect.h>

#include <math.h>

/* Steps in which rules are sold, mm and inches: assumed. */
#define STEP_MM 100.0
#define STEP_IN 6.0
/* m: a short piece of tape across a seam, two a sheet where sheets lap: assumed. */
#define PIECE 0.05
/* A mat that is too large must still be read: three times the widest tolerance of scale that our
 * courses have. */
#define LONGER 1.01

/* The longest cut of a sheet. */
static double longest_cut(const pv_plan *plan)
{
    double longest = 0;
    for (size_t i = 0; i < plan->n_sheets; i++) {
        pv_box trim = pv_sheet_trim_box(plan, &plan->sheets[i]);
        longest = fmax(longest, fmax(trim.hi.x - trim.lo.x, trim.hi.y - trim.lo.y));
    }
    return longest;
}

/* What must be measured between gauge marks: those within a rule's reach, and those beyond. */
typedef struct spans {
    double near, far;
} spans;

static void add_span(spans *s, double mm)
{
    if (mm > PV_RULER_LONGEST)
        s->far = fmax(s->far, mm);
    else
        s->near = fmax(s->near, mm);
}

/* A print that is scanned whole is measured across as well: P to R, Q to S. */
static spans gauge_spans(const pv_plan *plan, const double also[2])
{
    spans s = {0};
    for (size_t i = 0; i < plan->n_sheets; i++) {
        const pv_sheet *sheet = &plan->sheets[i];
        if (sheet->n_gauge == 0)
            continue;
        add_span(&s, pv_dist(sheet->gauge[0], sheet->gauge[1]));
        add_span(&s, pv_dist(sheet->gauge[0], sheet->gauge[3]));
        if (s.far > 0) {
            add_span(&s, pv_dist(sheet->gauge[0], sheet->gauge[2]));
            add_span(&s, pv_dist(sheet->gauge[1], sheet->gauge[3]));
        }
    }
    for (int i = 0; also != NULL && i < 2; i++)
        add_span(&s, also[i]);
    return s;
}

pv_guide_tools pv_guide_tools_of(const pv_plan *plan, const double also[2])
{
    double step = plan->art.inches ? STEP_IN * PV_MM_PER_IN : STEP_MM;
    double cut = longest_cut(plan), diagonal = hypot(plan->art.size.x, plan->art.size.y);
    spans s = gauge_spans(plan, also);
    pv_takeoff work = {0};
    pv_plan_work(plan, &work);
    double pieces = plan->joint == PV_JOINT_LAP ? 2 * PIECE * (double)plan->n_sheets : 0;
    double round = 2 * (plan->art.size.x + plan->art.size.y) + 8 * plan->border;
    return (pv_guide_tools){
        .seams = (1 + PV_SPARE) * (work.tape + pieces),
        .edges = (1 + PV_SPARE) * round / 1000,
        .rule = fmin(PV_RULER_LONGEST, step * ceil(fmax(cut, s.near) / step)),
        .moved = cut > PV_RULER_LONGEST,
        .steel_tape = s.far > 0,
        .tape = LONGER * fmax(diagonal, s.far),
        .work = work,
    };
}
