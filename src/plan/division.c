#include "plan/division.h"

#include "base/memory.h"
#include "plan/lattice.h"

#include <stdlib.h>
#include <string.h>

/* A stretch without room for crosses, in tenths of the unit of cost: more than all else together,
 * since a plan has at most 32768 sheets and nothing costs 1e6 a sheet. */
#define BLIND ((int64_t)1 << 40)

/* Bounds of work; docs/how/seams.md says what they are worth.
 * Places beside one without room that are looked at with it, twice as many each further time. */
#define BESIDE        6
#define DOUBLINGS_MAX 12
/* One direction is solved again with what was found out, so often; and both in turn, so often. */
#define ROUNDS_MAX 64
#define PASSES_MAX 12
#define IDLE_MAX   2 /* passes without a better choice */
/* Stretches that are looked at for room: so many, and so many times all stretches of the mat. */
#define LOOKS_FREE 50000.0
#define LOOKS_EACH 12.0
/* Steps by which one seam is nudged, either way: 1, 2, 4, ... so many; and the work for that, in
 * choices compared: about 0.02 s. Finding a seam's paint is worth so many of them: an estimate. */
#define NUDGES      6
#define NUDGE_WORK  4e6
#define CORNER_WORK 500.0
#define LOOK_WORK   1000.0

/* Whether there is room for crosses on a stretch between two seams across it. */
typedef struct answer {
    bool given, possible;
    int at, from, to; /* the seams' j */
} answer;

typedef struct seam_state {
    int misses; /* how often its place had no room */
    size_t bad; /* the stretch that was last found to have none */
} seam_state;

/* By direction: 0 for seams that run along y, 1 for those along x. */
typedef struct placer {
    const pv_scene *scene;
    pv_division *division[2];
    pv_cost_axis *axis[2];
    pv_lattice lattice[2];
    size_t *blind[2]; /* of places: stretches known to have no room */
    seam_state *seam[2];
    answer *known[2]; /* by seam, and by stretch along it */
    int *j[2], *best[2];
    pv_worth least; /* of the best; blind stretches and corners are in it */
    pv_look look;
    double looks; /* stretches that were looked at */
    double work;  /* spent on corners */
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

/* What corners of four sheets cost the other direction where a seam lies as it does. */
static bool add_corners_of(placer *p, int d, size_t k)
{
    const pv_cost_span *spans = NULL;
    size_t n = 0;
    p->work += CORNER_WORK;
    if (!pv_cost_paint(p->axis[d], pv_lattice_place(&p->lattice[d], k, p->j[d][k]), &spans, &n))
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
        add_corners(&p->lattice[1 - d], sorted[i].lo, end, p->lattice[1 - d].extra);
    }
    free(sorted);
    return true;
}

/* What places cost for the sake of the other direction's seams as they are: corners, and the
 * stretches known to have no room. */
static bool weigh(placer *p, int d)
{
    pv_lattice *l = &p->lattice[d];
    for (size_t i = 0; i < pv_lattice_size(l); i++)
        l->extra[i] = BLIND * (int64_t)p->blind[d][i];
    bool good = true;
    for (size_t k = 1; good && k < p->lattice[1 - d].n; k++)
        good = add_corners_of(p, 1 - d, k);
    return good;
}

static void set_seams(placer *p, int d, const int *j)
{
    const pv_lattice *l = &p->lattice[d];
    memmove(p->j[d], j, (l->n + 1) * sizeof *j);
    for (size_t k = 1; k < l->n; k++)
        p->division[d]->at[k] = pv_lattice_place(l, k, j[k]);
}

static pv_worth solve(placer *p, int d)
{
    pv_worth w = pv_lattice_solve(&p->lattice[d], p->j[d]);
    set_seams(p, d, p->j[d]);
    return w;
}

/* ---- room for crosses ---- */

static bool ask(placer *p, int d, double at, size_t i, bool *possible)
{
    const pv_division *across = p->division[1 - d];
    pv_stretch stretch = {d == 0, at, across->at[i], across->at[i + 1]};
    p->looks++;
    return pv_crosses_possible(p->scene, &stretch, &p->look, possible);
}

/* On how many stretches of a seam where it lies there is no room, asked only where it isn't known.
 */
