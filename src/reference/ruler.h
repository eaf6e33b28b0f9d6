#ifndef REFERENCE_RULER_H
#define REFERENCE_RULER_H

#include "reference/combine.h"

/* How much of a reading's variance is the ruler's own and shared by all its readings (an
 * estimate). */
#define PV_RULER_SHARED 0.5

/* What readings say: along each axis that was measured their mean by weight, with
 * cov(i, k) = PV_RULER_SHARED u_i u_k between any two, relative. No rows where there are none.
 * Readings that can't be meant (see PV_RULER_APART) are said in `note` and not used. Readings along
 * one axis whose chi-squared about their mean is over its limit are said, too, and their mean's
 * uncertainty grows by Birge's ratio, the root of chi-squared by its degrees of freedom. */
pv_evidence pv_ruler_evidence(const pv_ruler_reading *readings, size_t n, pv_text *note);

#endif
