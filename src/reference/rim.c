#include "reference/rim.h"

#include "base/memory.h"
#include "base/numeric.h"

#include <stdlib.h>
#include <string.h>

/* As many places as outline.c has. The rest: choices of this method, assumed and tried on
 * simulated cards. */
#define PLACES_MAX  100
#define SAMPLES_MAX 160 /* of a place */
#define PLATEAU     0.6 /* mm */
#define BLURS       2.2 /* standard deviations of blur to where a plateau begins */
#define STEPS       25
#define GAIN_MOST   1.0 /* one standard deviation: past that a solution is no minimum */
#define UNLIKE      8.0 /* times the median square: a place that shows something else */

/* The ground darkens towards the card's foot as a sum of exponentials of these lengths, mm. */
#define SHADES 2
static const double shade_mm[SHADES] = {0.25, 0.8};

/* Unknowns. */
enum { OFF, SLOPE, BLUR, WALL, SHADE, LIGHT = SHADE + SHADES, UNKNOWNS = LIGHT + 3 };

/* What is read of a colour: its luminance, and by how much red and blue exceed it. */
#define SIGNALS 3
#define HUE_PX  0.8 /* blur of hue, standard deviation, where JPEG thinned it out (an estimate) */

typedef struct place {
    double s, f[SIGNALS], g[SIGNALS];
    double hue;           /* mm: blur of hue beyond that of luminance */
    double faded[SHADES]; /* what is left of each shade where the ground was read */
    size_t first, n;      /* its samples */
    bool left_out;
} place;

typedef struct rim {
    const pv_rim_before *before;
    place place[PLACES_MAX];
    size_t n;
    double *e, (*y)[SIGNALS]; /* samples of all places */
    size_t samples;
    int signals;
    double f[SIGNALS], g[SIGNALS]; /* means over all places */
    double contrast;
    double variance[SIGNALS]; /* of one sample */
} rim;

typedef struct solution {
    double x[UNKNOWNS], cov[UNKNOWNS * UNKNOWNS], q; /* q: sum of squares, in its variance */
    double gain;                                     /* of q, that another step promises */
} solution;

/* ---- what the picture shows ---- */

static void signals_of(const double rgb[3], int channels, double out[SIGNALS])
{
    out[0] = channels == 3 ? 0.2126 * rgb[0] + 0.7152 * rgb[1] + 0.0722 * rgb[2] : rgb[0];
    out[1] = rgb[0] - out[0];
    out[2] = rgb[2] - out[0];
}

/* Mean colour of samples from a to b, px. */
static bool plateau(const pv_profile *p, double a, double b, double out[3])
{
    size_t n = 0;
    out[0] = out[1] = out[2] = 0;
    for (size_t i = 0; i < p->n; i++) {
        double t = p->first + p->step * (double)i;
        if (t < a || t > b)
            continue;
        n++;
        for (int c = 0; c < 3; c++)
            out[c] += p->rgb[i][c];
    }
    for (int c = 0; c < 3; c++)
        out[c] /= (double)n;
    return n >= 2;
}

/* Reads a place. Its luminance goes straight from f to g where the colour goes from face to ground.
 */
static bool read_place(rim *r, const pv_plane *plane, const pv_pose *pose,
                       const pv_outline_side *side, double s)
{
    double near = r->before->wall + BLURS * r->before->blur, far = near + PLATEAU;
    pv_profile profile;
    double face[3], ground[3];
    pv_outline_cut cut;
    if (!pv_outline_profile(plane, pose, side, s, far, &profile, &cut) ||
        !plateau(&profile, -far * cut.px, -near * cut.px, face) ||
        !plateau(&profile, near * cut.px, far * cut.px, ground))
        return false;
    place *at = &r->place[r->n];
    *at = (place){.s = s, .first = r->samples};
    for (int i = 0; i < SHADES; i++)
        at->faded[i] = exp(-(far - PLATEAU / 2) / shade_mm[i]);
    at->hue = profile.coarse_hue ? HUE_PX / cut.px : 0;
    r->signals = profile.channels == 3 ? SIGNALS : 1;
    signals_of(face, profile.channels, at->f);
    signals_of(ground, profile.channels, at->g);
    for (size_t i = 0; i < profile.n && at->n < SAMPLES_MAX; i += 2) {
        double e = (profile.first + profile.step * (double)i) / cut.px;
        if (fabs(e) > far)
            continue;
        r->e[r->samples] = e;
        signals_of(profile.rgb[i], profile.channels, r->y[r->samples++]);
        at->n++;
    }
    r->n++;
    return true;
}

