/* pavior sheets and the plan that is there already: sheets that are printed again must fit those
 * that were printed before, and the plan of other prints is kept. */
#include "cli/sheets.h"

#include <string.h>
#include <unistd.h>

static void say_other(const cli_sheets_request *r, const cli_sheets_product *p, const pv_plan *old,
                      pv_diags *diags)
{
    if (old == NULL)
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_USAGE, NULL,
                     "give the plan another name by --plan, or move that file away",
                     "%s is there already and is not a plan that can be read", r->plan_name);
    else if (old->fingerprint != p->plan->fingerprint)
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_USAGE, NULL,
                     "use the course, paper, margins, overlap, joint, colours and typeface of "
                     "then; or print all sheets anew under another name (-o)",
                     "these sheets would not fit those printed before: %s is of kit %04X, and this "
                     "would be kit %04X",
                     r->plan_name, old->fingerprint, p->plan->fingerprint);
    else
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_USAGE, NULL,
                     "use the tolerances, the printer's correction and the version of then; or "
                     "print all sheets anew under another name (-o)",
                     "%s is of the same kit %04X, but differs from this plan in what isn't printed",
                     r->plan_name, old->fingerprint);
}

bool cli_sheets_same_plan(const cli_sheets_request *r, const cli_sheets_product *p, pv_diags *diags)
{
    if (r->range == NULL || strcmp(r->plan_name, "-") == 0 || access(r->plan_name, F_OK) != 0)
        return true;
    pv_bytes text;
    if (!pv_file_read(r->plan_name, PV_PLAN_BYTES_MAX, &text, diags))
        return false;
    bool same =
        text.size == strlen(p->plan_text) && memcmp(text.data, p->plan_text, text.size) == 0;
    if (!same) {
        pv_plan *old = pv_plan_parse((const char *)text.data, text.size, r->plan_name, NULL);
        say_other(r, p, old, diags);
        pv_plan_free(old);
    }
    pv_free(text.data);
    return same;
}

bool cli_sheets_keeps_others(const cli_sheets_request *r, const cli_sheets_product *p,
                             pv_diags *diags)
{
    bool named = r->output != NULL || r->plan != NULL || r->range != NULL || r->replace;
    if (named || access(r->plan_name, F_OK) != 0)
        return true;
    pv_bytes text;
    if (!pv_file_read(r->plan_name, PV_PLAN_BYTES_MAX, &text, diags))
        return false;
    pv_plan *old = pv_plan_parse((const char *)text.data, text.size, r->plan_name, NULL);
    bool other = old != NULL && old->fingerprint != p->plan->fingerprint;
    if (other)
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_USAGE, NULL,
                     "give these sheets another name by -o, or say --replace",
                     "%s belongs to prints of another layout (kit %04X, %s, %zu %s), which can't "
                     "be inspected without it",
                     r->plan_name, old->fingerprint, old->paper, old->n_sheets,
                     old->n_sheets == 1 ? "sheet" : "sheets");
    pv_plan_free(old);
    pv_free(text.data);
    return !other;
}
