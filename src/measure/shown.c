#include "measure/shown.h"

#include "base/memory.h"
#include "scene/card.h"

#include <stdlib.h>

static bool add_clutter(pv_shown *shown, pv_box box)
{
    if (!pv_box_meets(box, shown->window))
        return true;
    if (!PV_GROW(shown->clutter, shown->n_clutter, shown->cap_clutter))
        return false;
    shown->clutter[shown->n_clutter++] = box;
    return true;
}

/* A line's solids come one after another. */
static bool add_line(pv_shown *shown, size_t line)
{
    if (shown->n_lines > 0 && shown->lines[shown->n_lines - 1] == line)
        return true;
    if (!PV_GROW(shown->lines, shown->n_lines, shown->cap_lines))
        return false;
    shown->lines[shown->n_lines++] = line;
    return true;
}

/* Between its teeth, and where the card would lie, the page is bare. */
static bool add_comb(pv_shown *shown, const pv_item *item)
{
    pv_box teeth[PV_CARD_TEETH_MAX];
    size_t n = pv_card_teeth(item->u.card, teeth);
    shown->tooth = shown->n_clutter;
    for (size_t i = 0; i < n; i++)
        if (!add_clutter(shown, teeth[i]))
            return false;
    shown->n_teeth = shown->n_clutter - shown->tooth;
    return true;
}

static bool add_item(pv_shown *shown, const pv_item *item)
{
    switch (item->kind) {
    case PV_ITEM_LINE:
        return add_line(shown, item->of);
    case PV_ITEM_TEXT: /* the mat's come before the page's own */
        if (!add_clutter(shown, item->box))
            return false;
        shown->n_lettered = shown->n_clutter;
        return true;
    case PV_ITEM_STROKE:
    case PV_ITEM_TICK:
        return add_clutter(shown, item->box);
    case PV_ITEM_CARD:
        return add_comb(shown, item);
    case PV_ITEM_FILL:
    case PV_ITEM_MARK:
    case PV_ITEM_TAG:
    case PV_ITEM_SHAPE: /* people's, beyond the art */
    case PV_ITEM_WORDS:
        break;
    }
    return true;
}

bool pv_shown_make(pv_shown *shown, const pv_scene *page, const pv_covered *covered)
{
    *shown = (pv_shown){.page = page, .art = page->art, .window = page->window};
    pv_look look = {0};
    bool good = pv_scene_find(page, page->window, &look);
    for (size_t i = 0; good && i < look.n; i++)
        good = add_item(shown, look.items[i]);
    shown->n_printed = shown->n_clutter;
    for (size_t i = 0; good && covered != NULL && i < covered->n; i++) {
        pv_box box = pv_box_grow(covered->box[i], PV_CLUTTER_CLEAR);
        good = add_clutter(shown,
                           (pv_box){pv_add(box.lo, page->origin), pv_add(box.hi, page->origin)});
    }
    pv_look_drop(&look);
    if (!good)
        pv_shown_clear(shown);
    return good;
}

void pv_shown_clear(pv_shown *shown)
{
    free(shown->lines);
    free(shown->clutter);
    *shown = (pv_shown){0};
}
