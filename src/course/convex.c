#include "course/convex.h"

#include "base/numeric.h"

#include "course/meet.h"

#include <stdlib.h>

static int by_x(const void *x, const void *y)
{
    const pv_vec *a = x, *b = y;
    int order = pv_order(a->x, b->x);
    return order != 0 ? order : pv_order(a->y, b->y);
}

/* Appends p to a chain that only turns left, which has `least` corners that stay. */
static int turn_left(pv_vec *chain, int n, int least, pv_vec p)
{
    while (n > least &&
           pv_cross_z(pv_sub(chain[n - 1], chain[n - 2]), pv_sub(p, chain[n - 1])) <= 0)
        n--;
    chain[n] = p;
    return n + 1;
}

/* Andrew's monotone chain: the lower hull from left to right, then the upper one back. */
pv_convex pv_convex_hull(const pv_vec *points, int n)
{
    pv_vec sorted[PV_CONVEX_MAX] = {{0}}, chain[2 * PV_CONVEX_MAX] = {{0}};
    pv_convex hull = {.n = 0};
    for (int i = 0; i < n; i++)
        sorted[i] = points[i];
    qsort(sorted, (size_t)n, sizeof *sorted, by_x);
    int made = 0;
    for (int i = 0; i < n; i++)
        made = turn_left(chain, made, 1, sorted[i]);
    int least = made;
    for (int i = n - 1; i-- > 0;)
        made = turn_left(chain, made, least, sorted[i]);
    bool back = made > 1 && by_x(&chain[0], &chain[made - 1]) == 0;
    hull.n = back ? made - 1 : made;
    for (int i = 0; i < hull.n; i++)
        hull.corner[i] = chain[i];
    return hull;
}

bool pv_convex_covers(const pv_convex *convex, pv_vec p)
{
    if (convex->n < 3)
        return false;
    for (int i = 0; i < convex->n; i++) {
        pv_vec a = convex->corner[i], b = convex->corner[(i + 1) % convex->n];
        if (pv_cross_z(pv_sub(b, a), pv_sub(p, a)) < 0)
            return false;
    }
    return true;
}

pv_box pv_convex_box(const pv_convex *convex)
{
    pv_box box = pv_box_none();
    for (int i = 0; i < convex->n; i++)
        box = pv_box_add(box, convex->corner[i]);
    return box;
}

typedef struct nearest {
    double distance;
    pv_vec at;
} nearest;

static void consider(nearest *best, pv_vec on_piece, pv_vec other)
{
    double d = pv_dist(on_piece, other);
    if (d < best->distance)
        *best = (nearest){d, on_piece};
}

/* Two curves that don't meet are nearest at an end of either, or where a normal of both is: for a
 * segment and an arc, on the line through the centre at right angles to the segment. */
static void segment_to_piece(nearest *best, pv_vec a, pv_vec b, const pv_piece *piece)
{
    pv_piece side = pv_segment(a, b);
    pv_vec met[PV_MEET_MAX], ends[2] = {a, b}, theirs[2] = {piece->a, piece->b};
    if (pv_pieces_meet(&side, piece, 0, met) > 0)
        *best = (nearest){0, met[0]};
    for (int i = 0; i < 2; i++) {
        consider(best, pv_piece_point(piece, pv_piece_nearest(piece, ends[i])), ends[i]);
        consider(best, theirs[i], pv_piece_point(&side, pv_piece_nearest(&side, theirs[i])));
    }
    if (piece->arc) {
        pv_vec foot = pv_piece_point(&side, pv_piece_nearest(&side, piece->centre));
        consider(best, pv_piece_point(piece, pv_piece_nearest(piece, foot)), foot);
    }
}

static void border_to_piece(nearest *best, const pv_convex *convex, const pv_piece *piece)
{
    int sides = convex->n > 2 ? convex->n : 1;
    for (int i = 0; i < sides && best->distance > 0; i++)
        segment_to_piece(best, convex->corner[i], convex->corner[(i + 1) % convex->n], piece);
}

double pv_convex_to_piece(const pv_convex *convex, const pv_piece *piece, pv_vec *at)
{
    nearest best = {HUGE_VAL, piece->a};
    if (pv_convex_covers(convex, piece->a))
        best.distance = 0;
    border_to_piece(&best, convex, piece);
    if (at != NULL)
        *at = best.at;
    return best.distance;
}

/* The pieces around a solid; one to four. */
static int border(const pv_solid *solid, pv_piece out[4])
{
    int n = 0;
    if (solid->kind == PV_SOLID_POLYGON) {
        for (; n < solid->n; n++)
            out[n] = pv_segment(solid->corner[n], solid->corner[(n + 1) % solid->n]);
        return n;
    }
    out[n++] = pv_arc(solid->centre, solid->outer, solid->from, solid->sweep);
    if (solid->inner > 0)
        out[n++] = pv_arc(solid->centre, solid->inner, solid->from, solid->sweep);
    if (solid->sweep >= 2 * PV_PI)
        return n;
    for (int i = 0; i < 2; i++) {
        pv_vec out_along = pv_polar(1, solid->from + (i == 0 ? 0 : solid->sweep));
        out[n++] = pv_segment(pv_along(solid->centre, out_along, solid->inner),
                              pv_along(solid->centre, out_along, solid->outer));
    }
    return n;
}

double pv_convex_to_solid(const pv_convex *convex, const pv_solid *solid, pv_vec *at)
{
    pv_piece around[4] = {{.arc = false}};
    int n = border(solid, around);
    nearest best = {HUGE_VAL, around[0].a};
    for (int i = 0; i < convex->n; i++)
        if (pv_solid_covers(solid, convex->corner[i]))
            best = (nearest){0, convex->corner[i]};
    if (pv_convex_covers(convex, around[0].a))
        best.distance = 0;
    for (int i = 0; i < n && best.distance > 0; i++)
        border_to_piece(&best, convex, &around[i]);
    if (at != NULL)
        *at = best.at;
    return best.distance;
}
