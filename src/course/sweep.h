/* A robot on its route, step by step: straight ahead, along an arc about the arc's centre, and
 * turning on its pivot where the route has a corner. */
#ifndef COURSE_SWEEP_H
#define COURSE_SWEEP_H

#include "course/convex.h"
#include "course/model.h"

/* mm that any point of the robot moves in a step, at most. Larger steps take less time and give
 * places along the route less exactly. */
#define PV_STEP 10.0

/* In a turn the footprint's corners run on arcs, of which a step has the chord: so far inside the
 * arc, at most. Everything said of the run is exact within this, a tenth of what a robot on wheels
 * repeats. */
#define PV_SWEEP_FLATNESS 0.005 /* mm */

/* The footprint is made smaller by this, so that a robot which stands exactly beside a line doesn't
 * touch it for rounding's sake. */
#define PV_SWEEP_LESS 1e-6 /* mm */

typedef struct pv_pose2 {
    pv_vec at; /* of the pivot */
    double heading;
} pv_pose2;

/* The robot's outline where its pivot stands at `at`, made smaller by `less` on each side. */
void pv_footprint(const pv_robot *robot, pv_vec at, double heading, double less, pv_vec corners[4]);

typedef struct pv_step {
    size_t motion;
    double from, to; /* shares of the motion, 0 to 1 */
    double s, s_end; /* mm along the route */
    pv_convex body;  /* holds the footprint all through the step */
    pv_convex path;  /* of the pivot: a segment, or a point in a turn */
} pv_step;

typedef struct pv_sweep pv_sweep;

/* NULL where memory ran out or the route takes more than `most` steps (both said). The course must
 * outlive it. */
pv_sweep *pv_sweep_new(const pv_course *course, size_t most, pv_diags *diags);
void pv_sweep_free(pv_sweep *sweep);

/* The steps, in order; index below the count. */
size_t pv_sweep_steps(const pv_sweep *sweep);
void pv_sweep_step(const pv_sweep *sweep, size_t index, pv_step *out);
/* What the footprint covers in a part of a step, its beginning up to `part` of 1. */
pv_convex pv_sweep_part(const pv_sweep *sweep, const pv_step *step, double part);

pv_pose2 pv_sweep_end(const pv_sweep *sweep);

#endif
