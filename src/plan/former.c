#include "plan/former.h"

#include "base/memory.h"

#include <stdlib.h>
#include <string.h>

/* pv_plan_kit, back again. */
static uint64_t fingerprint_of(const pv_kit_text *kit)
{
    static const char digits[] = PV_CLEAR_LETTERS;
    uint64_t all = 0;
    for (int i = 0; i < PV_KIT_CHARS; i++) {
        const char *digit = i == PV_KIT_BREAK ? NULL : strchr(digits, kit->chars[i]);
        all = digit != NULL ? 32 * all + (uint64_t)(digit - digits) : all;
    }
    return all;
}

/* Gives a sheet that identity, which becomes the next one's. */
static void identify(pv_sheet *sheet, uint64_t *identity)
{
    unsigned ids[PV_TAG_PLACES];
    pv_tag_ids(*identity, ids);
    for (int p = 0; p < PV_TAG_PLACES; p++)
        sheet->tag[p].id = ids[p];
    *identity = pv_tag_identity(*identity, true);
}

static bool same_ids(const pv_sheet *a, const pv_sheet *b)
{
    bool same = true;
    for (int p = 0; p < PV_TAG_PLACES; p++)
        same = same && a->tag[p].id == b->tag[p].id;
    return same;
}

/* As keep.c gives identities where the former plan had one for each sheet in turn: each sheet has
 * the former one of its number, or the next of the plan's own. A sheet past the first row that was
 * kept says that rows are as long as they were. */
static bool lies_in_place(const pv_plan *plan, const pv_plan *former)
{
    bool seen = false;
    uint64_t own = pv_tag_identity(plan->fingerprint, false);
    for (size_t i = 0; i < plan->n_sheets; i++) {
        if (same_ids(&plan->sheets[i], &former->sheets[i])) {
            seen = seen || plan->rows == 1 || i >= plan->columns;
            continue;
        }
        pv_sheet next = plan->sheets[i];
        identify(&next, &own);
        if (!same_ids(&plan->sheets[i], &next))
            return false;
    }
    return seen;
}

bool pv_former_make(const pv_plan *plan, pv_former *out)
{
    *out = (pv_former){.plan = *plan};
    out->plan.sheets = NULL;
    out->plan.n_sheets = 0;
    uint64_t fingerprint = fingerprint_of(&plan->former);
    if (*plan->former.chars == '\0' || fingerprint >= PV_TAG_IDENTITIES)
        return true;
    out->plan.sheets = pv_copy_bytes(plan->sheets, plan->n_sheets, sizeof *plan->sheets);
    if (out->plan.sheets == NULL)
        return false;
    out->plan.n_sheets = plan->n_sheets;
    out->plan.fingerprint = fingerprint;
    uint64_t identity = pv_tag_identity(fingerprint, false);
    for (size_t i = 0; i < plan->n_sheets; i++)
        identify(&out->plan.sheets[i], &identity);
    out->in_place = lies_in_place(plan, &out->plan);
    return true;
}

void pv_former_clear(pv_former *former)
{
    free(former->plan.sheets);
    *former = (pv_former){.in_place = false};
}
