/* The words of the course language, and the nearest of several words to one that is none. */
#ifndef COURSE_LEX_WORDS_H
#define COURSE_LEX_WORDS_H

#include "base/words.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* At most 64, so that a set of them is one integer. */
typedef enum pv_word {
    PV_WORD_AHEAD,
    PV_WORD_ANCHOR,
    PV_WORD_ANGLE,
    PV_WORD_ARC,
    PV_WORD_AT,
    PV_WORD_BOX,
    PV_WORD_BY,
    PV_WORD_CENTRE,
    PV_WORD_CIRCLE,
    PV_WORD_CLOSE,
    PV_WORD_COLOUR,
    PV_WORD_COURSE,
    PV_WORD_EDITION,
    PV_WORD_END,
    PV_WORD_ENDS,
    PV_WORD_FILL,
    PV_WORD_FINISH,
    PV_WORD_FLAT,
    PV_WORD_FROM,
    PV_WORD_GREY,
    PV_WORD_GROUND,
    PV_WORD_HEADING,
    PV_WORD_HEIGHT,
    PV_WORD_HEX,
    PV_WORD_LEFT,
    PV_WORD_LET,
    PV_WORD_LINE,
    PV_WORD_MAT,
    PV_WORD_PAINT,
    PV_WORD_PIVOT,
    PV_WORD_RADIUS,
    PV_WORD_REPEAT,
    PV_WORD_RGB,
    PV_WORD_RIGHT,
    PV_WORD_ROBOT,
    PV_WORD_ROUND,
    PV_WORD_ROUTE,
    PV_WORD_SCALE,
    PV_WORD_SIZE,
    PV_WORD_SKEW,
    PV_WORD_SPACING,
    PV_WORD_SQUARE,
    PV_WORD_START,
    PV_WORD_STEP,
    PV_WORD_STRAIGHTNESS,
    PV_WORD_SWEEP,
    PV_WORD_TEXT,
    PV_WORD_TO,
    PV_WORD_TOLERANCE,
    PV_WORD_WIDTH,
    PV_WORD_COUNT
} pv_word;

typedef uint64_t pv_words;
#define PV_W(word) ((pv_words)1 << (word))

/* Words that begin a statement. */
#define PV_STATEMENTS                                                                              \
    (PV_W(PV_WORD_COURSE) | PV_W(PV_WORD_MAT) | PV_W(PV_WORD_COLOUR) | PV_W(PV_WORD_TOLERANCE) |   \
     PV_W(PV_WORD_PAINT) | PV_W(PV_WORD_LINE) | PV_W(PV_WORD_ARC) | PV_W(PV_WORD_CIRCLE) |         \
     PV_W(PV_WORD_BOX) | PV_W(PV_WORD_FILL) | PV_W(PV_WORD_TEXT) | PV_W(PV_WORD_START) |           \
     PV_W(PV_WORD_FINISH) | PV_W(PV_WORD_ROBOT) | PV_W(PV_WORD_ROUTE) | PV_W(PV_WORD_LET) |        \
     PV_W(PV_WORD_REPEAT) | PV_W(PV_WORD_END))

/* The spelling; American spellings (color, center, gray) are read as well. */
const char *pv_word_text(pv_word word);
bool pv_word_find(const char *chars, size_t length, pv_word *word);

bool pv_unit_find(const char *chars, size_t length, bool *angle, double *factor);

/* Looks for the nearest of several words: begin with a zeroed struct and the word that was written,
 * offer the candidates, read `best` (empty where none is near enough to be worth suggesting).
 * Distance is the number of characters to insert, delete, replace or swap with their neighbour;
 * capitals count as small letters. */
#define PV_NAME_MAX PV_WORD_MAX
typedef struct pv_nearest {
    const char *word;
    size_t length;
    char best[PV_NAME_MAX + 1];
    size_t distance;
} pv_nearest;

void pv_nearest_offer(pv_nearest *nearest, const char *chars, size_t length);
void pv_nearest_offer_words(pv_nearest *nearest, pv_words words);
void pv_nearest_offer_units(pv_nearest *nearest);

#endif
