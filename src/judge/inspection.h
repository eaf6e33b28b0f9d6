/* One image's result, from the inside.
 *
 * The judging room, from top to bottom:
 *
 * 1. inspect.c leads the way: decode the image, find the pose, find the references, measure. What
 *    comes of it is one table of values (measure/measure.h), each with its standard uncertainty by
 *    parts. An image that can't be used gives an inspection with `error` and nothing else.
 *
 * 2. results.c decides each row in place. gum.c combines the parts of its uncertainty (JCGM 100)
 *    into u, k and U; judge.c holds the value against its tolerance with a guard band of U (JCGM
 *    106). The course gives the tolerances. Kinds without one (ink's spread, shape) are only told.
 *
 * 3. results.c then decides the sheet: the worst of its kinds, where a kind with values outside
 * does not conform only if more are outside than chance explains (Simes' test in judge.c). Breaks
 * and missing ink withhold "conforms", since a robot may lose such a line.
 *
 * 4. remedy.c asks each undecided value's own budget what would settle it: which parts of U can be
 *    brought down, by what, and whether that is enough.
 *
 * 5. notes.c says in sentences what a person needs besides the numbers.
 *
 * 6. answer.c puts one plain answer and one thing to do before all that, from a table.
 *
 * how.c keeps by which options it was measured, for who has to know that they are the same. */
#ifndef JUDGE_INSPECTION_H
#define JUDGE_INSPECTION_H

#include "base/sha256.h"
#include "base/text.h"
#include "measure/measure.h"
#include "plan/layout.h"

#include <pavior/inspect.h>

#define PV_STEPS_MAX 6 /* distances between four marks */

struct pv_inspection {
    pv_inspected sheet;         /* its texts are the inspection's */
    char sha256[PV_SHA256_HEX]; /* of the file; "" where it was not read */
    pv_kit_text kit;            /* the fingerprint of the sheet's plan */
    pv_inspect_options how;     /* with a scanner and readings of its own */
    bool changed;               /* an error: the sheet was printed from the former edition. The one
                                   that took its place is sheet.number of sheet.plan */
    bool asks_lengths; /* undecided; what the advice asks to measure by hand may settle it */
    bool asks_look;    /* conforms, but the advice asks for more than to use it */
    pv_measures table;
    pv_reference_result *references;
    size_t n_references;
    pv_distance steps[PV_STEPS_MAX];
    size_t n_steps;
    pv_picture picture;
    char **notes;
    size_t n_notes;
};

/* As people see it: "12.00 mm" with so many decimals, or "0.472 in" with one more. */
pv_digits pv_inspection_length(const pv_inspection *in, double mm, int decimals);

/* px per inch by the print, in the coarser direction. */
double pv_inspection_dpi(const pv_inspection *in);

#endif
