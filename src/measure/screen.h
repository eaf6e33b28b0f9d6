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
/* In a picture of black and white alone a dot is there or isn't: those cut off at the edge are lost
 * altogether. Up to a period at both edges together in simulated scans (an estimate). */
#define PV_SCREEN_REACH_BILEVEL 0.15 /* mm */

/* A tone is taken for a screened one where the pixels along a line vary more than
 * PV_SCREEN_TEXTURE times (in variance) what they do in bare paper beside the tags or, where that
 * is more, in white or solid black at lines; and at least in paper of PV_SCREEN_QUIET, since paper
 * that came out at the highest code doesn't vary at all (light^2; an estimate, about half a code of
 * 255 at white). Paper reflects most and is noisiest. */
#define PV_SCREEN_TEXTURE 3.0
#define PV_SCREEN_QUIET   2e-5
/* px per mm: in a coarser picture pixels are as large as dots and hide them, so that every tone
 * that might be screened is taken for it (an estimate: 2.5 px to a dot's cell at 106 lines). */
#define PV_SCREEN_SEEN 10.0

/* Variance of single pixels' luminance, light^2, on half px to both sides of a place along a unit
 * vector, about their own slope; negative where it can't be looked at. */
double pv_texture(const pv_plane *plane, pv_vec middle, pv_vec along, double half);

/* Sets every found station's seen[].screen. False where memory ran out. */
bool pv_screen_mark(const pv_frame *frame, const pv_plane *plane, const pv_scene *page,
                    pv_stations *stations);

#endif
