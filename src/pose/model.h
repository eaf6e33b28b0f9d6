/* The map as a function of its unknowns, well conditioned: what the fit varies. */
#ifndef POSE_MODEL_H
#define POSE_MODEL_H

#include "pose/fit.h"

/* The unknowns: eight elements of the homography between conditioned sheet and image (of an
 * affinity the first six), then k1, k2 and the lens's centre, which is counted from the image's
 * middle in units of its half diagonal. */
#define PV_AFFINE_UNKNOWNS 6
#define PV_LENS_FIRST      8
#define PV_LENS_UNKNOWNS   4

/* What is known of a lens before anything is seen, as standard deviations about 0: of k1 and k2 (of
 * the half diagonal), and of the centre about the image's middle. Wide enough for any camera that
 * isn't a fisheye: they decide only what a sheet doesn't show. Estimates. */
#define PV_LENS_PRIORS                                                                             \
    {                                                                                              \
        0.15, 0.05, 0.02, 0.02                                                                     \
    }

typedef struct pv_model {
    pv_pose_kind kind;
    size_t unknowns; /* 6 or 12 */
    pv_vec from_centre, to_centre;
    double from_scale, to_scale;
    pv_vec middle; /* of the image */
    double unit;   /* px: its half diagonal */
    double x[PV_POSE_UNKNOWNS];
} pv_model;

/* Conditions the unknowns by where the sights lie; start is the map to begin with. */
pv_fit_status pv_model_make(pv_pose_kind kind, const pv_sight *sights, size_t n,
                            const pv_pose *start, pv_vec middle, pv_model *out);

/* px, predicted - seen, with unknowns x; gradient, if not NULL, by each of them. */
double pv_model_residual(const pv_model *model, const double *x, const pv_sight *sight,
                         double *gradient);

/* The map of unknowns x: fills h and the lens of `out`, nothing else. */
void pv_model_map(const pv_model *model, const double *x, pv_pose *out);

#endif
