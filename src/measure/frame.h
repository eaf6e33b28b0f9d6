/* True lengths: the map between the mat, the image, and millimetres by the reference. */
#ifndef MEASURE_FRAME_H
#define MEASURE_FRAME_H

#include "pose/pose.h"
#include "reference/metric.h"

/* The frame in which lengths are true: mm by the reference, or nominal mm. */
typedef struct pv_frame {
    const pv_pose *pose;
    const pv_metric *metric;
    pv_vec origin; /* of the sheet, mat frame */
} pv_frame;

/* The frame's map at a place of the mat. */
typedef struct pv_local {
    pv_vec px;     /* the place in the image */
    pv_vec dx, dy; /* px per nominal mm along x and y */
    pv_vec tx, ty; /* true mm per nominal mm along x and y */
} pv_local;

pv_local pv_frame_at(const pv_frame *frame, pv_vec mat);
/* A nominal direction in px, and in true mm; a direction in px in true mm. */
pv_vec pv_local_px(const pv_local *local, pv_vec nominal);
pv_vec pv_local_true(const pv_local *local, pv_vec nominal);
pv_vec pv_local_from_px(const pv_local *local, pv_vec px);
/* The unit vector in the true frame that points to a line's left, at right angles to it there. */
pv_vec pv_local_true_left(const pv_local *local, pv_vec heading);
/* How far, in true mm, a nominal step leads away from a line of that heading, to its left. */
double pv_local_across(const pv_local *local, pv_vec heading, pv_vec nominal);

/* Relative standard uncertainty that the pose adds to lengths at a place along a direction. */
double pv_frame_u_stretch(const pv_frame *frame, pv_vec mat, pv_vec direction);
/* px per nominal mm across a line of that heading. */
double pv_local_px_across(const pv_local *local, pv_vec heading);

#endif
