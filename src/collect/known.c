#include "collect/known.h"

#include "base/memory.h"

#include <stdlib.h>
#include <string.h>

bool pv_known_add(pv_known *known, const char *sum, bool *failed)
{
    size_t from = 0, to = known->n;
    while (from < to) {
        size_t middle = from + (to - from) / 2;
        int order = strcmp(known->sums[middle], sum);
        if (order == 0)
            return false;
        if (order < 0)
            from = middle + 1;
        else
            to = middle;
    }
    if (!PV_GROW(known->sums, known->n, known->capacity)) {
        *failed = true;
        return false;
    }
    memmove(&known->sums[from + 1], &known->sums[from], (known->n - from) * sizeof *known->sums);
    memcpy(known->sums[from], sum, PV_SHA256_HEX);
    known->n++;
    return true;
}

void pv_known_clear(pv_known *known)
{
    free(known->sums);
    *known = (pv_known){.sums = NULL};
}
