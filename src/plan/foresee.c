#include "plan/foresee.h"

#include "base/memory.h"
#include "plan/crosses.h"
#include "scene/raster.h"

#include <stdlib.h>
#include <string.h>

#define HALF (PV_CROSS_ARM + PV_CROSS_CLEAR)
#define TRUE 1e-6 /* mm, more than rounding makes of a place */

/* Places next to each other are looked at together. Their own column stands at the first of them;
 * `reach` columns to both sides of it is as far as the boxes of all of them go. */
typedef struct groups {
    size_t places; /* of each */
    size_t reach;
} groups;

static groups group_places(double step)
{
    groups g = {.places = 1};
    if (step < PV_FORESEE_PITCH)
        g.places = (size_t)floor(PV_FORESEE_PITCH / step);
    double pitch = step * (double)g.places, last = step * (double)(g.places - 1);
    g.reach = (size_t)floor(fmax(HALF - last, 0) / pitch);
    return g;
}

/* ---- one place ---- */

typedef struct count {
    const pv_lattice *across;
    size_t parting; /* the first seam across that might part the next gap */
    size_t between; /* the first seam across that begins after the last gap that counted */
    double end;     /* of that gap */
    size_t n;
} count;

static double place_lo(const pv_lattice *l, size_t k)
{
    return pv_lattice_place(l, k, l->lo[k]);
}

static double place_hi(const pv_lattice *l, size_t k)
{
    return pv_lattice_place(l, k, l->hi[k]);
}

/* No box is plain between a and b, which come in order. A seam across parts them well where it can
 * stand between, and near enough to both. */
static void count_gap(count *c, double a, double b, bool at_end)
{
    const pv_lattice *l = c->across;
    double lo = fmax(a, b - PV_CROSS_PITCH), hi = fmin(b, a + PV_CROSS_PITCH);
    if (!(b - a > PV_CROSS_PITCH + TRUE))
        return;
    while (c->parting < l->n && place_hi(l, c->parting) < lo - TRUE)
        c->parting++;
    if (!at_end && lo <= hi + TRUE && c->parting < l->n && place_lo(l, c->parting) <= hi + TRUE)
        return;
    while (c->n > 0 && c->between < l->n && place_lo(l, c->between) < c->end)
        c->between++;
    if (c->n > 0 && (c->between == l->n || place_hi(l, c->between) > a))
        return; /* perhaps the same stretch */
    c->n++;
    c->end = b;
}

/* The columns in the middle and on both sides of some places' boxes. */
typedef struct view {
    const uint8_t *column[3];
    size_t rows;
} view;

/* What is seen in a row: one colour, or PV_SEEN_TEXT for anything else. */
static uint8_t row_of(const view *v, size_t row)
{
    uint8_t seen = v->column[0][row];
    return v->column[1][row] == seen && v->column[2][row] == seen ? seen : PV_SEEN_TEXT;
}

/* Rows are compared by so many, which make up a word. */
#define WORD (sizeof(uint64_t) / sizeof(uint8_t))

static uint64_t word_at(const uint8_t *column, size_t row)
{
    uint64_t word;
    memcpy(&word, column + row, sizeof word);
    return word;
}

/* The first row after `row` in which something else is seen. */
static size_t end_of_run(const view *v, size_t row, uint8_t seen)
{
    uint64_t all = UINT64_MAX / UINT8_MAX * seen;
    for (row++; seen != PV_SEEN_TEXT && row + WORD <= v->rows; row += WORD)
        if (word_at(v->column[0], row) != all || word_at(v->column[1], row) != all ||
            word_at(v->column[2], row) != all)
            break;
    while (row < v->rows && row_of(v, row) == seen)
        row++;
    return row;
}

/* A box may be plain between the last row before it that differs and the first one after it. */
static size_t count_place(const pv_points *r, const view *v, const pv_lattice *across)
{
    count c = {.across = across, .parting = 1, .between = 1};
    double last = 0;
    bool started = false;
    for (size_t i = 0, next; i < r->points; i = next) {
        uint8_t seen = row_of(v, i);
        next = end_of_run(v, i, seen);
        if (seen == PV_SEEN_TEXT)
            continue;
        double lo = i > 0 ? r->step * (double)(i - 1) + HALF : 0;
        double hi = next < r->points ? r->step * (double)next - HALF : across->length;
        if (lo > hi + TRUE)
            continue;
        count_gap(&c, last, lo, !started);
        started = true;
        last = fmax(hi, lo);
    }
    count_gap(&c, last, across->length, true);
    return c.n;
}

/* ---- all places ---- */

bool pv_foresee(const pv_scene *scene, bool vertical, const pv_lattice *own, size_t k,
                const pv_lattice *across, size_t **least)
{
    size_t places = (size_t)(own->hi[k] - own->lo[k]) + 1;
    groups g = group_places(own->step);
    size_t n_groups = (places + g.places - 1) / g.places;
    pv_points r = {.upright = vertical,
                   .pitch = own->step * (double)g.places,
                   .step = PV_FORESEE_STEP,
                   .lines = n_groups + 2 * g.reach,
                   .points = (size_t)(across->length / PV_FORESEE_STEP) + 1,
                   .window = pv_box_all()};
    r.first = place_lo(own, k) - r.pitch * (double)g.reach;
    *least = PV_NEW_ARRAY(places, size_t);
    if (*least == NULL || r.points > PV_FORESEE_POINTS / r.lines)
        return *least != NULL;
    uint8_t *seen = pv_points_colours(&r, scene);
    for (size_t i = 0; seen != NULL && i < n_groups; i++) {
        view v = {.rows = r.points};
        for (size_t c = 0; c < 3; c++)
            v.column[c] = seen + (i + c * g.reach) * r.points;
        size_t blind = count_place(&r, &v, across);
        for (size_t j = i * g.places; j < places && j < (i + 1) * g.places; j++)
            (*least)[j] = blind;
    }
    bool good = seen != NULL;
    free(seen);
    return good;
}
