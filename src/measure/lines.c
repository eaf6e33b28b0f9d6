#include "measure/lines.h"

#include "base/memory.h"
#include "base/numeric.h"
#include "measure/shared.h"
#include "measure/stats.h"

#include <stdlib.h>

/* Choices of this method, assumed. */
#define SMOOTH  5   /* stations in the moving mean in which straightness is sought */
#define FIT_MIN 7   /* stations on a piece, for its straightness */
#define ARC_MIN 0.5 /* rad of an arc that must be seen before its radius may be fitted */
#define FEW     4   /* stations: fewer don't tell their own scatter */

pv_edge_floor pv_edge_floor_of(const pv_plane *plane, const pv_frame *frame, double px)
{
    return (pv_edge_floor){
        .frame = frame, .bilevel = plane->bilevel, .px = px, .scatter = 0.01 / px};
}

/* ---- width ---- */

double pv_scatter_u(const pv_edge_floor *floor, const double *values, size_t n, double mean,
                    double *freedom)
{
    return pv_mean_u(values, n, mean, n < FEW ? fmax(floor->usual, floor->scatter) : floor->scatter,
                     freedom);
}

static void measure_width(const pv_station *st, size_t n, const pv_edge_floor *floor,
                          double *values, pv_value *out)
{
    double sum = 0, metric = 0, pose = 0;
    pv_shared shared = {0};
    size_t m = 0;
    for (size_t i = 0; i < n; i++) {
        if (!st[i].found)
            continue;
        pv_vec left = pv_left(st[i].heading);
        values[m++] = st[i].width;
        sum += st[i].width;
        metric += pv_metric_u(floor->frame->metric, left);
        pose += pv_frame_u_stretch(floor->frame, st[i].at, left);
        pv_shared_add(&shared, &st[i]);
    }
    out->places = m;
    if (m == 0)
        return;
    double mean = sum / (double)m;
    pv_shared_close(&shared, floor->bilevel, floor->px);
    out->value = mean;
    out->measured = true;
    double *part = out->part;
    part[PV_PART_SCATTER] = pv_scatter_u(floor, values, m, mean, &out->freedom);
    part[PV_PART_TONE] = pv_shared_tone_of_width(&shared);
    part[PV_PART_GRID] = pv_shared_grid_of_width(&shared);
    part[PV_PART_SCREEN] = pv_shared_screen_of_width(&shared);
    part[PV_PART_POSE] =
        hypot(mean * pose / (double)m, pv_metric_u_uneven(floor->frame->metric, mean));
    part[PV_PART_REFERENCE] = mean * metric / (double)m;
}

/* ---- straightness ---- */

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

/* A piece's bow, and for the line's: the noise of one of its means, and how many there are that
 * don't overlap. */
typedef struct bow {
    pv_value value; /* its scatter is left out */
    double sigma, means;
} bow;

/* work: 4 n doubles */
static bow piece_bow(const pv_station *const *st, size_t n, const pv_piece *piece,
                     const pv_edge_floor *floor, double *work)
{
    bow out = {.sigma = 0};
    double *y = work, *columns = work + n;
    for (size_t i = 0; i < n; i++)
        y[i] = st[i]->centre;
    if (n < FIT_MIN || !residuals(st, n, piece, y, columns))
        return out;
    for (size_t i = 0; i + SMOOTH <= n; i++) {
        double sum = 0;
        for (size_t k = 0; k < SMOOTH; k++)
            sum += y[i + k];
        out.value.value = fmax(out.value.value, fabs(sum / SMOOTH));
    }
    out.sigma = fmax(pv_neighbour_noise(y, n), floor->scatter) / sqrt(SMOOTH);
    out.means = (double)n / SMOOTH;
    out.value.part[PV_PART_GRID] = pv_shared_grid_alone(floor->bilevel, floor->px) / sqrt(2);
    out.value.part[PV_PART_INK] = PV_U_SPREAD * lean_change(st, n);
    out.value.part[PV_PART_POSE] =
        pv_metric_u_uneven(floor->frame->metric, fabs(st[n - 1]->s - st[0]->s)) / sqrt(2);
    out.value.measured = true;
    return out;
}

static void measure_straight(const pv_line *line, const pv_station *st, size_t n,
                             const pv_edge_floor *floor, const pv_station **some, double *work,
                             pv_value *out)
{
    double sigma = 0, means = 0;
    for (size_t i = 0; i < n;) {
        size_t piece = st[i].piece, m = 0;
        for (; i < n && st[i].piece == piece; i++)
            if (st[i].found)
                some[m++] = &st[i];
        bow one = piece_bow(some, m, &line->pieces[piece], floor, work);
        means += one.means;
        if (!one.value.measured || (out->measured && one.value.value <= out->value))
            continue;
        *out = one.value;
        sigma = one.sigma;
    }
    /* The value is the largest of all pieces' m means, of pure noise about sigma sqrt(2 ln 2m): U
     * must reach that far, so that a straight line isn't called bowed. */
    /* What the sheet's map leaves unevenly shows as a bow, too, whether the print or the picture
     * has it. */
    double uneven = floor->frame->pose->uneven;
    if (out->measured && uneven > PV_UNEVEN_MIN)
        out->part[PV_PART_POSE] = fmax(out->part[PV_PART_POSE], uneven);
    if (out->measured)
        out->part[PV_PART_SCATTER] = sigma * (1 + sqrt(2 * log(2 * means))) / 2;
}

bool pv_measure_line(const pv_line *line, const pv_station *stations, size_t n,
                     const pv_edge_floor *floor, pv_value *width, pv_value *straight)
{
    *width = (pv_value){.kind = PV_KIND_WIDTH, .nominal = line->width};
    *straight = (pv_value){.measured = false};
    double *work = PV_NEW_ARRAY(4 * n, double);
    const pv_station **some = PV_NEW_ARRAY(n, const pv_station *);
    bool good = work != NULL && some != NULL;
    if (good) {
        measure_width(stations, n, floor, work, width);
        measure_straight(line, stations, n, floor, some, work, straight);
        straight->kind = PV_KIND_STRAIGHT;
        straight->places = width->places;
    }
    free(work);
    free((void *)some);
    return good;
}
