#include "scene/piece.h"

pv_piece pv_segment(pv_vec a, pv_vec b)
{
    return (pv_piece){.a = a, .b = b};
}

pv_piece pv_arc(pv_vec centre, double radius, double from, double sweep)
{
    if (fabs(sweep) > 2 * PV_PI)
        sweep = copysign(2 * PV_PI, sweep);
    pv_piece piece = {.arc = true, .centre = centre, .radius = radius, .from = from};
    piece.sweep = sweep;
    piece.a = pv_add(centre, pv_polar(radius, from));
    /* A whole circle ends exactly where it starts, whatever rounding the angles brought. */
    if (fabs(sweep) >= 2 * PV_PI * (1 - 1e-14))
        piece.b = piece.a;
    else
        piece.b = pv_add(centre, pv_polar(radius, from + sweep));
    return piece;
}

double pv_piece_length(const pv_piece *piece)
{
    return piece->arc ? piece->radius * fabs(piece->sweep) : pv_dist(piece->a, piece->b);
}

/* The share of the way that a distance is; 0 where the piece has no length. */
static double share(const pv_piece *piece, double s)
{
    double length = pv_piece_length(piece);
    return length > 0 ? s / length : 0;
}

pv_vec pv_piece_point(const pv_piece *piece, double s)
{
    double t = share(piece, s);
    if (t == 0)
        return piece->a;
    if (t == 1)
        return piece->b;
    if (piece->arc)
        return pv_add(piece->centre, pv_polar(piece->radius, piece->from + t * piece->sweep));
    return pv_along(piece->a, pv_sub(piece->b, piece->a), t);
}

pv_vec pv_piece_heading(const pv_piece *piece, double s)
{
    if (!piece->arc)
        return pv_unit(pv_sub(piece->b, piece->a));
    double angle = piece->from + share(piece, s) * piece->sweep;
    pv_vec outward = pv_polar(piece->sweep < 0 ? -1 : 1, angle);
    return pv_left(outward);
}

/* How far into the sweep an angle lies, from 0 to 2 pi. */
static double into_sweep(const pv_piece *arc, double angle)
{
    double turn = fmod(arc->sweep < 0 ? arc->from - angle : angle - arc->from, 2 * PV_PI);
    return turn < 0 ? turn + 2 * PV_PI : turn;
}

static double arc_nearest(const pv_piece *arc, pv_vec p)
{
    pv_vec d = pv_sub(p, arc->centre);
    if (d.x == 0 && d.y == 0)
        return 0; /* all of it is equally near */
    double turn = into_sweep(arc, atan2(d.y, d.x));
    if (turn <= fabs(arc->sweep))
        return turn * arc->radius;
    return pv_dist(p, arc->a) <= pv_dist(p, arc->b) ? 0 : pv_piece_length(arc);
}

double pv_piece_nearest(const pv_piece *piece, pv_vec p)
{
    if (piece->arc)
        return arc_nearest(piece, p);
    pv_vec along = pv_sub(piece->b, piece->a);
    double length = pv_len(along);
    if (length == 0)
        return 0;
    double s = pv_dot(pv_sub(p, piece->a), along) / length;
    return fmin(fmax(s, 0), length);
}

pv_box pv_piece_box(const pv_piece *piece)
{
    pv_box box = pv_box_add(pv_box_add(pv_box_none(), piece->a), piece->b);
    if (!piece->arc)
        return box;
    for (int quarter = 0; quarter < 4; quarter++) {
        static const pv_vec axis[4] = {{1, 0}, {0, 1}, {-1, 0}, {0, -1}};
        if (into_sweep(piece, quarter * PV_PI / 2) <= fabs(piece->sweep))
            box = pv_box_add(box, pv_along(piece->centre, axis[quarter], piece->radius));
    }
    return box;
}
