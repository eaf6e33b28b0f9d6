/* How red and blue lie against green, from edges between black and white. */
#include "measure/look.h"

#include "base/numeric.h"

#include <string.h>

#define UNKNOWNS PV_FRINGE_UNKNOWNS

/* What is known before: displacements are of this order, px; they change from the middle to a side
 * by so much in a scan, and in a photograph, whose lens sees colours in different sizes; one edge
 * shows them this well. They decide only what the edges don't show. Estimates. */
#define PRIOR        0.5
#define CHANGE_SCAN  0.03
#define CHANGE_PHOTO 0.5
#define SIGMA        0.05
#define LIMIT        4.0 /* standard deviations past which an edge is left out */
#define ROUNDS       3

static double product(const double a[UNKNOWNS], const double b[UNKNOWNS])
{
    double sum = 0;
    for (int i = 0; i < UNKNOWNS; i++)
        sum += a[i] * b[i];
    return sum;
}

/* Standard deviation of an unknown before anything is seen. */
static double known_to(const pv_optics *optics, int unknown)
{
    return unknown < 2 ? PRIOR : optics->photograph ? CHANGE_PHOTO : CHANGE_SCAN;
}

/* One round: least squares of the edges within `limit` px of x. How many these are, and their RMS.
 */
static size_t fit(const pv_stations *stations, const pv_optics *optics, int channel, double limit,
                  double x[UNKNOWNS], double *rms, double cov[UNKNOWNS * UNKNOWNS])
{
    double matrix[UNKNOWNS * UNKNOWNS] = {0}, right[UNKNOWNS] = {0};
    size_t n = 0;
    double squares = 0;
    for (size_t i = 0; i < 2 * stations->n; i++) {
        const pv_seen *seen = &stations->items[i / 2].seen[i % 2];
        double by[UNKNOWNS];
        if (!stations->items[i / 2].found || !seen->fringed)
            continue;
        pv_fringe_gradient(optics, seen->px, seen->across, by);
        double off = seen->fringe[channel] - product(by, x);
        if (fabs(off) > limit)
            continue;
        n++;
        squares += off * off;
        for (int r = 0; r < UNKNOWNS; r++) {
            right[r] += by[r] * seen->fringe[channel] / (SIGMA * SIGMA);
            for (int c = 0; c <= r; c++)
                matrix[r * UNKNOWNS + c] += by[r] * by[c] / (SIGMA * SIGMA);
        }
    }
    for (int r = 0; r < UNKNOWNS; r++)
        matrix[r * UNKNOWNS + r] += pow(known_to(optics, r), -2);
    *rms = n > 0 ? sqrt(squares / (double)n) : 0;
    /* Positive, by what is known before. */
    if (!pv_cholesky(matrix, UNKNOWNS))
        return 0;
    pv_cholesky_inverse(matrix, UNKNOWNS, cov);
    /* Edges that show it worse than expected are taken at their word. */
    for (int i = 0; i < UNKNOWNS * UNKNOWNS; i++)
        cov[i] *= fmax(1, *rms * *rms / (SIGMA * SIGMA));
    memcpy(x, right, sizeof right);
    pv_cholesky_solve(matrix, UNKNOWNS, x);
    return n;
}

static bool fit_channel(const pv_stations *stations, const pv_optics *optics, int channel,
                        pv_fringe *out, double cov[UNKNOWNS * UNKNOWNS])
{
    double x[UNKNOWNS] = {0}, rms, limit = 4 * PRIOR;
    for (int i = 0; i < ROUNDS; i++) {
        if (fit(stations, optics, channel, limit, x, &rms, cov) < PV_FRINGE_EDGES)
            return false;
        limit = i == 0 ? PRIOR : fmax(LIMIT * rms, 2 * SIGMA);
    }
    *out = (pv_fringe){{x[0], x[1]}, {x[2], x[3]}, {x[4], x[5]}};
    return true;
}

static void fill_home(const pv_stations *stations, double home[3])
{
    double n = 0;
    for (int c = 0; c < 3; c++)
        home[c] = 0;
    for (size_t i = 0; i < 2 * stations->n; i++) {
        const pv_seen *seen = &stations->items[i / 2].seen[i % 2];
        if (!stations->items[i / 2].found || !seen->fringed)
            continue;
        for (int c = 0; c < 3; c++)
            home[c] += seen->weight[c];
        n++;
    }
    for (int c = 0; n > 0 && c < 3; c++)
        home[c] /= n;
}

void pv_fringes_fit(const pv_stations *stations, pv_optics *optics)
{
    for (int r = 0; r < UNKNOWNS; r++)
        for (int c = 0; c < UNKNOWNS; c++)
            optics->fringe_cov[r * UNKNOWNS + c] = r == c ? pow(known_to(optics, r), 2) : 0;
    pv_optics found = *optics;
    double blue[UNKNOWNS * UNKNOWNS] = {0};
    found.fringes = fit_channel(stations, optics, 0, &found.red, found.fringe_cov) &&
                    fit_channel(stations, optics, 1, &found.blue, blue);
    /* Both channels are seen at the same edges: the less certain one stands for both. */
    if (found.fringes && blue[0] > found.fringe_cov[0])
        memcpy(found.fringe_cov, blue, sizeof blue);
    fill_home(stations, found.home);
    if (found.fringes)
        *optics = found;
}