static bool read_side(rim *r, const pv_plane *plane, const pv_pose *pose,
                      const pv_outline_side *side)
{
    double reach = side->half - PV_OUTLINE_ENDS, squares = 0;
    size_t places = (size_t)fmin(PLACES_MAX, 1 + floor(2 * reach / PV_OUTLINE_PITCH));
    r->e = PV_NEW_ARRAY(places * SAMPLES_MAX, double);
    r->y = pv_new_array(places * SAMPLES_MAX, sizeof *r->y);
    if (r->e == NULL || r->y == NULL)
        return false;
    for (size_t i = 0; i < places; i++)
        read_place(r, plane, pose, side, -reach + 2 * reach * ((double)i + 0.5) / (double)places);
    for (size_t i = 0; i < r->n; i++)
        for (int k = 0; k < r->signals; k++) {
            double f = r->place[i].f[k], g = r->place[i].g[k];
            r->f[k] += f / (double)r->n;
            r->g[k] += g / (double)r->n;
            squares += (f - g) * (f - g) / (double)r->n;
        }
    r->contrast = sqrt(squares);
    return true;
}

/* ---- the model ---- */

static double step_at(double z)
{
    return 0.5 * erfc(-z / sqrt(2));
}

static double bell_at(double z)
{
    return exp(-z * z / 2) / sqrt(2 * PV_PI);
}

/* The shades at a sample, alike in all signals. */
static void shades_at(const double x[UNKNOWNS], const place *at, double e, double fades[SHADES])
{
    double out = e - x[OFF] - x[SLOPE] * at->s - x[WALL];
    for (int i = 0; i < SHADES; i++)
        fades[i] = exp(-fmax(0, out) / shade_mm[i]) - at->faded[i];
}

/* What the model shows of a signal at a sample, and its derivatives. */
static double model(const double x[UNKNOWNS], const place *at, int k, double e,
                    const double fades[SHADES], double d[UNKNOWNS])
{
    double beyond = e - x[OFF] - x[SLOPE] * at->s, out = beyond - x[WALL];
    double blur = k == 0 ? x[BLUR] : hypot(x[BLUR], at->hue);
    double z1 = beyond / blur, z2 = out / blur, s1 = step_at(z1), s2 = step_at(z2);
    double inner = x[LIGHT + k] - at->f[k], outer = at->g[k] - x[LIGHT + k];
    double k1 = inner * bell_at(z1) / blur, k2 = outer * bell_at(z2) / blur;
    memset(d, 0, UNKNOWNS * sizeof *d);
    d[OFF] = -k1 - k2;
    d[SLOPE] = at->s * d[OFF];
    d[BLUR] = (-k1 * z1 - k2 * z2) * x[BLUR] / blur;
    d[WALL] = -k2;
    d[LIGHT + k] = s1 - s2;
    double seen = at->f[k] + inner * s1 + outer * s2;
    for (int i = 0; i < SHADES; i++) {
        d[SHADE + i] = -at->g[k] * fades[i] * s2;
        seen += x[SHADE + i] * d[SHADE + i];
    }
    return seen;
}

