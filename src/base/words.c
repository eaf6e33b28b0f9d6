#include "base/words.h"

#include <string.h>

size_t pv_utf8_length(const char *s, size_t n)
{
    const unsigned char *u = (const unsigned char *)s;
    if (n == 0 || u[0] < 0x80)
        return n > 0;
    size_t need = u[0] >= 0xC2 && u[0] <= 0xDF   ? 2
                  : u[0] >= 0xE0 && u[0] <= 0xEF ? 3
                  : u[0] >= 0xF0 && u[0] <= 0xF4 ? 4
                                                 : 0;
    if (need == 0 || need > n)
        return 0;
    unsigned char low = u[0] == 0xE0 ? 0xA0 : u[0] == 0xF0 ? 0x90 : 0x80;
    unsigned char high = u[0] == 0xED ? 0x9F : u[0] == 0xF4 ? 0x8F : 0xBF;
    if (u[1] < low || u[1] > high)
        return 0;
    for (size_t i = 2; i < need; i++)
        if ((u[i] & 0xC0) != 0x80)
            return 0;
    return need;
}

size_t pv_utf8_decode(const char *s, size_t n, uint32_t *code)
{
    size_t length = pv_utf8_length(s, n);
    const unsigned char *u = (const unsigned char *)s;
    *code = 0xFFFD;
    if (length == 0)
        return 0;
    *code = length == 1 ? u[0] : u[0] & (0x7Fu >> length);
    for (size_t i = 1; i < length; i++)
        *code = *code << 6 | (u[i] & 0x3Fu);
    return length;
}

bool pv_joins(uint32_t code)
{
    return code == 0x200C || code == 0x200D || code == 0x034F || (code >= 0xFE00 && code <= 0xFE0F);
}

/* Ranges of the Unicode standard: controls (chapter 23.1), line and paragraph separators, marks,
 * embeddings and isolates of direction (23.2 and UAX 9), surrogates, private use (23.5),
 * noncharacters (23.7), tags, the byte order mark. */
bool pv_prints(uint32_t code)
{
    static const struct {
        uint32_t from, to;
    } barred[] = {
        {0x00, 0x1F},     {0x7F, 0x9F},     {0xAD, 0xAD},     {0x61C, 0x61C},   {0x180E, 0x180E},
        {0x200B, 0x200B}, {0x200E, 0x200F}, {0x2028, 0x202E}, {0x2060, 0x206F}, {0xD800, 0xF8FF},
        {0xFDD0, 0xFDEF}, {0xFEFF, 0xFEFF}, {0xFFF0, 0xFFFB}, {0xFFFE, 0xFFFF}, {0xE0000, 0x10FFFF},
    };
    for (size_t i = 0; i < sizeof barred / sizeof *barred; i++)
        if (code >= barred[i].from && code <= barred[i].to)
            return false;
    return (code & 0xFFFE) != 0xFFFE;
}

bool pv_text_prints(const char *utf8, size_t *bad)
{
    size_t length = strlen(utf8);
    for (size_t at = 0; at < length;) {
        uint32_t code = 0;
        size_t step = pv_utf8_decode(utf8 + at, length - at, &code);
        if (step == 0 || !pv_prints(code)) {
            if (bad != NULL)
                *bad = at;
            return false;
        }
        at += step;
    }
    return true;
}

size_t pv_harmless(const char *s, size_t n, const char *also, bool *shows)
{
    uint32_t code = 0;
    size_t step = pv_utf8_decode(s, n, &code);
    *shows = step > 0 && (pv_prints(code) || (step == 1 && *s != '\0' && strchr(also, *s) != NULL));
    return step > 0 ? step : 1;
}

char pv_capital(char c)
{
    return c >= 'a' && c <= 'z' ? (char)(c - 'a' + 'A') : c;
}

static size_t least(size_t a, size_t b)
{
    return a < b ? a : b;
}

/* Row by row. */
size_t pv_word_distance(const char *a, size_t na, const char *b, size_t nb)
{
    size_t before[PV_WORD_MAX + 1] = {0}, last[PV_WORD_MAX + 1], row[PV_WORD_MAX + 1];
    for (size_t j = 0; j <= nb; j++)
        last[j] = j;
    for (size_t i = 1; i <= na; i++) {
        row[0] = i;
        for (size_t j = 1; j <= nb; j++) {
            bool equal = pv_capital(a[i - 1]) == pv_capital(b[j - 1]);
            row[j] = least(last[j - 1] + !equal, least(last[j], row[j - 1]) + 1);
            if (i > 1 && j > 1 && pv_capital(a[i - 1]) == pv_capital(b[j - 2]) &&
                pv_capital(a[i - 2]) == pv_capital(b[j - 1]))
                row[j] = least(row[j], before[j - 2] + 1);
        }
        memcpy(before, last, sizeof before);
        memcpy(last, row, (nb + 1) * sizeof *row);
    }
    return last[nb];
}
