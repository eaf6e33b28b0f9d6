/* What to know and to have before the first step, in words: for a page and for a screen. */
#ifndef GUIDE_NOTES_H
#define GUIDE_NOTES_H

#include "plan/layout.h"

typedef enum pv_guide_note_kind {
    PV_NOTE_HEAD,    /* of the items that follow */
    PV_NOTE_CAUTION, /* the same; they say what may hurt somebody */
    PV_NOTE_ITEM
} pv_guide_note_kind;

typedef struct pv_guide_note {
    pv_guide_note_kind kind;
    char *text;
} pv_guide_note;

typedef struct pv_guide_notes {
    pv_guide_note *list;
    size_t n, cap;
    bool failed;
} pv_guide_notes;

/* False where memory ran out; drop them either way. */
bool pv_guide_notes_make(const pv_plan *plan, pv_guide_notes *out);
void pv_guide_notes_drop(pv_guide_notes *old);

#endif
