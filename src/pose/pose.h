/* The pose: the exact map from sheet mm to image px, found tags first, then crosses and bars, then
 * lines' edges, at about 800 places on a sheet at most.
 *
 * A guide to this room, in the order of the work:
 *
 * seed.c    reduces the image, finds and reads the tags, says why a picture can't be used, and
 *           makes a first map of the tags' corners, which are good to a pixel.
 * target.c  lists what can be sighted exactly: strokes, tags' sides, stretches of line.
 * sight.c   looks for one target where the present map has it. A sight is one number: where, along
 *           its normal, the middle of two edges lies in the image.
 * fit.c     fits the map to all sights, weighing outliers down, as model.c has it: six unknowns of
 *           an affinity for a scan; eight of a homography and four of a lens for a photograph.
 * pose.c    looks and fits in turn until nothing moves, and decides which of the two it is: by
 *           what EXIF says, else by how the size of a millimetre changes and what the fit gains.
 * match.c   compares the light all over the cell with the course: tags alone prove nothing.
 * spread.c  turns the fit's covariance into independent errors of the map.
 * uneven.c  asks what the fit leaves by areas of 20 mm: a sheet that isn't flat.
 * map.c     goes there and back, and says how uncertain sizes and angles of the map are.
 * solve.c   holds maps of the plane as matrices; rectify.c draws the sheet from above, for people.
 *
 * Everything later asks the pose alone where a place of the sheet lies and how large a millimetre
 * is there. It knows nothing of true lengths: in a scan the image's resolution gives them, and in a
 * photograph nothing does but a reference (reference/reference.h). */
#ifndef POSE_POSE_H
#define POSE_POSE_H

#include "image/plane.h"
#include "plan/layout.h"

/* What tells one kind from the other is said at is_photograph in pose.c. */
typedef enum pv_pose_kind {
    PV_POSE_AFFINE,     /* a scan */
    PV_POSE_PERSPECTIVE /* a photograph: a homography, and a lens */
} pv_pose_kind;

#define PV_POSE_UNKNOWNS 12 /* at most: eight of a homography, four of a lens */

/* What one error of the fit, one standard deviation of it, does to the map's numbers. */
typedef struct pv_pose_error {
    double h[9], lens[2];
    pv_vec lens_centre;
} pv_pose_error;

typedef struct pv_pose {
    pv_pose_kind kind;
    bool unsure;  /* a photograph as it seems, but an uneven scan may look like this */
    size_t plan;  /* of those that were asked about */
    size_t sheet; /* in the plan */
    double h[9];  /* row by row; (X, Y, W) = h (x, y, 1), p = (X/W, Y/W), x and y in sheet mm; for a
                     scan p is the place in the image, px */
    /* Radial distortion of a photograph: with r the distance of p from lens_centre in units of
     * lens_unit (px), the place in the image is lens_centre + (p - lens_centre) (1 + k1 r^2 + k2
     * r^4) (the radial part of Brown's model, Photogrammetric Engineering 37, 1971). The unit is
     * half the image's diagonal, so that r is 1 at about its corners, and k1 + k2 is by how much
     * the lens moves them. OpenCV and others count r in focal lengths f (px): their k1 is ours
     * times (f / unit)^2, k2 times the square of that. */
    double lens[2]; /* k1, k2; 0 for none */
    pv_vec lens_centre;
    double lens_unit;
    double uneven;         /* mm, RMS of what the fit leaves systematically, see pose/uneven.c */
    double rms;            /* px, of the residuals that were kept */
    size_t used, rejected; /* edge places in the fit, and those thrown out as outliers */
    pv_box seen;           /* sheet mm: where those used lie */
    /* The fit's covariance as independent errors: their squares add up. The variance of a residual
     * is taken as many times as there are sights to a square of 20 mm, because errors of print,
     * paper and scanner are alike over about that length and don't average out; and each mark (a
     * scale bar, a cross's stroke, a tag's side, 20 mm of a line) has an error of its own that all
     * its sights share, which is what tells where a direction hangs on a few marks alone. */
    pv_pose_error error[PV_POSE_UNKNOWNS];
    size_t n_errors;
    /* Standard uncertainties that follow from them: of a scan, of the map's scales and its right
     * angle; of a photograph, which has no scale of its own, of a place's size and right angle
     * against their mean over the sheet, RMS over all places: what a length carried from one place
     * of the sheet to another is good to. */
    double u_scale[2]; /* relative, along the sheet's x and y */
    double u_skew;     /* mrad */
} pv_pose;

typedef enum pv_pose_failure {
    PV_POSE_FOUND,
    PV_POSE_NO_TAGS, /* none seen: a blank page, a picture of something else, a mirrored scan */
    PV_POSE_TOO_FEW_TAGS,  /* one or two */
    PV_POSE_TAGS_DISAGREE, /* tags of two sheets in one picture, or a misreading */
    PV_POSE_OTHER_PLAN,    /* tags of a sheet that is in none of the plans */
    PV_POSE_NO_FIT         /* tags read, but crosses, bars and lines are not where they should be */
} pv_pose_failure;

/* The sheet may be of any of the plans, of which there is at least one. Says why in diags, in words
 * for a user, where it isn't PV_POSE_FOUND. Out of memory is said as PV_POSE_NO_FIT with
 * PV_CAUSE_MEMORY. */
pv_pose_failure pv_pose_find(const pv_plan *const *plans, size_t n_plans, const pv_plane *plane,
                             pv_pose *out, pv_diags *diags);

pv_vec pv_pose_map(const pv_pose *pose, pv_vec sheet_mm);
/* Derivative of the map at a place: column vectors d(px)/dx and d(px)/dy, px per mm. */
void pv_pose_jacobian(const pv_pose *pose, pv_vec sheet_mm, pv_vec *dx, pv_vec *dy);
/* Back again; not finite where a place has no counterpart. */
pv_vec pv_pose_unmap(const pv_pose *pose, pv_vec px);

/* Relative standard uncertainty of the map's size at a place along a sheet direction, as against
 * its mean over the sheet: the errors of the fit, and a sheet that is uneven. 0 along no direction.
 */
double pv_pose_u_stretch(const pv_pose *pose, pv_vec sheet_mm, pv_vec direction);

/* A pose is uneven past this: the fit's residuals leave more than light, print and lens of a flat
 * and true sheet do. Then, and only then, what is uneven counts in the uncertainties. */
#define PV_UNEVEN_MIN 0.03 /* mm */

/* Errors of print, paper and scanner are alike over about this length (common practice, no source).
 */
#define PV_UNEVEN_AREA 20.0 /* mm */

/* A scan's skew is uncertain by so many times the unevenness over the breadth of what is seen: a
 * print that bows leans this way or that, by where its marks lie (an estimate, from 35 simulated
 * prints with bows of up to 0.15 mm: 0.36 mrad, root of the mean square, 0.84 at most). */
#define PV_BOW_SKEW 5.0

/* px per mm about a place, the mean of all directions. */
double pv_pose_px_per_mm(const pv_pose *pose, pv_vec sheet_mm);

/* Sets u_scale and u_skew from what else the pose holds. */
void pv_pose_sum_up(pv_pose *pose);

#endif
