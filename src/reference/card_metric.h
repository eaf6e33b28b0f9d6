/* From a card's outline in the picture to the print's metric. */
#ifndef REFERENCE_CARD_METRIC_H
#define REFERENCE_CARD_METRIC_H

#include "reference/camera.h"
#include "reference/metric.h"
#include "reference/outline.h"

/* ISO/IEC 7810, ID-1. The limits of the size, 85.47 to 85.72 and 53.92 to 54.03 mm, are from
 * memory. Between them the middle is likelier than the ends, because makers aim at it: a triangle
 * (JCGM 100, 4.3.9). Thickness 0.76 +-0.08 mm. */
#define PV_CARD_LONG_OFF      0.13
#define PV_CARD_SHORT_OFF     0.06
#define PV_CARD_THICKNESS     0.76
#define PV_CARD_THICKNESS_OFF 0.08

/* Standard uncertainties of each edge that no scatter shows: of a rim that is rounded or has a burr
 * (an estimate); the level of one half as a fraction of the contrast, as for lines; and how far the
 * angle between a card's edges is from square (an estimate, no source). */
#define PV_CARD_RIM_U    0.020 /* mm */
#define PV_CARD_LEVEL_U  0.01
#define PV_CARD_GRID_U   0.2    /* px: by sharpening, and by the slope of a shadow */
#define PV_CARD_SQUARE_U 0.0004 /* rad */

/* Where nothing tells which rim of a wall was seen, how likely it is the lower one, because the
 * wall looks like the face (an estimate: cores are mostly white, faces are not); and the standard
 * uncertainty, as part of the wall's breadth, at which twice it reaches well over both.
 */
#define PV_CARD_LOWER   (1 / 3.0)
#define PV_CARD_LOWER_U 0.4
#define PV_CARD_FOOT_U                                                                             \
    0.03 /* mm, of the shadow at a foot that looks like its wall (an estimate)                     \
          */

typedef struct pv_card_seen {
    const pv_pose *pose;
    const pv_camera_view *camera;
    pv_outline outline;
    bool rim[4]; /* of each side: it is at the upper rim; else a wall hides which rim was seen */
} pv_card_seen;

/* By how much the upper rim of a side is seen farther out than the lower one, on the paper's plane,
 * mm: with the camera at height h over its foot and the card of thickness t, by t / (h - t) of how
 * far out the side is from the foot; negative where the camera sees the wall. 0 in a scan. */
double pv_card_shift(const pv_card_seen *seen, const pv_outline_side *side);

/* The metric by the card, and its covariance, by differences for each of its causes. Where it isn't
 * known which rim a side is at, half the wall is put right, and half of it is doubt. False where
 * the sides don't make a card. */
bool pv_card_metric(const pv_card_seen *seen, pv_metric *out);

#endif
