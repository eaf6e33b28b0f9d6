#include "image/profile.h"

#include "base/numeric.h"

#include <float.h>
#include <string.h>

/* px between samples: assumed fine enough; check_profile shows what error is left. */
#define STEP       0.25
#define MOST_NOISE 6.0 /* see luma_tells */
#define SMOOTH_PX  1.5 /* half the width of the average in which a crossing is sought */

/* Adds the light at n places in a row to sum, for the plane's channels: `at` is the first one,
 * counted from the middle of the image's first pixel, `step` leads from one to the next. The caller
 * has checked that the four pixels around each exist. */
static void add_row(const pv_plane *plane, pv_vec at, pv_vec step, size_t n, double (*sum)[3])
{
    size_t k = (size_t)plane->channels, row = plane->width * k;
    int right = (int)plane->width - 2, below = (int)plane->height - 2;
    for (size_t s = 0; s < n; s++) {
        double u = at.x + (double)s * step.x, v = at.y + (double)s * step.y;
        int i = (int)u, j = (int)v;
        i = i < right ? i : right;
        j = j < below ? j : below;
        double fu = u - i, fv = v - j, w11 = fu * fv, w10 = fu - w11, w01 = fv - w11;
        double w00 = 1 - fu - w01;
        const uint16_t *p = plane->samples + (size_t)j * row + (size_t)i * k, *q = p + row;
        if (k == 1) {
            sum[s][0] += w00 * p[0] + w10 * p[1] + w01 * q[0] + w11 * q[1];
            continue;
        }
        sum[s][0] += w00 * p[0] + w10 * p[3] + w01 * q[0] + w11 * q[3];
        sum[s][1] += w00 * p[1] + w10 * p[4] + w01 * q[1] + w11 * q[4];
        sum[s][2] += w00 * p[2] + w10 * p[5] + w01 * q[2] + w11 * q[5];
    }
}

/* ---- hue that JPEG made coarse ---- */

/* Luma Y' = 0.299 R' + 0.587 G' + 0.114 B' of codes (ITU-R BT.601, which JFIF uses). */
static const double luma_share[3] = {0.299, 0.587, 0.114};

/* Code (0 to 1) of linear light, and how steeply it rises with it (IEC 61966-2-1; the straight part
 * goes on below zero). */
static double code_of(double light, double *slope)
{
    if (light <= 0.0031308) {
        *slope = 12.92;
        return 12.92 * light;
    }
    double power = 1.055 * pow(light, 1 / 2.4);
    *slope = power / (2.4 * light);
    return power - 0.055;
}

static double luma_of(const double rgb[3])
{
    double luma = 0, slope;
    for (int c = 0; c < 3; c++)
        luma += luma_share[c] * code_of(rgb[c], &slope);
    return luma;
}

static bool inside(const pv_plane *plane, pv_vec centre, pv_vec across, double half, double band)
{
    double reach_x = half * fabs(across.x) + band * fabs(across.y);
    double reach_y = half * fabs(across.y) + band * fabs(across.x);
    if (plane->width < 2 || plane->height < 2)
        return false;
    /* Written so that what is not a number fails. */
    return centre.x - reach_x >= 0.5 && centre.x + reach_x <= (double)plane->width - 0.5 &&
           centre.y - reach_y >= 0.5 && centre.y + reach_y <= (double)plane->height - 0.5;
}

bool pv_profile_take(const pv_plane *plane, pv_vec centre, pv_vec across, double half, double band,
                     pv_profile *out)
{
    if (!(half > 0 && band >= 0) || !inside(plane, centre, across, half, band))
        return false;
    double step = 2 * half / STEP < PV_PROFILE_MAX - 2 ? STEP : 2 * STEP;
    if (2 * half / step >= PV_PROFILE_MAX - 2)
        return false;
    size_t each = (size_t)(half / step);
    size_t rows = band > 0.5 ? (size_t)ceil(2 * band) : 1;
    out->n = 2 * each + 1;
    out->first = -step * (double)each;
    out->step = step;
    out->channels = plane->channels;
    out->coarse_hue = plane->coarse_hue && plane->channels == 3;
    pv_vec along = pv_left(across), first = pv_along(centre, across, out->first);
    first = pv_sub(first, pv_v(0.5, 0.5));
    memset(out->rgb, 0, out->n * sizeof *out->rgb);
    for (size_t r = 0; r < rows; r++) {
        double s = band * ((2 * (double)r + 1) / (double)rows - 1);
        add_row(plane, pv_along(first, along, s), pv_scale(across, step), out->n, out->rgb);
    }
    double unit = 1.0 / (65535.0 * (double)rows);
    for (size_t i = 0; i < out->n; i++) {
        for (int c = 0; c < 3; c++)
            out->rgb[i][c] *= unit;
        if (out->coarse_hue)
            out->luma[i] = luma_of(out->rgb[i]);
    }
    return true;
}

