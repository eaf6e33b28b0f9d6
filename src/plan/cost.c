#include "plan/cost.h"

#include "base/memory.h"

#include <stdlib.h>
#include <string.h>

/* `off` is a coordinate at right angles to the seams, `along` one along them. */
typedef struct point {
    double off, along;
} point;

typedef enum run_kind { RUN_EDGE, RUN_LINE, RUN_ROUTE } run_kind;

/* Something straight that runs along the seams: a seam that is nearer than `reach` goes along it.
 * A route's chord that is crossed at a shallow angle has an `each`. */
typedef struct run {
    run_kind kind;
    point a, b; /* a.along <= b.along */
    double reach;
    double each;
    double lo, hi; /* places that it counts for */
    const char *id;
} run;

/* An area that a seam goes through: even-odd over rings. */
typedef struct field {
    pv_cost_term term;
    point *points;
    size_t *ring; /* where each ring begins; one more for the end */
    size_t n_rings;
    double each, per_mm;
    double lo, hi;
    const char *id;
} field;

/* A piece of a line's paint: convex. */
typedef struct quad {
    point corner[4];
    double lo, hi;
    const char *id;
} quad;

struct pv_cost_axis {
    bool vertical;
    double across, length; /* of the mat, at right angles to the seams and along them */
    run *runs;             /* by lo */
    size_t n_runs, cap_runs;
    double widest; /* of a run's hi - lo */
    field *fields;
    size_t n_fields, cap_fields;
    quad *quads; /* by lo */
    size_t n_quads, cap_quads;
    double widest_quad; /* hi - lo */
    run *near;          /* those asked about */
    size_t n_near, cap_near;
    const field **near_fields;
    size_t n_near_fields;
    pv_cost_span *spans; /* scratch: as many as there are of near, or of quads */
    size_t cap_spans;
    double *cuts; /* scratch, for the field with most points */
    size_t most_points;
};

/* ---- building an axis ---- */

static point turn(const pv_cost_axis *axis, pv_vec p)
{
    return axis->vertical ? (point){p.x, p.y} : (point){p.y, p.x};
}

