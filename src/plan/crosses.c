#include "plan/crosses.h"

#include "base/memory.h"

#include <stdlib.h>

#define HALF (PV_CROSS_ARM + PV_CROSS_CLEAR)
/* How much room a place has, in steps of HALF / CLEARANCES; all of them: it is clear. */
#define CLEARANCES 7
#define UNKNOWN    (-1)
#define PITCH_AIM  (0.9 * PV_CROSS_PITCH) /* leaves room to move */

/* A place that might carry a cross, and the best way to it from the seam's start: `cost[k]` with k
 * crosses before it, none or any number. */
typedef struct place {
    double along;
    int clearance; /* UNKNOWN until looked at */
    double cost[2];
    size_t before[2]; /* SIZE_MAX: the first */
    int before_k[2];
} place;

typedef struct lattice {
    place *places;
    size_t n;
    double from, to;
    double end, pitch; /* what evenly spread crosses would have */
} lattice;

pv_box pv_cross_box(const pv_stretch *stretch, double along, double half)
{
    pv_vec c = stretch->vertical ? pv_v(stretch->at, along) : pv_v(along, stretch->at);
    return pv_box_grow((pv_box){c, c}, half);
}

/* Evenly spread over what the ends leave, both ends included. */
static bool lattice_make(lattice *l, const pv_stretch *stretch)
{
    double length = stretch->to - stretch->from;
    double end = length >= 2 * (PV_CROSS_END + HALF) ? PV_CROSS_END : fmin(HALF, length / 2);
    double span = fmax(length - 2 * end, 0);
    size_t steps = (size_t)ceil(span / PV_CROSS_STEP);
    l->n = steps + 1;
    l->places = PV_NEW_ARRAY(l->n, place);
    if (l->places == NULL)
        return false;
    for (size_t i = 0; i < l->n; i++)
        l->places[i].along =
            stretch->from + end + (steps > 0 ? span * (double)i / (double)steps : 0);
    for (size_t i = 0; i < l->n; i++)
        l->places[i].clearance = UNKNOWN;
    l->from = stretch->from;
    l->to = stretch->to;
    l->end = fmin(fmax(length / 6, end), 25);
    double pitches = fmax(ceil((length - 2 * l->end) / PITCH_AIM), 1);
    l->pitch = fmax((length - 2 * l->end) / pitches, PV_CROSS_STEP);
    return true;
}

static int clearance(const pv_layers *scene, const pv_stretch *stretch, double along, int least)
{
    for (int c = CLEARANCES; c >= least; c--) {
        size_t colour;
        if (pv_layers_plain(scene, pv_cross_box(stretch, along, HALF * c / CLEARANCES), &colour))
            return c;
    }
    return 0;
}

static double unevenness(double gap, double aim, double pitch)
{
    return (gap - aim) * (gap - aim) / (pitch * pitch);
}

/* A cross that is not clear costs more than any unevenness could. */
static double place_cost(const place *p)
{
    return p->clearance == CLEARANCES ? 0 : 1e4 * (CLEARANCES + 1 - p->clearance);
}

static void reach(place *p, int k, double cost, size_t before, int before_k)
{
    if (cost < p->cost[k]) {
        p->cost[k] = cost;
        p->before[k] = before;
        p->before_k[k] = before_k;
    }
}

/* The cheapest chain of places with clearance at least `least`: its last place in *last, with its
 * k. False where there is none that keeps to the distances. */
static bool best_chain(const lattice *l, int least, size_t *last, int *last_k)
{
    double best = HUGE_VAL;
    for (size_t j = 0; j < l->n; j++) {
        place *p = &l->places[j];
        p->cost[0] = p->cost[1] = HUGE_VAL;
        if (p->clearance < least)
            continue;
        double own = place_cost(p);
        if (p->along - l->from <= PV_CROSS_PITCH)
            reach(p, 0, own + unevenness(p->along - l->from, l->end, l->pitch), SIZE_MAX, 0);
        for (size_t i = j; i-- > 0;) {
            const place *q = &l->places[i];
            double gap = p->along - q->along;
            if (gap > PV_CROSS_PITCH)
                break;
            if (gap < 2 * HALF)
                continue;
            int before = q->cost[0] <= q->cost[1] ? 0 : 1;
            if (q->cost[before] < p->cost[1]) /* no step costs less than nothing */
                reach(p, 1, q->cost[before] + (own + unevenness(gap, l->pitch, l->pitch)), i,
                      before);
        }
        double rest = l->to - p->along;
        double whole = p->cost[1] + unevenness(rest, l->end, l->pitch);
        if (rest <= PV_CROSS_PITCH && whole < best) {
            best = whole;
            *last = j;
            *last_k = 1;
        }
    }
    return best < HUGE_VAL;
}

static void measure(const pv_layers *scene, const pv_stretch *stretch, const lattice *l, int least)
{
    for (size_t i = 0; i < l->n; i++)
        if (l->places[i].clearance < CLEARANCES)
            l->places[i].clearance = clearance(scene, stretch, l->places[i].along, least);
}

static bool is_clear(const pv_layers *scene, const pv_stretch *stretch, place *p)
{
    if (p->clearance == UNKNOWN)
        p->clearance = clearance(scene, stretch, p->along, CLEARANCES);
    return p->clearance == CLEARANCES;
}

/* The last clear place from `lo` to `hi`, or SIZE_MAX. */
static size_t last_clear(const pv_layers *scene, const pv_stretch *stretch, const lattice *l,
                         double lo, double hi)
{
    double step = l->n > 1 ? l->places[1].along - l->places[0].along : 0;
    double past = step > 0 ? floor((hi - l->places[0].along) / step) + 2 : 1;
    size_t n = past < (double)l->n ? (size_t)fmax(past, 0) : l->n;
    for (size_t i = n; i-- > 0 && l->places[i].along >= lo;)
        if (l->places[i].along <= hi && is_clear(scene, stretch, &l->places[i]))
            return i;
    return SIZE_MAX;
}

