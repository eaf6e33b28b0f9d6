#include "draw/gain_area.h"

#include "base/memory.h"

#include <stdlib.h>

/* As in gain.c; the limits on numbers bound the time. */
#define BESIDE    0.05  /* mm from an edge, where the colours on both sides are looked up */
#define STEP      1.0   /* mm along an edge between looks */
#define STEPS_MAX 500   /* to an edge */
#define PLACE     0.002 /* mm, to which the end of a colour is found */
#define CORNER    0.02  /* sine of the turn from which on two edges meet in a corner */
#define MITRE     4.0   /* a corner moves by so many times its edges at most */

/* A part of an edge, moved outwards. */
typedef struct moved {
    pv_vec a, b, normal; /* normal: unit, outwards */
    double out;          /* mm */
} moved;

typedef struct moving {
    moved *items;
    size_t n_items, cap_items;
    bool failed;
} moving;

/* What stands at p, if it is the area's own paint: true, else its colour. */
static bool own_paint(const pv_gain_areas *g, const pv_area *area, const pv_spot *spot, pv_vec p)
{
    bool kind = g->kind == PV_ITEM_MARK ? spot->mark : !spot->mark && spot->line < 0;
    return kind && spot->colour == area->colour && pv_scene_covers(g->mat, g->kind, g->of, p);
}

/* How far the edge at p is to move along `normal`, where that leads out of the area; else against
 * it: *inside tells. 0 where the edge isn't seen. */
static double move_at(const pv_gain_areas *g, const pv_area *area, pv_vec p, pv_vec normal)
{
    pv_spot spot[2];
    const pv_vec at[2] = {pv_along(p, normal, BESIDE), pv_along(p, normal, -BESIDE)};
    for (int i = 0; i < 2; i++) {
        spot[i] = pv_scene_at(g->mat, at[i]);
        if (spot[i].off)
            return 0;
    }
    bool own[2] = {own_paint(g, area, &spot[0], at[0]), own_paint(g, area, &spot[1], at[1])};
    if (own[0] == own[1])
        return 0;
    int beyond = own[0] ? 1 : 0;
    const pv_colour *colours = g->mat->art->colours;
    double inwards =
        g->ink * pv_colour_spread(&colours[area->colour], &colours[spot[beyond].colour]);
    /* A line or a mark on top has the edge, and this goes on beneath it. */
    if (g->kind == PV_ITEM_FILL && (spot[beyond].mark || spot[beyond].line >= 0))
        inwards = fmin(inwards, 0);
    return own[0] ? inwards : -inwards;
}

static void add_moved(moving *m, pv_vec a, pv_vec b, pv_vec normal, double out)
{
    moved *last = m->n_items > 0 ? &m->items[m->n_items - 1] : NULL;
    if (last != NULL && last->out == out && last->normal.x == normal.x &&
        last->normal.y == normal.y) {
        last->b = b;
        return;
    }
    if (!PV_GROW(m->items, m->n_items, m->cap_items)) {
        m->failed = true;
        return;
    }
    m->items[m->n_items++] = (moved){a, b, normal, out};
}

/* Of one edge: how its places are to move. */
typedef struct edge {
    const pv_gain_areas *g;
    const pv_area *area;
    pv_vec a, way, normal; /* unit vectors */
} edge;

static double edge_move(const edge *e, double s)
{
    return move_at(e->g, e->area, pv_along(e->a, e->way, s), e->normal);
}

/* Where between two places the move changes. */
static double edge_change(const edge *e, double from, double to, double at_from)
{
    while (to - from > PLACE) {
        double middle = (from + to) / 2;
        if (edge_move(e, middle) == at_from)
            from = middle;
        else
            to = middle;
    }
    return (from + to) / 2;
}

static void move_edge(const pv_gain_areas *g, const pv_area *area, pv_vec a, pv_vec b, moving *m)
{
    double length = pv_dist(a, b);
    if (!(length > 0))
        return;
    pv_vec way = pv_unit(pv_sub(b, a));
    edge e = {g, area, a, way, pv_left(way)};
    int n = (int)fmin(ceil(length / STEP), STEPS_MAX);
    double step = length / n, out = edge_move(&e, step / 2), from = 0;
    for (int i = 1; i < n && !m->failed; i++) {
        double s = (i + 0.5) * step, next = edge_move(&e, s);
        if (next == out)
            continue;
        double at = edge_change(&e, s - step, s, out);
        add_moved(m, pv_along(a, way, from), pv_along(a, way, at), e.normal, out);
        from = at;
        out = next;
    }
    if (!m->failed)
        add_moved(m, pv_along(a, way, from), b, e.normal, out);
}

/* Where the moved ends of two parts meet: one point, or two where they don't. */
static size_t meet(const moved *p, const moved *q, pv_vec out[2])
{
    pv_vec b = pv_along(p->b, p->normal, p->out), a = pv_along(q->a, q->normal, q->out);
    pv_vec t = pv_sub(p->b, p->a), u = pv_sub(q->b, q->a);
    double cross = pv_cross_z(pv_unit(t), pv_unit(u));
    if (fabs(cross) < CORNER) {
        out[0] = p->out == q->out ? pv_scale(pv_add(a, b), 0.5) : b;
        out[1] = a;
        return p->out == q->out ? 1 : 2;
    }
    double s = pv_cross_z(pv_sub(a, b), pv_unit(u)) / cross;
    if (fabs(s) > MITRE * (fabs(p->out) + fabs(q->out))) {
        out[0] = b;
        out[1] = a;
        return 2;
    }
    out[0] = pv_along(b, pv_unit(t), s);
    return 1;
}

/* A ring that would vanish stays. */
static bool move_ring(const pv_gain_areas *g, const pv_area *area, const pv_ring *from, pv_ring *to)
{
    moving m = {0};
    for (size_t i = 0; i < from->n && !m.failed; i++)
        move_edge(g, area, from->points[i], from->points[(i + 1) % from->n], &m);
    to->points = m.failed ? NULL : PV_NEW_ARRAY(2 * m.n_items, pv_vec);
    for (size_t i = 0; to->points != NULL && i < m.n_items; i++) {
        pv_vec at[2];
        size_t k = meet(&m.items[i], &m.items[(i + 1) % m.n_items], at);
        for (size_t j = 0; j < k; j++)
            to->points[to->n++] = at[j];
    }
    free(m.items);
    if (to->points != NULL && to->n < 3) {
        free(to->points);
        to->points = pv_copy_bytes(from->points, from->n, sizeof *from->points);
        to->n = from->n;
    }
    return to->points != NULL;
}

bool pv_gain_area(const pv_gain_areas *g, const pv_area *from, pv_area *to)
{
    *to = (pv_area){.id = from->id, .colour = from->colour};
    to->rings = PV_NEW_ARRAY(from->n_rings, pv_ring);
    bool good = to->rings != NULL;
    to->n_rings = good ? from->n_rings : 0;
    for (size_t i = 0; good && i < from->n_rings; i++)
        good = move_ring(g, from, &from->rings[i], &to->rings[i]);
    return good;
}
