#include "plan/division.h"

#include "base/memory.h"

#include <stdlib.h>

bool pv_divide(pv_division *d, double length, size_t n, double most)
{
    *d = (pv_division){.n = n, .most = most, .at = PV_NEW_ARRAY(n + 1, double)};
    if (d->at == NULL)
        return false;
    for (size_t k = 0; k <= n; k++)
        d->at[k] = length * (double)k / (double)n;
    d->at[n] = length;
    return true;
}

/* On how many stretches of a seam across the whole mat the rules of crosses can't be kept; past
 * `limit` it stops counting. */
static bool count_spoilt(const pv_layers *scene, bool vertical, double at,
                         const pv_division *across, size_t limit, size_t *spoilt)
{
    *spoilt = 0;
    for (size_t i = 0; i < across->n && *spoilt < limit; i++) {
        pv_stretch stretch = {vertical, at, across->at[i], across->at[i + 1]};
        bool possible = false;
        if (!pv_crosses_possible(scene, &stretch, &possible))
            return false;
        *spoilt += !possible;
    }
    return true;
}

static pv_box band(bool vertical, double lo, double hi, double length)
{
    double half = PV_CROSS_ARM + PV_CROSS_CLEAR;
    return vertical ? (pv_box){{lo - half, 0}, {hi + half, length}}
                    : (pv_box){{0, lo - half}, {length, hi + half}};
}

/* Looks further and further from where the seam would stand until a place suits, else takes the
 * least bad that is nearest. */
static bool search(const pv_layers *near, bool vertical, double lo, double hi, double aim,
                   const pv_division *across, double *at)
{
    size_t least = SIZE_MAX;
    double reach = fmax(hi - aim, aim - lo);
    for (size_t i = 0; (double)i * PV_SEAM_STEP <= reach && least > 0; i++) {
        for (int side = -1; side <= 1 && least > 0; side += 2) {
            double place = aim + side * (double)i * PV_SEAM_STEP;
            if (place < lo || place > hi || (i == 0 && side > 0))
                continue;
            size_t spoilt = 0;
            if (!count_spoilt(near, vertical, place, across, least, &spoilt))
                return false;
            if (spoilt < least) {
                least = spoilt;
                *at = place;
            }
        }
    }
    return true;
}

/* Seam k between its neighbours: the one before stands, those after need room enough. */
static bool settle(const pv_layers *scene, bool vertical, pv_division *d, const pv_division *across,
                   size_t k)
{
    double length = d->at[d->n], equal = length / (double)d->n;
    double aim = length * (double)k / (double)d->n;
    double least = fmin(equal, PV_CELL_MIN), left = (double)(d->n - k);
    double lo = fmax(d->at[k - 1] + least, length - left * d->most);
    double hi = fmin(d->at[k - 1] + d->most, length - left * least);
    if (lo > hi)
        lo = hi = fmin(fmax(aim, d->at[k - 1] + least), d->at[k - 1] + d->most);
    /* Where the equal division fits only just, rounding must not push a seam off its place. */
    if (fabs(lo - aim) < 1e-9)
        lo = aim;
    if (fabs(hi - aim) < 1e-9)
        hi = aim;
    aim = fmin(fmax(aim, lo), hi);
    pv_layers *near = pv_layers_near(scene, band(vertical, lo, hi, across->at[across->n]));
    if (near == NULL)
        return false;
    d->at[k] = aim;
    bool good = search(near, vertical, lo, hi, aim, across, &d->at[k]);
    pv_layers_free(near);
    return good;
}

static bool settle_all(const pv_layers *scene, bool vertical, pv_division *d,
                       const pv_division *across, bool *moved)
{
    for (size_t k = 1; k < d->n; k++) {
        double was = d->at[k];
        if (!settle(scene, vertical, d, across, k))
            return false;
        *moved = *moved || d->at[k] != was;
    }
    return true;
}

bool pv_settle_seams(const pv_layers *scene, pv_division *x, pv_division *y)
{
    bool moved = true;
    for (int round = 0; round < PV_SEAM_ROUNDS && moved; round++) {
        moved = false;
        if (!settle_all(scene, true, x, y, &moved) || !settle_all(scene, false, y, x, &moved))
            return false;
    }
    return true;
}
