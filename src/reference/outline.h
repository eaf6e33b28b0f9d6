/* A rectangle that lies on the sheet, measured to a fraction of a pixel: four straight edges. */
#ifndef REFERENCE_OUTLINE_H
#define REFERENCE_OUTLINE_H

#include "image/profile.h"
#include "reference/rectangle.h"

/* Side k runs from corner k to corner k + 1; the inside is at its left. Its edge is at
 *     middle + s along + (off + slope s) out */
typedef struct pv_outline_side {
    pv_vec middle, along, out; /* sheet mm; unit vectors */
    double half;               /* mm from the middle to a corner */
    double off, slope;
    /* Standard uncertainties: by the scatter of the places that were kept, times the root of how
     * many there are to one that was kept (an estimate). */
    double u_off, u_slope;
    double rms;  /* mm, of the places that were kept, by their weight */
    double soft; /* mm in which the transition takes place: 1 / its slope */
    size_t places, kept;
    double ahead; /* mm that it was moved in, for what may run ahead of its step (card.c) */
} pv_outline_side;

typedef struct pv_outline {
    pv_outline_side side[4];
} pv_outline;

#define PV_OUTLINE_PITCH  1.0  /* mm between places along a side */
#define PV_OUTLINE_ENDS   5.0  /* mm at a side's ends that are left out: the corners are round */
#define PV_OUTLINE_BAND   0.45 /* mm to each side of a place, averaged over */
#define PV_OUTLINE_KEPT   0.30 /* share of a side's places that must lie on one line */
#define PV_OUTLINE_SPREAD 0.40 /* share of a side's length from the first of these to the last */
#define PV_OUTLINE_RMS    0.10 /* mm, and PV_OUTLINE_RMS_PX px: more is no card's edge */
#define PV_OUTLINE_RMS_PX 0.30

/* Errors of neighbouring places are taken as alike over so many of them (an estimate). */
#define PV_OUTLINE_ALIKE 3.0

/* Where a profile across a side lies: its centre on the side's line, px; the way out; px per mm. */
typedef struct pv_outline_cut {
    pv_vec centre, across;
    double px;
} pv_outline_cut;

/* The profile across a side at s, +-half mm and some more, averaged over PV_OUTLINE_BAND. */
bool pv_outline_profile(const pv_plane *plane, const pv_pose *pose, const pv_outline_side *side,
                        double s, double half, pv_profile *out, pv_outline_cut *cut);

/* Measures one side from its middle, along, out and half, where its places leave `most` mm (RMS) at
 * most. */
bool pv_outline_measure_side(const pv_plane *plane, const pv_pose *pose, double near, double most,
                             pv_outline_side *side);

/* A side between two corners, not measured. */
pv_outline_side pv_outline_side_of(pv_vec from, pv_vec to);

/* Measures all four sides, first within +-`near` mm of where they are thought to be, then closely;
 * most: for each, as above. How many are there: of 3, the fourth stays where it is thought to be,
 * its `kept` 0; fewer say nothing. */
size_t pv_outline_measure(const pv_plane *plane, const pv_pose *pose, const pv_vec corner[4],
                          double near, const double most[4], pv_outline *out);

/* Where its sides meet: corner k is the beginning of side k. `off` is added to each side's own. */
void pv_outline_corners(const pv_outline *outline, const double off[4], pv_vec corner[4]);

/* How many corners are seen to be rounded as a card's are, and alike: the edge crosses the corner's
 * bisector at (sqrt(2) - 1) r from where the sides meet, for all corners but for
 * PV_CARD_CORNERS_ALIKE mm and `doubt` of each. Where one side is wrong by d, its corners are off
 * by d / sqrt(2). */
#define PV_CARD_RADIUS        3.18 /* mm; ISO/IEC 7810 has 2.88 to 3.48 */
#define PV_CARD_RADIUS_OFF    1.2  /* mm, how far the radius may be off as seen */
#define PV_CARD_CORNERS_ALIKE 0.15 /* mm */
int pv_outline_round_corners(const pv_plane *plane, const pv_pose *pose, const pv_outline *outline,
                             const double doubt[4]);

#endif
