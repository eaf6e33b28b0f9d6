/* What tells how long a millimetre is in an image: everything of that kind that can be found, each
 * by itself, and all of it by weight. */
#ifndef REFERENCE_REFERENCE_H
#define REFERENCE_REFERENCE_H

#include "base/text.h"
#include "reference/metric.h"

#include <pavior/inspect.h>

/* How far a stated resolution may be from what the print itself shows, before it is taken for an
 * invention: a page shrunk to fit differs by 6 % at most. */
#define PV_REFERENCE_APART 0.25

/* Expanded uncertainty, mrad, of a scanner's axes being square, for each 0.1 % of its lengths': one
 * whose lengths are good to 0.1 % is taken to have its axes square to 1 mrad (an estimate). */
#define PV_SCANNER_SKEW_U(U_rel) (1000 * (U_rel))

/* Standard uncertainty, rad, of a print's skew where nothing shows it (an estimate). */
#define PV_SKEW_UNKNOWN 0.002

/* Parts of the sheet that something lies on, sheet mm: nothing there is print. */
#define PV_COVERED_MAX 16
typedef struct pv_covered {
    pv_box box[PV_COVERED_MAX];
    size_t n;
} pv_covered;

typedef struct pv_references {
    pv_reference_kind kind;
    pv_metric metric;           /* all of them together */
    double U_rel;               /* k = 2, the larger of both directions; 0 where nothing is known */
    double stated[2];           /* px per mm along the image's x and y; 0 where nothing is said */
    pv_reference_result *items; /* those that say something; freed with pv_references_clear */
    size_t n, cap;
    pv_covered covered;
} pv_references;

/* Finds them all. What there is to say to the user (why one is not believed, that two disagree,
 * what would settle the scale) goes into diags as notes. False where memory ran out (said). */
bool pv_references_find(const pv_scene *page, const pv_plane *plane, const pv_pose *pose,
                        const pv_inspect_options *options, pv_references *out, pv_diags *diags);
void pv_references_clear(pv_references *references);

/* px per nominal mm along the image's x and y, as the print shows it at a place (sheet mm). */
void pv_pose_resolution(const pv_pose *pose, pv_vec at, double px_per_mm[2]);

#endif
