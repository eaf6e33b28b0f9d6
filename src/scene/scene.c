#include "scene/inside.h"

#include "base/memory.h"

#include <stdlib.h>
#include <string.h>

#define SLACK 1e-9 /* mm, by which solids cover points beyond their boxes (outline.h) */

/* ---- the mat's items ---- */

bool pv_scene_add(pv_scene *scene, const pv_item *item)
{
    if (!PV_GROW(scene->items, scene->n_items, scene->cap_items))
        return false;
    scene->items[scene->n_items++] = *item;
    return true;
}

bool pv_scene_text(pv_scene *scene, const char *text, size_t *at)
{
    size_t size = strlen(text) + 1;
    *at = scene->n_chars;
    if (!pv_reserve((void **)&scene->chars, &scene->cap_chars, scene->n_chars + size, 1))
        return false;
    memcpy(scene->chars + scene->n_chars, text, size);
    scene->n_chars += size;
    return true;
}

static bool add_areas(pv_scene *scene, pv_item_kind kind, const pv_area *areas, size_t n)
{
    bool good = true;
    for (size_t i = 0; good && i < n; i++) {
        pv_sides *sides = &scene->areas[scene->n_areas++];
        good = pv_sides_open(sides, &areas[i]);
        pv_item item = {.kind = kind, .of = i, .colour = areas[i].colour};
        item.box = pv_sides_box(sides);
        good = good && pv_scene_add(scene, &item);
    }
    return good;
}

typedef struct adding {
    pv_scene *scene;
    size_t line;
} adding;

static bool add_solid(void *context, const pv_solid *solid)
{
    const adding *a = context;
    pv_item item = {.kind = PV_ITEM_LINE, .of = a->line, .u.solid = *solid};
    item.colour = a->scene->art->lines[a->line].colour;
    item.box = pv_solid_box(solid);
    return pv_scene_add(a->scene, &item);
}

/* Heights of a capital: renderers smooth and hint letters a little beyond their outlines. Ample: a
 * page takes a text that it shows nothing of without harm. */
#define TEXT_SLACK 0.7

pv_box pv_text_reach(const pv_lettering *lettering)
{
    return pv_box_grow(pv_lettering_box(lettering), TEXT_SLACK * lettering->height);
}

static bool add_text(pv_scene *scene, size_t index)
{
    const pv_lettering *lettering = &scene->art->letterings[index];
    pv_item item = {.kind = PV_ITEM_TEXT, .of = index, .colour = lettering->colour};
    pv_box frame = lettering->frame;
    pv_vec x = pv_polar(1, lettering->angle), y = pv_left(x);
    const pv_vec corners[4] = {
        frame.lo, {frame.hi.x, frame.lo.y}, frame.hi, {frame.lo.x, frame.hi.y}};
    item.u.solid = (pv_solid){.kind = PV_SOLID_POLYGON, .n = 4};
    for (int i = 0; i < 4; i++)
        item.u.solid.corner[i] =
            pv_along(pv_along(lettering->at, x, corners[i].x), y, corners[i].y);
    item.box = pv_solid_box(&item.u.solid);
    return pv_scene_add(scene, &item);
}

/* ---- supports ---- */

static bool add_support(pv_scene *scene, size_t line, const pv_piece *piece, pv_box centre)
{
    if (!PV_GROW(scene->supports, scene->n_supports, scene->cap_supports))
        return false;
    pv_box box = pv_box_grow(centre, scene->art->lines[line].width / 2);
    scene->supports[scene->n_supports++] = (pv_support){line, piece, box};
    return true;
}

static bool add_end(pv_scene *scene, size_t line, pv_vec at)
{
    return add_support(scene, line, NULL, (pv_box){at, at});
}

/* Corners that are bevelled, or turn straight back, leave part of the round about them unpainted
 * (scene/art.h: mitred up to PV_MITRE_LIMIT). */
static bool sharp(const pv_piece *before, const pv_piece *after)
{
    pv_vec t = pv_piece_heading(before, pv_piece_length(before)), u = pv_piece_heading(after, 0);
    return !(PV_MITRE_LIMIT * PV_MITRE_LIMIT * (1 + pv_dot(t, u)) > 2 + 1e-9);
}

