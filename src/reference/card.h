/* An ID-1 card (ISO/IEC 7810) in the picture: bank cards, most identity cards and driving licences.
 */
#ifndef REFERENCE_CARD_H
#define REFERENCE_CARD_H

#include "reference/card_metric.h"
#include "reference/combine.h"
#include "reference/ground.h"

/* A wall seen narrower than so many px shows no two steps; and how far the second may be from where
 * it must be, px: those of a thin line seem apart (estimates). */
#define PV_CARD_WALL_PX 1.5
#define PV_CARD_RIM_PX  0.8
/* px: a side whose own place is doubted by more tells nothing of its wall. The wall, a thin line of
 * light, moves the step at its one end by so much of its breadth, or of 2 px. Estimates. */
#define PV_CARD_CLEAR_PX 0.5
#define PV_CARD_LINE_U   0.25
#define PV_CARD_LINE_PX  1.0 /* how far from its middle a narrow line's two steps are seen */

/* Steps are sought so many mm within and without the clearest edge of a side: as far in as the
 * shadow of a lamp at 20 degrees reaches; and count where so many of its places show them. */
#define PV_CARD_STEPS_IN   2.1
#define PV_CARD_STEPS_OUT  0.5
#define PV_CARD_STEP_SHARE 0.4
#define PV_CARD_STEP_CLEAR 0.6 /* one that fewer show is doubted where there is another */
/* px that the beginning of a sharp step lies before it, at most; and by how much those of two sides
 * may differ that are both sharp (estimates). */
#define PV_CARD_LEAD_PX    2.2
#define PV_CARD_LEAD_ALIKE 0.15
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

/* A card by which lengths are worse than this (relative, k = 2) isn't used: the paper's own edges
 * are as good. What has so many round corners but doesn't make a card is said. */
#define PV_CARD_U_MOST         0.012
#define PV_CARD_MISSED_CORNERS 2

/* Finds the best card there is. In a photograph the rim stands over the paper, and is seen the
 * farther out the farther it is from the place under the camera; where the camera looks at a
 * side's wall, which of its rims was seen is told by its steps (reference/steps.h). evidence->rows
 * is 0 where there is none, or one that isn't used: evidence->result.unused, and the note says why.
 * covered gets what the card hides. False where memory ran out. */
bool pv_card_find(const pv_scene *page, const pv_plane *plane, const pv_pose *pose,
                  const pv_ground *ground, pv_evidence *evidence, pv_covered *covered,
                  pv_text *note);

#endif
