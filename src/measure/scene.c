#include "measure/scene.h"

#include "base/memory.h"

#include <stdlib.h>

static bool add_solid(pv_shown *scene, const pv_shown_solid *solid)
{
    if (!PV_GROW(scene->solids, scene->n_solids, scene->cap_solids))
        return false;
    scene->solids[scene->n_solids++] = *solid;
    return true;
}

static bool add_area(pv_shown_area **list, size_t *n, size_t *cap, const pv_shown_area *area)
{
    if (!pv_reserve((void **)list, cap, *n + 1, sizeof **list))
        return false;
    (*list)[(*n)++] = *area;
    return true;
}

static bool add_clutter(pv_shown *scene, pv_box box)
{
    if (!PV_GROW(scene->clutter, scene->n_clutter, scene->cap_clutter))
        return false;
    scene->clutter[scene->n_clutter++] = box;
    return true;
}

typedef struct gathering {
    pv_shown *scene;
    size_t line;
} gathering;

static bool gather(void *context, const pv_solid *solid)
{
    gathering *g = context;
    pv_shown_solid one = {*solid, pv_solid_box(solid), g->line};
    return !pv_box_meets(one.box, g->scene->window) || add_solid(g->scene, &one);
}

static bool gather_areas(const pv_shown *scene, const pv_area *areas, size_t n,
                         pv_shown_area **list, size_t *n_list, size_t *cap)
{
    for (size_t i = 0; i < n; i++) {
        pv_shown_area one = {&areas[i], pv_area_box(&areas[i])};
        if (pv_box_meets(one.box, scene->window) && !add_area(list, n_list, cap, &one))
            return false;
    }
    return true;
}

static bool gather_clutter(pv_shown *scene, const pv_plan *plan, const pv_sheet *sheet)
{
    for (size_t i = 0; i < plan->art.n_letterings; i++) {
        pv_box box = pv_lettering_box(&plan->art.letterings[i]);
        if (pv_box_meets(box, scene->window) && !add_clutter(scene, box))
            return false;
    }
    if (sheet->has_card) {
        pv_box card = pv_sheet_card_box(sheet);
        card = (pv_box){pv_add(card.lo, sheet->origin), pv_add(card.hi, sheet->origin)};
        if (pv_box_meets(card, scene->window) && !add_clutter(scene, card))
            return false;
    }
    pv_stroke *strokes = NULL;
    size_t n = 0;
    if (!pv_sheet_strokes(plan, sheet, &strokes, &n))
        return false;
    bool good = true;
    for (size_t i = 0; good && i < n; i++) {
        pv_box box = pv_box_add(pv_box_add(pv_box_none(), strokes[i].a), strokes[i].b);
        box = pv_box_grow(box, strokes[i].width / 2);
        good = !pv_box_meets(box, scene->window) || add_clutter(scene, box);
    }
    free(strokes);
    return good;
}

bool pv_shown_make(pv_shown *scene, const pv_plan *plan, const pv_sheet *sheet)
{
    const pv_art *art = &plan->art;
    *scene = (pv_shown){.art = art, .window = pv_sheet_art_box(plan, sheet)};
    bool good = true;
    for (size_t i = 0; good && i < art->n_lines; i++) {
        gathering g = {scene, i};
        good = pv_line_each_solid(&art->lines[i], gather, &g);
    }
    good = good && gather_areas(scene, art->fills, art->n_fills, &scene->fills, &scene->n_fills,
                                &scene->cap_fills);
    good = good && gather_areas(scene, art->marks, art->n_marks, &scene->marks, &scene->n_marks,
                                &scene->cap_marks);
    good = good && gather_clutter(scene, plan, sheet);
    if (!good)
        pv_shown_clear(scene);
    return good;
}

bool pv_shown_cover(pv_shown *scene, const pv_sheet *sheet, const pv_covered *covered)
{
    bool good = true;
    for (size_t i = 0; good && i < covered->n; i++) {
        pv_box box = covered->box[i];
        box = (pv_box){pv_add(box.lo, sheet->origin), pv_add(box.hi, sheet->origin)};
        good = !pv_box_meets(box, scene->window) || add_clutter(scene, box);
    }
    return good;
}

bool pv_shown_part(pv_shown *part, const pv_shown *scene, pv_box box)
{
    part->art = scene->art;
    part->window = box;
    part->n_solids = part->n_fills = part->n_marks = part->n_clutter = 0;
    bool good = true;
    for (size_t i = 0; good && i < scene->n_solids; i++)
        if (pv_box_meets(scene->solids[i].box, box))
            good = add_solid(part, &scene->solids[i]);
    for (size_t i = 0; good && i < scene->n_fills; i++)
        if (pv_box_meets(scene->fills[i].box, box))
            good = add_area(&part->fills, &part->n_fills, &part->cap_fills, &scene->fills[i]);
    for (size_t i = 0; good && i < scene->n_marks; i++)
        if (pv_box_meets(scene->marks[i].box, box))
            good = add_area(&part->marks, &part->n_marks, &part->cap_marks, &scene->marks[i]);
    for (size_t i = 0; good && i < scene->n_clutter; i++)
        if (pv_box_meets(scene->clutter[i], box))
            good = add_clutter(part, scene->clutter[i]);
    return good;
}

void pv_shown_clear(pv_shown *scene)
{
    free(scene->solids);
    free(scene->fills);
    free(scene->marks);
    free(scene->clutter);
    *scene = (pv_shown){0};
}

/* The topmost area over a point, or NULL. */
static const pv_area *topmost(const pv_shown_area *areas, size_t n, pv_vec p)
{
    for (size_t i = n; i-- > 0;)
        if (pv_box_holds(areas[i].box, p) && pv_area_covers(areas[i].area, p))
            return areas[i].area;
    return NULL;
}

pv_spot pv_shown_spot(const pv_shown *scene, pv_vec p)
{
    pv_spot spot = {.colour = scene->art->ground, .line = -1};
    const pv_area *mark = topmost(scene->marks, scene->n_marks, p);
    for (size_t i = scene->n_solids; i-- > 0 && spot.line < 0;) {
        const pv_shown_solid *s = &scene->solids[i];
        if (pv_box_holds(s->box, p) && pv_solid_covers(&s->solid, p))
            spot.line = (long)s->line;
    }
    if (mark != NULL) {
        spot.mark = true;
        spot.colour = mark->colour;
    } else if (spot.line >= 0) {
        spot.colour = scene->art->lines[spot.line].colour;
    } else {
        const pv_area *fill = topmost(scene->fills, scene->n_fills, p);
        if (fill != NULL)
            spot.colour = fill->colour;
    }
    return spot;
}
