#include "scene/boxes.h"

#include "base/memory.h"

bool pv_boxes_add(pv_boxes *boxes, pv_box box, size_t thing)
{
    if (!PV_GROW(boxes->list, boxes->n, boxes->cap))
        return false;
    boxes->list[boxes->n++] = (pv_grid_box){box, thing};
    return true;
}

/* Part i of n: of a box along its first side, of a sector along its sweep. */
static pv_solid part_of(const pv_solid *solid, int i, int n)
{
    pv_solid part = *solid;
    double from = (double)i / n, to = (i + 1.0) / n;
    if (solid->kind == PV_SOLID_SECTOR) {
        part.from = solid->from + from * solid->sweep;
        part.sweep = (to - from) * solid->sweep;
        return part;
    }
    const pv_vec *c = solid->corner;
    pv_vec low = pv_sub(c[1], c[0]), high = pv_sub(c[2], c[3]);
    part.corner[0] = pv_along(c[0], low, from);
    part.corner[1] = pv_along(c[0], low, to);
    part.corner[2] = pv_along(c[3], high, to);
    part.corner[3] = pv_along(c[3], high, from);
    return part;
}

bool pv_boxes_add_solid(pv_boxes *boxes, const pv_solid *solid, double grow, size_t thing)
{
    pv_box whole = pv_solid_box(solid);
    double slim = fmin(whole.hi.x - whole.lo.x, whole.hi.y - whole.lo.y);
    bool divides = solid->kind == PV_SOLID_SECTOR || solid->n == 4;
    int n =
        divides && slim > PV_BOXES_PART ? (int)fmin(ceil(slim / PV_BOXES_PART), PV_BOXES_PARTS) : 1;
    for (int i = 0; i < n; i++) {
        pv_solid part = n > 1 ? part_of(solid, i, n) : *solid;
        if (!pv_boxes_add(boxes, pv_box_grow(pv_solid_box(&part), grow), thing))
            return false;
    }
    return true;
}

bool pv_boxes_add_piece(pv_boxes *boxes, const pv_piece *piece, double half, size_t thing)
{
    pv_solid solid = {.kind = PV_SOLID_POLYGON, .n = 4};
    if (piece->arc) {
        solid = (pv_solid){.kind = PV_SOLID_SECTOR, .centre = piece->centre};
        solid.inner = solid.outer = piece->radius;
        solid.from = piece->sweep < 0 ? piece->from + piece->sweep : piece->from;
        solid.sweep = fabs(piece->sweep);
    } else {
        solid.corner[0] = solid.corner[3] = piece->a;
        solid.corner[1] = solid.corner[2] = piece->b;
    }
    return pv_boxes_add_solid(boxes, &solid, half, thing);
}
