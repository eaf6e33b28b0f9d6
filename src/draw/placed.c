#include "draw/placed.h"

#include "base/memory.h"

#include <stdlib.h>

/* Capitals: renderers smooth and hint letters a little beyond their outlines. Ample: a page takes a
 * text that it shows nothing of without harm. */
#define LETTERING_SLACK 0.7

pv_box pv_placed_lettering_box(const pv_lettering *lettering)
{
    return pv_box_grow(pv_lettering_box(lettering), LETTERING_SLACK * lettering->height);
}

static bool add_thing(pv_placed *p, pv_placed_kind kind, size_t of, size_t part)
{
    if (!PV_GROW(p->things, p->n_things, p->cap_things))
        return false;
    p->things[p->n_things++] = (pv_placed_thing){kind, of, part};
    return true;
}

/* By its box: inside of it a ring may paint anywhere. */
static bool add_areas(pv_placed *p, pv_placed_kind kind, const pv_area *areas, size_t n)
{
    for (size_t i = 0; i < n; i++)
        for (size_t r = 0; r < areas[i].n_rings; r++) {
            pv_box box = pv_box_none();
            for (size_t k = 0; k < areas[i].rings[r].n; k++)
                box = pv_box_add(box, areas[i].rings[r].points[k]);
            if (!add_thing(p, kind, i, r) || !pv_boxes_add(&p->boxes, box, p->n_things - 1))
                return false;
        }
    return true;
}

typedef struct adding {
    pv_placed *placed;
    size_t line;
} adding;

static bool add_solid(void *context, const pv_solid *solid)
{
    const adding *a = context;
    pv_placed *p = a->placed;
    if (!PV_GROW(p->solids, p->n_solids, p->cap_solids))
        return false;
    p->solids[p->n_solids++] = *solid;
    return add_thing(p, PV_PLACED_LINE, a->line, p->n_solids - 1) &&
           pv_boxes_add_solid(&p->boxes, solid, 0, p->n_things - 1);
}

bool pv_placed_open(pv_placed *placed, const pv_art *art)
{
    *placed = (pv_placed){.art = art};
    bool good = add_areas(placed, PV_PLACED_FILL, art->fills, art->n_fills);
    for (size_t i = 0; good && i < art->n_lines; i++) {
        adding a = {placed, i};
        good = pv_line_each_solid(&art->lines[i], add_solid, &a);
    }
    good = good && add_areas(placed, PV_PLACED_MARK, art->marks, art->n_marks);
    for (size_t i = 0; good && i < art->n_letterings; i++)
        good = add_thing(placed, PV_PLACED_LETTERING, i, 0) &&
               pv_boxes_add(&placed->boxes, pv_placed_lettering_box(&art->letterings[i]),
                            placed->n_things - 1);
    return good && pv_grid_open(&placed->grid, placed->boxes.list, placed->boxes.n);
}

void pv_placed_close(pv_placed *placed)
{
    pv_grid_close(&placed->grid);
    free(placed->boxes.list);
    free(placed->things);
    free(placed->solids);
    *placed = (pv_placed){0};
}
