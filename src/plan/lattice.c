#include "plan/lattice.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>

static int whole(double steps)
{
    return (int)fmin(fmax(steps, -1e8), 1e8);
}

static int larger(int a, int b)
{
    return a > b ? a : b;
}

static int smaller(int a, int b)
{
    return a < b ? a : b;
}

/* Differences of j that the cells' widths allow, with a step that keeps places few. */
static void set_steps(pv_lattice *l, double least, double most)
{
    double even = l->length / (double)l->n, cells = (double)l->n;
    double window = fmin(cells * fmax(most - even, 0), l->length);
    l->step = PV_LATTICE_STEP * fmax(ceil(window / (PV_LATTICE_STEP * PV_LATTICE_PLACES)), 1);
    /* A width that fits but for rounding fits. */
    l->wider = larger(whole(floor((most - even) / l->step + 1e-9)), 0);
    l->narrower = smaller(whole(ceil((least - even) / l->step - 1e-9)), 0);
}

bool pv_lattice_make(pv_lattice *l, size_t n, double length, double least, double most)
{
    *l = (pv_lattice){.n = n, .length = length};
    set_steps(l, least, most);
    l->cell = PV_NEW_ARRAY((size_t)(l->wider - l->narrower) + 1, int64_t);
    l->lo = PV_NEW_ARRAY(n + 1, int);
    l->hi = PV_NEW_ARRAY(n + 1, int);
    l->first = PV_NEW_ARRAY(n + 2, size_t);
    if (l->cell == NULL || l->lo == NULL || l->hi == NULL || l->first == NULL)
        return false;
    for (size_t k = 0; k <= n; k++) {
        double before = (double)k, after = (double)(n - k);
        l->lo[k] = whole(fmax(before * l->narrower, -after * l->wider));
        l->hi[k] = whole(fmin(before * l->wider, -after * l->narrower));
        l->first[k + 1] = l->first[k] + (size_t)(l->hi[k] - l->lo[k]) + 1;
    }
    size_t size = pv_lattice_size(l);
    l->cost = PV_NEW_ARRAY(size, int64_t);
    l->extra = PV_NEW_ARRAY(size, int64_t);
    l->rest = PV_NEW_ARRAY(size, pv_worth);
    l->queue = PV_NEW_ARRAY(size, int);
    return l->cost != NULL && l->extra != NULL && l->rest != NULL && l->queue != NULL;
}

void pv_lattice_free(pv_lattice *l)
{
    free(l->cell);
    free(l->lo);
    free(l->hi);
    free(l->first);
    free(l->cost);
    free(l->extra);
    free(l->rest);
    free(l->queue);
    *l = (pv_lattice){0};
}

double pv_lattice_place(const pv_lattice *l, size_t k, int j)
{
    return k == l->n ? l->length : l->length * (double)k / (double)l->n + l->step * j;
}

size_t pv_lattice_index(const pv_lattice *l, size_t k, int j)
{
    return l->first[k] + (size_t)(j - l->lo[k]);
}

size_t pv_lattice_size(const pv_lattice *l)
{
    return l->first[l->n + 1];
}

pv_worth pv_worth_add(pv_worth a, pv_worth b)
{
    return (pv_worth){a.cost + b.cost, a.uneven + b.uneven};
}

bool pv_worth_less(pv_worth a, pv_worth b)
{
    return a.cost < b.cost || (a.cost == b.cost && a.uneven < b.uneven);
}

static bool within(const pv_lattice *l, int difference)
{
    return difference >= l->narrower && difference <= l->wider;
}

bool pv_lattice_allows(const pv_lattice *l, const int *j, size_t k)
{
    return j[k] >= l->lo[k] && j[k] <= l->hi[k] && within(l, j[k] - j[k - 1]) &&
           within(l, j[k + 1] - j[k]);
}

static pv_worth cell_worth(const pv_lattice *l, int difference)
{
    int64_t d = difference;
    return (pv_worth){l->cell[d - l->narrower], d * d};
}

/* From seam k at place j by way of the next one at i, if that is better than the best so far. */
static void go_by(const pv_lattice *l, size_t k, int j, int i, pv_worth *best, int *next)
{
    pv_worth w = pv_worth_add(l->rest[pv_lattice_index(l, k + 1, i)], cell_worth(l, i - j));
    if (pv_worth_less(w, *best) || (!pv_worth_less(*best, w) && i < *next)) {
        *best = w;
        *next = i;
    }
}

/* The least difference from which on all wider cells cost the same: those that are no slivers. */
static int first_alike(const pv_lattice *l)
{
    int d = l->wider;
    while (d > l->narrower && l->cell[d - 1 - l->narrower] == l->cell[l->wider - l->narrower])
        d--;
    return d;
}

/* Of all places of seam k. The next seam's places that can be reached with cells that cost the same
 * move on with the place, so that a queue has the cheapest of them first (those that a later one
 * undercuts are dropped), and only those as cheap are compared by unevenness. Slivers are tried one
 * by one. */
static void fill_rest(pv_lattice *l, size_t k, int alike)
{
    size_t first = 0, end = 0;
    int lo = l->lo[k + 1], hi = l->hi[k + 1], entered = lo, next = 0;
    const pv_worth *after = l->rest + l->first[k + 1];
    for (int j = l->lo[k]; j <= l->hi[k]; j++) {
        int from = larger(lo, j + alike), to = smaller(hi, j + l->wider);
        for (; entered <= to; entered++) {
            while (end > first && after[l->queue[end - 1] - lo].cost > after[entered - lo].cost)
                end--;
            l->queue[end++] = entered;
        }
        while (first < end && l->queue[first] < from)
            first++;
        pv_worth best = {INT64_MAX, INT64_MAX};
        size_t q = first;
        for (; q < end && after[l->queue[q] - lo].cost == after[l->queue[first] - lo].cost; q++)
            go_by(l, k, j, l->queue[q], &best, &next);
        int i = larger(lo, j + l->narrower), slivers = smaller(from, hi + 1);
        l->work += (double)(q - first) + larger(slivers - i, 0);
        for (; i < slivers; i++)
            go_by(l, k, j, i, &best, &next);
        size_t index = pv_lattice_index(l, k, j);
        best.cost += l->cost[index] + l->extra[index];
        l->rest[index] = best;
    }
}

pv_worth pv_lattice_solve(pv_lattice *l, int *j)
{
    int alike = first_alike(l);
    l->rest[l->first[l->n]] = (pv_worth){0, 0};
    for (size_t k = l->n; k-- > 0;)
        fill_rest(l, k, alike);
    j[0] = 0;
    for (size_t k = 0; k < l->n; k++) {
        pv_worth best = {INT64_MAX, INT64_MAX};
        int to = smaller(l->hi[k + 1], j[k] + l->wider);
        j[k + 1] = to;
        for (int i = larger(l->lo[k + 1], j[k] + l->narrower); i <= to; i++)
            go_by(l, k, j[k], i, &best, &j[k + 1]);
    }
    return l->rest[0];
}

pv_worth pv_lattice_worth(const pv_lattice *l, const int *j)
{
    pv_worth sum = {0, 0};
    for (size_t k = 0; k < l->n; k++) {
        sum = pv_worth_add(sum, cell_worth(l, j[k + 1] - j[k]));
        sum.cost += l->cost[pv_lattice_index(l, k + 1, j[k + 1])];
    }
    return sum;
}
