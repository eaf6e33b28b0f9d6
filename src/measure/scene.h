/* What one sheet shows of the mat, ready to be asked point by point: only what meets the sheet,
 * each with its box. */
#ifndef MEASURE_SCENE_H
#define MEASURE_SCENE_H

#include "course/outline.h"
#include "plan/layout.h"
#include "reference/reference.h"

typedef struct pv_scene_solid {
    pv_solid solid;
    pv_box box;
    size_t line;
} pv_scene_solid;

typedef struct pv_scene_area {
    const pv_area *area; /* of the art */
    pv_box box;
} pv_scene_area;

typedef struct pv_scene {
    const pv_art *art;
    pv_box window;          /* mat frame: where this sheet prints art */
    pv_scene_solid *solids; /* in the order of painting */
    size_t n_solids, cap_solids;
    pv_scene_area *fills, *marks;
    size_t n_fills, cap_fills, n_marks, cap_marks;
    pv_box *clutter; /* lettering, what a sheet prints over the art (alignment crosses), and what
                        lies on it */
    size_t n_clutter, cap_clutter;
} pv_scene;

/* False, with nothing held, where memory ran out. The scene borrows from the plan. */
bool pv_scene_make(pv_scene *scene, const pv_plan *plan, const pv_sheet *sheet);
/* Adds what lies on the sheet. False where memory ran out. */
bool pv_scene_cover(pv_scene *scene, const pv_sheet *sheet, const pv_covered *covered);
/* The part of a scene that meets a box, into `part` whose arrays are used again; `part` starts
 * zeroed and is cleared like any other. */
bool pv_scene_part(pv_scene *part, const pv_scene *scene, pv_box box);
void pv_scene_clear(pv_scene *scene);

/* As pv_art_spot, for points of the window. */
pv_spot pv_scene_spot(const pv_scene *scene, pv_vec p);

#endif
