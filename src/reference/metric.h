/* What turns nominal lengths of one print into true ones. */
#ifndef REFERENCE_METRIC_H
#define REFERENCE_METRIC_H

#include "pose/pose.h"

/* A print's own geometry, alike all over the sheet: nominal (x, y) lies at
 *     true = (sx x + sy sin(skew) y, sy cos(skew) y)
 * but for a turn, which no length depends on. */
typedef struct pv_metric {
    bool known;            /* both scales; else lengths are nominal, and prove nothing */
    bool has_skew;         /* else it is taken as 0, with an uncertainty to match */
    bool own;              /* it is the image's own, by its resolution and this pose */
    double scale[2], skew; /* true mm per nominal mm along the sheet's x and y; rad */
    double cov[9]; /* of (ln sx, ln sy, skew), row by row, k = 1: the references' part alone,
                      without that of the pose */
    double uneven; /* standard, mm: how far the device misplaces single places, beyond scales and
                      skew */
} pv_metric;

/* Nothing known: true is nominal. */
pv_metric pv_metric_unknown(void);

/* A nominal direction or step in true mm. */
pv_vec pv_metric_true(const pv_metric *metric, pv_vec nominal);

/* Relative standard uncertainty of lengths along a nominal direction, by the references alone. */
double pv_metric_u(const pv_metric *metric, pv_vec nominal);

/* Standard uncertainty, mm, by which an uneven device moves two places that lie so far apart (mm)
 * against each other; what lies near moves along. A line of that length bends by it over sqrt(2).
 */
double pv_metric_u_uneven(const pv_metric *metric, double length);

#endif
