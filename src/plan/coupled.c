#include "plan/coupled.h"

#include "base/memory.h"

#include <stdlib.h>
#include <string.h>

/* A place of the next seam, with what a choice that takes it costs at least. */
typedef struct branch {
    int j;
    pv_worth bound;
} branch;

typedef struct search {
    const pv_coupled *coupled;
    pv_choice *choice;
    pv_worth *rest[2]; /* of the first direction without corners; of the second: scratch */
    int64_t *extra;    /* by seam of the first direction: corners on it and on those before */
    int *j[2];         /* scratch */
    branch *branches;  /* as many as there are places, in their order */
    double work;       /* done so far */
    bool failed;
} search;

static double work_of(const pv_lattice *l)
{
    double places = (double)pv_lattice_size(l), reach = (double)(l->wider - l->narrower + 1);
    double window = 1;
    for (size_t k = 0; k <= l->n; k++)
        if ((double)(l->hi[k] - l->lo[k] + 1) > window)
            window = (double)(l->hi[k] - l->lo[k] + 1);
    return places * (reach < window ? reach : window) + 1;
}

/* The other direction's best, given extra costs: into j. */
static pv_worth best_of(search *s, int d, const int64_t *extra, int *j)
{
    const pv_lattice *l = s->coupled->axis[d];
    s->work += work_of(l);
    pv_lattice_rest(l, extra, s->rest[d]);
    return pv_lattice_best(l, extra, s->rest[d], j);
}

static void take(search *s, pv_worth worth)
{
    pv_choice *c = s->choice;
    if (!pv_worth_less(worth, c->worth))
        return;
    c->worth = worth;
    for (int d = 0; d < 2; d++)
        memcpy(c->j[d], s->j[d], (s->coupled->axis[d]->n + 1) * sizeof(int));
}

/* Corners on all of one direction's seams. */
static bool all_corners(search *s, int d, const int *j, int64_t *extra)
{
    const pv_coupled *coupled = s->coupled;
    memset(extra, 0, pv_lattice_size(coupled->axis[1 - d]) * sizeof *extra);
    for (size_t k = 1; k < coupled->axis[d]->n; k++)
        if (!coupled->corners(coupled->context, d == 0, k, j[k], extra))
            return false;
    return true;
}

/* A good choice to begin with: each direction in turn, as long as that helps. */
static bool descend(search *s, int64_t *extra)
{
    const pv_coupled *coupled = s->coupled;
    pv_worth last = {INT64_MAX, INT64_MAX};
    pv_worth first = best_of(s, 0, NULL, s->j[0]);
    for (int d = 1;; d = 1 - d) {
        if (!all_corners(s, 1 - d, s->j[1 - d], extra))
            return false;
        pv_worth own = best_of(s, d, extra, s->j[d]);
        pv_worth other = d == 1 ? first : pv_lattice_worth(coupled->axis[1], NULL, s->j[1]);
        pv_worth sum = pv_worth_add(own, other);
        if (!pv_worth_less(sum, last))
            return true;
        take(s, sum);
        last = sum;
        first = pv_lattice_worth(coupled->axis[0], NULL, s->j[0]);
    }
}

static int by_bound(const void *a, const void *b)
{
    const branch *x = a, *y = b;
    if (pv_worth_less(x->bound, y->bound))
        return -1;
    if (pv_worth_less(y->bound, x->bound))
        return 1;
    return x->j < y->j ? -1 : x->j > y->j;
}

/* What a place to sort and a seam's corners take, in steps of dynamic programming: estimates. */
#define BRANCH_WORK 10.0
#define CORNER_WORK 500.0

/* Places for seam k, given those before it: cheapest first. */
static size_t branch_out(search *s, size_t k, pv_worth before, pv_worth second)
{
    const pv_lattice *l = s->coupled->axis[0];
    branch *out = s->branches + l->first[k];
    size_t n = 0;
    s->work += BRANCH_WORK * (double)(l->hi[k] - l->lo[k] + 1);
    for (int j = l->lo[k]; j <= l->hi[k]; j++) {
        int difference = j - s->j[0][k - 1];
        if (difference < l->narrower || difference > l->wider)
            continue;
        size_t index = pv_lattice_index(l, k, j);
        pv_worth w = pv_worth_add(before, pv_lattice_cell(l, difference));
        w.cost += l->cost[index];
        w = pv_worth_add(pv_worth_add(w, s->rest[0][index]), second);
        if (pv_worth_less(w, s->choice->worth))
            out[n++] = (branch){j, w};
    }
    if (n > 1)
        qsort(out, n, sizeof *out, by_bound);
    return n;
}

