/* Where a box shows one plain colour. */
#include "scene/inside.h"

/* How often a box is quartered to tell an edge that passes through it from one that passes by. */
#define QUARTERINGS 7

typedef enum meeting { OUTSIDE, MIXED, INSIDE } meeting;

/* What the index found about the whole box: things of the scene, ascending. */
typedef struct about {
    const pv_scene *mat;
    const size_t *things;
    size_t n_items, n; /* the rest are supports */
} about;

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

static meeting solid_meets(const pv_solid *solid, pv_box box, pv_box b)
{
    if (!pv_box_meets(box, b))
        return OUTSIDE;
    return solid->kind == PV_SOLID_POLYGON ? polygon_meets(solid, b) : sector_meets(solid, b);
}

/* A visit that stops, with false, at a solid that meets the box. */
static bool keeps_off(void *context, const pv_solid *solid)
{
    return solid_meets(solid, pv_solid_box(solid), *(const pv_box *)context) == OUTSIDE;
}

bool pv_line_meets(const pv_line *line, pv_box box)
{
    return !pv_line_each_solid(line, keeps_off, &box);
}

/* A visit that stops, with false, at a side that passes through the box. */
static bool passes_by(void *context, pv_vec a, pv_vec b)
{
    pv_vec corner[4], along = pv_sub(b, a);
    box_corners(*(const pv_box *)context, corner);
    int left = 0, right = 0;
    for (int k = 0; k < 4; k++) {
        double side = pv_cross_z(along, pv_sub(corner[k], a));
        left += side > 0;
        right += side < 0;
    }
    return left == 4 || right == 4;
}

static meeting area_meets(const pv_scene *mat, const pv_item *item, pv_box b)
{
    const pv_sides *sides = pv_item_sides(mat, item);
    if (!pv_box_meets(item->box, b))
        return OUTSIDE;
    if (!pv_sides_each(sides, b, passes_by, &b))
        return MIXED;
    return pv_sides_cover(sides, pv_box_middle(b)) ? INSIDE : OUTSIDE;
}

/* A box may be covered by several solids of a line together. It surely is where all of it lies
 * within half a width of the centre line and away from places where paint does not reach all
 * round. */
static bool line_covers_together(const about *a, size_t line, pv_box b)
{
    pv_vec middle = pv_box_middle(b);
    double reach = pv_dist(middle, b.hi), nearest = HUGE_VAL;
    for (size_t i = a->n_items; i < a->n; i++) {
        const pv_support *s = &a->mat->supports[a->things[i] - a->mat->n_items];
        if (s->line != line || !pv_box_meets(s->box, b))
            continue;
        if (s->piece == NULL)
            return false;
        pv_vec at = pv_piece_point(s->piece, pv_piece_nearest(s->piece, middle));
        nearest = fmin(nearest, pv_dist(middle, at));
    }
    return nearest + reach <= a->mat->art->lines[line].width / 2;
}

/* Of a line, whose last solid about the box is item *i of those found; *i moves past its first. */
static meeting line_meets(const about *a, size_t *i, pv_box b)
{
    const pv_item *items = a->mat->items;
    size_t line = items[a->things[*i - 1]].of;
    meeting result = OUTSIDE;
    for (; *i > 0; --*i) {
        const pv_item *item = &items[a->things[*i - 1]];
        if (item->kind != PV_ITEM_LINE || item->of != line)
            break;
        meeting one = result == INSIDE ? INSIDE : solid_meets(&item->u.solid, item->box, b);
        result = one > result ? one : result;
    }
    return result == MIXED && line_covers_together(a, line, b) ? INSIDE : result;
}

/* ---- colours at points ---- */

static size_t colour_at(const about *a, pv_vec p)
{
    for (size_t i = a->n_items; i-- > 0;) {
        const pv_item *item = &a->mat->items[a->things[i]];
        if (item->kind == PV_ITEM_TEXT || !pv_box_holds(item->box, p))
            continue;
        if (item->kind == PV_ITEM_LINE ? pv_solid_covers(&item->u.solid, p)
                                       : pv_sides_cover(pv_item_sides(a->mat, item), p))
            return item->colour;
    }
    return a->mat->art->ground;
}

/* Two points of a box that differ settle the matter sooner than quartering does. */
static bool points_differ(const about *a, pv_box b)
{
    pv_vec corner[4];
    box_corners(b, corner);
    size_t colour = colour_at(a, pv_box_middle(b));
    for (int i = 0; i < 4; i++)
        if (colour_at(a, corner[i]) != colour)
            return true;
    return false;
}

/* ---- boxes ---- */

#define NO_COLOUR SIZE_MAX

/* *colour: what was seen so far, or NO_COLOUR. */
static bool plain(const about *a, pv_box b, int quarterings, size_t *colour)
{
    size_t here = NO_COLOUR;
    bool several = false, hidden = false;
    for (size_t i = a->n_items; i > 0 && !hidden;) {
        const pv_item *item = &a->mat->items[a->things[i - 1]];
        meeting m;
        if (item->kind == PV_ITEM_LINE) {
            m = line_meets(a, &i, b);
        } else {
            m = item->kind == PV_ITEM_TEXT ? solid_meets(&item->u.solid, item->box, b)
                                           : area_meets(a->mat, item, b);
            i--;
        }
        if (m == OUTSIDE)
            continue;
        if (item->kind == PV_ITEM_TEXT)
            return false;
        several = several || (here != NO_COLOUR && here != item->colour);
        here = item->colour;
        hidden = m == INSIDE;
    }
    if (!hidden) {
        size_t ground = a->mat->art->ground;
        several = several || (here != NO_COLOUR && here != ground);
        here = ground;
    }
    if (!several) {
        if (*colour == NO_COLOUR)
            *colour = here;
        return *colour == here;
    }
    if (quarterings == 0 || points_differ(a, b))
        return false;
    pv_vec m = pv_box_middle(b);
    const pv_box quarter[4] = {
        {b.lo, m}, {{m.x, b.lo.y}, {b.hi.x, m.y}}, {m, b.hi}, {{b.lo.x, m.y}, {m.x, b.hi.y}}};
    for (int i = 0; i < 4; i++)
        if (!plain(a, quarter[i], quarterings - 1, colour))
            return false;
    return true;
}

bool pv_scene_plain(const pv_scene *scene, pv_box box, size_t *colour, pv_look *look)
{
    const pv_scene *mat = scene->mat != NULL ? scene->mat : scene;
    *colour = NO_COLOUR;
    if (box.lo.x < 0 || box.lo.y < 0 || box.hi.x > mat->art->size.x || box.hi.y > mat->art->size.y)
        return false;
    bool good = scene->mat == NULL || pv_grid_find(&scene->grid, box, &look->found);
    if (good && scene->mat != NULL && look->found.n > 0)
        return false;
    good = good && pv_grid_find(&mat->grid, box, &look->found);
    look->failed = look->failed || !good;
    if (!good)
        return false;
    about a = {mat, look->found.list, 0, look->found.n};
    while (a.n_items < a.n && a.things[a.n_items] < mat->n_items)
        a.n_items++;
    return plain(&a, box, QUARTERINGS, colour);
}
