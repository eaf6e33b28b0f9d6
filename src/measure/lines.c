#include "measure/lines.h"

#include "base/memory.h"
#include "measure/stats.h"

#include <stdlib.h>

#define SMOOTH   5   /* stations in the moving mean in which straightness is sought */
#define FIT_MIN  7   /* stations on a piece, for its straightness */
#define ARC_MIN  0.5 /* rad of an arc that must be seen before its radius may be fitted */
#define OUTLIERS 4.5 /* standard deviations */

pv_edge_floor pv_edge_floor_of(const pv_plane *plane, const pv_metric *metric, double px)
{
    pv_edge_floor floor = {.bilevel = plane->bilevel, .metric = metric};
    floor.mm = (plane->bilevel ? PV_U_BILEVEL : PV_U_GRID) / px;
    floor.scatter = 0.01 / px;
    return floor;
}

/* ---- outliers ---- */

static bool clean_some(pv_station *st, size_t n, const pv_edge_floor *floor, double *values,
                       bool *keep)
{
    double *scratch = values + n;
    for (int what = 0; what < 2; what++) {
        size_t m = 0;
        for (size_t i = 0; i < n; i++)
            if (st[i].found)
                values[m++] = what == 0 ? st[i].width : st[i].centre;
        /* A line may bow, so that its centre is allowed more than its width. */
        double least = what == 0 ? 10 * floor->scatter : 0.3;
        pv_outliers(values, m, what == 0 ? OUTLIERS : 3 * OUTLIERS, least, keep, scratch);
        m = 0;
        for (size_t i = 0; i < n; i++)
            if (st[i].found)
                st[i].found = keep[m++];
    }
    return true;
}

/* The end of the run of stations of one line that starts at i. */
static size_t line_end(const pv_stations *stations, size_t i)
{
    size_t end = i;
    while (end < stations->n && stations->items[end].line == stations->items[i].line)
        end++;
    return end;
}

bool pv_stations_clean(pv_stations *stations, const pv_edge_floor *floor)
{
    double *values = PV_NEW_ARRAY(2 * stations->n, double);
    bool *keep = PV_NEW_ARRAY(stations->n, bool);
    bool good = values != NULL && keep != NULL;
    for (size_t i = 0, end; good && i < stations->n; i = end) {
        end = line_end(stations, i);
        clean_some(stations->items + i, end - i, floor, values, keep);
    }
    free(values);
    free(keep);
    return good;
}

/* ---- width ---- */

static void measure_width(const pv_station *st, size_t n, const pv_edge_floor *floor,
                          double *values, pv_line_measure *out)
{
    double sum = 0, soft = 0, metric = 0;
    size_t m = 0;
    for (size_t i = 0; i < n; i++) {
        if (!st[i].found)
            continue;
        values[m++] = st[i].width;
        sum += st[i].width;
        soft += 1 / st[i].slope[0] + 1 / st[i].slope[1];
        metric += pv_metric_u(floor->metric, pv_left(st[i].heading));
    }
    out->stations = m;
    if (m == 0)
        return;
    double mean = sum / (double)m;
    double scatter = pv_mean_u(values, m, mean, floor->scatter);
    /* The tone curve moves both edges of a line alike outwards or inwards; the grid doesn't. */
    double tone = PV_U_TONE * soft / (double)m;
    double grid = floor->bilevel ? 2 * floor->mm : sqrt(2) * floor->mm;
    out->width = (pv_quantity){.value = mean, .measured = true};
    out->width.part[PV_PART_SCATTER] = scatter;
    out->width.part[PV_PART_TONE] = tone;
    out->width.part[PV_PART_GRID] = grid;
    out->width.part[PV_PART_REFERENCE] = mean * metric / (double)m;
}

/* ---- straightness ---- */

/* Standard deviation of one station's noise, from the differences of neighbours, which a bow
 * doesn't touch. */
static double neighbour_noise(const double *y, size_t n)
{
    double sum = 0;
    for (size_t i = 1; i < n; i++)
        sum += (y[i] - y[i - 1]) * (y[i] - y[i - 1]);
    return sqrt(sum / (2 * (double)(n - 1)));
}

/* Residuals of the centre line's offsets from their best fit, in place: a straight line may shift
 * and turn; an arc may also change its radius, where enough of it is seen to tell. */
