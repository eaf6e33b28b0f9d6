/* All that is painted of an art, found by place. */
#ifndef COURSE_PAINT_H
#define COURSE_PAINT_H

#include "course/locate.h"
#include "scene/scene.h"

typedef struct pv_paint {
    const pv_art *art;
    pv_geos geos;
    pv_item *items; /* in the order of painting */
    size_t n_items, cap_items;
    pv_index index; /* of their boxes */
    pv_locator fills;
} pv_paint;

/* The art must outlive the paint, and the paint must not move. False with a finding; close it
 * either way. */
bool pv_paint_open(pv_paint *paint, const pv_art *art, pv_diags *diags);
void pv_paint_close(pv_paint *paint);

/* As pv_art_spot, without asking every line. False where the library refused. */
bool pv_paint_spot(const pv_paint *paint, pv_vec p, pv_spot *spot);

/* As pv_art_painted (course/regions.h). */
bool pv_paint_areas(pv_paint *paint, double *out, pv_diags *diags);

#endif
