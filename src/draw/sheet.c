/* One sheet's page: the art of its cell with bleed and lap, and what stands around it. */
#include "base/memory.h"
#include "draw/anatomy.h"
#include "draw/art.h"

static pv_box in_sheet(pv_box mat, pv_vec origin)
{
    return (pv_box){pv_sub(mat.lo, origin), pv_sub(mat.hi, origin)};
}

bool pv_draw_sheet(pv_drawing *drawing, const pv_plan *plan, size_t index, pv_type *type,
                   pv_diags *diags)
{
    return pv_draw_sheet_for(drawing, plan, index, type, NULL, plan->mat, diags);
}

bool pv_draw_sheet_for(pv_drawing *drawing, const pv_plan *plan, size_t index, pv_type *type,
                       const pv_printer *printer, const pv_scene *mat, pv_diags *diags)
{
    const pv_sheet *sheet = &plan->sheets[index];
    pv_box window = pv_sheet_art_box(plan, sheet);
    pv_drawing_init(drawing, type, plan->page[0], plan->page[1]);
    drawing->label = pv_copy_text(sheet->name);
    drawing->failed = drawing->label == NULL;
    pv_anatomy a = {.drawing = drawing, .plan = plan, .sheet = sheet, .diags = diags};
    a.printer = printer;
    a.ink = pv_printer_ink(printer);
    a.space.page =
        (pv_box){{plan->margin[PV_LEFT], plan->margin[PV_BOTTOM]},
                 {plan->page[0] - plan->margin[PV_RIGHT], plan->page[1] - plan->margin[PV_TOP]}};
    a.space.art = in_sheet(pv_sheet_kept_box(plan, sheet), sheet->origin);
    a.cell = in_sheet(sheet->cell, sheet->origin);
    drawing->trim = in_sheet(pv_sheet_trim_box(plan, sheet), sheet->origin);
    pv_draw_box(drawing, in_sheet(window, sheet->origin));
    pv_draw_clip(drawing);
    pv_draw_mat(drawing, mat, window, sheet->origin);
    pv_draw_end_clip(drawing);
    bool good = pv_draw_strokes(&a) && pv_draw_tags(&a);
    if (good) {
        pv_draw_comb(&a);
        if (!plan->proof)
            pv_draw_cut_marks(&a);
        pv_draw_numbers(&a);
        good = plan->proof ? pv_draw_proof_words(&a) : pv_draw_labels(&a);
        drawing->failed = drawing->failed || a.space.failed;
    }
    if (printer != NULL)
        pv_drawing_map(drawing, pv_printer_inverse(printer, plan->page));
    pv_space_drop(&a.space);
    return good;
}
