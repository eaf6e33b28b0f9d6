/* What to have for a plan: tape, and how long a steel rule and a tape measure must be. */
#ifndef GUIDE_TOOLS_H
#define GUIDE_TOOLS_H

#include "plan/layout.h"

/* assumed: one in ten is spoilt, of sheets by a jam or a slip of the knife, of tape by a crease. */
#define PV_SPARE 0.1

typedef struct pv_guide_tools {
    double seams, edges; /* m of tape, with what is spoilt: along the seams, and by what holds each
                            sheet until then; round the mat */
    double rule; /* mm, as rules are sold: for the cuts, and between gauge marks that it reaches */
    bool moved;  /* some cuts are longer: it is moved along */
    bool steel_tape; /* some gauge marks lie farther apart than a rule reaches */
    double tape;     /* mm: what a tape measures, and a little more */
    pv_takeoff work;
} pv_guide_tools;

/* `also`: mm between gauge marks of another page, P-Q and P-S; or NULL. */
pv_guide_tools pv_guide_tools_of(const pv_plan *plan, const double also[2]);

#endif
