#include "plan/cost_items.h"

#include "base/memory.h"

#include <stdlib.h>
#include <string.h>

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

pv_cost_axis *pv_cost_axis_new(const pv_regard *regard, bool vertical)
{
    pv_cost_axis *axis = PV_NEW(pv_cost_axis);
    if (axis == NULL)
        return NULL;
    pv_vec size = regard->art->size;
    axis->vertical = vertical;
    axis->across = vertical ? size.x : size.y;
    axis->length = vertical ? size.y : size.x;
    bool good = pv_cost_items_fill(axis, regard);
    axis->cuts = PV_NEW_ARRAY(axis->most_points + 1, double);
    axis->near_fields = PV_NEW_ARRAY(axis->n_fields, const pv_cost_field *);
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
static bool span_of(const pv_cost_axis *axis, const pv_cost_run *r, double place,
                    pv_cost_span *span)
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

static size_t gather(pv_cost_axis *axis, double place, pv_cost_kind kind, size_t n)
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
static double chord(pv_cost_axis *axis, const pv_cost_field *f, double place)
{
    size_t n = 0;
    for (size_t r = 0; r < f->n_rings; r++) {
        size_t first = f->ring[r], end = f->ring[r + 1];
        for (size_t i = first; i < end; i++) {
            pv_cost_point a = f->points[i], b = f->points[i + 1 < end ? i + 1 : first];
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
        const pv_cost_field *f = axis->near_fields[i];
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
        const pv_cost_run *r = &axis->near[i];
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
    size_t n = gather(axis, place, PV_RUN_EDGE, 0);
    double edges = covered(axis->spans, n, &cost->most[PV_COST_EDGE]), lines = edges;
    cost->mm[PV_COST_EDGE] = edges;
    cost->tenths[PV_COST_EDGE] = pv_cost_tenths(PV_COST_EDGE_MM * edges);
    size_t both = gather(axis, place, PV_RUN_LINE, n);
    if (both > n) {
        covered(axis->spans + n, both - n, &cost->most[PV_COST_INSIDE]);
        lines = covered(axis->spans, both, NULL);
    }
    cost->mm[PV_COST_INSIDE] = lines - edges;
    cost->tenths[PV_COST_INSIDE] = pv_cost_tenths(PV_COST_INSIDE_MM * (lines - edges));
    n = gather(axis, place, PV_RUN_ROUTE, 0);
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
        const pv_cost_quad *q = &axis->quads[i];
        double lo = q->lo + PV_COST_TRUE, hi = q->hi - PV_COST_TRUE;
        /* Its edges belong to it, whatever rounding makes of them. */
        if (!(lo < hi && place > lo - 2 * PV_COST_TRUE && place < hi + 2 * PV_COST_TRUE))
            continue;
        double within = fmin(fmax(place, lo), hi);
        pv_cost_span span = {HUGE_VAL, -HUGE_VAL, q->id};
        for (int k = 0; k < 4; k++) {
            pv_cost_point a = q->corner[k], b = q->corner[(k + 1) % 4];
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
