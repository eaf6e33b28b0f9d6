/* A plan's sheets as its former edition had them, so that a picture of a sheet that has changed
 * since then is known for what it is. */
#ifndef PLAN_FORMER_H
#define PLAN_FORMER_H

#include "plan/layout.h"

typedef struct pv_former {
    pv_plan plan;  /* as the plan, but with the former one's identities; without sheets where the
                      plan tells of no former one. All but the list of sheets is the plan's */
    bool in_place; /* each former sheet lies where the sheet of its number lies now */
} pv_former;

/* False where memory ran out. The caller clears it, either way. */
bool pv_former_make(const pv_plan *plan, pv_former *out);
void pv_former_clear(pv_former *former);

#endif
