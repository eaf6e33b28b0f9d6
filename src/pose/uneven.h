/* What a fit leaves systematically: a sheet that isn't flat, or a print not true within itself. */
#ifndef POSE_UNEVEN_H
#define POSE_UNEVEN_H

#include "pose/fit.h"

/* mm. The sights, sorted by group and with their residuals, are taken by areas of PV_UNEVEN_AREA
 * and by what they tell, x or y of the sheet. Each such cell's middle residual counts once; the
 * root of the mean of their squares is the value, after what the sights' own errors make of a
 * middle is taken off, and what the map's unknowns hide of it put on. Middles are medians, of those
 * thrown out as outliers too: where a sheet isn't flat whole cells are. False where memory ran out.
 */
bool pv_uneven(const pv_sight *sights, size_t n, const pv_pose *pose, double *uneven);

#endif
