#include "guide/sign.h"

#include "draw/strokes.h"

#include <stdio.h>

const uint8_t pv_guide_black[3] = {0, 0, 0}, pv_guide_white[3] = {255, 255, 255},
              pv_guide_grey[3] = {120, 120, 120}, pv_guide_pale[3] = {200, 200, 200},
              pv_guide_run[3] = {204, 0, 116};

/* Layout: chosen. */
#define HATCH_PITCH  1.5
#define HATCH_PEN    0.16
#define STROKES_MOST 4000
#define DASH         1.6
#define GAP          0.9

void pv_pen_fill(const pv_pen *pen, pv_box box, const uint8_t rgb[3])
{
    if (box.hi.x <= box.lo.x || box.hi.y <= box.lo.y)
        return;
    pv_draw_box(pen->d, box);
    pv_draw_fill(pen->d, rgb, false);
}

void pv_pen_bar(const pv_pen *pen, pv_vec a, pv_vec b, double width, const uint8_t rgb[3])
{
    if (pv_dist(a, b) <= 0)
        return;
    pv_draw_bar(pen->d, a, b, width * pen->unit);
    pv_draw_fill(pen->d, rgb, false);
}

void pv_pen_frame(const pv_pen *pen, pv_box box, double width, const uint8_t rgb[3])
{
    pv_draw_frame(pen->d, box, width * pen->unit);
    pv_draw_fill(pen->d, rgb, false);
}

void pv_pen_dashes(const pv_pen *pen, pv_vec a, pv_vec b, double width, const uint8_t rgb[3])
{
    const double pattern[2] = {DASH * pen->unit, GAP * pen->unit};
    pv_piece whole = pv_segment(a, b);
    pv_draw_dashes(pen->d, &whole, width * pen->unit, pattern, 2);
    pv_draw_fill(pen->d, rgb, false);
}

/* The other way round, so that the non-zero rule leaves it out. */
static void hole(pv_drawing *d, pv_box box)
{
    pv_draw_move(d, box.lo);
    pv_draw_line(d, pv_v(box.lo.x, box.hi.y));
    pv_draw_line(d, box.hi);
    pv_draw_line(d, pv_v(box.hi.x, box.lo.y));
    pv_draw_close(d);
}

void pv_pen_hatch(const pv_pen *pen, pv_box outer, const pv_box *inner, bool falling)
{
    pv_drawing *d = pen->d;
    double high = outer.hi.y - outer.lo.y, pitch = HATCH_PITCH * pen->unit;
    if (outer.hi.x <= outer.lo.x || high <= 0)
        return;
    pv_draw_box(d, outer);
    if (inner != NULL)
        hole(d, *inner);
    pv_draw_clip(d);
    double first = outer.lo.x - high + pitch / 2;
    int n = (int)fmin(ceil((outer.hi.x - first) / pitch), STROKES_MOST);
    for (int i = 0; i < n; i++) {
        double x = first + i * pitch;
        pv_draw_bar(d, pv_v(x, falling ? outer.hi.y : outer.lo.y),
                    pv_v(x + high, falling ? outer.lo.y : outer.hi.y), HATCH_PEN * pen->unit);
    }
    pv_draw_fill(d, pv_guide_black, false);
    pv_draw_end_clip(d);
}

void pv_pen_scissors(const pv_pen *pen, pv_vec at, pv_vec ahead)
{
    pv_drawing *d = pen->d;
    double u = pen->unit;
    pv_vec left = pv_left(ahead);
    for (int side = -1; side <= 1; side += 2) {
        pv_vec handle = pv_along(pv_along(at, ahead, -1.5 * u), left, -0.85 * side * u);
        pv_draw_circle(d, handle, 0.6 * u, 0.35 * u);
        /* A blade from its handle through the pivot to its tip, thinner there. */
        pv_vec back = pv_along(pv_along(at, ahead, -1.0 * u), left, -0.45 * side * u);
        pv_vec tip = pv_along(pv_along(at, ahead, 2.2 * u), left, 0.7 * side * u);
        pv_vec aside = pv_scale(pv_left(pv_unit(pv_sub(tip, back))), 0.22 * u);
        pv_draw_move(d, pv_sub(back, aside));
        pv_draw_line(d, tip);
        pv_draw_line(d, pv_add(back, aside));
        pv_draw_close(d);
    }
    pv_draw_fill(d, pv_guide_black, false);
}

