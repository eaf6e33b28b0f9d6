/* Whose sheets these are: a plan's fingerprint, and its sheets' tags. */
#include "plan/make.h"

#include "base/memory.h"

#include <stdlib.h>

/* FNV-1a, 64 bit (its published offset basis and prime). */
static uint64_t hash(const char *text)
{
    uint64_t h = UINT64_C(14695981039346656037);
    for (const unsigned char *s = (const unsigned char *)text; *s != '\0'; s++)
        h = (h ^ *s) * UINT64_C(1099511628211);
    return h;
}

bool pv_plan_compute_fingerprint(const pv_plan *plan, uint64_t *fingerprint)
{
    char *canonical = pv_plan_canonical(plan);
    if (canonical != NULL)
        *fingerprint = hash(canonical) % PV_TAG_IDENTITIES;
    free(canonical);
    return canonical != NULL;
}

static int by_ids(const void *a, const void *b)
{
    const pv_sheet *const *p = a, *const *q = b;
    for (int i = 0; i < PV_TAG_PLACES; i++)
        if ((*p)->tag[i].id != (*q)->tag[i].id)
            return (*p)->tag[i].id < (*q)->tag[i].id ? -1 : 1;
    return 0;
}

static bool ids_are_good(const pv_sheet *sheet)
{
    unsigned ids[PV_TAG_PLACES];
    for (int p = 0; p < PV_TAG_PLACES; p++) {
        ids[p] = sheet->tag[p].id;
        for (int k = 0; k < p; k++)
            if (ids[k] == ids[p])
                return false;
    }
    return pv_tag_ids_agree(ids);
}

/* Of a plan that has an older one's: each must be a sheet's, and no two alike. */
static bool kept_ids_differ(const pv_plan *plan, size_t *wrong)
{
    const pv_sheet **sorted = PV_NEW_ARRAY(plan->n_sheets, const pv_sheet *);
    if (sorted == NULL)
        return false;
    *wrong = SIZE_MAX;
    for (size_t i = 0; i < plan->n_sheets; i++) {
        sorted[i] = &plan->sheets[i];
        if (*wrong == SIZE_MAX && !ids_are_good(sorted[i]))
            *wrong = i;
    }
    qsort((void *)sorted, plan->n_sheets, sizeof(const pv_sheet *), by_ids);
    for (size_t i = 1; i < plan->n_sheets; i++)
        if (*wrong == SIZE_MAX && by_ids(&sorted[i - 1], &sorted[i]) == 0)
            *wrong = sorted[i]->number;
    free((void *)sorted);
    return true;
}

static size_t made_ids_differ(const pv_plan *plan)
{
    uint64_t identity = pv_tag_identity(plan->fingerprint, false);
    for (size_t i = 0; i < plan->n_sheets; i++) {
        unsigned ids[PV_TAG_PLACES];
        pv_tag_ids(identity, ids);
        for (int p = 0; p < PV_TAG_PLACES; p++)
            if (plan->sheets[i].tag[p].id != ids[p])
                return i;
        identity = pv_tag_identity(identity, true);
    }
    return SIZE_MAX;
}

bool pv_plan_ids_differ(const pv_plan *plan, size_t *wrong)
{
    if (plan->kept)
        return kept_ids_differ(plan, wrong);
    *wrong = made_ids_differ(plan);
    return true;
}

bool pv_plan_identify(pv_plan *plan)
{
    if (!pv_plan_compute_fingerprint(plan, &plan->fingerprint))
        return false;
    uint64_t identity = pv_tag_identity(plan->fingerprint, false);
    for (size_t i = 0; i < plan->n_sheets; i++) {
        unsigned ids[PV_TAG_PLACES];
        pv_tag_ids(identity, ids);
        for (int p = 0; p < PV_TAG_PLACES; p++)
            plan->sheets[i].tag[p].id = ids[p];
        identity = pv_tag_identity(identity, true);
    }
    return true;
}
