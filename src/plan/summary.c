/* What a plan holds, to be shown. */
#include "base/memory.h"
#include "paper/printer.h"
#include "plan/crossings.h"

#include <stdlib.h>
#include <string.h>

struct pv_summary {
    const pv_plan *plan; /* borrowed */
    pv_plan_info whole;
    pv_kit_text kit;
    pv_sheet_info *sheets;
    pv_seam_info *seams;
};

void pv_summary_free(pv_summary *summary)
{
    if (summary == NULL)
        return;
    free(summary->sheets);
    free(summary->seams);
    free(summary);
}

static void take_whole(const pv_plan *plan, pv_plan_info *out)
{
    double wider[4] = {0};
    *out = (pv_plan_info){.name = plan->art.name,
                          .edition = plan->art.edition,
                          .mat = {plan->art.size.x, plan->art.size.y},
                          .proof = plan->proof,
                          .paper = plan->paper,
                          .overlap = plan->overlap,
                          .border = plan->border,
                          .joint = plan->joint,
                          .sheets = plan->n_sheets,
                          .rows = plan->rows,
                          .columns = plan->columns,
                          .crosses = plan->n_crosses,
                          .language = plan->language,
                          .url = plan->url};
    if (plan->printer != NULL)
        out->widened = pv_printer_widen(plan->printer, plan->page, wider);
    memcpy(out->page, plan->page, sizeof out->page);
    memcpy(out->margin, plan->margin, sizeof out->margin);
}

static void take_sheets(const pv_plan *plan, pv_sheet_info *out)
{
    for (size_t i = 0; i < plan->n_sheets; i++) {
        const pv_sheet *sheet = &plan->sheets[i];
        out[i] = (pv_sheet_info){
            sheet->name,
            sheet->row,
            sheet->column,
            {sheet->cell.lo.x, sheet->cell.lo.y, sheet->cell.hi.x, sheet->cell.hi.y}};
    }
}

static bool take_seams(const pv_plan *plan, pv_summary *to)
{
    to->seams = PV_NEW_ARRAY(plan->n_seams, pv_seam_info);
    to->whole.seams = plan->n_seams;
    for (size_t i = 0; to->seams != NULL && i < plan->n_seams; i++) {
        const pv_seam *seam = &plan->seams[i];
        pv_seam_info *out = &to->seams[i];
        *out = (pv_seam_info){.over = seam->over,
                              .under = seam->under,
                              .vertical = seam->vertical,
                              .at = seam->at,
                              .from = seam->from,
                              .to = seam->to,
                              .crosses = seam->n_crosses};
        if (plan->joint == PV_JOINT_LAP && !pv_seam_steps(plan, seam, &out->down, &out->up))
            return false;
        to->whole.down += out->down;
        to->whole.up += out->up;
    }
    return to->seams != NULL;
}

pv_summary *pv_summary_brief(const pv_plan *plan, pv_diags *diags)
{
    pv_summary *out = PV_NEW(pv_summary);
    if (out != NULL)
        out->sheets = PV_NEW_ARRAY(plan->n_sheets, pv_sheet_info);
    if (out == NULL || out->sheets == NULL) {
        pv_fail_memory(diags);
        pv_summary_free(out);
        return NULL;
    }
    out->plan = plan;
    take_whole(plan, &out->whole);
    out->kit = pv_plan_kit(plan);
    out->whole.kit = out->kit.chars;
    take_sheets(plan, out->sheets);
    return out;
}

pv_summary *pv_summary_make(const pv_plan *plan, pv_diags *diags)
{
    pv_summary *out = pv_summary_brief(plan, diags);
    if (out == NULL || take_seams(plan, out))
        return out;
    pv_fail_memory(diags);
    pv_summary_free(out);
    return NULL;
}

const pv_plan_info *pv_summary_plan(const pv_summary *summary)
{
    return &summary->whole;
}

const pv_sheet_info *pv_summary_sheet(const pv_summary *summary, size_t index)
{
    return index < summary->whole.sheets ? &summary->sheets[index] : NULL;
}

const pv_sheet_info *pv_summary_taped(const pv_summary *summary, size_t turn)
{
    return turn < summary->whole.sheets ? &summary->sheets[summary->plan->taping[turn]] : NULL;
}

const pv_seam_info *pv_summary_seam(const pv_summary *summary, size_t index)
{
    return index < summary->whole.seams ? &summary->seams[index] : NULL;
}
