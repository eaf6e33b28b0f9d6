#include "reference/steps.h"

#include "base/light.h"
#include "base/numeric.h"

#include <stdlib.h>
#include <string.h>

#define PLACES_MAX 100
#define SEEN_MAX   8     /* steps of one place */
#define SPAN_PX    1.5   /* the means on both sides of a step are over so much */
#define NOISE      4.0   /* times the median difference along a profile: less is no step */
#define LEAST      0.012 /* of the root of light, 0 to 1: three codes of 256 */
#define RING_PX    5.0   /* a sharpened edge has a step back so near to it, */
#define RING       0.3   /* of so much of its own */
/* px before a step: where the face is read, and where its beginning is sought; and the part of the
 * step that counts as its beginning. */
#define LEAD_FACE    11.0
#define LEAD_FROM    7.0
#define LEAD_STEP    0.1
#define LEAD_SAMPLES 100
#define LEAD_SCATTER 25
#define LEAD_PART    0.05
#define LEAD_LIGHT   0.1   /* luminance tells where it is so much of the square of colour */
#define LEAD_HUE     0.7   /* px by which coarse hue begins earlier */
#define TURN         0.006 /* rad, how far lines may be turned against the side's */
#define TURNS        12    /* to each side */
#define WITHIN_MM    0.05  /* places of a line lie so near to it, or */
#define WITHIN_PX    0.6

/* A line of light is brighter than both its sides by so much of what they differ by, more than
 * sharpening adds, and by so much of all light. */
#define BRIGHT       0.3
#define BRIGHT_LEAST 0.015

typedef struct seen {
    size_t place;
    double s, e; /* mm along the side and out from its line */
    bool taken;
} seen;

typedef struct all_seen {
    seen at[PLACES_MAX * SEEN_MAX];
    size_t n, places;
    double within;
} all_seen;

/* ---- the steps of one place ---- */

typedef struct differences {
    double to[PV_PROFILE_MAX][3], size[PV_PROFILE_MAX];
    double sum[PV_PROFILE_MAX + 1][3];   /* of the root of light, up to each sample */
    double light[PV_PROFILE_MAX + 1][3]; /* of the light itself */
    size_t n;
    int channels;
} differences;

/* The mean of `span` samples from i on, less that of as many before it. */
static double difference(const differences *d, double sum[][3], size_t i, size_t span, double to[3])
{
    double size = 0;
    for (int c = 0; c < d->channels; c++) {
        double before = sum[i][c] - sum[i - span][c], after = sum[i + span][c] - sum[i][c];
        to[c] = (after - before) / (double)span;
        size += to[c] * to[c];
    }
    return sqrt(size);
}

static void add_up(const pv_profile *p, differences *d)
{
    d->n = p->n;
    d->channels = p->channels;
    memset(d->sum[0], 0, sizeof d->sum[0]);
    memset(d->light[0], 0, sizeof d->light[0]);
    for (size_t i = 0; i < p->n; i++)
        for (int c = 0; c < d->channels; c++) {
            d->sum[i + 1][c] = d->sum[i][c] + sqrt(fmax(0, p->rgb[i][c]));
            d->light[i + 1][c] = d->light[i][c] + p->rgb[i][c];
        }
}

/* What sharpening puts beside a clear edge: a step back. */
static bool is_ring(const differences *d, size_t i, size_t reach)
{
    size_t from = i > reach ? i - reach : 0, to = i + reach < d->n ? i + reach : d->n - 1;
    for (size_t k = from; k <= to; k++) {
        double with = 0;
        for (int c = 0; c < d->channels; c++)
            with += d->to[k][c] * d->to[i][c];
        if (with < 0 && d->size[i] < RING * d->size[k])
            return true;
    }
    return false;
}

