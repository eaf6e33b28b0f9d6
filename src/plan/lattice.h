/* The places that the seams in one direction may have, and the cheapest choice among them.
 *
 * Of n cells, seam k (1 to n - 1) stands at length k / n + step j_k, with a whole number j_k: the
 * even division is j = 0 throughout. j_0 = j_n = 0 are the mat's edges. Cell k is j_k - j_(k-1)
 * steps wider than the even one, so that the paper and the least width of a cell bound nothing but
 * that difference. */
#ifndef PLAN_LATTICE_H
#define PLAN_LATTICE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* mm: finer than anybody cuts; or a multiple, so that a seam has no more places than the next,
 * which bounds time and memory on mats of tens of metres. */
#define PV_LATTICE_STEP   0.5
#define PV_LATTICE_PLACES 2000

/* Compared by cost, then by unevenness: the sum of squares of (j_k - j_(k-1)) over all cells. */
typedef struct pv_worth {
    int64_t cost, uneven;
} pv_worth;

typedef struct pv_lattice {
    size_t n; /* cells */
    double length, step;
    int narrower, wider; /* the least and largest j_k - j_(k-1); <= 0 and >= 0 */
    int64_t *cell;       /* cost of a cell by that difference, from `narrower` */
    int *lo, *hi;        /* of j_k, by k from 0 to n */
    size_t *first;       /* where seam k's places begin in `cost`; first[n + 1] is the number */
    int64_t *cost;       /* of each place by itself, to be filled by the user; zero at first */
    int64_t *extra;      /* added to that because of the other direction's seams */
    pv_worth *rest;      /* scratch: of each place with all that follows it */
    int *queue;          /* scratch: a seam's places */
    double work;         /* choices that were compared, in all */
} pv_lattice;

/* Cells of at most `most` and at least `least` mm; the even width is within both but for rounding.
 * The user fills `cost` and `cell`. False where memory ran out; free it either way. */
bool pv_lattice_make(pv_lattice *l, size_t n, double length, double least, double most);
void pv_lattice_free(pv_lattice *l);

double pv_lattice_place(const pv_lattice *l, size_t k, int j);
size_t pv_lattice_index(const pv_lattice *l, size_t k, int j); /* into `cost` and `extra` */
size_t pv_lattice_size(const pv_lattice *l);
/* Whether seam k may stand where j has it, beside its neighbours. */
bool pv_lattice_allows(const pv_lattice *l, const int *j, size_t k);

pv_worth pv_worth_add(pv_worth a, pv_worth b);
bool pv_worth_less(pv_worth a, pv_worth b);

/* The best choice, into j[0] to j[n]: exact, by dynamic programming from the last seam to the
 * first. Of equals the one whose first seams stand nearest to the mat's origin. */
pv_worth pv_lattice_solve(pv_lattice *l, int *j);
/* Of any choice, without `extra`. */
pv_worth pv_lattice_worth(const pv_lattice *l, const int *j);

#endif
