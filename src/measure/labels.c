/* The plan as a raster of labels. */
#include "base/memory.h"
#include "measure/view.h"

#include <stdlib.h>
#include <string.h>

/* ---- the raster ---- */

void pv_labels_clear(pv_labels *labels)
{
    free(labels->at);
    free(labels->edged);
    *labels = (pv_labels){0};
}

static bool start(pv_labels *labels, const pv_plan *plan, const pv_sheet *sheet)
{
    double wide = plan->page[0], high = plan->page[1];
    double cell = fmax(PV_LABEL_CELL, sqrt(wide * high / PV_LABELS_MAX));
    *labels = (pv_labels){.art = &plan->art, .lo = sheet->origin, .cell = cell};
    labels->nx = (size_t)fmax(1, wide / cell);
    labels->ny = (size_t)fmax(1, high / cell);
    labels->at = PV_NEW_ARRAY(labels->nx * labels->ny, uint32_t);
    labels->edged = pv_new_array(labels->nx * labels->ny, 1);
    if (labels->at != NULL && labels->edged != NULL)
        return true;
    pv_labels_clear(labels);
    return false;
}

uint32_t pv_label_at(const pv_labels *labels, pv_vec mat)
{
    double u = (mat.x - labels->lo.x) / labels->cell, v = (mat.y - labels->lo.y) / labels->cell;
    /* Written so that what is not a number is blocked. */
    if (!(u >= 0 && v >= 0 && u < (double)labels->nx && v < (double)labels->ny))
        return PV_LABEL_BLOCKED;
    return labels->at[(size_t)v * labels->nx + (size_t)u];
}

uint32_t pv_label_around(const pv_labels *labels, pv_vec mat, double half)
{
    double lo[2] = {(mat.x - half - labels->lo.x) / labels->cell,
                    (mat.y - half - labels->lo.y) / labels->cell};
    double hi[2] = {(mat.x + half - labels->lo.x) / labels->cell,
                    (mat.y + half - labels->lo.y) / labels->cell};
    if (!(lo[0] >= 0 && lo[1] >= 0 && hi[0] < (double)labels->nx && hi[1] < (double)labels->ny))
        return PV_LABEL_BLOCKED;
    uint32_t label = labels->at[(size_t)lo[1] * labels->nx + (size_t)lo[0]];
    for (size_t j = (size_t)lo[1]; j <= (size_t)hi[1]; j++)
        for (size_t i = (size_t)lo[0]; i <= (size_t)hi[0]; i++) {
            size_t k = j * labels->nx + i;
            if (labels->at[k] != label || labels->edged[k] != 0)
                return PV_LABEL_BLOCKED;
        }
    return label;
}

size_t pv_label_colour(const pv_art *art, uint32_t label)
{
    if (label < art->n_colours)
        return label;
    return label < PV_LABEL_WASTE ? art->lines[label - art->n_colours].colour : SIZE_MAX;
}

/* Cells whose middles lie in a box, as [i0, i1) x [j0, j1). */
typedef struct cell_range {
    size_t i0, i1, j0, j1;
} cell_range;

static size_t first_middle(double at, double lo, double cell, size_t n)
{
    double u = ceil((at - lo) / cell - 0.5);
    return u <= 0 ? 0 : u >= (double)n ? n : (size_t)u;
}

static cell_range cells_in(const pv_labels *labels, pv_box box)
{
    cell_range r;
    r.i0 = first_middle(box.lo.x, labels->lo.x, labels->cell, labels->nx);
    r.i1 = first_middle(box.hi.x, labels->lo.x, labels->cell, labels->nx);
    r.j0 = first_middle(box.lo.y, labels->lo.y, labels->cell, labels->ny);
    r.j1 = first_middle(box.hi.y, labels->lo.y, labels->cell, labels->ny);
    r.i1 = r.i1 < r.i0 ? r.i0 : r.i1;
    r.j1 = r.j1 < r.j0 ? r.j0 : r.j1;
    return r;
}

