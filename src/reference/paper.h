/* The paper's own edges, where they show: coarse, but they find a page that was shrunk to fit. */
#ifndef REFERENCE_PAPER_H
#define REFERENCE_PAPER_H

#include "reference/combine.h"
#include "reference/ground.h"

/* By how much a sheet's side may be off its nominal size: ISO 216:2007, 7.1, gives 1.5 mm up to
 * 150, 2 mm up to 600 and 3 mm above; taken as evenly likely, and for sizes of other standards
 * alike (an estimate). */
double pv_paper_tolerance(double side);

/* Standard uncertainty, mm, of one edge: cut paper frays and casts a line of shadow (an estimate).
 */
#define PV_PAPER_EDGE_U 0.15

#define PV_PAPER_INSIDE  2.5  /* mm within the nominal edge from where it is sought, outwards */
#define PV_PAPER_OUTSIDE 25.0 /* mm: a page shrunk to 94 % with its print off by some */
#define PV_PAPER_STEP    8.0  /* codes per px: less is no edge */
#define PV_PAPER_RMS     0.4  /* mm by which an edge may leave a straight line */
#define PV_PAPER_OFF     0.08 /* how far the print may be off by the paper, relative */
#define PV_PAPER_TURNED  0.01 /* rad by which opposite edges may be off parallel */

/* For x where the left and the right edge show, for y where the lower and the upper do; no rows
 * where neither. Rolls and custom sizes are cut to no standard: then none. */
pv_evidence pv_paper_evidence(const pv_scene *page, const pv_plane *plane, const pv_pose *pose,
                              const pv_ground *ground);

#endif
