#include "course/arrange.h"

#include "base/memory.h"
#include "base/numeric.h"
#include "course/meet.h"

#include <stdlib.h>

#define NONE SIZE_MAX

/* ---- nodes: points within PV_TOUCH of an earlier one are that one ---- */

static size_t cell_of(const pv_arrangement *a, double ix, double iy)
{
    /* Mixing as in splitmix64's finisher: neighbouring cells land far apart. */
    uint64_t h = (uint64_t)(int64_t)ix * 0x9E3779B97F4A7C15u ^ (uint64_t)(int64_t)iy;
    h = (h ^ (h >> 30)) * 0xBF58476D1CE4E5B9u;
    h = (h ^ (h >> 27)) * 0x94D049BB133111EBu;
    return (size_t)(h ^ (h >> 31)) % a->n_cells;
}

static size_t find_node(const pv_arrangement *a, pv_vec p)
{
    double ix = floor(p.x / PV_TOUCH), iy = floor(p.y / PV_TOUCH), least = PV_TOUCH;
    size_t best = NONE;
    for (int k = 0; k < 9; k++) {
        size_t cell =
            cell_of(a, ix + k % 3 - 1, iy + k / 3 - 1); /* NOLINT(bugprone-integer-division) */
        for (size_t i = a->cells[cell]; i != NONE; i = a->nodes[i].next) {
            double d = pv_dist(a->nodes[i].at, p);
            if (d < least || (d == least && i < best)) {
                least = d;
                best = i;
            }
        }
    }
    return best;
}

static bool rehash(pv_arrangement *a, size_t n_cells)
{
    size_t *cells = PV_NEW_ARRAY(n_cells, size_t);
    if (cells == NULL)
        return false;
    free(a->cells);
    a->cells = cells;
    a->n_cells = n_cells;
    for (size_t i = 0; i < n_cells; i++)
        cells[i] = NONE;
    for (size_t i = 0; i < a->n_nodes; i++) {
        pv_node *node = &a->nodes[i];
        size_t cell = cell_of(a, floor(node->at.x / PV_TOUCH), floor(node->at.y / PV_TOUCH));
        node->next = cells[cell];
        cells[cell] = i;
    }
    return true;
}

/* The node at p, made if need be; NONE where memory ran out. */
static size_t node_at(pv_arrangement *a, pv_vec p)
{
    size_t old = find_node(a, p);
    if (old != NONE)
        return old;
    if (a->n_nodes >= a->n_cells && !rehash(a, 2 * a->n_cells))
        return NONE;
    if (!PV_GROW(a->nodes, a->n_nodes, a->cap_nodes))
        return NONE;
    size_t cell = cell_of(a, floor(p.x / PV_TOUCH), floor(p.y / PV_TOUCH));
    a->nodes[a->n_nodes] = (pv_node){.at = p, .next = a->cells[cell]};
    a->cells[cell] = a->n_nodes;
    return a->n_nodes++;
}

static bool stop_at(pv_arrangement *a, size_t curve, size_t node, double s)
{
    if (!PV_GROW(a->stops, a->n_stops, a->cap_stops))
        return false;
    a->stops[a->n_stops++] = (pv_stop){curve, node, s};
    return true;
}

/* ---- curves ---- */

static bool add_curve(pv_arrangement *a, const pv_piece *piece, size_t line)
{
    double length = pv_piece_length(piece);
    if (!(length > 0))
        return true;
    if (!PV_GROW(a->curves, a->n_curves, a->cap_curves))
        return false;
    pv_curve curve = {*piece, line, {node_at(a, piece->a), node_at(a, piece->b)}};
    a->curves[a->n_curves++] = curve;
    return curve.end[0] != NONE && curve.end[1] != NONE &&
           stop_at(a, a->n_curves - 1, curve.end[0], 0) &&
           stop_at(a, a->n_curves - 1, curve.end[1], length);
}

static bool add_curves(pv_arrangement *a, const pv_art *art)
{
    const pv_vec corner[4] = {{0, 0}, {art->size.x, 0}, art->size, {0, art->size.y}};
    for (int i = 0; i < 4; i++) {
        pv_piece side = pv_segment(corner[i], corner[(i + 1) % 4]);
        if (!add_curve(a, &side, PV_MAT_EDGE))
            return false;
    }
    for (size_t i = 0; i < art->n_lines; i++)
        for (size_t k = 0; k < art->lines[i].n_pieces; k++)
            if (!add_curve(a, &art->lines[i].pieces[k], i))
                return false;
    return true;
}

