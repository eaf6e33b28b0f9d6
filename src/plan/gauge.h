/* Gauge marks: four fine crosses P, Q, R and S near a sheet's corners, to be measured between with
 * a ruler. They stand in what is cut away or covered, as the corners of an upright rectangle:
 * P lower left, then counter-clockwise, so that its diagonals are P-R and Q-S. */
#ifndef PLAN_GAUGE_H
#define PLAN_GAUGE_H

#include "plan/layout.h"

/* On a sheet whose tags stand, before its bars: the largest rectangle that the page has room for,
 * clear of the art, the tags, the cut marks' lines and what else stands there; with sides of whole
 * millimetres where the places allow. None where there is no room for one of
 * PV_GAUGE_LEAST both ways. */
void pv_sheet_place_gauge(const pv_plan *plan, pv_sheet *sheet);

#endif
