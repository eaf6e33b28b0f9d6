/* Measuring: from a picture whose pose and references are known to values, each with a standard
 * uncertainty by parts: the rows of the table of values (<pavior/inspect.h>), as far as measuring
 * fills them in. judge/ decides them in place. This comment is the room's guide; docs say the same
 * with figures.
 *
 * Model first. The plan knows what the sheet shows, so nothing is searched for: each place is
 * predicted through the map, then looked at. Lengths are true millimetres by the reference, or the
 * sheet's own nominal ones where there is no reference (frame.h turns one into the other).
 *
 * 1. Optics (optics.h, look.h). A first, coarse look at the lines' edges learns what the picture
 *    does to all edges alike: its blur, whether its contrast was stretched, how red and blue lie
 *    against green. What isn't learnt is bounded instead, and counts in every U that it touches.
 *
 * 2. Stations (station.h). All along each line, places are planned where the line and one plain
 *    colour on each side stand clear for far enough. At a station each edge is found by itself, in
 *    linear light, midway between its own two plateaus (image/profile.h); width and centre follow.
 *    Stations that contradict their neighbours show dust, breaks or blobs, and are dropped
 *    (clean.c). Tones that are printed as dots move edges by where dots were cut (screen.h).
 *
 * 3. Lines (lines.h). A line's width is the mean over its stations, its straightness the largest
 *    deviation of its smoothed centre line from its own best fit, a spacing the distance between
 *    the centre lines of two neighbours over what they share (spacing.c). What stations share is no
 *    scatter and no mean lessens it: tone curve, pixel grid, screen, map, reference (shared.h) are
 *    parts of their own. How far ink spreads is what all widths say together (ink.c).
 *
 * 4. Scale and skew come from the map and the references alone (measure.c).
 *
 * 5. Shape (shape.h). The page is painted into a raster of labels: which colour or line belongs
 *    where (view.h). Light is averaged over squares of one label, and the light that bare paper
 *    would show is modelled all over the page, so that uneven light is no ink. Then each line is
 *    read in rows across it (rows.h): breaks from its inside, raggedness and blobs from its
 *    two edges (edges.h), contrast and hue from its colours. Areas of one colour tell how strong
 *    and how even their ink is, and how much of it is missing (fills.c).
 *
 * 6. Surface (surface.h). All over the cell, what is seen less what the course may show there. What
 *    is left over is joined into marks: stray ink, missing paint, wrong colours (marks.c). */
#ifndef MEASURE_MEASURE_H
#define MEASURE_MEASURE_H

#include "reference/reference.h"

typedef struct pv_measures {
    bool absolute;    /* lengths are mm by the reference; else by the sheet's own nominal size */
    double turn;      /* degrees counter-clockwise */
    pv_value *values; /* of these, `freedom` is of the scatter alone until they are judged, and 0
                         stands for many */
    size_t n_values, cap_values;
    pv_line_result *lines; /* every line that the sheet shows, in the art's order */
    size_t n_lines, cap_lines;
    bool unsought;               /* breaks, along all lines, past the limits of shape.h, view.h */
    size_t unpaired;             /* pieces of lines that are in no spacing, past the limit */
    pv_station_result *stations; /* all that were used, by line */
    size_t n_stations, cap_stations;
    pv_fill_result *fills;
    size_t n_fills, cap_fills;
    pv_flaw *flaws;
    size_t n_flaws, cap_flaws;
    double surface; /* see pv_inspected */
    pv_mark *marks; /* undecided, without a meaning, until they are judged */
    size_t n_marks, cap_marks;
} pv_measures;

/* covered may be NULL. False where memory ran out (said); *out is then empty. */
bool pv_measure_sheet(const pv_scene *page, const pv_plane *plane, const pv_pose *pose,
                      const pv_metric *metric, const pv_covered *covered, pv_measures *out,
                      pv_diags *diags);
void pv_measures_clear(pv_measures *measures);

/* The row of that kind of that subject; NULL where there is none. */
pv_value *pv_measures_find(const pv_measures *measures, pv_value_kind kind, size_t subject);

/* ---- for those that measure ---- */

/* Appends a row; its name comes from what it belongs to. False where memory ran out. */
bool pv_measures_add(pv_measures *measures, const pv_value *row);
/* Appends a line of the course, or an area, whose text is copied. False where memory ran out. */
bool pv_measures_add_line(pv_measures *measures, const pv_line_result *line);
bool pv_measures_add_fill(pv_measures *measures, const pv_fill_result *fill);
/* Orders the rows by what they belong to, and tells lines and areas where theirs begin. False where
 * memory ran out. */
bool pv_measures_sort(pv_measures *measures);

#endif