static bool index_curves(pv_arrangement *a, pv_geos *geos)
{
    pv_box *boxes = PV_NEW_ARRAY(a->n_curves, pv_box);
    if (boxes == NULL)
        return false;
    for (size_t i = 0; i < a->n_curves; i++)
        boxes[i] = pv_piece_box(&a->curves[i].piece);
    bool good = pv_index_open(&a->index, geos, boxes, a->n_curves);
    free(boxes);
    return good;
}

/* ---- where curves meet ---- */

typedef struct meeting {
    pv_arrangement *a;
    size_t curve; /* the one that looks for others */
    size_t pairs;
    bool no_memory;
} meeting;

/* Puts the ends of one curve on the other where they touch it. */
static bool touch_ends(pv_arrangement *a, size_t of, size_t on)
{
    for (int i = 0; i < 2; i++) {
        size_t node = a->curves[of].end[i];
        if (node == a->curves[on].end[0] || node == a->curves[on].end[1])
            continue;
        const pv_piece *piece = &a->curves[on].piece;
        double s = pv_piece_nearest(piece, a->nodes[node].at);
        if (pv_dist(pv_piece_point(piece, s), a->nodes[node].at) <= PV_TOUCH &&
            !stop_at(a, on, node, s))
            return false;
    }
    return true;
}

static bool cross_pair(pv_arrangement *a, size_t i, size_t j)
{
    pv_vec at[PV_MEET_MAX];
    int n = pv_pieces_meet(&a->curves[i].piece, &a->curves[j].piece, PV_TOUCH, at);
    for (int k = 0; k < n; k++) {
        size_t node = node_at(a, at[k]);
        if (node == NONE)
            return false;
        pv_vec p = a->nodes[node].at;
        if (!stop_at(a, i, node, pv_piece_nearest(&a->curves[i].piece, p)) ||
            !stop_at(a, j, node, pv_piece_nearest(&a->curves[j].piece, p)))
            return false;
    }
    return true;
}

static void meet(size_t other, void *context)
{
    meeting *m = context;
    if (other <= m->curve || m->no_memory || m->pairs > PV_PAIRS_MAX ||
        m->a->n_stops > PV_MEETINGS_MAX)
        return;
    m->pairs++;
    m->no_memory = !touch_ends(m->a, m->curve, other) || !touch_ends(m->a, other, m->curve) ||
                   !cross_pair(m->a, m->curve, other);
}

static bool meet_all(pv_arrangement *a, pv_geos *geos, pv_diags *diags)
{
    meeting m = {.a = a};
    for (size_t i = 0; i < a->n_curves; i++) {
        pv_box box = pv_box_grow(pv_piece_box(&a->curves[i].piece), PV_TOUCH);
        m.curve = i;
        if (!pv_index_find(&a->index, box, meet, &m))
            return pv_geos_refused(geos, diags);
        if (m.no_memory) {
            pv_fail_memory(diags);
            return false;
        }
        if (m.pairs > PV_PAIRS_MAX || a->n_stops > PV_MEETINGS_MAX) {
            pv_diags_add(diags, PV_ERROR, PV_CAUSE_LIMIT, NULL, "draw fewer or shorter lines",
                         "the lines lie across each other too densely: more than %u places where "
                         "they meet, or %u pairs to compare",
                         PV_MEETINGS_MAX, PV_PAIRS_MAX);
            return false;
        }
    }
    return true;
}

/* ---- edges ---- */

static int by_place(const void *x, const void *y)
{
    const pv_stop *a = x, *b = y;
    int order = pv_order_index(a->curve, b->curve);
    order = order != 0 ? order : pv_order(a->s, b->s);
    return order != 0 ? order : pv_order_index(a->node, b->node);
}

/* Edges between the same two nodes side by side, in a fixed order. */
static int by_nodes(const void *x, const void *y)
{
    const pv_graph_edge *a = x, *b = y;
    int order = pv_order_index(a->node[0], b->node[0]);
    order = order != 0 ? order : pv_order_index(a->node[1], b->node[1]);
    order = order != 0 ? order : pv_order(a->middle.x, b->middle.x);
    order = order != 0 ? order : pv_order(a->middle.y, b->middle.y);
    return order != 0 ? order : pv_order_index(a->curve, b->curve);
}

static bool outside(const pv_arrangement *a, pv_vec p)
{
    pv_box mat = {{0, 0}, a->size};
    return !pv_box_holds(pv_box_grow(mat, PV_TOUCH), p);
}

static bool add_edge(pv_arrangement *a, const pv_stop *from, const pv_stop *to)
{
    double length = to->s - from->s;
    /* What begins and ends at one node is a loop, or a stretch that snapping closed up. */
    if (from->node == to->node && length <= 3 * PV_TOUCH)
        return true;
    const pv_piece *piece = &a->curves[from->curve].piece;
    if (from->node == to->node && !piece->arc)
        return true;
    pv_vec middle = pv_piece_point(piece, (from->s + to->s) / 2);
    if (outside(a, middle))
        return true;
    if (!PV_GROW(a->edges, a->n_edges, a->cap_edges))
        return false;
    pv_graph_edge edge = {{from->node, to->node}, from->curve, from->s, to->s, middle};
    if (edge.node[0] > edge.node[1])
        edge = (pv_graph_edge){{to->node, from->node}, from->curve, to->s, from->s, middle};
    a->edges[a->n_edges++] = edge;
    return true;
}

