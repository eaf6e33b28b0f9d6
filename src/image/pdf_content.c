/* Reads a content stream: operands, then an operator. */
#include "image/pdf_content.h"

#include <math.h>
#include <string.h>

#define NESTED_MAX   64 /* q without Q; readers promise 28 (ISO 32000-1, annex C) */
#define OPERANDS_MAX 6

typedef struct state {
    pv_map map;
    pv_content_ink ink;
    bool unshown; /* letters leave no ink: modes 3 and 7 (9.3.6) */
} state;

typedef struct reader {
    const unsigned char *bytes;
    size_t size, at;
    double number[OPERANDS_MAX]; /* the last ones */
    size_t n;
    char name[PV_CONTENT_NAME_MAX];
    char word[4]; /* an operator has three letters at most */
    state now, kept[NESTED_MAX];
    size_t depth;
} reader;

pv_map pv_map_after(const pv_map *inner, const pv_map *outer)
{
    const double *i = inner->m, *o = outer->m;
    return (pv_map){{o[0] * i[0] + o[2] * i[1], o[1] * i[0] + o[3] * i[1],
                     o[0] * i[2] + o[2] * i[3], o[1] * i[2] + o[3] * i[3],
                     o[0] * i[4] + o[2] * i[5] + o[4], o[1] * i[4] + o[3] * i[5] + o[5]}};
}

/* ---- tokens (7.2) ---- */

static bool is_blank(int c)
{
    return c == 0 || c == '\t' || c == '\n' || c == '\f' || c == '\r' || c == ' ';
}

static bool is_mark(int c)
{
    return c != 0 && strchr("()<>[]{}/%", c) != NULL;
}

static int peek(const reader *r)
{
    return r->at < r->size ? r->bytes[r->at] : -1;
}

static void skip_string(reader *r)
{
    for (size_t open = 0; r->at < r->size; r->at++) {
        int c = peek(r);
        open += c == '(';
        r->at += c == '\\';
        if (c == ')' && --open == 0) {
            r->at++;
            return;
        }
    }
}

static int hex(int c)
{
    return c >= '0' && c <= '9'   ? c - '0'
           : c >= 'a' && c <= 'f' ? c - 'a' + 10
           : c >= 'A' && c <= 'F' ? c - 'A' + 10
                                  : -1;
}

/* "/Im#31" is /Im1. A name that is too long is none of ours: it becomes "/". */
static void read_name(reader *r)
{
    size_t n = 0;
    bool fits = true;
    r->name[n++] = '/';
    for (r->at++; r->at < r->size && !is_blank(peek(r)) && !is_mark(peek(r)); r->at++) {
        int c = peek(r);
        if (c == '#' && r->size - r->at > 2 && hex(r->bytes[r->at + 1]) >= 0 &&
            hex(r->bytes[r->at + 2]) >= 0) {
            c = 16 * hex(r->bytes[r->at + 1]) + hex(r->bytes[r->at + 2]);
            r->at += 2;
        }
        fits = fits && c != 0 && n + 1 < sizeof r->name;
        if (fits)
            r->name[n++] = (char)c;
    }
    r->name[fits ? n : 1] = '\0';
}

/* Numbers here have no exponent (7.3.3). False where it isn't one. */
static bool read_number(const unsigned char *text, size_t length, double *value)
{
    double whole = 0, scale = 0;
    size_t i = length > 0 && (text[0] == '-' || text[0] == '+') ? 1 : 0, digits = 0;
    for (; i < length; i++) {
        if (text[i] == '.' && scale == 0)
            scale = 1;
        else if (text[i] >= '0' && text[i] <= '9') {
            whole = 10 * whole + (text[i] - '0');
            scale *= 10;
            digits++;
        } else {
            return false;
        }
    }
    *value = (text[0] == '-' ? -whole : whole) / (scale > 0 ? scale : 1);
    return digits > 0 && isfinite(*value);
}

/* A number or an operator; true where it is an operator, which is in r->word. */
static bool read_word(reader *r)
{
    const unsigned char *text = r->bytes + r->at;
    size_t length = 0;
    while (r->at < r->size && !is_blank(peek(r)) && !is_mark(peek(r))) {
        r->at++;
        length++;
    }
    double value;
    if (read_number(text, length, &value)) {
        if (r->n == OPERANDS_MAX)
            memmove(r->number, r->number + 1, --r->n * sizeof *r->number);
        r->number[r->n++] = value;
        return false;
    }
    memset(r->word, 0, sizeof r->word);
    if (length < sizeof r->word)
        memcpy(r->word, text, length);
    return true;
}

