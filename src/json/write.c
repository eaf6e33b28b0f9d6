#include "json/json.h"

#include "base/words.h"

#include <float.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define INLINE_DEPTHS ((int)(sizeof(unsigned long) * 8))

static bool is_inline(const pv_json_writer *w)
{
    for (int d = 0; d <= w->depth && d < INLINE_DEPTHS; d++)
        if ((w->inline_mask >> d & 1) != 0)
            return true;
    return false;
}

static void add_chars(pv_json_writer *w, const char *chars)
{
    pv_text_bytes(&w->out, chars, strlen(chars));
}

static void add_line(pv_json_writer *w)
{
    add_chars(w, "\n");
    for (int i = 0; i < w->depth; i++)
        add_chars(w, "  ");
}

/* What stands before a value or a key: nothing after a key, else comma and white space. */
static void before(pv_json_writer *w)
{
    if (w->after_key || w->depth == 0) {
        w->after_key = false;
        return;
    }
    if (!w->first)
        add_chars(w, is_inline(w) ? ", " : ",");
    w->first = false;
    if (!is_inline(w))
        add_line(w);
}

static void open_bracket(pv_json_writer *w, char bracket, bool on_one_line)
{
    before(w);
    pv_text_bytes(&w->out, &bracket, 1);
    w->depth++;
    w->first = true;
    if (w->depth < INLINE_DEPTHS) {
        unsigned long bit = 1ul << w->depth;
        w->inline_mask = on_one_line ? w->inline_mask | bit : w->inline_mask & ~bit;
    }
}

void pv_json_open(pv_json_writer *w, char bracket)
{
    open_bracket(w, bracket, false);
}

void pv_json_open_inline(pv_json_writer *w, char bracket)
{
    open_bracket(w, bracket, true);
}

void pv_json_close(pv_json_writer *w, char bracket)
{
    bool on_one_line = is_inline(w), empty = w->first;
    if (w->depth < INLINE_DEPTHS)
        w->inline_mask &= ~(1ul << w->depth);
    w->depth--;
    if (!on_one_line && !empty)
        add_line(w);
    pv_text_bytes(&w->out, &bracket, 1);
    w->first = false;
}

/* File names are bytes, JSON is UTF-8: what isn't UTF-8 becomes U+FFFD. */
static void quoted(pv_json_writer *w, const char *utf8)
{
    add_chars(w, "\"");
    const unsigned char *s = (const unsigned char *)utf8;
    while (*s != '\0') {
        size_t n = pv_utf8_length((const char *)s, strnlen((const char *)s, 4));
        if (n == 0)
            add_chars(w, "\xEF\xBF\xBD");
        else if (*s == '"' || *s == '\\')
            pv_text_add(&w->out, "\\%c", *s);
        else if (*s == '\n')
            add_chars(w, "\\n");
        else if (*s == '\t')
            add_chars(w, "\\t");
        else if (*s < 0x20 || *s == 0x7F)
            pv_text_add(&w->out, "\\u%04x", (unsigned)*s);
        else
            pv_text_bytes(&w->out, s, n);
        s += n == 0 ? 1 : n;
    }
    add_chars(w, "\"");
}

char *pv_text_json(const char *text)
{
    pv_json_writer w = PV_JSON_WRITER_INIT;
    quoted(&w, text);
    return pv_text_take(&w.out);
}

void pv_json_key(pv_json_writer *w, const char *key)
{
    before(w);
    quoted(w, key);
    add_chars(w, ": ");
    w->after_key = true;
}

/* printf and strtod agree on the locale's decimal point, whatever its bytes; it is the only thing
 * in a number that isn't a digit, a sign or an e. */
static void point_to_c(char *text)
{
    char *from = text, *to = text;
    while (*from != '\0') {
        if (strchr("0123456789+-e", *from) != NULL) {
            *to++ = *from++;
            continue;
        }
        *to++ = '.';
        while (*from != '\0' && strchr("0123456789+-e", *from) == NULL)
            from++;
    }
    *to = '\0';
}

void pv_json_format(double value, char out[PV_JSON_NUMBER])
{
    if (value == 0) {
        memcpy(out, "0", 2);
        return;
    }
    /* Where 15 digits do, %g has already cut what is not needed; below DBL_MIN fewer may do. */
    for (int digits = fabs(value) < DBL_MIN ? 1 : DBL_DIG; digits <= DBL_DECIMAL_DIG; digits++) {
        snprintf(out, PV_JSON_NUMBER, "%.*g", digits, value);
        if (strtod(out, NULL) == value)
            break;
    }
    point_to_c(out);
}

static void add_exact(pv_json_writer *w, double value)
{
    char text[PV_JSON_NUMBER] = "null";
    if (isfinite(value))
        pv_json_format(value, text);
    add_chars(w, text);
}

static void add_rounded(pv_json_writer *w, double value, int decimals)
{
    char text[64];
    snprintf(text, sizeof text, "%.*f", decimals < 0 ? 0 : decimals > 17 ? 17 : decimals, value);
    point_to_c(text);
    bool minus_zero = text[0] == '-' && strspn(text, "-0.") == strlen(text);
    add_chars(w, minus_zero ? text + 1 : text);
}

void pv_json_number(pv_json_writer *w, double value)
{
    if (w->decimals > 0) {
        pv_json_rounded(w, value, w->decimals);
        return;
    }
    before(w);
    add_exact(w, value);
}

void pv_json_rounded(pv_json_writer *w, double value, int decimals)
{
    before(w);
    /* Past that, a double has no decimals to round. */
    if (isfinite(value) && fabs(value) < 1e15)
        add_rounded(w, value, decimals);
    else
        add_exact(w, value);
}

void pv_json_integer(pv_json_writer *w, long long value)
{
    before(w);
    pv_text_add(&w->out, "%lld", value);
}

void pv_json_string(pv_json_writer *w, const char *utf8)
{
    before(w);
    if (utf8 == NULL)
        add_chars(w, "null");
    else
        quoted(w, utf8);
}

void pv_json_bool(pv_json_writer *w, bool value)
{
    before(w);
    add_chars(w, value ? "true" : "false");
}

void pv_json_key_number(pv_json_writer *w, const char *key, double value)
{
    pv_json_key(w, key);
    pv_json_number(w, value);
}

void pv_json_key_rounded(pv_json_writer *w, const char *key, double value, int decimals)
{
    pv_json_key(w, key);
    pv_json_rounded(w, value, decimals);
}

void pv_json_key_count(pv_json_writer *w, const char *key, size_t n)
{
    pv_json_key(w, key);
    pv_json_integer(w, (long long)n);
}

void pv_json_key_string(pv_json_writer *w, const char *key, const char *utf8)
{
    pv_json_key(w, key);
    pv_json_string(w, utf8);
}

void pv_json_key_bool(pv_json_writer *w, const char *key, bool value)
{
    pv_json_key(w, key);
    pv_json_bool(w, value);
}

char *pv_json_take(pv_json_writer *w)
{
    add_chars(w, "\n");
    char *text = pv_text_take(&w->out);
    *w = (pv_json_writer)PV_JSON_WRITER_INIT;
    return text;
}
