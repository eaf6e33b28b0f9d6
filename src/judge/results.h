/* From measured values to judged ones. */
#ifndef JUDGE_RESULTS_H
#define JUDGE_RESULTS_H

#include "judge/inspection.h"
#include "scene/art.h"

/* One row by itself, in place: u, k and U from its parts, its probability and verdict from nominal
 * and tolerance. Its freedom, of the scatter alone before, becomes the effective one. */
void pv_value_judge(pv_value *row);

/* Every row of the table, with its remedy, and the sheet's verdict; the inspection's reference and
 * resolution must be known. False where memory ran out. */
bool pv_results_judge(pv_inspection *in, const pv_tolerances *tolerances);

/* All values of one kind together. Each is judged by itself; that one of many lies outside of its
 * limit by more than its own U may be chance, so the kind does not conform only where pv_judge_many
 * says so, and is undecided else. */
typedef struct pv_kind_result {
    pv_verdict verdict;
    size_t n, outside; /* measured; those that do not conform by themselves */
} pv_kind_result;

/* False where memory ran out. */
bool pv_results_of_kind(const pv_inspection *in, pv_value_kind kind, pv_kind_result *out);

/* The sheet has lines, and on none of them is there a place to measure: its verdict is of its scale
 * and skew alone. */
bool pv_no_line_measured(const pv_inspection *in);

/* No picture has room for a line's plateaus in one so thin, at px per mm, however sharp it is. */
bool pv_line_too_thin(double width, double px_per_mm);

/* Too thin for this picture, but not for one of the best resolution that is advised. */
bool pv_finer_shows(const pv_line_result *line);

/* From here on a sheet cannot pass, whatever its measures say. All are assumed: no standard says
 * what a robot can cross. */
#define PV_BREAK_BOUND   1.0  /* mm along a line: about what a robot's light sensor sees at once */
#define PV_BROKEN_BOUND  0.01 /* of a line's length that was looked at */
#define PV_MISSING_BOUND 0.05 /* of an area */
#define PV_SURFACE_BOUND 0.5  /* of the cell: so much must have been compared with the course */

/* A line is interrupted, or an area lacks its ink, past those bounds, or is whitened. The course
 * gives no tolerance for that, so the sheet is left to a person: undecided. Of the row of an area's
 * missing ink or strength, or a line's breaks. */
bool pv_value_withholds(const pv_inspection *in, const pv_value *row);

#endif
