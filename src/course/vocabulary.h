/* The words of the course language, and the nearest of several words to one that is none. */
#ifndef COURSE_VOCABULARY_H
#define COURSE_VOCABULARY_H

#include "base/words.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* In the order in which messages list them. At most 64, so that a set of them is one integer. */
/* clang-format off */
#define PV_WORDS(X) \
    X(AHEAD, "ahead") X(ANCHOR, "anchor") X(ANGLE, "angle") \
    X(ARC, "arc") X(AT, "at") X(BOX, "box") \
    X(BY, "by") X(CENTRE, "centre") X(CIRCLE, "circle") \
    X(CLOSE, "close") X(COLOUR, "colour") X(CONTRAST, "contrast") X(COURSE, "course") \
    X(EDITION, "edition") X(END, "end") X(ENDS, "ends") \
    X(FILL, "fill") X(FINISH, "finish") X(FLAT, "flat") \
    X(FROM, "from") X(GREY, "grey") X(GROUND, "ground") \
    X(HEADING, "heading") X(HEIGHT, "height") X(HEX, "hex") \
    X(LEFT, "left") X(LET, "let") X(LINE, "line") \
    X(MAT, "mat") X(PAINT, "paint") X(PIVOT, "pivot") \
    X(RADIUS, "radius") X(REPEAT, "repeat") X(RGB, "rgb") \
    X(RIGHT, "right") X(ROBOT, "robot") X(ROUND, "round") \
    X(ROUTE, "route") X(SCALE, "scale") X(SIZE, "size") \
    X(SKEW, "skew") X(SPACING, "spacing") X(SPOT, "spot") X(SQUARE, "square") \
    X(START, "start") X(STEP, "step") X(STRAIGHTNESS, "straightness") \
    X(SWEEP, "sweep") X(TEXT, "text") X(TO, "to") \
    X(TOLERANCE, "tolerance") X(WIDTH, "width")
/* clang-format on */

#define PV_WORD_OF(name, text) PV_WORD_##name,
typedef enum pv_word { PV_WORDS(PV_WORD_OF) PV_WORD_COUNT } pv_word;
#undef PV_WORD_OF

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
    char hint[PV_NAME_MAX + 32];
} pv_nearest;

void pv_nearest_offer(pv_nearest *nearest, const char *chars, size_t length);
void pv_nearest_offer_words(pv_nearest *nearest, pv_words words);
void pv_nearest_offer_units(pv_nearest *nearest);
/* "did you mean ...?"; NULL where nothing was near enough. */
const char *pv_nearest_hint(pv_nearest *nearest);

#endif
