/* A small sheet's scan without any renderer: tags, crosses, bars and straight black lines painted
 * as rectangles, each pixel weighing what lies around it with a quadratic B-spline (a box three
 * times convolved with itself), as PNG. */
#ifndef TESTS_SHEET_PICTURE_H
#define TESTS_SHEET_PICTURE_H

#include "common.h"

#include "plan/layout.h"
#include "pose/pose.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <zlib.h>

typedef struct picture_setup {
    double dpi[2];        /* of the image's x and y */
    double scale[2];      /* printed mm per nominal mm along the sheet's x and y */
    double turn;          /* radians counter-clockwise */
    double stated_dpi[2]; /* in the file; 0: nothing */
    double shown;         /* part of each line that is printed */
} picture_setup;

typedef struct picture {
    size_t width, height;
    double h[9];      /* sheet mm to px, row by row */
    double *darkness; /* 0 to 1 */
} picture;

static const char picture_course[] =
    "course \"Pier\" edition \"1\"\n"
    "mat 90mm by 60mm ground white\n"
    "tolerance scale 0.3 %, width 0.3mm, spacing 0.5mm, straightness 0.5mm, skew 3mrad\n"
    "line low width 8mm colour black from (18, 15)mm, to (72, 15)mm\n"
    "line high width 5mm colour black from (18, 40)mm, to (72, 40)mm\n"
    "line west width 5mm colour black from (10, 6)mm, to (10, 54)mm\n"
    "line east width 5mm colour black from (80, 6)mm, to (80, 54)mm\n";

static pv_plan *picture_plan_of(const char *text, const char *paper)
{
    pv_diags *diags = pv_diags_new();
    pv_course *course = pv_course_parse(text, strlen(text), "pier", test_type(), diags);
    ck_assert_ptr_nonnull(course);
    pv_layout_options options = pv_layout_defaults();
    options.paper = paper;
    options.orientation = PV_LANDSCAPE;
    pv_plan *plan = pv_plan_make(course, &options, diags);
    char *said = diags_text(diags);
    ck_assert_msg(plan != NULL, "%s", said);
    ck_assert_uint_eq(plan->n_sheets, 1);
    free(said);
    pv_course_free(course);
    pv_diags_free(diags);
    return plan;
}

static pv_plan *picture_plan(void)
{
    return picture_plan_of(picture_course, "140x110mm");
}

static pv_vec picture_px(const picture *p, pv_vec sheet)
{
    const double *h = p->h;
    return pv_v(h[0] * sheet.x + h[1] * sheet.y + h[2], h[3] * sheet.x + h[4] * sheet.y + h[5]);
}

static double spline(double t)
{
    t = fabs(t);
    return t < 0.5 ? 0.75 - t * t : t < 1.5 ? (1.5 - t) * (1.5 - t) / 2 : 0;
}

#define PICTURE_FINE 12 /* points along each side of what a pixel weighs */

static double picture_cover(const picture *p, pv_box box, double x, double y)
{
    static double weight[PICTURE_FINE], sum;
    double det = p->h[0] * p->h[4] - p->h[1] * p->h[3], in = 0;
    if (sum == 0) {
        double one = 0;
        for (int i = 0; i < PICTURE_FINE; i++)
            one += weight[i] = spline(3 * (i + 0.5) / PICTURE_FINE - 1.5);
        sum = one * one;
    }
    for (int i = 0; i < PICTURE_FINE; i++) {
        for (int k = 0; k < PICTURE_FINE; k++) {
            double u = x + 3 * (i + 0.5) / PICTURE_FINE - 1.5 - p->h[2];
            double v = y + 3 * (k + 0.5) / PICTURE_FINE - 1.5 - p->h[5];
            pv_vec at = pv_v((p->h[4] * u - p->h[1] * v) / det, (p->h[0] * v - p->h[3] * u) / det);
            in += pv_box_holds(box, at) ? weight[i] * weight[k] : 0;
        }
    }
    return in / sum;
}

/* A black box, sheet mm. */
static void picture_box(picture *p, pv_box box)
{
    pv_box px = pv_box_none();
    for (int i = 0; i < 4; i++)
        px = pv_box_add(px, picture_px(p, pv_v((i & 1) != 0 ? box.lo.x : box.hi.x,
                                               (i & 2) != 0 ? box.lo.y : box.hi.y)));
    for (size_t y = (size_t)fmax(px.lo.y - 3, 0); (double)y < px.hi.y + 3 && y < p->height; y++)
        for (size_t x = (size_t)fmax(px.lo.x - 3, 0); (double)x < px.hi.x + 3 && x < p->width; x++)
            p->darkness[y * p->width + x] +=
                picture_cover(p, box, (double)x + 0.5, (double)y + 0.5);
}

static void picture_tag(picture *p, const pv_tag *tag)
{
    uint8_t cells[PV_TAG_CELLS][PV_TAG_CELLS];
    pv_diags *diags = pv_diags_new();
    ck_assert(pv_tag_cells(tag->id, cells, diags));
    pv_diags_free(diags);
    double half = tag->cell * PV_TAG_CELLS / 2;
    for (int r = 0; r < PV_TAG_CELLS; r++) {
        for (int c = 0; c < PV_TAG_CELLS; c++) {
            pv_vec lo = pv_v(tag->centre.x - half + c * tag->cell,
                             tag->centre.y + half - (r + 1) * tag->cell);
            pv_box box = {lo, pv_add(lo, pv_v(tag->cell, tag->cell))};
            if (cells[r][c] != 0)
                picture_box(p, box);
        }
    }
}

