#include "draw/drawing.h"

#include <stdlib.h>
#include <string.h>

void pv_drawing_init(pv_drawing *drawing, pv_type *type, double width, double height)
{
    *drawing = (pv_drawing){.width = width, .height = height, .type = type};
    drawing->trim = (pv_box){{0, 0}, {width, height}};
}

void pv_drawing_clear(pv_drawing *drawing)
{
    free(drawing->label);
    free(drawing->ops);
    free(drawing->chars);
    for (size_t i = 0; i < drawing->n_pictures; i++)
        free(drawing->pictures[i].data);
    free(drawing->pictures);
    *drawing = (pv_drawing){0};
}

static void add(pv_drawing *d, const pv_op *op)
{
    if (d->failed)
        return;
    if (!PV_GROW(d->ops, d->n_ops, d->cap_ops)) {
        d->failed = true;
        return;
    }
    d->ops[d->n_ops++] = *op;
}

void pv_drawing_map(pv_drawing *drawing, pv_linear map)
{
    pv_vec middle = pv_v(drawing->width / 2, drawing->height / 2);
    double size = sqrt(fabs(map.a * map.d - map.b * map.c));
    for (size_t i = 0; i < drawing->n_ops; i++) {
        pv_op *op = &drawing->ops[i];
        for (int k = 0; k < 3; k++) {
            pv_vec p = pv_sub(op->p[k], middle);
            op->p[k] = pv_add(middle, pv_v(map.a * p.x + map.b * p.y, map.c * p.x + map.d * p.y));
        }
        op->size *= size;
    }
}

void pv_draw_move(pv_drawing *d, pv_vec p)
{
    add(d, &(pv_op){.kind = PV_OP_MOVE, .p = {p}});
}

void pv_draw_line(pv_drawing *d, pv_vec p)
{
    add(d, &(pv_op){.kind = PV_OP_LINE, .p = {p}});
}

void pv_draw_curve(pv_drawing *d, pv_vec c1, pv_vec c2, pv_vec p)
{
    add(d, &(pv_op){.kind = PV_OP_CURVE, .p = {c1, c2, p}});
}

void pv_draw_close(pv_drawing *d)
{
    add(d, &(pv_op){.kind = PV_OP_CLOSE});
}

void pv_draw_fill(pv_drawing *d, const uint8_t rgb[3], bool even_odd)
{
    add(d, &(pv_op){.kind = PV_OP_FILL, .even_odd = even_odd, .rgb = {rgb[0], rgb[1], rgb[2]}});
}

void pv_draw_clip(pv_drawing *d)
{
    add(d, &(pv_op){.kind = PV_OP_CLIP});
}

void pv_draw_end_clip(pv_drawing *d)
{
    add(d, &(pv_op){.kind = PV_OP_END});
}

double pv_draw_ems(pv_drawing *d, const char *utf8, bool bold)
{
    double ems = pv_type_ems(d->type, utf8, bold);
    d->failed = d->failed || ems < 0;
    return fmax(ems, 0);
}

void pv_draw_text(pv_drawing *d, pv_vec at, double size, double angle, bool bold,
                  const uint8_t rgb[3], const char *utf8)
{
    size_t length = strlen(utf8) + 1;
    if (d->failed || length == 1)
        return;
    if (!pv_reserve((void **)&d->chars, &d->cap_chars, d->n_chars + length, 1)) {
        d->failed = true;
        return;
    }
    memcpy(d->chars + d->n_chars, utf8, length);
    add(d, &(pv_op){.kind = PV_OP_TEXT,
                    .p = {at},
                    .size = size,
                    .angle = angle,
                    .bold = bold,
                    .rgb = {rgb[0], rgb[1], rgb[2]},
                    .text = d->n_chars});
    d->n_chars += length;
}

static void add_picture(pv_drawing *d, pv_op op, const unsigned char *bytes, size_t size)
{
    if (d->failed)
        return;
    unsigned char *copy = pv_copy_bytes(bytes, size, 1);
    if (copy == NULL || !PV_GROW(d->pictures, d->n_pictures, d->cap_pictures)) {
        free(copy);
        d->failed = true;
        return;
    }
    op.text = d->n_pictures;
    d->pictures[d->n_pictures++] = (pv_bytes){copy, size};
    add(d, &op);
}

void pv_draw_jpeg(pv_drawing *d, pv_box box, const unsigned char *bytes, size_t size)
{
    pv_op op = {.kind = PV_OP_JPEG, .p = {box.lo, {box.hi.x, box.lo.y}, {box.lo.x, box.hi.y}}};
    add_picture(d, op, bytes, size);
}

void pv_draw_drawing(pv_drawing *d, const pv_drawing *from, pv_vec at, double scale)
{
    d->failed = d->failed || from->failed;
    for (size_t i = 0; i < from->n_ops && !d->failed; i++) {
        pv_op op = from->ops[i];
        for (int k = 0; k < 3; k++)
            op.p[k] = pv_along(at, op.p[k], scale);
        op.size *= scale;
        if (op.kind == PV_OP_TEXT)
            pv_draw_text(d, op.p[0], op.size, op.angle, op.bold, op.rgb, from->chars + op.text);
        else if (op.kind == PV_OP_JPEG)
            add_picture(d, op, from->pictures[op.text].data, from->pictures[op.text].size);
        else
            add(d, &op);
    }
}

void pv_draw_box(pv_drawing *d, pv_box box)
{
    pv_draw_move(d, box.lo);
    pv_draw_line(d, pv_v(box.hi.x, box.lo.y));
    pv_draw_line(d, box.hi);
    pv_draw_line(d, pv_v(box.lo.x, box.hi.y));
    pv_draw_close(d);
}

void pv_draw_bar(pv_drawing *d, pv_vec a, pv_vec b, double width)
{
    pv_vec side = pv_scale(pv_left(pv_unit(pv_sub(b, a))), width / 2);
    pv_draw_move(d, pv_sub(a, side));
    pv_draw_line(d, pv_sub(b, side));
    pv_draw_line(d, pv_add(b, side));
    pv_draw_line(d, pv_add(a, side));
    pv_draw_close(d);
}

#define ARC_PIECE (PV_PI / 8) /* radians */

void pv_draw_arc(pv_drawing *d, pv_vec centre, double radius, double from, double sweep)
{
    int n = (int)ceil(fabs(sweep) / ARC_PIECE - 1e-9);
    if (n < 1)
        n = 1;
    double step = sweep / n;
    /* Controls at this distance along the tangents make the cubic meet the arc at its middle. */
    double reach = 4.0 / 3.0 * tan(step / 4) * radius;
    for (int i = 0; i < n; i++) {
        double a = from + i * step, b = i + 1 < n ? from + (i + 1) * step : from + sweep;
        pv_vec p = pv_add(centre, pv_polar(radius, a)), q = pv_add(centre, pv_polar(radius, b));
        pv_draw_curve(d, pv_along(p, pv_v(-sin(a), cos(a)), reach),
                      pv_along(q, pv_v(-sin(b), cos(b)), -reach), q);
    }
}