void pv_pen_cross(const pv_pen *pen, pv_vec at)
{
    double u = pen->unit;
    pv_draw_disc(pen->d, at, 1.35 * u);
    pv_draw_fill(pen->d, pv_guide_white, false);
    pv_draw_circle(pen->d, at, 1.2 * u, 0.25 * u);
    pv_draw_fill(pen->d, pv_guide_black, false);
    pv_pen_bar(pen, pv_v(at.x - 0.8 * u, at.y), pv_v(at.x + 0.8 * u, at.y), 0.28, pv_guide_black);
    pv_pen_bar(pen, pv_v(at.x, at.y - 0.8 * u), pv_v(at.x, at.y + 0.8 * u), 0.28, pv_guide_black);
}

static void arrow(pv_drawing *d, pv_vec at, pv_vec ahead, double length, double wide, double more)
{
    pv_vec left = pv_left(ahead);
    pv_vec tip = pv_along(at, ahead, length / 2 + more),
           tail = pv_along(at, ahead, -length / 2 - more);
    pv_vec neck = pv_along(at, ahead, length / 2 - 2.2 * wide);
    const pv_vec corner[7] = {tip,
                              pv_along(neck, left, wide + more),
                              pv_along(neck, left, wide * 0.3 + more),
                              pv_along(tail, left, wide * 0.3 + more),
                              pv_along(tail, left, -wide * 0.3 - more),
                              pv_along(neck, left, -wide * 0.3 - more),
                              pv_along(neck, left, -wide - more)};
    pv_draw_move(d, corner[0]);
    for (int i = 1; i < 7; i++)
        pv_draw_line(d, corner[i]);
    pv_draw_close(d);
}

void pv_pen_arrow(const pv_pen *pen, pv_vec at, pv_vec ahead, double length)
{
    arrow(pen->d, at, ahead, length * pen->unit, 1.2 * pen->unit, 0.4 * pen->unit);
    pv_draw_fill(pen->d, pv_guide_white, false);
    arrow(pen->d, at, ahead, length * pen->unit, 1.2 * pen->unit, 0);
    pv_draw_fill(pen->d, pv_guide_run, false);
}

void pv_pen_tape(const pv_pen *pen, pv_box box, bool beneath)
{
    if (!beneath) {
        pv_pen_hatch(pen, box, NULL, true);
        pv_pen_frame(pen, box, 0.2, pv_guide_black);
        return;
    }
    const pv_vec corner[4] = {box.lo, {box.hi.x, box.lo.y}, box.hi, {box.lo.x, box.hi.y}};
    for (int i = 0; i < 4; i++)
        pv_pen_dashes(pen, corner[i], corner[(i + 1) % 4], 0.25, pv_guide_black);
}

void pv_pen_label(const pv_pen *pen, pv_vec at, double em, bool bold, const char *text)
{
    double size = em * pen->unit, half = size * pv_draw_ems(pen->d, text, bold) / 2;
    double cap = size * pv_type_cap(pen->d->type), pad = 0.22 * size;
    pv_pen_fill(pen,
                (pv_box){{at.x - half - pad, at.y - cap / 2 - pad},
                         {at.x + half + pad, at.y + cap / 2 + pad}},
                pv_guide_white);
    pv_draw_text(pen->d, pv_v(at.x - half, at.y - cap / 2), size, 0, bold, pv_guide_black, text);
}

void pv_pen_number(const pv_pen *pen, pv_vec at, double size, size_t number)
{
    double radius = size * pen->unit / 2;
    const uint8_t *ground = number == 1 ? pv_guide_black : pv_guide_white;
    char text[24];
    snprintf(text, sizeof text, "%zu", number);
    pv_draw_disc(pen->d, at, 1.08 * radius);
    pv_draw_fill(pen->d, pv_guide_white, false);
    pv_draw_disc(pen->d, at, radius);
    pv_draw_fill(pen->d, pv_guide_black, false);
    pv_draw_disc(pen->d, at, 0.9 * radius);
    pv_draw_fill(pen->d, ground, false);
    double ems = pv_draw_ems(pen->d, text, true), cap = pv_type_cap(pen->d->type);
    double em = fmin(1.5 * radius / fmax(ems, 0.1), 1.15 * radius / cap);
    pv_draw_text(pen->d, pv_v(at.x - em * ems / 2, at.y - em * cap / 2), em, 0, true,
                 number == 1 ? pv_guide_white : pv_guide_black, text);
}
