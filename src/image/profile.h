/* Profiles: linear light along a short straight path across an edge or a stroke, averaged over a
 * band at each side of the path, and where the edge lies on it.
 *
 * Offsets are px along the path from its centre. A pixel is the mean light over its square, and is
 * read by linear interpolation between pixel centres: that kernel is symmetric and keeps areas, so
 * it widens an edge but moves it nowhere. */
#ifndef IMAGE_PROFILE_H
#define IMAGE_PROFILE_H

#include "image/plane.h"

/* Samples: 256 px across at the finest step, 10.8 mm at 600 dpi. */
#define PV_PROFILE_MAX 1024

typedef struct pv_profile {
    size_t n;
    double first, step; /* offset of sample 0, and between samples */
    int channels;
    bool coarse_hue;               /* as the plane's */
    double rgb[PV_PROFILE_MAX][3]; /* linear light 0 to 1; channel 0 only for gray */
    double luma[PV_PROFILE_MAX];   /* of codes, where hue is coarse: JPEG's Y' of 0 to 1 */
} pv_profile;

/* Samples from -half to +half about centre along `across` (unit), each the mean over +-band at
 * right angles to it. Samples are 0.25 px apart (0.5 px where they would be too many). False where
 * any of it lies outside the centres of the image's outer pixels or it would be too long. */
bool pv_profile_take(const pv_plane *plane, pv_vec centre, pv_vec across, double half, double band,
                     pv_profile *out);

typedef struct pv_edge {
    double at;              /* offset where the light crosses midway between the two plateaus */
    double contrast;        /* linear light between the plateaus, length of the colour difference */
    double noise;           /* of a plateau's samples, RMS as a fraction of the contrast */
    double slope;           /* of the transition at the crossing, fraction of contrast per px */
    double zero[3], one[3]; /* the plateaus before and behind, linear light */
    double weight[3]; /* by how much of its own shift each channel moves the crossing; sum 1 */
} pv_edge;

/* Below this colour difference (linear light, 0 to sqrt(3)), or above this noise, nothing is taken
 * for an edge. */
#define PV_EDGE_CONTRAST_MIN 0.006
#define PV_EDGE_NOISE_MAX    0.30

/* The edge near `guess`, within +-near of it. The plateaus are read on [guess - far, guess - near]
 * and [guess + near, guess + far]; the colour is projected on their difference, so any two colours
 * work; where the image has coarse_hue and the two differ in luma, luma alone decides. The crossing
 * is that of the profile averaged over 3 px (or 2 near, where less), which for any symmetric blur
 * is where the edge is, and on which the place of the pixels doesn't tell. False where there is no
 * clear transition. */
bool pv_edge_find(const pv_profile *profile, double guess, double near, double far, pv_edge *out);

/* The same of one channel alone. */
bool pv_edge_find_in(const pv_profile *profile, int channel, double guess, double near, double far,
                     pv_edge *out);

/* The centre of a thin stroke near `guess` (within +-reach): centroid of its contrast against the
 * plain ground on its two sides, for which the window of +-reach must be more than twice as wide as
 * the stroke. `slope` is that of the steeper flank. False where nothing stands out. */
bool pv_stroke_find(const pv_profile *profile, double guess, double reach, pv_edge *out);

#endif
