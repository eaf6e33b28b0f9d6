/* Stations that show something else than the line's edges: dust, hairs, breaks, blobs. */
#include "base/memory.h"
#include "base/numeric.h"
#include "measure/lines.h"
#include "measure/stats.h"

#include <stdlib.h>

/* What is dust and what is the line: assumed (docs/how/assumptions.md). */
#define OUTLIERS   4.5  /* standard deviations */
#define AROUND     7    /* stations to each side, with which one is compared */
#define EDGE_LEAST 0.05 /* mm that an edge may leave its neighbours' line: it may be bowed */
#define HALF_MIN   3    /* of these in each half, for a slope */
#define MANY       8    /* stations that tell a line's own scatter */

typedef struct cleaning {
    pv_stations *stations;
    pv_edge_floor *floor;
    double *values, *rest, *scratch;
    bool *keep;
} cleaning;

/* The end of the run of stations of one line that starts at i. */
static size_t line_end(const pv_stations *stations, size_t i)
{
    size_t end = i;
    while (end < stations->n && stations->items[end].line == stations->items[i].line)
        end++;
    return end;
}

/* What the n values about place i let expect there: through the medians of both halves a straight
 * line, which a bow or a slow change doesn't leave by much, and half of either may be wrong. */
static double expected(cleaning *c, size_t n, size_t i)
{
    size_t lo = i > AROUND ? i - AROUND : 0, hi = i + AROUND + 1;
    hi = hi < n ? hi : n;
    size_t half = (hi - lo) / 2;
    if (half < HALF_MIN)
        return pv_median(c->values + lo, hi - lo, c->scratch);
    double a = pv_median(c->values + lo, half, c->scratch);
    double b = pv_median(c->values + hi - half, half, c->scratch);
    double middle = (double)(half - 1) / 2, at_a = (double)lo + middle;
    double at_b = (double)(hi - half) + middle;
    return a + (b - a) * ((double)i - at_a) / (at_b - at_a);
}

/* Of a width, or of one of the two edges. */
static double value_of(const pv_station *st, int what)
{
    return what == 0 ? st->width : st->edge[what - 1];
}

/* Of the stations [first, end), all of one line. */
static void clean_some(cleaning *c, size_t first, size_t end, int what)
{
    pv_station *st = c->stations->items;
    size_t n = 0;
    for (size_t i = first; i < end; i++)
        if (st[i].found)
            c->values[n++] = value_of(&st[i], what);
    for (size_t i = 0; i < n; i++)
        c->rest[i] = c->values[i] - expected(c, n, i);
    double least = what == 0 ? 10 * c->floor->scatter : fmax(10 * c->floor->scatter, EDGE_LEAST);
    pv_outliers(c->rest, n, OUTLIERS, least, c->keep, c->scratch);
    n = 0;
    for (size_t i = first; i < end; i++)
        if (st[i].found)
            st[i].found = c->keep[n++];
}

/* Widths along all of a line; edges along each piece, as they jump where the heading does. */
static void clean_line(cleaning *c, size_t first, size_t end)
{
    const pv_station *st = c->stations->items;
    clean_some(c, first, end, 0);
    for (size_t i = first, next; i < end; i = next) {
        for (next = i; next < end && st[next].piece == st[i].piece;)
            next++;
        clean_some(c, i, next, 1);
        clean_some(c, i, next, 2);
    }
}

/* The scatter of most lines' widths. */
static double usual_scatter(cleaning *c)
{
    size_t lines = 0;
    for (size_t i = 0, end; i < c->stations->n; i = end) {
        size_t n = 0;
        end = line_end(c->stations, i);
        for (size_t k = i; k < end; k++)
            if (c->stations->items[k].found)
                c->values[n++] = c->stations->items[k].width;
        if (n >= MANY)
            c->rest[lines++] = pv_neighbour_noise(c->values, n);
    }
    return lines > 0 ? pv_median(c->rest, lines, c->scratch) : 0;
}

bool pv_stations_clean(pv_stations *stations, pv_edge_floor *floor)
{
    if (stations->n == 0)
        return true;
    double *work = PV_NEW_ARRAY(3 * stations->n, double);
    bool *keep = PV_NEW_ARRAY(stations->n, bool);
    bool good = work != NULL && keep != NULL;
    if (good) {
        cleaning c = {.stations = stations, .floor = floor, .keep = keep};
        c.values = work;
        c.rest = work + stations->n;
        c.scratch = work + 2 * stations->n;
        for (size_t i = 0, end; i < stations->n; i = end) {
            end = line_end(stations, i);
            clean_line(&c, i, end);
        }
        floor->usual = usual_scatter(&c);
    }
    free(work);
    free(keep);
    return good;
}
