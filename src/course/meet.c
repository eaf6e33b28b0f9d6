#include "course/meet.h"

/* Doubles of up to PV_COURSE_REACH (1e6 mm) are exact to 1e-10 mm, and sines to 1e-16. */
#define PARALLEL 1e-12 /* sine of the angle between two segments */
#define ROUNDING 1e-9  /* mm by which a crossing may miss a piece's end */

static bool lies_on(const pv_piece *piece, pv_vec p, double within)
{
    pv_vec foot = pv_piece_point(piece, pv_piece_nearest(piece, p));
    return pv_dist(foot, p) <= within;
}

/* Keeps p if both pieces reach it. */
static int keep(const pv_piece *a, const pv_piece *b, pv_vec p, double within, pv_vec *out, int n)
{
    if (!lies_on(a, p, within + ROUNDING) || !lies_on(b, p, within + ROUNDING))
        return n;
    out[n] = p;
    return n + 1;
}

static int segments_meet(const pv_piece *a, const pv_piece *b, pv_vec *out)
{
    pv_vec d = pv_sub(a->b, a->a), e = pv_sub(b->b, b->a);
    double cross = pv_cross_z(d, e);
    if (fabs(cross) <= PARALLEL * pv_len(d) * pv_len(e))
        return 0;
    double t = pv_cross_z(pv_sub(b->a, a->a), e) / cross;
    return keep(a, b, pv_along(a->a, d, t), 0, out, 0);
}

static int segment_meets_arc(const pv_piece *segment, const pv_piece *arc, double touch,
                             pv_vec *out)
{
    pv_vec along = pv_piece_heading(segment, 0), to = pv_sub(arc->centre, segment->a);
    double height = fabs(pv_cross_z(along, to)), r = arc->radius;
    pv_vec foot = pv_along(segment->a, along, pv_dot(to, along));
    if (fabs(height - r) <= touch)
        return keep(segment, arc, foot, touch, out, 0);
    if (height > r)
        return 0;
    double half = sqrt((r - height) * (r + height));
    int n = keep(segment, arc, pv_along(foot, along, -half), 0, out, 0);
    return keep(segment, arc, pv_along(foot, along, half), 0, out, n);
}

static int arcs_meet(const pv_piece *a, const pv_piece *b, double touch, pv_vec *out)
{
    pv_vec apart = pv_sub(b->centre, a->centre), u = pv_unit(apart);
    double d = pv_len(apart), r = a->radius, q = b->radius;
    if (d == 0 || (d <= touch && fabs(r - q) <= touch))
        return 0;
    if (fabs(d - (r + q)) <= touch)
        return keep(a, b, pv_along(a->centre, u, (d + r - q) / 2), touch, out, 0);
    if (fabs(d - fabs(r - q)) <= touch) {
        double s = r > q ? (d + r + q) / 2 : (d - r - q) / 2;
        return keep(a, b, pv_along(a->centre, u, s), touch, out, 0);
    }
    if (d > r + q || d < fabs(r - q))
        return 0;
    double along = (d * d + (r - q) * (r + q)) / (2 * d);
    double half = sqrt(fmax(0, (r - along) * (r + along)));
    pv_vec foot = pv_along(a->centre, u, along);
    int n = keep(a, b, pv_along(foot, pv_left(u), -half), 0, out, 0);
    return keep(a, b, pv_along(foot, pv_left(u), half), 0, out, n);
}

int pv_pieces_meet(const pv_piece *a, const pv_piece *b, double touch, pv_vec out[PV_MEET_MAX])
{
    if (a->arc && b->arc)
        return arcs_meet(a, b, touch, out);
    if (a->arc)
        return segment_meets_arc(b, a, touch, out);
    if (b->arc)
        return segment_meets_arc(a, b, touch, out);
    return segments_meet(a, b, out);
}
