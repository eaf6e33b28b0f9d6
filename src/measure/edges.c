/* Edges as traces: where the transition lies in each row, its smooth course, and what is left.
 *
 * The trace is where reflectance has gone 60 % of the way from the lighter side to the darker one,
 * the level of ISO/IEC 13660 (its summary was seen, not its text; from memory ISO/IEC 24790 keeps
 * it). Raggedness is the standard deviation of the trace from its course (from memory of those
 * standards). There the course is a straight line; here it may bend slowly, as a line of a course
 * does. */
#include "measure/edges.h"

#include "base/memory.h"

#include <stdlib.h>

/* LEVEL_DARK is the standard's. The others are choices of this method, assumed and tried on
 * faults and ragged edges of known size painted into pages (tests/outside/test_shape.py). */
#define LEVEL_DARK  0.4  /* of the way out from a dark line: 60 % from light to dark */
#define SEARCH      0.9  /* mm that a trace may lie from the expected edge */
#define WINDOW      8.0  /* mm to each side, over which a course is fitted */
#define FEW         24   /* rows in a window, at least */
#define FAR_OUT     0.50 /* mm from the middle of all: not taken for the edge at first */
#define OUTLIERS    4.0  /* standard deviations */
#define APART_MIN   0.10 /* contrast between line and side, root mean square of the channels */
#define LAGS        16   /* rows over which neighbours may resemble each other */
#define TRACED_MIN  80   /* rows of an edge for its raggedness: 10 mm */
#define NOISE_SHARE 0.67 /* see noise_of */
#define PROFILE     256
#define BLOB_START  0.10 /* mm from the course where a blob's ink must begin */
#define BLOB_SMOOTH 0.20 /* mm across, and three rows along, over which ink is averaged */
#define BLOB_GAP    2    /* rows */
#define BLOB_FOOT   0.20 /* mm out from the edge where a blob's length is taken */
#define BLOB_INK    0.5

typedef struct trace {
    const pv_rows *rows;
    const pv_view *view;
    int side;
    bool *seen;
    double *at;     /* mm outwards from the expected edge */
    double *course; /* the same, smooth; HUGE_VAL where there is none */
    double *sums;   /* (n + 1) x 5, for windows */
    double noise;   /* mm, standard deviation of `at` from the image's own noise */
} trace;

static const float *part_of(const trace *t, size_t row)
{
    return &t->rows->part[t->side][row * t->rows->places];
}

static bool usable(const trace *t, size_t i)
{
    const pv_row *row = &t->rows->row[i];
    if (!row->plain || row->broken)
        return false;
    const pv_neighbour *near = pv_rows_near(t->rows, row, t->side);
    return near != NULL && pv_view_apart(t->view, t->rows->own, near->light) >= APART_MIN;
}

static double level_of(const trace *t, size_t i)
{
    const pv_neighbour *near = pv_rows_near(t->rows, &t->rows->row[i], t->side);
    bool dark = pv_view_luminance(t->view, t->rows->own) <= pv_view_luminance(t->view, near->light);
    return dark ? LEVEL_DARK : 1 - LEVEL_DARK;
}

/* The upward crossing of a level nearest to `about` mm; false where there is none. */
static bool crossing(const trace *t, size_t row, double level, double about, double *at)
{
    const pv_rows *rows = t->rows;
    const float *part = part_of(t, row);
    bool found = false;
    for (size_t k = 0; k + 1 < rows->places; k++) {
        if (!(part[k] < level && part[k + 1] >= level))
            continue;
        double f = (level - part[k]) / ((double)part[k + 1] - part[k]);
        double x = pv_rows_place(rows, row, (double)k + f);
        if (!found || fabs(x - about) < fabs(*at - about))
            *at = x;
        found = true;
    }
    return found && fabs(*at - about) <= SEARCH;
}

/* ---- the course ---- */

