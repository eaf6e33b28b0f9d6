#include "base/typeface.h"

#include "base/words.h"

#include <stdint.h>
#include <string.h>

#define FIRST 0x20u

/* Advance widths in thousandths of an em by WinAnsi code, from FIRST on: the WX values of the
 * published font metrics files (AFM) for Helvetica and Helvetica-Bold. The five codes that
 * WinAnsiEncoding leaves open can't come out of pv_winansi; their values here are the space's. */
static const uint16_t widths[2][256 - FIRST] = {
    {278,  278, 355, 556, 556,  889, 667, 191, 333, 333, 389, 584,  278, 333,  278,  278,  556, 556,
     556,  556, 556, 556, 556,  556, 556, 556, 278, 278, 584, 584,  584, 556,  1015, 667,  667, 722,
     722,  667, 611, 778, 722,  278, 500, 667, 556, 833, 722, 778,  667, 778,  722,  667,  611, 722,
     667,  944, 667, 667, 611,  278, 278, 278, 469, 556, 333, 556,  556, 500,  556,  556,  278, 556,
     556,  222, 222, 500, 222,  833, 556, 556, 556, 556, 333, 500,  278, 556,  500,  722,  500, 500,
     500,  334, 260, 334, 584,  278, 556, 278, 222, 556, 333, 1000, 556, 556,  333,  1000, 667, 333,
     1000, 278, 611, 278, 278,  222, 222, 333, 333, 350, 556, 1000, 333, 1000, 500,  333,  944, 278,
     500,  667, 278, 333, 556,  556, 556, 556, 260, 556, 333, 737,  370, 556,  584,  278,  737, 333,
     400,  584, 333, 333, 333,  556, 537, 278, 333, 333, 365, 556,  834, 834,  834,  611,  667, 667,
     667,  667, 667, 667, 1000, 722, 667, 667, 667, 667, 278, 278,  278, 278,  722,  722,  778, 778,
     778,  778, 778, 584, 778,  722, 722, 722, 722, 667, 667, 611,  556, 556,  556,  556,  556, 556,
     889,  500, 556, 556, 556,  556, 278, 278, 278, 278, 556, 556,  556, 556,  556,  556,  556, 584,
     611,  556, 556, 556, 556,  500, 556, 500},
    {278,  333, 474, 556, 556,  889, 722, 238, 333, 333, 389, 584,  278, 333,  278, 278,  556, 556,
     556,  556, 556, 556, 556,  556, 556, 556, 333, 333, 584, 584,  584, 611,  975, 722,  722, 722,
     722,  667, 611, 778, 722,  278, 556, 722, 611, 833, 722, 778,  667, 778,  722, 667,  611, 722,
     667,  944, 667, 667, 611,  333, 278, 333, 584, 556, 333, 556,  611, 556,  611, 556,  333, 611,
     611,  278, 278, 556, 278,  889, 611, 611, 611, 611, 389, 556,  333, 611,  556, 778,  556, 556,
     500,  389, 280, 389, 584,  278, 556, 278, 278, 556, 500, 1000, 556, 556,  333, 1000, 667, 333,
     1000, 278, 611, 278, 278,  278, 278, 500, 500, 350, 556, 1000, 333, 1000, 556, 333,  944, 278,
     500,  667, 278, 333, 556,  556, 556, 556, 280, 556, 333, 737,  370, 556,  584, 278,  737, 333,
     400,  584, 333, 333, 333,  611, 556, 278, 333, 333, 365, 556,  834, 834,  834, 611,  722, 722,
     722,  722, 722, 722, 1000, 722, 667, 667, 667, 667, 278, 278,  278, 278,  722, 722,  778, 778,
     778,  778, 778, 584, 778,  722, 722, 722, 722, 667, 667, 611,  556, 556,  556, 556,  556, 556,
     889,  556, 556, 556, 556,  556, 278, 278, 278, 278, 611, 611,  611, 611,  611, 611,  611, 584,
     611,  611, 611, 611, 611,  556, 611, 556},
};

/* Unicode of the codes 0x80 to 0x9F, where WinAnsiEncoding leaves Latin 1 (ISO 32000-1, annex
 * D.2); 0 where it has no character. */
static const uint16_t upper[32] = {
    0x20AC, 0,      0x201A, 0x0192, 0x201E, 0x2026, 0x2020, 0x2021, 0x02C6, 0x2030, 0x0160,
    0x2039, 0x0152, 0,      0x017D, 0,      0,      0x2018, 0x2019, 0x201C, 0x201D, 0x2022,
    0x2013, 0x2014, 0x02DC, 0x2122, 0x0161, 0x203A, 0x0153, 0,      0x017E, 0x0178,
};

/* One character of UTF-8; gives its length, or 0 where it is malformed. */
static size_t decode(const unsigned char *s, uint32_t *code)
{
    size_t n = pv_utf8_length((const char *)s, strnlen((const char *)s, 4));
    uint32_t c = n <= 1 ? s[0] : s[0] & (0x7Fu >> n);
    for (size_t i = 1; i < n; i++)
        c = c << 6 | (s[i] & 0x3Fu);
    *code = c;
    return n;
}

/* 0 where WinAnsiEncoding lacks the character. */
static unsigned char encode(uint32_t code)
{
    if ((code >= 0x20 && code < 0x7F) || (code >= 0xA0 && code <= 0xFF))
        return (unsigned char)code;
    for (unsigned i = 0; i < 32; i++)
        if (code != 0 && upper[i] == code)
            return (unsigned char)(0x80 + i);
    return 0;
}

bool pv_winansi(const char *text, unsigned char *out, size_t *bad)
{
    const unsigned char *s = (const unsigned char *)text;
    while (*s != '\0') {
        uint32_t code = 0;
        size_t n = decode(s, &code);
        *out = n > 0 ? encode(code) : 0;
        if (*out == '\0') {
            if (bad != NULL)
                *bad = (size_t)(s - (const unsigned char *)text);
            return false;
        }
        s += n;
        out++;
    }
    *out = '\0';
    return true;
}

double pv_text_ems(const char *text, bool bold)
{
    const unsigned char *s = (const unsigned char *)text;
    double sum = 0;
    while (*s != '\0') {
        uint32_t code = 0;
        size_t n = decode(s, &code);
        unsigned char byte = n > 0 ? encode(code) : 0;
        sum += byte != 0 ? widths[bold][byte - FIRST] : 556;
        s += n > 0 ? n : 1;
    }
    return sum / 1000;
}
