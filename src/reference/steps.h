/* Every straight step along a side of a card: its rims, the ends of its shadow, lines of a pattern.
 *
 * The eye of an edge finder goes for the clearest step, which may be a shadow's end. What is a
 * card's own edge is told by order: from the face outwards, the first thing that shows is the rim.
 */
#ifndef REFERENCE_STEPS_H
#define REFERENCE_STEPS_H

#include "reference/outline.h"

#define PV_STEPS_MAX 6

typedef struct pv_side_step {
    double off, slope;     /* the line, as of the side */
    double u_off, u_slope; /* by the scatter of its places */
    double share;          /* of the side's places that show it */
} pv_side_step;

/* Finds the lines within [-in, +out] mm of a side's present line that at least `share` of its
 * places show, the innermost first; how many. A step counts where it stands out from the noise. */
size_t pv_steps_find(const pv_plane *plane, const pv_pose *pose, const pv_outline_side *side,
                     double in, double out, double share, pv_side_step steps[PV_STEPS_MAX]);

/* How far before a side's line, px, the light first differs from the face's by a twentieth of what
 * it differs by right behind: half the blur of a step by itself, more where another one that is too
 * near to be seen by itself runs ahead of it, or where it is soft. */
double pv_step_lead(const pv_plane *plane, const pv_pose *pose, const pv_outline_side *side);

/* The share of a side's places where right behind its line, within `wide` mm, it is brighter than
 * on both sides: no shadow is, but a light wall between darker things. */
double pv_step_bright(const pv_plane *plane, const pv_pose *pose, const pv_outline_side *side,
                      double wide);

#endif
