/* Painted areas as one sees them: of each thing that is painted, what no later one hides. */
#include "base/memory.h"
#include "course/geos.h"
#include "course/regions.h"
#include "scene/scene.h"

#include <stdlib.h>

#define FEW 16

typedef struct painting {
    const pv_scene *mat;
    const pv_art *art;
    pv_geos geos;
    size_t n; /* items but for text, which comes last */
    pv_look look;
    GEOSGeometry **shapes; /* one an item, made when first asked for */
    size_t item;
    size_t *later; /* items that may hide part of it */
    size_t n_later, cap_later;
} painting;

/* Two convex polygons whose insides don't meet have an edge of either that parts them. */
static bool parted_by(const pv_solid *a, const pv_solid *b)
{
    for (int i = 0; i < a->n; i++) {
        pv_vec p = a->corner[i], edge = pv_sub(a->corner[(i + 1) % a->n], p);
        double most = -HUGE_VAL;
        for (int k = 0; k < b->n; k++)
            most = fmax(most, pv_cross_z(edge, pv_sub(b->corner[k], p)));
        if (most <= 1e-9 * pv_len(edge))
            return true;
    }
    return false;
}

/* Whether a later item may hide part of the one that is looked at. */
static bool overlaps(const painting *p, const pv_item *b)
{
    const pv_item *a = &p->mat->items[p->item];
    if (b <= a || b >= p->mat->items + p->n)
        return false;
    double width = fmin(a->box.hi.x, b->box.hi.x) - fmax(a->box.lo.x, b->box.lo.x);
    double height = fmin(a->box.hi.y, b->box.hi.y) - fmax(a->box.lo.y, b->box.lo.y);
    if (width <= 1e-9 || height <= 1e-9)
        return false;
    return !(a->kind == PV_ITEM_LINE && b->kind == PV_ITEM_LINE &&
             a->u.solid.kind == PV_SOLID_POLYGON && b->u.solid.kind == PV_SOLID_POLYGON &&
             (parted_by(&a->u.solid, &b->u.solid) || parted_by(&b->u.solid, &a->u.solid)));
}

static bool find_later(painting *p)
{
    p->n_later = 0;
    if (!pv_scene_find(p->mat, p->mat->items[p->item].box, &p->look))
        return false;
    for (size_t i = 0; i < p->look.n; i++) {
        if (!overlaps(p, p->look.items[i]))
            continue;
        if (!PV_GROW(p->later, p->n_later, p->cap_later))
            return false;
        p->later[p->n_later++] = (size_t)(p->look.items[i] - p->mat->items);
    }
    return true;
}

static const GEOSGeometry *shape(painting *p, size_t item)
{
    const pv_item *it = &p->mat->items[item];
    if (p->shapes[item] != NULL)
        return p->shapes[item];
    if (it->kind == PV_ITEM_LINE)
        p->shapes[item] = pv_geos_solid(&p->geos, &it->u.solid);
    else
        p->shapes[item] = pv_geos_area(&p->geos, it->kind == PV_ITEM_FILL ? &p->art->fills[it->of]
                                                                          : &p->art->marks[it->of]);
    return p->shapes[item];
}

/* The union of what hides the item; NULL where the library refused. */
static GEOSGeometry *cover(painting *p)
{
    GEOSContextHandle_t geos = p->geos.handle;
    GEOSGeometry **parts = PV_NEW_ARRAY(p->n_later, GEOSGeometry *);
    if (parts == NULL)
        return NULL;
    size_t n = 0;
    for (; n < p->n_later; n++) {
        const GEOSGeometry *one = shape(p, p->later[n]);
        parts[n] = one != NULL ? GEOSGeom_clone_r(geos, one) : NULL;
        if (parts[n] == NULL)
            break;
    }
    GEOSGeometry *all = NULL;
    if (n == p->n_later) /* it owns the parts from here on */
        all = GEOSGeom_createCollection_r(geos, GEOS_GEOMETRYCOLLECTION, parts, (unsigned)n);
    else
        for (size_t i = 0; i < n; i++)
            GEOSGeom_destroy_r(geos, parts[i]);
    free((void *)parts);
    GEOSGeometry *whole = all != NULL ? GEOSUnaryUnion_r(geos, all) : NULL;
    GEOSGeom_destroy_r(geos, all);
    return whole;
}

/* Takes `from`. */
static GEOSGeometry *less(painting *p, GEOSGeometry *from, const GEOSGeometry *what)
{
    GEOSGeometry *rest =
        from != NULL && what != NULL ? GEOSDifference_r(p->geos.handle, from, what) : NULL;
    GEOSGeom_destroy_r(p->geos.handle, from);
    return rest;
}

static bool hidden_less(painting *p, const GEOSGeometry *mat, double *area)
{
    GEOSContextHandle_t geos = p->geos.handle;
    const pv_item *item = &p->mat->items[p->item];
    const GEOSGeometry *own = shape(p, p->item);
    if (own == NULL)
        return false;
    pv_box on_mat = {{0, 0}, p->art->size};
    bool inside = pv_box_holds(on_mat, item->box.lo) && pv_box_holds(on_mat, item->box.hi);
    GEOSGeometry *seen = inside ? GEOSGeom_clone_r(geos, own) : GEOSIntersection_r(geos, own, mat);
    /* One by one what is left gets smaller; with many, their union costs less. */
    if (p->n_later <= FEW) {
        for (size_t i = 0; i < p->n_later && seen != NULL; i++)
            seen = less(p, seen, shape(p, p->later[i]));
    } else {
        GEOSGeometry *hiding = cover(p);
        seen = less(p, seen, hiding);
        GEOSGeom_destroy_r(geos, hiding);
    }
    bool good = seen != NULL && GEOSArea_r(geos, seen, area) == 1;
    GEOSGeom_destroy_r(geos, seen);
    return good;
}

static bool paint_all(painting *p, double *out)
{
    const pv_art *art = p->art;
    const pv_box mat_box = {{0, 0}, art->size};
    GEOSGeometry *mat = pv_geos_box(&p->geos, mat_box);
    bool good = mat != NULL;
    double painted = 0;
    for (size_t i = 0; good && i < p->n; i++) {
        double area = 0;
        p->item = i;
        p->n_later = 0;
        good = find_later(p) && hidden_less(p, mat, &area);
        out[p->mat->items[i].colour] += area;
        painted += area;
        GEOSGeom_destroy_r(p->geos.handle, p->shapes[i]); /* later ones don't need it */
        p->shapes[i] = NULL;
    }
    out[art->ground] += fmax(0, art->size.x * art->size.y - painted);
    GEOSGeom_destroy_r(p->geos.handle, mat);
    return good;
}

bool pv_scene_painted(const pv_scene *mat, double *out, pv_diags *diags)
{
    painting p = {.mat = mat, .art = mat->art};
    for (size_t i = 0; i < mat->art->n_colours; i++)
        out[i] = 0;
    if (!pv_geos_open(&p.geos, diags))
        return false;
    while (p.n < mat->n_items && mat->items[p.n].kind != PV_ITEM_TEXT)
        p.n++;
    p.shapes = PV_NEW_ARRAY(p.n, GEOSGeometry *);
    bool good = (p.shapes != NULL && paint_all(&p, out)) || pv_geos_refused(&p.geos, diags);
    for (size_t i = 0; p.shapes != NULL && i < p.n; i++)
        GEOSGeom_destroy_r(p.geos.handle, p.shapes[i]);
    free((void *)p.shapes);
    free(p.later);
    pv_look_drop(&p.look);
    pv_geos_close(&p.geos);
    return good;
}
