/* How the mat is divided into cells, and where the seams between them lie.
 *
 * Seams run straight across the whole mat, so that there are two directions of them, and each has
 * as many as the fewest sheets need. What is left of the paper moves them.
 *
 * Every seam has places half a millimetre apart (plan/lattice.h). What a place costs by itself is
 * known beforehand (plan/cost.h): along the edge of a line, through the start mark, and so on. A
 * cell costs as a sliver by its width. For one direction by itself the cheapest choice of all is
 * found by dynamic programming, exactly.
 *
 * Two things depend on both directions. A corner of four sheets costs where it lies on a line. And
 * a stretch of seam between two corners must have room for alignment crosses (plan/crosses.h);
 * one that has none costs more than everything else. Where the seams of one direction stay as
 * they are, both are costs of the other's places. So each direction is settled in turn around the
 * other, from either direction first, as long as that helps. Then single seams are nudged, with
 * the others settled around them, since along a slanting line both directions must move at once.
 *
 * Looking for room is dear, so it is looked for only where a seam would be put: settle a direction,
 * look at the places chosen, note those without room and the ones beside them that have none
 * either, settle again. docs/how/seams.md says what each of these steps is worth, and how near to
 * the best of all choices it comes. */
#ifndef PLAN_DIVISION_H
#define PLAN_DIVISION_H

#include "plan/cost.h"
#include "plan/crosses.h"

/* mm, and a share of the even width: a cell is never made narrower by moving a seam, if it was
 * wider. Labels and crosses need the room; assumed: that this is enough for both, and that nobody
 * wants sheets that differ by more. */
#define PV_CELL_MIN   40.0
#define PV_CELL_SHARE 0.7

/* n cells between at[0] = 0 and at[n] = the mat's length. */
typedef struct pv_division {
    size_t n;
    double *at;
    double most; /* mm, the widest cell that the paper takes */
} pv_division;

/* Cells of equal size: at[k] = length * k / n exactly. False where memory ran out. */
bool pv_divide(pv_division *d, double length, size_t n, double most);

/* The widths, mm, of the narrowest cell allowed and of the widest that costs as a sliver. */
double pv_cell_least(double even);
double pv_cell_sliver(double even);
/* What a cell of that width costs as a sliver, in tenths. */
int64_t pv_cell_cost(double width, double even);

/* What was found out by placing the seams. */
typedef struct pv_placing {
    size_t blind; /* stretches on which the rules of crosses can't be kept */
    int64_t cost; /* in tenths, without those */
    int64_t gap;  /* no choice is cheaper than cost - gap; another may have fewer blind ones */
} pv_placing;

/* Moves the seams of both divisions, which are even, to where they cost least (docs/how/seams.md).
 * Places on which crosses turn out to have no room come last, whatever they cost. axis: the costs
 * of seams along y, and of those along x. False where memory ran out. */
bool pv_place_seams(pv_cost_axis *const axis[2], const pv_scene *scene, pv_division *x,
                    pv_division *y, pv_placing *placing);

#endif