static pv_box meet(pv_box a, pv_box b)
{
    return (pv_box){{fmax(a.lo.x, b.lo.x), fmax(a.lo.y, b.lo.y)},
                    {fmin(a.hi.x, b.hi.x), fmin(a.hi.y, b.hi.y)}};
}

/* ---- painting ---- */

typedef struct brush {
    pv_labels *labels;
    pv_box window;
    double work;
} brush;

static void put(pv_labels *labels, size_t k, uint32_t label)
{
    labels->at[k] = label;
    labels->edged[k] = 0;
}

static void paint_box(brush *b, pv_box box, uint32_t label)
{
    cell_range r = cells_in(b->labels, box);
    for (size_t j = r.j0; j < r.j1; j++)
        for (size_t i = r.i0; i < r.i1; i++)
            put(b->labels, j * b->labels->nx + i, label);
}

/* Marks cells that a straight edge passes through: one in each half a cell's length of it. */
static void mark_edge(brush *b, pv_vec p, pv_vec q)
{
    pv_labels *labels = b->labels;
    pv_box window = pv_box_grow(b->window, labels->cell);
    if (fmax(p.x, q.x) < window.lo.x || fmin(p.x, q.x) > window.hi.x ||
        fmax(p.y, q.y) < window.lo.y || fmin(p.y, q.y) > window.hi.y)
        return;
    double t0 = 0, t1 = 1;
    const double from[2] = {p.x, p.y}, step[2] = {q.x - p.x, q.y - p.y};
    const double lo[2] = {window.lo.x, window.lo.y}, hi[2] = {window.hi.x, window.hi.y};
    for (int k = 0; k < 2; k++) {
        if (step[k] == 0)
            continue;
        double u = (lo[k] - from[k]) / step[k], v = (hi[k] - from[k]) / step[k];
        t0 = fmax(t0, fmin(u, v));
        t1 = fmin(t1, fmax(u, v));
    }
    if (!(t0 <= t1))
        return;
    double length = hypot(step[0], step[1]) * (t1 - t0);
    size_t n = (size_t)(2 * length / labels->cell) + 1;
    for (size_t i = 0; i <= n; i++) {
        double t = t0 + (t1 - t0) * (double)i / (double)n;
        double u = (p.x + t * step[0] - labels->lo.x) / labels->cell;
        double v = (p.y + t * step[1] - labels->lo.y) / labels->cell;
        if (u >= 0 && v >= 0 && u < (double)labels->nx && v < (double)labels->ny)
            labels->edged[(size_t)v * labels->nx + (size_t)u] |= PV_LABEL_EDGED;
    }
    b->work += (double)n;
}

/* Even-odd: each side of a ring turns over all cells to the right of it; kept as one mark a row,
 * summed up when painting. */
static void mark_side(brush *b, const cell_range *r, pv_vec p, pv_vec q)
{
    const pv_labels *labels = b->labels;
    if (p.y > q.y) {
        pv_vec swap = p;
        p = q;
        q = swap;
    }
    size_t j0 = first_middle(p.y, labels->lo.y, labels->cell, labels->ny);
    size_t j1 = first_middle(q.y, labels->lo.y, labels->cell, labels->ny);
    j0 = j0 < r->j0 ? r->j0 : j0;
    j1 = j1 > r->j1 ? r->j1 : j1;
    for (size_t j = j0; j < j1; j++) {
        double y = labels->lo.y + ((double)j + 0.5) * labels->cell;
        double x = p.x + (q.x - p.x) * (y - p.y) / (q.y - p.y);
        size_t i = first_middle(x, labels->lo.x, labels->cell, labels->nx);
        i = i < r->i0 ? r->i0 : i;
        if (i < r->i1)
            labels->edged[j * labels->nx + i] ^= 1;
    }
    b->work += 8 + (double)(j1 > j0 ? j1 - j0 : 0);
}

