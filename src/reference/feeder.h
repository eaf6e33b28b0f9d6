/* What in a picture contradicts that a flatbed scanned it. */
#ifndef REFERENCE_FEEDER_H
#define REFERENCE_FEEDER_H

#include "reference/combine.h"

/* mm of the longest glass of an office's flatbed, for A3 and ledger (432 mm), with room; and of the
 * usual one, for A4 and letter (297 mm), which has no room for both ends of an A4 sheet (common
 * practice). */
#define PV_GLASS_MOST 450.0
#define PV_GLASS_A4   300.0

/* Whether a scan is longer than any such glass (said), by its stated px per mm. */
bool pv_longer_than_glass(const pv_plane *plane, const double stated[2], pv_text *note);

/* Says that the paper's edges show all round in a scan a little longer than A4's glass: either the
 * flatbed is one for A3, or it was a feeder. */
void pv_edges_of_feeder(const pv_plane *plane, const double stated[2], const pv_evidence *paper,
                        pv_text *note);

#endif
