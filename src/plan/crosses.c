#include "plan/crosses.h"

#include "base/memory.h"

#include <stdlib.h>

#define HALF (PV_CROSS_ARM + PV_CROSS_CLEAR)
/* mm: what only touches the room of a cross leaves it clear, whatever the last digits say. */
#define TOUCH 1e-6
/* How much room a place has, in steps of HALF / CLEARANCES; all of them: it is clear. */
#define CLEARANCES 7
#define UNKNOWN    (-1)
#define BLOCK      16                     /* places */
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
    place *places; /* NULL until they are needed */
    double *least; /* of each BLOCK of places the least cost of a way to it */
    size_t n;
    double first, span; /* of the places */
    double from, to;
    double end, pitch; /* what evenly spread crosses would have */
} lattice;

pv_box pv_cross_box(const pv_stretch *stretch, double along, double half)
{
    pv_vec c = stretch->vertical ? pv_v(stretch->at, along) : pv_v(along, stretch->at);
    return pv_box_grow((pv_box){c, c}, half);
}

/* Evenly spread over what the ends leave, both ends included. */
static void lattice_of(lattice *l, const pv_stretch *stretch)
{
    double length = stretch->to - stretch->from;
    double end = length >= 2 * (PV_CROSS_END + HALF) ? PV_CROSS_END : fmin(HALF, length / 2);
    double span = fmax(length - 2 * end, 0);
    l->places = NULL;
    l->least = NULL;
    l->n = (size_t)ceil(span / PV_CROSS_STEP) + 1;
    l->first = stretch->from + end;
    l->span = span;
    l->from = stretch->from;
    l->to = stretch->to;
    l->end = fmin(fmax(length / 6, end), 25);
    double pitches = fmax(ceil((length - 2 * l->end) / PITCH_AIM), 1);
    l->pitch = fmax((length - 2 * l->end) / pitches, PV_CROSS_STEP);
}

static double place_at(const lattice *l, size_t i)
{
    return l->first + (l->n > 1 ? l->span * (double)i / (double)(l->n - 1) : 0);
}

static bool lattice_fill(lattice *l)
{
    l->places = PV_NEW_ARRAY(l->n, place);
    l->least = PV_NEW_ARRAY(l->n / BLOCK + 1, double);
    for (size_t i = 0; l->places != NULL && i < l->n; i++) {
        l->places[i].along = place_at(l, i);
        l->places[i].clearance = UNKNOWN;
    }
    return l->places != NULL && l->least != NULL;
}

static void lattice_free(lattice *l)
{
    free(l->places);
    free(l->least);
}

/* A stretch on a scene. */
typedef struct ground {
    const pv_scene *scene;
    const pv_stretch *stretch;
    pv_look *look;
} ground;

static bool is_plain(const ground *on, pv_box box)
{
    size_t colour;
    return pv_scene_plain(on->scene, box, &colour, on->look);
}

