#include "plan/cost_items.h"

#include "base/memory.h"

#include <stdlib.h>
#include <string.h>

static pv_cost_point turn(const pv_cost_axis *axis, pv_vec p)
{
    return axis->vertical ? (pv_cost_point){p.x, p.y} : (pv_cost_point){p.y, p.x};
}

static bool add_run(pv_cost_axis *axis, pv_cost_kind kind, pv_vec a, pv_vec b, double reach,
                    const char *id)
{
    pv_cost_run r = {
        .kind = kind, .a = turn(axis, a), .b = turn(axis, b), .reach = reach, .id = id};
    double angle = atan2(fabs(r.b.off - r.a.off), fabs(r.b.along - r.a.along));
    if (kind == PV_RUN_ROUTE && angle < PV_COST_SHALLOW)
        r.each = PV_COST_ROUTE_EACH * (1 - angle / PV_COST_SHALLOW);
    bool along = angle <= PV_COST_ALONG;
    if (!(along || r.each > 0) || (r.a.off == r.b.off && r.a.along == r.b.along))
        return true;
    if (!along)
        r.reach = 0;
    r.lo = fmin(r.a.off, r.b.off) - r.reach;
    r.hi = fmax(r.a.off, r.b.off) + r.reach;
    if (r.hi < 0 || r.lo > axis->across)
        return true;
    if (r.a.along > r.b.along) {
        pv_cost_point first = r.b;
        r.b = r.a;
        r.a = first;
    }
    if (!PV_GROW(axis->runs, axis->n_runs, axis->cap_runs))
        return false;
    axis->runs[axis->n_runs++] = r;
    axis->widest = fmax(axis->widest, r.hi - r.lo);
    return true;
}

static size_t chords_of(const pv_piece *piece)
{
    return piece->arc ? (size_t)fmax(ceil(fabs(piece->sweep) / PV_COST_CHORD - 1e-9), 1) : 1;
}

/* A pv_cost_point of the piece, `share` of the way along it and `left` of it. */
static pv_vec beside(const pv_piece *piece, double share, double left)
{
    if (!piece->arc) {
        pv_vec way = pv_sub(piece->b, piece->a);
        return pv_along(pv_along(piece->a, way, share), pv_left(pv_unit(way)), left);
    }
    double radius = piece->radius - (piece->sweep < 0 ? -left : left);
    return pv_add(piece->centre, pv_polar(fmax(radius, 0), piece->from + share * piece->sweep));
}

/* mm: a straight piece's paint is cut into pieces this long, so that those at a place are found
 * among few. */
#define QUAD_LONG 200.0

static bool add_quad(pv_cost_axis *axis, const pv_vec corner[4], const char *id)
{
    if (!PV_GROW(axis->quads, axis->n_quads, axis->cap_quads))
        return false;
    pv_cost_quad q = {.lo = HUGE_VAL, .hi = -HUGE_VAL, .id = id};
    for (int i = 0; i < 4; i++) {
        q.corner[i] = turn(axis, corner[i]);
        q.lo = fmin(q.lo, q.corner[i].off);
        q.hi = fmax(q.hi, q.corner[i].off);
    }
    axis->quads[axis->n_quads++] = q;
    axis->widest_quad = fmax(axis->widest_quad, q.hi - q.lo);
    return true;
}

static bool add_paint(pv_cost_axis *axis, const pv_vec corner[4], const char *id)
{
    size_t n = (size_t)fmax(ceil(pv_dist(corner[0], corner[1]) / QUAD_LONG), 1);
    for (size_t i = 0; i < n; i++) {
        double from = (double)i / (double)n, to = (double)(i + 1) / (double)n;
        pv_vec left = pv_sub(corner[1], corner[0]), right = pv_sub(corner[2], corner[3]);
        const pv_vec part[4] = {pv_along(corner[0], left, from), pv_along(corner[0], left, to),
                                pv_along(corner[3], right, to), pv_along(corner[3], right, from)};
        if (!add_quad(axis, part, id))
            return false;
    }
    return true;
}

