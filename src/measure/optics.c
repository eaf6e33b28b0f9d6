#include "measure/optics.h"

#include "base/light.h"

pv_optics pv_optics_of(const pv_plane *plane, bool photograph, double px_per_mm)
{
    pv_optics out = {.bilevel = plane->bilevel, .photograph = photograph};
    out.colour = plane->channels == 3;
    out.level = out.bilevel ? PV_LEVEL_BLUR * px_per_mm : 0;
    out.home[0] = out.home[1] = out.home[2] = 1.0 / 3;
    out.middle = pv_v((double)plane->width / 2, (double)plane->height / 2);
    out.unit = (double)plane->width / 2;
    return out;
}

double pv_edge_blur(const pv_edge *edge)
{
    return 1 / (sqrt(2 * PV_PI) * edge->slope);
}

/* ---- tone ---- */

/* A supposition about how light became what is shown, and back. */
typedef struct curve {
    double exponent; /* 0: sRGB */
    double pedestal; /* the code that is shown as 0 */
} curve;

static double light_of(const curve *c, double shown)
{
    double code = c->pedestal + (1 - c->pedestal) * pv_srgb_encode(fmax(0, fmin(1, shown)));
    return c->exponent > 0 ? pow(code, c->exponent) : pv_srgb_decode(code);
}

static double shown_of(const curve *c, double light)
{
    double code = c->exponent > 0 ? pow(light, 1 / c->exponent) : pv_srgb_encode(light);
    return pv_srgb_decode(fmax(0, (code - c->pedestal) / (1 - c->pedestal)));
}

/* By how much the level at which the light's middle is shown is above one half of the contrast. */
static double level_off(const curve *c, const pv_edge *edge)
{
    double off = 0;
    for (int i = 0; i < 3; i++) {
        double zero = edge->zero[i], step = edge->one[i] - zero;
        if (edge->weight[i] == 0 || step == 0)
            continue;
        double light = (light_of(c, zero) + light_of(c, edge->one[i])) / 2;
        off += edge->weight[i] * ((shown_of(c, light) - zero) / step - 0.5);
    }
    return off;
}

double pv_optics_tone(const pv_optics *optics, const pv_edge *edge, double u[PV_TONES])
{
    for (int i = 0; i < PV_TONES; i++)
        u[i] = 0;
    if (optics->bilevel) {
        /* Towards the darker side or away from it: the same for all edges. */
        u[PV_TONE_LEVEL] = edge->one[0] > edge->zero[0] ? optics->level : -optics->level;
        return 0;
    }
    /* Over an even spread between a and b the square's mean is (a a + a b + b b) / 3. The sign says
     * which way an edge moves where others of the picture move by theirs. */
    curve low = {.exponent = PV_TONE_EXPONENT_MIN}, high = {.exponent = PV_TONE_EXPONENT_MAX};
    double a = level_off(&low, edge), b = level_off(&high, edge);
    u[PV_TONE_POWER] = copysign(sqrt((a * a + a * b + b * b) / 3), a) / edge->slope;
    if (!optics->stretched)
        return 0;
    /* Mean and mean square over the pedestals by Simpson's rule; none at all counts for 0. */
    curve half = {.pedestal = PV_STRETCH_CODE / 2}, full = {.pedestal = PV_STRETCH_CODE};
    double x = level_off(&half, edge), y = level_off(&full, edge);
    double mean = (4 * x + y) / 6, square = (4 * x * x + y * y) / 6;
    u[PV_TONE_STRETCH] = copysign(sqrt(fmax(0, square - mean * mean)), mean) / edge->slope;
    return mean / edge->slope;
}

/* ---- fringes ---- */

static double moved(const pv_optics *optics, const pv_fringe *fringe, pv_vec px, pv_vec across)
{
    pv_vec at = pv_scale(pv_sub(px, optics->middle), 1 / optics->unit);
    pv_vec by = pv_along(pv_along(fringe->shift, fringe->across, at.x), fringe->down, at.y);
    return pv_dot(by, across);
}

double pv_optics_fringe(const pv_optics *optics, const pv_edge *edge, pv_vec px, pv_vec across)
{
    if (!optics->fringes)
        return 0;
    double red = edge->weight[0] - optics->home[0], blue = edge->weight[2] - optics->home[2];
    return red * moved(optics, &optics->red, px, across) +
           blue * moved(optics, &optics->blue, px, across);
}

void pv_fringe_gradient(const pv_optics *optics, pv_vec px, pv_vec across,
                        double by[PV_FRINGE_UNKNOWNS])
{
    pv_vec at = pv_scale(pv_sub(px, optics->middle), 1 / optics->unit);
    const double along[3] = {1, at.x, at.y};
    for (int i = 0; i < 3; i++) {
        by[2 * i] = along[i] * across.x;
        by[2 * i + 1] = along[i] * across.y;
    }
}

void pv_optics_fringe_u(const pv_optics *optics, const pv_edge *edge, pv_vec px, pv_vec across,
                        double u[PV_TONES])
{
    double by[PV_FRINGE_UNKNOWNS], variance = 0;
    if (!optics->colour)
        return;
    pv_fringe_gradient(optics, px, across, by);
    for (int r = 0; r < PV_FRINGE_UNKNOWNS; r++)
        for (int c = 0; c < PV_FRINGE_UNKNOWNS; c++)
            variance += by[r] * optics->fringe_cov[r * PV_FRINGE_UNKNOWNS + c] * by[c];
    double main = fabs(across.x) > fabs(across.y) ? across.x : across.y;
    double off = copysign(sqrt(fmax(0, variance)), main);
    u[PV_TONE_RED] = (edge->weight[0] - optics->home[0]) * off;
    u[PV_TONE_BLUE] = (edge->weight[2] - optics->home[2]) * off;
}
