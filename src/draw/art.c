/* The art as filled paths.
 *
 * Only what meets the window is looked at. A back end reaches some metres from a page's corner, a
 * mat may be 100 m wide: rings are cut to the window, and of solids that reach farther than
 * SOLID_REACH only the part near the window is emitted. Cutting adds edges only outside of the
 * window, where the caller's clip hides them. */
#include "draw/art.h"

#include "base/memory.h"

#include <stdlib.h>
#include <string.h>

#define SPARE       1.0    /* mm that rings are left to stand out of the window */
#define SOLID_REACH 3000.0 /* mm */
#define SLICE       200.0  /* mm, length of an arc's slice where it is too large to be whole */
#define SLICES_MAX  1e5
#define FLAT_STEPS  64 /* chords that stand for a slice whose width is out of reach, too */

typedef struct painter {
    pv_drawing *drawing;
    const pv_scene *mat;
    pv_box window; /* mat frame */
    pv_vec origin;
    pv_vec *ring[2]; /* room for cutting rings */
    size_t room[2];
} painter;

static pv_vec place(const painter *w, pv_vec mat)
{
    return pv_sub(mat, w->origin);
}

static bool inside(pv_box outer, pv_box inner)
{
    return outer.lo.x <= inner.lo.x && outer.lo.y <= inner.lo.y && inner.hi.x <= outer.hi.x &&
           inner.hi.y <= outer.hi.y;
}

/* ---- rings ---- */

/* How far p is within side 0 to 3 of a box: left, bottom, right, top. */
static double within(pv_box box, int side, pv_vec p)
{
    switch (side) {
    case 0:
        return p.x - box.lo.x;
    case 1:
        return p.y - box.lo.y;
    case 2:
        return box.hi.x - p.x;
    default:
        return box.hi.y - p.y;
    }
}

/* Cuts a ring at one side of the box: Sutherland and Hodgman's method. Inside the box, the even-odd
 * and the non-zero rule give what they gave before. `to` has room for 2 n points. */
static size_t cut_side(pv_box box, int side, const pv_vec *from, size_t n, pv_vec *to)
{
    size_t m = 0;
    for (size_t i = 0; i < n; i++) {
        pv_vec a = from[i == 0 ? n - 1 : i - 1], b = from[i];
        double da = within(box, side, a), db = within(box, side, b);
        if ((da >= 0) != (db >= 0))
            to[m++] = pv_along(a, pv_sub(b, a), da / (da - db));
        if (db >= 0)
            to[m++] = b;
    }
    return m;
}

static void emit_ring(painter *w, const pv_vec *points, size_t n)
{
    if (n < 3)
        return;
    pv_draw_move(w->drawing, place(w, points[0]));
    for (size_t i = 1; i < n; i++)
        pv_draw_line(w->drawing, place(w, points[i]));
    pv_draw_close(w->drawing);
}

static bool room(painter *w, int which, size_t n)
{
    if (pv_reserve((void **)&w->ring[which], &w->room[which], n, sizeof(pv_vec)))
        return true;
    w->drawing->failed = true;
    return false;
}

static void paint_ring(painter *w, const pv_vec *points, size_t n)
{
    pv_box box = pv_box_none(), frame = pv_box_grow(w->window, SPARE);
    for (size_t i = 0; i < n; i++)
        box = pv_box_add(box, points[i]);
    if (!pv_box_meets(box, w->window))
        return;
    if (inside(frame, box)) {
        emit_ring(w, points, n);
        return;
    }
    const pv_vec *from = points;
    for (int side = 0; side < 4; side++) {
        if (!room(w, side % 2, 2 * n))
            return;
        n = cut_side(frame, side, from, n, w->ring[side % 2]);
        from = w->ring[side % 2];
    }
    emit_ring(w, from, n);
}

/* ---- lines ---- */

static void emit_sector(painter *w, const pv_solid *s, double from, double sweep)
{
    pv_drawing *d = w->drawing;
    pv_vec centre = place(w, s->centre);
    bool whole = sweep >= 2 * PV_PI, hollow = s->inner > 0;
    if (!hollow && !whole)
        pv_draw_move(d, centre);
    pv_vec start = pv_add(centre, pv_polar(s->outer, from));
    if (hollow || whole)
        pv_draw_move(d, start);
    else
        pv_draw_line(d, start);
    pv_draw_arc(d, centre, s->outer, from, sweep);
    if (whole)
        pv_draw_close(d);
    if (hollow) {
        pv_vec back = pv_add(centre, pv_polar(s->inner, from + sweep));
        if (whole)
            pv_draw_move(d, back);
        else
            pv_draw_line(d, back);
        pv_draw_arc(d, centre, s->inner, from + sweep, -sweep);
    }
    if (!whole || hollow)
        pv_draw_close(d);
}

