#include "plan/rings.h"

#include "base/memory.h"

#include <stdlib.h>
#include <string.h>

typedef struct graph {
    pv_wish *wishes;
    size_t n, n_nodes;
    size_t *degree[2]; /* of nodes, in and out; 0 once they can be on no ring */
    bool *gone;        /* wishes that can be on no ring */
    size_t *queue;
    size_t *came_by; /* by node: the wish by which the search came, or SIZE_MAX */
    size_t *start;   /* by node: where its wishes begin in `out`; one more for the end */
    size_t *out;     /* wishes by their first node */
    size_t work;
} graph;

static void clear(graph *g)
{
    for (int i = 0; i < 2; i++)
        free(g->degree[i]);
    free(g->gone);
    free(g->queue);
    free(g->came_by);
    free(g->start);
    free(g->out);
}

static bool make(graph *g, pv_wish *wishes, size_t n, size_t n_nodes)
{
    *g = (graph){.wishes = wishes, .n = n, .n_nodes = n_nodes};
    for (int i = 0; i < 2; i++)
        g->degree[i] = PV_NEW_ARRAY(n_nodes, size_t);
    g->gone = PV_NEW_ARRAY(n, bool);
    g->queue = PV_NEW_ARRAY(n_nodes, size_t);
    g->came_by = PV_NEW_ARRAY(n_nodes, size_t);
    g->start = PV_NEW_ARRAY(n_nodes + 1, size_t);
    g->out = PV_NEW_ARRAY(n, size_t);
    if (g->degree[0] == NULL || g->degree[1] == NULL || g->gone == NULL || g->queue == NULL ||
        g->came_by == NULL || g->start == NULL || g->out == NULL)
        return false;
    for (size_t i = 0; i < n; i++)
        g->start[wishes[i].first + 1]++;
    for (size_t v = 0; v < n_nodes; v++)
        g->start[v + 1] += g->start[v];
    for (size_t i = n; i-- > 0;)
        g->out[--g->start[wishes[i].first + 1]] = i;
    /* Each start was moved down to its node's begin, one place too far up. */
    memmove(g->start, g->start + 1, n_nodes * sizeof *g->start);
    g->start[n_nodes] = n;
    return true;
}

/* Takes nodes away that nothing leads to, or that lead nowhere, until only rings and ways between
 * them are left. */
static void peel(graph *g)
{
    for (int i = 0; i < 2; i++)
        memset(g->degree[i], 0, g->n_nodes * sizeof *g->degree[i]);
    for (size_t i = 0; i < g->n; i++) {
        g->gone[i] = g->wishes[i].given_up;
        if (g->gone[i])
            continue;
        g->degree[0][g->wishes[i].then]++;
        g->degree[1][g->wishes[i].first]++;
    }
    bool more = true;
    while (more) {
        more = false;
        for (size_t i = 0; i < g->n; i++) {
            const pv_wish *w = &g->wishes[i];
            if (g->gone[i] || (g->degree[0][w->first] > 0 && g->degree[1][w->then] > 0))
                continue;
            g->gone[i] = more = true;
            g->degree[0][w->then]--;
            g->degree[1][w->first]--;
        }
    }
}

static bool on_ring(const graph *g, size_t v)
{
    return g->degree[0][v] > 0 && g->degree[1][v] > 0;
}

static size_t read_ring(const graph *g, size_t v, size_t *ring)
{
    size_t n = 0, at = v;
    do {
        ring[n] = g->came_by[at];
        at = g->wishes[ring[n++]].first;
    } while (at != v);
    return n;
}

/* The shortest ring through a node, as wishes into ring[]; 0 where there is none. */
static size_t ring_through(graph *g, size_t v, size_t *ring)
{
    size_t head = 0, tail = 0;
    for (size_t i = 0; i < g->n_nodes; i++)
        g->came_by[i] = SIZE_MAX;
    g->queue[tail++] = v;
    while (head < tail) {
        size_t at = g->queue[head++];
        for (size_t i = g->start[at]; i < g->start[at + 1]; i++) {
            const pv_wish *w = &g->wishes[g->out[i]];
            if (g->gone[g->out[i]] || g->came_by[w->then] != SIZE_MAX)
                continue;
            g->came_by[w->then] = g->out[i];
            if (w->then == v)
                return read_ring(g, v, ring);
            g->queue[tail++] = w->then;
        }
    }
    return 0;
}

/* A ring, or 0 where there is none. ring[] has room for as many as there are nodes. */
static size_t find_ring(graph *g, size_t *ring)
{
    g->work++;
    peel(g);
    for (size_t v = 0; v < g->n_nodes; v++) {
        size_t n = on_ring(g, v) ? ring_through(g, v, ring) : 0;
        if (n > 0)
            return n;
    }
    return 0;
}

typedef enum found { NO, YES, TOO_LONG, NO_MEMORY } found;

/* Can all rings be broken by wishes that weigh no more than that together? */
static found break_by(graph *g, size_t weight)
{
    if (g->work > PV_RINGS_WORK)
        return TOO_LONG;
    size_t *ring = PV_NEW_ARRAY(g->n_nodes, size_t);
    if (ring == NULL)
        return NO_MEMORY;
    size_t n = find_ring(g, ring);
    found result = n == 0 ? YES : NO;
    for (size_t i = 0; i < n && result == NO; i++) {
        pv_wish *w = &g->wishes[ring[i]];
        if (w->weight > weight)
            continue;
        w->given_up = true;
        result = break_by(g, weight - w->weight);
        w->given_up = result == YES;
    }
    free(ring);
    return result;
}

static bool break_at_once(graph *g)
{
    size_t *ring = PV_NEW_ARRAY(g->n_nodes, size_t);
    if (ring == NULL)
        return false;
    for (size_t n; (n = find_ring(g, ring)) > 0;) {
        size_t lightest = ring[0];
        for (size_t i = 1; i < n; i++)
            if (g->wishes[ring[i]].weight < g->wishes[lightest].weight)
                lightest = ring[i];
        g->wishes[lightest].given_up = true;
    }
    free(ring);
    return true;
}

bool pv_rings_break(pv_wish *wishes, size_t n, size_t n_nodes, bool *least)
{
    graph g;
    found result = NO;
    *least = true;
    if (!make(&g, wishes, n, n_nodes))
        result = NO_MEMORY;
    for (size_t weight = 0; result == NO; weight++)
        result = break_by(&g, weight);
    if (result == TOO_LONG) {
        *least = false;
        result = break_at_once(&g) ? YES : NO_MEMORY;
    }
    clear(&g);
    return result == YES;
}
