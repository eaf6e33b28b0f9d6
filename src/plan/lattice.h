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

#define PV_LATTICE_STEP   0.5  /* mm, or a multiple where a seam would have more places than: */
#define PV_LATTICE_PLACES 2000 /* what seam has, at most */

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
    int64_t *cost;       /* of each place, to be filled by the user; zero at first */
    int *queue;          /* scratch of pv_lattice_rest, a seam's places */
} pv_lattice;

/* Cells of at most `most` and at least `least` mm; the even width is within both but for rounding.
 * The user fills `cost` and `cell`. False where memory ran out; free it either way. */
bool pv_lattice_make(pv_lattice *l, size_t n, double length, double least, double most);
void pv_lattice_free(pv_lattice *l);

double pv_lattice_place(const pv_lattice *l, size_t k, int j);
size_t pv_lattice_index(const pv_lattice *l, size_t k, int j); /* into `cost` */
size_t pv_lattice_size(const pv_lattice *l);
pv_worth pv_worth_add(pv_worth a, pv_worth b);
bool pv_worth_less(pv_worth a, pv_worth b);
/* Of one cell's difference. */
pv_worth pv_lattice_cell(const pv_lattice *l, int difference);

/* For each place the worth of the best choice for all that follows it: the cells after it and the
 * seams after it, without its own cost; `extra` (or NULL) is added to `cost`. rest[] has one for
 * each place. Exact, by dynamic programming from the last seam to the first. */
void pv_lattice_rest(const pv_lattice *l, const int64_t *extra, pv_worth *rest);
/* The best choice, into j[0] to j[n], given rest; gives its worth. Of equals the one whose first
 * seams stand nearest to the mat's origin. */
pv_worth pv_lattice_best(const pv_lattice *l, const int64_t *extra, const pv_worth *rest, int *j);
/* Of any choice. */
pv_worth pv_lattice_worth(const pv_lattice *l, const int64_t *extra, const int *j);

#endif