static bool add_piece(pv_cost_axis *axis, const pv_line *line, const pv_piece *piece)
{
    size_t n = chords_of(piece);
    double half = line->width / 2, near = PV_COST_NEAR - PV_COST_TRUE;
    if (!(pv_piece_length(piece) > 0))
        return true;
    for (size_t i = 0; i < n; i++) {
        double from = (double)i / (double)n, to = (double)(i + 1) / (double)n;
        pv_vec corner[4] = {beside(piece, from, half), beside(piece, to, half),
                            beside(piece, to, -half), beside(piece, from, -half)};
        pv_vec a = beside(piece, from, 0), b = beside(piece, to, 0);
        if (!add_run(axis, PV_RUN_EDGE, corner[0], corner[1], near, line->id) ||
            !add_run(axis, PV_RUN_EDGE, corner[3], corner[2], near, line->id) ||
            !add_run(axis, PV_RUN_LINE, a, b, half, line->id) || !add_paint(axis, corner, line->id))
            return false;
    }
    return true;
}

/* The edge in which an open line ends, if that is straight. */
static bool add_end(pv_cost_axis *axis, const pv_line *line, pv_vec at, pv_vec out)
{
    double half = line->width / 2;
    if (line->closed || line->ends == PV_ENDS_ROUND)
        return true;
    if (line->ends == PV_ENDS_SQUARE)
        at = pv_along(at, out, half);
    pv_vec side = pv_scale(pv_left(out), half);
    return add_run(axis, PV_RUN_EDGE, pv_sub(at, side), pv_add(at, side),
                   PV_COST_NEAR - PV_COST_TRUE, line->id);
}

static bool add_line(pv_cost_axis *axis, const pv_line *line)
{
    const pv_piece *first = NULL, *last = NULL;
    for (size_t i = 0; i < line->n_pieces; i++) {
        const pv_piece *piece = &line->pieces[i];
        if (!add_piece(axis, line, piece))
            return false;
        if (pv_piece_length(piece) > 0) {
            first = first != NULL ? first : piece;
            last = piece;
        }
    }
    if (first == NULL)
        return true;
    pv_vec back = pv_scale(pv_piece_heading(first, 0), -1);
    return add_end(axis, line, first->a, back) &&
           add_end(axis, line, last->b, pv_piece_heading(last, pv_piece_length(last)));
}

/* Room for an area with so many points in so many rings. */
static pv_cost_field *add_field(pv_cost_axis *axis, pv_cost_term term, size_t n_points,
                                size_t n_rings)
{
    if (!PV_GROW(axis->fields, axis->n_fields, axis->cap_fields))
        return NULL;
    pv_cost_field *f = &axis->fields[axis->n_fields++];
    *f = (pv_cost_field){.term = term, .lo = HUGE_VAL, .hi = -HUGE_VAL, .n_rings = n_rings};
    f->points = PV_NEW_ARRAY(n_points, pv_cost_point);
    f->ring = PV_NEW_ARRAY(n_rings + 1, size_t);
    if (n_points > axis->most_points)
        axis->most_points = n_points;
    return f->points != NULL && f->ring != NULL ? f : NULL;
}

static void set_point(pv_cost_axis *axis, pv_cost_field *f, size_t i, pv_vec p)
{
    f->points[i] = turn(axis, p);
    f->lo = fmin(f->lo, f->points[i].off);
    f->hi = fmax(f->hi, f->points[i].off);
}

static bool add_four(pv_cost_axis *axis, pv_cost_term term, const pv_vec corner[4], double each,
                     double per_mm, const char *id)
{
    pv_cost_field *f = add_field(axis, term, 4, 1);
    if (f == NULL)
        return false;
    for (size_t i = 0; i < 4; i++)
        set_point(axis, f, i, corner[i]);
    f->ring[1] = 4;
    f->each = each;
    f->per_mm = per_mm;
    f->id = id;
    return true;
}

static bool add_mark(pv_cost_axis *axis, const pv_area *mark)
{
    pv_box b = pv_box_grow(pv_area_box(mark), PV_COST_NEAR - PV_COST_TRUE);
    const pv_vec corner[4] = {b.lo, {b.hi.x, b.lo.y}, b.hi, {b.lo.x, b.hi.y}};
    return add_four(axis, PV_COST_MARK, corner, PV_COST_MARK_EACH, 0, mark->id);
}

static bool add_lettering(pv_cost_axis *axis, const pv_lettering *lettering)
{
    if (lettering->height >= PV_COST_TEXT_SMALL)
        return true;
    pv_box b = lettering->frame;
    const pv_vec own[4] = {b.lo, {b.hi.x, b.lo.y}, b.hi, {b.lo.x, b.hi.y}};
    pv_vec x = pv_polar(1, lettering->angle), y = pv_left(x), corner[4];
    for (int i = 0; i < 4; i++)
        corner[i] = pv_along(pv_along(lettering->at, x, own[i].x), y, own[i].y);
    return add_four(axis, PV_COST_TEXT, corner, PV_COST_TEXT_EACH, PV_COST_TEXT_MM,
                    lettering->text);
}

