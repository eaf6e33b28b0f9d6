/* What two arts differ in, thing by thing, in words. */
#ifndef PLAN_CHANGES_H
#define PLAN_CHANGES_H

#include "plan/layout.h"

#include "po/po.h"

/* Appends all changes from one art to the other: lines, fills and marks are known by their ids,
 * texts by what they say. The caller frees each one's words. False where memory ran out. */
bool pv_changes_find(const pv_art *older, const pv_art *art, const pv_language *language,
                     pv_change_info **list, size_t *n);

#endif
