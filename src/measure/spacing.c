/* Spacings: how far the centre lines of neighbours lie apart. Neighbours are straight pieces that
 * are parallel, or arcs about one centre, that stand side by side over some length with no other
 * such piece between. */
#include "base/memory.h"
#include "measure/lines.h"
#include "measure/shared.h"
#include "measure/stats.h"

#include <stdlib.h>
#include <string.h>

/* What a course repeats is equal to within its own rounding. Cells are a choice: finer than any
 * piece that is worth a spacing. */
#define PARALLEL  1e-6 /* rad */
#define SAME      1e-6 /* mm, of centres and offsets */
#define CELL      2.0  /* mm along a straight run */
#define CELLS_MAX 4096 /* of a run; longer ones get longer cells */
#define ARC_CELLS 720  /* round a full circle */
#define SHARED    4    /* cells in which both runs have stations, at least */

/* Stations, runs and cells that all pairs together may look at: some seconds. 500 runs of 60
 * stations each come to 0.1 of that; a plan of strangers may have 100,000 runs. */
#define STEPS_MAX 4e8

/* A piece, or several in a row on one straight line or circle. */
typedef struct run {
    const pv_piece *pieces;
    size_t n;
    size_t line;
    size_t first, end; /* stations; first == end: none, but it may stand between others */
} run;

typedef struct runs {
    run *items;
    size_t n, cap;
} runs;

static bool continues(const pv_piece *a, const pv_piece *b)
{
    if (a->arc != b->arc)
        return false;
    if (a->arc)
        return pv_dist(a->centre, b->centre) < SAME && fabs(a->radius - b->radius) < SAME;
    pv_vec one = pv_unit(pv_sub(a->b, a->a)), two = pv_unit(pv_sub(b->b, b->a));
    return pv_dot(one, two) > 0 && fabs(pv_cross_z(one, two)) < PARALLEL;
}

static bool make_line_runs(const pv_shown *shown, size_t index, const pv_stations *stations,
                           size_t *at, runs *list)
{
    const pv_line *line = &shown->art->lines[index];
    for (size_t k = 0, n; k < line->n_pieces; k += n) {
        bool seen = false;
        for (n = 0; k + n < line->n_pieces; n++) {
            const pv_piece *piece = &line->pieces[k + n];
            if (n > 0 && !continues(&line->pieces[k], piece))
                break;
            pv_box box = pv_box_grow(pv_piece_box(piece), line->width / 2);
            seen = seen || pv_box_meets(box, shown->window);
        }
        run one = {.pieces = &line->pieces[k], .n = n, .line = index, .first = *at};
        while (*at < stations->n && stations->items[*at].line == index &&
               stations->items[*at].piece < k + n)
            ++*at;
        one.end = *at;
        if (!seen)
            continue;
        if (!PV_GROW(list->items, list->n, list->cap))
            return false;
        list->items[list->n++] = one;
    }
    return true;
}

/* Runs of all lines that the sheet shows. */
static bool make_runs(const pv_shown *shown, const pv_stations *stations, runs *list)
{
    size_t at = 0;
    for (size_t i = 0; i < shown->n_lines; i++)
        if (!make_line_runs(shown, shown->lines[i], stations, &at, list))
            return false;
    return true;
}

/* ---- where runs stand side by side ---- */

/* Along a straight run, in cells from its start; round an arc, in cells from angle zero. */
typedef struct yardstick {
    const pv_piece *base;
    pv_vec heading;
    double cell;
    size_t cells;
} yardstick;

static yardstick ruler_of(const run *r)
{
    const pv_piece *base = r->pieces;
    if (base->arc)
        return (yardstick){.base = base, .cell = 2 * PV_PI / ARC_CELLS, .cells = ARC_CELLS};
    double length = pv_dist(base->a, r->pieces[r->n - 1].b);
    double cell = fmax(CELL, length / (CELLS_MAX - 1));
    return (yardstick){base, pv_piece_heading(base, 0), cell, (size_t)(length / cell) + 1};
}

