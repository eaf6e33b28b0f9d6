#include "draw/strokes.h"

void pv_draw_piece(pv_drawing *d, const pv_piece *piece, double width)
{
    if (!piece->arc) {
        pv_draw_bar(d, piece->a, piece->b, width);
        return;
    }
    /* A ring's sector, counter-clockwise whichever way the arc runs. */
    double from = piece->sweep > 0 ? piece->from : piece->from + piece->sweep;
    double sweep = fabs(piece->sweep), outer = piece->radius + width / 2;
    double inner = fmax(piece->radius - width / 2, 0);
    pv_draw_move(d, pv_add(piece->centre, pv_polar(outer, from)));
    pv_draw_arc(d, piece->centre, outer, from, sweep);
    pv_draw_line(d, pv_add(piece->centre, pv_polar(inner, from + sweep)));
    if (inner > 0)
        pv_draw_arc(d, piece->centre, inner, from + sweep, -sweep);
    pv_draw_close(d);
}

void pv_draw_disc(pv_drawing *d, pv_vec at, double radius)
{
    pv_draw_move(d, pv_v(at.x + radius, at.y));
    pv_draw_arc(d, at, radius, 0, 2 * PV_PI);
    pv_draw_close(d);
}

void pv_draw_circle(pv_drawing *d, pv_vec at, double radius, double width)
{
    pv_piece whole = pv_arc(at, radius, 0, 2 * PV_PI);
    pv_draw_piece(d, &whole, width);
}

void pv_draw_frame(pv_drawing *d, pv_box box, double width)
{
    double h = width / 2;
    pv_vec corner[4] = {box.lo, {box.hi.x, box.lo.y}, box.hi, {box.lo.x, box.hi.y}};
    for (int i = 0; i < 4; i++) {
        pv_vec a = corner[i], b = corner[(i + 1) % 4], ahead = pv_unit(pv_sub(b, a));
        pv_draw_bar(d, pv_along(a, ahead, -h), pv_along(b, ahead, h), width);
    }
}

static pv_piece part_of(const pv_piece *piece, double from, double to, double length)
{
    if (!piece->arc)
        return pv_segment(pv_piece_point(piece, from), pv_piece_point(piece, to));
    double turn = piece->sweep / length;
    return pv_arc(piece->centre, piece->radius, piece->from + from * turn, (to - from) * turn);
}

void pv_draw_dashes(pv_drawing *d, const pv_piece *piece, double width, const double *pattern,
                    size_t n)
{
    double length = pv_piece_length(piece), period = 0;
    for (size_t i = 0; i < n; i++)
        period += pattern[i];
    /* So many whole periods, and the first dash once more. */
    double times = floor((length - pattern[0]) / period + 0.5);
    if (!(times >= 1) || times * (double)n > PV_DASHES_MAX) {
        pv_draw_piece(d, piece, width);
        return;
    }
    double stretch = length / (times * period + pattern[0]), at = 0;
    for (int k = 0; k <= (int)times; k++)
        for (size_t i = 0; i < (k < (int)times ? n : 1); i++) {
            double to = fmin(at + pattern[i] * stretch, length);
            if (i % 2 == 0) {
                pv_piece dash = part_of(piece, at, to, length);
                pv_draw_piece(d, &dash, width);
            }
            at = to;
        }
}

#define ARROW_HALF (10 * PV_PI / 180) /* half of the head's angle */

void pv_draw_arrow(pv_drawing *d, pv_vec tip, pv_vec ahead, double length)
{
    pv_vec rear = pv_along(tip, ahead, -length);
    pv_vec side = pv_scale(pv_left(ahead), length * tan(ARROW_HALF));
    pv_draw_move(d, tip);
    pv_draw_line(d, pv_add(rear, side));
    pv_draw_line(d, pv_sub(rear, side));
    pv_draw_close(d);
}
