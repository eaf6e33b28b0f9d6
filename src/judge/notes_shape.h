/* What the shape of lines and areas means for a sheet (docs/measuring.md, "Shape"). */
#ifndef JUDGE_NOTES_SHAPE_H
#define JUDGE_NOTES_SHAPE_H

#include "judge/notes.h"

/* From here on a sheet isn't called conforming, whatever its measures say; all are estimates. */
#define PV_BREAK_BOUND   1.0  /* mm along a line: about what a robot's light sensor sees at once */
#define PV_BROKEN_BOUND  0.01 /* of a line's length that was looked at */
#define PV_MISSING_BOUND 0.05 /* of an area */

/* A line is interrupted, or an area lacks its ink, past those bounds. The course gives no tolerance
 * for that, so the sheet is left to a person: undecided. */
bool pv_shape_withholds(const pv_inspection *in);

/* A sentence for each kind of thing that isn't fair, with its places and what to do. */
void pv_notes_of_shape(pv_notes *notes, const pv_inspection *in);

#endif