/* Sums of a place's squares, of each signal. */
static void squares_of_place(const rim *r, const place *at, const double x[UNKNOWNS],
                             double sum[SIGNALS])
{
    double d[UNKNOWNS], fades[SHADES];
    memset(sum, 0, SIGNALS * sizeof *sum);
    for (size_t i = at->first; i < at->first + at->n; i++) {
        shades_at(x, at, r->e[i], fades);
        for (int k = 0; k < r->signals; k++) {
            double off = r->y[i][k] - model(x, at, k, r->e[i], fades, d);
            sum[k] += off * off;
        }
    }
}

/* What is known before, as guesses and uncertainties; 0: nothing. */
static void known(const rim *r, double guess[UNKNOWNS], double u[UNKNOWNS])
{
    memset(guess, 0, UNKNOWNS * sizeof *guess);
    memset(u, 0, UNKNOWNS * sizeof *u);
    guess[SLOPE] = r->before->slope;
    u[SLOPE] = r->before->slope_u;
    guess[BLUR] = r->before->blur;
    u[BLUR] = r->before->blur_u;
    guess[WALL] = r->before->wall;
    u[WALL] = r->before->wall_u;
    for (int k = 0; k < SIGNALS; k++) {
        guess[LIGHT + k] = (r->f[k] + r->g[k]) / 2;
        u[LIGHT + k] = PV_RIM_LIGHT_U;
    }
    for (int i = 0; i < SHADES; i++)
        u[SHADE + i] = PV_RIM_SHADE_U;
}

static double squares(const rim *r, const double x[UNKNOWNS])
{
    double guess[UNKNOWNS], u[UNKNOWNS], q = 0;
    known(r, guess, u);
    for (size_t i = 0; i < r->n; i++) {
        double sum[SIGNALS];
        if (r->place[i].left_out)
            continue;
        squares_of_place(r, &r->place[i], x, sum);
        for (int k = 0; k < r->signals; k++)
            q += sum[k] / (r->variance[k] * PV_RIM_ALIKE);
    }
    for (int i = 0; i < UNKNOWNS; i++)
        if (u[i] > 0)
            q += (x[i] - guess[i]) * (x[i] - guess[i]) / (u[i] * u[i]);
    return q;
}

static void add_place(const rim *r, const place *at, const double x[UNKNOWNS],
                      double a[UNKNOWNS * UNKNOWNS], double b[UNKNOWNS])
{
    double d[UNKNOWNS], fades[SHADES];
    for (size_t i = at->first; i < at->first + at->n; i++) {
        shades_at(x, at, r->e[i], fades);
        for (int k = 0; k < r->signals; k++) {
            double weight = 1 / (r->variance[k] * PV_RIM_ALIKE);
            double off = (r->y[i][k] - model(x, at, k, r->e[i], fades, d)) * weight;
            for (int p = 0; p < UNKNOWNS; p++) {
                b[p] += off * d[p];
                for (int q = 0; q <= p; q++)
                    a[p * UNKNOWNS + q] += d[p] * d[q] * weight;
            }
        }
    }
}

/* Normal equations at x: a (lower half) and b. */
static void equations(const rim *r, const double x[UNKNOWNS], double a[UNKNOWNS * UNKNOWNS],
                      double b[UNKNOWNS])
{
    double guess[UNKNOWNS], u[UNKNOWNS];
    known(r, guess, u);
    memset(a, 0, UNKNOWNS * UNKNOWNS * sizeof *a);
    memset(b, 0, UNKNOWNS * sizeof *b);
    for (size_t i = 0; i < r->n; i++)
        if (!r->place[i].left_out)
            add_place(r, &r->place[i], x, a, b);
    for (int p = 0; p < UNKNOWNS; p++)
        if (u[p] > 0) {
            b[p] += (guess[p] - x[p]) / (u[p] * u[p]);
            a[p * UNKNOWNS + p] += 1 / (u[p] * u[p]);
        }
}

/* ---- solving ---- */