static bool add_supports(pv_scene *scene, size_t index)
{
    const pv_line *line = &scene->art->lines[index];
    const pv_piece *last = NULL, *first = NULL;
    for (size_t i = 0; i < line->n_pieces; i++) {
        const pv_piece *piece = &line->pieces[i];
        if (!(pv_piece_length(piece) > 0))
            continue;
        if (last != NULL && sharp(last, piece) && !add_end(scene, index, piece->a))
            return false;
        first = first != NULL ? first : piece;
        last = piece;
        /* Paint does not reach half a width round a tighter arc. */
        if (piece->arc && piece->radius <= line->width / 2)
            continue;
        if (!add_support(scene, index, piece, pv_piece_box(piece)))
            return false;
    }
    if (first == NULL)
        return true;
    if (line->closed)
        return !sharp(last, first) || add_end(scene, index, first->a);
    return line->ends != PV_ENDS_FLAT ||
           (add_end(scene, index, first->a) && add_end(scene, index, last->b));
}

/* ---- the index ---- */

static pv_box reach_of(const pv_scene *scene, const pv_item *text)
{
    return pv_text_reach(&scene->art->letterings[text->of]);
}

bool pv_scene_seal(pv_scene *scene)
{
    pv_boxes *boxes = &scene->boxes;
    bool good = true;
    for (size_t i = 0; good && i < scene->n_items; i++) {
        const pv_item *item = &scene->items[i];
        good = item->kind == PV_ITEM_LINE   ? pv_boxes_add_solid(boxes, &item->u.solid, 0, i)
               : item->kind == PV_ITEM_TEXT ? pv_boxes_add(boxes, reach_of(scene, item), i)
                                            : pv_boxes_add(boxes, item->box, i);
    }
    for (size_t i = 0; good && i < scene->n_supports; i++) {
        const pv_support *s = &scene->supports[i];
        good = s->piece != NULL
                   ? pv_boxes_add_piece(boxes, s->piece, scene->art->lines[s->line].width / 2,
                                        scene->n_items + i)
                   : pv_boxes_add(boxes, s->box, scene->n_items + i);
    }
    return good && pv_grid_open(&scene->grid, boxes->list, boxes->n);
}

static bool fill(pv_scene *scene)
{
    const pv_art *art = scene->art;
    scene->areas = PV_NEW_ARRAY(art->n_fills + art->n_marks, pv_sides);
    bool good = scene->areas != NULL && add_areas(scene, PV_ITEM_FILL, art->fills, art->n_fills);
    for (size_t i = 0; good && i < art->n_lines; i++) {
        adding a = {scene, i};
        good = pv_line_each_solid(&art->lines[i], add_solid, &a);
    }
    good = good && add_areas(scene, PV_ITEM_MARK, art->marks, art->n_marks);
    for (size_t i = 0; good && i < art->n_letterings; i++)
        good = add_text(scene, i);
    for (size_t i = 0; good && i < art->n_lines; i++)
        good = add_supports(scene, i);
    return good && pv_scene_seal(scene);
}

pv_scene *pv_scene_of(const pv_art *art)
{
    pv_scene *scene = PV_NEW(pv_scene);
    if (scene == NULL)
        return NULL;
    scene->art = art;
    scene->size = art->size;
    scene->page = scene->window = scene->cell = (pv_box){{0, 0}, art->size};
    if (fill(scene))
        return scene;
    pv_scene_free(scene);
    return NULL;
}

pv_scene *pv_scene_page(const pv_scene *mat, pv_box page, pv_box window)
{
    pv_scene *scene = PV_NEW(pv_scene);
    if (scene != NULL) {
        scene->art = mat->art;
        scene->mat = mat;
        scene->origin = page.lo;
        scene->page = page;
        scene->window = window;
        scene->code = SIZE_MAX;
    }
    return scene;
}

