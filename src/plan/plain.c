#include "plan/plain.h"

#include "plan/layers.h"

/* How often a box is quartered to tell an edge that passes through it from one that passes by. */
#define QUARTERINGS 7

typedef enum meeting { OUTSIDE, MIXED, INSIDE } meeting;

static void box_corners(pv_box b, pv_vec out[4])
{
    out[0] = b.lo;
    out[1] = pv_v(b.hi.x, b.lo.y);
    out[2] = b.hi;
    out[3] = pv_v(b.lo.x, b.hi.y);
}

/* A convex polygon, counter-clockwise, against a box whose bounding boxes meet: by the separating
 * axis theorem, what is left to look at are the polygon's own sides. */
static meeting polygon_meets(const pv_solid *solid, pv_box b)
{
    pv_vec corner[4];
    box_corners(b, corner);
    meeting result = INSIDE;
    for (int i = 0; i < solid->n; i++) {
        pv_vec from = solid->corner[i];
        pv_vec side = pv_sub(solid->corner[(i + 1) % solid->n], from);
        int out = 0;
        for (int k = 0; k < 4; k++)
            out += pv_cross_z(side, pv_sub(corner[k], from)) < 0;
        if (out == 4)
            return OUTSIDE;
        if (out > 0)
            result = MIXED;
    }
    return result;
}

/* Without hypot's care for numbers that no course holds; this is asked millions of times. */
static double length_of(double x, double y)
{
    return sqrt(x * x + y * y);
}

/* The ring sector against a box in polar coordinates about its centre: the box's least and largest
 * distance, and the angles under which it is seen. */
static meeting sector_meets(const pv_solid *solid, pv_box b)
{
    pv_vec c = solid->centre, corner[4];
    double nearest = length_of(fmax(fmax(b.lo.x - c.x, c.x - b.hi.x), 0),
                               fmax(fmax(b.lo.y - c.y, c.y - b.hi.y), 0));
    double farthest = length_of(fmax(b.hi.x - c.x, c.x - b.lo.x), fmax(b.hi.y - c.y, c.y - b.lo.y));
    if (nearest > solid->outer || farthest < solid->inner)
        return OUTSIDE;
    bool radially = farthest <= solid->outer && nearest >= solid->inner;
    if (solid->sweep >= 2 * PV_PI)
        return radially ? INSIDE : MIXED;
    if (nearest <= 0)
        return MIXED;
    pv_vec middle = pv_sub(pv_box_middle(b), c);
    double spread = 0;
    box_corners(b, corner);
    for (int i = 0; i < 4; i++) {
        pv_vec d = pv_sub(corner[i], c);
        spread = fmax(spread, fabs(atan2(pv_cross_z(middle, d), pv_dot(middle, d))));
    }
    double turn =
        remainder(atan2(middle.y, middle.x) - (solid->from + solid->sweep / 2), 2 * PV_PI);
    if (fabs(turn) - spread > solid->sweep / 2)
        return OUTSIDE;
    bool within = fabs(turn) + spread <= solid->sweep / 2;
    return radially && within ? INSIDE : MIXED;
}

static bool segment_meets(pv_vec a, pv_vec b, pv_box box)
{
    pv_vec corner[4], along = pv_sub(b, a);
    box_corners(box, corner);
    int left = 0, right = 0;
    for (int k = 0; k < 4; k++) {
        double side = pv_cross_z(along, pv_sub(corner[k], a));
        left += side > 0;
        right += side < 0;
    }
    return left < 4 && right < 4;
}

static meeting area_meets(const pv_layers *scene, const pv_layer *l, pv_box b)
{
    for (size_t i = l->first; i < l->first + l->n; i++) {
        const pv_layer_part *p = &scene->parts[i];
        if (pv_box_meets(p->box, b) && segment_meets(*p->u.boundary[0], *p->u.boundary[1], b))
            return MIXED;
    }
    return pv_area_covers(l->area, pv_box_middle(b)) ? INSIDE : OUTSIDE;
}

/* A box may be covered by several solids of a line together. It surely is where all of it lies
 * within half a width of the centre line and away from places where paint does not reach all
 * round. */