/* Sums from row 0 on of 1, x, x^2, y, xy over seen rows, x in rows from the line's middle. */
static void add_up(trace *t)
{
    double *s = t->sums;
    double middle = (double)t->rows->n / 2;
    for (size_t k = 0; k < 5; k++)
        s[k] = 0;
    for (size_t i = 0; i < t->rows->n; i++) {
        double x = (double)i - middle, y = t->at[i], w = t->seen[i] ? 1 : 0;
        y = t->seen[i] ? y : 0;
        const double add[5] = {w, w * x, w * x * x, y, x * y};
        for (size_t k = 0; k < 5; k++)
            s[5 * (i + 1) + k] = s[5 * i + k] + add[k];
    }
}

/* The straight line through what is seen about a row, there; HUGE_VAL if too few are seen. */
static double course_at(const trace *t, size_t row, size_t lo, size_t hi)
{
    double m[5], middle = (double)t->rows->n / 2, x = (double)row - middle;
    for (size_t k = 0; k < 5; k++)
        m[k] = t->sums[5 * hi + k] - t->sums[5 * lo + k];
    if (m[0] < FEW)
        return HUGE_VAL;
    double mean_x = m[1] / m[0], mean_y = m[3] / m[0];
    double xx = m[2] / m[0] - mean_x * mean_x, xy = m[4] / m[0] - mean_x * mean_y;
    double slope = xx > 1 ? xy / xx : 0;
    return mean_y + slope * (x - mean_x);
}

static void find_course(trace *t)
{
    size_t n = t->rows->n, each = (size_t)(WINDOW / PV_ROW_STEP);
    add_up(t);
    for (size_t start = 0, end; start < n; start = end) {
        for (end = start + 1; end < n && !t->rows->row[end].apart;)
            end++;
        for (size_t i = start; i < end; i++) {
            size_t lo = i > start + each ? i - each : start;
            size_t hi = i + each + 1 < end ? i + each + 1 : end;
            t->course[i] = course_at(t, i, lo, hi);
        }
    }
}

/* Root mean square of what is left, and how many rows. */
static double left_over(const trace *t, size_t *count)
{
    double sum = 0;
    *count = 0;
    for (size_t i = 0; i < t->rows->n; i++) {
        if (!t->seen[i] || t->course[i] == HUGE_VAL)
            continue;
        double d = t->at[i] - t->course[i];
        sum += d * d;
        ++*count;
    }
    return *count > 0 ? sqrt(sum / (double)*count) : 0;
}

static void drop(trace *t, double limit)
{
    for (size_t i = 0; i < t->rows->n; i++)
        t->seen[i] =
            t->seen[i] && t->course[i] != HUGE_VAL && fabs(t->at[i] - t->course[i]) <= limit;
}

static void take_trace(trace *t)
{
    for (size_t i = 0; i < t->rows->n; i++)
        t->seen[i] = usable(t, i) && crossing(t, i, level_of(t, i), 0, &t->at[i]);
    find_course(t);
    drop(t, FAR_OUT);
    find_course(t);
    for (int round = 0; round < 2; round++) {
        size_t n;
        double sd = left_over(t, &n);
        drop(t, fmax(OUTLIERS * sd, 0.5 * t->rows->pitch));
        find_course(t);
    }
}

/* ---- the trace's own noise ---- */

/* The mean profile about the trace, in steps of a quarter of a place. */
static void mean_profile(const trace *t, double sum[PROFILE], size_t count[PROFILE])
{
    const pv_rows *rows = t->rows;
    for (size_t k = 0; k < PROFILE; k++) {
        sum[k] = 0;
        count[k] = 0;
    }
    for (size_t i = 0; i < rows->n; i++) {
        if (!t->seen[i])
            continue;
        const float *part = part_of(t, i);
        for (size_t k = 0; k < rows->places; k++) {
            double u = (pv_rows_place(rows, i, (double)k) - t->at[i]) / rows->pitch;
            double place = 4 * u + PROFILE / 2.0;
            if (place >= 0 && place < PROFILE) {
                sum[(size_t)place] += part[k];
                count[(size_t)place]++;
            }
        }
    }
    for (size_t k = 0; k < PROFILE; k++)
        sum[k] = count[k] > 0 ? sum[k] / (double)count[k] : 0;
}