void pv_scene_free(pv_scene *scene)
{
    if (scene == NULL)
        return;
    for (size_t i = 0; i < scene->n_areas; i++)
        pv_sides_close(&scene->areas[i]);
    pv_grid_close(&scene->grid);
    free(scene->boxes.list);
    free(scene->areas);
    free(scene->supports);
    free(scene->items);
    free(scene->chars);
    free(scene);
}

/* ---- items in a box ---- */

void pv_look_drop(pv_look *look)
{
    free((void *)look->items);
    free(look->found.list);
    *look = (pv_look){0};
}

static bool find_own(const pv_scene *scene, pv_box box, pv_look *look)
{
    if (!pv_grid_find(&scene->grid, box, &look->found))
        return false;
    for (size_t i = 0; i < look->found.n && look->found.list[i] < scene->n_items; i++) {
        if (!PV_GROW(look->items, look->n, look->cap)) /* NOLINT: a list of pointers */
            return false;
        look->items[look->n++] = &scene->items[look->found.list[i]];
    }
    return true;
}

bool pv_scene_find(const pv_scene *scene, pv_box box, pv_look *look)
{
    look->n = 0;
    bool good =
        (scene->mat == NULL || find_own(scene->mat, box, look)) && find_own(scene, box, look);
    look->failed = look->failed || !good;
    return good;
}

typedef struct visiting {
    const pv_scene *mat;
    pv_item_visit *visit;
    void *context;
} visiting;

static bool visit_item(void *context, size_t thing)
{
    const visiting *v = context;
    return thing >= v->mat->n_items || v->visit(v->context, &v->mat->items[thing]);
}

void pv_scene_visit(const pv_scene *mat, pv_box box, pv_item_visit *visit, void *context)
{
    visiting v = {mat, visit, context};
    pv_grid_visit_down(&mat->grid, box, visit_item, &v);
}

bool pv_scene_rings(const pv_scene *mat, const pv_item *item, pv_box box, pv_ring_visit *visit,
                    void *context)
{
    return pv_sides_each_ring(pv_item_sides(mat, item), box, visit, context);
}

/* ---- at a point ---- */

typedef struct asking {
    const pv_scene *mat;
    pv_vec p;
    pv_spot spot;
    size_t top, top_line; /* items counted from 1: what is on top, and the topmost line */
} asking;

static bool covers(const pv_scene *mat, const pv_item *item, pv_vec p)
{
    return item->kind == PV_ITEM_LINE ? pv_solid_covers(&item->u.solid, p)
                                      : pv_sides_cover(pv_item_sides(mat, item), p);
}

/* From the top down. False once nothing below can count. */
static bool ask(void *context, size_t thing)
{
    asking *a = context;
    if (thing >= a->mat->n_items || a->mat->items[thing].kind == PV_ITEM_TEXT)
        return true;
    const pv_item *item = &a->mat->items[thing];
    bool above = thing + 1 > a->top;
    bool above_lines = item->kind == PV_ITEM_LINE && thing + 1 > a->top_line;
    if (!above && !above_lines)
        return item->kind == PV_ITEM_MARK;
    if (!covers(a->mat, item, a->p))
        return true;
    if (above) {
        a->top = thing + 1;
        a->spot.colour = item->colour;
        a->spot.mark = item->kind == PV_ITEM_MARK;
    }
    if (above_lines) {
        a->top_line = thing + 1;
        a->spot.line = (long)item->of;
    }
    return true;
}

bool pv_scene_covers(const pv_scene *mat, pv_item_kind kind, size_t of, pv_vec p)
{
    return pv_sides_cover(pv_area_sides(mat, kind, of), p);
}

pv_spot pv_scene_at(const pv_scene *scene, pv_vec p)
{
    const pv_scene *mat = scene->mat != NULL ? scene->mat : scene;
    asking a = {mat, p, {.colour = mat->art->ground, .line = -1}, 0, 0};
    a.spot.off = !pv_box_holds(mat->page, p);
    pv_grid_visit_down(&mat->grid, pv_box_grow((pv_box){p, p}, SLACK), ask, &a);
    return a.spot;
}
