/* What tells how long a millimetre is in an image. */
#ifndef JUDGE_REFERENCE_H
#define JUDGE_REFERENCE_H

#include "base/text.h"
#include "pose/pose.h"

#include <pavior/inspect.h>

/* How far a stated resolution may be from what the print itself shows, before it is taken for an
 * invention: a page shrunk to fit differs by 6 % at most. */
#define PV_REFERENCE_APART 0.25

typedef struct pv_reference {
    pv_reference_kind kind;
    double stated[2];    /* px per mm along the image's x and y; 0 where nothing is said */
    double px_per_mm[2]; /* to measure by; 0 where there is no reference */
    double U_rel;        /* k = 2; 0 where there is no reference */
} pv_reference;

/* Decides, and says in `note` (left empty where there is nothing to say) why there is none and what
 * would settle it. */
pv_reference pv_reference_decide(const pv_plane *plane, const pv_pose *pose,
                                 const pv_inspect_options *options, pv_text *note);

/* px per nominal mm along the image's x and y, as the print shows it at a place (sheet mm). */
void pv_pose_resolution(const pv_pose *pose, pv_vec at, double px_per_mm[2]);

#endif
