#include "plan/division.h"

#include "base/memory.h"
#include "plan/coupled.h"
#include "plan/foresee.h"

#include <stdlib.h>
#include <string.h>

/* Places beside one without room for crosses that are looked at with it, twice as many each further
 * time, so often; and how often the search is made again before the best so far is taken. */
#define BESIDE      6
#define DOUBLINGS   2
#define ROUNDS_MAX  64
#define ROUNDS_IDLE 12 /* without a better choice */
/* All seams are foreseen once this share of them has no room, one in so many. */
#define FORESEE_ALL 16
/* Stretches that are looked at for room before the best so far is taken: so many, and so many times
 * all stretches of the mat. */
#define LOOKS_FREE 100000.0
#define LOOKS_EACH 8.0
#define BLIND      ((int64_t)(PV_COST_BLIND_EACH * PV_COST_TENTHS))

/* Whether there is room for crosses on a stretch between two seams across it. */
typedef struct answer {
    bool given, possible;
    int at, from, to; /* the seams' j */
} answer;

typedef struct seam_state {
    int misses;  /* how often its place had no room */
    bool missed; /* its chosen place has less room than was known */
    bool foreseen;
} seam_state;

/* By direction: 0 for seams that run along y, 1 for those along x. */
typedef struct placer {
    const pv_scene *scene;
    pv_division *division[2];
    pv_cost_axis *axis[2];
    pv_lattice lattice[2];
    size_t *blind[2]; /* of places, as far as they were looked at */
    seam_state *seam[2];
    answer *known[2]; /* by seam, and by stretch along it */
    pv_choice choice, best;
    pv_look look;
    double looks; /* stretches that were looked at */
    size_t least_blind;
    int64_t least_cost;
} placer;

bool pv_divide(pv_division *d, double length, size_t n, double most)
{
    *d = (pv_division){.n = n, .most = most, .at = PV_NEW_ARRAY(n + 1, double)};
    if (d->at == NULL)
        return false;
    for (size_t k = 0; k <= n; k++)
        d->at[k] = length * (double)k / (double)n;
    d->at[n] = length;
    return true;
}

static int smaller(int a, int b)
{
    return a < b ? a : b;
}

/* ---- costs ---- */

/* Places whose costs are asked for together, of the things near them. */
#define TOGETHER 32

double pv_cell_least(double even)
{
    return fmin(even, fmax(PV_CELL_MIN, PV_CELL_SHARE * even));
}

double pv_cell_sliver(double even)
{
    return fmin(PV_COST_SLIVER_MM, PV_COST_SLIVER_EVEN * even);
}

int64_t pv_cell_cost(double width, double even)
{
    double sliver = pv_cell_sliver(even);
    return width < sliver ? pv_cost_tenths(PV_COST_SLIVER_EACH * (1 - width / sliver)) : 0;
}

static bool fill_places(placer *p, int d, size_t k, int from, int to)
{
    pv_lattice *l = &p->lattice[d];
    if (!pv_cost_axis_near(p->axis[d], pv_lattice_place(l, k, from), pv_lattice_place(l, k, to)))
        return false;
    for (int j = from; j <= to; j++) {
        pv_cost cost;
        pv_cost_at(p->axis[d], pv_lattice_place(l, k, j), &cost);
        l->cost[pv_lattice_index(l, k, j)] = pv_cost_sum(&cost);
    }
    return true;
}

static bool fill_costs(placer *p, int d)
{
    pv_lattice *l = &p->lattice[d];
    double even = l->length / (double)l->n;
    for (int i = l->narrower; i <= l->wider; i++)
        l->cell[i - l->narrower] = pv_cell_cost(even + l->step * i, even);
    for (size_t k = 1; k < l->n; k++)
        for (int from = l->lo[k]; from <= l->hi[k]; from += TOGETHER)
            if (!fill_places(p, d, k, from, smaller(from + TOGETHER - 1, l->hi[k])))
                return false;
    return true;
}