/* ---- a profile as one number for each sample ---- */

typedef struct signal {
    size_t n;
    double first, step;
    double p[PV_PROFILE_MAX];
    double
        area[PV_PROFILE_MAX]; /* integral of p from sample 0, p running straight between samples */
} signal;

static void integrate(signal *s)
{
    s->area[0] = 0;
    for (size_t i = 1; i < s->n; i++)
        s->area[i] = s->area[i - 1] + (s->p[i - 1] + s->p[i]) / 2 * s->step;
}

/* The integral from sample 0 up to an offset within the samples. */
static double area_to(const signal *s, double at)
{
    double u = (at - s->first) / s->step;
    if (u <= 0)
        return 0;
    size_t i = (size_t)u;
    if (i >= s->n - 1)
        return s->area[s->n - 1];
    double f = u - (double)i;
    return s->area[i] + s->step * f * (s->p[i] + f / 2 * (s->p[i + 1] - s->p[i]));
}

static double value_at(const signal *s, double at)
{
    double u = (at - s->first) / s->step;
    if (u <= 0)
        return s->p[0];
    size_t i = (size_t)u;
    if (i >= s->n - 1)
        return s->p[s->n - 1];
    return s->p[i] + (u - (double)i) * (s->p[i + 1] - s->p[i]);
}

/* Samples with from <= offset <= to, as [*lo, *hi); false where there are none. */
static bool span(const pv_profile *profile, double from, double to, size_t *lo, size_t *hi)
{
    double a = ceil((from - profile->first) / profile->step - 1e-9);
    double b = floor((to - profile->first) / profile->step + 1e-9);
    if (!(a >= 0 && b < (double)profile->n && a <= b))
        return false;
    *lo = (size_t)a;
    *hi = (size_t)b + 1;
    return true;
}

static void mean_colour(const pv_profile *profile, size_t lo, size_t hi, double mean[3])
{
    memset(mean, 0, 3 * sizeof *mean);
    for (size_t i = lo; i < hi; i++)
        for (int c = 0; c < profile->channels; c++)
            mean[c] += profile->rgb[i][c];
    for (int c = 0; c < 3; c++)
        mean[c] /= (double)(hi - lo);
}

/* ---- from one colour to another by luma ---- */

/* From one colour to the other, linear light; and the luma of both, and how it changes there. */
typedef struct luma_way {
    double zero[3], step[3];
    double luma[2], slope[2];
} luma_way;

static double luma_at(const luma_way *way, double f, double *slope)
{
    double luma = 0;
    *slope = 0;
    for (int c = 0; c < 3; c++) {
        double rise;
        luma += luma_share[c] * code_of(way->zero[c] + f * way->step[c], &rise);
        *slope += luma_share[c] * rise * way->step[c];
    }
    return luma;
}

/* Whether luma tells the two colours apart: all the way it rises, or all the way it falls, and
 * reading it raises noise no more than MOST_NOISE times over reading the colours' difference. Sets
 * what the way's ends have. */
static bool luma_tells(luma_way *way)
{
    double square = 0, gain = 0, sign = 0, middle = 0;
    for (int i = 0; i <= 4; i++) {
        double slope, luma = luma_at(way, i / 4.0, &slope);
        sign = i == 0 ? slope : sign;
        if (!(slope * sign > 0))
            return false;
        if (i == 2)
            middle = slope;
        else if (i % 4 == 0) {
            way->luma[i / 4] = luma;
            way->slope[i / 4] = slope;
        }
    }
    for (int c = 0; c < 3; c++) {
        double rise;
        code_of(way->zero[c] + way->step[c] / 2, &rise);
        square += way->step[c] * way->step[c];
        gain += luma_share[c] * rise * luma_share[c] * rise;
    }
    return fabs(middle) * MOST_NOISE > sqrt(gain * square);
}

/* How far along the way a luma stands. Between the two ends it is found by steps of Newton's, from
 * the cubic that has both ends' luma and slope; farther out luma goes on straight. */
