/* Embedded typefaces (ISO 32000-1, 9.7: composite fonts of Type 0 with a CIDFontType2).
 *
 * libharu 2.3.0 embeds TrueType by itself, but it keeps tables of every glyph that the face has
 * (42 kB a face where 7 kB do), cuts widths down to whole thousandths of an em, writes an operator
 * into its ToUnicode maps that doesn't belong there, and reads a file without checking it. So the
 * face's part is made by the type room, and the objects around it are put together here.
 *
 * Codes are given out in the order of use. A code stands for a glyph and for the characters that it
 * shows, so that what is searched and copied is the text itself. */
#include "draw/pdf_type.h"

#include "base/memory.h"
#include "base/text.h"
#include "base/words.h"
#include "draw/pdf_said.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FONT_PT_MAX 300.0 /* as in pdf.c */
#define REAL_MAX    32767.0
#define MAP_LINES   100 /* entries to a block of a ToUnicode map, by technical note 5411 */
#define IN_PT(mm)   ((mm) / PV_MM_PER_PT)

typedef struct font {
    HPDF_Dict dict;  /* NULL until the face is used */
    pv_codes *codes; /* in the faces' array */
} font;

/* Sheets say much the same: texts are kept, each in the place that its letters give it. */
#define SAID_KEPT 1024
#define SAID_MOST 200 /* bytes of a text that is kept */

struct pv_pdf_type {
    HPDF_Doc doc;
    const pv_type *type;
    font *fonts; /* one a face */
    size_t n_fonts;
    pv_codes *codes; /* one a face */
    pv_said kept[SAID_KEPT];
};

pv_pdf_type *pv_pdf_type_new(HPDF_Doc doc, const pv_type *type)
{
    pv_pdf_type *fonts = PV_NEW(pv_pdf_type);
    if (fonts == NULL)
        return NULL;
    *fonts = (pv_pdf_type){.doc = doc, .type = type, .n_fonts = pv_type_faces(type)};
    fonts->fonts = PV_NEW_ARRAY(fonts->n_fonts, font);
    fonts->codes = PV_NEW_ARRAY(fonts->n_fonts, pv_codes);
    if (fonts->fonts == NULL || fonts->codes == NULL) {
        free(fonts->fonts);
        free(fonts->codes);
        free(fonts);
        return NULL;
    }
    for (size_t i = 0; i < fonts->n_fonts; i++) {
        pv_codes_init(&fonts->codes[i]);
        fonts->fonts[i].codes = &fonts->codes[i];
    }
    return fonts;
}

void pv_pdf_type_free(pv_pdf_type *fonts)
{
    if (fonts == NULL)
        return;
    for (size_t i = 0; i < SAID_KEPT; i++)
        pv_said_drop(&fonts->kept[i]);
    for (size_t i = 0; i < fonts->n_fonts; i++)
        pv_codes_free(&fonts->codes[i]);
    free(fonts->codes);
    free(fonts->fonts);
    free(fonts);
}

/* ---- showing text ---- */

static void write_page(HPDF_Page page, const char *text)
{
    HPDF_PageAttr attr = page->attr;
    HPDF_Stream_WriteStr(attr->stream, text);
}

/* UTF-16, big-endian, in hexadecimal; malformed bytes become U+FFFD. */
static void add_utf16(pv_text *out, const char *utf8, size_t length)
{
    for (size_t at = 0; at < length;) {
        uint32_t code = 0;
        size_t step = pv_utf8_decode(utf8 + at, length - at, &code);
        if (code >= 0x10000)
            pv_text_add(out, "%04X%04X", 0xD800 + ((code - 0x10000) >> 10),
                        0xDC00 + ((code - 0x10000) & 0x3FF));
        else
            pv_text_add(out, "%04X", code);
        at += step > 0 ? step : 1;
    }
}

/* FNV-1a. */
static size_t place_of(const char *text, bool bold)
{
    uint32_t h = 2166136261u ^ bold;
    for (const unsigned char *c = (const unsigned char *)text; *c != '\0'; c++)
        h = (h ^ *c) * 16777619u;
    return (h ^ h >> 16) % SAID_KEPT;
}

typedef struct showing {
    pv_pdf_type *fonts;
    HPDF_Page page;
    const pv_op *op;
    double size, k; /* points of the font, and the text matrix's factor */
} showing;

static bool font_ready(showing *s, font *f)
{
    if (f->dict != NULL)
        return true;
    f->dict = HPDF_Dict_New(s->fonts->doc->mmgr);
    return f->dict != NULL && HPDF_Xref_Add(s->fonts->doc->xref, f->dict) == HPDF_OK;
}

