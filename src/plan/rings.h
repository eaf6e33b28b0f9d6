/* Breaking the rings of a directed graph by its lightest edges. Private to the plan's order. */
#ifndef PLAN_RINGS_H
#define PLAN_RINGS_H

#include <stdbool.h>
#include <stddef.h>

/* `first` is to come before `then`. */
typedef struct pv_wish {
    size_t first, then;
    size_t weight; /* at least 1 */
    bool given_up;
} pv_wish;

/* How often a ring is looked for before the lightest wish of each ring is given up at once. */
#define PV_RINGS_WORK 2000

/* Gives up wishes until no ring is left: those with the least sum of weights (by trying sums from
 * the least, exactly), unless that takes more than PV_RINGS_WORK; *least says whether the sum is
 * proved the least. n_nodes bounds the wishes' nodes. False where memory ran out. */
bool pv_rings_break(pv_wish *wishes, size_t n, size_t n_nodes, bool *least);

#endif
