/* The guide's pictures, into a frame of a drawing. */
#ifndef GUIDE_PICTURE_H
#define GUIDE_PICTURE_H

#include "guide/sign.h"
#include "guide/steps.h"

/* A step's sheet as it was printed: what is cut away is hatched, cut lines are dashed, an edge that
 * stays has a thick grey bar. */
void pv_guide_draw_cut(const pv_pen *pen, const pv_guide *guide, const pv_guide_step *step,
                       pv_box frame);
/* The sheet, cut, in its place among those that lie already: crosses that meet, tape, the robot's
 * way across. An edge that lies on top is thick. */
void pv_guide_draw_lay(const pv_pen *pen, const pv_guide *guide, const pv_guide_step *step,
                       pv_box frame);
/* The whole mat: every sheet with its number, each seam's edge that lies on top thick, the robot's
 * run. */
void pv_guide_draw_whole(const pv_pen *pen, const pv_guide *guide, pv_box frame);

/* ---- private to this room ---- */

/* From the mat to the drawing. */
typedef struct pv_guide_view {
    pv_vec from, at; /* mat, drawing */
    double k;
} pv_guide_view;

/* All of a window of the mat, as large as a frame takes it, in its middle. */
pv_guide_view pv_guide_view_of(pv_box window, pv_box frame);
pv_vec pv_guide_place(const pv_guide_view *view, pv_vec mat);
pv_box pv_guide_place_box(const pv_guide_view *view, pv_box mat);
/* The art of a window; `pale`: mixed with so much white, 0 to 1. */
void pv_guide_art(const pv_pen *pen, const pv_guide_view *view, const pv_plan *plan, pv_box window,
                  double pale);
/* What is left of a sheet once it is cut, mat frame. */
pv_box pv_guide_piece(const pv_plan *plan, const pv_sheet *sheet);
/* The two ends of a sheet's side, mat frame: of its trim box. */
void pv_guide_edge(const pv_plan *plan, const pv_sheet *sheet, pv_side side, pv_vec end[2]);
pv_box pv_guide_common(pv_box a, pv_box b);
/* Whether a box has room in it. */
bool pv_guide_open(pv_box box);

#endif
