/* The SVG back end: SVG 1.1, one user unit a millimetre, y turned downwards. */
#include "base/memory.h"
#include "base/sha256.h"
#include "base/text.h"
#include "draw/backend.h"

#include <stdlib.h>
#include <string.h>

typedef struct svg {
    const pv_drawing *drawing;
    pv_text out;
    pv_text path; /* of the operations since the last fill or clip */
    unsigned clips, open;
    bool failed;
    const char *wrong;
} svg;

#define UNITS_MAX 1e9 /* mm; larger numbers aren't a drawing any more */

/* A plain decimal with up to four places, whatever the locale: 0.1 um. */
static void number(svg *s, pv_text *to, double value)
{
    if (!(fabs(value) < UNITS_MAX)) {
        s->wrong = "a coordinate is out of reach";
        return;
    }
    long long parts = llround(value * 1e4);
    long long whole = llabs(parts) / 10000, rest = llabs(parts) % 10000;
    pv_text_add(to, "%s%lld", parts < 0 ? "-" : "", whole);
    if (rest == 0)
        return;
    int digits = 4;
    for (; rest % 10 == 0; rest /= 10)
        digits--;
    pv_text_add(to, ".%0*lld", digits, rest);
}

static void point(svg *s, const char *letter, pv_vec p)
{
    pv_text_add(&s->path, "%s", letter);
    number(s, &s->path, p.x);
    pv_text_add(&s->path, " ");
    number(s, &s->path, s->drawing->height - p.y);
}

static void attribute(svg *s, const char *name, double value)
{
    pv_text_add(&s->out, " %s=\"", name);
    number(s, &s->out, value);
    pv_text_add(&s->out, "\"");
}

static void escaped(svg *s, const char *text)
{
    for (const char *c = text; *c != '\0'; c++) {
        const char *entity = *c == '&'   ? "&amp;"
                             : *c == '<' ? "&lt;"
                             : *c == '>' ? "&gt;"
                             : *c == '"' ? "&quot;"
                                         : NULL;
        if (entity != NULL)
            pv_text_add(&s->out, "%s", entity);
        else
            pv_text_bytes(&s->out, c, 1);
    }
}

static void flush_path(svg *s)
{
    if (s->path.length > 0)
        pv_text_bytes(&s->out, s->path.chars, s->path.length);
    s->path.length = 0;
}

static void fill(svg *s, const pv_op *op)
{
    if (s->path.length == 0)
        return;
    pv_text_add(&s->out, "<path fill=\"#%02x%02x%02x\"%s d=\"", op->rgb[0], op->rgb[1], op->rgb[2],
                op->even_odd ? " fill-rule=\"evenodd\"" : "");
    flush_path(s);
    pv_text_add(&s->out, "\"/>\n");
}

/* Drawings that stand in one page share their ids: a clip is named by its path. */
static void clip(svg *s)
{
    char name[PV_SHA256_HEX];
    pv_sha256(s->path.chars, s->path.length, name);
    s->clips++;
    s->open++;
    pv_text_add(&s->out, "<clipPath id=\"clip%u-%.12s\"><path d=\"", s->clips, name);
    flush_path(s);
    pv_text_add(&s->out, "\"/></clipPath>\n<g clip-path=\"url(#clip%u-%.12s)\">\n", s->clips, name);
}

