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

typedef struct spot_check {
    const pv_shown *scene; /* around the station */
    const pv_line *line;
    double far;
} spot_check;

/* Rows at which the model is asked, along the line, in bands. */
static const double rows[] = {-1.5, -0.75, 0, 0.75, 1.5};
#define ROWS (sizeof rows / sizeof *rows)

static pv_vec place(const pv_station *st, double along, double across)
{
    pv_vec p = pv_along(st->at, st->heading, along);
    /* A curved line leaves its tangent by along^2 / 2 radius. */
    return pv_along(p, pv_left(st->heading), across + along * along * st->bend / 2);
}

/* The line itself, uncovered, from its edge inwards. */
static bool inside_clear(const spot_check *check, const pv_station *st, double side)
{
    double half = check->line->width / 2;
    double depth = fmin(check->far + PV_CLEARANCE, half);
    for (size_t r = 0; r < ROWS; r++) {
        for (int i = 0; i <= 4; i++) {
            double across = side * (half - 0.05 - (depth - 0.05) * i / 4);
            pv_spot spot =
                pv_shown_spot(check->scene, place(st, rows[r] * PV_STATION_BAND, across));
            if (spot.mark || spot.line < 0 || check->scene->art->lines + spot.line != check->line)
                return false;
        }
    }
    return true;
}

/* One colour, not of this line, from the edge outwards. */
static bool outside_clear(const spot_check *check, const pv_station *st, double side,
                          size_t *colour)
{
    double half = check->line->width / 2;
    bool first = true;
    for (size_t r = 0; r < ROWS; r++) {
        for (int i = 0; i <= 5; i++) {
            double across = side * (half + 0.05 + (check->far + PV_CLEARANCE - 0.05) * i / 5);
            pv_spot spot =
                pv_shown_spot(check->scene, place(st, rows[r] * PV_STATION_BAND, across));
            if (first)
                *colour = spot.colour;
            first = false;
            bool itself =
                spot.line >= 0 && !spot.mark && check->scene->art->lines + spot.line == check->line;
            if (itself || spot.colour != *colour)
                return false;
        }
    }
    return true;
}

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
        for (int k = -1; k <= 1; k += 2)
            box = pv_box_add(box, place(st, i * 1.5 * PV_STATION_BAND, k * reach));
    return pv_box_grow(box, PV_CLEARANCE);
}

/* The other colour matters more than what it is of: lines, fills and marks may stand beside. */
static bool clear(const pv_shown *scene, const pv_line *line, pv_shown *part, pv_station *st,
                  bool *memory)
{
    const pv_art *art = scene->art;
    pv_box box = zone(st, line->width / 2 + st->far);
    pv_box mat = {{0, 0}, art->size};
    if (!pv_box_holds(scene->window, box.lo) || !pv_box_holds(scene->window, box.hi) ||
        !pv_box_holds(mat, box.lo) || !pv_box_holds(mat, box.hi))
        return false;
    for (size_t i = 0; i < scene->n_clutter; i++)
        if (pv_box_meets(scene->clutter[i], box))
            return false;
    if (!pv_shown_part(part, scene, box)) {
        *memory = false;
        return false;
    }
    spot_check check = {part, line, st->far};
    if (!inside_clear(&check, st, -1) || !inside_clear(&check, st, 1) ||
        !outside_clear(&check, st, -1, &st->beside[0]) ||
        !outside_clear(&check, st, 1, &st->beside[1]))
        return false;
    st->lean = pv_colour_lean(&art->colours[line->colour], &art->colours[st->beside[1]],
                              &art->colours[st->beside[0]]);
    return contrasting(art, line->colour, st->beside[0]) &&
           contrasting(art, line->colour, st->beside[1]);
}

/* ---- where they stand ---- */

typedef struct walk {
    const pv_shown *scene;
    const pv_frame *frame;
    const pv_optics *optics;
    pv_shown part;
    double pitch;
    pv_stations *out; /* NULL: only count what lies in the window */
    double visible;   /* mm of centre line in the window */
} walk;

static bool add_station(walk *w, const pv_line *line, pv_station *st)
{
    bool memory = true;
    pv_local local = pv_frame_at(w->frame, st->at);
    double px = pv_local_px_across(&local, st->heading);
    if (!(px > 0) || !pv_plateaus(line->width, px, w->optics->blur, &st->near, &st->far) ||
        !clear(w->scene, line, &w->part, st, &memory))
        return memory;
    if (!PV_GROW(w->out->items, w->out->n, w->out->cap))
        return false;
    w->out->items[w->out->n++] = *st;
    return true;
}

static bool walk_piece(walk *w, size_t index, size_t piece_index)
{
    const pv_line *line = &w->scene->art->lines[index];
    const pv_piece *piece = &line->pieces[piece_index];
    pv_box box = pv_box_grow(pv_piece_box(piece), line->width / 2);
    double length = pv_piece_length(piece);
    double bend = piece->arc ? copysign(1 / piece->radius, piece->sweep) : 0;
    /* A tight arc's inner edge is no edge to average along. */
    bool tight = piece->arc && piece->radius - line->width / 2 < 5 * PV_STATION_BAND;
    if (!(length > 0) || tight || !pv_box_meets(box, w->scene->window))
        return true;
    double n = fmin(ceil(length / w->pitch), STEPS_MAX);
    size_t steps = (size_t)n;
    for (size_t i = 0; i < steps; i++) {
        pv_station st = {.line = index, .piece = piece_index, .bend = bend};
        st.s = ((double)i + 0.5) * length / n;
        st.at = pv_piece_point(piece, st.s);
        st.heading = pv_piece_heading(piece, st.s);
        if (!pv_box_holds(w->scene->window, st.at))
            continue;
        w->visible += length / n;
        if (w->out != NULL && !add_station(w, line, &st))
            return false;
    }
    return true;
}

static bool walk_lines(walk *w)
{
    size_t last = SIZE_MAX;
    for (size_t i = 0; i < w->scene->n_solids; i++) {
        size_t index = w->scene->solids[i].line;
        if (index == last)
            continue;
        last = index;
        for (size_t k = 0; k < w->scene->art->lines[index].n_pieces; k++)
            if (!walk_piece(w, index, k))
                return false;
    }
    return true;
}

bool pv_stations_plan(const pv_shown *scene, const pv_frame *frame, const pv_optics *optics,
                      double pitch, pv_stations *out)
{
    *out = (pv_stations){0};
    walk w = {.scene = scene, .frame = frame, .optics = optics, .pitch = pitch};
    bool good = walk_lines(&w);
    w.pitch = fmax(w.pitch, w.visible / PV_STATIONS_MAX);
    w.out = out;
    good = good && walk_lines(&w);
    pv_shown_clear(&w.part);
    if (!good) {
        free(out->items);
        *out = (pv_stations){0};
    }
    return good;
}
