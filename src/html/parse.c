#include "html/parse.h"

#include "base/memory.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

typedef struct reader {
    pv_markup *to;
    pv_diags *diags;
    size_t line;         /* the first bit of this line */
    bool tagged, filled; /* the line has a tag that writes nothing itself; has something else */
    size_t open[PV_HTML_DEPTH_MAX];
    size_t depth;
} reader;

void pv_template_fail(const pv_template *template, const char *at, pv_diags *diags, pv_cause cause,
                      const char *format, ...)
{
    pv_text why = PV_TEXT_INIT;
    va_list args;
    va_start(args, format);
    pv_text_addv(&why, format, args);
    va_end(args);
    pv_place place = {.file = template->name, .line = 1, .column = 1, .length = 1};
    for (const char *c = template->text; c < at; c++) {
        place.column = *c == '\n' ? 1 : place.column + (((unsigned char)*c & 0xC0) != 0x80);
        place.line += *c == '\n';
    }
    if (why.failed)
        pv_fail_memory(diags);
    else
        pv_diags_add(diags, PV_ERROR, cause, &place, NULL, "%s", why.chars);
    pv_text_drop(&why);
}

static bool blank(char c)
{
    return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

static pv_bit *add(reader *r, pv_bit_kind kind, const char *text, size_t length)
{
    pv_markup *to = r->to;
    if (!PV_GROW(to->items, to->n, to->cap)) {
        pv_fail_memory(r->diags);
        return NULL;
    }
    to->items[to->n] = (pv_bit){.kind = kind, .text = text, .length = length};
    return &to->items[to->n++];
}

/* A line of nothing but blanks and tags that write nothing themselves leaves no trace. */
static bool end_line(reader *r)
{
    bool alone = r->tagged && !r->filled;
    for (size_t i = r->line; alone && i < r->to->n; i++) {
        pv_bit *bit = &r->to->items[i];
        if (bit->kind == PV_BIT_PARTIAL && i > r->line) {
            pv_template_fail(r->to->of, bit->start, r->diags, PV_CAUSE_USAGE,
                             "a partial alone on its line must stand at its start");
            return false;
        }
        if (bit->kind == PV_BIT_TEXT)
            bit->length = 0;
    }
    r->line = r->to->n;
    r->tagged = r->filled = false;
    return true;
}

static bool read_text(reader *r, const char *from, const char *to)
{
    while (from < to) {
        const char *newline = memchr(from, '\n', (size_t)(to - from));
        const char *end = newline != NULL ? newline + 1 : to;
        for (const char *c = from; c < end; c++)
            r->filled = r->filled || !blank(*c);
        if (add(r, PV_BIT_TEXT, from, (size_t)(end - from)) == NULL ||
            (newline != NULL && !end_line(r)))
            return false;
        from = end;
    }
    return true;
}

static bool close_section(reader *r, const pv_bit *tag)
{
    const char *name = tag->text;
    size_t length = tag->length;
    pv_bit *opened = r->depth > 0 ? &r->to->items[r->open[--r->depth]] : NULL;
    if (opened == NULL || opened->length != length || memcmp(opened->text, name, length) != 0) {
        pv_template_fail(r->to->of, name, r->diags, PV_CAUSE_USAGE,
                         "\"%.*s\" is closed, but \"%.*s\" is open", (int)length, name,
                         opened != NULL ? (int)opened->length : 0,
                         opened != NULL ? opened->text : "");
        return false;
    }
    opened->close = r->to->n - 1;
    return true;
}

static bool name_is_fair(const char *name, size_t length, pv_bit_kind kind)
{
    for (size_t i = 0; i < length; i++)
        if (blank(name[i]) || strchr("{}#^/&=>!", name[i]) != NULL)
            return false;
    return length > 0 &&
           (kind != PV_BIT_SVG || (length >= 3 && memcmp(name + length - 3, "svg", 3) == 0));
}

/* The tag from `start` ("{{") to `after`; what is between its braces lies from `from` to `to`. */
static bool read_tag(reader *r, const char *start, const char *after, const char *from,
                     const char *to)
{
    pv_bit_kind kind = PV_BIT_VALUE;
    static const char marks[] = "{#^/>";
    static const pv_bit_kind kinds[] = {PV_BIT_SVG, PV_BIT_SECTION, PV_BIT_INVERTED, PV_BIT_CLOSE,
                                        PV_BIT_PARTIAL};
    const char *mark = from < to ? strchr(marks, *from) : NULL;
    if (from < to && *from == '!') {
        r->tagged = true;
        return true;
    }
    if (mark != NULL) {
        kind = kinds[mark - marks];
        from++;
    }
    while (from < to && blank(*from))
        from++;
    while (to > from && blank(to[-1]))
        to--;
    size_t length = (size_t)(to - from);
    if (!name_is_fair(from, length, kind)) {
        pv_template_fail(r->to->of, start, r->diags, PV_CAUSE_USAGE, "\"%.*s\" is no tag",
                         (int)(after - start), start);
        return false;
    }
    if (kind == PV_BIT_SECTION && length == 1 && *from == '_')
        kind = PV_BIT_WORDS;
    if (kind == PV_BIT_VALUE || kind == PV_BIT_SVG)
        r->filled = true;
    else
        r->tagged = true;
    pv_bit *bit = add(r, kind, from, length);
    if (bit == NULL)
        return false;
    bit->start = start;
    bit->after = after;
    if (kind == PV_BIT_CLOSE)
        return close_section(r, bit);
    if (kind != PV_BIT_SECTION && kind != PV_BIT_INVERTED && kind != PV_BIT_WORDS)
        return true;
    if (r->depth == PV_HTML_DEPTH_MAX) {
        pv_template_fail(r->to->of, start, r->diags, PV_CAUSE_LIMIT,
                         "sections are nested deeper than the limit of %d", PV_HTML_DEPTH_MAX);
        return false;
    }
    r->open[r->depth++] = r->to->n - 1;
    return true;
}

bool pv_markup_read(pv_markup *markup, const pv_template *template, pv_diags *diags)
{
    *markup = (pv_markup){.of = template};
    reader r = {.to = markup, .diags = diags};
    const char *at = template->text, *start;
    while ((start = strstr(at, "{{")) != NULL) {
        if (!read_text(&r, at, start))
            return false;
        bool raw = start[2] == '{';
        const char *to = strstr(start + 2, raw ? "}}}" : "}}");
        if (to == NULL) {
            pv_template_fail(template, start, diags, PV_CAUSE_USAGE, "the tag has no end");
            return false;
        }
        at = to + (raw ? 3 : 2);
        if (!read_tag(&r, start, at, start + 2, to))
            return false;
    }
    if (!read_text(&r, at, at + strlen(at)) || !end_line(&r))
        return false;
    if (r.depth == 0)
        return true;
    const pv_bit *open = &markup->items[r.open[r.depth - 1]];
    pv_template_fail(template, open->start, diags, PV_CAUSE_USAGE, "\"%.*s\" is not closed",
                     (int)open->length, open->text);
    return false;
}

void pv_markup_drop(pv_markup *markup)
{
    free(markup->items);
    *markup = (pv_markup){0};
}