/* To all places within a stretch of paint. */
static void add_corners(const pv_lattice *l, double lo, double hi, int64_t *extra)
{
    int64_t each = pv_cost_tenths(PV_COST_CORNER_EACH);
    size_t first = 1, past = l->n;
    while (first < past) {
        size_t middle = first + (past - first) / 2;
        if (pv_lattice_place(l, middle, l->hi[middle]) < lo - l->step)
            first = middle + 1;
        else
            past = middle;
    }
    for (size_t k = first; k < l->n && pv_lattice_place(l, k, l->lo[k]) <= hi + l->step; k++) {
        double even = pv_lattice_place(l, k, 0);
        double from = fmax(ceil((lo - even) / l->step), l->lo[k]);
        double to = fmin(floor((hi - even) / l->step), l->hi[k]);
        for (int j = (int)from; from <= to && j <= (int)to; j++)
            extra[pv_lattice_index(l, k, j)] += each;
    }
}

static int by_start(const void *a, const void *b)
{
    const pv_cost_span *x = a, *y = b;
    return x->lo < y->lo ? -1 : x->lo > y->lo;
}

static bool corner_costs(void *context, bool of_first, size_t k, int j, int64_t *extra)
{
    placer *p = context;
    int d = of_first ? 0 : 1;
    const pv_cost_span *spans = NULL;
    size_t n = 0;
    if (!pv_cost_paint(p->axis[d], pv_lattice_place(&p->lattice[d], k, j), &spans, &n))
        return false;
    pv_cost_span *sorted = pv_copy_bytes(spans, n, sizeof *spans);
    if (sorted == NULL)
        return false;
    if (n > 1)
        qsort(sorted, n, sizeof *sorted, by_start);
    for (size_t i = 0, next; i < n; i = next) {
        double end = sorted[i].hi;
        for (next = i + 1; next < n && sorted[next].lo <= end; next++)
            end = fmax(end, sorted[next].hi);
        add_corners(&p->lattice[1 - d], sorted[i].lo, end, extra);
    }
    free(sorted);
    return true;
}

/* ---- crosses ---- */

/* Whether there is room on a stretch of the chosen seams, asked only where it isn't known. */
static bool ask(placer *p, int d, size_t k, size_t i, bool *possible)
{
    const int *own = p->choice.j[d], *other = p->choice.j[1 - d];
    answer *known = &p->known[d][k * p->lattice[1 - d].n + i];
    if (!known->given || known->at != own[k] || known->from != other[i] ||
        known->to != other[i + 1]) {
        const pv_division *across = p->division[1 - d];
        pv_stretch stretch = {d == 0, p->division[d]->at[k], across->at[i], across->at[i + 1]};
        p->looks++;
        if (!pv_crosses_possible(p->scene, &stretch, &p->look, &known->possible))
            return false;
        known->given = true;
        known->at = own[k];
        known->from = other[i];
        known->to = other[i + 1];
    }
    *possible = known->possible;
    return true;
}

/* On how many stretches of a chosen seam the rules of crosses can't be kept. */
static bool count_chosen(placer *p, int d, size_t k, size_t *blind)
{
    *blind = 0;
    for (size_t i = 0; i < p->lattice[1 - d].n; i++) {
        bool possible = false;
        if (!ask(p, d, k, i, &possible))
            return false;
        *blind += !possible;
    }
    return true;
}

/* Whether there is any such stretch at another place. */
static bool is_blind(placer *p, int d, double at, bool *blind)
{
    const pv_division *across = p->division[1 - d];
    *blind = false;
    for (size_t i = 0; i < across->n && !*blind; i++) {
        pv_stretch stretch = {d == 0, at, across->at[i], across->at[i + 1]};
        bool possible = false;
        p->looks++;
        if (!pv_crosses_possible(p->scene, &stretch, &p->look, &possible))
            return false;
        *blind = !possible;
    }
    return true;
}

