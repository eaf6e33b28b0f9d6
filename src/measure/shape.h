/* Shape: how lines and plain areas are printed, besides where. What should be where comes from the
 * plan, as a raster of labels; what is there comes from the image, relative to bare paper. */
#ifndef MEASURE_SHAPE_H
#define MEASURE_SHAPE_H

#include "measure/measure.h"
#include "measure/view.h"

#define PV_ROWS_MAX  200000u /* on a sheet; what is past them has no shape */
#define PV_BREAK_MIN 0.375   /* mm along the line: shorter ones are no breaks */

/* Bounds past which a line isn't fair, which is worth a note: a value's `tolerance` is made of
 * them. No kind of shape has a verdict of its own. All are estimates. */
#define PV_RAGGED_FAIR   0.10 /* mm */
#define PV_CONTRAST_FAIR 0.60 /* of the contrast that the course asks for */
#define PV_CONTRAST_LOW  0.15 /* nominal contrasts below this are not noted */

#define PV_FILL_CELLS_MIN 25  /* squares of an area that is looked at */
#define PV_FILLS_MAX      300 /* on a sheet; the largest are kept */

/* Bounds past which an area isn't fair; all are estimates. */
#define PV_MISSING_FAIR 0.03 /* of the area */
#define PV_STRONG_FAIR  0.55 /* of the nominal difference from paper */
#define PV_MOTTLE_FAIR  0.06 /* of white */
#define PV_FILL_APART   0.10 /* nominal differences from paper below this are not noted */

/* Appends areas and their values. False where memory ran out. */
bool pv_shape_fills(const pv_view *view, pv_measures *out);

/* The shapes of all lines of `out`, which has their stations, as values and flaws; the areas. False
 * where memory ran out. */
bool pv_measure_shape(const pv_shown *shown, const pv_frame *frame, const pv_plane *plane,
                      double px, pv_measures *out);

#endif
