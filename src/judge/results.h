/* From measures to judged results. */
#ifndef JUDGE_RESULTS_H
#define JUDGE_RESULTS_H

#include "judge/values.h"
#include "measure/measure.h"

/* A quantity as it is judged: U = k u with k for 95.45 % and the effective degrees of freedom, its
 * probability and verdict; the remedy is not sought. */
pv_value pv_value_judged(const pv_quantity *q, double nominal, double tolerance);

/* Every value with its uncertainty, verdict and remedy, and the sheet's verdict, into an inspection
 * whose reference and resolution are known. False where memory ran out; the inspection can then
 * still be freed. */
bool pv_results_fill(pv_inspection *in, const pv_art *art, const pv_measures *measures);

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

/* From here on a sheet isn't called conforming, whatever its measures say; all are estimates. */
#define PV_BREAK_BOUND   1.0  /* mm along a line: about what a robot's light sensor sees at once */
#define PV_BROKEN_BOUND  0.01 /* of a line's length that was looked at */
#define PV_MISSING_BOUND 0.05 /* of an area */

/* A line is interrupted, or an area lacks its ink, past those bounds. The course gives no tolerance
 * for that, so the sheet is left to a person: undecided. */
bool pv_shape_withholds(const pv_inspection *in);
/* The same of one line, by its index. */
bool pv_line_withholds(const pv_inspection *in, size_t line);

#endif