static double along(const yardstick *ruler, pv_vec p)
{
    if (!ruler->base->arc)
        return pv_dot(pv_sub(p, ruler->base->a), ruler->heading) / ruler->cell;
    pv_vec d = pv_sub(p, ruler->base->centre);
    double angle = atan2(d.y, d.x);
    return (angle < 0 ? angle + 2 * PV_PI : angle) / ruler->cell;
}

/* SIZE_MAX where a point is beside no cell. */
static size_t cell_of(const yardstick *ruler, pv_vec p)
{
    double u = along(ruler, p);
    return u >= 0 && u < (double)ruler->cells ? (size_t)u : SIZE_MAX;
}

/* How far a run lies to the left of the ruler, or outside of its arc. False where it is no
 * parallel. */
static bool offset_of(const yardstick *ruler, const run *r, double *offset)
{
    const pv_piece *base = ruler->base, *other = r->pieces;
    if (base->arc != other->arc)
        return false;
    if (base->arc) {
        *offset = other->radius - base->radius;
        return pv_dist(base->centre, other->centre) < SAME;
    }
    *offset = pv_cross_z(ruler->heading, pv_sub(other->a, base->a));
    return fabs(pv_cross_z(ruler->heading, pv_piece_heading(other, 0))) < PARALLEL;
}

/* The step from a place on the ruler's run to the other run. */
static pv_vec step_to(const yardstick *ruler, pv_vec at, double offset)
{
    if (ruler->base->arc)
        return pv_scale(pv_unit(pv_sub(at, ruler->base->centre)), offset);
    return pv_scale(pv_left(ruler->heading), offset);
}

enum { HERE = 1, THERE = 2, BLOCKED = 4 };

static void mark_stations(const yardstick *ruler, const pv_stations *stations, const run *r,
                          unsigned char bit, unsigned char *cells)
{
    for (size_t i = r->first; i < r->end; i++) {
        size_t cell = stations->items[i].found ? cell_of(ruler, stations->items[i].at) : SIZE_MAX;
        if (cell != SIZE_MAX)
            cells[cell] |= bit;
    }
}

/* Blocks the cells at which any of a run stands; how many there were. */
static double block(const yardstick *ruler, const run *r, unsigned char *cells)
{
    double n = 0;
    for (size_t k = 0; k < r->n; k++) {
        const pv_piece *piece = &r->pieces[k];
        double u = along(ruler, piece->a), v = along(ruler, piece->b);
        if (piece->arc) { /* counter-clockwise from u, through zero where need be */
            u = along(ruler, piece->sweep < 0 ? piece->b : piece->a);
            v = u + fabs(piece->sweep) / ruler->cell;
        }
        double lo = fmax(fmin(u, v), 0), hi = fmax(u, v);
        if (!piece->arc)
            hi = fmin(hi, (double)ruler->cells - 0.5);
        for (double c = floor(lo); c <= hi; c += 1, n++) /* NOLINT: at most 4096 whole steps */
            cells[(size_t)c % ruler->cells] |= BLOCKED;
        n++;
    }
    return n;
}

static size_t shared(const yardstick *ruler, const unsigned char *cells)
{
    size_t n = 0;
    for (size_t i = 0; i < ruler->cells; i++)
        n += cells[i] == (HERE | THERE);
    return n;
}

/* ---- one spacing ---- */

typedef struct spacing_work {
    const pv_frame *frame;
    const pv_stations *stations;
    const pv_edge_floor *floor;
    const runs *list;
    double steps; /* taken so far */
    unsigned char cells[CELLS_MAX + 1];
    double *values; /* one for each station */
} spacing_work;

/* The middle one of the shared cells. */
static size_t middle_cell(const yardstick *ruler, const unsigned char *cells)
{
    size_t half = shared(ruler, cells) / 2, i = 0;
    for (size_t n = 0; i < ruler->cells; i++)
        if (cells[i] == (HERE | THERE) && n++ == half)
            break;
    return i;
}

