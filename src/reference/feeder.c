#include "reference/feeder.h"

#include "po/po.h"

#include <math.h>

/* mm of the longer side; 0 where no resolution is stated. */
static double length_of(const pv_plane *plane, const double stated[2])
{
    if (!(stated[0] > 0 && stated[1] > 0))
        return 0;
    return fmax((double)plane->width / stated[0], (double)plane->height / stated[1]);
}

bool pv_longer_than_glass(const pv_plane *plane, const double stated[2], pv_text *note)
{
    double length = length_of(plane, stated);
    if (length <= PV_GLASS_MOST)
        return false;
    pv_text_say(note,
                "this scan is %s mm long, and no office flatbed's glass is: it is taken for a "
                "sheet feeder's",
                pv_fixed(length, 0).chars);
    return true;
}

void pv_edges_of_feeder(const pv_plane *plane, const double stated[2], const pv_evidence *paper,
                        pv_text *note)
{
    double length = length_of(plane, stated);
    if (paper->rows == 2 && length > PV_GLASS_A4 && length < 4.0 / 3 * PV_GLASS_A4)
        pv_text_say(
            note,
            "all four edges of the paper show in this scan, which is %s mm long; an A4 "
            "flatbed's glass is shorter. If the sheet went through a feeder, give --scanner "
            "feeder instead of flatbed",
            pv_fixed(length, 0).chars);
}
