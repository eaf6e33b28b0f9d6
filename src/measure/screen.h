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
 * all relative to bare paper: a dotted tone's variance is a (1 - a).
 *
 * The reach is derived for square dots in rows along the edge, a period p apart: over a period the
 * light that is cut off goes up and down evenly by p a (1 - sqrt a), which has a standard deviation
 * of that / sqrt 12, at most 0.0855 p sqrt(a (1 - a)). That the period is 0.30 mm at most (85 lines
 * to an inch) is assumed: office printers' screens are finer (common practice, no source), coarser
 * ones exist. */
#define PV_SCREEN_PERIOD 0.30                        /* mm */
#define PV_SCREEN_REACH  (0.0855 * PV_SCREEN_PERIOD) /* mm */
/* In a picture of black and white alone a dot is there or isn't: those cut off at the edge are lost
 * altogether. Evenly up to half a period at each edge: p / (2 sqrt 3), where a (1 - a) is 1/4. */
#define PV_SCREEN_REACH_BILEVEL (PV_SCREEN_PERIOD / 1.7320508) /* mm */

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