/* Remembers what was found of a place; true where that is news. */
static bool note(placer *p, int d, size_t k, int j, size_t blind)
{
    size_t index = pv_lattice_index(&p->lattice[d], k, j);
    if (blind <= p->blind[d][index])
        return false;
    p->lattice[d].cost[index] += BLIND * (int64_t)(blind - p->blind[d][index]);
    p->blind[d][index] = blind;
    return true;
}

/* Notes what can be known of all of a seam's places, whatever is chosen. */
static bool foresee(placer *p, int d, size_t k)
{
    const pv_lattice *l = &p->lattice[d];
    seam_state *seam = &p->seam[d][k];
    if (seam->foreseen)
        return true;
    seam->foreseen = true;
    size_t *least = NULL;
    bool good = pv_foresee(p->scene, d == 0, l, k, &p->lattice[1 - d], &least);
    for (int j = l->lo[k]; good && j <= l->hi[k]; j++)
        note(p, d, k, j, least[j - l->lo[k]]);
    free(least);
    return good;
}

/* Looks at a seam's place; *blind grows by the stretches without room. */
static bool look(placer *p, int d, size_t k, size_t *blind)
{
    seam_state *seam = &p->seam[d][k];
    size_t here = 0;
    if (!count_chosen(p, d, k, &here))
        return false;
    seam->missed = here > 0 && note(p, d, k, p->choice.j[d][k], here);
    *blind += here;
    return true;
}

/* Looks at the places beside one that has no room. */
static bool look_beside(placer *p, int d, size_t k)
{
    const pv_lattice *l = &p->lattice[d];
    seam_state *seam = &p->seam[d][k];
    int j = p->choice.j[d][k], beside = BESIDE << smaller(seam->misses, DOUBLINGS);
    int from = j - beside > l->lo[k] ? j - beside : l->lo[k];
    int to = smaller(j + beside, l->hi[k]);
    bool good = true;
    seam->misses++;
    for (int i = from; good && i <= to; i++) {
        bool other = false;
        if (p->blind[d][pv_lattice_index(l, k, i)] > 0)
            continue; /* known, at least so much */
        good = is_blind(p, d, pv_lattice_place(l, k, i), &other);
        if (good && other)
            note(p, d, k, i, 1);
    }
    return good;
}

/* Where many seams have no room, others will have none when those move. */
static bool foresee_some(placer *p, size_t missed)
{
    bool all = missed * FORESEE_ALL > p->lattice[0].n + p->lattice[1].n;
    for (int d = 0; d < 2; d++)
        for (size_t k = 1; k < p->lattice[d].n; k++)
            if ((all || p->seam[d][k].missed) && !foresee(p, d, k))
                return false;
    return true;
}

/* *missed: so many places were found to be worse than the search took them for. */
static bool look_at_all(placer *p, size_t *blind, size_t *missed)
{
    *blind = 0;
    *missed = 0;
    for (int d = 0; d < 2; d++)
        for (size_t k = 1; k < p->lattice[d].n; k++)
            p->division[d]->at[k] = pv_lattice_place(&p->lattice[d], k, p->choice.j[d][k]);
    for (int d = 0; d < 2; d++)
        for (size_t k = 1; k < p->lattice[d].n; k++) {
            if (!look(p, d, k, blind))
                return false;
            *missed += p->seam[d][k].missed;
        }
    if (!foresee_some(p, *missed))
        return false;
    for (int d = 0; d < 2; d++)
        for (size_t k = 1; k < p->lattice[d].n; k++)
            if (p->seam[d][k].missed && !look_beside(p, d, k))
                return false;
    return true;
}

/* ---- all together ---- */

/* The chosen places' cost without what they cost for want of room for crosses. */
static int64_t plain_cost(const placer *p)
{
    int64_t cost = p->choice.worth.cost;
    for (int d = 0; d < 2; d++)
        for (size_t k = 1; k < p->lattice[d].n; k++)
            cost -= BLIND *
                    (int64_t)p->blind[d][pv_lattice_index(&p->lattice[d], k, p->choice.j[d][k])];
    return cost;
}

