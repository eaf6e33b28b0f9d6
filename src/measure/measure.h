/* From a pose to measurements of the print, each with a standard uncertainty. */
#ifndef MEASURE_MEASURE_H
#define MEASURE_MEASURE_H

#include "pose/pose.h"

/* A measured quantity. u is a standard uncertainty (k = 1) without the reference's part, which is
 * fully shared by all lengths of an image and is added by whoever knows it. */
typedef struct pv_quantity {
    double value, u;
    bool measured;
} pv_quantity;

typedef struct pv_line_measure {
    size_t line;                 /* in the art */
    pv_quantity width, straight; /* mm */
    size_t planned;              /* places where by the plan both edges stand clear */
    size_t stations;             /* those where both were found */
} pv_line_measure;

typedef struct pv_spacing_measure {
    size_t from, to; /* lines of the art */
    double nominal;
    pv_quantity value; /* mm */
} pv_spacing_measure;

typedef struct pv_measures {
    bool absolute; /* lengths are mm by the reference; else by the sheet's own nominal size */
    pv_quantity scale[2];   /* along the sheet's x and y; only where absolute */
    pv_quantity skew;       /* mrad, positive where +x and +y enclose less than a right angle; of an
                               affine pose only, and square pixels are assumed where not absolute */
    double turn;            /* degrees counter-clockwise */
    pv_line_measure *lines; /* every line that the sheet shows, in the art's order */
    size_t n_lines, cap_lines;
    pv_spacing_measure *spacings;
    size_t n_spacings, cap_spacings;
} pv_measures;

/* px_per_mm: along the image's x and y, from the reference; both 0 where there is none. False
 * where memory ran out. */
bool pv_measure_sheet(const pv_plan *plan, const pv_plane *plane, const pv_pose *pose,
                      const double px_per_mm[2], pv_measures *out, pv_diags *diags);
void pv_measures_clear(pv_measures *measures);

#endif
