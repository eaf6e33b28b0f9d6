/* What of a course a draughtsman dimensions, each feature once.
 *
 * Positions are the places, along x and along y from the mat's lower left corner, of centre lines
 * that run straight up or along, and of the points that a line's shape hangs on where those do not
 * give it: the centre of an arc (but not across the straight line that it continues), free ends,
 * and corners of what slants. Notes say once what many share: widths of lines, radii, diameters;
 * and what the start and the finish are. */
#ifndef DRAFTING_FEATURES_H
#define DRAFTING_FEATURES_H

#include "course/model.h"

/* Positions nearer than this are one: what a dimension's two decimals tell apart. */
#define PV_SAME 0.01 /* mm */

typedef struct pv_position {
    double at;     /* mm along the axis */
    double lo, hi; /* mm along the other one: from the first to the last thing at this position */
} pv_position;

typedef enum pv_note_kind {
    PV_NOTE_WIDTH,    /* of lines */
    PV_NOTE_RADIUS,   /* of arcs */
    PV_NOTE_DIAMETER, /* of whole circles */
    PV_NOTE_ANGLE,    /* of straight pieces that slant, to the lower edge, in degrees */
    PV_NOTE_START,
    PV_NOTE_FINISH
} pv_note_kind;

/* Where a leader may point: a place in the mat's frame, and for an arc the way outwards. */
typedef struct pv_note_target {
    pv_vec at, out; /* out: unit, or 0 0 */
} pv_note_target;

#define PV_TARGETS_MAX 24

typedef struct pv_note_item {
    pv_note_kind kind;
    double value;   /* mm or degrees */
    size_t count;   /* how many share it */
    size_t colour;  /* of lines: the first one's */
    bool colours;   /* not all have that one */
    double longest; /* of what slants, mm */
    pv_note_target targets[PV_TARGETS_MAX];
    size_t n_targets;
} pv_note_item;

typedef struct pv_features {
    pv_position *positions[2]; /* along x and y, in order */
    size_t n[2], cap[2];
    pv_note_item *notes;
    size_t n_notes, cap_notes;
    size_t more; /* kinds of note past PV_NOTES_MAX, that are left out */
} pv_features;

#define PV_NOTES_MAX 60u

/* False where memory ran out; drop it either way. */
bool pv_features_find(const pv_course *course, pv_features *out);
void pv_features_drop(pv_features *features);

/* The widths of a course's lines, the first ones in its own order, each once; gives how many, and
 * whether there are more. */
#define PV_WIDTHS_SHOWN 12u
size_t pv_line_widths(const pv_course *course, double widths[PV_WIDTHS_SHOWN], bool *more);

#endif