static bool place_at(showing *s, pv_vec ems)
{
    pv_vec x = pv_polar(s->op->size, s->op->angle);
    pv_vec at = pv_along(pv_along(s->op->p[0], x, ems.x), pv_left(x), ems.y);
    if (!(fabs(IN_PT(at.x)) <= REAL_MAX && fabs(IN_PT(at.y)) <= REAL_MAX))
        return false;
    HPDF_REAL c = (HPDF_REAL)(s->k * cos(s->op->angle)), n = (HPDF_REAL)(s->k * sin(s->op->angle));
    HPDF_Page_SetTextMatrix(s->page, c, n, -n, c, (HPDF_REAL)IN_PT(at.x), (HPDF_REAL)IN_PT(at.y));
    return true;
}

/* What begins out of reach is left out. False where memory ran out. */
static bool show_run(showing *s, const pv_said_run *run)
{
    font *f = &s->fonts->fonts[run->face];
    if (!place_at(s, run->at))
        return true;
    if (!font_ready(s, f))
        return false;
    const char *name = HPDF_Page_GetLocalFontName(s->page, f->dict);
    if (name == NULL)
        return false;
    write_page(s->page, "/");
    write_page(s->page, name);
    write_page(s->page, " ");
    write_page(s->page, pv_fixed(s->size, 5).chars);
    write_page(s->page, " Tf\012");
    write_page(s->page, run->codes);
    return true;
}

/* Where glyphs don't follow the letters one by one, the text itself is given beside them
 * (ISO 32000-1, 14.9.4). */
static bool begin_actual(showing *s, const pv_said *t)
{
    if (t->plain)
        return true;
    pv_text out = PV_TEXT_INIT;
    pv_text_add(&out, "/Span <</ActualText <FEFF");
    add_utf16(&out, t->text, strlen(t->text));
    pv_text_add(&out, ">>> BDC\012");
    char *text = pv_text_take(&out);
    if (text != NULL)
        write_page(s->page, text);
    free(text);
    return text != NULL;
}

static bool show_said(showing *s, const pv_said *t)
{
    if (!begin_actual(s, t))
        return false;
    bool good = true;
    HPDF_Page_BeginText(s->page);
    for (size_t i = 0; good && i < t->n_runs; i++)
        good = show_run(s, &t->runs[i]);
    HPDF_Page_EndText(s->page);
    if (!t->plain)
        write_page(s->page, "EMC\012");
    return good;
}

bool pv_pdf_type_show(pv_pdf_type *fonts, HPDF_Page page, const pv_op *op, const char *utf8,
                      const char **wrong)
{
    double size = IN_PT(op->size);
    if (!isfinite(op->angle) || !(size > 0 && size <= REAL_MAX) || !isfinite(op->p[0].x) ||
        !isfinite(op->p[0].y)) {
        *wrong = "a text is of no possible size or place";
        return false;
    }
    showing s = {fonts, page, op, fmin(size, FONT_PT_MAX), 1};
    s.k = size / s.size;
    /* A text whose start is out of reach is shown glyph by glyph, as far as they are within it. */
    bool near = fabs(IN_PT(op->p[0].x)) <= REAL_MAX && fabs(IN_PT(op->p[0].y)) <= REAL_MAX;
    pv_said *kept = &fonts->kept[place_of(utf8, op->bold)];
    if (near && kept->text != NULL && kept->bold == op->bold && strcmp(kept->text, utf8) == 0)
        return show_said(&s, kept);
    pv_said t;
    bool good =
        pv_said_make(fonts->type, fonts->codes, utf8, op->bold, near, &t) && show_said(&s, &t);
    if (good && near && strlen(utf8) <= SAID_MOST) {
        pv_said_drop(kept);
        *kept = t;
    } else {
        pv_said_drop(&t);
    }
    return good;
}

/* ---- the fonts themselves ---- */

static HPDF_Dict new_stream(pv_pdf_type *fonts, const void *bytes, size_t size)
{
    HPDF_Dict stream = HPDF_DictStream_New(fonts->doc->mmgr, fonts->doc->xref);
    if (stream == NULL)
        return NULL;
    stream->filter = HPDF_STREAM_FILTER_FLATE_DECODE;
    HPDF_Stream_Write(stream->stream, bytes, (HPDF_UINT)size);
    return stream;
}

