/* Where the camera stood over the sheet. */
#ifndef REFERENCE_CAMERA_H
#define REFERENCE_CAMERA_H

#include "pose/pose.h"

/* Focal length of a phone's main camera as on 35 mm film, and its relative standard uncertainty;
 * and that of a focal length that EXIF states, which is rounded and may be of another crop. All are
 * estimates. */
#define PV_CAMERA_FOCAL35   26.0
#define PV_CAMERA_FOCAL_U   0.20
#define PV_CAMERA_FOCAL35_U 0.06
#define PV_CAMERA_DIAGONAL  43.27 /* mm, of 35 mm film: 36 x 24 */

/* How far the columns of the pose are from square and alike because the print isn't true: relative,
 * and rad (an estimate). */
#define PV_CAMERA_PRINT_U 0.006

typedef struct pv_camera_view {
    bool known;              /* false: a scan, or a map that no camera makes */
    pv_vec foot;             /* sheet mm: the place straight under the lens */
    double height;           /* mm over the sheet */
    double height_u, foot_u; /* standard uncertainties: relative; mm */
} pv_camera_view;

/* Of a pinhole camera with square pixels and its axis through the middle of the image, the two
 * columns a, b of K^-1 h are at right angles and of one length (Zhang, IEEE PAMI 22, 2000). Both
 * are linear in r = f0^2 / f^2: r a.b|xy + f0^2 a_z b_z = 0,   r (a.a - b.b)|xy + f0^2 (a_z^2 -
 * b_z^2) = 0, and tell the focal length f of a tilted view; r = 1 for what is stated or common (f0)
 * counts by its own uncertainty, so that a view from straight above takes that. The map's own lens
 * distortion is left aside. */
pv_camera_view pv_camera_view_of(const pv_plane *plane, const pv_pose *pose);

#endif
