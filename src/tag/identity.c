#include "tag/tag.h"

_Static_assert(PV_TAG_BASE <= PV_TAG_IDS, "every word has a pattern");
_Static_assert(PV_TAG_IDENTITIES ==
                   (uint64_t)PV_TAG_BASE * (uint64_t)PV_TAG_BASE * (uint64_t)PV_TAG_BASE,
               "three words make an identity");

/* By how much a sheet's identity is above the one before it: 1, 2 and 4 in its digits, so that
 * neighbours share no tag, and two ids that are alike are no longer in the next. */
#define STEP (1 + PV_TAG_BASE * (2 + UINT64_C(4) * PV_TAG_BASE))

void pv_tag_ids(uint64_t identity, unsigned ids[PV_TAG_PLACES])
{
    unsigned sum = 0;
    for (unsigned place = 0; place < PV_TAG_PLACES - 1; place++) {
        ids[place] = (unsigned)(identity % PV_TAG_BASE);
        identity /= PV_TAG_BASE;
        sum += (place + 1) * ids[place];
    }
    ids[PV_TAG_PLACES - 1] = sum % PV_TAG_BASE;
}

bool pv_tag_ids_agree(const unsigned ids[PV_TAG_PLACES])
{
    uint64_t identity = 0;
    for (int place = PV_TAG_PLACES - 2; place >= 0; place--) {
        if (ids[place] >= PV_TAG_BASE)
            return false;
        identity = identity * PV_TAG_BASE + ids[place];
    }
    unsigned made[PV_TAG_PLACES];
    pv_tag_ids(identity, made);
    return made[PV_TAG_PLACES - 1] == ids[PV_TAG_PLACES - 1];
}

static bool all_differ(uint64_t identity)
{
    unsigned ids[PV_TAG_PLACES];
    pv_tag_ids(identity, ids);
    for (int a = 0; a < PV_TAG_PLACES; a++)
        for (int b = 0; b < a; b++)
            if (ids[a] == ids[b])
                return false;
    return true;
}

uint64_t pv_tag_identity(uint64_t from, bool next)
{
    uint64_t identity = (from + (next ? STEP : 0)) % PV_TAG_IDENTITIES;
    while (!all_differ(identity))
        identity = (identity + STEP) % PV_TAG_IDENTITIES;
    return identity;
}
