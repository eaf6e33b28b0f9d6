/* From a pose to measurements of the print, each with a standard uncertainty. */
#ifndef MEASURE_MEASURE_H
#define MEASURE_MEASURE_H

#include "reference/reference.h"

/* A measured quantity, with its standard uncertainty (k = 1) by parts. */
typedef struct pv_quantity {
    double value;
    double part[PV_PARTS]; /* in the value's unit */
    double freedom;        /* degrees of freedom of the scatter; 0 stands for many */
    bool measured;
} pv_quantity;

typedef struct pv_line_measure {
    size_t line;                 /* in the art */
    pv_quantity width, straight; /* mm */
    size_t planned;              /* places where by the plan both edges stand clear */
    size_t stations;             /* those where both were found */
    size_t first;                /* of the line's stations, in pv_measures */
    pv_shape shape;
} pv_line_measure;

typedef struct pv_spacing_measure {
    size_t from, to; /* lines of the art */
    double nominal;
    pv_quantity value; /* mm */
    pv_vec at[2];      /* mat frame: a place on each, about the middle of what they share */
} pv_spacing_measure;

typedef struct pv_measures {
    bool absolute; /* lengths are mm by the reference; else by the sheet's own nominal size */
    pv_quantity scale[2];   /* along the sheet's x and y; only where absolute */
    pv_quantity skew;       /* mrad, positive where +x and +y enclose less than a right angle */
    pv_quantity ink;        /* mm by which dark spreads into light; only where absolute */
    double turn;            /* degrees counter-clockwise */
    pv_line_measure *lines; /* every line that the sheet shows, in the art's order */
    size_t n_lines, cap_lines;
    pv_spacing_measure *spacings;
    size_t n_spacings, cap_spacings;
    size_t runs_left;            /* pieces of lines that are not in any, past the limit */
    pv_station_result *stations; /* all that were used, by line */
    size_t n_stations, cap_stations;
    pv_fill_result *fills; /* .colour borrowed from the plan */
    size_t n_fills, cap_fills;
    pv_flaw *flaws; /* .line in `lines` */
    size_t n_flaws, cap_flaws;
} pv_measures;

/* covered may be NULL. False where memory ran out (said). */
bool pv_measure_sheet(const pv_plan *plan, const pv_plane *plane, const pv_pose *pose,
                      const pv_metric *metric, const pv_covered *covered, pv_measures *out,
                      pv_diags *diags);
void pv_measures_clear(pv_measures *measures);

#endif