static bool keep_best(placer *p, size_t blind, int64_t cost)
{
    if (blind > p->least_blind || (blind == p->least_blind && cost >= p->least_cost))
        return false;
    p->least_blind = blind;
    p->least_cost = cost;
    p->best.gap = p->choice.gap;
    for (int d = 0; d < 2; d++)
        memcpy(p->best.j[d], p->choice.j[d], (p->lattice[d].n + 1) * sizeof(int));
    return true;
}

static bool may_go_on(const placer *p, int round, int idle)
{
    double columns = (double)p->lattice[0].n, rows = (double)p->lattice[1].n;
    double stretches = (columns - 1) * rows + (rows - 1) * columns;
    return round < ROUNDS_MAX && idle < ROUNDS_IDLE &&
           p->looks < LOOKS_FREE + LOOKS_EACH * stretches;
}

static bool search(placer *p)
{
    pv_coupled coupled = {.axis = {&p->lattice[0], &p->lattice[1]},
                          .corners = corner_costs,
                          .context = p,
                          .work = PV_COUPLED_WORK};
    bool news = true;
    int idle = 0;
    p->least_blind = SIZE_MAX;
    for (int round = 0; news && may_go_on(p, round, idle); round++) {
        size_t blind = 0;
        if (!pv_coupled_solve(&coupled, &p->choice))
            return false;
        int64_t cost = plain_cost(p);
        size_t missed = 0;
        if (!look_at_all(p, &blind, &missed))
            return false;
        idle = keep_best(p, blind, cost) ? 0 : idle + 1;
        news = missed > 0;
    }
    return true;
}

static bool prepare(placer *p)
{
    for (int d = 0; d < 2; d++) {
        const pv_division *division = p->division[d];
        double length = division->at[division->n];
        if (!pv_lattice_make(&p->lattice[d], division->n, length,
                             pv_cell_least(length / (double)division->n), division->most) ||
            !fill_costs(p, d))
            return false;
        p->blind[d] = PV_NEW_ARRAY(pv_lattice_size(&p->lattice[d]), size_t);
        p->known[d] = PV_NEW_ARRAY(division->n * p->division[1 - d]->n, answer);
        p->choice.j[d] = PV_NEW_ARRAY(division->n + 1, int);
        p->seam[d] = PV_NEW_ARRAY(division->n + 1, seam_state);
        p->best.j[d] = PV_NEW_ARRAY(division->n + 1, int);
        if (p->blind[d] == NULL || p->known[d] == NULL || p->seam[d] == NULL ||
            p->choice.j[d] == NULL || p->best.j[d] == NULL)
            return false;
    }
    return true;
}

static void clear(placer *p)
{
    pv_look_drop(&p->look);
    for (int d = 0; d < 2; d++) {
        free(p->blind[d]);
        free(p->seam[d]);
        free(p->known[d]);
        free(p->choice.j[d]);
        free(p->best.j[d]);
        pv_lattice_free(&p->lattice[d]);
    }
}

bool pv_place_seams(pv_cost_axis *const axis[2], const pv_scene *scene, pv_division *x,
                    pv_division *y, pv_placing *placing)
{
    placer p = {.scene = scene, .division = {x, y}, .axis = {axis[0], axis[1]}};
    *placing = (pv_placing){0, 0, 0};
    bool good = prepare(&p) && search(&p);
    for (int d = 0; d < 2 && good; d++)
        for (size_t k = 1; k < p.lattice[d].n; k++)
            p.division[d]->at[k] = pv_lattice_place(&p.lattice[d], k, p.best.j[d][k]);
    if (good)
        *placing = (pv_placing){p.least_blind, p.least_cost, p.best.gap};
    clear(&p);
    return good;
}
