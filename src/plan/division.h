/* How the mat is divided into cells along one axis. */
#ifndef PLAN_DIVISION_H
#define PLAN_DIVISION_H

#include "plan/cost.h"
#include "plan/crosses.h"

/* mm, and a share of the even width: a cell is never made narrower by moving a seam, if it was
 * wider. Labels and crosses need the room. */
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
    int64_t gap;  /* no choice is cheaper than cost - gap; 0 where the choice is proved best */
} pv_placing;

/* Moves the seams of both divisions, which are even, to where they cost least (docs/how/seams.md).
 * Places on which crosses turn out to have no room come last, whatever they cost. axis: the costs
 * of seams along y, and of those along x. False where memory ran out. */
bool pv_place_seams(pv_cost_axis *const axis[2], const pv_scene *scene, pv_division *x,
                    pv_division *y, pv_placing *placing);

#endif