/* A run's centre line over the shared cells: mean offset in the sense of the ruler's, its standard
 * uncertainty, and the mean true length of the step to the other run. */
typedef struct side {
    double offset, scatter, freedom, gap, metric, pose;
    pv_shared shared;
    pv_vec at;          /* middle of its stations */
    double lean, doubt; /* see pv_lean; lean in the sense of the ruler's */
    size_t n;
} side;

/* In the sense of the ruler's left. */
static void add_shared(pv_shared *shared, const pv_station *st, double sense)
{
    pv_station turned = *st;
    for (int e = 0; e < 2; e++)
        for (int i = 0; i < PV_TONES; i++)
            turned.seen[e].tone[i] *= sense;
    pv_shared_add(shared, &turned);
}

static side measure_side(spacing_work *w, const yardstick *ruler, const run *r, double offset)
{
    side out = {0};
    size_t middle = middle_cell(ruler, w->cells);
    for (size_t i = r->first; i < r->end; i++) {
        const pv_station *st = &w->stations->items[i];
        size_t cell = st->found ? cell_of(ruler, st->at) : SIZE_MAX;
        if (cell == SIZE_MAX || w->cells[cell] != (HERE | THERE))
            continue;
        pv_vec step = step_to(ruler, st->at, offset);
        pv_local local = pv_frame_at(w->frame, st->at);
        double sense = pv_dot(pv_left(st->heading), step) < 0 ? -1 : 1;
        if (out.n == 0 || cell == middle)
            out.at = st->at;
        w->values[out.n++] = sense * st->centre;
        out.offset += sense * st->centre;
        out.gap += fabs(pv_local_across(&local, st->heading, step));
        out.lean += sense * st->lean.left;
        out.metric += pv_metric_u(w->frame->metric, pv_left(st->heading));
        out.doubt += st->lean.doubt;
        out.pose += pv_frame_u_stretch(w->frame, st->at, step);
        add_shared(&out.shared, st, sense);
    }
    if (out.n == 0)
        return out;
    double n = (double)out.n;
    out.offset /= n;
    out.gap /= n;
    out.metric /= n;
    out.pose /= n;
    out.lean /= n;
    out.doubt /= n;
    out.scatter = pv_scatter_u(w->floor, w->values, out.n, out.offset, &out.freedom);
    pv_shared_close(&out.shared, w->floor->bilevel, w->floor->px);
    return out;
}

/* What ink's spread may do to a spacing. It moves both centres by as much as they lean; two that
 * lean the same way may be of inks that don't spread alike. */
static double spread_u(const side *a, const side *b)
{
    double most = fmax(fabs(a->lean - b->lean), fmax(fabs(a->lean), fabs(b->lean)));
    return PV_U_SPREAD * (most + a->doubt + b->doubt);
}

/* All edges of a picture share its tone curve. */
static double tone_u(const side *a, const side *b)
{
    double sum = 0;
    for (int i = 0; i < PV_TONES; i++)
        sum += pow(
            pv_shared_tone_of_centre(&b->shared, i) - pv_shared_tone_of_centre(&a->shared, i), 2);
    return sqrt(sum);
}

static void fill_parts(const side *here, const side *there, double uneven, pv_value *q)
{
    double *part = q->part;
    part[PV_PART_SCATTER] = hypot(here->scatter, there->scatter);
    q->freedom = pv_freedom_of_sum(here->scatter, here->freedom, there->scatter, there->freedom);
    part[PV_PART_TONE] = tone_u(here, there);
    part[PV_PART_GRID] =
        hypot(pv_shared_grid_of_centre(&here->shared), pv_shared_grid_of_centre(&there->shared));
    part[PV_PART_SCREEN] = hypot(pv_shared_screen_of_centre(&here->shared),
                                 pv_shared_screen_of_centre(&there->shared));
    part[PV_PART_POSE] = hypot(q->value * (here->pose + there->pose) / 2, uneven);
    part[PV_PART_REFERENCE] = q->value * (here->metric + there->metric) / 2;
    part[PV_PART_INK] = spread_u(here, there);
}

