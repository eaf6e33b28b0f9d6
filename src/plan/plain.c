#include "plan/plain.h"

#include "base/memory.h"
#include "course/outline.h"

#include <stdlib.h>

/* How often a box is quartered to tell an edge that passes through it from one that passes by. */
#define QUARTERINGS 7

typedef enum part_kind {
    PART_SOLID,   /* paint of a line, or a lettering's box */
    PART_PIECE,   /* of a line's centre line */
    PART_END,     /* round a point of a line where paint does not reach half a width all round */
    PART_BOUNDARY /* a segment of an area's ring */
} part_kind;

typedef struct part {
    part_kind kind;
    pv_box box;
    union {
        const pv_solid *solid;
        const pv_piece *piece;
        const pv_vec *boundary[2];
    } u;
} part;

typedef struct owned {
    pv_solid *solids;
} owned;

typedef enum layer_kind { LAYER_LETTERING, LAYER_AREA, LAYER_LINE } layer_kind;

/* One painted thing and its parts. */
typedef struct layer {
    layer_kind kind;
    size_t colour;
    double half;         /* of a line's width */
    const pv_area *area; /* of an area */
    pv_box box;
    size_t first, n;
} layer;

struct pv_layers {
    pv_vec size;
    size_t ground;
    layer *layers; /* what is seen first stands first */
    size_t n_layers, cap_layers;
    part *parts;
    size_t n_parts, cap_parts;
    owned *owned; /* freed with the scene */
    size_t n_owned, cap_owned;
};

typedef enum meeting { OUTSIDE, MIXED, INSIDE } meeting;

/* ---- building ---- */

static bool add_part(pv_layers *scene, part p)
{
    if (!PV_GROW(scene->parts, scene->n_parts, scene->cap_parts))
        return false;
    scene->parts[scene->n_parts++] = p;
    layer *l = &scene->layers[scene->n_layers - 1];
    l->n++;
    l->box = pv_box_add(pv_box_add(l->box, p.box.lo), p.box.hi);
    return true;
}

static bool add_layer(pv_layers *scene, layer l)
{
    if (!PV_GROW(scene->layers, scene->n_layers, scene->cap_layers))
        return false;
    l.box = pv_box_none();
    l.first = scene->n_parts;
    l.n = 0;
    scene->layers[scene->n_layers++] = l;
    return true;
}

/* Keeps an array of solids until the scene goes. */
static bool own(pv_layers *scene, pv_solid *solids)
{
    if (!PV_GROW(scene->owned, scene->n_owned, scene->cap_owned)) {
        free(solids);
        return false;
    }
    scene->owned[scene->n_owned++].solids = solids;
    return true;
}

static bool add_solids(pv_layers *scene, const pv_solid *solids, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        part p = {.kind = PART_SOLID, .box = pv_solid_box(&solids[i]), .u.solid = &solids[i]};
        if (!add_part(scene, p))
            return false;
    }
    return true;
}

static bool add_end(pv_layers *scene, pv_vec at, double half)
{
    return add_part(scene, (part){.kind = PART_END, .box = pv_box_grow((pv_box){at, at}, half)});
}

/* Corners that are bevelled, or turn straight back, leave part of the round about them unpainted
 * (course/art.h: mitred up to PV_MITRE_LIMIT). */
static bool sharp(const pv_piece *before, const pv_piece *after)
{
    pv_vec t = pv_piece_heading(before, pv_piece_length(before)), u = pv_piece_heading(after, 0);
    return !(PV_MITRE_LIMIT * PV_MITRE_LIMIT * (1 + pv_dot(t, u)) > 2 + 1e-9);
}

