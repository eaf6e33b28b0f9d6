/* Fills and marks for ink that spreads. Private to draw/gain.c. */
#ifndef DRAW_GAIN_AREA_H
#define DRAW_GAIN_AREA_H

#include "course/paint.h"

typedef struct pv_gain_areas {
    const pv_art *art;
    const pv_paint *paint;
    double ink;
    bool marks; /* else fills */
} pv_gain_areas;

/* Replaces the rings of `to`, a copy of `from`, by moved ones. False where memory ran out. */
bool pv_gain_area(const pv_gain_areas *g, const pv_area *from, pv_area *to);

#endif