static pv_box stroke_box(pv_vec a, pv_vec b, double width, pv_vec origin)
{
    pv_box box = pv_box_add(pv_box_add(pv_box_none(), pv_sub(a, origin)), pv_sub(b, origin));
    pv_vec grow = fabs(a.x - b.x) > fabs(a.y - b.y) ? pv_v(0, width / 2) : pv_v(width / 2, 0);
    return (pv_box){pv_sub(box.lo, grow), pv_add(box.hi, grow)};
}

static void picture_paint(picture *p, const pv_plan *plan, double shown)
{
    const pv_sheet *sheet = &plan->sheets[0];
    for (int i = 0; i < PV_TAG_PLACES; i++)
        picture_tag(p, &sheet->tag[i]);
    pv_scene *page = pv_plan_page(plan, sheet);
    ck_assert_ptr_nonnull(page);
    for (size_t i = 0; i < page->n_items; i++) {
        const pv_item *item = &page->items[i];
        bool bar = item->kind == PV_ITEM_STROKE || item->kind == PV_ITEM_TICK;
        if (bar && item->colour == PV_COLOUR_BLACK)
            picture_box(p,
                        stroke_box(item->u.bar.a, item->u.bar.b, item->u.bar.width, sheet->origin));
    }
    pv_scene_free(page);
    for (size_t i = 0; i < plan->art.n_lines; i++) {
        const pv_line *line = &plan->art.lines[i];
        const pv_piece *piece = &line->pieces[0];
        pv_vec end = pv_along(piece->a, pv_sub(piece->b, piece->a), shown);
        picture_box(p, stroke_box(piece->a, end, line->width, sheet->origin));
    }
}

static void picture_place(picture *p, const picture_setup *s, const pv_plan *plan)
{
    double c = cos(s->turn), n = sin(s->turn);
    double kx = s->dpi[0] / 25.4, ky = s->dpi[1] / 25.4;
    double h[9] = {kx * c * s->scale[0],
                   -kx * n * s->scale[1],
                   0,
                   -ky * n * s->scale[0],
                   -ky * c * s->scale[1],
                   0,
                   0,
                   0,
                   1};
    memcpy(p->h, h, sizeof h);
    pv_box box = pv_box_none();
    for (int i = 0; i < 4; i++)
        box = pv_box_add(box, picture_px(p, pv_v((i & 1) != 0 ? plan->page[0] : 0,
                                                 (i & 2) != 0 ? plan->page[1] : 0)));
    p->h[2] = 7.31 - box.lo.x;
    p->h[5] = 6.77 - box.lo.y;
    p->width = (size_t)(box.hi.x - box.lo.x) + 15;
    p->height = (size_t)(box.hi.y - box.lo.y) + 15;
}

/* ---- PNG, by the specification (W3C, second edition): 8-bit gray, one IDAT ---- */

static void png_number(unsigned char *to, size_t value)
{
    for (int i = 0; i < 4; i++)
        to[i] = (unsigned char)(value >> (24 - 8 * i));
}

static void png_chunk(pv_bytes *out, const char *name, const unsigned char *data, size_t n)
{
    out->data = realloc(out->data, out->size + n + 12);
    unsigned char *to = out->data + out->size;
    png_number(to, n);
    memcpy(to + 4, name, 4);
    if (n > 0)
        memcpy(to + 8, data, n);
    png_number(to + 8 + n, crc32(crc32(0, NULL, 0), to + 4, (uInt)(n + 4)));
    out->size += n + 12;
}

static pv_bytes picture_png(const picture *p, const double stated_dpi[2])
{
    pv_bytes out = {malloc(8), 8};
    memcpy(out.data, "\x89PNG\r\n\x1a\n", 8);
    unsigned char head[13] = {0}, density[9] = {0};
    png_number(head, p->width);
    png_number(head + 4, p->height);
    head[8] = 8;
    png_chunk(&out, "IHDR", head, sizeof head);
    png_number(density, (size_t)(stated_dpi[0] / 0.0254 + 0.5));
    png_number(density + 4, (size_t)(stated_dpi[1] / 0.0254 + 0.5));
    density[8] = 1;
    if (stated_dpi[0] > 0)
        png_chunk(&out, "pHYs", density, sizeof density);
    size_t row = p->width + 1;
    unsigned char *rows = calloc(p->height, row);
    for (size_t y = 0; y < p->height; y++)
        for (size_t x = 0; x < p->width; x++) {
            double light = 0.88 - 0.85 * fmin(1, p->darkness[y * p->width + x]);
            rows[y * row + x + 1] = (unsigned char)(pv_linear_to_srgb(light) + 0.5);
        }
    uLongf size = compressBound(p->height * row);
    unsigned char *packed = malloc(size);
    ck_assert_int_eq(compress2(packed, &size, rows, p->height * row, 1), Z_OK);
    png_chunk(&out, "IDAT", packed, size);
    png_chunk(&out, "IEND", NULL, 0);
    free(packed);
    free(rows);
    return out;
}

/* The caller frees data with free(). */
static pv_bytes sheet_picture(const pv_plan *plan, const picture_setup *s)
{
    picture p;
    picture_place(&p, s, plan);
    p.darkness = calloc(p.width * p.height, sizeof *p.darkness);
    ck_assert_ptr_nonnull(p.darkness);
    picture_paint(&p, plan, s->shown);
    pv_bytes png = picture_png(&p, s->stated_dpi);
    free(p.darkness);
    return png;
}

#endif
