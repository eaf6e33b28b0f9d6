#include "draw/pdf_said.h"

#include "base/memory.h"
#include "base/text.h"

#include <stdlib.h>
#include <string.h>

#define NONE  SIZE_MAX
#define NUDGE 5e-5 /* ems: smaller differences from where a glyph would stand are let be */

void pv_codes_init(pv_codes *codes)
{
    *codes = (pv_codes){0};
    for (size_t b = 0; b < PV_CODES_BUCKETS; b++)
        codes->bucket[b] = NONE;
}

void pv_codes_free(pv_codes *codes)
{
    for (size_t k = 0; k < codes->n; k++)
        free(codes->list[k].stands_for);
    free(codes->list);
    *codes = (pv_codes){0};
}

/* 0 where memory ran out or codes did. */
static unsigned code_of(pv_codes *c, const pv_glyph *glyph, const char *utf8)
{
    size_t length = glyph->to - glyph->from, *bucket = &c->bucket[glyph->id % PV_CODES_BUCKETS];
    for (size_t i = *bucket; i != NONE; i = c->list[i].next)
        if (c->list[i].glyph == glyph->id && strlen(c->list[i].stands_for) == length &&
            memcmp(c->list[i].stands_for, utf8 + glyph->from, length) == 0)
            return (unsigned)i + 1;
    if (c->n == PV_CODES_MAX || !pv_reserve((void **)&c->list, &c->cap, c->n + 1, sizeof *c->list))
        return 0;
    char *copy = pv_copy_chars(utf8 + glyph->from, length);
    if (copy == NULL)
        return 0;
    c->list[c->n] = (pv_used){glyph->id, copy, *bucket};
    *bucket = c->n++;
    return (unsigned)*bucket + 1;
}

/* A code in four hexadecimal digits. */
static void add_code(pv_text *out, unsigned code)
{
    static const char digits[] = "0123456789ABCDEF";
    const char four[4] = {digits[code >> 12 & 15], digits[code >> 8 & 15], digits[code >> 4 & 15],
                          digits[code & 15]};
    pv_text_bytes(out, four, sizeof four);
}

/* The glyphs from `first` to before `end`, as an operator's array. NULL where memory or codes ran
 * out. */
static char *codes_of(const pv_type *type, pv_codes *codes, const char *utf8, const pv_glyph *g,
                      size_t first, size_t end)
{
    pv_text out = PV_TEXT_INIT;
    pv_text_add(&out, "[<");
    double pen = g[first].at.x;
    for (size_t i = first; i < end; i++) {
        unsigned code = code_of(&codes[g[i].face], &g[i], utf8);
        if (code == 0)
            out.failed = true;
        if (fabs(pen - g[i].at.x) > NUDGE) {
            pv_text_add(&out, "> %s <", pv_fixed(1000 * (pen - g[i].at.x), 3).chars);
            pen = g[i].at.x;
        }
        add_code(&out, code);
        pen += pv_type_advance(type, g[i].face, g[i].id);
    }
    pv_text_add(&out, ">] TJ\012");
    return pv_text_take(&out);
}

bool pv_said_make(const pv_type *type, pv_codes *codes, const char *utf8, bool bold, bool together,
                  pv_said *out)
{
    pv_setting setting;
    *out = (pv_said){.text = pv_copy_text(utf8), .bold = bold};
    bool good = pv_type_set(type, utf8, bold, &setting) && out->text != NULL;
    out->plain = setting.plain;
    const pv_glyph *g = setting.glyphs;
    for (size_t i = 0, end; good && i < setting.n; i = end) {
        for (end = i + 1;
             together && end < setting.n && g[end].face == g[i].face && g[end].at.y == g[i].at.y;)
            end++;
        good = PV_GROW(out->runs, out->n_runs, out->cap_runs);
        if (!good)
            break;
        pv_said_run *run = &out->runs[out->n_runs++];
        *run = (pv_said_run){g[i].face, g[i].at, codes_of(type, codes, utf8, g, i, end)};
        good = run->codes != NULL;
    }
    pv_setting_drop(&setting);
    return good;
}

void pv_said_drop(pv_said *said)
{
    for (size_t i = 0; i < said->n_runs; i++)
        free(said->runs[i].codes);
    free(said->runs);
    free(said->text);
    *said = (pv_said){0};
}
