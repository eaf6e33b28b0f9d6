#include "course/paint.h"

#include "base/memory.h"

#include <stdlib.h>

static bool add(pv_paint *paint, const pv_item *item)
{
    if (!PV_GROW(paint->items, paint->n_items, paint->cap_items))
        return false;
    paint->items[paint->n_items++] = *item;
    return true;
}

typedef struct adding {
    pv_paint *paint;
    size_t line;
} adding;

static bool add_solid(void *context, const pv_solid *solid)
{
    const adding *a = context;
    pv_item item = {
        PV_ITEM_LINE, a->line, a->paint->art->lines[a->line].colour, pv_solid_box(solid), {*solid}};
    return add(a->paint, &item);
}

static bool add_areas(pv_paint *paint, pv_item_kind kind, const pv_area *areas, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        pv_item item = {.kind = kind, .of = i, .colour = areas[i].colour};
        item.box = pv_area_box(&areas[i]);
        if (areas[i].n_rings > 0 && !add(paint, &item))
            return false;
    }
    return true;
}

static bool add_all(pv_paint *paint)
{
    const pv_art *art = paint->art;
    bool good = add_areas(paint, PV_ITEM_FILL, art->fills, art->n_fills);
    for (size_t i = 0; good && i < art->n_lines; i++) {
        adding a = {paint, i};
        good = pv_line_each_solid(&art->lines[i], add_solid, &a);
    }
    return good && add_areas(paint, PV_ITEM_MARK, art->marks, art->n_marks);
}

bool pv_paint_open(pv_paint *paint, const pv_art *art, pv_diags *diags)
{
    *paint = (pv_paint){.art = art};
    if (!pv_geos_open(&paint->geos, diags))
        return false;
    pv_box *boxes = NULL;
    if (!add_all(paint) || (boxes = PV_NEW_ARRAY(paint->n_items, pv_box)) == NULL) {
        pv_fail_memory(diags);
        return false;
    }
    for (size_t i = 0; i < paint->n_items; i++)
        boxes[i] = paint->items[i].box;
    bool good = pv_index_open(&paint->index, &paint->geos, boxes, paint->n_items) &&
                pv_locator_open(&paint->fills, &paint->geos, art->fills, art->n_fills);
    free(boxes);
    return good || pv_geos_refused(&paint->geos, diags);
}

void pv_paint_close(pv_paint *paint)
{
    pv_index_close(&paint->index);
    pv_locator_close(&paint->fills);
    pv_geos_close(&paint->geos);
    free(paint->items);
    *paint = (pv_paint){0};
}

typedef struct asking {
    const pv_paint *paint;
    pv_vec p;
    pv_spot spot;
    size_t top, top_line; /* items counted from 1: what is on top, and the topmost line */
} asking;

static bool covers(const pv_paint *paint, const pv_item *item, pv_vec p)
{
    if (item->kind == PV_ITEM_LINE)
        return pv_solid_covers(&item->u.solid, p);
    if (item->kind == PV_ITEM_FILL)
        return pv_locator_covers(&paint->fills, item->of, p);
    return pv_area_covers(&paint->art->marks[item->of], p);
}

static void ask(size_t i, void *context)
{
    asking *a = context;
    const pv_item *item = &a->paint->items[i];
    bool above = i + 1 > a->top, above_lines = item->kind == PV_ITEM_LINE && i + 1 > a->top_line;
    if ((!above && !above_lines) || !covers(a->paint, item, a->p))
        return;
    if (above) {
        a->top = i + 1;
        a->spot.colour = item->colour;
        a->spot.mark = item->kind == PV_ITEM_MARK;
    }
    if (above_lines) {
        a->top_line = i + 1;
        a->spot.line = (long)item->of;
    }
}

bool pv_paint_spot(const pv_paint *paint, pv_vec p, pv_spot *spot)
{
    asking a = {paint, p, {.colour = paint->art->ground, .line = -1}, 0, 0};
    bool good = pv_index_find(&paint->index, (pv_box){p, p}, ask, &a);
    *spot = a.spot;
    return good;
}
