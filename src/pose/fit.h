/* From many one-dimensional sights to the map, by robust least squares. */
#ifndef POSE_FIT_H
#define POSE_FIT_H

#include "pose/pose.h"

/* One place of the print, seen in the image. What is compared is the middle between where a and b
 * map to, for a line's centre the two points on its edges (in a photograph the middle of the edges'
 * images isn't the image of the middle), and only along the normal: along itself a line looks the
 * same everywhere. */
typedef struct pv_sight {
    pv_vec a, b;   /* sheet mm */
    pv_vec normal; /* unit, in the image */
    double at;     /* px: normal . middle, as seen */
    size_t group;  /* sights of one group stand within PV_SIGHT_GROUP of each other */
    size_t mark;   /* sights of one mark (a scale bar, a stroke, a tag's side) share an error */
    double sigma;  /* px, standard error of this sight alone, as its own noise lets expect */
    double shared; /* px, standard error that all sights of its mark share */
    /* Set by the fit: */
    double residual; /* px, predicted - seen */
    double weight;   /* 0 (thrown out) to 1 */
} pv_sight;

/* Errors of print, paper and scanner are alike over about this length, mm: only sights farther
 * apart count as independent. */
#define PV_SIGHT_GROUP PV_UNEVEN_AREA

/* mm, standard deviation of each way in which a print may bow from the middle of what is seen to
 * its ends, as fed and fused paper does (an estimate). It counts where a lens is fitted too, which
 * hides it; elsewhere it shows as residuals. */
#define PV_BOW_U 0.005

typedef struct pv_fitted {
    pv_pose map;                   /* h and lens alone */
    double squares;                /* weighted sum of squares of residual / sigma */
    double weights;                /* sum of weights */
    double scale;                  /* robust standard deviation of residual / sigma */
    double rms;                    /* px, of the sights that were kept */
    size_t used, rejected, groups; /* groups among those used */
} pv_fitted;

typedef enum pv_fit_status { PV_FIT_DONE, PV_FIT_UNDETERMINED, PV_FIT_NO_MEMORY } pv_fit_status;

/* Iteratively reweighted least squares of residual / sigma: Huber's weights first, which always
 * settle, then Tukey's biweight, which gives outliers no say (Holland and Welsch, Communications in
 * Statistics A6, 1977; tuning constants 1.345 and 4.685 for 95 % efficiency). The scale is 1.4826
 * times the median of |residual / sigma|, at least 1: so that many sights of exact lines don't make
 * outliers of a few of thin ticks, which are less exact but may be all that tells one direction.
 * An affinity is solved directly; a homography with its lens by Levenberg-Marquardt from `start`,
 * of whose fields only h and the lens are read. `middle` is the image's: the lens's centre is
 * believed to be about there (see model.h). */
pv_fit_status pv_fit(pv_pose_kind kind, pv_sight *sights, size_t n, const pv_pose *start,
                     pv_vec middle, pv_fitted *out);

/* The covariance of a fit: fills the pose's `seen` and errors (see pose.h), and nothing else.
 * PV_FIT_UNDETERMINED where the sights do not determine them. */
pv_fit_status pv_fit_spread(const pv_sight *sights, size_t n, const pv_fitted *fitted,
                            pv_vec middle, pv_pose *pose);

#endif