/* Light that there can be, and a wall not much broader or narrower than it must be. */
static bool sensible(const rim *r, const double x[UNKNOWNS])
{
    const pv_rim_before *before = r->before;
    bool good = isfinite(x[OFF]) &&
                fabs(x[BLUR] / before->blur - 1) < 5 * before->blur_u / before->blur &&
                x[BLUR] > before->blur / 3 && x[WALL] >= 0 &&
                fabs(x[WALL] - before->wall) < PV_RIM_WALL_MOST * before->wall_u;
    for (int i = 0; i < SHADES; i++)
        good = good && x[SHADE + i] > -PV_RIM_SHADE_U && x[SHADE + i] < 1;
    return good && x[LIGHT] > -0.1 && x[LIGHT] < 1.2;
}

/* Levenberg's and Marquardt's steps from out->x. */
static bool descend(const rim *r, solution *out)
{
    double damp = 1e-3, a[UNKNOWNS * UNKNOWNS], b[UNKNOWNS];
    out->q = squares(r, out->x);
    for (int i = 0; i < STEPS && damp < 1e6; i++) {
        double next[UNKNOWNS];
        equations(r, out->x, a, b);
        for (int p = 0; p < UNKNOWNS; p++)
            a[p * UNKNOWNS + p] *= 1 + damp;
        if (!pv_cholesky(a, UNKNOWNS))
            return false;
        pv_cholesky_solve(a, UNKNOWNS, b);
        for (int p = 0; p < UNKNOWNS; p++)
            next[p] = out->x[p] + b[p];
        double q = sensible(r, next) ? squares(r, next) : HUGE_VAL;
        bool better = q < out->q, done = better && out->q - q < 1e-4;
        damp = better ? damp / 10 : damp * 10;
        if (better) {
            memcpy(out->x, next, sizeof next);
            out->q = q;
        }
        if (done)
            break;
    }
    double step[UNKNOWNS];
    equations(r, out->x, a, b);
    if (!pv_cholesky(a, UNKNOWNS))
        return false;
    memcpy(step, b, sizeof step);
    pv_cholesky_solve(a, UNKNOWNS, step);
    out->gain = 0;
    for (int p = 0; p < UNKNOWNS; p++)
        out->gain += step[p] * b[p];
    pv_cholesky_inverse(a, UNKNOWNS, out->cov);
    return true;
}

/* Leaves out places that the solution explains far worse than most, and takes the variances of a
 * sample from the rest. */
static void look_back(rim *r, const double x[UNKNOWNS])
{
    double mean[PLACES_MAX] = {0}, sorted[PLACES_MAX] = {0}, sum[PLACES_MAX][SIGNALS];
    double all[SIGNALS] = {0}, samples = 0, least = PV_RIM_MODEL * r->contrast;
    for (size_t i = 0; i < r->n; i++) {
        squares_of_place(r, &r->place[i], x, sum[i]);
        mean[i] = (sum[i][0] + sum[i][1] + sum[i][2]) / fmax(1, (double)r->place[i].n);
        sorted[i] = mean[i];
    }
    qsort(sorted, r->n, sizeof *sorted, pv_by_value);
    for (size_t i = 0; i < r->n; i++) {
        r->place[i].left_out = mean[i] > UNLIKE * sorted[r->n / 2];
        if (r->place[i].left_out)
            continue;
        samples += (double)r->place[i].n;
        for (int k = 0; k < SIGNALS; k++)
            all[k] += sum[i][k];
    }
    for (int k = 0; k < SIGNALS; k++)
        r->variance[k] = fmax(least * least, samples > 0 ? all[k] / samples : 0);
}