/* Where the mean profile last lies below a level going outwards from inside, in places. */
static double profile_crossing(const double *mean, const size_t *count, double level)
{
    for (size_t k = PROFILE / 2; k-- > 1;) /* inwards from the trace for low levels */
        if (count[k] > 0 && count[k + 1] > 0 && mean[k] < level && mean[k + 1] >= level)
            return ((double)k + (level - mean[k]) / (mean[k + 1] - mean[k])) / 4;
    return HUGE_VAL;
}

static double profile_crossing_out(const double *mean, const size_t *count, double level)
{
    for (size_t k = PROFILE / 2; k + 1 < PROFILE; k++)
        if (count[k] > 0 && count[k + 1] > 0 && mean[k] < level && mean[k + 1] >= level)
            return ((double)k + (level - mean[k]) / (mean[k + 1] - mean[k])) / 4;
    return HUGE_VAL;
}

/* Noise of the trace: that of the plateaus by the slope of the transition. The place comes from two
 * neighbouring samples that share it by NOISE_SHARE in the mean (1 - 2f + 2f^2 over 0 <= f <= 1).
 */
static double noise_of(const trace *t, double slope)
{
    const pv_rows *rows = t->rows;
    double squares = 0;
    size_t n = 0;
    for (size_t i = 0; i < rows->n; i++) {
        if (!t->seen[i])
            continue;
        const float *part = part_of(t, i);
        for (size_t k = rows->places - 1; k > 1; k--) {
            double out = pv_rows_place(rows, i, (double)k) - t->at[i];
            if (out < 0.5)
                break;
            double d = (double)part[k] - part[k - 2];
            squares += d * d / 2;
            n++;
        }
    }
    return n > 0 && slope > 0 ? sqrt(NOISE_SHARE * squares / (double)n) / slope : 0;
}

static void measure_profile(trace *t)
{
    double mean[PROFILE];
    size_t count[PROFILE];
    mean_profile(t, mean, count);
    double low = profile_crossing(mean, count, 0.1), high = profile_crossing_out(mean, count, 0.9);
    t->noise = 0;
    if (low == HUGE_VAL || high == HUGE_VAL)
        return;
    double before = mean[PROFILE / 2 - 3], after = mean[PROFILE / 2 + 2];
    t->noise = noise_of(t, (after - before) / (1.25 * t->rows->pitch));
}

/* ---- raggedness ---- */

/* Fitting the course takes away what is slower than its window: of a field whose correlations sum
 * up to a length, that length's share of the window. */
static double field_share(const trace *t)
{
    double zero = 0, sum = 0;
    double lag[LAGS + 1] = {0};
    for (size_t i = 0; i < t->rows->n; i++) {
        if (!t->seen[i])
            continue;
        double d = t->at[i] - t->course[i];
        zero += d * d;
        for (size_t k = 1; k <= LAGS && i >= k; k++)
            if (t->seen[i - k])
                lag[k] += d * (t->at[i - k] - t->course[i - k]);
    }
    for (size_t k = 1; k <= LAGS && lag[k] > 0 && zero > 0; k++)
        sum += lag[k] / zero;
    return fmin((1 + 2 * sum) * PV_ROW_STEP / (2 * WINDOW), 0.5);
}

/* Square of the edge's raggedness, mm2, and the rows it comes from. */
static double ragged_square(const trace *t, size_t *n)
{
    double sd = left_over(t, n);
    double square = fmax(sd * sd - t->noise * t->noise, 0);
    return square / (1 - field_share(t));
}

/* ---- blobs ---- */

/* Mean of a small square about a place. */
static double ink_at(const trace *t, size_t row, size_t place)
{
    const pv_rows *rows = t->rows;
    size_t each = (size_t)(BLOB_SMOOTH / 2 / rows->pitch), n = 0;
    size_t k0 = place > each ? place - each : 0;
    size_t k1 = place + each < rows->places ? place + each : rows->places - 1;
    double sum = 0;
    for (size_t i = row > 0 ? row - 1 : 0; i <= row + 1 && i < rows->n; i++) {
        if (!rows->row[i].plain)
            continue;
        const float *part = part_of(t, i);
        for (size_t k = k0; k <= k1; k++, n++)
            sum += part[k];
    }
    return n > 0 ? sum / (double)n : 1;
}

