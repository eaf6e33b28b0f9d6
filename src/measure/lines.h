/* From stations to lines: width, straightness, and the spacing of neighbours. */
#ifndef MEASURE_LINES_H
#define MEASURE_LINES_H

#include "measure/station.h"

/* Parts of an edge's standard uncertainty that no scatter shows, because all stations share them.
 * Both are estimates. */
#define PV_U_GRID 0.006 /* px: where pixels lie under an edge along them (see check_profile) */
#define PV_U_TONE                                                                                  \
    0.01 /* of the contrast: by how much a scanner's tone curve misses sRGB midway                 \
          */
/* A picture of black and white alone was cut at an unknown level: the edge may lie anywhere in the
 * transition. Half a pixel either way, evenly: 1 / (2 sqrt(3)). */
#define PV_U_BILEVEL 0.29 /* px */

/* How far ink may spread at an edge, either way, evenly: 0.1 mm / sqrt(3). The range is an
 * estimate, common practice, no source. It counts where it moves a line's centre. */
#define PV_U_SPREAD (0.1 / 1.7320508) /* mm */

typedef struct pv_edge_floor {
    double mm;      /* standard uncertainty of each edge, shared by a line's stations */
    double scatter; /* mm, the least scatter of a station */
    bool bilevel;
    const pv_metric *metric;
} pv_edge_floor;

/* px per true mm. */
pv_edge_floor pv_edge_floor_of(const pv_plane *plane, const pv_metric *metric, double px);

/* Marks outliers among the stations of each line as not found. False where memory ran out. */
bool pv_stations_clean(pv_stations *stations, const pv_edge_floor *floor);

/* All stations of one line: items [first, end). */
bool pv_measure_line(const pv_art *art, const pv_station *stations, size_t n,
                     const pv_edge_floor *floor, pv_line_measure *out);

/* By how much ink spreads, from the widths of all lines of `out`, which must be measured, into
 * out->ink. */
void pv_measure_ink(const pv_frame *frame, const pv_art *art, const pv_stations *stations,
                    pv_measures *out);

/* All spacings; appends to out->spacings. False where memory ran out. */
bool pv_measure_spacings(const pv_frame *frame, const pv_scene *scene, const pv_stations *stations,
                         const pv_edge_floor *floor, pv_measures *out);

#endif
