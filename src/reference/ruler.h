#ifndef REFERENCE_RULER_H
#define REFERENCE_RULER_H

#include "plan/layout.h"
#include "reference/combine.h"

/* How much of a reading's variance is the rule's own, and shared by all its readings: of 0.30 mm,
 * 0.23 (pavior/inspect.h). */
#define PV_RULER_SHARED 0.5

/* mm between two of a sheet's gauge marks, by their letters; 0 where it has no such pair. */
double pv_ruler_nominal(const pv_sheet *sheet, char from, char to);

/* mm, k = 2: a reading's own U, or where it states none that of a usual rule or tape for such a
 * length. */
double pv_ruler_U(const pv_ruler_reading *reading, double nominal);

/* Whether each reading can be one of the sheet's marks. False, and said with what the marks are
 * apart, where one can't. */
bool pv_ruler_readings_fit(const pv_sheet *sheet, const pv_ruler_reading *readings, size_t n,
                           pv_diags *diags);

/* What readings that fit say. A length between marks (dx, dy) apart is |M (dx, dy)|, M by
 * reference/metric.h. Readings in three directions or more give both scales and the skew by least
 * squares, in fewer each direction's mean; none, no rows. Two readings of variances u_i^2 share
 * PV_RULER_SHARED u_i u_k, but no result counts as surer than if they shared nothing: in the skew,
 * which two diagonals give, what is shared cancels. Where chi-squared of what the fit leaves is
 * over its limit, a note says so and the uncertainties grow by Birge's ratio, the root of
 * chi-squared by its degrees of freedom. */
pv_evidence pv_ruler_evidence(const pv_sheet *sheet, const pv_ruler_reading *readings, size_t n,
                              pv_text *note);

#endif