static bool add_pieces(pv_layers *scene, const pv_line *line)
{
    const pv_piece *last = NULL, *first = NULL;
    for (size_t i = 0; i < line->n_pieces; i++) {
        const pv_piece *piece = &line->pieces[i];
        if (!(pv_piece_length(piece) > 0))
            continue;
        if (last != NULL && sharp(last, piece) && !add_end(scene, piece->a, line->width / 2))
            return false;
        first = first != NULL ? first : piece;
        last = piece;
        /* Paint does not reach half a width round a tighter arc. */
        if (piece->arc && piece->radius <= line->width / 2)
            continue;
        pv_box box = pv_box_grow(pv_piece_box(piece), line->width / 2);
        if (!add_part(scene, (part){.kind = PART_PIECE, .box = box, .u.piece = piece}))
            return false;
    }
    if (first == NULL)
        return true;
    if (line->closed)
        return !sharp(last, first) || add_end(scene, first->a, line->width / 2);
    return line->ends != PV_ENDS_FLAT ||
           (add_end(scene, first->a, line->width / 2) && add_end(scene, last->b, line->width / 2));
}

static bool add_line(pv_layers *scene, const pv_line *line)
{
    layer l = {.kind = LAYER_LINE, .colour = line->colour, .half = line->width / 2};
    pv_solid *solids = NULL;
    size_t n = 0;
    return add_layer(scene, l) && pv_line_solids(line, &solids, &n) && own(scene, solids) &&
           add_solids(scene, solids, n) && add_pieces(scene, line);
}

static bool add_area(pv_layers *scene, const pv_area *area)
{
    if (!add_layer(scene, (layer){.kind = LAYER_AREA, .colour = area->colour, .area = area}))
        return false;
    for (size_t r = 0; r < area->n_rings; r++) {
        const pv_ring *ring = &area->rings[r];
        for (size_t i = 0; i < ring->n; i++) {
            const pv_vec *a = &ring->points[i], *b = &ring->points[(i + 1) % ring->n];
            part p = {.kind = PART_BOUNDARY, .u.boundary = {a, b}};
            p.box = pv_box_add(pv_box_add(pv_box_none(), *a), *b);
            if (!add_part(scene, p))
                return false;
        }
    }
    return true;
}

static bool add_lettering(pv_layers *scene, const pv_lettering *lettering)
{
    pv_solid *solid = PV_NEW(pv_solid);
    if (solid == NULL || !own(scene, solid) ||
        !add_layer(scene, (layer){.kind = LAYER_LETTERING, .colour = lettering->colour}))
        return false;
    pv_box frame = pv_lettering_frame(lettering);
    pv_vec x = pv_polar(1, lettering->angle), y = pv_left(x);
    const pv_vec corners[4] = {
        frame.lo, {frame.hi.x, frame.lo.y}, frame.hi, {frame.lo.x, frame.hi.y}};
    *solid = (pv_solid){.kind = PV_SOLID_POLYGON, .n = 4};
    for (int i = 0; i < 4; i++)
        solid->corner[i] = pv_along(pv_along(lettering->at, x, corners[i].x), y, corners[i].y);
    return add_solids(scene, solid, 1);
}

pv_layers *pv_layers_of(const pv_art *art)
{
    pv_layers *scene = PV_NEW(pv_layers);
    if (scene == NULL)
        return NULL;
    scene->size = art->size;
    scene->ground = art->ground;
    bool good = true;
    for (size_t i = art->n_letterings; good && i-- > 0;)
        good = add_lettering(scene, &art->letterings[i]);
    for (size_t i = art->n_marks; good && i-- > 0;)
        good = add_area(scene, &art->marks[i]);
    for (size_t i = art->n_lines; good && i-- > 0;)
        good = add_line(scene, &art->lines[i]);
    for (size_t i = art->n_fills; good && i-- > 0;)
        good = add_area(scene, &art->fills[i]);
    if (!good) {
        pv_layers_free(scene);
        scene = NULL;
    }
    return scene;
}

pv_layers *pv_layers_near(const pv_layers *whole, pv_box window)
{
    pv_layers *scene = PV_NEW(pv_layers);
    if (scene == NULL)
        return NULL;
    scene->size = whole->size;
    scene->ground = whole->ground;
    for (size_t i = 0; i < whole->n_layers; i++) {
        const layer *l = &whole->layers[i];
        if (!pv_box_meets(l->box, window))
            continue;
        bool good = add_layer(scene, *l);
        for (size_t k = l->first; good && k < l->first + l->n; k++)
            if (pv_box_meets(whole->parts[k].box, window))
                good = add_part(scene, whole->parts[k]);
        if (!good) {
            pv_layers_free(scene);
            return NULL;
        }
        /* An area may cover the window without showing an edge in it. */
        scene->layers[scene->n_layers - 1].box = l->box;
    }
    return scene;
}

