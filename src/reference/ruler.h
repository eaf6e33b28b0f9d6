#ifndef REFERENCE_RULER_H
#define REFERENCE_RULER_H

#include "plan/layout.h"
#include "reference/combine.h"

/* How much of a reading's variance is the ruler's own and shared by all its readings (an
 * estimate). */
#define PV_RULER_SHARED 0.5

/* A nominal length may be off a bar's by so much, mm: inches are typed with few decimals. */
#define PV_RULER_TYPED 0.05

/* Whether each reading's nominal length can be read on the sheet: from one tick to another of a
 * bar of that direction. False, and said with the bars that the sheet has, where one can't. */
bool pv_ruler_readings_fit(const pv_sheet *sheet, const pv_ruler_reading *readings, size_t n,
                           pv_diags *diags);

/* mm of a sheet's longest millimetre bars across and up; 0 where it has none. */
void pv_ruler_longest_bars(const pv_sheet *sheet, double mm[2]);

/* What readings say: along each axis that was measured their mean by weight, with
 * cov(i, k) = PV_RULER_SHARED u_i u_k between any two, relative. No rows where there are none.
 * Impossible readings (see PV_RULER_APART) are not used; `note` names them. Readings along
 * one axis whose chi-squared about their mean is over its limit are said, too, and their mean's
 * uncertainty grows by Birge's ratio, the root of chi-squared by its degrees of freedom. */
pv_evidence pv_ruler_evidence(const pv_ruler_reading *readings, size_t n, pv_text *note);

#endif
