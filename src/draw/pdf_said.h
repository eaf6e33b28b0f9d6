/* Text in the codes of embedded faces, as an operator shows it. */
#ifndef DRAW_PDF_SAID_H
#define DRAW_PDF_SAID_H

#include "type/type.h"

#define PV_CODES_MAX     65535u
#define PV_CODES_BUCKETS 512

/* A glyph as it is used; its code is its index and 1. */
typedef struct pv_used {
    unsigned glyph;
    char *stands_for;
    size_t next; /* in its bucket */
} pv_used;

/* The codes of one face. */
typedef struct pv_codes {
    pv_used *list;
    size_t n, cap;
    size_t bucket[PV_CODES_BUCKETS];
} pv_codes;

void pv_codes_init(pv_codes *codes);
void pv_codes_free(pv_codes *codes);

/* Glyphs of one face at one height, as an operator shows them, and where they begin. */
typedef struct pv_said_run {
    unsigned face;
    pv_vec at; /* ems */
    char *codes;
} pv_said_run;

/* A text as it is written, whatever its size and place. */
typedef struct pv_said {
    char *text; /* NULL: none */
    bool bold, plain;
    pv_said_run *runs;
    size_t n_runs, cap_runs;
} pv_said;

/* `codes` has one for each face of the type. `together`: glyphs that follow each other in one face
 * at one height are shown at once. False where memory or codes ran out; drop it either way. */
bool pv_said_make(const pv_type *type, pv_codes *codes, const char *utf8, bool bold, bool together,
                  pv_said *out);
void pv_said_drop(pv_said *said);

#endif
