#include "scene/raster.h"

#include "base/memory.h"
#include "scene/inside.h"

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

static void paint_solid(pv_points *r, const pv_item *item, uint8_t value)
{
    range columns = columns_within(r, off(r, item->box.lo), off(r, item->box.hi));
    if (item->u.solid.kind == PV_SOLID_POLYGON)
        paint_polygon(r, &item->u.solid, columns, value);
    else
        paint_sector(r, &item->u.solid, item->box, columns, value);
}

/* ---- areas ---- */

typedef struct crossing {
    pv_points *r;
    range rows;
} crossing;

/* Marks in each column the first row past the side: from there on one is on its other side. */
static bool cross_side(void *context, pv_vec a, pv_vec b)
{
    const crossing *x = context;
    pv_points *r = x->r;
    double from = off(r, a), to = off(r, b);
    range columns = columns_within(r, fmin(from, to), fmax(from, to));
    for (size_t c = columns.first; c < columns.end; c++) {
        double at = column_at(r, c);
        if ((from > at) == (to > at))
            continue;
        double here = along(r, a) + (along(r, b) - along(r, a)) * (at - from) / (to - from);
        double row = fmax(ceil(here / r->step), (double)x->rows.first);
        if (row < (double)x->rows.end)
            r->odd[c * r->rows + (size_t)row] ^= 1;
    }
    return true;
}

#define BEYOND 1e9 /* mm, past any art */

/* All that meets the columns, however far along them. */
static pv_box band(const pv_points *r)
{
    double lo = column_at(r, 0), hi = column_at(r, r->columns - 1);
    return r->vertical ? (pv_box){{lo, -BEYOND}, {hi, BEYOND}}
                       : (pv_box){{-BEYOND, lo}, {BEYOND, hi}};
}

static bool paint_area(pv_points *r, const pv_scene *mat, const pv_item *item, uint8_t value)
{
    if (r->odd == NULL)
        r->odd = PV_NEW_ARRAY(r->columns * r->rows, unsigned char);
    if (r->odd == NULL)
        return false;
    range columns = columns_within(r, off(r, item->box.lo), off(r, item->box.hi));
    crossing x = {r, rows_within(r, along(r, item->box.lo), along(r, item->box.hi))};
    pv_sides_each(pv_item_sides(mat, item), band(r), cross_side, &x);
    for (size_t c = columns.first; c < columns.end; c++) {
        unsigned char *odd = r->odd + c * r->rows, inside = 0;
        uint8_t *seen = r->seen + c * r->rows;
        for (size_t i = x.rows.first; i < x.rows.end; i++) {
            inside ^= odd[i];
            odd[i] = 0;
            if (inside)
                seen[i] = value;
        }
    }
    return true;
}

/* ---- all together ---- */

static uint8_t value_of(const pv_item *item)
{
    return item->kind == PV_ITEM_TEXT ? PV_POINTS_LETTERING
                                      : (uint8_t)(item->colour % PV_POINTS_LETTERING);
}

bool pv_points_fill(pv_points *points, const pv_scene *mat)
{
    size_t n = points->columns * points->rows;
    pv_look look = {0};
    points->seen = PV_NEW_ARRAY(n, uint8_t);
    if (points->seen == NULL)
        return false;
    memset(points->seen, (uint8_t)(mat->art->ground % PV_POINTS_LETTERING), n);
    bool good = pv_scene_find(mat, band(points), &look);
    for (size_t i = 0; good && i < look.n; i++) {
        const pv_item *item = look.items[i];
        if (item->kind == PV_ITEM_LINE || item->kind == PV_ITEM_TEXT)
            paint_solid(points, item, value_of(item));
        else
            good = paint_area(points, mat, item, value_of(item));
    }
    pv_look_drop(&look);
    return good;
}

void pv_points_free(pv_points *points)
{
    free(points->seen);
    free(points->odd);
    points->seen = NULL;
    points->odd = NULL;
}
