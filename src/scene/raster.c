#include "scene/raster.h"

#include "base/memory.h"
#include "scene/inside.h"

#include <stdlib.h>
#include <string.h>

#define BEYOND 1e9 /* mm, past any art */
/* What a line of the raster costs besides its points, in points (for `work` alone). */
#define LINE_WORK 8.0

/* `off` is a coordinate across the lines, `along` one along them. */
static double off(const pv_points *r, pv_vec p)
{
    return r->upright ? p.x : p.y;
}

static double along(const pv_points *r, pv_vec p)
{
    return r->upright ? p.y : p.x;
}

/* Of n places from `start` on, `step` apart, the first that is not before `at`. */
static size_t first_from(double at, double start, double step, size_t n)
{
    double u = ceil((at - start) / step);
    return u <= 0 ? 0 : u >= (double)n ? n : (size_t)u;
}

void pv_points_between(const pv_points *r, double lo, double hi, size_t *from, size_t *to)
{
    lo = fmax(lo, along(r, r->window.lo));
    hi = fmin(hi, along(r, r->window.hi));
    *from = first_from(lo, r->start, r->step, r->points);
    *to = lo < hi ? first_from(hi, r->start, r->step, r->points) : *from;
}

void pv_points_lines(const pv_points *r, double lo, double hi, size_t *from, size_t *to)
{
    lo = fmax(lo, off(r, r->window.lo));
    hi = fmin(hi, off(r, r->window.hi));
    *from = first_from(lo, r->first, r->pitch, r->lines);
    *to = lo < hi ? first_from(hi, r->first, r->pitch, r->lines) : *from;
}

static double line_at(const pv_points *r, size_t line)
{
    return r->first + r->pitch * (double)line;
}

pv_box pv_points_band(const pv_points *r)
{
    double lo = line_at(r, 0), hi = line_at(r, r->lines - 1);
    return r->upright ? (pv_box){{lo, -BEYOND}, {hi, BEYOND}}
                      : (pv_box){{-BEYOND, lo}, {BEYOND, hi}};
}

/* An item at work. */
typedef struct brush {
    pv_points *r;
    pv_points_run *visit;
    void *context;
    size_t from, to; /* lines that it meets */
} brush;

static void run(brush *b, size_t line, size_t from, size_t to)
{
    b->r->work += LINE_WORK + (double)(to > from ? to - from : 0);
    if (from < to)
        b->visit(b->context, line, from, to);
}

/* ---- paint of lines, and the boxes of text ---- */

/* Where a line of the raster goes through a convex polygon; lo > hi where it doesn't. */
static void polygon_span(const pv_points *r, const pv_solid *s, double at, double *lo, double *hi)
{
    *lo = HUGE_VAL;
    *hi = -HUGE_VAL;
    for (int i = 0; i < s->n; i++) {
        pv_vec a = s->corner[i], b = s->corner[(i + 1) % s->n];
        double from = off(r, a), to = off(r, b);
        if ((from > at) == (to > at))
            continue;
        double here = along(r, a) + (along(r, b) - along(r, a)) * (at - from) / (to - from);
        *lo = fmin(*lo, here);
        *hi = fmax(*hi, here);
    }
}

static void paint_polygon(brush *b, const pv_solid *s)
{
    for (size_t l = b->from; l < b->to; l++) {
        double lo, hi;
        size_t from, to;
        polygon_span(b->r, s, line_at(b->r, l), &lo, &hi);
        if (!(lo < hi))
            continue;
        pv_points_between(b->r, lo, hi, &from, &to);
        run(b, l, from, to);
    }
}

/* Of the points [from, to) of a line those that the sector covers, by runs. */
static void paint_sector_run(brush *b, const pv_solid *s, size_t line, double lo, double hi)
{
    const pv_points *r = b->r;
    double at = line_at(r, line);
    size_t from, to, first;
    pv_points_between(r, lo, hi, &from, &to);
    first = to;
    for (size_t i = from; i <= to; i++) {
        double here = r->start + r->step * (double)i;
        bool covered = i < to && pv_solid_covers(s, r->upright ? pv_v(at, here) : pv_v(here, at));
        if (covered && first == to)
            first = i;
        if (!covered && first < to) {
            run(b, line, first, i);
            first = to;
        }
    }
    b->r->work += 3 * (double)(to - from); /* asking costs more than painting */
}