/* The renderer's own font may have other widths: textLength holds it to those of the PDF. */
static void text(svg *s, const pv_op *op)
{
    const char *chars = s->drawing->chars + op->text;
    pv_vec at = pv_v(op->p[0].x, s->drawing->height - op->p[0].y);
    pv_text_add(&s->out, "<text xml:space=\"preserve\" fill=\"#%02x%02x%02x\" font-family=\"",
                op->rgb[0], op->rgb[1], op->rgb[2]);
    for (size_t i = 0; i < pv_type_families(s->drawing->type); i++) {
        pv_text_add(&s->out, "'");
        escaped(s, pv_type_family(s->drawing->type, i));
        pv_text_add(&s->out, "', ");
    }
    pv_text_add(&s->out, "Helvetica, 'Nimbus Sans', 'Liberation Sans', Arial, sans-serif\"");
    if (op->bold)
        pv_text_add(&s->out, " font-weight=\"bold\"");
    attribute(s, "font-size", op->size);
    double ems = pv_type_ems(s->drawing->type, chars, op->bold);
    s->failed = s->failed || ems < 0;
    attribute(s, "textLength", ems * op->size);
    pv_text_add(&s->out, " lengthAdjust=\"spacingAndGlyphs\"");
    if (op->angle == 0) {
        attribute(s, "x", at.x);
        attribute(s, "y", at.y);
    } else {
        pv_text_add(&s->out, " transform=\"translate(");
        number(s, &s->out, at.x);
        pv_text_add(&s->out, " ");
        number(s, &s->out, at.y);
        pv_text_add(&s->out, ") rotate(");
        number(s, &s->out, -op->angle * 180 / PV_PI);
        pv_text_add(&s->out, ")\"");
    }
    pv_text_add(&s->out, ">");
    escaped(s, chars);
    pv_text_add(&s->out, "</text>\n");
}

static void operation(svg *s, const pv_op *op)
{
    switch (op->kind) {
    case PV_OP_MOVE:
        point(s, "M", op->p[0]);
        break;
    case PV_OP_LINE:
        point(s, "L", op->p[0]);
        break;
    case PV_OP_CURVE:
        point(s, "C", op->p[0]);
        point(s, " ", op->p[1]);
        point(s, " ", op->p[2]);
        break;
    case PV_OP_CLOSE:
        pv_text_add(&s->path, "Z");
        break;
    case PV_OP_FILL:
        fill(s, op);
        break;
    case PV_OP_CLIP:
        clip(s);
        break;
    case PV_OP_END:
        if (s->open == 0)
            s->wrong = "a clip ends that never began";
        else
            pv_text_add(&s->out, "</g>\n");
        s->open -= s->open > 0;
        break;
    case PV_OP_TEXT:
        text(s, op);
        break;
    case PV_OP_JPEG:
        s->wrong = "it has a picture";
        break;
    }
}

char *pv_svg(const pv_drawing *drawing, pv_diags *diags)
{
    svg s = {.drawing = drawing, .out = PV_TEXT_INIT, .path = PV_TEXT_INIT};
    pv_text_add(&s.out, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
                        "<svg xmlns=\"http://www.w3.org/2000/svg\" version=\"1.1\" width=\"");
    number(&s, &s.out, drawing->width);
    pv_text_add(&s.out, "mm\" height=\"");
    number(&s, &s.out, drawing->height);
    pv_text_add(&s.out, "mm\" viewBox=\"0 0 ");
    number(&s, &s.out, drawing->width);
    pv_text_add(&s.out, " ");
    number(&s, &s.out, drawing->height);
    pv_text_add(&s.out, "\">\n");
    if (drawing->label != NULL) {
        pv_text_add(&s.out, "<title>");
        escaped(&s, drawing->label);
        pv_text_add(&s.out, "</title>\n");
    }
    for (size_t i = 0; i < drawing->n_ops && s.wrong == NULL; i++)
        operation(&s, &drawing->ops[i]);
    if (s.open > 0 && s.wrong == NULL)
        s.wrong = "a clip never ends";
    pv_text_add(&s.out, "</svg>\n");
    bool failed = drawing->failed || s.path.failed || s.failed;
    pv_text_drop(&s.path);
    char *result = pv_text_take(&s.out);
    if (s.wrong == NULL && !failed && result != NULL)
        return result;
    if (failed || result == NULL)
        pv_fail_memory(diags);
    else
        pv_fail(diags, PV_CAUSE_LIMIT, "the drawing cannot be written as SVG: %s", s.wrong);
    free(result);
    return NULL;
}