static int clearance(const ground *on, double along, int least)
{
    for (int c = CLEARANCES; c >= least; c--) {
        if (is_plain(on, pv_cross_box(on->stretch, along, HALF * c / CLEARANCES - TOUCH)))
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

static double cost_to(const place *p)
{
    return fmin(p->cost[0], p->cost[1]);
}

/* What a place costs at most: as far after another one as crosses evenly spread would be. */
static double most_for(const lattice *l, size_t j, double own)
{
    const place *p = &l->places[j];
    double step = place_at(l, l->n - 1) - place_at(l, 0), back = 0;
    if (step > 0)
        back = round(l->pitch * (double)(l->n - 1) / step);
    if (!(back > 0 && back <= (double)j))
        return HUGE_VAL;
    const place *q = &l->places[j - (size_t)back];
    double gap = p->along - q->along;
    if (gap < 2 * HALF || gap > PV_CROSS_PITCH)
        return HUGE_VAL;
    return cost_to(q) + (own + unevenness(gap, l->pitch, l->pitch));
}

/* Whether no way by any place of a block can cost as little as `most`. */
static bool block_is_dear(const lattice *l, size_t block, const place *p, double own, double most)
{
    double near = p->along - l->places[block * BLOCK + BLOCK - 1].along;
    double far = p->along - l->places[block * BLOCK].along;
    double off = fmax(fmax(near - l->pitch, l->pitch - far), 0) / l->pitch;
    return l->least[block] + own + off * off > most + 1e-9 * (1 + most);
}

/* The best way to place j by those before it. */
static void reach_from_before(const lattice *l, size_t j, double own)
{
    place *p = &l->places[j];
    double most = most_for(l, j, own);
    for (size_t i = j; i-- > 0;) {
        const place *q = &l->places[i];
        double gap = p->along - q->along;
        if (gap > PV_CROSS_PITCH)
            break;
        if ((i + 1) % BLOCK == 0 && block_is_dear(l, i / BLOCK, p, own, fmin(most, p->cost[1]))) {
            i -= BLOCK - 1;
            continue;
        }
        if (gap < 2 * HALF)
            continue;
        int before = q->cost[0] <= q->cost[1] ? 0 : 1;
        if (q->cost[before] + own < p->cost[1]) /* no step costs less than nothing */
            reach(p, 1, q->cost[before] + (own + unevenness(gap, l->pitch, l->pitch)), i, before);
    }
}

/* The cheapest chain of places with clearance at least `least`: its last place in *last, with its
 * k. False where there is none that keeps to the distances. */
static bool best_chain(const lattice *l, int least, size_t *last, int *last_k)
{
    double best = HUGE_VAL;
    for (size_t b = 0; b <= l->n / BLOCK; b++)
        l->least[b] = HUGE_VAL;
    for (size_t j = 0; j < l->n; j++) {
        place *p = &l->places[j];
        p->cost[0] = p->cost[1] = HUGE_VAL;
        if (p->clearance < least)
            continue;
        double own = place_cost(p);
        if (p->along - l->from <= PV_CROSS_PITCH)
            reach(p, 0, own + unevenness(p->along - l->from, l->end, l->pitch), SIZE_MAX, 0);
        reach_from_before(l, j, own);
        l->least[j / BLOCK] = fmin(l->least[j / BLOCK], cost_to(p));
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

static void measure(const ground *on, const lattice *l, int least)
{
    for (size_t i = 0; i < l->n; i++)
        if (l->places[i].clearance < CLEARANCES)
            l->places[i].clearance = clearance(on, l->places[i].along, least);
}

static bool is_clear(const ground *on, place *p)
{
    if (p->clearance == UNKNOWN)
        p->clearance = clearance(on, p->along, CLEARANCES);
    return p->clearance == CLEARANCES;
}

/* mm: where a narrower box is not plain, neither are the boxes about places up to so far before it
 * and after it, which hold it. */
#define BLOCKED 2.0
#define WITHIN  0.1 /* and not merely just */

/* Whether all places from 2 BLOCKED before `along` to there are surely not clear. */
static bool is_blocked(const ground *on, double along)
{
    double across = HALF - WITHIN, half = HALF - BLOCKED - WITHIN;
    pv_box box = pv_cross_box(on->stretch, along - BLOCKED, 0);
    pv_vec by = on->stretch->vertical ? pv_v(across, half) : pv_v(half, across);
    return !is_plain(on, (pv_box){pv_sub(box.lo, by), pv_add(box.hi, by)});
}

/* The last clear place from `lo` to `hi`, or SIZE_MAX. */
static size_t last_clear(const ground *on, const lattice *l, double lo, double hi)
{
    double step = l->n > 1 ? place_at(l, 1) - place_at(l, 0) : 0;
    double past = step > 0 ? floor((hi - place_at(l, 0)) / step) + 2 : 1;
    size_t n = past < (double)l->n ? (size_t)fmax(past, 0) : l->n;
    size_t blocked = step > 0 ? (size_t)floor(2 * BLOCKED / step) : 0;
    for (size_t i = n; i-- > 0;) {
        double along = place_at(l, i);
        if (along < lo)
            break;
        if (along > hi)
            continue;
        if (clearance(on, along, CLEARANCES) == CLEARANCES)
            return i;
        if (is_blocked(on, along))
            i -= i < blocked ? i : blocked;
    }
    return SIZE_MAX;
}

typedef enum answer { NO, YES, PERHAPS } answer;

/* Always going as far as the pitch allows looks at few places. Where that fails it proves that no
 * other choice could do, unless a place too close to the last one might have led further. */
static answer hop_through(const ground *on, const lattice *l)
{
    size_t at = last_clear(on, l, l->from, l->from + PV_CROSS_PITCH);
    if (at == SIZE_MAX)
        return NO;
    if (l->to - place_at(l, at) <= PV_CROSS_PITCH) {
        double before = place_at(l, at) - 2 * HALF;
        return last_clear(on, l, l->from, before) != SIZE_MAX ? YES : PERHAPS;
    }
    while (l->to - place_at(l, at) > PV_CROSS_PITCH) {
        double here = place_at(l, at);
        size_t next = last_clear(on, l, here + 2 * HALF, here + PV_CROSS_PITCH);
        if (next == SIZE_MAX)
            return last_clear(on, l, here + PV_CROSS_STEP / 4, here + 2 * HALF) == SIZE_MAX
                       ? NO
                       : PERHAPS;
        at = next;
    }
    return YES;
}

bool pv_crosses_possible(const pv_scene *scene, const pv_stretch *stretch, pv_look *look,
                         bool *possible)
{
    ground on = {scene, stretch, look};
    lattice l;
    lattice_of(&l, stretch);
    answer quick = hop_through(&on, &l);
    *possible = quick == YES;
    if (quick != PERHAPS || look->failed)
        return !look->failed;
    size_t last = 0;
    int k = 0;
    bool good = lattice_fill(&l);
    if (good)
        measure(&on, &l, CLEARANCES);
    *possible = good && best_chain(&l, CLEARANCES, &last, &k);
    lattice_free(&l);
    return good && !look->failed;
}

/* Where evenly spread places are all clear, there is nothing to choose. */
static bool even_chain(const ground *on, const lattice *l, size_t *last)
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
        if (gap < 2 * HALF || gap > PV_CROSS_PITCH || !is_clear(on, &l->places[at]))
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
static bool take_middle(lattice *l, const ground *on, pv_cross_places *places)
{
    place *p = &l->places[l->n / 2];
    p->along = (on->stretch->from + on->stretch->to) / 2;
    p->clearance = clearance(on, p->along, 1);
    p->before[0] = SIZE_MAX;
    return take_chain(l, l->n / 2, 0, places);
}

bool pv_crosses_place(const pv_scene *scene, const pv_stretch *stretch, pv_look *look,
                      pv_cross_places *places)
{
    *places = (pv_cross_places){NULL, 0, 0};
    ground on = {scene, stretch, look};
    lattice l;
    lattice_of(&l, stretch);
    size_t last = 0;
    int k = 0;
    bool good = lattice_fill(&l), found = good && even_chain(&on, &l, &last);
    if (good && !found) {
        measure(&on, &l, CLEARANCES);
        found = best_chain(&l, CLEARANCES, &last, &k);
    }
    if (good && !found) {
        measure(&on, &l, 1);
        found = best_chain(&l, 0, &last, &k);
    }
    if (good && !look->failed)
        good = found ? take_chain(&l, last, k, places) : take_middle(&l, &on, places);
    lattice_free(&l);
    return good && !look->failed;
}