/* Indices of the steps in a profile. */
static size_t steps_in(const pv_profile *p, differences *d, size_t found[SEEN_MAX])
{
    size_t span = (size_t)fmax(1, round(SPAN_PX / p->step)), n = 0, lo = 3 * span;
    double sorted[PV_PROFILE_MAX];
    add_up(p, d);
    if (p->n < 8 * span)
        return 0;
    memset(d->size, 0, sizeof d->size);
    memset(d->to, 0, sizeof d->to);
    size_t hi = p->n - 3 * span, count = 0;
    for (size_t i = lo; i <= hi; i++)
        sorted[count++] = d->size[i] = difference(d, d->sum, i, span, d->to[i]);
    qsort(sorted, count, sizeof *sorted, pv_by_value);
    double least = fmax(LEAST, NOISE * sorted[count / 4]);
    for (size_t i = lo; i <= hi && n < SEEN_MAX; i++) {
        bool top = d->size[i] >= least;
        for (size_t k = i > span ? i - span : 0; top && k <= i + span && k < p->n; k++)
            top = d->size[k] < d->size[i] || (k >= i && d->size[k] == d->size[i]);
        if (top && !is_ring(d, i, (size_t)(RING_PX / p->step)))
            found[n++] = i;
    }
    return n;
}

/* Where the light itself changes most, near a step: its root changes most nearer to the dark side,
 * and blur is of light. By the parabola through the greatest difference and its neighbours, in
 * samples. */
static double place_of(differences *d, size_t k, size_t span)
{
    double to[3], size[3] = {0};
    size_t best = k;
    for (size_t i = k - span; i <= k + span; i++) {
        double here = difference(d, d->light, i, span, to);
        if (here > size[1]) {
            best = i;
            size[1] = here;
        }
    }
    size[0] = difference(d, d->light, best - 1, span, to);
    size[2] = difference(d, d->light, best + 1, span, to);
    double bend = size[0] - 2 * size[1] + size[2];
    double part = bend < 0 ? (size[0] - size[2]) / (2 * bend) : 0;
    return (double)best + fmax(-1, fmin(1, part));
}

static void look_across(const pv_plane *plane, const pv_pose *pose, const pv_outline_side *side,
                        double in, double out, size_t place, double s, differences *d,
                        all_seen *all)
{
    pv_profile profile;
    pv_outline_cut cut;
    pv_outline_side from = *side;
    double middle = (out - in) / 2, half = (in + out) / 2;
    size_t found[SEEN_MAX];
    from.off += middle;
    if (!pv_outline_profile(plane, pose, &from, s, half + 0.3, &profile, &cut))
        return;
    size_t n = steps_in(&profile, d, found);
    size_t span = (size_t)fmax(1, round(SPAN_PX / profile.step));
    for (size_t i = 0; i < n; i++) {
        size_t k = found[i];
        double at = profile.first + profile.step * (place_of(d, k, span) - 0.5);
        pv_vec p = pv_pose_unmap(pose, pv_along(cut.centre, cut.across, at));
        pv_vec off = pv_sub(p, side->middle);
        double along = pv_dot(off, side->along);
        all->at[all->n++] = (seen){.place = place,
                                   .s = along,
                                   .e = pv_dot(off, side->out) - side->off - side->slope * along};
    }
}

/* ---- lines ---- */

static size_t count(const all_seen *all, double at, double turn)
{
    size_t n = 0, last = SIZE_MAX;
    for (size_t i = 0; i < all->n; i++) {
        const seen *one = &all->at[i];
        if (one->taken || one->place == last || fabs(one->e - at - turn * one->s) > all->within)
            continue;
        last = one->place;
        n++;
    }
    return n;
}

/* The line that most places show. */
static size_t most(const all_seen *all, double *at, double *turn)
{
    size_t best = 0;
    for (size_t i = 0; i < all->n; i += 3)
        for (int k = -TURNS; k <= TURNS && !all->at[i].taken; k++) {
            double t = TURN * k / TURNS, from = all->at[i].e - t * all->at[i].s;
            size_t n = count(all, from, t);
            if (n > best || (n == best && fabs(t) < fabs(*turn))) {
                best = n;
                *at = from;
                *turn = t;
            }
        }
    return best;
}