static bool count(placer *p, int d, size_t k, size_t *blind)
{
    const int *own = p->j[d], *other = p->j[1 - d];
    *blind = 0;
    for (size_t i = 0; i < p->lattice[1 - d].n; i++) {
        answer *a = &p->known[d][k * p->lattice[1 - d].n + i];
        if (!a->given || a->at != own[k] || a->from != other[i] || a->to != other[i + 1]) {
            if (!ask(p, d, p->division[d]->at[k], i, &a->possible))
                return false;
            *a = (answer){true, a->possible, own[k], other[i], other[i + 1]};
        }
        *blind += !a->possible;
        if (!a->possible)
            p->seam[d][k].bad = i;
    }
    return true;
}

/* Whether there is any such stretch at another place: most likely the one that had none before. */
static bool is_blind(placer *p, int d, size_t k, double at, bool *blind)
{
    size_t *bad = &p->seam[d][k].bad, first = *bad;
    *blind = false;
    for (size_t n = 0; n < p->lattice[1 - d].n && !*blind; n++) {
        size_t i = n == 0 ? first : n <= first ? n - 1 : n;
        bool possible = false;
        if (!ask(p, d, at, i, &possible))
            return false;
        *blind = !possible;
        *bad = *blind ? i : first;
    }
    return true;
}

static void note(placer *p, int d, size_t k, int j, size_t blind)
{
    size_t index = pv_lattice_index(&p->lattice[d], k, j);
    p->lattice[d].extra[index] += BLIND * (int64_t)(blind - p->blind[d][index]);
    p->blind[d][index] = blind;
}

/* Looks at a seam's place, and where that has less room than was known, at those beside it. */
static bool look(placer *p, int d, size_t k, bool *news)
{
    const pv_lattice *l = &p->lattice[d];
    int j = p->j[d][k];
    size_t here = 0;
    if (!count(p, d, k, &here))
        return false;
    if (here <= p->blind[d][pv_lattice_index(l, k, j)])
        return true;
    *news = true;
    note(p, d, k, j, here);
    int beside = BESIDE << smaller(p->seam[d][k].misses++, DOUBLINGS_MAX);
    int from = j - beside > l->lo[k] ? j - beside : l->lo[k], to = smaller(j + beside, l->hi[k]);
    bool good = true;
    for (int i = from; good && i <= to; i++) {
        bool blind = false;
        if (p->blind[d][pv_lattice_index(l, k, i)] > 0)
            continue; /* known, at least so much */
        good = is_blind(p, d, k, pv_lattice_place(l, k, i), &blind);
        if (good && blind)
            note(p, d, k, i, 1);
    }
    return good;
}

/* ---- one direction ---- */

static bool may_look(const placer *p)
{
    double columns = (double)p->lattice[0].n, rows = (double)p->lattice[1].n;
    double stretches = (columns - 1) * rows + (rows - 1) * columns;
    return p->looks < LOOKS_FREE + LOOKS_EACH * stretches;
}

/* The best choice for one direction, the other's seams being where they are. Room for crosses is
 * asked only of places that would be chosen. */
static bool settle(placer *p, int d)
{
    pv_lattice *l = &p->lattice[d];
    memset(p->blind[d], 0, pv_lattice_size(l) * sizeof *p->blind[d]);
    memset(p->seam[d], 0, (l->n + 1) * sizeof *p->seam[d]);
    bool good = weigh(p, d), news = true;
    for (int round = 0; good && news && round < ROUNDS_MAX && may_look(p); round++) {
        solve(p, d);
        news = false;
        for (size_t k = 1; good && k < l->n; k++)
            good = look(p, d, k, &news);
    }
    return good;
}

/* ---- both directions ---- */

/* Keeps the choice if it is the best so far. */
static bool keep(placer *p, bool *better)
{
    size_t blind = 0, here = 0;
    for (int d = 0; d < 2; d++)
        for (size_t k = 1; k < p->lattice[d].n; k++, blind += here)
            if (!count(p, d, k, &here))
                return false;
    if (!weigh(p, 1))
        return false;
    const pv_lattice *l = &p->lattice[1];
    pv_worth w =
        pv_worth_add(pv_lattice_worth(&p->lattice[0], p->j[0]), pv_lattice_worth(l, p->j[1]));
    w.cost += BLIND * (int64_t)blind;
    for (size_t k = 1; k < l->n; k++)
        w.cost += l->extra[pv_lattice_index(l, k, p->j[1][k])] % BLIND;
    *better = pv_worth_less(w, p->least);
    if (!*better)
        return true;
    p->least = w;
    for (int d = 0; d < 2; d++)
        memcpy(p->best[d], p->j[d], (p->lattice[d].n + 1) * sizeof(int));
    return true;
}

