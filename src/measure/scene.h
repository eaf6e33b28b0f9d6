/* What one sheet shows of the mat, ready to be asked point by point: only what meets the sheet,
 * each with its box. */
#ifndef MEASURE_SCENE_H
#define MEASURE_SCENE_H

#include "plan/layout.h"
#include "reference/reference.h"
#include "scene/outline.h"

typedef struct pv_shown_solid {
    pv_solid solid;
    pv_box box;
    size_t line;
} pv_shown_solid;

typedef struct pv_shown_area {
    const pv_area *area; /* of the art */
    pv_box box;
} pv_shown_area;

typedef struct pv_shown {
    const pv_art *art;
    pv_box window;          /* mat frame: where this sheet prints art */
    pv_shown_solid *solids; /* in the order of painting */
    size_t n_solids, cap_solids;
    pv_shown_area *fills, *marks;
    size_t n_fills, cap_fills, n_marks, cap_marks;
    pv_box *clutter; /* lettering, what a sheet prints over the art (alignment crosses), and what
                        lies on it */
    size_t n_clutter, cap_clutter;
} pv_shown;

/* False, with nothing held, where memory ran out. The scene borrows from the plan. */
bool pv_shown_make(pv_shown *scene, const pv_plan *plan, const pv_sheet *sheet);
/* Adds what lies on the sheet. False where memory ran out. */
bool pv_shown_cover(pv_shown *scene, const pv_sheet *sheet, const pv_covered *covered);
/* The part of a scene that meets a box, into `part` whose arrays are used again; `part` starts
 * zeroed and is cleared like any other. */
bool pv_shown_part(pv_shown *part, const pv_shown *scene, pv_box box);
void pv_shown_clear(pv_shown *scene);

/* As pv_art_spot, for points of the window. */
pv_spot pv_shown_spot(const pv_shown *scene, pv_vec p);

#endif
