/* The cheapest places for the seams in both directions together.
 *
 * Each direction by itself is solved exactly (plan/lattice.h). What couples them is what a corner
 * of four sheets costs, which depends on one seam of each. The search goes through the choices of
 * the first direction, seam by seam, and leaves those that can't become cheaper than the best so
 * far: a choice of some seams costs at least what they and the best of the others cost, and the
 * other direction at least its own optimum with the corners on those seams. It ends with a proof,
 * or when its bound of work is reached, and then says by how much the result might be too dear. */
#ifndef PLAN_COUPLED_H
#define PLAN_COUPLED_H

#include "plan/lattice.h"

#define PV_COUPLED_WORK 20000000.0 /* steps of dynamic programming; about 0.05 s */

/* Adds to extra[] what corners cost where seam k of one direction at place j meets each place of
 * the other. `of_first` tells which direction k is of. False where memory ran out. */
typedef bool pv_corner_costs(void *context, bool of_first, size_t k, int j, int64_t *extra);

typedef struct pv_coupled {
    const pv_lattice *axis[2];
    pv_corner_costs *corners;
    void *context;
    double work; /* PV_COUPLED_WORK */
} pv_coupled;

typedef struct pv_choice {
    int *j[2]; /* j[d][0] to j[d][n]; the caller's */
    pv_worth worth;
    /* No choice is cheaper than worth.cost - gap; 0 where that is proved. `proved` counts
     * unevenness too. */
    int64_t gap;
    bool proved;
} pv_choice;

/* False where memory ran out. */
bool pv_coupled_solve(const pv_coupled *coupled, pv_choice *choice);

#endif
