/* Positions at the mat's four sides.
 *
 * A position goes to the side that it is nearer to, the lower and the left one where it does not
 * matter. A side with few positions whose texts have room gets parallel dimensions from the mat's
 * corner, the shortest nearest to the mat; another one gets running dimensions: one line from the
 * corner, an arrow at each extension line, and the values in line with those, moved apart where
 * they stand close. The mat's own size stands farthest out, once along each axis. */
#ifndef DRAFTING_LANES_H
#define DRAFTING_LANES_H

#include "drafting/board.h"
#include "drafting/features.h"

typedef struct pv_lane_side {
    int axis;   /* of its positions: 0, x, at the bottom and the top; 1, y, at the left and right */
    bool upper; /* top, right */
    bool whole; /* has the mat's size, too */
    const pv_position **list; /* in order; borrowed from the features */
    size_t n;
    double words;         /* mm, the longest of its texts */
    size_t most_parallel; /* dimensions beside each other, or all of them are running */
} pv_lane_side;

/* Bottom, top, left, right. */
#define PV_LANE_SIDES 4

/* Parallel dimensions on a side at most: more are hard to follow (assumed), and past two they take
 * more room than running ones. */
#define PV_PARALLEL_MAX   4
#define PV_PARALLEL_SMALL 2

typedef struct pv_lanes {
    pv_lane_side side[PV_LANE_SIDES];
    const pv_position **room;
    size_t left_out; /* positions for which there was no room; after pv_lanes_draw */
} pv_lanes;

/* False where memory ran out; drop it either way. */
bool pv_lanes_make(pv_board *board, const pv_features *features, pv_lanes *lanes);
void pv_lanes_drop(pv_lanes *lanes);

/* How far a side's lanes reach from the mat's edge, at a scale. */
double pv_side_depth(pv_board *board, const pv_lane_side *side, double scale);

void pv_lanes_draw(pv_board *board, pv_lanes *lanes);

#endif