static double luma_place(const luma_way *way, double luma)
{
    double all = way->luma[1] - way->luma[0], s = (luma - way->luma[0]) / all;
    if (s <= 0)
        return (luma - way->luma[0]) / way->slope[0];
    if (s >= 1)
        return 1 + (luma - way->luma[1]) / way->slope[1];
    double low = 0, high = 1, first = all / way->slope[0], last = all / way->slope[1];
    double f = s * ((1 - s) * ((1 - s) * first - s * last) + s * (3 - 2 * s));
    f = f > 0 && f < 1 ? f : s;
    for (int i = 0; i < 12; i++) {
        double rise, off = luma - luma_at(way, f, &rise);
        bool more = off / all > 0;
        low = more ? f : low;
        high = more ? high : f;
        double next = f + off / rise;
        next = next > low && next < high ? next : (low + high) / 2;
        if (fabs(next - f) < 1e-6)
            return next;
        f = next;
    }
    return f;
}

/* Which channels decide. */
static void weigh(const luma_way *way, bool luma, double weight[3])
{
    double sum = 0;
    for (int c = 0; c < 3; c++) {
        double rise;
        code_of(way->zero[c] + way->step[c] / 2, &rise);
        weight[c] = way->step[c] * (luma ? luma_share[c] * rise : way->step[c]);
        sum += weight[c];
    }
    for (int c = 0; c < 3; c++)
        weight[c] /= sum;
}

/* Every sample as its part of the way from the edge's colour `zero` to its colour `one`; the
 * distance between the two.
 *
 * An error of JPEG's chroma changes the three codes so that luma stays. So where hue is coarse and
 * luma tells, a sample stands where the mixture of the two colours in light has its luma. */
static double project(const pv_profile *profile, pv_edge *edge, signal *out)
{
    luma_way way = {.zero = {0}};
    double square = 0;
    for (int c = 0; c < profile->channels; c++) {
        way.zero[c] = edge->zero[c];
        way.step[c] = edge->one[c] - edge->zero[c];
        square += way.step[c] * way.step[c];
    }
    out->n = profile->n;
    out->first = profile->first;
    out->step = profile->step;
    if (square < DBL_MIN)
        return 0;
    bool luma = profile->coarse_hue && luma_tells(&way);
    weigh(&way, luma, edge->weight);
    for (size_t i = 0; i < profile->n; i++) {
        const double *rgb = profile->rgb[i];
        out->p[i] = 0;
        for (int c = 0; c < profile->channels && !luma; c++)
            out->p[i] += (rgb[c] - way.zero[c]) * way.step[c] / square;
        if (luma)
            out->p[i] = luma_place(&way, profile->luma[i]);
    }
    integrate(out);
    return sqrt(square);
}

static double squares_about(const signal *s, size_t lo, size_t hi, double level)
{
    double sum = 0;
    for (size_t i = lo; i < hi; i++)
        sum += (s->p[i] - level) * (s->p[i] - level);
    return sum;
}

/* How far the mean over +-w about an offset is above one half, times 2 w. */
static double excess(const signal *s, double at, double w)
{
    return area_to(s, at + w) - area_to(s, at - w) - w;
}

static double bisect(const signal *s, double a, double b, double w)
{
    for (int i = 0; i < 40; i++) {
        double middle = (a + b) / 2;
        if (excess(s, middle, w) < 0)
            a = middle;
        else
            b = middle;
    }
    return (a + b) / 2;
}

/* The upward crossing nearest to guess. */
static bool crossing(const signal *s, double guess, double near, double w, double *at)
{
    bool found = false;
    double a = guess - near, fa = excess(s, a, w);
    int steps = (int)ceil(2 * near / s->step);
    for (int i = 1; i <= steps; i++) {
        double b = guess - near + 2 * near * i / steps;
        double fb = excess(s, b, w);
        if (fa < 0 && fb >= 0) {
            double x = bisect(s, a, b, w);
            if (!found || fabs(x - guess) < fabs(*at - guess))
                *at = x;
            found = true;
        }
        a = b;
        fa = fb;
    }
    return found;
}

bool pv_edge_find(const pv_profile *profile, double guess, double near, double far, pv_edge *out)
{
    size_t l0, l1, r0, r1;
    if (!(near > 0 && far > near) || !span(profile, guess - far, guess - near, &l0, &l1) ||
        !span(profile, guess + near, guess + far, &r0, &r1))
        return false;
    mean_colour(profile, l0, l1, out->zero);
    mean_colour(profile, r0, r1, out->one);
    signal s;
    out->contrast = project(profile, out, &s);
    if (!(out->contrast >= PV_EDGE_CONTRAST_MIN))
        return false;
    double squares = squares_about(&s, l0, l1, 0) + squares_about(&s, r0, r1, 1);
    out->noise = sqrt(squares / (double)(l1 - l0 + r1 - r0));
    double w = fmin(SMOOTH_PX, near);
    if (out->noise > PV_EDGE_NOISE_MAX || !crossing(&s, guess, near, w, &out->at))
        return false;
    out->slope = value_at(&s, out->at + 0.5) - value_at(&s, out->at - 0.5);
    return out->slope > 0;
}