/* Which characters a code shows (ISO 32000-1, 9.10.3). */
static HPDF_Dict to_unicode(pv_pdf_type *fonts, const font *f)
{
    pv_text map = PV_TEXT_INIT;
    pv_text_add(&map, "/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n"
                      "/CIDSystemInfo <</Registry (Adobe) /Ordering (UCS) /Supplement 0>> def\n"
                      "/CMapName /Adobe-Identity-UCS def\n/CMapType 2 def\n"
                      "1 begincodespacerange\n<0000> <FFFF>\nendcodespacerange\n");
    for (size_t i = 0; i < f->codes->n; i += MAP_LINES) {
        size_t end = i + MAP_LINES < f->codes->n ? i + MAP_LINES : f->codes->n, n = 0;
        for (size_t k = i; k < end; k++)
            n += *f->codes->list[k].stands_for != '\0';
        if (n == 0)
            continue;
        pv_text_add(&map, "%zu beginbfchar\n", n);
        for (size_t k = i; k < end; k++) {
            if (*f->codes->list[k].stands_for == '\0')
                continue;
            pv_text_add(&map, "<%04zX> <", k + 1);
            add_utf16(&map, f->codes->list[k].stands_for, strlen(f->codes->list[k].stands_for));
            pv_text_add(&map, ">\n");
        }
        pv_text_add(&map, "endbfchar\n");
    }
    pv_text_add(&map, "endcmap\nCMapName currentdict /CMap defineresource pop\nend\nend\n");
    size_t length = map.length;
    char *text = pv_text_take(&map);
    HPDF_Dict stream = text != NULL ? new_stream(fonts, text, length) : NULL;
    free(text);
    return stream;
}

/* Six letters that tell this part of the face from others (ISO 32000-1, 9.6.4): FNV-1a of its
 * glyphs. */
static void tag_of(const font *f, char tag[7])
{
    uint32_t h = 2166136261u;
    for (size_t i = 0; i < f->codes->n; i++)
        h = (h ^ f->codes->list[i].glyph) * 16777619u;
    for (int i = 0; i < 6; i++, h /= 26)
        tag[i] = (char)('A' + h % 26);
    tag[6] = '\0';
}

static double thousandths(double ems)
{
    return round(1e5 * ems) / 100;
}

static HPDF_Dict descriptor(pv_pdf_type *fonts, const pv_face_facts *facts, const char *name,
                            HPDF_Dict file)
{
    HPDF_MMgr mmgr = fonts->doc->mmgr;
    HPDF_Dict d = HPDF_Dict_New(mmgr);
    if (d == NULL || HPDF_Xref_Add(fonts->doc->xref, d) != HPDF_OK)
        return NULL;
    HPDF_Box box = {
        (HPDF_REAL)thousandths(facts->box.lo.x), (HPDF_REAL)thousandths(facts->box.lo.y),
        (HPDF_REAL)thousandths(facts->box.hi.x), (HPDF_REAL)thousandths(facts->box.hi.y)};
    HPDF_Dict_AddName(d, "Type", "FontDescriptor");
    HPDF_Dict_AddName(d, "FontName", name);
    HPDF_Dict_AddNumber(d, "Flags",
                        4); /* it has characters past the standard Latin set (ISO 32000-1, D.2) */
    HPDF_Dict_Add(d, "FontBBox", HPDF_Box_Array_New(mmgr, box));
    HPDF_Dict_AddNumber(d, "ItalicAngle", 0);
    HPDF_Dict_AddReal(d, "Ascent", (HPDF_REAL)thousandths(facts->ascent));
    HPDF_Dict_AddReal(d, "Descent", (HPDF_REAL)thousandths(facts->descent));
    HPDF_Dict_AddReal(d, "CapHeight", (HPDF_REAL)thousandths(facts->cap));
    HPDF_Dict_AddNumber(d, "StemV", 80); /* only for a face that isn't there */
    HPDF_Dict_Add(d, "FontFile2", file);
    return d;
}

/* Advances of codes 1 and on. */
static HPDF_Array widths(pv_pdf_type *fonts, size_t face)
{
    const font *f = &fonts->fonts[face];
    HPDF_Array all = HPDF_Array_New(fonts->doc->mmgr), list = HPDF_Array_New(fonts->doc->mmgr);
    if (all == NULL || list == NULL)
        return NULL;
    HPDF_Array_AddNumber(all, 1);
    HPDF_Array_Add(all, list);
    for (size_t i = 0; i < f->codes->n; i++)
        HPDF_Array_AddReal(list, (HPDF_REAL)(1000 * pv_type_advance(fonts->type, (unsigned)face,
                                                                    f->codes->list[i].glyph)));
    return all;
}

