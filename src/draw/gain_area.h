/* Fills and marks for ink that spreads. Private to draw/gain.c. */
#ifndef DRAW_GAIN_AREA_H
#define DRAW_GAIN_AREA_H

#include "scene/scene.h"

typedef struct pv_gain_areas {
    const pv_scene *mat;
    double ink;
    pv_item_kind kind; /* PV_ITEM_FILL or PV_ITEM_MARK */
    size_t of;
} pv_gain_areas;

/* The fill or mark with its edges moved; it borrows the id. False where memory ran out. */
bool pv_gain_area(const pv_gain_areas *g, const pv_area *from, pv_area *to);

#endif