bool pv_edge_find_in(const pv_profile *profile, int channel, double guess, double near, double far,
                     pv_edge *out)
{
    pv_profile one = {.n = profile->n, .first = profile->first, .step = profile->step};
    one.channels = 1;
    for (size_t i = 0; i < profile->n; i++)
        one.rgb[i][0] = profile->rgb[i][channel];
    return pv_edge_find(&one, guess, near, far, out);
}

/* ---- strokes ---- */

/* The ground is what most of the window shows: of each channel the median. */
static double median_channel(const pv_profile *profile, size_t lo, size_t hi, int c)
{
    double values[PV_PROFILE_MAX];
    for (size_t i = lo; i < hi; i++)
        values[i - lo] = profile->rgb[i][c];
    return pv_median_of(values, hi - lo);
}

/* The sample that differs most from the ground. */
static size_t farthest(const pv_profile *profile, size_t lo, size_t hi, const double ground[3])
{
    size_t best = lo;
    double most = -1;
    for (size_t i = lo; i < hi; i++) {
        double square = 0;
        for (int c = 0; c < profile->channels; c++) {
            double d = profile->rgb[i][c] - ground[c];
            square += d * d;
        }
        if (square > most) {
            most = square;
            best = i;
        }
    }
    return best;
}

/* How far the stroke reaches from its peak at each side: to where it has sunk to a twentieth. */
static double half_extent(const signal *s, size_t lo, size_t hi, size_t peak)
{
    size_t a = peak, b = peak;
    while (a > lo && s->p[a] > 0.05)
        a--;
    while (b + 1 < hi && s->p[b] > 0.05)
        b++;
    size_t wider = peak - a > b - peak ? peak - a : b - peak;
    return (double)wider * s->step;
}

/* First moment over a window, ground subtracted, about the window's middle. */
static double centroid_off(const signal *s, double at, double half)
{
    double sum = 0, moment = 0;
    int n = (int)ceil(half / s->step);
    for (int i = -n; i <= n; i++) {
        double t = half * i / n;
        double v = value_at(s, at + t) * (i == -n || i == n ? 0.5 : 1);
        sum += v;
        moment += v * t;
    }
    return sum > 0 ? moment / sum : 0;
}

static void level_ground(signal *s, size_t lo, size_t hi, double at, double half, double *noise)
{
    double sum = 0, squares = 0;
    size_t n = 0;
    for (size_t i = lo; i < hi; i++) {
        double t = s->first + s->step * (double)i;
        if (fabs(t - at) <= half)
            continue;
        sum += s->p[i];
        squares += s->p[i] * s->p[i];
        n++;
    }
    double mean = n > 0 ? sum / (double)n : 0;
    *noise = n > 0 ? sqrt(fmax(0, squares / (double)n - mean * mean)) : 1;
    for (size_t i = 0; i < s->n; i++)
        s->p[i] -= mean;
}

bool pv_stroke_find(const pv_profile *profile, double guess, double reach, pv_edge *out)
{
    size_t lo, hi;
    if (!(reach > 0) || !span(profile, guess - reach, guess + reach, &lo, &hi) || hi - lo < 8)
        return false;
    memset(out->zero, 0, sizeof out->zero);
    for (int c = 0; c < profile->channels; c++)
        out->zero[c] = median_channel(profile, lo, hi, c);
    size_t peak = farthest(profile, lo, hi, out->zero);
    memcpy(out->one, profile->rgb[peak], sizeof out->one);
    signal s;
    out->contrast = project(profile, out, &s);
    if (!(out->contrast >= PV_EDGE_CONTRAST_MIN))
        return false;
    double half = half_extent(&s, lo, hi, peak) + 0.5;
    double at = s.first + s.step * (double)peak;
    level_ground(&s, lo, hi, at, half, &out->noise);
    if (out->noise > PV_EDGE_NOISE_MAX)
        return false;
    for (int i = 0; i < 30; i++) {
        double off = centroid_off(&s, at, half);
        at += off;
        /* A stroke cut off by the window, or none at all: its centroid has no place. */
        if (at - half < guess - reach - 1e-9 || at + half > guess + reach + 1e-9)
            return false;
        if (fabs(off) < 1e-7)
            break;
    }
    out->at = at;
    out->slope = fmax(value_at(&s, at - half / 2 + 0.5) - value_at(&s, at - half / 2 - 0.5),
                      value_at(&s, at + half / 2 - 0.5) - value_at(&s, at + half / 2 + 0.5));
    return true;
}
