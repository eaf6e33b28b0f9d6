/* Boxes and outlines of lettering, by its typeface. */
#include "base/memory.h"
#include "scene/art.h"
#include "type/type.h"

#include <stdlib.h>

static double left_end(pv_anchor anchor, double width)
{
    if (anchor == PV_ANCHOR_CENTRE)
        return -width / 2;
    return anchor == PV_ANCHOR_RIGHT ? -width : 0;
}

/* ---- outlines ---- */

void pv_lettering_drop_outline(pv_lettering *l)
{
    for (size_t i = 0; i < l->n_rings; i++)
        free(l->rings[i].points);
    free(l->rings);
    l->rings = NULL;
    l->n_rings = l->cap_rings = 0;
}

void pv_lettering_clear(pv_lettering *l)
{
    pv_lettering_drop_outline(l);
    free(l->text);
    *l = (pv_lettering){0};
}

size_t pv_lettering_corners(const pv_lettering *l)
{
    size_t n = 0;
    for (size_t i = 0; i < l->n_rings; i++)
        n += l->rings[i].n;
    return n;
}

typedef struct tracing {
    pv_lettering *lettering;
    double em, left; /* mm */
    size_t corners, cap;
} tracing;

/* To a hundredth of a millimetre, which keeps plans short. */
static double rounded(double mm)
{
    return floor(100 * mm + 0.5) / 100;
}

static bool add_corner(void *context, bool begins, pv_vec at)
{
    tracing *t = context;
    pv_lettering *l = t->lettering;
    if (++t->corners > PV_OUTLINE_MAX)
        return true;
    if (begins) {
        if (!PV_GROW(l->rings, l->n_rings, l->cap_rings))
            return false;
        l->rings[l->n_rings++] = (pv_ring){0};
        t->cap = 0;
    }
    pv_ring *ring = &l->rings[l->n_rings - 1];
    pv_vec p = pv_v(rounded(t->left + t->em * at.x), rounded(t->em * at.y));
    if (ring->n > 0 && ring->points[ring->n - 1].x == p.x && ring->points[ring->n - 1].y == p.y)
        return true;
    if (!PV_GROW(ring->points, ring->n, t->cap))
        return false;
    ring->points[ring->n++] = p;
    return true;
}

/* A ring's last corner may be its first again; rounding may have left no inside. */
static void tidy(pv_lettering *l)
{
    size_t n = 0;
    for (size_t i = 0; i < l->n_rings; i++) {
        pv_ring *ring = &l->rings[i];
        while (ring->n > 1 && ring->points[ring->n - 1].x == ring->points[0].x &&
               ring->points[ring->n - 1].y == ring->points[0].y)
            ring->n--;
        if (ring->n < 3)
            free(l->rings[i].points);
        else
            l->rings[n++] = l->rings[i];
    }
    l->n_rings = n;
}

static bool trace(pv_lettering *l, const pv_type *type, const pv_setting *setting, double em,
                  double left)
{
    tracing t = {.lettering = l, .em = em, .left = left};
    bool good = true;
    pv_lettering_drop_outline(l);
    for (size_t i = 0; good && l->height >= PV_OUTLINED && i < setting->n; i++)
        good = pv_type_outline(type, &setting->glyphs[i], PV_LETTER_FLATNESS / em, add_corner, &t);
    tidy(l);
    if (t.corners > PV_OUTLINE_MAX)
        pv_lettering_drop_outline(l);
    return good;
}

/* ---- boxes ---- */

bool pv_lettering_set(pv_lettering *lettering, const pv_type *type)
{
    pv_setting setting;
    bool good = pv_type_set(type, lettering->text, false, &setting);
    double em = lettering->height / pv_type_cap(type), width = setting.width * em;
    double left = left_end(lettering->anchor, width);
    pv_box frame = {{left, 0}, {left + width, lettering->height}};
    if (setting.ink.lo.x <= setting.ink.hi.x) {
        frame = pv_box_add(frame, pv_v(left + em * setting.ink.lo.x, em * setting.ink.lo.y));
        frame = pv_box_add(frame, pv_v(left + em * setting.ink.hi.x, em * setting.ink.hi.y));
    }
    lettering->frame = frame;
    good = good && trace(lettering, type, &setting, em, left);
    pv_setting_drop(&setting);
    return good;
}

pv_box pv_lettering_box(const pv_lettering *lettering)
{
    pv_box frame = lettering->frame, box = pv_box_none();
    pv_vec x = pv_polar(1, lettering->angle), y = pv_left(x);
    for (int i = 0; i < 4; i++) {
        double u = i & 1 ? frame.hi.x : frame.lo.x, v = i & 2 ? frame.hi.y : frame.lo.y;
        box = pv_box_add(box, pv_along(pv_along(lettering->at, x, u), y, v));
    }
    return box;
}

static void place_corners(const pv_lettering *lettering, pv_box box, pv_vec corner[4])
{
    pv_vec x = pv_polar(1, lettering->angle), y = pv_left(x);
    for (int i = 0; i < 4; i++) {
        double u = i == 1 || i == 2 ? box.hi.x : box.lo.x, v = i > 1 ? box.hi.y : box.lo.y;
        corner[i] = pv_along(pv_along(lettering->at, x, u), y, v);
    }
}

bool pv_lettering_each(const pv_lettering *lettering, const pv_type *type,
                       pv_printed_letter_visit *visit, void *context)
{
    pv_setting setting;
    bool good = pv_type_set(type, lettering->text, false, &setting);
    double em = lettering->height / pv_type_cap(type);
    double left = left_end(lettering->anchor, setting.width * em);
    for (size_t i = 0; good && i < setting.n; i++) {
        const pv_glyph *g = &setting.glyphs[i];
        if (g->ink.lo.x > g->ink.hi.x)
            continue;
        pv_printed_letter letter = {.face = g->face, .glyph = g->id};
        pv_box box = {pv_v(left + em * g->ink.lo.x, em * g->ink.lo.y),
                      pv_v(left + em * g->ink.hi.x, em * g->ink.hi.y)};
        place_corners(lettering, box, letter.corner);
        good = visit(context, &letter);
    }
    pv_setting_drop(&setting);
    return good;
}
