/* One face, and the type's insides. Private to this room. */
#ifndef TYPE_FACE_H
#define TYPE_FACE_H

#include "type/type.h"

#include <hb.h>

typedef struct pv_face {
    hb_font_t *font; /* scaled so that a unit is the face's own */
    double em;       /* units */
    char *name;      /* PostScript name */
} pv_face;

/* A family has a regular face and a bold one, which may be the same. */
typedef struct pv_family {
    char *name;
    unsigned face[2]; /* regular, bold */
} pv_family;

/* Limits on what is remembered, ours. */
#define PV_MEMOS     512
#define PV_MEMO_TEXT 48

/* A width that was asked for before: labels are tried in many places. */
typedef struct pv_memo {
    char text[PV_MEMO_TEXT];
    bool bold, known;
    double ems;
} pv_memo;

struct pv_type {
    pv_face face[2 * PV_TYPE_FAMILIES_MAX];
    unsigned n_faces;
    pv_family family[PV_TYPE_FAMILIES_MAX];
    unsigned n_families;
    double cap;
    struct pv_finder *finder;
    pv_memo memo[PV_MEMOS];
};

typedef enum pv_face_state {
    PV_FACE_GOOD,
    PV_FACE_UNREADABLE,
    PV_FACE_NOT_TRUETYPE,
    PV_FACE_FORBIDDEN, /* its maker doesn't let it be embedded */
    PV_FACE_NO_MEMORY
} pv_face_state;

/* Opens a face from a file; `index` counts within a collection. */
pv_face_state pv_face_open(pv_face *face, const char *file, unsigned index);
void pv_face_close(pv_face *face);
bool pv_face_has(const pv_face *face, uint32_t code);

/* What was found. */
typedef struct pv_face_found {
    char *file, *family;
    unsigned index;
    bool no_memory; /* nothing was found, because memory ran out */
} pv_face_found;
void pv_face_found_drop(pv_face_found *found);

/* ---- find.c, or carried.c ---- */
/* What a face's file holds; NULL where it can't be read. */
hb_blob_t *pv_face_file(const char *file);
typedef struct pv_finder pv_finder;
/* NULL where memory ran out, or fontconfig has no configuration. */
pv_finder *pv_finder_new(bool *no_memory);
void pv_finder_free(pv_finder *finder);
/* The best installed TrueType face: of a family (NULL: sans serif) if `strictly`, else the nearest;
 * with a character, if it isn't 0. `skip` passes over so many. False where there is none. */
typedef struct pv_face_wish {
    const char *family;
    bool strictly, bold;
    uint32_t code;
    unsigned skip;
} pv_face_wish;
bool pv_finder_find(pv_finder *finder, const pv_face_wish *wish, pv_face_found *found);

#endif