/* How far ink reaches out without a gap from the course. */
static double blob_reach(const trace *t, size_t row)
{
    const pv_rows *rows = t->rows;
    double start = t->course[row] + BLOB_START;
    size_t k = (size_t)fmax(0, ceil((start - pv_rows_place(rows, row, 0)) / rows->pitch));
    double last = 0;
    for (; k < rows->places; k++) {
        double ink = ink_at(t, row, k);
        if (ink >= BLOB_INK) {
            if (last == 0)
                return 0;
            double f = (BLOB_INK - last) / (ink - last);
            return pv_rows_place(rows, row, (double)k - 1 + f) - t->course[row];
        }
        last = fmax(ink, 1e-9);
    }
    return pv_rows_place(rows, row, (double)(rows->places - 1)) - t->course[row];
}

static bool add_blob(pv_edges *edges, const pv_blob *blob)
{
    if (!PV_GROW(edges->blobs, edges->n_blobs, edges->cap_blobs))
        return false;
    edges->blobs[edges->n_blobs++] = *blob;
    return true;
}

static bool find_blobs(const trace *t, pv_edges *edges)
{
    const pv_rows *rows = t->rows;
    size_t first = 0, last = 0;
    double most = 0;
    bool open = false;
    for (size_t i = 0; i <= rows->n; i++) {
        bool there = i < rows->n && usable(t, i) && t->course[i] != HUGE_VAL;
        double reach = there ? blob_reach(t, i) : 0;
        if (reach >= BLOB_FOOT) {
            first = open ? first : i;
            last = i;
            most = open ? fmax(most, reach) : reach;
            open = true;
        }
        bool ends = open && (i == rows->n || i > last + BLOB_GAP || rows->row[i].apart);
        if (!ends)
            continue;
        open = false;
        double length = (double)(last - first + 1) * PV_ROW_STEP;
        size_t middle = (first + last) / 2;
        pv_blob blob = {middle, t->side, length, most, t->course[middle]};
        if (most >= PV_BLOB_MIN && length >= PV_BLOB_MIN && !add_blob(edges, &blob))
            return false;
    }
    return true;
}

/* ---- both edges ---- */

static bool trace_start(trace *t, const pv_rows *rows, const pv_view *view)
{
    *t = (trace){.rows = rows, .view = view};
    t->seen = PV_NEW_ARRAY(rows->n, bool);
    t->at = PV_NEW_ARRAY(rows->n, double);
    t->course = PV_NEW_ARRAY(rows->n, double);
    t->sums = PV_NEW_ARRAY(5 * (rows->n + 1), double);
    return t->seen != NULL && t->at != NULL && t->course != NULL && t->sums != NULL;
}

bool pv_edges_measure(pv_edges *edges, const pv_rows *rows, const pv_view *view)
{
    *edges = (pv_edges){.raggedness = -1};
    trace t;
    bool good = trace_start(&t, rows, view);
    double square = 0;
    size_t traced = 0;
    for (int side = 0; good && side < 2; side++) {
        t.side = side;
        take_trace(&t);
        measure_profile(&t);
        size_t n;
        double one = ragged_square(&t, &n);
        if (n >= TRACED_MIN) {
            square += one * (double)n;
            traced += n;
        }
        good = find_blobs(&t, edges);
    }
    if (traced > 0)
        edges->raggedness = sqrt(square / (double)traced);
    free(t.seen);
    free(t.at);
    free(t.course);
    free(t.sums);
    if (!good)
        pv_edges_clear(edges);
    return good;
}

void pv_edges_clear(pv_edges *edges)
{
    free(edges->blobs);
    *edges = (pv_edges){0};
}
