/* An ID-1 card (ISO/IEC 7810) in the picture: bank cards, most identity cards and driving licences.
 */
#ifndef REFERENCE_CARD_H
#define REFERENCE_CARD_H

#include "reference/card_metric.h"
#include "reference/combine.h"
#include "reference/ground.h"

/* A wall seen broader than so many px has its upper rim looked for. */
#define PV_CARD_WALL_PX 0.15
/* How well other sides tell the blur of one, relative (an estimate). */
#define PV_CARD_BLUR_U 0.2

/* By how many times one side's transition may be softer than the sharpest, in px, besides what its
 * wall makes of it. */
#define PV_CARD_SOFT 1.8

/* How far opposite sides may be off parallel: rad, beyond what their scatter explains. */
#define PV_CARD_TURNED 0.003
/* mm of a wall that may be taken for the rim from one end of a side to the other. */
#define PV_CARD_WALL_MIXED 0.3

/* What the print may be off by the card and still be believed (estimates): a page shrunk to fit is
 * 6 % off, and printers stretch one direction more than the other by some tenths of a per cent. A
 * print that is off by no more than PV_CARD_NEAR may be off by PV_CARD_RATIO_NEAR between its
 * directions; another only by PV_CARD_RATIO_FAR, because a playing card of bridge size, 88.9 x
 * 57.2 mm, looks like a card on a print at 95 % that is off by 1.9 %. At first, when it isn't known
 * yet which rim of a side was seen, by PV_CARD_RATIO_FIRST. */
#define PV_CARD_SCALE_OFF   0.08
#define PV_CARD_NEAR        0.02
#define PV_CARD_RATIO_FIRST 0.025
#define PV_CARD_RATIO_NEAR  0.022
#define PV_CARD_RATIO_FAR   0.012
#define PV_CARD_SKEW_OFF    0.007 /* rad */

/* Finds the best card there is. In a photograph the rim stands over the paper, and is seen the
 * farther out the farther it is from the place under the camera; where the camera looks at a
 * side's wall its upper rim is told from the lower one (reference/rim.h). evidence->rows is 0
 * where there is none. covered gets what the card hides. False where memory ran out. */
bool pv_card_find(const pv_scene *page, const pv_plane *plane, const pv_pose *pose,
                  const pv_ground *ground, pv_evidence *evidence, pv_covered *covered,
                  pv_text *note);

#endif