/* The next operator; false at the end. */
static bool next_operator(reader *r)
{
    while (r->at < r->size) {
        int c = peek(r);
        if (c == '%') {
            while (r->at < r->size && peek(r) != '\n' && peek(r) != '\r')
                r->at++;
        } else if (c == '(') {
            skip_string(r);
        } else if (c == '/') {
            read_name(r);
        } else if (c == '<' && r->at + 1 < r->size && r->bytes[r->at + 1] != '<') {
            while (r->at < r->size && peek(r) != '>')
                r->at++;
        } else if (is_blank(c) || is_mark(c)) {
            r->at++;
        } else if (read_word(r)) {
            return true;
        }
    }
    return false;
}

/* A picture in the content: to behind its EI, which stands between blanks (8.9.7). */
static void skip_picture(reader *r)
{
    for (; r->at + 3 < r->size; r->at++)
        if (is_blank(r->bytes[r->at]) && r->bytes[r->at + 1] == 'E' && r->bytes[r->at + 2] == 'I' &&
            is_blank(r->bytes[r->at + 3])) {
            r->at += 3;
            return;
        }
    r->at = r->size;
}

/* ---- operators ---- */

static bool is(const reader *r, const char *word)
{
    return strcmp(r->word, word) == 0;
}

static bool is_one_of(const reader *r, const char *const *words, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (is(r, words[i]))
            return true;
    return false;
}

#define ONE_OF(r, list) is_one_of(r, list, sizeof(list) / sizeof *(list))

/* A colour of a device space; none of another space is known. */
static void set_ink(pv_content_ink *ink, size_t samples, const double *v, size_t n)
{
    size_t zeros = 0, ones = 0;
    for (size_t i = 0; i < n; i++) {
        zeros += v[i] == 0;
        ones += v[i] == 1;
    }
    bool cmyk = samples == 4, whole = samples > 0 && n == samples;
    ink->samples = samples;
    ink->black = whole && (cmyk ? v[3] == 1 : zeros == n);
    ink->white = whole && (cmyk ? zeros == n : ones == n);
}

/* Its first colour is black (8.6.3). */
static void set_space(pv_content_ink *ink, const char *name)
{
    static const double black[4] = {0, 0, 0, 1};
    size_t samples = strcmp(name, "/DeviceGray") == 0   ? 1
                     : strcmp(name, "/DeviceRGB") == 0  ? 3
                     : strcmp(name, "/DeviceCMYK") == 0 ? 4
                                                        : 0;
    set_ink(ink, samples, black, samples);
}

/* Colours and painting. */
static void note_ink(reader *r, pv_content *content)
{
    static const char *const paths[] = {"f", "F", "f*", "B", "B*", "b", "b*", "S", "s", "sh"};
    static const char *const letters[] = {"Tj", "TJ", "'", "\""};
    static const char *const fills[] = {"f", "F", "f*"};
    pv_content_ink *ink = &r->now.ink;
    if (is(r, "cs")) {
        set_space(ink, r->name);
    } else if (is(r, "g") || is(r, "rg") || is(r, "k")) {
        set_ink(ink, is(r, "g") ? 1 : is(r, "rg") ? 3 : 4, r->number, r->n);
    } else if (is(r, "sc") || is(r, "scn")) {
        set_ink(ink, ink->samples, r->number, r->n);
    } else if (ONE_OF(r, fills) && ink->white && !ink->altered && !content->begun) {
        return; /* a page's own white */
    }
    if (is(r, "Tr"))
        r->now.unshown = r->n == 1 && (r->number[0] == 3 || r->number[0] == 7);
    else if (ONE_OF(r, paths) || (ONE_OF(r, letters) && !r->now.unshown))
        content->painted++;
}

/* One operator; false ends the reading. */
static bool obey(reader *r, pv_content *content)
{
    if (is(r, "q")) {
        if (r->depth == NESTED_MAX)
            return false;
        r->kept[r->depth++] = r->now;
    } else if (is(r, "Q") && r->depth > 0) {
        r->now = r->kept[--r->depth];
    } else if (is(r, "cm")) {
        pv_map inner;
        content->damaged = r->n != 6;
        if (content->damaged)
            return false;
        memcpy(inner.m, r->number, sizeof inner.m);
        r->now.map = pv_map_after(&inner, &r->now.map);
    } else if (is(r, "Do")) {
        content->begun = true;
        return content->draw(content->context, r->name, &r->now.map, &r->now.ink);
    } else if (is(r, "gs")) {
        r->now.ink.altered = r->now.ink.altered || content->alters(content->context, r->name);
    } else if (is(r, "BI")) {
        content->begun = true;
        content->inlined++;
        skip_picture(r);
    } else {
        note_ink(r, content);
    }
    return true;
}

bool pv_content_read(pv_content *content, const unsigned char *bytes, size_t size,
                     const pv_map *map, const pv_content_ink *ink)
{
    reader r = {.bytes = bytes, .size = size, .name = "/", .now = {.map = *map, .ink = *ink}};
    while (next_operator(&r)) {
        if (++content->operators > PV_CONTENT_OPERATORS_MAX || !obey(&r, content))
            return false;
        r.n = 0;
        strcpy(r.name, "/");
    }
    return true;
}