static void paint_area(brush *b, const pv_shown_area *one)
{
    pv_labels *labels = b->labels;
    cell_range r = cells_in(labels, meet(one->box, b->window));
    for (size_t k = 0; k < one->area->n_rings; k++) {
        const pv_ring *ring = &one->area->rings[k];
        for (size_t i = 0; i < ring->n; i++)
            mark_side(b, &r, ring->points[i], ring->points[(i + 1) % ring->n]);
    }
    for (size_t j = r.j0; j < r.j1; j++) {
        uint8_t odd = 0;
        for (size_t i = r.i0; i < r.i1; i++) {
            size_t k = j * labels->nx + i;
            odd ^= labels->edged[k] & 1;
            labels->edged[k] &= PV_LABEL_EDGED;
            if (odd != 0)
                put(labels, k, (uint32_t)one->area->colour);
        }
        b->work += (double)(r.i1 - r.i0);
    }
    for (size_t k = 0; k < one->area->n_rings; k++) {
        const pv_ring *ring = &one->area->rings[k];
        for (size_t i = 0; i < ring->n; i++)
            mark_edge(b, ring->points[i], ring->points[(i + 1) % ring->n]);
    }
}

/* The part of a row at height y that a convex polygon covers, along x. */
static bool polygon_span(const pv_solid *solid, double y, double *from, double *to)
{
    *from = HUGE_VAL;
    *to = -HUGE_VAL;
    for (int i = 0; i < solid->n; i++) {
        pv_vec p = solid->corner[i], q = solid->corner[(i + 1) % solid->n];
        if ((p.y > y) == (q.y > y))
            continue;
        double x = p.x + (q.x - p.x) * (y - p.y) / (q.y - p.y);
        *from = fmin(*from, x);
        *to = fmax(*to, x);
    }
    return *from < *to;
}

/* How far a convex polygon reaches at least, whichever way: from its flattest side. */
static double thickness(const pv_solid *solid)
{
    double least = HUGE_VAL;
    for (int i = 0; i < solid->n; i++) {
        pv_vec p = solid->corner[i], along = pv_sub(solid->corner[(i + 1) % solid->n], p);
        double length = hypot(along.x, along.y), most = 0;
        for (int k = 0; k < solid->n && length > 0; k++)
            most = fmax(most, fabs(pv_cross_z(along, pv_sub(solid->corner[k], p))) / length);
        if (length > 0)
            least = fmin(least, most);
    }
    return least;
}

static void paint_polygon(brush *b, const pv_solid *solid, cell_range r, uint32_t label)
{
    pv_labels *labels = b->labels;
    for (size_t j = r.j0; j < r.j1; j++) {
        double y = labels->lo.y + ((double)j + 0.5) * labels->cell, from, to;
        if (!polygon_span(solid, y, &from, &to))
            continue;
        size_t i = first_middle(from, labels->lo.x, labels->cell, labels->nx);
        size_t end = first_middle(to, labels->lo.x, labels->cell, labels->nx);
        i = i < r.i0 ? r.i0 : i;
        end = end > r.i1 ? r.i1 : end;
        b->work += 8 + (double)(end > i ? end - i : 0);
        for (; i < end; i++)
            put(labels, j * labels->nx + i, label);
    }
    if (thickness(solid) < PV_LABEL_THIN * labels->cell)
        for (int i = 0; i < solid->n; i++)
            mark_edge(b, solid->corner[i], solid->corner[(i + 1) % solid->n]);
}

/* A thin sector's middle, in chords of half a cell. */
static void mark_arc(brush *b, const pv_solid *solid)
{
    double radius = (solid->inner + solid->outer) / 2, step = b->labels->cell / 2;
    size_t n = (size_t)(2 * PV_PI * radius / step) + 8;
    pv_vec before = pv_add(solid->centre, pv_v(radius, 0));
    for (size_t i = 1; i <= n; i++) {
        double angle = 2 * PV_PI * (double)i / (double)n;
        pv_vec at = pv_add(solid->centre, pv_v(radius * cos(angle), radius * sin(angle)));
        if (pv_solid_covers(solid, at))
            mark_edge(b, before, at);
        before = at;
    }
}