static bool add_run(pv_cost_axis *axis, run_kind kind, pv_vec a, pv_vec b, double reach,
                    const char *id)
{
    run r = {.kind = kind, .a = turn(axis, a), .b = turn(axis, b), .reach = reach, .id = id};
    double angle = atan2(fabs(r.b.off - r.a.off), fabs(r.b.along - r.a.along));
    if (kind == RUN_ROUTE && angle < PV_COST_SHALLOW)
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
        point first = r.b;
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

/* A point of the piece, `share` of the way along it and `left` of it. */
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
    quad q = {.lo = HUGE_VAL, .hi = -HUGE_VAL, .id = id};
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
        if (!add_run(axis, RUN_EDGE, corner[0], corner[1], near, line->id) ||
            !add_run(axis, RUN_EDGE, corner[3], corner[2], near, line->id) ||
            !add_run(axis, RUN_LINE, a, b, half, line->id) || !add_paint(axis, corner, line->id))
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
    return add_run(axis, RUN_EDGE, pv_sub(at, side), pv_add(at, side), PV_COST_NEAR - PV_COST_TRUE,
                   line->id);
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
static field *add_field(pv_cost_axis *axis, pv_cost_term term, size_t n_points, size_t n_rings)
{
    if (!PV_GROW(axis->fields, axis->n_fields, axis->cap_fields))
        return NULL;
    field *f = &axis->fields[axis->n_fields++];
    *f = (field){.term = term, .lo = HUGE_VAL, .hi = -HUGE_VAL, .n_rings = n_rings};
    f->points = PV_NEW_ARRAY(n_points, point);
    f->ring = PV_NEW_ARRAY(n_rings + 1, size_t);
    if (n_points > axis->most_points)
        axis->most_points = n_points;
    return f->points != NULL && f->ring != NULL ? f : NULL;
}

static void set_point(pv_cost_axis *axis, field *f, size_t i, pv_vec p)
{
    f->points[i] = turn(axis, p);
    f->lo = fmin(f->lo, f->points[i].off);
    f->hi = fmax(f->hi, f->points[i].off);
}

static bool add_four(pv_cost_axis *axis, pv_cost_term term, const pv_vec corner[4], double each,
                     double per_mm, const char *id)
{
    field *f = add_field(axis, term, 4, 1);
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
    field *f = add_field(axis, PV_COST_FINISH, n, finish->n_rings);
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
        if (!add_run(axis, RUN_ROUTE, beside(piece, (double)i / (double)n, 0),
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

/* Puts n items into the order of their keys; false where memory ran out. */
static bool sort_by_keys(void **items, size_t *cap, size_t n, size_t size, key *keys)
{
    void *sorted = keys != NULL ? in_order(*items, n, size, keys) : NULL;
    free(keys);
    if (sorted == NULL)
        return false;
    free(*items);
    *items = sorted;
    *cap = n;
    return true;
}

static bool sort_items(pv_cost_axis *axis)
{
    key *keys = PV_NEW_ARRAY(axis->n_runs, key);
    for (size_t i = 0; keys != NULL && i < axis->n_runs; i++)
        keys[i] = (key){axis->runs[i].lo, axis->runs[i].a.along, i};
    if (!sort_by_keys((void **)&axis->runs, &axis->cap_runs, axis->n_runs, sizeof(run), keys))
        return false;
    keys = PV_NEW_ARRAY(axis->n_quads, key);
    for (size_t i = 0; keys != NULL && i < axis->n_quads; i++)
        keys[i] = (key){axis->quads[i].lo, axis->quads[i].corner[0].along, i};
    return sort_by_keys((void **)&axis->quads, &axis->cap_quads, axis->n_quads, sizeof(quad), keys);
}

static bool fill_items(pv_cost_axis *axis, const pv_regard *regard)
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
    return good && sort_items(axis);
}

pv_cost_axis *pv_cost_axis_new(const pv_regard *regard, bool vertical)
{
    pv_cost_axis *axis = PV_NEW(pv_cost_axis);
    if (axis == NULL)
        return NULL;
    pv_vec size = regard->art->size;
    axis->vertical = vertical;
    axis->across = vertical ? size.x : size.y;
    axis->length = vertical ? size.y : size.x;
    bool good = fill_items(axis, regard);
    axis->cuts = PV_NEW_ARRAY(axis->most_points + 1, double);
    axis->near_fields = PV_NEW_ARRAY(axis->n_fields, const field *);
    if (!good || axis->cuts == NULL || axis->near_fields == NULL) {
        pv_cost_axis_free(axis);
        axis = NULL;
    }
    return axis;
}

void pv_cost_axis_free(pv_cost_axis *axis)
{
    if (axis == NULL)
        return;
    for (size_t i = 0; i < axis->n_fields; i++) {
        free(axis->fields[i].points);
        free(axis->fields[i].ring);
    }
    free(axis->runs);
    free(axis->fields);
    free(axis->quads);
    free(axis->near);
    free(axis->near_fields);
    free(axis->spans);
    free(axis->cuts);
    free(axis);
}

/* ---- asking ---- */

static bool room_for_spans(pv_cost_axis *axis, size_t n)
{
    if (n <= axis->cap_spans)
        return true;
    pv_cost_span *more = PV_NEW_ARRAY(n, pv_cost_span);
    if (more == NULL)
        return false;
    free(axis->spans);
    axis->spans = more;
    axis->cap_spans = n;
    return true;
}

bool pv_cost_axis_near(pv_cost_axis *axis, double lo, double hi)
{
    size_t from = 0, to = axis->n_runs;
    while (from < to) {
        size_t middle = from + (to - from) / 2;
        if (axis->runs[middle].lo < lo - axis->widest - PV_COST_TRUE)
            from = middle + 1;
        else
            to = middle;
    }
    axis->n_near = 0;
    for (size_t i = from; i < axis->n_runs && axis->runs[i].lo <= hi; i++) {
        if (axis->runs[i].hi < lo)
            continue;
        if (!PV_GROW(axis->near, axis->n_near, axis->cap_near))
            return false;
        axis->near[axis->n_near++] = axis->runs[i];
    }
    axis->n_near_fields = 0;
    for (size_t i = 0; i < axis->n_fields; i++)
        if (axis->fields[i].hi >= lo && axis->fields[i].lo <= hi)
            axis->near_fields[axis->n_near_fields++] = &axis->fields[i];
    return room_for_spans(axis, axis->n_near + 1);
}

/* Where along the seam a run is nearer than its reach; false where nowhere. */
static bool span_of(const pv_cost_axis *axis, const run *r, double place, pv_cost_span *span)
{
    double rise = r->b.off - r->a.off, length = r->b.along - r->a.along;
    double lo = r->a.along, hi = r->b.along;
    if (!(length > 0) || !(r->reach > 0))
        return false;
    if (rise == 0) {
        if (fabs(r->a.off - place) >= r->reach)
            return false;
    } else {
        double s = length / rise, at = lo + (place - r->a.off) * s, by = r->reach * fabs(s);
        lo = fmax(lo, at - by);
        hi = fmin(hi, at + by);
    }
    lo = fmax(lo, 0);
    hi = fmin(hi, axis->length);
    *span = (pv_cost_span){lo, hi, r->id};
    return hi > lo;
}

static int by_start(const void *a, const void *b)
{
    const pv_cost_span *x = a, *y = b;
    if (x->lo != y->lo)
        return x->lo < y->lo ? -1 : 1;
    return x->hi < y->hi ? -1 : x->hi > y->hi;
}

/* How much n spans cover together; puts them in order. *most: the id of the longest, if asked. */
static double covered(pv_cost_span *spans, size_t n, const char **most)
{
    double sum = 0, end = -HUGE_VAL, longest = 0;
    if (n > 1)
        qsort(spans, n, sizeof *spans, by_start);
    for (size_t i = 0; i < n; i++) {
        if (most != NULL && spans[i].hi - spans[i].lo > longest) {
            longest = spans[i].hi - spans[i].lo;
            *most = spans[i].id;
        }
        double from = fmax(spans[i].lo, end);
        sum += fmax(spans[i].hi - from, 0);
        end = fmax(end, spans[i].hi);
    }
    return sum;
}

static size_t gather(pv_cost_axis *axis, double place, run_kind kind, size_t n)
{
    for (size_t i = 0; i < axis->n_near; i++)
        if (axis->near[i].kind == kind && place > axis->near[i].lo && place < axis->near[i].hi)
            n += span_of(axis, &axis->near[i], place, &axis->spans[n]);
    return n;
}

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return x < y ? -1 : x > y;
}

/* mm of the seam within the area. */
static double chord(pv_cost_axis *axis, const field *f, double place)
{
    size_t n = 0;
    for (size_t r = 0; r < f->n_rings; r++) {
        size_t first = f->ring[r], end = f->ring[r + 1];
        for (size_t i = first; i < end; i++) {
            point a = f->points[i], b = f->points[i + 1 < end ? i + 1 : first];
            if ((a.off > place) != (b.off > place))
                axis->cuts[n++] = a.along + (b.along - a.along) * (place - a.off) / (b.off - a.off);
        }
    }
    if (n > 1)
        qsort(axis->cuts, n, sizeof *axis->cuts, by_value);
    double sum = 0;
    for (size_t i = 0; i + 1 < n; i += 2)
        sum += axis->cuts[i + 1] - axis->cuts[i];
    return sum;
}

static void add_fields(pv_cost_axis *axis, double place, pv_cost *cost)
{
    double dearest[PV_COST_TERMS] = {0};
    for (size_t i = 0; i < axis->n_near_fields; i++) {
        const field *f = axis->near_fields[i];
        if (!(place > f->lo && place < f->hi))
            continue;
        double mm = chord(axis, f, place), worth = f->each + f->per_mm * mm;
        if (!(mm > 0))
            continue;
        cost->tenths[f->term] += pv_cost_tenths(worth);
        cost->mm[f->term] += mm;
        cost->count[f->term]++;
        if (worth > dearest[f->term]) {
            dearest[f->term] = worth;
            cost->most[f->term] = f->id;
        }
    }
}

static void add_crossings(pv_cost_axis *axis, double place, pv_cost *cost)
{
    for (size_t i = 0; i < axis->n_near; i++) {
        const run *r = &axis->near[i];
        if (!(r->each > 0) || !(place >= fmin(r->a.off, r->b.off)) ||
            !(place < fmax(r->a.off, r->b.off)))
            continue;
        cost->tenths[PV_COST_ROUTE] += pv_cost_tenths(r->each);
        cost->count[PV_COST_ROUTE]++;
    }
}

void pv_cost_at(pv_cost_axis *axis, double place, pv_cost *cost)
{
    memset(cost, 0, sizeof *cost);
    for (int t = 0; t < PV_COST_TERMS; t++)
        cost->most[t] = NULL;
    size_t n = gather(axis, place, RUN_EDGE, 0);
    double edges = covered(axis->spans, n, &cost->most[PV_COST_EDGE]), lines = edges;
    cost->mm[PV_COST_EDGE] = edges;
    cost->tenths[PV_COST_EDGE] = pv_cost_tenths(PV_COST_EDGE_MM * edges);
    size_t both = gather(axis, place, RUN_LINE, n);
    if (both > n) {
        covered(axis->spans + n, both - n, &cost->most[PV_COST_INSIDE]);
        lines = covered(axis->spans, both, NULL);
    }
    cost->mm[PV_COST_INSIDE] = lines - edges;
    cost->tenths[PV_COST_INSIDE] = pv_cost_tenths(PV_COST_INSIDE_MM * (lines - edges));
    n = gather(axis, place, RUN_ROUTE, 0);
    cost->mm[PV_COST_ROUTE] = covered(axis->spans, n, NULL);
    cost->tenths[PV_COST_ROUTE] = pv_cost_tenths(PV_COST_ROUTE_MM * cost->mm[PV_COST_ROUTE]);
    add_crossings(axis, place, cost);
    add_fields(axis, place, cost);
}

bool pv_cost_paint(pv_cost_axis *axis, double place, const pv_cost_span **spans, size_t *n)
{
    size_t found = 0;
    if (!room_for_spans(axis, axis->n_quads + 1))
        return false;
    size_t from = 0, to = axis->n_quads;
    while (from < to) {
        size_t middle = from + (to - from) / 2;
        if (axis->quads[middle].lo < place - axis->widest_quad - PV_COST_TRUE)
            from = middle + 1;
        else
            to = middle;
    }
    for (size_t i = from; i < axis->n_quads && axis->quads[i].lo < place + PV_COST_TRUE; i++) {
        const quad *q = &axis->quads[i];
        double lo = q->lo + PV_COST_TRUE, hi = q->hi - PV_COST_TRUE;
        /* Its edges belong to it in spite of rounding. */
        if (!(lo < hi && place > lo - 2 * PV_COST_TRUE && place < hi + 2 * PV_COST_TRUE))
            continue;
        double within = fmin(fmax(place, lo), hi);
        pv_cost_span span = {HUGE_VAL, -HUGE_VAL, q->id};
        for (int k = 0; k < 4; k++) {
            point a = q->corner[k], b = q->corner[(k + 1) % 4];
            if ((a.off > within) == (b.off > within))
                continue;
            double at = a.along + (b.along - a.along) * (within - a.off) / (b.off - a.off);
            span.lo = fmin(span.lo, at - PV_COST_TRUE);
            span.hi = fmax(span.hi, at + PV_COST_TRUE);
        }
        if (span.hi > span.lo)
            axis->spans[found++] = span;
    }
    *spans = axis->spans;
    *n = found;
    return true;
}

int64_t pv_cost_tenths(double cost)
{
    return llround(PV_COST_TENTHS * cost);
}

int64_t pv_cost_sum(const pv_cost *cost)
{
    int64_t sum = 0;
    for (int t = 0; t < PV_COST_TERMS; t++)
        sum += cost->tenths[t];
    return sum;
}
