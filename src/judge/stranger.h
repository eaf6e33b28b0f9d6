/* A picture of a sheet that is in none of the plans. */
#ifndef JUDGE_STRANGER_H
#define JUDGE_STRANGER_H

#include "judge/inspection.h"

/* Says whose it is where that can be known: of a plan's former edition. Else the answer stays, or
 * becomes one for a sender; whoever has the page that inspects gets the advice alone. False where
 * memory ran out. */
bool pv_stranger_answer(pv_inspection *in, const pv_plan *const *plans, size_t n_plans,
                        const pv_plane *plane);

#endif