/* A line meets a ring on both sides of its centre; which of that is in the sector, is asked. */
static void paint_sector(brush *b, const pv_solid *s, pv_box box)
{
    const pv_points *r = b->r;
    double lo = along(r, box.lo), hi = along(r, box.hi) + r->step, middle = along(r, s->centre);
    for (size_t l = b->from; l < b->to; l++) {
        double aside = fabs(line_at(r, l) - off(r, s->centre));
        if (aside >= s->outer)
            continue;
        double far = sqrt(s->outer * s->outer - aside * aside);
        double near = aside < s->inner ? sqrt(s->inner * s->inner - aside * aside) : 0;
        paint_sector_run(b, s, l, fmax(middle - far, lo), fmin(middle - near, hi));
        paint_sector_run(b, s, l, fmax(middle + near, lo), fmin(middle + far, hi));
    }
}

/* ---- areas ---- */

/* Marks on each line the first point past the side: from there on one is on its other side. What
 * lies before the window counts at its edge. */
static bool cross_side(void *context, pv_vec a, pv_vec b)
{
    brush *w = context;
    pv_points *r = w->r;
    double from = off(r, a), to = off(r, b);
    size_t l, end, first, last;
    pv_points_lines(r, fmin(from, to), fmax(from, to), &l, &end);
    pv_points_between(r, -HUGE_VAL, HUGE_VAL, &first, &last);
    r->work += LINE_WORK + (double)(end - l);
    for (; l < end; l++) {
        double at = line_at(r, l);
        if ((from > at) == (to > at))
            continue;
        double here = along(r, a) + (along(r, b) - along(r, a)) * (at - from) / (to - from);
        size_t i = first_from(here, r->start, r->step, r->points);
        i = i < first ? first : i;
        if (i < last)
            r->odd[l * r->points + i] ^= 1;
    }
    return true;
}

static bool paint_area(brush *b, const pv_scene *mat, const pv_item *item)
{
    pv_points *r = b->r;
    if (r->odd == NULL)
        r->odd = pv_new_array(r->lines * r->points, 1);
    if (r->odd == NULL)
        return false;
    pv_sides_each(pv_item_sides(mat, item), pv_points_band(r), cross_side, b);
    size_t first, last;
    pv_points_between(r, along(r, item->box.lo), along(r, item->box.hi) + r->step, &first, &last);
    for (size_t l = b->from; l < b->to; l++) {
        unsigned char *odd = r->odd + l * r->points;
        bool inside = false;
        size_t from = first;
        for (size_t i = first; i < last; i++) {
            if (!odd[i])
                continue;
            if (inside)
                run(b, l, from, i);
            inside = !inside;
            from = i;
            odd[i] = 0;
        }
        run(b, l, from, inside ? last : from);
    }
    return true;
}

/* ---- an item ---- */

bool pv_points_item(pv_points *raster, const pv_scene *scene, const pv_item *item,
                    pv_points_run *visit, void *context)
{
    brush b = {.r = raster, .visit = visit, .context = context};
    /* One more: a line just at the upper end. */
    pv_points_lines(raster, off(raster, item->box.lo), off(raster, item->box.hi) + raster->pitch,
                    &b.from, &b.to);
    if (item->kind == PV_ITEM_FILL || item->kind == PV_ITEM_MARK)
        return paint_area(&b, scene->mat != NULL ? scene->mat : scene, item);
    if (item->kind != PV_ITEM_LINE && item->kind != PV_ITEM_TEXT)
        return true;
    if (item->u.solid.kind == PV_SOLID_POLYGON)
        paint_polygon(&b, &item->u.solid);
    else
        paint_sector(&b, &item->u.solid, item->box);
    return true;
}

void pv_points_drop(pv_points *raster)
{
    free(raster->odd);
    raster->odd = NULL;
}
