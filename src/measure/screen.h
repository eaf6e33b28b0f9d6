/* Halftone screens: tones that are printed as dots, and what the dots do to edges. */
#ifndef MEASURE_SCREEN_H
#define MEASURE_SCREEN_H

#include "measure/station.h"

/* A screen's dots are cut off where the tone ends, wherever in their period that is. Where their
 * rows run along a line they are cut alike all the way, and the mean over the line doesn't lessen
 * it: the light that is missing there or too much moves the edge. By how much, standard uncertainty
 * in mm, is
 *
 *     PV_SCREEN_REACH * sqrt(sum over both sides of a (1 - a)) / contrast
 *
 * with a the share of paper that the tone covers, by its luminance, and the contrast of luminance,
 * all relative to bare paper: a dotted tone's variance is a (1 - a). The reach goes with the
 * screen's period, 0.17 to 0.24 mm for 150 to 106 lines to an inch, and with its angle to the line.
 * An estimate, from simulated screens of these periods at 0, 15 and 45 degrees (tests/outside). */
#define PV_SCREEN_REACH 0.018 /* mm */

/* A tone is taken for a screened one where the pixels along a line vary more than
 * PV_SCREEN_TEXTURE times (in variance) what they do in the quietest colour that isn't a tone:
 * paper or solid black. Where the sheet shows neither at a line, every tone is but the solid
 * primaries. */
#define PV_SCREEN_TEXTURE 3.0

/* Sets every found station's seen[].screen. False where memory ran out. */
bool pv_screen_mark(const pv_art *art, pv_stations *stations);

#endif
