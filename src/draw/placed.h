/* The art by place, so that a sheet walks only what touches it. Private to this room. */
#ifndef DRAW_PLACED_H
#define DRAW_PLACED_H

#include "course/art.h"
#include "course/boxes.h"

typedef enum pv_placed_kind {
    PV_PLACED_FILL, /* one ring of it */
    PV_PLACED_LINE, /* one solid of it */
    PV_PLACED_MARK, /* one ring of it */
    PV_PLACED_LETTERING
} pv_placed_kind;

typedef struct pv_placed_thing {
    pv_placed_kind kind;
    size_t of;   /* the art's fill, line, mark or lettering */
    size_t part; /* ring of the area, or index in `solids` */
} pv_placed_thing;

typedef struct pv_placed {
    const pv_art *art;
    pv_placed_thing *things; /* in the order of painting */
    size_t n_things, cap_things;
    pv_solid *solids;
    size_t n_solids, cap_solids;
    pv_boxes boxes; /* of the things */
    pv_grid grid;
} pv_placed;

/* The art must outlive it. False where memory ran out; close it either way. */
bool pv_placed_open(pv_placed *placed, const pv_art *art);
void pv_placed_close(pv_placed *placed);

/* All that may print of a lettering lies in this. */
pv_box pv_placed_lettering_box(const pv_lettering *lettering);

#endif
