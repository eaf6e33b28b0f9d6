#include "plan/keep.h"

#include "base/memory.h"
#include "plan/difference.h"
#include "plan/make.h"
#include "plan/order.h"

#include <stdlib.h>
#include <string.h>

#define SAME      1e-6 /* mm */
#define SAME_PAGE 0.01 /* mm */

/* ---- paper ---- */

bool pv_keep_options(const pv_plan *older, pv_layout_options *options, pv_diags *diags)
{
    if (older->proof) {
        pv_fail(diags, PV_CAUSE_USAGE, "the plan to keep is a proof page's, which has no seams");
        return false;
    }
    if (options->roll == 0 && options->orientation == PV_FEWEST)
        options->orientation = older->page[0] > older->page[1] ? PV_LANDSCAPE : PV_PORTRAIT;
    return true;
}

/* A roll's pages are cut to the length that they need. */
static bool fits_paper(const pv_plan *older, const pv_plan *plan, const pv_laying *l, bool roll,
                       pv_diags *diags)
{
    bool same = fabs(l->page[0] - older->page[0]) <= SAME_PAGE &&
                fabs(l->page[1] - older->page[1]) <= SAME_PAGE;
    if (strcmp(plan->paper, older->paper) == 0 && (roll || same))
        return true;
    pv_diags_add(diags, PV_ERROR, PV_CAUSE_USAGE, NULL,
                 "ask for its paper and orientation, or lay the course anew",
                 "the plan to keep is laid on %s, and its seams need that page", older->paper);
    return false;
}

/* ---- seams ---- */

/* Seams at[1] to at[n - 1] of an axis; at[n] is the mat's edge. */
static bool keep_axis(const double *older, size_t n_older, double length, double most,
                      pv_division *d)
{
    size_t n = 1;
    while (n < n_older && older[n] <= length - PV_CELL_MIN)
        n++;
    double first = n > 1 ? older[n - 1] : 0, rest = length - first;
    size_t last = (size_t)fmax(1, ceil(rest / most - SAME));
    *d = (pv_division){.n = n - 1 + last, .most = most, .at = PV_NEW_ARRAY(n + last, double)};
    if (d->at == NULL)
        return false;
    memcpy(d->at, older, n * sizeof *older);
    for (size_t k = 1; k <= last; k++)
        d->at[n - 1 + k] = first + rest * (double)k / (double)last;
    d->at[d->n] = length;
    return true;
}

static bool cells_fit(const pv_division *d, const pv_plan *older, pv_diags *diags)
{
    for (size_t k = 0; k < d->n; k++) {
        if (d->at[k + 1] - d->at[k] <= d->most + SAME)
            continue;
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_USAGE, NULL,
                     "ask for the margins and the overlap that it was made with",
                     "the sheets of the plan to keep are larger than margins and overlap leave of "
                     "%s",
                     older->paper);
        return false;
    }
    return true;
}

bool pv_keep_divide(const pv_plan *older, const pv_plan *plan, bool roll, const pv_laying *l,
                    pv_division *x, pv_division *y, pv_diags *diags)
{
    pv_vec size = plan->art.size;
    double *at[2] = {PV_NEW_ARRAY(older->columns + 1, double),
                     PV_NEW_ARRAY(older->rows + 1, double)};
    bool good = at[0] != NULL && at[1] != NULL;
    for (size_t c = 0; good && c < older->columns; c++)
        at[0][c + 1] = older->sheets[c].cell.hi.x;
    for (size_t r = 0; good && r < older->rows; r++)
        at[1][older->rows - r] = older->sheets[r * older->columns].cell.hi.y;
    good = good && keep_axis(at[0], older->columns, size.x, l->most[0], x) &&
           keep_axis(at[1], older->rows, size.y, l->most[1], y);
    free(at[0]);
    free(at[1]);
    if (!good)
        pv_fail_memory(diags);
    else if (x->n * y->n > PV_PLAN_SHEETS_MAX) {
        pv_fail(diags, PV_CAUSE_LIMIT, "with the older plan's seams the course needs %zu sheets",
                x->n * y->n);
        good = false;
    }
    return good && fits_paper(older, plan, l, roll, diags) && cells_fit(x, older, diags) &&
           cells_fit(y, older, diags);
}

/* ---- order ---- */

bool pv_keep_order(const pv_plan *older, pv_plan *plan, bool *done)
{
    *done =
        older->rows == plan->rows && older->columns == plan->columns && older->joint == plan->joint;
    if (!*done)
        return true;
    plan->taping = PV_NEW_ARRAY(plan->n_sheets, size_t);
    if (plan->taping == NULL)
        return false;
    memcpy(plan->taping, older->taping, plan->n_sheets * sizeof *plan->taping);
    /* Both have the seams that pv_plan_build_grid makes, in its order. */
    for (size_t i = 0; i < plan->n_seams; i++) {
        plan->seams[i].over = older->seams[i].over;
        plan->seams[i].under = older->seams[i].under;
    }
    pv_plan_set_sides(plan);
    return true;
}

/* ---- crosses ---- */

