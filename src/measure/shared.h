/* What the stations of a line share, so that no scatter shows it and no mean lessens it. */
#ifndef MEASURE_SHARED_H
#define MEASURE_SHARED_H

#include "measure/station.h"

/* Where pixels lie under an edge, along which they run. Of gray pixels check_profile has an RMS of
 * 0.0022 px at most over all places, for blurs of up to 1.4 px, and 0.008 px at worst at any angle;
 * 0.0043 is an estimate between them. Of pixels of black and white alone an edge is known to the
 * pixel, 1 / (2 sqrt(3)). */
#define PV_U_GRID         0.0043 /* px */
#define PV_U_GRID_BILEVEL 0.29   /* px */

/* The same in mm, of one edge. */
double pv_shared_grid_alone(bool bilevel, double px_per_mm);

typedef struct pv_shared {
    double tone[2][PV_TONES]; /* of the right and left edge: mean, to the left, mm */
    pv_vec grid[2];           /* mean */
    double screen[2];         /* mm, mean of the edges' */
    size_t n;
} pv_shared;

void pv_shared_add(pv_shared *shared, const pv_station *station);
/* Sums into means, the grid in mm. */
void pv_shared_close(pv_shared *shared, bool bilevel, double px_per_mm);

/* Standard uncertainties of a width, mm. */
double pv_shared_tone_of_width(const pv_shared *shared);
double pv_shared_grid_of_width(const pv_shared *shared);
double pv_shared_screen_of_width(const pv_shared *shared);
double pv_shared_screen_of_centre(const pv_shared *shared);
/* By how much one standard deviation of a tone moves the centre to the left, and the grid's part.
 */
double pv_shared_tone_of_centre(const pv_shared *shared, pv_tone tone);
double pv_shared_grid_of_centre(const pv_shared *shared);

#endif
