#include "draw/gain.h"

#include "base/memory.h"
#include "draw/gain_area.h"

#include <math.h>
#include <stdlib.h>

/* How finely edges are looked at: assumed fine enough. */
#define BESIDE    0.05  /* mm from an edge, where the colour beside it is looked up */
#define STEP      0.5   /* mm along a line between looks */
#define STEPS_MAX 4000  /* to a piece */
#define PLACE     0.002 /* mm, to which the end of a colour is found */
#define UNDER     0.2   /* mm that a strip reaches beneath its line */
#define SAME      1e-6  /* mm */

double pv_gain_stroke(double width, double ink, bool light)
{
    return fmax(light ? width + 2 * ink : width - 2 * ink, fmin(width, PV_GAIN_LEAST));
}

/* A stretch of one side of a line's piece, along which the edge is to move inwards by as much. */
typedef struct stretch {
    size_t piece;
    int side;        /* 1: left, -1: right */
    double from, to; /* mm along the piece */
    double inwards;
} stretch;

typedef struct gaining {
    const pv_scene *mat;
    const pv_art *art;
    double ink;
    pv_art *out;
    const pv_line *line; /* being looked at */
    size_t index;
    double moved[2]; /* mm by which its first and its last end have moved inwards */
    stretch *stretches;
    size_t n_stretches, cap_stretches;
    bool failed;
} gaining;

/* How far the line's edge is to move inwards because of what stands at p; NAN where that is the
 * line itself. */
static double inwards_at(gaining *g, pv_vec p)
{
    pv_spot spot = pv_scene_at(g->mat, p);
    if (spot.off) /* cut off, and bled over */
        return 0;
    if (!spot.mark && spot.line == (long)g->index)
        return NAN;
    return g->ink *
           pv_colour_spread(&g->art->colours[g->line->colour], &g->art->colours[spot.colour]);
}

static double inwards_beside(gaining *g, const pv_piece *piece, int side, double s)
{
    pv_vec left = pv_left(pv_piece_heading(piece, s));
    return inwards_at(
        g, pv_along(pv_piece_point(piece, s), left, side * (g->line->width / 2 + BESIDE)));
}

static bool same(double a, double b)
{
    return fabs(a - b) < SAME || (isnan(a) && isnan(b));
}

static void add_stretch(gaining *g, const stretch *one)
{
    if (isnan(one->inwards) || g->failed)
        return;
    if (PV_GROW(g->stretches, g->n_stretches, g->cap_stretches))
        g->stretches[g->n_stretches++] = *one;
    else
        g->failed = true;
}

/* Where between two places the colour changes. */
static double change(gaining *g, const pv_piece *piece, int side, double a, double b, double at_a)
{
    while (b - a > PLACE) {
        double m = (a + b) / 2;
        if (same(inwards_beside(g, piece, side, m), at_a))
            a = m;
        else
            b = m;
    }
    return (a + b) / 2;
}

static void walk_side(gaining *g, size_t index, int side)
{
    const pv_piece *piece = &g->line->pieces[index];
    double length = pv_piece_length(piece);
    if (!(length > 2 * PLACE))
        return;
    size_t n = (size_t)fmin(ceil(length / STEP), STEPS_MAX);
    double before = PLACE / 2;
    stretch now = {index, side, 0, length, inwards_beside(g, piece, side, before)};
    for (size_t i = 1; i <= n && !g->failed; i++) {
        double s = fmin((double)i * length / (double)n, length - PLACE / 2);
        double inwards = inwards_beside(g, piece, side, s);
        if (!same(inwards, now.inwards)) {
            now.to = change(g, piece, side, before, s, now.inwards);
            add_stretch(g, &now);
            now = (stretch){index, side, now.to, length, inwards};
        }
        before = s;
    }
    now.to = length;
    add_stretch(g, &now);
}

/* ---- the line ---- */

/* An end moves inwards along its piece; by how much it does. */
static double move_end(pv_piece *piece, bool first, double inwards)
{
    double length = pv_piece_length(piece);
    if (inwards > length / 2)
        return 0;
    double from = first ? inwards : 0, to = first ? length : length - inwards;
    if (piece->arc) {
        double turn = piece->sweep / length;
        *piece =
            pv_arc(piece->centre, piece->radius, piece->from + turn * from, turn * (to - from));
        return inwards;
    }
    pv_vec way = pv_piece_heading(piece, 0);
    pv_vec a = pv_along(piece->a, way, from), b = pv_along(piece->a, way, to);
    *piece = pv_segment(a, b);
    return inwards;
}

static void move_ends(gaining *g, pv_line *to)
{
    g->moved[0] = g->moved[1] = 0;
    if (to->closed || to->ends != PV_ENDS_FLAT || to->n_pieces == 0)
        return;
    for (int first = 0; first < 2; first++) {
        pv_piece *piece = &to->pieces[first ? 0 : to->n_pieces - 1];
        double s = first ? 0 : pv_piece_length(piece);
        pv_vec out = pv_scale(pv_piece_heading(piece, s), first ? -1 : 1);
        double inwards = inwards_at(g, pv_along(pv_piece_point(piece, s), out, BESIDE));
        if (!isnan(inwards) && pv_piece_length(piece) > 0)
            g->moved[!first] = move_end(piece, first == 1, inwards);
    }
}

