#include "plan/lattice.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>

static const pv_worth never = {INT64_MAX, INT64_MAX};

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
    size_t most_places = 1;
    for (size_t k = 0; k <= n; k++) {
        double before = (double)k, after = (double)(n - k);
        l->lo[k] = whole(fmax(before * l->narrower, -after * l->wider));
        l->hi[k] = whole(fmin(before * l->wider, -after * l->narrower));
        size_t places = (size_t)(l->hi[k] - l->lo[k]) + 1;
        l->first[k + 1] = l->first[k] + places;
        most_places = places > most_places ? places : most_places;
    }
    l->cost = PV_NEW_ARRAY(l->first[n + 1], int64_t);
    l->queue = PV_NEW_ARRAY(most_places, int);
    return l->cost != NULL && l->queue != NULL;
}

void pv_lattice_free(pv_lattice *l)
{
    free(l->cell);
    free(l->lo);
    free(l->hi);
    free(l->first);
    free(l->cost);
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

pv_worth pv_lattice_cell(const pv_lattice *l, int difference)
{
    int64_t d = difference;
    return (pv_worth){l->cell[d - l->narrower], d * d};
}

/* From a place to the best of the next seam's: the cell between them, that place, and what follows.
 */
static pv_worth onwards(const pv_lattice *l, const int64_t *extra, const pv_worth *rest, size_t k,
                        int j, int *next)
{
    pv_worth best = never;
    int from = larger(l->lo[k + 1], j + l->narrower), to = smaller(l->hi[k + 1], j + l->wider);
    size_t index = pv_lattice_index(l, k + 1, from);
    for (int i = from; i <= to; i++, index++) {
        pv_worth w = pv_worth_add(rest[index], pv_lattice_cell(l, i - j));
        w.cost += l->cost[index] + (extra != NULL ? extra[index] : 0);
        if (pv_worth_less(w, best)) {
            best = w;
            *next = i;
        }
    }
    return best;
}

/* Whether all cells cost the same, as they do where none can become a sliver. */
static bool cells_alike(const pv_lattice *l)
{
    for (int i = l->narrower; i < l->wider; i++)
        if (l->cell[i - l->narrower] != l->cell[i + 1 - l->narrower])
            return false;
    return true;
}

/* What seam k at place i costs with all that follows. */
static int64_t all_from(const pv_lattice *l, const int64_t *extra, const pv_worth *rest, size_t k,
                        int i)
{
    size_t index = pv_lattice_index(l, k, i);
    return rest[index].cost + l->cost[index] + (extra != NULL ? extra[index] : 0);
}

/* Of all places of seam k, where cells cost the same whatever their width. The next seam's places
 * that can be reached move on with the place, so that a queue has the cheapest of them first (those
 * that a later one undercuts are dropped), and only those as cheap are compared by unevenness. */
static void rest_of_seam(const pv_lattice *l, const int64_t *extra, pv_worth *rest, size_t k)
{
    size_t first = 0, end = 0;
    int entered = l->lo[k + 1];
    for (int j = l->lo[k]; j <= l->hi[k]; j++) {
        int from = larger(l->lo[k + 1], j + l->narrower);
        int to = smaller(l->hi[k + 1], j + l->wider);
        for (; entered <= to; entered++) {
            int64_t cost = all_from(l, extra, rest, k + 1, entered);
            while (end > first && all_from(l, extra, rest, k + 1, l->queue[end - 1]) > cost)
                end--;
            l->queue[end++] = entered;
        }
        while (first < end && l->queue[first] < from)
            first++;
        pv_worth best = never;
        for (size_t q = first; q < end; q++) {
            int i = l->queue[q];
            int64_t cost = all_from(l, extra, rest, k + 1, i);
            if (q > first && cost + l->cell[0] > best.cost)
                break;
            pv_worth w =
                pv_worth_add(rest[pv_lattice_index(l, k + 1, i)], pv_lattice_cell(l, i - j));
            w.cost = cost + l->cell[0];
            if (pv_worth_less(w, best))
                best = w;
        }
        rest[pv_lattice_index(l, k, j)] = best;
    }
}

void pv_lattice_rest(const pv_lattice *l, const int64_t *extra, pv_worth *rest)
{
    bool alike = cells_alike(l);
    rest[l->first[l->n]] = (pv_worth){0, 0};
    for (size_t k = l->n; k-- > 0;) {
        int next = 0;
        if (alike)
            rest_of_seam(l, extra, rest, k);
        for (int j = l->lo[k]; !alike && j <= l->hi[k]; j++)
            rest[pv_lattice_index(l, k, j)] = onwards(l, extra, rest, k, j, &next);
    }
}

pv_worth pv_lattice_best(const pv_lattice *l, const int64_t *extra, const pv_worth *rest, int *j)
{
    j[0] = 0;
    for (size_t k = 0; k < l->n; k++) {
        j[k + 1] = 0;
        onwards(l, extra, rest, k, j[k], &j[k + 1]);
    }
    return rest[0];
}

pv_worth pv_lattice_worth(const pv_lattice *l, const int64_t *extra, const int *j)
{
    pv_worth sum = {0, 0};
    for (size_t k = 0; k < l->n; k++) {
        size_t index = pv_lattice_index(l, k + 1, j[k + 1]);
        sum = pv_worth_add(sum, pv_lattice_cell(l, j[k + 1] - j[k]));
        sum.cost += l->cost[index] + (extra != NULL ? extra[index] : 0);
    }
    return sum;
}