/* Of a line of the art that has stations: its place among those that the sheet shows. */
static size_t shown_line(const pv_measures *out, size_t line)
{
    size_t low = 0, high = out->n_lines;
    while (high - low > 1) {
        size_t middle = (low + high) / 2;
        if (out->lines[middle].line <= line)
            low = middle;
        else
            high = middle;
    }
    return low;
}

static bool measure_pair(spacing_work *w, const run *a, const run *b, pv_measures *out)
{
    yardstick ruler = ruler_of(a);
    double offset;
    if (!offset_of(&ruler, b, &offset) || fabs(offset) < PV_PLATEAU_NEAR)
        return true;
    memset(w->cells, 0, ruler.cells);
    mark_stations(&ruler, w->stations, a, HERE, w->cells);
    mark_stations(&ruler, w->stations, b, THERE, w->cells);
    w->steps += (double)(a->end - a->first + b->end - b->first + ruler.cells);
    if (shared(&ruler, w->cells) < SHARED)
        return true;
    w->steps += (double)w->list->n;
    for (size_t i = 0; i < w->list->n; i++) {
        double between;
        if (offset_of(&ruler, &w->list->items[i], &between) && between * offset > 0 &&
            fabs(between) > SAME && fabs(between) < fabs(offset) - SAME)
            w->steps += block(&ruler, &w->list->items[i], w->cells);
    }
    if (shared(&ruler, w->cells) < SHARED)
        return true;
    side here = measure_side(w, &ruler, a, offset), there = measure_side(w, &ruler, b, offset);
    pv_value one = {.kind = PV_KIND_SPACING,
                    .subject = shown_line(out, a->line),
                    .other = shown_line(out, b->line),
                    .x = {here.at.x, there.at.x},
                    .y = {here.at.y, there.at.y},
                    .nominal = fabs(offset),
                    .value = (here.gap + there.gap) / 2 + there.offset - here.offset,
                    .measured = true};
    fill_parts(&here, &there, pv_metric_u_uneven(w->frame->metric, fabs(offset)), &one);
    return pv_measures_add(out, &one);
}

/* Runs with stations; the others only stand between. Past `most` they aren't paired, and counted in
 * *left. */
static size_t runs_to_pair(const runs *list, const run **chosen, size_t most, size_t *left)
{
    size_t n = 0;
    *left = 0;
    for (size_t i = 0; i < list->n; i++) {
        if (list->items[i].end - list->items[i].first < SHARED)
            continue;
        if (n < most)
            chosen[n++] = &list->items[i];
        else
            ++*left;
    }
    return n;
}

bool pv_measure_spacings(const pv_frame *frame, const pv_shown *shown, const pv_stations *stations,
                         const pv_edge_floor *floor, pv_measures *out)
{
    runs list = {0};
    const run *chosen[PV_SPACING_RUNS_MAX];
    spacing_work *w = PV_NEW(spacing_work);
    bool good = w != NULL && make_runs(shown, stations, &list);
    if (good) {
        *w = (spacing_work){.frame = frame, .stations = stations, .floor = floor, .list = &list};
        w->values = PV_NEW_ARRAY(stations->n, double);
        good = w->values != NULL;
    }
    size_t n = good ? runs_to_pair(&list, chosen, PV_SPACING_RUNS_MAX, &out->unpaired) : 0;
    for (size_t i = 0; good && i < n; i++) {
        out->unpaired += w->steps > STEPS_MAX;
        for (size_t k = i + 1; good && k < n && w->steps <= STEPS_MAX; k++)
            good = measure_pair(w, chosen[i], chosen[k], out);
    }
    if (w != NULL)
        free(w->values);
    free(w);
    free(list.items);
    return good;
}
