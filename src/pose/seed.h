/* From an image to a first map: finding and reading the tags. */
#ifndef POSE_SEED_H
#define POSE_SEED_H

#include "pose/pose.h"

#define PV_SEED_CORNERS (4 * PV_TAG_PLACES)

/* Lenses that are thought of, k1 of the half diagonal. */
#define PV_SEED_K1_MOST 0.16

typedef struct pv_seed {
    size_t plan;  /* of those that were asked about */
    size_t sheet; /* in the plan */
    double h[9];  /* sheet mm to px of the whole image */
    double error; /* mm, largest distance of a kept tag's corner from where h puts it */
    size_t tags;  /* kept */
    size_t n;     /* their corners: where they are on the sheet (mm), and were seen (px) */
    pv_vec from[PV_SEED_CORNERS], to[PV_SEED_CORNERS];
} pv_seed;

/* Says in diags why not, where it isn't PV_POSE_FOUND. */
pv_pose_failure pv_seed_find(const pv_plan *const *plans, size_t n_plans, const pv_plane *plane,
                             pv_seed *out, pv_diags *diags);

/* The first map from tags already found, px being those of the image in which they were; `middle`
 * is that image's. Keeps out->sheet. False where no two tags agree, by any lens. */
bool pv_seed_map(const pv_sheet *sheet, const pv_tag_seen *seen, size_t n, pv_vec middle,
                 pv_seed *out);

/* The map, without its lens, that a lens of that k1 (of the half diagonal, about the image's
 * middle) makes of a seed's corners, and how well they agree with it (px, RMS). False where they
 * don't determine it. */
bool pv_seed_with_lens(const pv_seed *seed, pv_vec middle, double k1, pv_pose *map, double *rms);

#endif
