/* Which bytes are measured already, or are being measured. Private to this room. */
#ifndef COLLECT_KNOWN_H
#define COLLECT_KNOWN_H

#include "base/sha256.h"

#include <stdbool.h>

typedef struct pv_known {
    char (*sums)[PV_SHA256_HEX]; /* in order */
    size_t n, capacity;
} pv_known;

/* True where it is new, and from now on it is known; false where it was known, or (`*failed`)
 * memory ran out. */
bool pv_known_add(pv_known *known, const char *sum, bool *failed);
void pv_known_clear(pv_known *known);

#endif
