/* What tells how long a millimetre is in an image: everything of that kind that can be found, each
 * by itself, and all of it by weight.
 *
 * A guide to this room. Each reference states up to three linear things about the print (the
 * logarithms of its scale along x and along y, and its skew) with their covariance: pv_evidence in
 * combine.h. Who adds a reference writes a file that gives one, and calls it in reference.c.
 *
 * scanner.c       the image's stated resolution, where it can be believed; square pixels otherwise.
 * ruler.c         bars that somebody measured and typed in.
 * card.c          an ID-1 card in its printed outline or anywhere on or beside the sheet.
 *   ground.c      shows the sheet's plane from above, coarsely; edge_map.c marks the edges in it;
 *   rectangle.c   finds lines and rectangles of a card's size; outline.c measures four sides;
 *   camera.c      says where the camera stood, so that the card's thickness can be allowed for;
 *   steps.c       finds every straight step along a side: rims, shadows' ends;
 *   card_metric.c turns the outline into scales and their uncertainty.
 * paper.c         the paper's own edges: coarse, but they find a page that was shrunk to fit.
 * combine.c       weighs them by least squares and asks chi-squared whether they agree; where they
 *                 don't, none counts, but for one of three that stands alone beyond doubt.
 * basis.c         says on what the scale rests; feeder.c what contradicts a flatbed.
 *
 * A wrong reference makes every length wrong, so each is believed only within bounds that its
 * header gives, and a doubtful one is said and not used. */
#ifndef REFERENCE_REFERENCE_H
#define REFERENCE_REFERENCE_H

#include "base/text.h"
#include "reference/metric.h"

#include <pavior/inspect.h>

/* How far a stated resolution may be from what the print itself shows, before it is taken for an
 * invention: a page shrunk to fit differs by 6 % at most, with some room (assumed). */
#define PV_REFERENCE_APART 0.10

/* How far a scanner's two axes may be from square, rad, any value within as likely as another: a
 * flatbed's carriage runs on a rail, a feeder's paper between rollers (both estimates). */
#define PV_FLATBED_ASKEW 0.001
#define PV_FEED_ASKEW    0.005

/* Standard uncertainty, mm, of where a scanner puts a single place: its sensor's pitch varies, its
 * carriage or feed runs unevenly. Assumed: five flatbeds of 1997 left 0.04 to 0.29 mm RMS an axis
 * against a grid plate, errors of scale perhaps included (docs/how/references.md). */
#define PV_FLATBED_UNEVEN 0.04
#define PV_FEED_UNEVEN    0.08
/* The same in a photograph: what the fitted lens takes for its own of a print that bows (0.03 mm of
 * 0.15 in simulated prints), and what of a real lens is not radial (assumed). */
#define PV_PHONE_UNEVEN 0.03

/* Expanded uncertainty, mrad, of the same where the user states that of its lengths (an estimate).
 */
#define PV_SCANNER_SKEW_U(U_rel) (1000 * (U_rel))

/* Standard uncertainty, rad, of a print's skew where nothing shows it (an estimate). */
#define PV_SKEW_UNKNOWN 0.002

/* Parts of the sheet that something lies on, sheet mm: nothing there is print. */
#define PV_COVERED_MAX 128
typedef struct pv_covered {
    pv_box box[PV_COVERED_MAX];
    size_t n;
} pv_covered;

typedef struct pv_references {
    pv_reference_kind kind;
    pv_metric metric;           /* all of them together */
    double U_rel;               /* k = 2, the larger of both directions; 0 where nothing is known */
    char *basis;                /* pv_inspected's */
    bool disagree;              /* pv_inspected's */
    double stated[2];           /* px per mm along the image's x and y; 0 if not stated */
    pv_reference_result *items; /* those that say something; freed with pv_references_clear */
    size_t n, cap;
    pv_covered covered;
} pv_references;

/* Finds them all. What there is to say to the user (why one is not believed, that two disagree,
 * what would settle the scale) goes into diags as notes. False where memory ran out (said). */
bool pv_references_find(const pv_sheet *sheet, const pv_scene *page, const pv_plane *plane,
                        const pv_pose *pose, const pv_inspect_options *options, pv_references *out,
                        pv_diags *diags);
void pv_references_clear(pv_references *references);

/* px per nominal mm along the image's x and y, as the print shows it at a place (sheet mm). */
void pv_pose_resolution(const pv_pose *pose, pv_vec at, double px_per_mm[2]);

#endif
