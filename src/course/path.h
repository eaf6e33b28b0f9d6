/* Paths: legs, straight or arcs, each beginning where the one before ended. */
#ifndef COURSE_PATH_H
#define COURSE_PATH_H

#include "course/reader.h"

typedef struct pv_path {
    pv_piece *pieces;
    size_t n, cap;
    bool begun, headed; /* it has a place; it has a heading */
    bool closed;
    uint32_t turn, turn_last; /* tokens of a turn on the spot that nothing has used yet, or 0 */
    pv_vec at;
    double heading;
} pv_path;

/* The words that begin a leg. */
#define PV_LEGS                                                                                    \
    (PV_W(PV_WORD_FROM) | PV_W(PV_WORD_TO) | PV_W(PV_WORD_BY) | PV_W(PV_WORD_AHEAD) |              \
     PV_W(PV_WORD_LEFT) | PV_W(PV_WORD_RIGHT) | PV_W(PV_WORD_ARC) | PV_W(PV_WORD_CLOSE))

/* One leg, its word being read already. */
bool pv_leg_read(pv_parser *p, pv_path *path, pv_word word);
/* At the end of the statement: is the path whole? */
bool pv_path_end(pv_parser *p, pv_path *path);

/* What `arc` and `circle` say of themselves. */
typedef struct pv_arc_words {
    pv_words seen;
    pv_vec centre;
    double radius, from, sweep;
} pv_arc_words;

bool pv_arc_word_read(pv_parser *p, pv_arc_words *arc, pv_word word);
/* The same as a piece: false where it has no length (said of the tokens since `first`). */
bool pv_arc_has_length(pv_parser *p, const pv_arc_words *arc, uint32_t first);
/* Adds a piece, within the limits. */
bool pv_path_add(pv_parser *p, pv_path *path, pv_piece piece);

#endif
