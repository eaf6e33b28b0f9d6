#include "page/page.h"

#include "page/anatomy.h"

static pv_box on_page(pv_box mat, pv_vec origin)
{
    return (pv_box){pv_sub(mat.lo, origin), pv_sub(mat.hi, origin)};
}

/* Tags stand with their quiet zones, bars with the ends of their ticks. */
static void take_marks(pv_anatomy *a)
{
    for (size_t i = 0; i < a->sheet->n_bars; i++) {
        const pv_bar *bar = &a->sheet->bar[i];
        double length = bar->count * bar->step, half = PV_BAR_WEIGHT / 2;
        pv_vec end = bar->vertical ? pv_v(bar->tick, length) : pv_v(length, bar->tick);
        pv_vec side = bar->vertical ? pv_v(0, half) : pv_v(half, 0);
        pv_space_take(&a->space,
                      (pv_box){pv_sub(bar->at, side), pv_add(pv_add(bar->at, end), side)});
    }
    for (int i = 0; i < PV_TAG_PLACES; i++)
        pv_space_take(&a->space, pv_tag_box(&a->sheet->tag[i]));
    for (size_t i = 0; i < a->sheet->n_gauge; i++)
        pv_space_take(&a->space, pv_gauge_box(a->sheet->gauge[i]));
}

pv_scene *pv_page_make(const pv_plan *plan, size_t index, pv_type *type, const pv_printer *printer,
                       pv_diags *diags)
{
    const pv_sheet *sheet = &plan->sheets[index];
    pv_anatomy a = {.plan = plan, .sheet = sheet, .type = type, .printer = printer};
    a.page = pv_plan_page_begin(plan, sheet);
    if (a.page == NULL) {
        pv_fail_memory(diags);
        return NULL;
    }
    a.space.page = pv_plan_printable(plan);
    a.space.art = on_page(pv_sheet_kept_box(plan, sheet), sheet->origin);
    a.cell = on_page(sheet->cell, sheet->origin);
    a.trim = on_page(a.page->trim, sheet->origin);
    take_marks(&a);
    if (!plan->proof)
        pv_page_cut_marks(&a);
    pv_page_gauge_names(&a);
    pv_page_numbers(&a);
    bool said = false;
    if (plan->proof)
        pv_page_proof_words(&a);
    else
        said = !pv_page_labels(&a, diags);
    bool good = !said && !a.failed && !a.space.failed && pv_scene_seal(a.page);
    pv_space_drop(&a.space);
    if (good)
        return a.page;
    if (!said)
        pv_fail_memory(diags);
    pv_scene_free(a.page);
    return NULL;
}
