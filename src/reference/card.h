/* An ID-1 card (ISO/IEC 7810) in the picture: bank cards, most identity cards and driving licences.
 */
#ifndef REFERENCE_CARD_H
#define REFERENCE_CARD_H

#include "reference/combine.h"
#include "reference/ground.h"

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
#define PV_CARD_GRID_U   0.006  /* px */
#define PV_CARD_SQUARE_U 0.0004 /* rad */

/* A wall seen broader than so many px has its upper rim looked for. */
#define PV_CARD_WALL_PX 0.15
/* How well other sides tell the blur of one, relative (an estimate). */
#define PV_CARD_BLUR_U 0.2

/* By how many times one side's transition may be softer than another's. */
#define PV_CARD_SOFT 3.0

/* How far opposite sides may be off parallel: rad, beyond what their scatter explains. */
#define PV_CARD_TURNED 0.003

/* What the print may be off by the card and still be believed: a page shrunk to fit is 6 % off, and
 * no printer stretches one direction more than the other by two per cent. */
#define PV_CARD_SCALE_OFF 0.08
#define PV_CARD_RATIO_OFF 0.02
#define PV_CARD_SKEW_OFF  0.012 /* rad */

/* Finds the best card there is. In a photograph the rim stands over the paper, and is seen the
 * farther out the farther it is from the place under the camera; where the camera looks at a side's
 * wall its upper rim is told from the lower one (reference/rim.h). evidence->rows is 0
 * where there is none. covered gets what the card hides. False where memory ran out. */
bool pv_card_find(const pv_plan *plan, const pv_plane *plane, const pv_pose *pose,
                  const pv_ground *ground, pv_evidence *evidence, pv_covered *covered,
                  pv_text *note);

#endif
