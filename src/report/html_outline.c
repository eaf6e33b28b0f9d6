/* Outlines of lines: each side is the centre line moved by half a width, mitred as the paint is
 * (scene/outline.h). On the inside of a corner with an arc the two sides simply meet: the drawing
 * is thin and for the eye. */
#include "report/html.h"

#include "scene/outline.h"

#include <math.h>

#define ARC_PART (0.75 * PV_PI) /* SVG cannot tell a whole circle from none */

typedef struct tracer {
    pv_text *to;
    const pv_line *line;
    double half; /* of the width */
    pv_vec origin;
    double height;
    bool begun;
} tracer;

static void go_to(tracer *t, pv_vec mat)
{
    pv_vec p = pv_sub(mat, t->origin);
    pv_svg_point(t->to, t->begun ? 'L' : 'M', pv_v(p.x, t->height - p.y));
    t->begun = true;
}

static void arc_to(tracer *t, pv_vec centre, double radius, double from, double sweep)
{
    int n = (int)fmax(ceil(fabs(sweep) / ARC_PART), 1);
    for (int i = 1; i <= n; i++) {
        pv_vec p = pv_sub(pv_add(centre, pv_polar(radius, from + sweep * i / n)), t->origin);
        pv_svg_point(t->to, 'A', pv_v(radius, radius));
        pv_text_add(t->to, " 0 0 %d", sweep < 0);
        pv_svg_point(t->to, ' ', pv_v(p.x, t->height - p.y));
    }
}

static pv_piece reversed(pv_piece p)
{
    pv_piece out = p;
    out.a = p.b;
    out.b = p.a;
    out.from = p.from + p.sweep;
    out.sweep = -p.sweep;
    return out;
}

/* The i-th piece of a way along the line, or back along it. */
static pv_piece piece_at(const tracer *t, size_t i, bool back)
{
    size_t n = t->line->n_pieces;
    return back ? reversed(t->line->pieces[n - 1 - i % n]) : t->line->pieces[i % n];
}

typedef struct corner {
    bool inner; /* both sides are cut where they meet */
    bool mitred;
    pv_vec tip;
} corner;

/* Where the left side goes from one piece to the next. */
static corner corner_of(const tracer *t, const pv_piece *p, const pv_piece *q)
{
    pv_vec in = pv_piece_heading(p, pv_piece_length(p)), out = pv_piece_heading(q, 0);
    double turn = atan2(pv_cross_z(in, out), pv_dot(in, out));
    corner c = {false, false, p->b};
    if (fabs(turn) < PV_TANGENT)
        return c;
    double reach = 1 / fmax(cos(turn / 2), 1e-9), cut = t->half * tan(fabs(turn) / 2);
    pv_vec way = pv_unit(pv_add(pv_left(in), pv_left(out)));
    c.tip = pv_along(p->b, way, t->half * reach);
    c.inner =
        turn > 0 && !p->arc && !q->arc && cut < pv_piece_length(p) && cut < pv_piece_length(q);
    c.mitred = turn < 0 && reach <= PV_MITRE_LIMIT;
    return c;
}

/* The left side of one piece; `before` and `after` cut it short, or are NULL. */
static void trace_piece(tracer *t, const pv_piece *p, const corner *before, const corner *after)
{
    double length = pv_piece_length(p);
    pv_vec first = pv_along(p->a, pv_left(pv_piece_heading(p, 0)), t->half);
    pv_vec last = pv_along(p->b, pv_left(pv_piece_heading(p, length)), t->half);
    go_to(t, before != NULL && before->inner ? before->tip : first);
    double radius = p->radius + (p->sweep > 0 ? -t->half : t->half);
    if (p->arc && radius > 0)
        arc_to(t, p->centre, radius, p->from, p->sweep);
    else
        go_to(t, after != NULL && after->inner ? after->tip : last);
    if (after != NULL && after->mitred)
        go_to(t, after->tip);
}

/* The left side of the pieces from `first` on; a closed line's joins its own beginning. */
static void trace_side(tracer *t, size_t first, size_t n, bool back, bool whole)
{
    for (size_t i = 0; i < n; i++) {
        pv_piece p = piece_at(t, first + i, back);
        pv_piece q = piece_at(t, first + i + 1, back);
        pv_piece o = piece_at(t, first + i + t->line->n_pieces - 1, back);
        corner before = corner_of(t, &o, &p), after = corner_of(t, &p, &q);
        trace_piece(t, &p, i > 0 || whole ? &before : NULL, i + 1 < n || whole ? &after : NULL);
    }
}

/* Around an end, from the left side to the right one. */
static void trace_end(tracer *t, const pv_piece *p)
{
    pv_vec way = pv_piece_heading(p, pv_piece_length(p)), left = pv_left(way);
    pv_vec on = pv_scale(way, t->half);
    if (t->line->ends == PV_ENDS_SQUARE) {
        go_to(t, pv_add(pv_along(p->b, left, t->half), on));
        go_to(t, pv_add(pv_along(p->b, left, -t->half), on));
    } else if (t->line->ends == PV_ENDS_ROUND) {
        arc_to(t, p->b, t->half, atan2(left.y, left.x), -PV_PI);
    }
}

static void shut(tracer *t)
{
    if (t->begun)
        pv_text_add(t->to, "Z");
    t->begun = false;
}

/* A line with all its pieces. */
static void trace_whole(tracer *t)
{
    size_t n = t->line->n_pieces;
    for (int back = 0; back < 2; back++) {
        trace_side(t, 0, n, back != 0, t->line->closed);
        pv_piece end = piece_at(t, n - 1, back != 0);
        if (t->line->closed)
            shut(t);
        else
            trace_end(t, &end);
    }
    shut(t);
}

void pv_html_outline(pv_text *to, const pv_line *line, pv_box window, pv_vec origin, double height,
                     size_t *room)
{
    tracer t = {
        .to = to, .line = line, .half = line->width / 2, .origin = origin, .height = height};
    pv_box near = pv_box_grow(window, line->width);
    size_t seen = 0, n = line->n_pieces;
    for (size_t i = 0; i < n; i++)
        seen += pv_box_meets(pv_piece_box(&line->pieces[i]), near);
    if (n == 0 || seen > *room)
        return;
    *room -= seen;
    if (seen == n) {
        trace_whole(&t);
        return;
    }
    /* Of a longer line, runs of what is near, both sides each. */
    for (size_t i = 0, run; i < n; i += run + 1) {
        for (run = 0; i + run < n && pv_box_meets(pv_piece_box(&line->pieces[i + run]), near);)
            run++;
        for (int back = 0; run > 0 && back < 2; back++) {
            trace_side(&t, back ? n - i - run : i, run, back != 0, false);
            t.begun = false;
        }
    }
}