static HPDF_Dict system_info(HPDF_MMgr mmgr)
{
    HPDF_Dict d = HPDF_Dict_New(mmgr);
    if (d == NULL)
        return NULL;
    HPDF_Dict_Add(d, "Registry", HPDF_String_New(mmgr, "Adobe", NULL));
    HPDF_Dict_Add(d, "Ordering", HPDF_String_New(mmgr, "Identity", NULL));
    HPDF_Dict_AddNumber(d, "Supplement", 0);
    return d;
}

/* The dictionaries of a face, around its file and the map from codes to its glyphs. False where
 * memory ran out for ours; libharu's errors go to its handler. */
static bool fill_font(pv_pdf_type *fonts, size_t face, HPDF_Dict file, HPDF_Dict glyphs)
{
    HPDF_MMgr mmgr = fonts->doc->mmgr;
    font *f = &fonts->fonts[face];
    pv_face_facts facts;
    pv_type_face(fonts->type, (unsigned)face, &facts);
    char tag[7], name[96];
    tag_of(f, tag);
    snprintf(name, sizeof name, "%s+%s", tag, facts.name);
    HPDF_Dict characters = to_unicode(fonts, f);
    if (characters == NULL)
        return false;
    HPDF_Dict cid = HPDF_Dict_New(mmgr);
    HPDF_Array descendants = HPDF_Array_New(mmgr);
    if (cid == NULL || descendants == NULL || HPDF_Xref_Add(fonts->doc->xref, cid) != HPDF_OK)
        return false;
    HPDF_Dict_AddName(cid, "Type", "Font");
    HPDF_Dict_AddName(cid, "Subtype", "CIDFontType2");
    HPDF_Dict_AddName(cid, "BaseFont", name);
    HPDF_Dict_Add(cid, "CIDSystemInfo", system_info(mmgr));
    HPDF_Dict_Add(cid, "FontDescriptor", descriptor(fonts, &facts, name, file));
    HPDF_Dict_Add(cid, "W", widths(fonts, face));
    HPDF_Dict_Add(cid, "CIDToGIDMap", glyphs);
    HPDF_Dict_AddName(f->dict, "Type", "Font");
    HPDF_Dict_AddName(f->dict, "Subtype", "Type0");
    HPDF_Dict_AddName(f->dict, "BaseFont", name);
    HPDF_Dict_AddName(f->dict, "Encoding", "Identity-H");
    HPDF_Array_Add(descendants, cid);
    HPDF_Dict_Add(f->dict, "DescendantFonts", descendants);
    HPDF_Dict_Add(f->dict, "ToUnicode", characters);
    return true;
}

static bool finish_font(pv_pdf_type *fonts, size_t face, pv_diags *diags)
{
    font *f = &fonts->fonts[face];
    unsigned *glyphs = PV_NEW_ARRAY(f->codes->n, unsigned);
    unsigned *renamed = PV_NEW_ARRAY(f->codes->n, unsigned);
    unsigned char *map = PV_NEW_ARRAY(2 * (f->codes->n + 1), unsigned char), *bytes = NULL;
    size_t size = 0;
    bool good = glyphs != NULL && renamed != NULL && map != NULL;
    for (size_t i = 0; good && i < f->codes->n; i++)
        glyphs[i] = f->codes->list[i].glyph;
    if (!good)
        pv_fail_memory(diags);
    good = good && pv_type_subset(fonts->type, (unsigned)face, glyphs, f->codes->n, renamed, &bytes,
                                  &size, diags);
    if (good) {
        for (size_t i = 0; i < f->codes->n; i++) {
            map[2 * i + 2] = (unsigned char)(renamed[i] >> 8);
            map[2 * i + 3] = (unsigned char)renamed[i];
        }
        HPDF_Dict file = new_stream(fonts, bytes, size);
        if (file != NULL)
            HPDF_Dict_AddNumber(file, "Length1", (HPDF_INT32)size);
        good = fill_font(fonts, face, file, new_stream(fonts, map, 2 * (f->codes->n + 1)));
        if (!good)
            pv_fail_memory(diags);
    }
    free(glyphs);
    free(renamed);
    free(map);
    free(bytes);
    return good;
}

bool pv_pdf_type_finish(pv_pdf_type *fonts, pv_diags *diags)
{
    for (size_t i = 0; i < fonts->n_fonts; i++)
        if (fonts->fonts[i].dict != NULL && !finish_font(fonts, i, diags))
            return false;
    return true;
}
