/* The picture of a sheet as it would look from straight above: for people, not for measuring. */
#ifndef POSE_RECTIFY_H
#define POSE_RECTIFY_H

#include "pose/pose.h"

#include <pavior/inspect.h>

/* What lies outside of the image: a light gray. */
#define PV_PICTURE_OUTSIDE 226

/* Fills the whole page (width and height in mm, the sheet's frame) by averaging what of the image
 * lies under each pixel, in linear light. px_per_mm is lowered where the image itself doesn't
 * resolve as much, and to PV_PICTURE_PIXELS_MAX. The caller frees out->rgb with free(). False, with
 * *out all zero, where memory ran out. */
bool pv_rectify(const pv_plane *plane, const pv_pose *pose, const double page[2], double px_per_mm,
                pv_picture *out);

#endif
