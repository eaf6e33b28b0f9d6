#include "measure/station.h"

#include "base/memory.h"

#include <stdlib.h>

#define STEPS_MAX 200000.0 /* along one piece: a circle may be far larger than the mat */

bool pv_plateaus(double line_width, double px, double blur, double *near, double *far)
{
    double half = line_width / 2;
    double sharp = fmax(PV_PLATEAU_NEAR, PV_PLATEAU_NEAR_PX / px);
    /* A thin line's plateau ends in its middle; closer than two standard deviations there is none.
     */
    *near = fmax(sharp, fmin(PV_PLATEAU_NEAR_BLURS * blur / px, half - PV_PLATEAU_PX_MIN / px));
    *near = fmax(*near, 2 * blur / px);
    /* Coarse images: keep some plateau where there is room. */
    *far = fmin(fmax(PV_PLATEAU_FAR, *near + 3 / px), half);
    return (*far - *near) * px >= PV_PLATEAU_PX_MIN * (1 - 1e-9);
}

/* ---- is it clear? ---- */

#define SKIRT      0.05 /* mm at both sides of an edge where the plan isn't asked */
#define POINTS_IN  5    /* across the line's own side of an edge */
#define POINTS_OUT 6    /* and across the other */
/* mm along the line: one and a half bands to both sides, in five rows */
#define ROW_REACH (1.5 * PV_STATION_BAND)
static const double rows[] = {-ROW_REACH, -ROW_REACH / 2, 0, ROW_REACH / 2, ROW_REACH};

static bool contrasting(const pv_art *art, size_t a, size_t b)
{
    double one[3], two[3], square = 0;
    pv_colour_linear(&art->colours[a], one);
    pv_colour_linear(&art->colours[b], two);
    for (int c = 0; c < 3; c++)
        square += (one[c] - two[c]) * (one[c] - two[c]);
    return square >= PV_CONTRAST_MIN * PV_CONTRAST_MIN;
}

/* The box of all that a station looks at, with its clearance. */
static pv_box zone(const pv_station *st, double reach)
{
    pv_box box = pv_box_none();
    for (int i = -1; i <= 1; i += 2)
        for (int k = -1; k <= 1; k += 2) {
            pv_vec p = pv_along(st->at, st->heading, i * ROW_REACH);
            double bent = ROW_REACH * ROW_REACH * st->bend / 2;
            box = pv_box_add(box, pv_along(p, pv_left(st->heading), k * reach + bent));
        }
    return pv_box_grow(box, PV_CLEARANCE);
}

/* Its whole zone is printed, nothing lies or stands in it. */
static bool is_free(const pv_shown *shown, pv_box zone)
{
    pv_box mat = {{0, 0}, shown->art->size};
    if (!pv_box_holds(shown->window, zone.lo) || !pv_box_holds(shown->window, zone.hi) ||
        !pv_box_holds(mat, zone.lo) || !pv_box_holds(mat, zone.hi))
        return false;
    for (size_t i = 0; i < shown->n_clutter; i++)
        if (pv_box_meets(shown->clutter[i], zone))
            return false;
    return true;
}

/* The other colour matters more than what it is of: lines, fills and marks may stand beside. */
static bool clear(const pv_shown *shown, pv_station *st)
{
    const pv_art *art = shown->art;
    const pv_line *line = &art->lines[st->line];
    double reach = st->far + PV_CLEARANCE;
    pv_stand stand = {.line = st->line,
                      .at = st->at,
                      .heading = st->heading,
                      .bend = st->bend,
                      .rows = rows,
                      .n_rows = sizeof rows / sizeof *rows,
                      .skirt = SKIRT,
                      .inside = fmin(reach, line->width / 2),
                      .outside = reach,
                      .n_inside = POINTS_IN,
                      .n_outside = POINTS_OUT};
    if (!is_free(shown, zone(st, line->width / 2 + st->far)) ||
        !pv_scene_clear(shown->page, &stand, st->beside))
        return false;
    st->lean = pv_colour_lean(&art->colours[line->colour], &art->colours[st->beside[1]],
                              &art->colours[st->beside[0]]);
    return contrasting(art, line->colour, st->beside[0]) &&
           contrasting(art, line->colour, st->beside[1]);
}

/* ---- where they stand ---- */

typedef struct walk {
    const pv_shown *shown;
    const pv_frame *frame;
    const pv_optics *optics;
    double pitch;
    pv_stations *out; /* NULL: only count what lies in the window */
    double visible;   /* mm of centre line in the window */
} walk;

static bool add_station(walk *w, const pv_line *line, pv_station *st)
{
    pv_local local = pv_frame_at(w->frame, st->at);
    double px = pv_local_px_across(&local, st->heading);
    if (!(px > 0) || !pv_plateaus(line->width, px, w->optics->blur, &st->near, &st->far) ||
        !clear(w->shown, st))
        return true;
    if (!PV_GROW(w->out->items, w->out->n, w->out->cap))
        return false;
    w->out->items[w->out->n++] = *st;
    return true;
}

static bool walk_piece(walk *w, size_t index, size_t piece_index)
{
    const pv_line *line = &w->shown->art->lines[index];
    const pv_piece *piece = &line->pieces[piece_index];
    pv_box box = pv_box_grow(pv_piece_box(piece), line->width / 2);
    double length = pv_piece_length(piece);
    double bend = piece->arc ? copysign(1 / piece->radius, piece->sweep) : 0;
    /* A tight arc's inner edge is no edge to average along. */
    bool tight = piece->arc && piece->radius - line->width / 2 < 5 * PV_STATION_BAND;
    if (!(length > 0) || tight || !pv_box_meets(box, w->shown->window))
        return true;
    double n = fmin(ceil(length / w->pitch), STEPS_MAX);
    size_t steps = (size_t)n;
    for (size_t i = 0; i < steps; i++) {
        pv_station st = {.line = index, .piece = piece_index, .bend = bend};
        st.s = ((double)i + 0.5) * length / n;
        st.at = pv_piece_point(piece, st.s);
        st.heading = pv_piece_heading(piece, st.s);
        if (!pv_box_holds(w->shown->window, st.at))
            continue;
        w->visible += length / n;
        if (w->out != NULL && !add_station(w, line, &st))
            return false;
    }
    return true;
}

static bool walk_lines(walk *w)
{
    for (size_t i = 0; i < w->shown->n_lines; i++)
        for (size_t k = 0; k < w->shown->art->lines[w->shown->lines[i]].n_pieces; k++)
            if (!walk_piece(w, w->shown->lines[i], k))
                return false;
    return true;
}

bool pv_stations_plan(const pv_shown *shown, const pv_frame *frame, const pv_optics *optics,
                      double pitch, pv_stations *out)
{
    *out = (pv_stations){0};
    walk w = {.shown = shown, .frame = frame, .optics = optics, .pitch = pitch};
    bool good = walk_lines(&w);
    w.pitch = fmax(w.pitch, w.visible / PV_STATIONS_MAX);
    w.out = out;
    good = good && walk_lines(&w);
    if (!good) {
        free(out->items);
        *out = (pv_stations){0};
    }
    return good;
}
