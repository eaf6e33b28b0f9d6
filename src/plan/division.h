/* How the mat is divided into cells along one axis. */
#ifndef PLAN_DIVISION_H
#define PLAN_DIVISION_H

#include "plan/crosses.h"

/* mm: a cell is never made narrower by moving a seam, if it was wider. */
#define PV_CELL_MIN    40.0
#define PV_SEAM_STEP   0.5 /* mm, seams are moved by multiples of it */
#define PV_SEAM_ROUNDS 3

/* n cells between at[0] = 0 and at[n] = the mat's length. */
typedef struct pv_division {
    size_t n;
    double *at;
    double most; /* mm, the widest cell that the paper takes */
} pv_division;

/* Cells of equal size: at[k] = length * k / n exactly. False where memory ran out. */
bool pv_divide(pv_division *d, double length, size_t n, double most);

/* Seams on which crosses can't be clear where they are (they run along a line's edge) are moved by
 * the least amount, within what the paper leaves, that allows them; the others stay. Seams in both
 * directions are looked at in turn, since the crosses of one keep off the other. False where memory
 * ran out. */
bool pv_settle_seams(const pv_layers *scene, pv_division *x, pv_division *y);

#endif
