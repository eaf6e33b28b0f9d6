/* One way of laying the mat on the paper. */
#ifndef PLAN_LAYING_H
#define PLAN_LAYING_H

#include "plan/layout.h"

typedef struct pv_laying {
    double page[2];   /* mm, as printed; on a roll, its length is settled when the cells stand */
    double margin[4]; /* mm, of the page as printed */
    double most[2];   /* mm, the largest cell: width, height */
    double n[2];      /* columns, rows */
    double seams;     /* mm, all seams together */
    pv_strips strips;
    bool lies; /* on a roll: it runs along x */
} pv_laying;

/* mm: the strips on both sides of a cell, save borders. */
double pv_laying_strips(const pv_plan *plan);

/* How many cells a side of the mat makes where so much is printable, and the largest that a cell
 * may be: a single one has the border on both its sides, one of several on one side at most. No
 * cell fits where *most is below PV_CELL_MIN. */
double pv_laying_cells(const pv_plan *plan, double side, double printable, double *most);

#endif