/* Each direction in turn, as long as that helps. */
static bool alternate(placer *p, int d)
{
    int idle = 0;
    for (int pass = 0; pass < PASSES_MAX && idle < IDLE_MAX; pass++, d = 1 - d) {
        bool better = false;
        if (!settle(p, d) || !keep(p, &better))
            return false;
        idle = better ? 0 : idle + 1;
    }
    return true;
}

static double work_done(const placer *p)
{
    return p->lattice[0].work + p->lattice[1].work + p->work + LOOK_WORK * p->looks;
}

/* Moves one seam by some steps and solves the other direction, then its own, around it. Only what
 * promises to be better, as far as room for crosses is known, is gone into. */
static bool nudge(placer *p, int d, size_t k, int steps)
{
    for (int e = 0; e < 2; e++)
        set_seams(p, e, p->best[e]);
    p->j[d][k] += steps;
    if (!pv_lattice_allows(&p->lattice[d], p->j[d], k))
        return true;
    if (!weigh(p, 1 - d))
        return false;
    solve(p, 1 - d);
    if (!weigh(p, d))
        return false;
    pv_worth other = pv_lattice_worth(&p->lattice[1 - d], p->j[1 - d]);
    return !pv_worth_less(pv_worth_add(solve(p, d), other), p->least) || alternate(p, 1 - d);
}

/* Where the two directions have settled, both may have to move at once: along a slanting line, say.
 */
static bool nudge_all(placer *p)
{
    double most = work_done(p) + NUDGE_WORK;
    pv_worth before;
    do {
        before = p->least;
        for (int d = 0; d < 2; d++)
            for (size_t k = 1; k < p->lattice[d].n; k++)
                for (int n = 0; n < 2 * NUDGES; n++) {
                    int steps = 1 << n / 2;
                    if (work_done(p) > most)
                        return true;
                    if (!nudge(p, d, k, n % 2 == 0 ? steps : -steps))
                        return false;
                }
    } while (pv_worth_less(p->least, before));
    return true;
}

/* The even division, which is what people expect, must not be better. */
static bool try_even(placer *p)
{
    pv_worth w = {0, 0};
    bool better = false;
    for (int d = 0; d < 2; d++) {
        memset(p->j[d], 0, (p->lattice[d].n + 1) * sizeof(int));
        set_seams(p, d, p->j[d]);
        w = pv_worth_add(w, pv_lattice_worth(&p->lattice[d], p->j[d]));
    }
    return !pv_worth_less(w, p->least) || keep(p, &better);
}

/* *bound: what any choice costs at least. */
static bool search(placer *p, pv_worth *bound)
{
    p->least = (pv_worth){INT64_MAX, INT64_MAX};
    for (int first = 0; first < 2; first++) {
        *bound = (pv_worth){0, 0};
        for (int d = 0; d < 2; d++) {
            memset(p->lattice[d].extra, 0, pv_lattice_size(&p->lattice[d]) * sizeof(int64_t));
            *bound = pv_worth_add(*bound, solve(p, d));
        }
        if (!alternate(p, first))
            return false;
        if (!pv_worth_less(*bound, p->least))
            return true;
    }
    return try_even(p) && nudge_all(p);
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
        p->j[d] = PV_NEW_ARRAY(division->n + 1, int);
        p->seam[d] = PV_NEW_ARRAY(division->n + 1, seam_state);
        p->best[d] = PV_NEW_ARRAY(division->n + 1, int);
        if (p->blind[d] == NULL || p->known[d] == NULL || p->seam[d] == NULL || p->j[d] == NULL ||
            p->best[d] == NULL)
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
        free(p->j[d]);
        free(p->best[d]);
        pv_lattice_free(&p->lattice[d]);
    }
}

bool pv_place_seams(pv_cost_axis *const axis[2], const pv_scene *scene, pv_division *x,
                    pv_division *y, pv_placing *placing)
{
    placer p = {.scene = scene, .division = {x, y}, .axis = {axis[0], axis[1]}};
    pv_worth bound = {0, 0};
    *placing = (pv_placing){0, 0, 0};
    bool good = prepare(&p) && search(&p, &bound);
    for (int d = 0; d < 2 && good; d++)
        set_seams(&p, d, p.best[d]);
    if (good)
        *placing = (pv_placing){.blind = (size_t)(p.least.cost / BLIND),
                                .cost = p.least.cost % BLIND,
                                .gap = p.least.cost % BLIND - bound.cost};
    clear(&p);
    return good;
}
