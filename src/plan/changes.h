/* What two arts differ in, thing by thing, in words. */
#ifndef PLAN_CHANGES_H
#define PLAN_CHANGES_H

#include "plan/layout.h"

#include "po/po.h"

typedef enum pv_thing_kind {
    PV_THING_LINE,
    PV_THING_FILL,
    PV_THING_MARK,
    PV_THING_TEXT,
    PV_THING_KINDS
} pv_thing_kind;

/* A change; of a thing that has moved and is else the same, what and by how much. */
typedef struct pv_change_found {
    pv_change_info info; /* its words are owned */
    bool moved;
    pv_thing_kind kind;
    const char *name; /* the art's */
    pv_vec by;        /* mm */
} pv_change_found;

/* Appends all changes from one art to the other: lines, fills and marks are known by their ids,
 * texts by what they say. The caller frees each one's words. False where memory ran out. */
bool pv_changes_find(const pv_art *older, const pv_art *art, const pv_language *language,
                     pv_change_found **list, size_t *n);
/* The same in as few sentences as people need: things that moved alike are told together. Gives
 * an array of texts, which the caller frees; NULL where memory ran out. */
char **pv_changes_told(const pv_art *art, const pv_language *language, const pv_change_found *list,
                       size_t n, size_t *told);

#endif