/* Seams before k are chosen and cost `before`; the second direction costs at least `second`. */
static void go_through(search *s, size_t k, pv_worth before, pv_worth second)
{
    const pv_coupled *coupled = s->coupled;
    const pv_lattice *l = coupled->axis[0];
    size_t size = pv_lattice_size(coupled->axis[1]), n = branch_out(s, k, before, second);
    const branch *out = s->branches + l->first[k];
    for (size_t i = 0; i < n && !s->failed; i++) {
        if (!pv_worth_less(out[i].bound, s->choice->worth))
            return;
        if (s->work > coupled->work) {
            s->choice->proved = false;
            return;
        }
        int j = out[i].j;
        s->work += CORNER_WORK + (double)size;
        int64_t *extra = s->extra + k * size;
        memcpy(extra, extra - size, size * sizeof *extra);
        s->j[0][k] = j;
        s->failed = !coupled->corners(coupled->context, true, k, j, extra);
        if (s->failed)
            return;
        pv_worth other = best_of(s, 1, extra, s->j[1]);
        pv_worth so_far = pv_worth_add(before, pv_lattice_cell(l, j - s->j[0][k - 1]));
        so_far.cost += l->cost[pv_lattice_index(l, k, j)];
        if (k + 1 < l->n) {
            go_through(s, k + 1, so_far, other);
            continue;
        }
        s->j[0][l->n] = 0;
        take(s, pv_worth_add(pv_worth_add(so_far, pv_lattice_cell(l, -j)), other));
    }
}

/* The search is worth beginning where its bound allows some steps, and there is room for a row of
 * corners for each seam. */
#define LEAST_STEPS 32
#define ROOM_MOST   ((size_t)4 << 20)

static bool small_enough(const pv_coupled *coupled)
{
    size_t rows = coupled->axis[0]->n, size = pv_lattice_size(coupled->axis[1]);
    return work_of(coupled->axis[1]) * LEAST_STEPS <= coupled->work && size <= ROOM_MOST / rows;
}

static bool make_room(search *s, bool whole)
{
    const pv_lattice *const *axis = s->coupled->axis;
    size_t size[2] = {pv_lattice_size(axis[0]), pv_lattice_size(axis[1])};
    size_t extra = whole ? axis[0]->n * size[1] : size[1];
    s->extra = PV_NEW_ARRAY(extra > size[0] ? extra : size[0], int64_t);
    s->branches = PV_NEW_ARRAY(size[0], branch);
    for (int d = 0; d < 2; d++) {
        s->rest[d] = PV_NEW_ARRAY(size[d], pv_worth);
        s->j[d] = PV_NEW_ARRAY(axis[d]->n + 1, int);
        if (s->rest[d] == NULL || s->j[d] == NULL)
            return false;
    }
    return s->extra != NULL && s->branches != NULL;
}

static bool solve(search *s, bool whole)
{
    pv_choice *c = s->choice;
    const pv_coupled *coupled = s->coupled;
    c->worth = (pv_worth){INT64_MAX, INT64_MAX};
    pv_worth own[2];
    for (int d = 0; d < 2; d++)
        own[d] = best_of(s, d, NULL, s->j[d]);
    pv_worth least = pv_worth_add(own[0], own[1]);
    if (!descend(s, s->extra))
        return false;
    c->proved = !pv_worth_less(least, c->worth);
    if (!c->proved && whole) {
        c->proved = true;
        pv_lattice_rest(coupled->axis[0], NULL, s->rest[0]);
        memset(s->extra, 0, pv_lattice_size(coupled->axis[1]) * sizeof *s->extra);
        s->work = 0;
        s->j[0][0] = 0;
        go_through(s, 1, (pv_worth){0, 0}, own[1]);
    }
    c->gap = c->proved ? 0 : c->worth.cost - least.cost;
    return !s->failed;
}

bool pv_coupled_solve(const pv_coupled *coupled, pv_choice *choice)
{
    search s = {.coupled = coupled, .choice = choice};
    bool whole = small_enough(coupled);
    bool good = make_room(&s, whole) && solve(&s, whole);
    for (int d = 0; d < 2; d++) {
        free(s.rest[d]);
        free(s.j[d]);
    }
    free(s.extra);
    free(s.branches);
    return good;
}
