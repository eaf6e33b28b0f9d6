#include "plan/proof.h"

#include "base/memory.h"
#include "paper/paper.h"
#include "plan/anatomy.h"
#include "plan/gauge.h"
#include "plan/make.h"

#include <stdlib.h>
#include <string.h>

/* The art's size on that paper; false, and said, where the paper is too small. */
static bool shape_for(const pv_layout_options *options, pv_proof_art *shape, pv_diags *diags)
{
    char *name = NULL;
    double width = 0, height = 0;
    if (!pv_paper_find(options->paper, &name, &width, &height, diags))
        return false;
    width -= options->margin[PV_LEFT] + options->margin[PV_RIGHT];
    height -= options->margin[PV_BOTTOM] + options->margin[PV_TOP];
    *shape = (pv_proof_art){.width = width - 2 * PV_PROOF_OVERLAP,
                            .height = height - 2 * PV_PROOF_OVERLAP};
    shape->small =
        shape->width < PV_PROOF_LARGE_WIDTH_MIN || shape->height < PV_PROOF_LARGE_HEIGHT_MIN;
    if (shape->small) {
        shape->width = width - 2 * PV_PROOF_OVERLAP_SMALL;
        shape->height = height - 2 * PV_PROOF_OVERLAP_SMALL;
    }
    bool good = shape->width >= PV_PROOF_WIDTH_MIN && shape->height >= PV_PROOF_HEIGHT_MIN;
    if (!good)
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_USAGE, NULL,
                     "use A5 (148 x 210 mm), half letter or larger, or smaller margins",
                     "%s is too small for a proof page: with these margins it leaves %s x %s mm, "
                     "and %s x %s mm are needed",
                     name, pv_fixed(fmax(width, 0), 1).chars, pv_fixed(fmax(height, 0), 1).chars,
                     pv_fixed(PV_PROOF_WIDTH_MIN + 2 * PV_PROOF_OVERLAP_SMALL, 1).chars,
                     pv_fixed(PV_PROOF_HEIGHT_MIN + 2 * PV_PROOF_OVERLAP_SMALL, 1).chars);
    free(name);
    return good;
}

/* The art in the page's middle, a tag at each corner, bars along the whole page. */
static bool place(pv_plan *plan, const pv_proof_art *shape, pv_diags *diags)
{
    pv_sheet *sheet = &plan->sheets[0];
    pv_box area = pv_plan_printable(plan);
    plan->proof = true;
    sheet->origin = pv_v(-area.lo.x - plan->overlap, -area.lo.y - plan->overlap);
    sheet->has_card = true;
    sheet->card.lo = pv_sub(shape->card.lo, sheet->origin);
    sheet->card.hi = pv_sub(shape->card.hi, sheet->origin);
    if (!pv_sheet_place_tags(plan, sheet)) {
        pv_fail(diags, PV_CAUSE_USAGE, "%s has no room for a proof page's tags", plan->paper);
        return false;
    }
    double off = plan->lap_art + plan->service / 2;
    pv_box cell = pv_sheet_cell(sheet);
    sheet->tag[3].centre = pv_v(cell.lo.x - off, cell.hi.y + off);
    pv_sheet_place_gauge(plan, sheet);
    pv_sheet_place_bars(plan, sheet);
    if (pv_plan_identify(plan))
        return true;
    pv_fail_memory(diags);
    return false;
}

/* False with a reason. A proof's margins are those of an upright page. */
static bool settle(const pv_layout_options *given, pv_settled *how, pv_diags *diags)
{
    pv_layout_options upright;
    pv_layout_init(&upright, sizeof upright);
    pv_take_options(&upright, sizeof upright, given);
    if (upright.orientation == PV_LANDSCAPE) {
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_USAGE, NULL,
                     "what it shows about the printer holds for either orientation",
                     "a proof page is always upright");
        return false;
    }
    if (upright.type == NULL) {
        pv_fail(diags, PV_CAUSE_USAGE, "a proof page needs a typeface for its words");
        return false;
    }
    upright.orientation = PV_PORTRAIT;
    return pv_layout_settle(&upright, how, diags);
}

pv_plan *pv_plan_proof(const pv_layout_options *options, pv_diags *diags)
{
    pv_settled how;
    pv_proof_art shape;
    pv_art art;
    if (!settle(options, &how, diags) || !shape_for(&how.o, &shape, diags))
        return NULL;
    if (!pv_proof_art_make(&shape, how.o.language, &art)) {
        pv_fail_memory(diags);
        return NULL;
    }
    bool good = true;
    for (size_t i = 0; i < art.n_letterings; i++)
        good = pv_lettering_set(&art.letterings[i], how.o.type) && good;
    how.o.overlap = shape.small ? PV_PROOF_OVERLAP_SMALL : PV_PROOF_OVERLAP;
    pv_plan *plan = good ? pv_plan_of(&(pv_regard){.art = &art}, &how, how.o.type, diags) : NULL;
    if (!good)
        pv_fail_memory(diags);
    pv_art_clear(&art);
    if (plan != NULL && !place(plan, &shape, diags)) {
        pv_plan_free(plan);
        plan = NULL;
    }
    return plan;
}
