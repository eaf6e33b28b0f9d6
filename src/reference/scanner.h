#ifndef REFERENCE_SCANNER_H
#define REFERENCE_SCANNER_H

#include "reference/reference.h"

typedef struct pv_scan_reference {
    bool believed;
    double stated[2];    /* px per mm along the image's x and y; 0 where nothing is said */
    double px_per_mm[2]; /* to measure by; 0 where not believed */
    double U_rel;        /* k = 2; 0 where not believed */
} pv_scan_reference;

/* Decides, and says in `note` (left empty where there is nothing to say) why it isn't believed and
 * what would settle it. */
pv_scan_reference pv_scan_reference_decide(const pv_plane *plane, const pv_pose *pose,
                                           const pv_inspect_options *options, pv_text *note);

#endif