static bool add_finish(pv_cost_axis *axis, const pv_area *finish)
{
    size_t n = 0;
    for (size_t r = 0; r < finish->n_rings; r++)
        n += finish->rings[r].n;
    if (n == 0)
        return true;
    pv_cost_field *f = add_field(axis, PV_COST_FINISH, n, finish->n_rings);
    if (f == NULL)
        return false;
    size_t at = 0;
    for (size_t r = 0; r < finish->n_rings; r++) {
        for (size_t i = 0; i < finish->rings[r].n; i++)
            set_point(axis, f, at++, finish->rings[r].points[i]);
        f->ring[r + 1] = at;
    }
    f->each = PV_COST_FINISH_EACH;
    f->per_mm = PV_COST_FINISH_MM;
    f->id = "finish";
    return true;
}

static bool add_route(pv_cost_axis *axis, const pv_piece *piece)
{
    size_t n = chords_of(piece);
    for (size_t i = 0; i < n; i++)
        if (!add_run(axis, PV_RUN_ROUTE, beside(piece, (double)i / (double)n, 0),
                     beside(piece, (double)(i + 1) / (double)n, 0), PV_COST_NEAR - PV_COST_TRUE,
                     "route"))
            return false;
    return true;
}

/* What runs and quads are sorted by, and which one it was: they are large, and moved only once. */
typedef struct key {
    double lo, along;
    size_t at;
} key;

static int by_key(const void *a, const void *b)
{
    const key *x = a, *y = b;
    if (x->lo != y->lo)
        return x->lo < y->lo ? -1 : 1;
    if (x->along != y->along)
        return x->along < y->along ? -1 : 1;
    return x->at < y->at ? -1 : x->at > y->at;
}

/* The items, `size` bytes each, in the order of their keys; NULL where memory ran out. */
static void *in_order(const void *items, size_t n, size_t size, key *keys)
{
    char *sorted = pv_new_array(n, size);
    if (sorted == NULL)
        return NULL;
    if (n > 0)
        qsort(keys, n, sizeof *keys, by_key);
    for (size_t i = 0; i < n; i++)
        memcpy(sorted + i * size, (const char *)items + keys[i].at * size, size);
    return sorted;
}

static bool sort_runs(pv_cost_axis *axis)
{
    size_t n = axis->n_runs;
    key *keys = PV_NEW_ARRAY(n, key);
    for (size_t i = 0; keys != NULL && i < n; i++)
        keys[i] = (key){axis->runs[i].lo, axis->runs[i].a.along, i};
    pv_cost_run *sorted = keys == NULL ? NULL : in_order(axis->runs, n, sizeof *sorted, keys);
    free(keys);
    if (sorted == NULL)
        return false;
    free(axis->runs);
    axis->runs = sorted;
    axis->cap_runs = n;
    return true;
}

static bool sort_quads(pv_cost_axis *axis)
{
    size_t n = axis->n_quads;
    key *keys = PV_NEW_ARRAY(n, key);
    for (size_t i = 0; keys != NULL && i < n; i++)
        keys[i] = (key){axis->quads[i].lo, axis->quads[i].corner[0].along, i};
    pv_cost_quad *sorted = keys == NULL ? NULL : in_order(axis->quads, n, sizeof *sorted, keys);
    free(keys);
    if (sorted == NULL)
        return false;
    free(axis->quads);
    axis->quads = sorted;
    axis->cap_quads = n;
    return true;
}

bool pv_cost_items_fill(pv_cost_axis *axis, const pv_regard *regard)
{
    const pv_art *art = regard->art;
    bool good = true;
    for (size_t i = 0; i < art->n_lines && good; i++)
        good = add_line(axis, &art->lines[i]);
    for (size_t i = 0; i < art->n_marks && good; i++)
        good = add_mark(axis, &art->marks[i]);
    for (size_t i = 0; i < art->n_letterings && good; i++)
        good = add_lettering(axis, &art->letterings[i]);
    for (size_t i = 0; i < regard->n_route && good; i++)
        good = add_route(axis, &regard->route[i]);
    good = good && (regard->finish == NULL || add_finish(axis, regard->finish));
    return good && sort_runs(axis) && sort_quads(axis);
}