/* From the three starts; the number of solutions. */
static size_t solve(const rim *r, solution out[3])
{
    size_t n = 0;
    for (int i = 0; i < 3; i++) {
        double part = i / 2.0;
        solution *one = &out[n];
        known(r, one->x, one->cov);
        one->x[OFF] = -part * r->before->wall;
        /* Seen at the upper rim: the wall is as the ground; at the lower one: as the face. */
        for (int k = 0; k < SIGNALS; k++)
            one->x[LIGHT + k] = part * r->f[k] + (1 - part) * r->g[k];
        n += descend(r, one);
    }
    return n;
}

/* The smaller of the two steps, from face to wall and on to the ground, as part of the whole. */
static double lesser_step(const rim *r, const double x[UNKNOWNS])
{
    double inner = 0, outer = 0;
    for (int k = 0; k < r->signals; k++) {
        inner += (x[LIGHT + k] - r->f[k]) * (x[LIGHT + k] - r->f[k]);
        outer += (x[LIGHT + k] - r->g[k]) * (x[LIGHT + k] - r->g[k]);
    }
    return sqrt(fmin(inner, outer)) / r->contrast;
}

/* Where two steps are seen, the best solution; where there is but one, what explains the picture
 * better says little: the mean of all that explain it nearly as well, and their spread. */
static void settle(const rim *r, const solution *all, size_t n, pv_outline_side *side)
{
    size_t best = 0;
    for (size_t i = 1; i < n; i++)
        best = all[i].q < all[best].q ? i : best;
    double step = lesser_step(r, all[best].x);
    double trust = step < 2 * PV_RIM_STEP ? PV_RIM_DOUBT : 1;
    double sum = 0, off = 0, variance = 0;
    for (size_t i = 0; i < n; i++) {
        double weight = exp((all[best].q - all[i].q) / (2 * trust));
        sum += weight;
        off += weight * all[i].x[OFF];
    }
    off /= sum;
    for (size_t i = 0; i < n; i++) {
        double weight = exp((all[best].q - all[i].q) / (2 * trust)) / sum;
        double apart = all[i].x[OFF] - off;
        variance += weight * (all[i].cov[OFF * UNKNOWNS + OFF] + apart * apart);
    }
    double misfit = 0;
    for (int k = 0; k < r->signals; k++)
        misfit += r->variance[k] / (r->contrast * r->contrast);
    variance += PV_RIM_MISFIT * PV_RIM_MISFIT * misfit * r->before->wall * r->before->wall;
    double amiss = fabs(all[best].x[WALL] - r->before->wall) / r->before->wall_u;
    /* Where every further step was refused as not sensible, it is no minimum. */
    if (all[best].gain > GAIN_MOST || step < PV_RIM_STEP || amiss > PV_RIM_WALL_DOUBT ||
        sqrt(misfit) > PV_RIM_MISFIT_DOUBT)
        variance = fmax(variance, r->before->wall * r->before->wall / 4);
    side->off += off;
    side->slope += all[best].x[SLOPE];
    side->u_off = sqrt(variance);
    side->u_slope = sqrt(all[best].cov[SLOPE * UNKNOWNS + SLOPE]);
}

bool pv_rim_measure(const pv_plane *plane, const pv_pose *pose, const pv_rim_before *before,
                    pv_outline_side *side, bool *memory)
{
    rim *r = PV_NEW(rim);
    solution all[3];
    bool found = false;
    *memory = r != NULL;
    if (r == NULL)
        return false;
    r->before = before;
    *memory = read_side(r, plane, pose, side);
    if (*memory && r->n >= 10 && r->contrast > 0) {
        for (int k = 0; k < SIGNALS; k++)
            r->variance[k] = 4 * PV_RIM_MODEL * PV_RIM_MODEL * r->contrast * r->contrast;
        size_t n = solve(r, all), best = 0;
        for (size_t i = 1; i < n; i++)
            best = all[i].q < all[best].q ? i : best;
        if (n > 0) {
            look_back(r, all[best].x);
            n = solve(r, all);
        }
        found = n > 0;
        if (found)
            settle(r, all, n, side);
    }
    free(r->e);
    free(r->y);
    free(r);
    return found;
}
