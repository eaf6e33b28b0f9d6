/* The pose: the exact map from sheet mm to image px, found tags first, then crosses and bars, then
 * all line edges. */
#ifndef POSE_POSE_H
#define POSE_POSE_H

#include "image/plane.h"
#include "plan/layout.h"

/* A homography is believed only where it is needed: where the size of a millimetre changes across
 * the sheet by more than 0.3 % (a flatbed keeps it to some hundredths of a per cent, a camera a
 * degree off level is past it) and it lowers the sum of squared residuals by more than chance would
 * (an F test). */
typedef enum pv_pose_kind {
    PV_POSE_AFFINE,     /* a scan */
    PV_POSE_PERSPECTIVE /* a photograph */
} pv_pose_kind;

typedef struct pv_pose {
    pv_pose_kind kind;
    size_t sheet; /* in the plan */
    double h[9];  /* row by row; (X, Y, W) = h (x, y, 1), p = (X/W, Y/W), x and y in sheet mm; for a
                     scan p is the place in the image, px */
    /* Radial distortion of a photograph: with r the distance of p from lens_centre in units of
     * lens_unit (px), the place in the image is lens_centre + (p - lens_centre) (1 + k1 r^2 + k2
     * r^4) (the radial part of Brown's model, Photogrammetric Engineering 37, 1971). */
    double lens[2]; /* k1, k2; 0 for none */
    pv_vec lens_centre;
    double lens_unit;
    double uneven;         /* mm, RMS of what the fit leaves systematically, over areas of 20 mm */
    double rms;            /* px, of the residuals that were kept */
    size_t used, rejected; /* edge places in the fit, and those thrown out as outliers */
    /* Standard uncertainties of an affine pose, from the covariance of the fit: the variance of a
     * residual is taken as many times as there are sights to a square of 20 mm, because errors of
     * print, paper and scanner are alike over about that length and don't average out; and each
     * mark (a scale bar, a cross's stroke, a tag's side, 20 mm of a line) has an error of its own
     * that all its sights share, which is what tells where a direction hangs on a few marks alone.
     * Of a photograph: of the mean size of a millimetre over the sheet, as needed to carry a length
     * from one place of it to another. */
    double u_scale[2]; /* relative, along the sheet's x and y */
    double u_skew;     /* mrad */
} pv_pose;

typedef enum pv_pose_failure {
    PV_POSE_FOUND,
    PV_POSE_NO_TAGS, /* none seen: a blank page, a picture of something else, a mirrored scan */
    PV_POSE_TOO_FEW_TAGS,  /* one or two */
    PV_POSE_TAGS_DISAGREE, /* tags of two sheets in one picture, or a misreading */
    PV_POSE_OTHER_KIT,     /* fingerprint of another kit's name */
    PV_POSE_OTHER_EDITION, /* the kit's name fits, the rest of the fingerprint does not */
    PV_POSE_NO_SUCH_SHEET, /* the plan has no sheet of that number */
    PV_POSE_NO_FIT         /* tags read, but crosses, bars and lines are not where they should be */
} pv_pose_failure;

/* Says why in diags, in words for a user, where it isn't PV_POSE_FOUND. Out of memory is said as
 * PV_POSE_NO_FIT with PV_CAUSE_MEMORY. */
pv_pose_failure pv_pose_find(const pv_plan *plan, const pv_plane *plane, pv_pose *out,
                             pv_diags *diags);

pv_vec pv_pose_map(const pv_pose *pose, pv_vec sheet_mm);
/* Derivative of the map at a place: column vectors d(px)/dx and d(px)/dy, px per mm. */
void pv_pose_jacobian(const pv_pose *pose, pv_vec sheet_mm, pv_vec *dx, pv_vec *dy);
/* Back again; not finite where a place has no counterpart. */
pv_vec pv_pose_unmap(const pv_pose *pose, pv_vec px);

/* Relative standard uncertainty of the map's size at a place along a sheet direction, as against
 * its mean over the sheet. */
double pv_pose_u_stretch(const pv_pose *pose, pv_vec sheet_mm, pv_vec direction);

#endif
