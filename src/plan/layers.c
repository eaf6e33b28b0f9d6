#include "plan/layers.h"

#include "base/memory.h"

#include <stdint.h>
#include <stdlib.h>

/* ---- building ---- */

static bool add_part(pv_layers *scene, pv_layer_part p)
{
    if (!PV_GROW(scene->parts, scene->n_parts, scene->cap_parts))
        return false;
    p.layer = scene->n_layers - 1;
    scene->parts[scene->n_parts++] = p;
    pv_layer *l = &scene->layers[scene->n_layers - 1];
    l->n++;
    l->box = pv_box_add(pv_box_add(l->box, p.box.lo), p.box.hi);
    return true;
}

static bool add_layer(pv_layers *scene, pv_layer l)
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
        pv_layer_part p = {
            .kind = PV_PART_SOLID, .box = pv_solid_box(&solids[i]), .u.solid = &solids[i]};
        if (!add_part(scene, p))
            return false;
    }
    return true;
}

static bool add_end(pv_layers *scene, pv_vec at, double half)
{
    return add_part(
        scene, (pv_layer_part){.kind = PV_PART_END, .box = pv_box_grow((pv_box){at, at}, half)});
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
        if (!add_part(scene, (pv_layer_part){.kind = PV_PART_PIECE, .box = box, .u.piece = piece}))
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
    pv_layer l = {.kind = PV_LAYER_LINE, .colour = line->colour, .half = line->width / 2};
    pv_solid *solids = NULL;
    size_t n = 0;
    return add_layer(scene, l) && pv_line_solids(line, &solids, &n) && own(scene, solids) &&
           add_solids(scene, solids, n) && add_pieces(scene, line);
}

static bool add_area(pv_layers *scene, const pv_area *area)
{
    if (!add_layer(scene, (pv_layer){.kind = PV_LAYER_AREA, .colour = area->colour, .area = area}))
        return false;
    for (size_t r = 0; r < area->n_rings; r++) {
        const pv_ring *ring = &area->rings[r];
        for (size_t i = 0; i < ring->n; i++) {
            const pv_vec *a = &ring->points[i], *b = &ring->points[(i + 1) % ring->n];
            pv_layer_part p = {.kind = PV_PART_BOUNDARY, .u.boundary = {a, b}};
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
        !add_layer(scene, (pv_layer){.kind = PV_LAYER_LETTERING, .colour = lettering->colour}))
        return false;
    pv_box frame = lettering->frame;
    pv_vec x = pv_polar(1, lettering->angle), y = pv_left(x);
    const pv_vec corners[4] = {
        frame.lo, {frame.hi.x, frame.lo.y}, frame.hi, {frame.lo.x, frame.hi.y}};
    *solid = (pv_solid){.kind = PV_SOLID_POLYGON, .n = 4};
    for (int i = 0; i < 4; i++)
        solid->corner[i] = pv_along(pv_along(lettering->at, x, corners[i].x), y, corners[i].y);
    return add_solids(scene, solid, 1);
}

/* ---- by place ---- */

static bool add_part_boxes(pv_boxes *boxes, const pv_layer *l, const pv_layer_part *p, size_t index)
{
    switch (p->kind) {
    case PV_PART_SOLID:
        return pv_boxes_add_solid(boxes, p->u.solid, 0, index);
    case PV_PART_PIECE:
        return pv_boxes_add_piece(boxes, p->u.piece, l->half, index);
    case PV_PART_BOUNDARY:
        return pv_boxes_add_side(boxes, *p->u.boundary[0], *p->u.boundary[1], index);
    case PV_PART_END:
        break;
    }
    return pv_boxes_add(boxes, p->box, index);
}

/* Small scenes are asked part by part. */
static bool sort_by_place(pv_layers *scene)
{
    scene->by_place = scene->n_parts > PV_LAYERS_FEW;
    if (!scene->by_place)
        return true;
    for (size_t i = 0; i < scene->n_parts; i++) {
        const pv_layer_part *p = &scene->parts[i];
        if (!add_part_boxes(&scene->part_boxes, &scene->layers[p->layer], p, i))
            return false;
    }
    for (size_t i = 0; i < scene->n_layers; i++)
        if (scene->layers[i].kind == PV_LAYER_AREA &&
            !pv_boxes_add(&scene->area_boxes, scene->layers[i].box, i))
            return false;
    return pv_grid_open(&scene->part_grid, scene->part_boxes.list, scene->part_boxes.n) &&
           pv_grid_open(&scene->area_grid, scene->area_boxes.list, scene->area_boxes.n);
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
    if (!good || !sort_by_place(scene)) {
        pv_layers_free(scene);
        scene = NULL;
    }
    return scene;
}

static bool add_found(pv_found *found, size_t thing)
{
    if (!PV_GROW(found->list, found->n, found->cap))
        return false;
    found->list[found->n++] = thing;
    return true;
}

/* Parts, and areas that may cover the window without showing an edge in it, both in order. */
static bool find(const pv_layers *scene, pv_box window, pv_found *parts, pv_found *areas)
{
    if (scene->by_place)
        return pv_grid_find(&scene->part_grid, window, parts) &&
               pv_grid_find(&scene->area_grid, window, areas);
    bool good = true;
    for (size_t i = 0; good && i < scene->n_parts; i++)
        if (pv_box_meets(scene->parts[i].box, window))
            good = add_found(parts, i);
    for (size_t i = 0; good && i < scene->n_layers; i++)
        if (scene->layers[i].kind == PV_LAYER_AREA && pv_box_meets(scene->layers[i].box, window))
            good = add_found(areas, i);
    return good;
}

static bool copy_found(pv_layers *scene, const pv_layers *whole, const pv_found *parts,
                       const pv_found *areas)
{
    for (size_t p = 0, a = 0; p < parts->n || a < areas->n;) {
        size_t of_part = p < parts->n ? whole->parts[parts->list[p]].layer : SIZE_MAX;
        size_t of_area = a < areas->n ? areas->list[a] : SIZE_MAX;
        size_t next = of_part < of_area ? of_part : of_area;
        a += of_area == next;
        if (!add_layer(scene, whole->layers[next]))
            return false;
        for (; p < parts->n && whole->parts[parts->list[p]].layer == next; p++)
            if (!add_part(scene, whole->parts[parts->list[p]]))
                return false;
        scene->layers[scene->n_layers - 1].box = whole->layers[next].box;
    }
    return true;
}

pv_layers *pv_layers_near(const pv_layers *whole, pv_box window)
{
    pv_layers *scene = PV_NEW(pv_layers);
    if (scene == NULL)
        return NULL;
    scene->size = whole->size;
    scene->ground = whole->ground;
    pv_found parts = {0}, areas = {0};
    bool good = find(whole, window, &parts, &areas) && copy_found(scene, whole, &parts, &areas) &&
                sort_by_place(scene);
    free(parts.list);
    free(areas.list);
    if (good)
        return scene;
    pv_layers_free(scene);
    return NULL;
}

void pv_layers_free(pv_layers *scene)
{
    if (scene == NULL)
        return;
    for (size_t i = 0; i < scene->n_owned; i++)
        free(scene->owned[i].solids);
    pv_grid_close(&scene->part_grid);
    pv_grid_close(&scene->area_grid);
    free(scene->part_boxes.list);
    free(scene->area_boxes.list);
    free(scene->owned);
    free(scene->parts);
    free(scene->layers);
    free(scene);
}
