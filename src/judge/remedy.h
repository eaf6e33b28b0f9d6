/* What would settle an undecided value, from its own budget (docs/how/uncertainty.md, "What would
 * settle it"). */
#ifndef JUDGE_REMEDY_H
#define JUDGE_REMEDY_H

#include "base/text.h"
#include "judge/inspection.h"

/* What a careful user's scanner reaches (assumed). */
#define PV_BEST_DPI 600.0

/* Below that edges blur into their surroundings (assumed). Nothing is decided by it. */
#define PV_LEAST_DPI 145.0

/* Fills in remedy and U_needed where a value is undecided. `partly`: of a line of which too little
 * was found. The inspection's reference, kind and resolution must be there already. */
void pv_remedy_find(const pv_inspection *in, pv_value *value, bool partly);

/* Fills in what to measure by hand: the fewest and easiest readings that decide each value which
 * needs a better reference. For a judged inspection. */
void pv_remedy_steps(pv_inspection *in);

/* Where there are steps: "from P to Q (197 mm as drawn) and ... with a steel rule", and how to give
 * a reading. */
void pv_remedy_measure(pv_text *out, const pv_inspection *in);
void pv_remedy_reading(pv_text *out, const pv_inspection *in);

/* What to do, for remedies together; no full stop. */
void pv_remedy_advice(pv_text *out, const pv_inspection *in, unsigned remedy);

/* By how much U must fall; nothing where that can't be said. */
void pv_remedy_need(pv_text *out, const pv_value *value);

#endif
