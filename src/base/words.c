#include "base/words.h"

#include <stdbool.h>
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

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
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
            bool equal = lower(a[i - 1]) == lower(b[j - 1]);
            row[j] = least(last[j - 1] + !equal, least(last[j], row[j - 1]) + 1);
            if (i > 1 && j > 1 && lower(a[i - 1]) == lower(b[j - 2]) &&
                lower(a[i - 2]) == lower(b[j - 1]))
                row[j] = least(row[j], before[j - 2] + 1);
        }
        memcpy(before, last, sizeof before);
        memcpy(last, row, (nb + 1) * sizeof *row);
    }
    return last[nb];
}