static pv_line *new_line(gaining *g)
{
    pv_art *out = g->out;
    if (g->failed || !PV_GROW(out->lines, out->n_lines, out->cap_lines)) {
        g->failed = true;
        return NULL;
    }
    pv_line *line = &out->lines[out->n_lines];
    *line = *g->line;
    line->pieces = NULL;
    out->n_lines++;
    return line;
}

/* A thin line along a stretch, from beneath the core's edge to where the line's edge should be; it
 * ends where the core does. p is the core's piece. */
static void add_strip(gaining *g, const stretch *st, pv_piece p, double most)
{
    const pv_piece *whole = &g->line->pieces[st->piece];
    double length = pv_piece_length(&p), outer = g->line->width / 2 - st->inwards;
    double inner = fmax(g->line->width / 2 - most - UNDER, 0);
    double middle = st->side * (inner + outer) / 2, off = st->piece == 0 ? g->moved[0] : 0;
    double from = st->from > 0 ? st->from - off : 0;
    double to = st->to < pv_piece_length(whole) ? st->to - off : length;
    if (!(from < to))
        return;
    pv_piece piece;
    if (p.arc) {
        double turn = p.sweep / length, radius = p.radius - copysign(middle, middle * p.sweep);
        if (radius <= (outer - inner) / 2)
            return;
        piece = pv_arc(p.centre, radius, p.from + turn * from, turn * (to - from));
    } else {
        pv_vec left = pv_left(pv_piece_heading(&p, 0));
        piece = pv_segment(pv_along(pv_piece_point(&p, from), left, middle),
                           pv_along(pv_piece_point(&p, to), left, middle));
    }
    pv_line *line = new_line(g);
    if (line == NULL)
        return;
    line->pieces = PV_NEW(pv_piece);
    line->n_pieces = line->pieces != NULL ? 1 : 0;
    g->failed = line->pieces == NULL;
    line->closed = false;
    line->ends = PV_ENDS_FLAT;
    line->width = outer - inner;
    if (!g->failed)
        line->pieces[0] = piece;
}

static void gain_line(gaining *g, size_t index)
{
    g->line = &g->art->lines[index];
    g->index = index;
    g->n_stretches = 0;
    for (size_t i = 0; i < g->line->n_pieces; i++)
        for (int side = -1; side <= 1; side += 2)
            walk_side(g, i, side);
    double most = -HUGE_VAL, room = fmax((g->line->width - PV_GAIN_LEAST) / 2, 0);
    for (size_t i = 0; i < g->n_stretches; i++)
        most = fmax(most, g->stretches[i].inwards);
    most = g->n_stretches > 0 ? fmin(most, room) : 0;
    pv_line *core = new_line(g);
    if (core == NULL)
        return;
    core->width -= 2 * most;
    core->pieces = pv_copy_bytes(g->line->pieces, g->line->n_pieces, sizeof *g->line->pieces);
    if (core->pieces == NULL) {
        core->n_pieces = 0;
        g->failed = true;
        return;
    }
    move_ends(g, core);
    size_t own = (size_t)(core - g->out->lines); /* the list grows */
    for (size_t i = 0; i < g->n_stretches && !g->failed; i++)
        if (g->stretches[i].inwards < most - SAME)
            add_strip(g, &g->stretches[i], g->out->lines[own].pieces[g->stretches[i].piece], most);
}

/* ---- all ---- */

static bool gain_areas(gaining *g, pv_item_kind kind, const pv_area *from, pv_area **to, size_t n)
{
    *to = PV_NEW_ARRAY(n, pv_area);
    bool good = *to != NULL;
    for (size_t i = 0; good && i < n; i++)
        good = pv_gain_area(&(pv_gain_areas){g->mat, g->ink, kind, i}, &from[i], &(*to)[i]);
    return good;
}

bool pv_gain_art(const pv_scene *mat, double ink, pv_art *out)
{
    const pv_art *art = mat->art;
    gaining g = {.mat = mat, .art = art, .ink = ink, .out = out};
    *out = *art;
    out->users = NULL;
    out->lines = NULL;
    out->n_lines = out->cap_lines = 0;
    out->fills = out->marks = NULL;
    for (size_t i = 0; i < art->n_lines && !g.failed; i++)
        gain_line(&g, i);
    bool good = !g.failed && gain_areas(&g, PV_ITEM_FILL, art->fills, &out->fills, art->n_fills) &&
                gain_areas(&g, PV_ITEM_MARK, art->marks, &out->marks, art->n_marks);
    free(g.stretches);
    if (!good)
        pv_gain_drop(out);
    return good;
}

static void drop_areas(pv_area *areas, size_t n)
{
    for (size_t i = 0; areas != NULL && i < n; i++) {
        areas[i].id = NULL;
        pv_area_clear(&areas[i]);
    }
    free(areas);
}

void pv_gain_drop(pv_art *art)
{
    for (size_t i = 0; i < art->n_lines; i++)
        free(art->lines[i].pieces);
    free(art->lines);
    drop_areas(art->fills, art->n_fills);
    drop_areas(art->marks, art->n_marks);
    *art = (pv_art){0};
}