/* Two stretches between the same nodes whose middles coincide are one. */
static void drop_doubles(pv_arrangement *a)
{
    qsort(a->edges, a->n_edges, sizeof *a->edges, by_nodes);
    size_t kept = 0;
    for (size_t i = 0; i < a->n_edges; i++) {
        const pv_graph_edge *edge = &a->edges[i];
        bool twin = false;
        for (size_t k = kept; k-- > 0 && !twin;) {
            const pv_graph_edge *other = &a->edges[k];
            if (other->node[0] != edge->node[0] || other->node[1] != edge->node[1] ||
                edge->middle.x - other->middle.x > 2 * PV_TOUCH)
                break;
            twin = pv_dist(edge->middle, other->middle) <= 2 * PV_TOUCH;
        }
        if (!twin)
            a->edges[kept++] = *edge;
    }
    a->n_edges = kept;
}

static bool make_edges(pv_arrangement *a)
{
    qsort(a->stops, a->n_stops, sizeof *a->stops, by_place);
    for (size_t i = 0; i + 1 < a->n_stops; i++)
        if (a->stops[i].curve == a->stops[i + 1].curve &&
            !add_edge(a, &a->stops[i], &a->stops[i + 1]))
            return false;
    drop_doubles(a);
    for (size_t i = 0; i < a->n_edges; i++) {
        a->nodes[a->edges[i].node[0]].degree++;
        a->nodes[a->edges[i].node[1]].degree++;
    }
    return true;
}

static size_t root_of(size_t *parent, size_t i)
{
    while (parent[i] != i)
        i = parent[i] = parent[parent[i]];
    return i;
}

bool pv_arrangement_faces(const pv_arrangement *a, size_t *faces)
{
    size_t *parent = PV_NEW_ARRAY(a->n_nodes, size_t), vertices = 0, components = 0;
    if (parent == NULL)
        return false;
    for (size_t i = 0; i < a->n_nodes; i++)
        parent[i] = i;
    for (size_t i = 0; i < a->n_edges; i++)
        parent[root_of(parent, a->edges[i].node[0])] = root_of(parent, a->edges[i].node[1]);
    for (size_t i = 0; i < a->n_nodes; i++) {
        vertices += a->nodes[i].degree > 0;
        components += a->nodes[i].degree > 0 && parent[i] == i;
    }
    free(parent);
    *faces = a->n_edges + components - vertices;
    return true;
}

bool pv_graph_edge_points(const pv_arrangement *a, const pv_graph_edge *edge, pv_vec **points,
                          size_t *n)
{
    const pv_piece *piece = &a->curves[edge->curve].piece;
    double steps = 1;
    if (piece->arc) {
        double step = 2 * acos(fmax(1 - PV_FLATNESS / piece->radius, 0));
        steps = ceil(fabs(edge->to - edge->from) / piece->radius / step);
        /* A loop needs three corners to enclose anything. */
        steps = fmax(steps, edge->node[0] == edge->node[1] ? 3 : 1);
    }
    *n = (size_t)steps + 1;
    *points = PV_NEW_ARRAY(*n, pv_vec);
    if (*points == NULL)
        return false;
    (*points)[0] = a->nodes[edge->node[0]].at;
    for (size_t i = 1; i + 1 < *n; i++)
        (*points)[i] =
            pv_piece_point(piece, edge->from + (edge->to - edge->from) * (double)i / steps);
    (*points)[*n - 1] = a->nodes[edge->node[1]].at;
    return true;
}

bool pv_arrange(pv_arrangement *a, const pv_art *art, pv_geos *geos, pv_diags *diags)
{
    *a = (pv_arrangement){.size = art->size};
    if (!rehash(a, 1024) || !add_curves(a, art)) {
        pv_fail_memory(diags);
        return false;
    }
    if (!index_curves(a, geos))
        return pv_geos_refused(geos, diags);
    if (!meet_all(a, geos, diags))
        return false;
    if (!make_edges(a)) {
        pv_fail_memory(diags);
        return false;
    }
    return true;
}

void pv_arrangement_clear(pv_arrangement *a)
{
    pv_index_close(&a->index);
    free(a->curves);
    free(a->nodes);
    free(a->cells);
    free(a->stops);
    free(a->edges);
    *a = (pv_arrangement){0};
}
