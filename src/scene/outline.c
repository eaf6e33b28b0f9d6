#include "scene/outline.h"

#include <stdlib.h>

#define SLACK 1e-9 /* mm, see pv_solid_covers */

typedef struct walk {
    pv_solid_visit *visit;
    void *context;
    double half; /* the line's width / 2 */
} walk;

static bool polygon(const walk *w, int n, const pv_vec *corners)
{
    pv_solid solid = {.kind = PV_SOLID_POLYGON, .n = n};
    for (int i = 0; i < n; i++)
        solid.corner[i] = corners[i];
    return w->visit(w->context, &solid);
}

static bool sector(const walk *w, pv_vec centre, double inner, double outer, double from,
                   double sweep)
{
    pv_solid solid = {.kind = PV_SOLID_SECTOR, .centre = centre, .inner = inner, .outer = outer};
    solid.from = sweep < 0 ? from + sweep : from;
    solid.sweep = fabs(sweep);
    return w->visit(w->context, &solid);
}

/* A box along the direction t from p, `length` long. */
static bool box(const walk *w, pv_vec p, pv_vec t, double length)
{
    pv_vec side = pv_scale(pv_left(t), w->half);
    pv_vec end = pv_along(p, t, length);
    pv_vec corners[4] = {pv_sub(p, side), pv_sub(end, side), pv_add(end, side), pv_add(p, side)};
    return polygon(w, 4, corners);
}

static bool piece_solids(const walk *w, const pv_piece *piece)
{
    if (!piece->arc)
        return box(w, piece->a, pv_piece_heading(piece, 0), pv_piece_length(piece));
    double outer = piece->radius + w->half, inner = piece->radius - w->half;
    if (!sector(w, piece->centre, fmax(inner, 0), outer, piece->from, piece->sweep))
        return false;
    if (inner >= 0 || fabs(piece->sweep) >= 2 * PV_PI)
        return true;
    return sector(w, piece->centre, 0, -inner, piece->from + PV_PI, piece->sweep);
}

/* The wedge on the outer side of a corner at p, from direction t to direction u. */
static bool corner(const walk *w, pv_vec p, pv_vec t, pv_vec u)
{
    double cross = pv_cross_z(t, u), dot = pv_dot(t, u);
    if (fabs(cross) <= PV_TANGENT)
        return true; /* straight on, or straight back: a bevel of no area */
    double out = cross > 0 ? -w->half : w->half;
    pv_vec a = pv_along(p, pv_left(t), out), b = pv_along(p, pv_left(u), out);
    /* The mitre's tip is half / cos(turn / 2) from the corner; cos^2 = (1 + dot) / 2. */
    bool mitred = 2 <= PV_MITRE_LIMIT * PV_MITRE_LIMIT * (1 + dot);
    pv_vec tip = pv_add(p, pv_scale(pv_sub(pv_add(a, b), pv_scale(p, 2)), 1 / (1 + dot)));
    if (cross > 0) {
        pv_vec corners[4] = {p, a, mitred ? tip : b, b};
        return polygon(w, mitred ? 4 : 3, corners);
    }
    pv_vec corners[4] = {p, b, mitred ? tip : a, a};
    return polygon(w, mitred ? 4 : 3, corners);
}

/* What an open line's end adds; `out` points away from the line. */
static bool cap(const walk *w, pv_ends ends, pv_vec p, pv_vec out)
{
    switch (ends) {
    case PV_ENDS_FLAT:
        break;
    case PV_ENDS_SQUARE:
        return box(w, p, out, w->half);
    case PV_ENDS_ROUND:
        return sector(w, p, 0, w->half, atan2(out.y, out.x) - PV_PI / 2, PV_PI);
    }
    return true;
}

bool pv_line_each_solid(const pv_line *line, pv_solid_visit *visit, void *context)
{
    const walk w = {visit, context, line->width / 2};
    const pv_piece *first = NULL, *last = NULL;
    for (size_t i = 0; i < line->n_pieces; i++) {
        const pv_piece *piece = &line->pieces[i];
        double length = pv_piece_length(piece);
        if (!(length > 0))
            continue;
        if (last != NULL && !corner(&w, piece->a, pv_piece_heading(last, pv_piece_length(last)),
                                    pv_piece_heading(piece, 0)))
            return false;
        if (!piece_solids(&w, piece))
            return false;
        first = first != NULL ? first : piece;
        last = piece;
    }
    if (first == NULL)
        return true;
    pv_vec start = pv_piece_heading(first, 0), end = pv_piece_heading(last, pv_piece_length(last));
    if (line->closed)
        return corner(&w, first->a, end, start);
    return cap(&w, line->ends, first->a, pv_scale(start, -1)) && cap(&w, line->ends, last->b, end);
}

static bool polygon_covers(const pv_solid *solid, pv_vec p)
{
    for (int i = 0; i < solid->n; i++) {
        pv_vec a = solid->corner[i], b = solid->corner[(i + 1) % solid->n];
        pv_vec edge = pv_sub(b, a);
        if (pv_cross_z(edge, pv_sub(p, a)) < -SLACK * pv_len(edge))
            return false;
    }
    return solid->n > 0;
}

bool pv_solid_covers(const pv_solid *solid, pv_vec p)
{
    if (solid->kind == PV_SOLID_POLYGON)
        return polygon_covers(solid, p);
    pv_vec d = pv_sub(p, solid->centre);
    double r = pv_len(d);
    if (r > solid->outer + SLACK || r < solid->inner - SLACK)
        return false;
    if (solid->sweep >= 2 * PV_PI || r <= SLACK)
        return true;
    double turn = fmod(atan2(d.y, d.x) - solid->from, 2 * PV_PI);
    if (turn < 0)
        turn += 2 * PV_PI;
    double slack = SLACK / r;
    return turn <= solid->sweep + slack || turn >= 2 * PV_PI - slack;
}

pv_box pv_solid_box(const pv_solid *solid)
{
    pv_box b = pv_box_none();
    if (solid->kind == PV_SOLID_POLYGON) {
        for (int i = 0; i < solid->n; i++)
            b = pv_box_add(b, solid->corner[i]);
        return b;
    }
    /* A ring sector's extremes lie on its two arcs. */
    const double radii[2] = {solid->inner, solid->outer};
    for (int i = 0; i < 2; i++) {
        pv_piece arc = pv_arc(solid->centre, radii[i], solid->from, solid->sweep);
        pv_box one = pv_piece_box(&arc);
        b = pv_box_add(pv_box_add(b, one.lo), one.hi);
    }
    return b;
}
