#include "plan/points.h"

#include "base/memory.h"
#include "plan/layers.h"

#include <stdlib.h>
#include <string.h>

/* `off` is a coordinate across the seam, `along` one along it. */
static double off(const pv_points *r, pv_vec p)
{
    return r->vertical ? p.x : p.y;
}

static double along(const pv_points *r, pv_vec p)
{
    return r->vertical ? p.y : p.x;
}

/* Of `n` points from 0 on with a spacing those from lo to hi; first == end where there are none. */
typedef struct range {
    size_t first, end;
} range;

static range points_within(double lo, double hi, double spacing, size_t n)
{
    double first = fmin(fmax(ceil(lo / spacing), 0), (double)n);
    double end = fmin(fmax(floor(hi / spacing) + 1, first), (double)n);
    return (range){(size_t)first, (size_t)end};
}

static range columns_within(const pv_points *r, double lo, double hi)
{
    return points_within(lo - r->first, hi - r->first, r->pitch, r->columns);
}

static range rows_within(const pv_points *r, double lo, double hi)
{
    return points_within(lo, hi, r->step, r->rows);
}

static double column_at(const pv_points *r, size_t column)
{
    return r->first + r->pitch * (double)column;
}

/* ---- paint of lines, and lettering's boxes ---- */

/* Where a column goes through a convex polygon; lo > hi where it doesn't. */
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

static void paint_polygon(pv_points *r, const pv_solid *s, range columns, uint8_t value)
{
    for (size_t c = columns.first; c < columns.end; c++) {
        double lo, hi;
        polygon_span(r, s, column_at(r, c), &lo, &hi);
        if (!(lo <= hi))
            continue;
        range rows = rows_within(r, lo, hi);
        memset(r->seen + c * r->rows + rows.first, value, rows.end - rows.first);
    }
}

static void paint_sector_rows(pv_points *r, const pv_solid *s, size_t column, range rows,
                              uint8_t value)
{
    double at = column_at(r, column);
    for (size_t i = rows.first; i < rows.end; i++) {
        double here = r->step * (double)i;
        if (pv_solid_covers(s, r->vertical ? pv_v(at, here) : pv_v(here, at)))
            r->seen[column * r->rows + i] = value;
    }
}

/* A column meets a ring on both sides of its centre; which of that is in the sector, is asked. */
static void paint_sector(pv_points *r, const pv_solid *s, pv_box box, range columns, uint8_t value)
{
    double lo = along(r, box.lo), hi = along(r, box.hi), middle = along(r, s->centre);
    for (size_t c = columns.first; c < columns.end; c++) {
        double aside = fabs(column_at(r, c) - off(r, s->centre));
        if (aside > s->outer)
            continue;
        double far = sqrt(s->outer * s->outer - aside * aside);
        double near = aside < s->inner ? sqrt(s->inner * s->inner - aside * aside) : 0;
        range below = rows_within(r, fmax(middle - far, lo), fmin(middle - near, hi));
        range above = rows_within(r, fmax(middle + near, lo), fmin(middle + far, hi));
        paint_sector_rows(r, s, c, below, value);
        paint_sector_rows(r, s, c, above, value);
    }
}

static void paint_solids(pv_points *r, const pv_layers *scene, const pv_layer *l, uint8_t value)
{
    for (size_t i = l->first; i < l->first + l->n; i++) {
        const pv_layer_part *p = &scene->parts[i];
        if (p->kind != PV_PART_SOLID)
            continue;
        range columns = columns_within(r, off(r, p->box.lo), off(r, p->box.hi));
        if (p->u.solid->kind == PV_SOLID_POLYGON)
            paint_polygon(r, p->u.solid, columns, value);
        else
            paint_sector(r, p->u.solid, p->box, columns, value);
    }
}

/* ---- areas ---- */

/* Marks in each column the first row past the segment: from there on one is on its other side. */
static void cross_boundary(pv_points *r, pv_vec a, pv_vec b, range rows)
{
    double from = off(r, a), to = off(r, b);
    range columns = columns_within(r, fmin(from, to), fmax(from, to));
    for (size_t c = columns.first; c < columns.end; c++) {
        double at = column_at(r, c);
        if ((from > at) == (to > at))
            continue;
        double here = along(r, a) + (along(r, b) - along(r, a)) * (at - from) / (to - from);
        double row = fmax(ceil(here / r->step), (double)rows.first);
        if (row < (double)rows.end)
            r->odd[c * r->rows + (size_t)row] ^= 1;
    }
}

static bool paint_area(pv_points *r, const pv_layers *scene, const pv_layer *l, uint8_t value)
{
    if (r->odd == NULL)
        r->odd = PV_NEW_ARRAY(r->columns * r->rows, unsigned char);
    if (r->odd == NULL)
        return false;
    range columns = columns_within(r, off(r, l->box.lo), off(r, l->box.hi));
    range rows = rows_within(r, along(r, l->box.lo), along(r, l->box.hi));
    for (size_t i = l->first; i < l->first + l->n; i++)
        cross_boundary(r, *scene->parts[i].u.boundary[0], *scene->parts[i].u.boundary[1], rows);
    for (size_t c = columns.first; c < columns.end; c++) {
        unsigned char *odd = r->odd + c * r->rows, inside = 0;
        uint8_t *seen = r->seen + c * r->rows;
        for (size_t i = rows.first; i < rows.end; i++) {
            inside ^= odd[i];
            odd[i] = 0;
            if (inside)
                seen[i] = value;
        }
    }
    return true;
}

/* ---- all together ---- */

static uint8_t value_of(const pv_layer *l)
{
    return l->kind == PV_LAYER_LETTERING ? PV_POINTS_LETTERING
                                         : (uint8_t)(l->colour % PV_POINTS_LETTERING);
}

bool pv_points_fill(pv_points *points, const pv_layers *scene)
{
    size_t n = points->columns * points->rows;
    points->seen = PV_NEW_ARRAY(n, uint8_t);
    if (points->seen == NULL)
        return false;
    memset(points->seen, (uint8_t)(scene->ground % PV_POINTS_LETTERING), n);
    bool good = true;
    for (size_t i = scene->n_layers; good && i-- > 0;) {
        const pv_layer *l = &scene->layers[i];
        if (l->kind == PV_LAYER_AREA)
            good = paint_area(points, scene, l, value_of(l));
        else
            paint_solids(points, scene, l, value_of(l));
    }
    return good;
}

void pv_points_free(pv_points *points)
{
    free(points->seen);
    free(points->odd);
    points->seen = NULL;
    points->odd = NULL;
}