void pv_layers_free(pv_layers *scene)
{
    if (scene == NULL)
        return;
    for (size_t i = 0; i < scene->n_owned; i++)
        free(scene->owned[i].solids);
    free(scene->owned);
    free(scene->parts);
    free(scene->layers);
    free(scene);
}

/* ---- asking ---- */

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

/* The ring sector against a box in polar coordinates about its centre: the box's least and largest
 * distance, and the angles under which it is seen. */
static meeting sector_meets(const pv_solid *solid, pv_box b)
{
    pv_vec c = solid->centre, corner[4];
    double nearest =
        hypot(fmax(fmax(b.lo.x - c.x, c.x - b.hi.x), 0), fmax(fmax(b.lo.y - c.y, c.y - b.hi.y), 0));
    double farthest = hypot(fmax(b.hi.x - c.x, c.x - b.lo.x), fmax(b.hi.y - c.y, c.y - b.lo.y));
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

static meeting area_meets(const pv_layers *scene, const layer *l, pv_box b)
{
    for (size_t i = l->first; i < l->first + l->n; i++) {
        const part *p = &scene->parts[i];
        if (pv_box_meets(p->box, b) && segment_meets(*p->u.boundary[0], *p->u.boundary[1], b))
            return MIXED;
    }
    return pv_area_covers(l->area, pv_box_middle(b)) ? INSIDE : OUTSIDE;
}

/* A box may be covered by several solids of a line together. It surely is where all of it lies
 * within half a width of the centre line and away from places where paint does not reach all
 * round. */
static bool line_covers_together(const pv_layers *scene, const layer *l, pv_box b)
{
    pv_vec middle = pv_box_middle(b);
    double reach = pv_dist(middle, b.hi), nearest = HUGE_VAL;
    for (size_t i = l->first; i < l->first + l->n; i++) {
        const part *p = &scene->parts[i];
        if (p->kind == PART_END && pv_box_meets(p->box, b))
            return false;
        if (p->kind == PART_PIECE && pv_box_meets(p->box, b)) {
            pv_vec at = pv_piece_point(p->u.piece, pv_piece_nearest(p->u.piece, middle));
            nearest = fmin(nearest, pv_dist(middle, at));
        }
    }
    return nearest + reach <= l->half;
}

static meeting solids_meet(const pv_layers *scene, const layer *l, pv_box b)
{
    bool any = false;
    for (size_t i = l->first; i < l->first + l->n; i++) {
        const part *p = &scene->parts[i];
        if (p->kind != PART_SOLID || !pv_box_meets(p->box, b))
            continue;
        meeting one = p->u.solid->kind == PV_SOLID_POLYGON ? polygon_meets(p->u.solid, b)
                                                           : sector_meets(p->u.solid, b);
        if (one == INSIDE)
            return INSIDE;
        any = any || one == MIXED;
    }
    if (!any)
        return OUTSIDE;
    return l->kind == LAYER_LINE && line_covers_together(scene, l, b) ? INSIDE : MIXED;
}

#define NO_COLOUR SIZE_MAX

/* *colour: what was seen so far, or NO_COLOUR. */
static bool plain(const pv_layers *scene, pv_box b, int quarterings, size_t *colour)
{
    size_t here = NO_COLOUR;
    bool several = false, hidden = false;
    for (size_t i = 0; i < scene->n_layers && !hidden; i++) {
        const layer *l = &scene->layers[i];
        if (!pv_box_meets(l->box, b))
            continue;
        meeting m = l->kind == LAYER_AREA ? area_meets(scene, l, b) : solids_meet(scene, l, b);
        if (m == OUTSIDE)
            continue;
        if (l->kind == LAYER_LETTERING)
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
    if (quarterings == 0)
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