/* A slice wider than a page's reach, as a polygon. */
static void flat_slice(painter *w, const pv_solid *slice)
{
    pv_vec points[2 * (FLAT_STEPS + 1)];
    for (int i = 0; i <= FLAT_STEPS; i++) {
        double a = slice->from + slice->sweep * i / FLAT_STEPS;
        points[i] = pv_add(slice->centre, pv_polar(slice->outer, a));
        points[2 * FLAT_STEPS + 1 - i] = pv_add(slice->centre, pv_polar(slice->inner, a));
    }
    paint_ring(w, points, 2 * (FLAT_STEPS + 1));
}

/* A sector that is too large to be whole: runs of its slices that meet the window. */
static void paint_slices(painter *w, const pv_solid *solid)
{
    int n = (int)fmin(ceil(solid->sweep * solid->outer / SLICE), SLICES_MAX);
    double step = solid->sweep / n;
    pv_box reach = pv_box_grow(w->window, SOLID_REACH);
    int run = -1; /* where the present run of slices began */
    for (int i = 0; i <= n; i++) {
        pv_solid slice = *solid;
        slice.from = solid->from + i * step;
        slice.sweep = step;
        bool meets = i < n && pv_box_meets(pv_solid_box(&slice), w->window);
        bool wide = meets && !inside(reach, pv_solid_box(&slice));
        if (wide)
            flat_slice(w, &slice);
        if (meets && !wide && run < 0)
            run = i;
        if ((!meets || wide) && run >= 0) {
            emit_sector(w, solid, solid->from + run * step, (i - run) * step);
            run = -1;
        }
    }
}

static void paint_solid(painter *w, const pv_solid *solid)
{
    pv_box box = pv_solid_box(solid);
    bool near = inside(pv_box_grow(w->window, SOLID_REACH), box);
    if (solid->kind == PV_SOLID_SECTOR && near)
        emit_sector(w, solid, solid->from, solid->sweep);
    else if (solid->kind == PV_SOLID_SECTOR)
        paint_slices(w, solid);
    else if (near)
        emit_ring(w, solid->corner, (size_t)solid->n);
    else
        paint_ring(w, solid->corner, (size_t)solid->n);
}

/* ---- lettering ---- */

/* Left of where the text starts: its anchor, by its advance. */
static double advance_left(const pv_lettering *one, double advance)
{
    return one->anchor == PV_ANCHOR_LEFT    ? 0
           : one->anchor == PV_ANCHOR_RIGHT ? advance
                                            : advance / 2;
}

static void paint_lettering(painter *w, const pv_art *art, const pv_lettering *one)
{
    double em = one->height / pv_type_cap(w->drawing->type);
    const uint8_t *rgb = art->colours[one->colour].rgb;
    double left = -advance_left(one, pv_draw_ems(w->drawing, one->text, false) * em);
    pv_vec at = pv_along(one->at, pv_polar(1, one->angle), left);
    pv_draw_text(w->drawing, place(w, at), em, one->angle, false, rgb, one->text);
}

/* ---- all ---- */

static void paint_ground(painter *w, const pv_art *art)
{
    const pv_vec ground[4] = {
        {0, 0}, {art->size.x, 0}, {art->size.x, art->size.y}, {0, art->size.y}};
    size_t before = w->drawing->n_ops;
    paint_ring(w, ground, 4);
    if (w->drawing->n_ops > before)
        pv_draw_fill(w->drawing, art->colours[art->ground].rgb, false);
}

static bool add_ring(void *context, const pv_ring *ring)
{
    paint_ring(context, ring->points, ring->n);
    return true;
}

static void add_to_path(painter *w, const pv_item *item)
{
    if (item->kind == PV_ITEM_LINE)
        paint_solid(w, &item->u.solid);
    else
        pv_scene_rings(w->mat, item, w->window, add_ring, w);
}

/* All parts of one fill, line or mark are one path. */
static void paint_found(painter *w, const pv_look *found)
{
    const pv_art *art = w->mat->art;
    for (size_t i = 0; i < found->n && !w->drawing->failed;) {
        const pv_item *first = found->items[i];
        if (first->kind == PV_ITEM_TEXT) {
            paint_lettering(w, art, &art->letterings[first->of]);
            i++;
            continue;
        }
        size_t before = w->drawing->n_ops;
        for (; i < found->n; i++) {
            const pv_item *next = found->items[i];
            if (next->kind != first->kind || next->of != first->of)
                break;
            add_to_path(w, next);
        }
        if (w->drawing->n_ops > before)
            pv_draw_fill(w->drawing, art->colours[first->colour].rgb, first->kind != PV_ITEM_LINE);
    }
}

void pv_draw_mat(pv_drawing *drawing, const pv_scene *mat, pv_box window, pv_vec origin)
{
    painter w = {.drawing = drawing, .mat = mat, .window = window, .origin = origin};
    pv_look found = {0};
    paint_ground(&w, mat->art);
    if (pv_scene_find(mat, window, &found))
        paint_found(&w, &found);
    else
        drawing->failed = true;
    pv_look_drop(&found);
    free(w.ring[0]);
    free(w.ring[1]);
}
