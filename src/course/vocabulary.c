#include "course/vocabulary.h"

#include "base/units.h"
#include "base/vec.h"
#include "base/words.h"

#include <stdio.h>
#include <string.h>

#define TEXT_OF(name, text) text,
static const char *const texts[PV_WORD_COUNT] = {PV_WORDS(TEXT_OF)};

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

const char *pv_nearest_hint(pv_nearest *nearest)
{
    snprintf(nearest->hint, sizeof nearest->hint, "did you mean \"%s\"?", nearest->best);
    return nearest->best[0] != '\0' ? nearest->hint : NULL;
}
