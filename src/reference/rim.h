/* Where a card's upper rim is, on a side whose wall the camera sees.
 *
 * Across such a side the light goes from the face over the wall to the ground: two steps, apart by
 * what the card's thickness and the camera's place say. The eye of an edge finder sees one of them,
 * or something between. */
#ifndef REFERENCE_RIM_H
#define REFERENCE_RIM_H

#include "reference/outline.h"

/* What is known before: each a guess and its standard uncertainty, mm and rad. */
typedef struct pv_rim_before {
    double wall, wall_u;   /* how far the lower rim is seen beyond the upper one; positive */
    double blur, blur_u;   /* standard deviation of an edge's blur */
    double slope, slope_u; /* of the rim against the side's present line: by the opposite side */
} pv_rim_before;

/* The light of the wall, of all the picture can show: where nothing tells it, this is how far it is
 * from what lies about it (an estimate). */
#define PV_RIM_LIGHT_U 0.4
/* The ground darkens towards a card's foot, by so much of its light (k = 1; an estimate). */
#define PV_RIM_SHADE_U 0.3
/* A wall that comes out farther from what it must be, in standard uncertainties, is no solution;
 * and from where on either rim is doubted. So it is where the model leaves more than this
 * unexplained. Estimates. */
#define PV_RIM_WALL_MOST    4.0
#define PV_RIM_WALL_DOUBT   2.0
#define PV_RIM_MISFIT_DOUBT 0.06

/* What the model leaves unexplained, as part of the contrast, is so much doubt of the rim's place
 * as part of the wall's breadth (an estimate). */
#define PV_RIM_MISFIT 1.5
/* Samples that lie in so many are taken as one: errors of neighbours are alike (an estimate). */
#define PV_RIM_ALIKE 24.0
/* What of the contrast the model is good to, at best (an estimate). */
#define PV_RIM_MODEL 0.01

/* Where the wall differs from the face or from the ground by less than this part of what those two
 * differ by, only one step is seen, and either rim is doubted; where by less than twice that, how
 * much better a solution explains the picture than another counts by so much less (estimates). */
#define PV_RIM_STEP  0.15
#define PV_RIM_DOUBT 50.0

/* Least squares over all places of a side of
 *     y = f + (w - f) S((e - u) / b) + (g - w) S((e - u - d) / b) + shade
 * with y the luminance, or by how much red or blue exceeds it, at e mm beyond the side's line, f
 * and g that of face and ground at this place, w of the wall, S the normal distribution's integral,
 * b the blur, d the wall's seen breadth, u the upper rim; a straight line u = off + slope s for all
 * places. What is known before counts as measured. It is solved from three starts, with the edge
 * that was seen being the upper rim, the lower rim and between: where more than one of them
 * explains the picture, the result lies between, and its uncertainty spans them.
 *
 * Changes the side's off and slope, and their uncertainties, to those of the upper rim, and gives
 * true; or leaves it, and gives false, where too little of it can be read. */
bool pv_rim_measure(const pv_plane *plane, const pv_pose *pose, const pv_rim_before *before,
                    pv_outline_side *side, bool *memory);

#endif