static bool residuals(const pv_station *const *st, size_t n, const pv_piece *piece, double *y,
                      double *columns)
{
    bool round = piece->arc && fabs(st[n - 1]->s - st[0]->s) > ARC_MIN * piece->radius;
    size_t k = round ? 3 : 2;
    double middle = (st[0]->s + st[n - 1]->s) / 2, span = fabs(st[n - 1]->s - st[0]->s) / 2;
    for (size_t i = 0; i < n; i++) {
        double *row = columns + i * k;
        double angle = piece->arc ? (st[i]->s - middle) / piece->radius : 0;
        row[0] = 1;
        row[1] = round ? sin(angle) : (st[i]->s - middle) / span;
        if (round)
            row[2] = cos(angle);
    }
    double c[3];
    if (!(span > 0) || !pv_least_squares(columns, k, y, n, c))
        return false;
    for (size_t i = 0; i < n; i++)
        for (size_t a = 0; a < k; a++)
            y[i] -= c[a] * columns[i * k + a];
    return true;
}

/* A line whose sides change on its way leans here and not there when ink spreads. */
static double lean_change(const pv_station *const *st, size_t n)
{
    double least = 1, most = -1, doubt = 0;
    for (size_t i = 0; i < n; i++) {
        least = fmin(least, st[i]->lean.left);
        most = fmax(most, st[i]->lean.left);
        doubt =
            fmax(doubt, st[i]->beside[0] != st[0]->beside[0] || st[i]->beside[1] != st[0]->beside[1]
                            ? st[i]->lean.doubt + st[0]->lean.doubt
                            : 0);
    }
    return most - least + doubt;
}

/* work: 4 n doubles */
static pv_quantity piece_bow(const pv_station *const *st, size_t n, const pv_piece *piece,
                             const pv_edge_floor *floor, double *work)
{
    pv_quantity out = {0};
    double *y = work, *columns = work + n;
    for (size_t i = 0; i < n; i++)
        y[i] = st[i]->centre;
    if (n < FIT_MIN || !residuals(st, n, piece, y, columns))
        return out;
    for (size_t i = 0; i + SMOOTH <= n; i++) {
        double sum = 0;
        for (size_t k = 0; k < SMOOTH; k++)
            sum += y[i + k];
        out.value = fmax(out.value, fabs(sum / SMOOTH));
    }
    /* The largest of m means of pure noise is about sigma sqrt(2 ln 2m): U must reach that far, so
     * that a straight line isn't called bowed. */
    double sigma = fmax(neighbour_noise(y, n), floor->scatter) / sqrt(SMOOTH);
    double m = (double)n / SMOOTH;
    out.part[PV_PART_SCATTER] = sigma * (1 + sqrt(2 * log(2 * m))) / 2;
    out.part[PV_PART_GRID] = floor->mm;
    out.part[PV_PART_INK] = PV_U_SPREAD * lean_change(st, n);
    out.measured = true;
    return out;
}

static void measure_straight(const pv_art *art, const pv_station *st, size_t n,
                             const pv_edge_floor *floor, const pv_station **some, double *work,
                             pv_line_measure *out)
{
    const pv_line *line = &art->lines[out->line];
    for (size_t i = 0; i < n;) {
        size_t piece = st[i].piece, m = 0;
        for (; i < n && st[i].piece == piece; i++)
            if (st[i].found)
                some[m++] = &st[i];
        pv_quantity one = piece_bow(some, m, &line->pieces[piece], floor, work);
        if (!one.measured || (out->straight.measured && one.value <= out->straight.value))
            continue;
        out->straight = one;
    }
}

bool pv_measure_line(const pv_art *art, const pv_station *stations, size_t n,
                     const pv_edge_floor *floor, pv_line_measure *out)
{
    *out = (pv_line_measure){.line = stations[0].line};
    double *work = PV_NEW_ARRAY(4 * n, double);
    const pv_station **some = PV_NEW_ARRAY(n, const pv_station *);
    bool good = work != NULL && some != NULL;
    if (good) {
        measure_width(stations, n, floor, work, out);
        measure_straight(art, stations, n, floor, some, work, out);
    }
    free(work);
    free((void *)some);
    return good;
}