typedef enum answer { NO, YES, PERHAPS } answer;

/* Always going as far as the pitch allows looks at few places. Where that fails it proves that no
 * other choice could do, unless a place too close to the last one might have led further. */
static answer hop_through(const pv_layers *scene, const pv_stretch *stretch, const lattice *l)
{
    size_t at = last_clear(scene, stretch, l, l->from, l->from + PV_CROSS_PITCH);
    if (at == SIZE_MAX)
        return NO;
    if (l->to - l->places[at].along <= PV_CROSS_PITCH) {
        double before = l->places[at].along - 2 * HALF;
        return last_clear(scene, stretch, l, l->from, before) != SIZE_MAX ? YES : PERHAPS;
    }
    while (l->to - l->places[at].along > PV_CROSS_PITCH) {
        double here = l->places[at].along;
        size_t next = last_clear(scene, stretch, l, here + 2 * HALF, here + PV_CROSS_PITCH);
        if (next == SIZE_MAX)
            return last_clear(scene, stretch, l, here + PV_CROSS_STEP / 4, here + 2 * HALF) ==
                           SIZE_MAX
                       ? NO
                       : PERHAPS;
        at = next;
    }
    return YES;
}

pv_layers *pv_crosses_scene(const pv_layers *scene, const pv_stretch *stretch)
{
    pv_box from = pv_cross_box(stretch, stretch->from, HALF);
    pv_box to = pv_cross_box(stretch, stretch->to, HALF);
    return pv_layers_near(scene, pv_box_add(pv_box_add(from, to.lo), to.hi));
}

static bool possible_on(const pv_layers *scene, const pv_stretch *stretch, bool *possible)
{
    lattice l;
    *possible = false;
    if (!lattice_make(&l, stretch))
        return false;
    answer quick = hop_through(scene, stretch, &l);
    *possible = quick == YES;
    if (quick == PERHAPS) {
        size_t last = 0;
        int k = 0;
        measure(scene, stretch, &l, CLEARANCES);
        *possible = best_chain(&l, CLEARANCES, &last, &k);
    }
    free(l.places);
    return true;
}

bool pv_crosses_possible(const pv_layers *scene, const pv_stretch *stretch, bool *possible)
{
    pv_layers *near = pv_crosses_scene(scene, stretch);
    bool good = near != NULL && possible_on(near, stretch, possible);
    pv_layers_free(near);
    return good;
}

/* Where evenly spread places are all clear, there is nothing to choose. */
static bool even_chain(const pv_layers *scene, const pv_stretch *stretch, const lattice *l,
                       size_t *last)
{
    double step = l->n > 1 ? l->places[1].along - l->places[0].along : 0;
    size_t n = (size_t)lround((l->to - l->from - 2 * l->end) / l->pitch) + 1, before = SIZE_MAX;
    if (n < 2 || !(step > 0))
        return false;
    for (size_t i = 0; i < n; i++) {
        double aim = l->from + l->end + (double)i * l->pitch;
        double index = round((aim - l->places[0].along) / step);
        if (!(index >= 0 && index < (double)l->n))
            return false;
        size_t at = (size_t)index;
        double gap =
            before == SIZE_MAX ? PV_CROSS_PITCH : l->places[at].along - l->places[before].along;
        if (gap < 2 * HALF || gap > PV_CROSS_PITCH || !is_clear(scene, stretch, &l->places[at]))
            return false;
        l->places[at].before[0] = before;
        l->places[at].before_k[0] = 0;
        before = at;
    }
    *last = before;
    return true;
}

static bool take_chain(const lattice *l, size_t last, int k, pv_cross_places *places)
{
    size_t n = 0;
    int at_k = k;
    for (size_t i = last; i != SIZE_MAX; n++) {
        const place *p = &l->places[i];
        i = p->before[at_k];
        at_k = p->before_k[at_k];
    }
    places->along = PV_NEW_ARRAY(n, double);
    if (places->along == NULL)
        return false;
    places->n = n;
    places->unclear = 0;
    at_k = k;
    for (size_t i = last; i != SIZE_MAX;) {
        const place *p = &l->places[i];
        places->along[--n] = p->along;
        places->unclear += p->clearance < CLEARANCES;
        i = p->before[at_k];
        at_k = p->before_k[at_k];
    }
    return true;
}

/* On a seam too short for two crosses, one in the middle. */
static bool take_middle(lattice *l, const pv_layers *scene, const pv_stretch *stretch,
                        pv_cross_places *places)
{
    place *p = &l->places[l->n / 2];
    p->along = (stretch->from + stretch->to) / 2;
    p->clearance = clearance(scene, stretch, p->along, 1);
    p->before[0] = SIZE_MAX;
    return take_chain(l, l->n / 2, 0, places);
}

bool pv_crosses_place(const pv_layers *scene, const pv_stretch *stretch, pv_cross_places *places)
{
    *places = (pv_cross_places){NULL, 0, 0};
    lattice l;
    if (!lattice_make(&l, stretch))
        return false;
    size_t last = 0;
    int k = 0;
    bool found = even_chain(scene, stretch, &l, &last);
    if (!found) {
        measure(scene, stretch, &l, CLEARANCES);
        found = best_chain(&l, CLEARANCES, &last, &k);
    }
    if (!found) {
        measure(scene, stretch, &l, 1);
        found = best_chain(&l, 0, &last, &k);
    }
    bool good = found ? take_chain(&l, last, k, places) : take_middle(&l, scene, stretch, places);
    free(l.places);
    return good;
}
