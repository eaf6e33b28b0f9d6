/* Profiles: linear light along a short straight path across an edge or a stroke, averaged over a
 * band at each side of the path, and where the edge lies on it.
 *
 * Offsets are px along the path from its centre. */
#ifndef IMAGE_PROFILE_H
#define IMAGE_PROFILE_H

#include "image/plane.h"

#define PV_PROFILE_MAX 1024

typedef struct pv_profile {
    size_t n;
    double first, step; /* offset of sample 0, and between samples */
    int channels;
    double rgb[PV_PROFILE_MAX][3]; /* linear light 0 to 1; channel 0 only for gray */
} pv_profile;

/* Samples from -half to +half about centre along `across` (unit), each the mean over +-band at
 * right angles to it. False where any of it lies outside the image or it would be too long. */
bool pv_profile_take(const pv_plane *plane, pv_vec centre, pv_vec across, double half, double band,
                     pv_profile *out);

typedef struct pv_edge {
    double at;       /* offset where the light crosses midway between the two plateaus */
    double contrast; /* linear light between the plateaus, length of the colour difference */
    double noise;    /* of a plateau's samples, as a fraction of the contrast */
    double slope;    /* of the transition at the crossing, fraction of contrast per px */
} pv_edge;

/* The edge near `guess`. The plateaus are read on [guess - far, guess - near] and [guess + near,
 * guess + far]; the colour is projected on their difference, so any two colours work. False where
 * there is no clear transition. */
bool pv_edge_find(const pv_profile *profile, double guess, double near, double far, pv_edge *out);

/* The centre of a thin stroke near `guess` (within +-reach): centroid of its contrast against the
 * plain ground on its two sides. False where nothing stands out. */
bool pv_stroke_find(const pv_profile *profile, double guess, double reach, pv_edge *out);

#endif
