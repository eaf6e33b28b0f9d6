/* From stations to lines: width, straightness, and the spacing of neighbours. */
#ifndef MEASURE_LINES_H
#define MEASURE_LINES_H

#include "measure/measure.h"
#include "measure/station.h"

/* How far ink may spread at an edge, either way, evenly: 0.1 mm / sqrt(3). The range is an
 * estimate, common practice, no source. It counts where it moves a line's centre. */
#define PV_U_SPREAD (0.1 / 1.7320508) /* mm */

/* What holds for all stations of a sheet. */
typedef struct pv_edge_floor {
    const pv_frame *frame;
    bool bilevel;
    double px;      /* per true mm, about the sheet's middle */
    double scatter; /* mm, the least scatter of a station */
    double usual;   /* mm, that of most lines; 0 where no line has stations enough to tell */
} pv_edge_floor;

/* px per true mm. */
pv_edge_floor pv_edge_floor_of(const pv_plane *plane, const pv_frame *frame, double px);

/* Marks outliers among the stations of each line as not found (what lies on the sheet: dust, hairs;
 * breaks and blobs): places whose edges are far from those of their neighbours along the line. Then
 * sets floor->usual. False where memory ran out. */
bool pv_stations_clean(pv_stations *stations, pv_edge_floor *floor);

/* pv_mean_u, where few values lean on what is usual on the sheet. */
double pv_scatter_u(const pv_edge_floor *floor, const double *values, size_t n, double mean,
                    double *freedom);

/* Width and straightness of one line, whose n > 0 stations these are: kind, value, its parts and
 * the places that were measured. False where memory ran out. */
bool pv_measure_line(const pv_line *line, const pv_station *stations, size_t n,
                     const pv_edge_floor *floor, pv_value *width, pv_value *straight);

/* By how much ink spreads, from the widths of all lines of `out`, which must be measured. False
 * where memory ran out. */
bool pv_measure_ink(const pv_frame *frame, const pv_art *art, const pv_stations *stations,
                    pv_measures *out);

/* Pieces of lines, those on one straight line or circle taken together, of which each is held
 * against each: the rest are counted in out->unpaired. */
#define PV_SPACING_RUNS_MAX 500

/* Appends all spacings. False where memory ran out. */
bool pv_measure_spacings(const pv_frame *frame, const pv_shown *shown, const pv_stations *stations,
                         const pv_edge_floor *floor, pv_measures *out);

#endif