static bool line_covers_together(const pv_layers *scene, const pv_layer *l, pv_box b)
{
    pv_vec middle = pv_box_middle(b);
    double reach = pv_dist(middle, b.hi), nearest = HUGE_VAL;
    for (size_t i = l->first; i < l->first + l->n; i++) {
        const pv_layer_part *p = &scene->parts[i];
        if (p->kind == PV_PART_END && pv_box_meets(p->box, b))
            return false;
        if (p->kind == PV_PART_PIECE && pv_box_meets(p->box, b)) {
            pv_vec at = pv_piece_point(p->u.piece, pv_piece_nearest(p->u.piece, middle));
            nearest = fmin(nearest, pv_dist(middle, at));
        }
    }
    return nearest + reach <= l->half;
}

static meeting solids_meet(const pv_layers *scene, const pv_layer *l, pv_box b)
{
    bool any = false;
    for (size_t i = l->first; i < l->first + l->n; i++) {
        const pv_layer_part *p = &scene->parts[i];
        if (p->kind != PV_PART_SOLID || !pv_box_meets(p->box, b))
            continue;
        meeting one = p->u.solid->kind == PV_SOLID_POLYGON ? polygon_meets(p->u.solid, b)
                                                           : sector_meets(p->u.solid, b);
        if (one == INSIDE)
            return INSIDE;
        any = any || one == MIXED;
    }
    if (!any)
        return OUTSIDE;
    return l->kind == PV_LAYER_LINE && line_covers_together(scene, l, b) ? INSIDE : MIXED;
}

static bool covers(const pv_layers *scene, const pv_layer *l, pv_vec p)
{
    if (l->kind == PV_LAYER_AREA)
        return pv_area_covers(l->area, p);
    for (size_t i = l->first; l->kind == PV_LAYER_LINE && i < l->first + l->n; i++)
        if (scene->parts[i].kind == PV_PART_SOLID && pv_solid_covers(scene->parts[i].u.solid, p))
            return true;
    return false;
}

size_t pv_layers_colour(const pv_layers *scene, pv_vec p)
{
    for (size_t i = 0; i < scene->n_layers; i++)
        if (pv_box_holds(scene->layers[i].box, p) && covers(scene, &scene->layers[i], p))
            return scene->layers[i].colour;
    return scene->ground;
}

/* Two points of a box that differ settle the matter sooner than quartering does. */
static bool points_differ(const pv_layers *scene, pv_box b)
{
    pv_vec corner[4];
    box_corners(b, corner);
    size_t colour = pv_layers_colour(scene, pv_box_middle(b));
    for (int i = 0; i < 4; i++)
        if (pv_layers_colour(scene, corner[i]) != colour)
            return true;
    return false;
}

#define NO_COLOUR SIZE_MAX

/* *colour: what was seen so far, or NO_COLOUR. */
static bool plain(const pv_layers *scene, pv_box b, int quarterings, size_t *colour)
{
    size_t here = NO_COLOUR;
    bool several = false, hidden = false;
    for (size_t i = 0; i < scene->n_layers && !hidden; i++) {
        const pv_layer *l = &scene->layers[i];
        if (!pv_box_meets(l->box, b))
            continue;
        meeting m = l->kind == PV_LAYER_AREA ? area_meets(scene, l, b) : solids_meet(scene, l, b);
        if (m == OUTSIDE)
            continue;
        if (l->kind == PV_LAYER_LETTERING)
            return false;
        several = several || (here != NO_COLOUR && here != l->colour);
        here = l->colour;
        hidden = m == INSIDE;
    }
    if (!hidden) {
        several = several || (here != NO_COLOUR && here != scene->ground);
        here = scene->ground;
    }
    if (!several) {
        if (*colour == NO_COLOUR)
            *colour = here;
        return *colour == here;
    }
    if (quarterings == 0 || points_differ(scene, b))
        return false;
    pv_vec m = pv_box_middle(b);
    const pv_box quarter[4] = {
        {b.lo, m}, {{m.x, b.lo.y}, {b.hi.x, m.y}}, {m, b.hi}, {{b.lo.x, m.y}, {m.x, b.hi.y}}};
    for (int i = 0; i < 4; i++)
        if (!plain(scene, quarter[i], quarterings - 1, colour))
            return false;
    return true;
}

bool pv_layers_plain(const pv_layers *scene, pv_box box, size_t *colour)
{
    *colour = NO_COLOUR;
    if (box.lo.x < 0 || box.lo.y < 0 || box.hi.x > scene->size.x || box.hi.y > scene->size.y)
        return false;
    return plain(scene, box, QUARTERINGS, colour);
}