static bool is_same_seam(const pv_seam *a, const pv_seam *b)
{
    return a->vertical == b->vertical && fabs(a->at - b->at) <= SAME &&
           fabs(a->from - b->from) <= SAME && fabs(a->to - b->to) <= SAME;
}

/* With the same grid it has the same index. */
static const pv_seam *same_seam(const pv_plan *older, const pv_seam *seam, size_t index)
{
    if (index < older->n_seams && is_same_seam(&older->seams[index], seam))
        return &older->seams[index];
    for (size_t i = 0; i < older->n_seams; i++)
        if (is_same_seam(&older->seams[i], seam))
            return &older->seams[i];
    return NULL;
}

bool pv_keep_crosses(const pv_plan *older, const pv_plan *plan, size_t index, pv_look *look,
                     pv_cross_places *places)
{
    const pv_seam *seam = &plan->seams[index], *from = same_seam(older, seam, index);
    *places = (pv_cross_places){NULL, 0, 0};
    if (from == NULL)
        return true;
    pv_stretch stretch = {seam->vertical, seam->at, seam->from, seam->to};
    places->along = PV_NEW_ARRAY(from->n_crosses + 1, double);
    if (places->along == NULL)
        return false;
    for (size_t i = 0; i < from->n_crosses; i++) {
        pv_vec at = older->crosses[from->first_cross + i].at;
        double along = seam->vertical ? at.y : at.x;
        pv_box box = pv_cross_box(&stretch, along, PV_CROSS_ARM + PV_CROSS_CLEAR);
        size_t colour, before;
        bool clear = pv_scene_plain(plan->mat, box, &colour, look);
        bool was = pv_scene_plain(older->mat, box, &before, look);
        if (was && !clear) { /* it had plain ground, and has no more */
            places->n = places->unclear = 0;
            break;
        }
        places->unclear += !clear;
        places->along[places->n++] = along;
    }
    return !look->failed;
}

/* ---- identities ---- */

/* Whether inspection finds all at the same places of the page. */
static bool same_page(const pv_plan *p, const pv_sheet *a, const pv_plan *q, const pv_sheet *b)
{
    bool same = p->page[0] == q->page[0] && p->page[1] == q->page[1] &&
                pv_dist(a->origin, b->origin) <= SAME && a->n_bars == b->n_bars &&
                a->n_gauge == b->n_gauge && memcmp(a->side, b->side, sizeof a->side) == 0;
    for (int i = 0; same && i < PV_TAG_PLACES; i++)
        same = pv_dist(a->tag[i].centre, b->tag[i].centre) <= SAME &&
               fabs(a->tag[i].cell - b->tag[i].cell) <= SAME;
    for (size_t i = 0; same && i < a->n_bars; i++)
        same = pv_dist(a->bar[i].at, b->bar[i].at) <= SAME && a->bar[i].count == b->bar[i].count &&
               a->bar[i].vertical == b->bar[i].vertical && a->bar[i].inch == b->bar[i].inch;
    for (size_t i = 0; same && i < a->n_gauge; i++)
        same = pv_dist(a->gauge[i], b->gauge[i]) <= SAME;
    return same;
}

static bool has_identity(const pv_plan *plan, const unsigned ids[PV_TAG_PLACES], size_t n)
{
    for (size_t i = 0; i < n; i++) {
        bool same = true;
        for (int p = 0; p < PV_TAG_PLACES; p++)
            same = same && plan->sheets[i].tag[p].id == ids[p]; /* NOLINT: n > 0 */
        if (same)
            return true;
    }
    return false;
}

/* Makes new ones from the fingerprint, none of which the older plan has. */
static void renew(const pv_plan *older, pv_sheet *sheet, uint64_t *identity)
{
    unsigned ids[PV_TAG_PLACES];
    do {
        pv_tag_ids(*identity, ids);
        *identity = pv_tag_identity(*identity, true);
    } while (has_identity(older, ids, older->n_sheets));
    for (int p = 0; p < PV_TAG_PLACES; p++)
        sheet->tag[p].id = ids[p];
}

bool pv_keep_identities(const pv_plan *older, pv_plan *plan)
{
    pv_difference seen;
    bool good = pv_difference_open(&seen, older, plan) &&
                pv_plan_compute_fingerprint(plan, &plan->fingerprint);
    uint64_t identity = pv_tag_identity(plan->fingerprint, false);
    for (size_t i = 0; good && i < plan->n_sheets; i++) {
        pv_sheet *sheet = &plan->sheets[i];
        size_t was = pv_difference_sheet(older, sheet->cell);
        bool alike = false;
        const pv_sheet *before = was != SIZE_MAX ? &older->sheets[was] : NULL;
        if (before != NULL && same_page(older, before, plan, sheet))
            good = pv_difference_alike(&seen, before, sheet, &alike);
        if (alike)
            for (int p = 0; p < PV_TAG_PLACES; p++)
                sheet->tag[p].id = before->tag[p].id;
        else
            renew(older, sheet, &identity);
    }
    pv_difference_close(&seen);
    return good;
}
