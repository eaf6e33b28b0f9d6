/* From a plan and a sheet to what its page shows. */
#include "plan/layout.h"

static bool add_bar(pv_scene *page, pv_item item, pv_vec a, pv_vec b, double width)
{
    item.u.bar.a = a;
    item.u.bar.b = b;
    item.u.bar.width = width;
    item.box = pv_box_grow(pv_box_add(pv_box_add(pv_box_none(), a), b), width / 2);
    return pv_scene_add(page, &item);
}

static bool add_cross(pv_scene *page, const pv_cross *cross, size_t index)
{
    pv_item item = {.kind = PV_ITEM_STROKE, .of = index};
    item.colour = cross->light ? PV_COLOUR_WHITE : PV_COLOUR_BLACK;
    for (int i = 0; i < 2; i++) {
        pv_vec arm = i == 0 ? pv_v(PV_CROSS_ARM, 0) : pv_v(0, PV_CROSS_ARM);
        if (!add_bar(page, item, pv_sub(cross->at, arm), pv_add(cross->at, arm), PV_CROSS_WEIGHT))
            return false;
    }
    return true;
}

static bool add_crosses(pv_scene *page, const pv_plan *plan, const pv_sheet *sheet)
{
    for (int s = 0; s < 4; s++) {
        if (sheet->seam[s] == SIZE_MAX)
            continue;
        const pv_seam *seam = &plan->seams[sheet->seam[s]];
        for (size_t i = seam->first_cross; i < seam->first_cross + seam->n_crosses; i++)
            if (!add_cross(page, &plan->crosses[i], i))
                return false;
    }
    return true;
}

static bool add_ticks(pv_scene *page, const pv_sheet *sheet, size_t index)
{
    const pv_bar *bar = &sheet->bar[index];
    pv_vec step = bar->vertical ? pv_v(0, bar->step) : pv_v(bar->step, 0);
    pv_vec tick = bar->vertical ? pv_v(bar->tick, 0) : pv_v(0, bar->tick);
    pv_item item = {.kind = PV_ITEM_TICK, .of = index, .colour = PV_COLOUR_BLACK};
    for (int i = 0; i <= bar->count; i++) {
        pv_vec a = pv_add(pv_along(bar->at, step, i), sheet->origin);
        if (!add_bar(page, item, a, pv_add(a, tick), PV_BAR_WEIGHT))
            return false;
    }
    return true;
}

/* Each stroke is a mark of its own, as a cross's. */
static bool add_gauge(pv_scene *page, const pv_sheet *sheet, size_t index)
{
    pv_vec at = pv_add(sheet->gauge[index], sheet->origin);
    for (size_t i = 0; i < 2; i++) {
        pv_item item = {.kind = PV_ITEM_TICK, .colour = PV_COLOUR_BLACK};
        item.of = PV_SHEET_BARS_MAX + 2 * index + i;
        pv_vec arm = i == 0 ? pv_v(PV_GAUGE_ARM, 0) : pv_v(0, PV_GAUGE_ARM);
        if (!add_bar(page, item, pv_sub(at, arm), pv_add(at, arm), PV_CROSS_WEIGHT))
            return false;
    }
    return true;
}

static bool add_tag(pv_scene *page, const pv_sheet *sheet, size_t index)
{
    const pv_tag *tag = &sheet->tag[index];
    pv_item item = {.kind = PV_ITEM_TAG, .of = index, .colour = PV_COLOUR_BLACK};
    pv_box box = pv_tag_box(tag);
    item.box = (pv_box){pv_add(box.lo, sheet->origin), pv_add(box.hi, sheet->origin)};
    item.u.tag.id = tag->id;
    item.u.tag.cell = tag->cell;
    item.u.tag.centre = pv_add(tag->centre, sheet->origin);
    return pv_scene_add(page, &item);
}

static bool add_card(pv_scene *page, const pv_sheet *sheet)
{
    pv_item item = {.kind = PV_ITEM_CARD, .colour = PV_COLOUR_BLACK};
    pv_box box = pv_sheet_card_box(sheet);
    item.box = (pv_box){pv_add(box.lo, sheet->origin), pv_add(box.hi, sheet->origin)};
    item.u.card =
        (pv_box){pv_add(sheet->card.lo, sheet->origin), pv_add(sheet->card.hi, sheet->origin)};
    return pv_scene_add(page, &item);
}

pv_scene *pv_plan_page_begin(const pv_plan *plan, const pv_sheet *sheet)
{
    pv_box paper = {sheet->origin, pv_add(sheet->origin, pv_v(plan->page[0], plan->page[1]))};
    pv_scene *page = pv_scene_page(plan->mat, paper, pv_sheet_art_box(plan, sheet));
    bool good = page != NULL;
    if (good) {
        page->size = pv_v(plan->page[0], plan->page[1]);
        page->cell = sheet->cell;
        page->trim = pv_sheet_trim_box(plan, sheet);
        page->name = sheet->name;
    }
    good = good && add_crosses(page, plan, sheet);
    for (size_t i = 0; good && i < sheet->n_bars; i++)
        good = add_ticks(page, sheet, i);
    for (size_t i = 0; good && i < sheet->n_gauge; i++)
        good = add_gauge(page, sheet, i);
    for (size_t i = 0; good && i < PV_TAG_PLACES; i++)
        good = add_tag(page, sheet, i);
    if (good && (!sheet->has_card || add_card(page, sheet)))
        return page;
    pv_scene_free(page);
    return NULL;
}

pv_scene *pv_plan_page(const pv_plan *plan, const pv_sheet *sheet)
{
    pv_scene *page = pv_plan_page_begin(plan, sheet);
    if (page == NULL || pv_scene_seal(page))
        return page;
    pv_scene_free(page);
    return NULL;
}
