#include "course/lex_words.h"

#include "base/units.h"
#include "base/vec.h"
#include "base/words.h"

#include <string.h>

static const char *const texts[PV_WORD_COUNT] = {
    [PV_WORD_AHEAD] = "ahead",
    [PV_WORD_ANCHOR] = "anchor",
    [PV_WORD_ANGLE] = "angle",
    [PV_WORD_ARC] = "arc",
    [PV_WORD_AT] = "at",
    [PV_WORD_BOX] = "box",
    [PV_WORD_BY] = "by",
    [PV_WORD_CENTRE] = "centre",
    [PV_WORD_CIRCLE] = "circle",
    [PV_WORD_CLOSE] = "close",
    [PV_WORD_COLOUR] = "colour",
    [PV_WORD_COURSE] = "course",
    [PV_WORD_EDITION] = "edition",
    [PV_WORD_END] = "end",
    [PV_WORD_ENDS] = "ends",
    [PV_WORD_FILL] = "fill",
    [PV_WORD_FINISH] = "finish",
    [PV_WORD_FLAT] = "flat",
    [PV_WORD_FROM] = "from",
    [PV_WORD_GREY] = "grey",
    [PV_WORD_GROUND] = "ground",
    [PV_WORD_HEADING] = "heading",
    [PV_WORD_HEIGHT] = "height",
    [PV_WORD_HEX] = "hex",
    [PV_WORD_LEFT] = "left",
    [PV_WORD_LET] = "let",
    [PV_WORD_LINE] = "line",
    [PV_WORD_MAT] = "mat",
    [PV_WORD_PAINT] = "paint",
    [PV_WORD_PIVOT] = "pivot",
    [PV_WORD_RADIUS] = "radius",
    [PV_WORD_REPEAT] = "repeat",
    [PV_WORD_RGB] = "rgb",
    [PV_WORD_RIGHT] = "right",
    [PV_WORD_ROBOT] = "robot",
    [PV_WORD_ROUND] = "round",
    [PV_WORD_ROUTE] = "route",
    [PV_WORD_SCALE] = "scale",
    [PV_WORD_SIZE] = "size",
    [PV_WORD_SKEW] = "skew",
    [PV_WORD_SPACING] = "spacing",
    [PV_WORD_SQUARE] = "square",
    [PV_WORD_START] = "start",
    [PV_WORD_STEP] = "step",
    [PV_WORD_STRAIGHTNESS] = "straightness",
    [PV_WORD_SWEEP] = "sweep",
    [PV_WORD_TEXT] = "text",
    [PV_WORD_TO] = "to",
    [PV_WORD_TOLERANCE] = "tolerance",
    [PV_WORD_WIDTH] = "width",
};

static const struct {
    const char *text;
    pv_word word;
} also[] = {{"color", PV_WORD_COLOUR}, {"center", PV_WORD_CENTRE}, {"gray", PV_WORD_GREY}};

static const struct {
    const char *text;
    double radians;
} angles[] = {{"deg", PV_PI / 180}, {"rad", 1}, {"mrad", 0.001}};

#define COUNT(array) (sizeof(array) / sizeof *(array))

static bool same(const char *text, const char *chars, size_t length)
{
    return strlen(text) == length && memcmp(text, chars, length) == 0;
}

const char *pv_word_text(pv_word word)
{
    return texts[word];
}

bool pv_word_find(const char *chars, size_t length, pv_word *word)
{
    for (size_t i = 0; i < COUNT(texts); i++) {
        if (same(texts[i], chars, length)) {
            *word = (pv_word)i;
            return true;
        }
    }
    for (size_t i = 0; i < COUNT(also); i++) {
        if (same(also[i].text, chars, length)) {
            *word = also[i].word;
            return true;
        }
    }
    return false;
}

bool pv_unit_find(const char *chars, size_t length, bool *angle, double *factor)
{
    *factor = pv_unit_mm(chars, length);
    *angle = false;
    for (size_t i = 0; *factor == 0 && i < COUNT(angles); i++) {
        if (same(angles[i].text, chars, length)) {
            *angle = true;
            *factor = angles[i].radians;
        }
    }
    return *factor > 0;
}

void pv_nearest_offer(pv_nearest *nearest, const char *chars, size_t length)
{
    size_t n = nearest->length;
    /* One slip in a short word, two in a longer one: more, and the suggestion is a guess. */
    size_t most = n <= 2 ? 1 : n <= 4 ? 1 + (length > n) : n <= 7 ? 2 : 3;
    if (n > PV_NAME_MAX || length > PV_NAME_MAX || length > n + most || n > length + most)
        return;
    size_t d = pv_word_distance(nearest->word, n, chars, length);
    if (d > most || d >= n || (nearest->best[0] != '\0' && d >= nearest->distance))
        return;
    nearest->distance = d;
    memcpy(nearest->best, chars, length);
    nearest->best[length] = '\0';
}

void pv_nearest_offer_words(pv_nearest *nearest, pv_words words)
{
    for (int i = 0; i < PV_WORD_COUNT; i++)
        if ((words & PV_W(i)) != 0)
            pv_nearest_offer(nearest, texts[i], strlen(texts[i]));
}

void pv_nearest_offer_units(pv_nearest *nearest)
{
    static const char *const lengths[] = {"mm", "cm", "m", "in", "ft"};
    for (size_t i = 0; i < COUNT(lengths); i++)
        pv_nearest_offer(nearest, lengths[i], strlen(lengths[i]));
    for (size_t i = 0; i < COUNT(angles); i++)
        pv_nearest_offer(nearest, angles[i].text, strlen(angles[i].text));
}