/* Least squares through the places near a line; takes them. */
static bool fit(all_seen *all, double at, double turn, const pv_outline_side *side,
                pv_side_step *out)
{
    double n = 0, s = 0, e = 0, ss = 0, se = 0, ee = 0, first = HUGE_VAL, last = -HUGE_VAL;
    for (size_t i = 0; i < all->n; i++) {
        seen *one = &all->at[i];
        if (one->taken || fabs(one->e - at - turn * one->s) > all->within)
            continue;
        one->taken = true;
        n++;
        s += one->s;
        e += one->e;
        ss += one->s * one->s;
        se += one->s * one->e;
        ee += one->e * one->e;
        first = fmin(first, one->s);
        last = fmax(last, one->s);
    }
    double spread = ss - s * s / n;
    if (n < 6 || !(spread > 0) || last - first < PV_OUTLINE_SPREAD * 2 * side->half)
        return false;
    double slope = (se - s * e / n) / spread, off = (e - slope * s) / n;
    double left = fmax(0, ee - e * e / n - slope * (se - s * e / n)) / (n - 2);
    double doubt = fmax(1, sqrt((double)all->places / n));
    *out = (pv_side_step){.off = side->off + off,
                          .slope = side->slope + slope,
                          .u_slope = doubt * sqrt(PV_OUTLINE_ALIKE * left / spread),
                          .u_off = doubt * sqrt(PV_OUTLINE_ALIKE * left / n),
                          .share = fmin(1, n / (double)all->places)};
    return true;
}

/* ---- how it begins ---- */

/* Squares of what the light at each place of a side differs from the face's, from LEAD_FROM px
 * before the step on: of colour, and of luminance alone. */
typedef struct departure {
    float colour[LEAD_SAMPLES][PLACES_MAX], luminance[LEAD_SAMPLES][PLACES_MAX];
    size_t n;
} departure;

static void read_at(const pv_profile *p, size_t i, double out[4])
{
    for (int c = 0; c < 3; c++)
        out[c] = p->channels == 3 ? p->rgb[i][c] : 0;
    out[3] = p->coarse_hue ? pv_srgb_decode(p->luma[i]) : p->rgb[i][0];
}

static void depart(const pv_profile *p, departure *out)
{
    double face[4] = {0}, n = 0, here[4];
    for (size_t i = 0; i < p->n; i++) {
        double t = p->first + p->step * (double)i;
        if (t < -LEAD_FACE || t > -LEAD_FROM)
            continue;
        n++;
        read_at(p, i, here);
        for (int c = 0; c < 4; c++)
            face[c] += here[c];
    }
    if (n < 1)
        return;
    for (size_t k = 0; k < LEAD_SAMPLES; k++) {
        double at = (LEAD_STEP * (double)k - LEAD_FROM - p->first) / p->step, next[4];
        size_t i = (size_t)fmax(0, fmin(at, (double)p->n - 2));
        read_at(p, i, here);
        read_at(p, i + 1, next);
        double square = 0, d = 0;
        for (int c = 0; c < 4; c++) {
            d = here[c] + (at - (double)i) * (next[c] - here[c]) - face[c] / n;
            square += c < 3 ? d * d : 0;
        }
        out->colour[k][out->n] = (float)square;
        out->luminance[k][out->n] = (float)(d * d);
    }
    out->n++;
}

static int by_float(const void *a, const void *b)
{
    return pv_order((double)*(const float *)a, (double)*(const float *)b);
}

/* The median over all places: a pattern on the face departs at some of them. */
static void medians(float of[LEAD_SAMPLES][PLACES_MAX], size_t n, double out[LEAD_SAMPLES])
{
    for (size_t k = 0; k < LEAD_SAMPLES; k++) {
        qsort(of[k], n, sizeof *of[k], by_float);
        out[k] = (double)of[k][n / 2];
    }
}

static double most_of(const double square[LEAD_SAMPLES])
{
    double most = 0;
    for (size_t k = 0; k < LEAD_SAMPLES; k++)
        most = fmax(most, square[k]);
    return most;
}

static double lead_by(const double square[LEAD_SAMPLES])
{
    /* The face's own scatter, by its first samples. */
    double mean = 0, most = 0;
    for (size_t i = 0; i < LEAD_SCATTER; i++) {
        mean += square[i] / LEAD_SCATTER;
        most = fmax(most, square[i]);
    }
    double least = fmax(LEAD_PART * LEAD_PART * most_of(square), 2 * (most - mean));
    size_t k = (size_t)(LEAD_FROM / LEAD_STEP);
    while (k > 0 && square[k] - mean > least)
        k--;
    return LEAD_FROM - LEAD_STEP * (double)k;
}

