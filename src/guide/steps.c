/* From a plan to the steps of its taping. */
#include "guide/steps.h"

#include "base/memory.h"

#include <stdlib.h>
#include <string.h>

bool pv_guide_wanted(const pv_plan *plan)
{
    return !plan->proof && plan->n_sheets > 1 && plan->n_sheets <= PV_GUIDE_MOST;
}

/* Appends the crossings of a seam to the guide's; `first` is where they begin. */
static bool find_crossings(pv_guide *guide, const pv_seam *seam, size_t *first, size_t *n)
{
    pv_crossings found, *all = &guide->crossings;
    bool good =
        pv_seam_crossings(guide->plan, seam, &found) &&
        pv_reserve((void **)&all->list, &all->capacity, all->n + found.n, sizeof *all->list);
    *first = all->n;
    *n = good ? found.n : 0;
    for (size_t i = 0; i < *n; i++)
        all->list[all->n++] = found.list[i];
    free(found.list);
    return good;
}

/* Where the list of crossings begins for a side is kept as a number until all are found, since the
 * list moves. */
static bool fill_side(pv_guide *guide, const pv_guide_step *step, pv_side s, pv_guide_side *side,
                      size_t *first)
{
    const pv_plan *plan = guide->plan;
    const pv_sheet *sheet = &plan->sheets[step->sheet];
    *side = (pv_guide_side){.cut = sheet->side[s] != PV_UNDER, .neighbour = SIZE_MAX};
    if (sheet->seam[s] == SIZE_MAX)
        return true;
    const pv_seam *seam = &plan->seams[sheet->seam[s]];
    side->neighbour = seam->over == step->sheet ? seam->under : seam->over;
    side->joins = guide->turn[side->neighbour] < guide->turn[step->sheet];
    side->crosses = plan->crosses + seam->first_cross;
    side->n_crosses = seam->n_crosses;
    if (!side->joins)
        return true;
    side->on_top = plan->joint == PV_JOINT_LAP;
    return find_crossings(guide, seam, first, &side->n_crossings) &&
           (!side->on_top || pv_seam_steps(plan, seam, &side->down, &side->up));
}

static bool fill(pv_guide *guide, size_t (*first)[4])
{
    const pv_plan *plan = guide->plan;
    for (size_t i = 0; i < guide->n; i++)
        guide->turn[plan->taping[i]] = i;
    for (size_t i = 0; i < guide->n; i++) {
        pv_guide_step *step = &guide->steps[i];
        step->number = i + 1;
        step->sheet = plan->taping[i];
        for (pv_side s = PV_LEFT; s <= PV_TOP; s++)
            if (!fill_side(guide, step, s, &step->side[s], &first[i][s]))
                return false;
    }
    for (size_t i = 0; i < guide->n; i++)
        for (int s = 0; s < 4; s++)
            if (guide->steps[i].side[s].n_crossings > 0)
                guide->steps[i].side[s].crossings = guide->crossings.list + first[i][s];
    return true;
}

pv_guide *pv_guide_make(const pv_plan *plan, pv_diags *diags)
{
    pv_guide *guide = PV_NEW(pv_guide);
    size_t(*first)[4] = pv_new_array(plan->n_sheets, sizeof *first);
    bool good = guide != NULL && first != NULL;
    if (good) {
        guide->plan = plan;
        guide->n = plan->n_sheets;
        guide->steps = PV_NEW_ARRAY(guide->n, pv_guide_step);
        guide->turn = PV_NEW_ARRAY(guide->n, size_t);
        good = guide->steps != NULL && guide->turn != NULL && fill(guide, first);
    }
    free(first);
    if (good)
        return guide;
    pv_fail_memory(diags);
    pv_guide_free(guide);
    return NULL;
}

void pv_guide_free(pv_guide *guide)
{
    if (guide == NULL)
        return;
    free(guide->steps);
    free(guide->turn);
    free(guide->crossings.list);
    free(guide);
}

/* ---- steps that are told together ---- */

static bool alike(const pv_guide_step *a, const pv_guide_step *b)
{
    for (int s = 0; s < 4; s++) {
        const pv_guide_side *p = &a->side[s], *q = &b->side[s];
        if (p->cut != q->cut || p->joins != q->joins ||
            (p->neighbour == SIZE_MAX) != (q->neighbour == SIZE_MAX) || p->n_crossings > 0 ||
            q->n_crossings > 0)
            return false;
    }
    return true;
}

size_t pv_guide_group(const pv_guide *guide, size_t index)
{
    size_t last = index;
    if (guide->n <= PV_GUIDE_EACH)
        return last;
    while (last + 1 < guide->n && alike(&guide->steps[index], &guide->steps[last + 1]))
        last++;
    return last;
}

size_t pv_guide_groups(const pv_guide *guide)
{
    size_t n = 0;
    for (size_t i = 0; i < guide->n; i = pv_guide_group(guide, i) + 1)
        n++;
    return n;
}
