/* What a picture does to all its edges alike: its blur, its tone curve, and how its colours lie
 * upon each other. Learnt from a first look at the sheet's lines. */
#ifndef MEASURE_OPTICS_H
#define MEASURE_OPTICS_H

#include "image/profile.h"

/* What is unknown of a picture's tone curve, and of how its colours lie upon each other, each thing
 * by itself; all edges of a picture share it. */
typedef enum pv_tone {
    PV_TONE_POWER,   /* the exponent of the curve by which light was coded */
    PV_TONE_STRETCH, /* an automatic contrast that took dark gray for black */
    PV_TONE_LEVEL,   /* at which level a picture of black and white alone was cut */
    PV_TONE_RED,     /* how far red lies from green, */
    PV_TONE_BLUE,    /* and blue */
    PV_TONES
} pv_tone;

/* Light was coded as light^(1 / exponent) with an exponent between these, any as likely as another.
 * Files are read by the sRGB curve (about 2.2) whatever device made them. The bounds are the
 * smallest and the largest exponent of the encodings in use: 1.8 of ROMM RGB (ISO 22028-2), 2.6 of
 * digital cinema (SMPTE RP 431-2); both from memory. That a device keeps to any of them is assumed:
 * phones bend the curve to please. */
#define PV_TONE_EXPONENT_MIN 1.8
#define PV_TONE_EXPONENT_MAX 2.6

/* No ink on paper reflects less than about 1.5 % of what the paper does. Where the darkest ink
 * shows less than PV_STRETCHED_BLACK the contrast was stretched: what is shown as code 0 was a code
 * between 0 (it was stretched in linear light, which does no harm) and PV_STRETCH_CODE (ink that
 * reflects 7 %), any as likely as another. Estimates. */
#define PV_STRETCHED_BLACK 0.008
#define PV_STRETCH_CODE    0.29

/* A picture of black and white alone was cut at an unknown level. A blurred edge crosses a level
 * that lies anywhere between its two sides, evenly, where a normal deviate with the blur's standard
 * deviation says. No blur shows any more: that of a scanner which leaves a tenth of the contrast
 * (ISO 16067-1's limiting resolution, from memory) at 100 line pairs per inch is assumed,
 * sqrt(ln 10 / 2) / (pi * 3.94 per mm). */
#define PV_LEVEL_BLUR 0.087 /* mm */

/* A channel's picture lies displaced by shift + across * u + down * v, px, with (u, v) the place in
 * the image from its middle in units of half its width. Green, or gray, is at home. */
typedef struct pv_fringe {
    pv_vec shift, across, down;
} pv_fringe;

#define PV_FRINGE_UNKNOWNS 6

/* What one unit of each of them adds to the displacement along a path that runs along `across` at a
 * place in the image. */
struct pv_optics;
void pv_fringe_gradient(const struct pv_optics *optics, pv_vec px, pv_vec across,
                        double by[PV_FRINGE_UNKNOWNS]);

typedef struct pv_optics {
    bool bilevel, photograph, colour;
    double level;   /* px, standard uncertainty: where it was cut, see PV_LEVEL_BLUR */
    double blur;    /* px, standard deviation of its transitions; 0: not known yet */
    bool stretched; /* see PV_STRETCHED_BLACK */
    pv_vec middle;  /* px */
    double unit;    /* px: half the width */
    pv_fringe red, blue;
    double home[3]; /* what edges between black and white weigh the channels by */
    bool fringes;   /* all these are known */
    /* Covariance of a fringe's shift, across and down, each x and y, row by row, px^2: of both
     * channels alike. Before edges were asked it is what is known before. */
    double fringe_cov[PV_FRINGE_UNKNOWNS * PV_FRINGE_UNKNOWNS];
} pv_optics;

/* Nothing is known beyond the plane itself, which has so many px per mm. */
pv_optics pv_optics_of(const pv_plane *plane, bool photograph, double px_per_mm);

/* Standard deviation, px, of a Gaussian transition of that slope (fraction of contrast per px). */
double pv_edge_blur(const pv_edge *edge);

/* What the tone curve may do to where an edge was found, px along its path: to be added to its
 * place (the mean of what is likely), and standard uncertainties. The light's middle between the
 * two plateaus, taken through curve and inverse sRGB, is found at a level other than one half; the
 * slope says how far off that is. */
double pv_optics_tone(const pv_optics *optics, const pv_edge *edge, double u[PV_TONES]);

/* By how much the channels' displacement moves the edge at `px` whose path runs along `across`, px
 * along its path, against edges between black and white; to be subtracted. */
double pv_optics_fringe(const pv_optics *optics, const pv_edge *edge, pv_vec px, pv_vec across);
/* What is not certain of that: sets red's and blue's of u, px along the path, standard. An edge
 * that weighs the channels as edges between black and white do has none. The sign says which way an
 * edge moves where others move by theirs: two edges of paths that run opposite ways, opposite. */
void pv_optics_fringe_u(const pv_optics *optics, const pv_edge *edge, pv_vec px, pv_vec across,
                        double u[PV_TONES]);

#endif