double pv_step_lead(const pv_plane *plane, const pv_pose *pose, const pv_outline_side *side)
{
    departure all;
    all.n = 0;
    bool coarse = false;
    double reach = side->half - PV_OUTLINE_ENDS, px = pv_pose_px_per_mm(pose, side->middle);
    size_t places = (size_t)fmin(PLACES_MAX, 1 + floor(2 * reach / PV_OUTLINE_PITCH));
    for (size_t i = 0; i < places; i++) {
        pv_profile profile;
        pv_outline_cut cut;
        double s = -reach + 2 * reach * ((double)i + 0.5) / (double)places;
        if (!pv_outline_profile(plane, pose, side, s, (LEAD_FACE + 1) / px, &profile, &cut))
            continue;
        coarse = profile.coarse_hue || profile.channels == 1;
        depart(&profile, &all);
    }
    if (all.n == 0)
        return LEAD_FROM;
    double colour[LEAD_SAMPLES], luminance[LEAD_SAMPLES];
    medians(all.colour, all.n, colour);
    medians(all.luminance, all.n, luminance);
    if (!coarse)
        return lead_by(colour);
    /* Coarse hue is blurred more than the luminance. */
    bool light = most_of(luminance) > LEAD_LIGHT * most_of(colour);
    return light ? lead_by(luminance) : fmax(0, lead_by(colour) - LEAD_HUE);
}

/* ---- a line of light ---- */

static double luminance_over(const pv_profile *p, double from, double to, bool greatest)
{
    double sum = 0, most = 0;
    int n = 0;
    for (size_t i = 0; i < p->n; i++) {
        double t = p->first + p->step * (double)i, here[4];
        if (t < from || t > to)
            continue;
        read_at(p, i, here);
        double light =
            p->channels == 3 ? 0.2126 * here[0] + 0.7152 * here[1] + 0.0722 * here[2] : here[3];
        sum += light;
        most = fmax(most, light);
        n++;
    }
    return greatest ? most : sum / fmax(1, n);
}

double pv_step_bright(const pv_plane *plane, const pv_pose *pose, const pv_outline_side *side,
                      double wide)
{
    double reach = side->half - PV_OUTLINE_ENDS, px = pv_pose_px_per_mm(pose, side->middle);
    size_t places = (size_t)fmin(PLACES_MAX, 1 + floor(2 * reach / PV_OUTLINE_PITCH)), n = 0;
    for (size_t i = 0; i < places; i++) {
        pv_profile profile;
        pv_outline_cut cut;
        double s = -reach + 2 * reach * ((double)i + 0.5) / (double)places, beyond = wide * px;
        if (!pv_outline_profile(plane, pose, side, s, wide + LEAD_FACE / px, &profile, &cut))
            continue;
        double face = luminance_over(&profile, -LEAD_FROM, -3, false);
        double ground = luminance_over(&profile, beyond + 3, beyond + LEAD_FROM, false);
        double line = luminance_over(&profile, 0, beyond + 1.5, true);
        n += line > fmax(face, ground) + BRIGHT * fabs(face - ground) + BRIGHT_LEAST;
    }
    return (double)n / (double)places;
}

static int by_off(const void *a, const void *b)
{
    return pv_order(((const pv_side_step *)a)->off, ((const pv_side_step *)b)->off);
}

size_t pv_steps_find(const pv_plane *plane, const pv_pose *pose, const pv_outline_side *side,
                     double in, double out, double share, pv_side_step steps[PV_STEPS_MAX])
{
    differences d;
    all_seen all = {.n = 0};
    double reach = side->half - PV_OUTLINE_ENDS, px = pv_pose_px_per_mm(pose, side->middle);
    all.places = (size_t)fmin(PLACES_MAX, 1 + floor(2 * reach / PV_OUTLINE_PITCH));
    all.within = fmax(WITHIN_MM, WITHIN_PX / px);
    for (size_t i = 0; i < all.places; i++)
        look_across(plane, pose, side, in, out, i,
                    -reach + 2 * reach * ((double)i + 0.5) / (double)all.places, &d, &all);
    size_t n = 0;
    for (int i = 0; i < 2 * PV_STEPS_MAX && n < PV_STEPS_MAX; i++) {
        double at = 0, turn = 0;
        size_t shown = most(&all, &at, &turn);
        if ((double)shown < share * (double)all.places)
            break;
        n += fit(&all, at, turn, side, &steps[n]);
    }
    if (n > 0)
        qsort(steps, n, sizeof *steps, by_off);
    return n;
}
