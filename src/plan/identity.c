/* Whose sheets these are: a plan's fingerprint, and its sheets' tags. */
#include "plan/make.h"

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

size_t pv_plan_ids_differ(const pv_plan *plan)
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
