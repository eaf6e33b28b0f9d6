/* What printers of everyday classes leave blank along a sheet's edges. */
#include "paper/paper.h"

#include <math.h>
#include <string.h>

/* Left, bottom, right, top of the upright sheet, mm. Laser printers' manuals name 4 to 5 all round;
 * ink jet manuals name 1.8 at the upper edge and 6.7 at the lower one, where the rollers let go;
 * their sides are from memory (3.4), all are rounded up. */
static const struct {
    const char *name;
    double margin[4];
} classes[] = {
    {"laser", {5, 5, 5, 5}},
    {"inkjet", {4, 7, 4, 3}},
    {"borderless", {0, 0, 0, 0}},
};

const char *pv_printer_class(size_t index)
{
    return index < sizeof classes / sizeof *classes ? classes[index].name : NULL;
}

bool pv_class_margins(const char *name, pv_orientation orientation, double margin[4])
{
    const double *m = NULL;
    for (size_t i = 0; i < sizeof classes / sizeof *classes; i++)
        if (strcmp(classes[i].name, name) == 0)
            m = classes[i].margin;
    if (m == NULL)
        return false;
    /* Drivers turn a lying page one way or the other, so that either end may come first. */
    double ends = fmax(m[1], m[3]), sides = fmax(m[0], m[2]);
    const double lying[4] = {ends, sides, ends, sides};
    for (int i = 0; i < 4; i++)
        margin[i] = orientation == PV_PORTRAIT    ? m[i]
                    : orientation == PV_LANDSCAPE ? lying[i]
                                                  : fmax(m[i], lying[i]);
    return true;
}