static void paint_sector(brush *b, const pv_solid *solid, cell_range r, uint32_t label)
{
    pv_labels *labels = b->labels;
    for (size_t j = r.j0; j < r.j1; j++) {
        double y = labels->lo.y + ((double)j + 0.5) * labels->cell - solid->centre.y;
        double out = solid->outer * solid->outer - y * y;
        double in = solid->inner * solid->inner - y * y;
        if (out <= 0)
            continue;
        out = sqrt(out);
        in = in > 0 ? sqrt(in) : 0;
        /* Left of the hole, then right of it. */
        const double ends[2][2] = {{-out, -in}, {in, out}};
        for (int side = 0; side < 2; side++) {
            size_t i = first_middle(solid->centre.x + ends[side][0], labels->lo.x, labels->cell,
                                    labels->nx);
            size_t end = first_middle(solid->centre.x + ends[side][1], labels->lo.x, labels->cell,
                                      labels->nx);
            i = i < r.i0 ? r.i0 : i;
            end = end > r.i1 ? r.i1 : end;
            b->work += 8 + (double)(end > i ? 4 * (end - i) : 0);
            for (; i < end; i++) {
                double x = labels->lo.x + ((double)i + 0.5) * labels->cell;
                if (pv_solid_covers(solid, pv_v(x, y + solid->centre.y)))
                    put(labels, j * labels->nx + i, label);
            }
        }
    }
    if (solid->outer - solid->inner < PV_LABEL_THIN * labels->cell)
        mark_arc(b, solid);
}

static void paint_scene(brush *b, const pv_shown *scene)
{
    const pv_art *art = scene->art;
    paint_box(b, b->window, (uint32_t)art->ground);
    for (size_t i = 0; i < scene->n_fills && b->work < PV_LABEL_WORK; i++)
        paint_area(b, &scene->fills[i]);
    for (size_t i = 0; i < scene->n_solids && b->work < PV_LABEL_WORK; i++) {
        const pv_shown_solid *s = &scene->solids[i];
        uint32_t label = (uint32_t)(art->n_colours + s->line);
        cell_range r = cells_in(b->labels, meet(s->box, b->window));
        if (s->solid.kind == PV_SOLID_POLYGON)
            paint_polygon(b, &s->solid, r, label);
        else
            paint_sector(b, &s->solid, r, label);
    }
    for (size_t i = 0; i < scene->n_marks && b->work < PV_LABEL_WORK; i++)
        paint_area(b, &scene->marks[i]);
    for (size_t i = 0; i < scene->n_clutter && b->work < PV_LABEL_WORK; i++) {
        pv_box box = pv_box_grow(scene->clutter[i], PV_CLUTTER_CLEAR);
        cell_range r = cells_in(b->labels, box);
        paint_box(b, box, PV_LABEL_BLOCKED);
        b->work += (double)((r.i1 - r.i0) * (r.j1 - r.j0));
    }
}

bool pv_labels_make(pv_labels *labels, const pv_plan *plan, const pv_sheet *sheet,
                    const pv_shown *scene)
{
    if (!start(labels, plan, sheet))
        return false;
    size_t n = labels->nx * labels->ny;
    for (size_t i = 0; i < n; i++)
        labels->at[i] = PV_LABEL_WASTE;
    pv_box mat = {{0, 0}, plan->art.size};
    brush b = {.labels = labels, .window = meet(scene->window, mat)};
    paint_scene(&b, scene);
    if (b.work >= PV_LABEL_WORK)
        memset(labels->at, 0xFF, n * sizeof *labels->at); /* PV_LABEL_BLOCKED */
    return true;
}
