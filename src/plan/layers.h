/* What a scene of layers holds. Private to layers.c, which builds it, and to plain.c and points.c,
 * which ask. */
#ifndef PLAN_LAYERS_H
#define PLAN_LAYERS_H

#include "course/boxes.h"
#include "course/outline.h"
#include "plan/plain.h"

#define PV_LAYERS_FEW 48 /* parts; a scene of more is sorted by place */

typedef enum pv_part_kind {
    PV_PART_SOLID,   /* paint of a line, or a lettering's box */
    PV_PART_PIECE,   /* of a line's centre line */
    PV_PART_END,     /* round a point of a line where paint does not reach half a width all round */
    PV_PART_BOUNDARY /* a segment of an area's ring */
} pv_part_kind;

typedef struct pv_layer_part {
    pv_part_kind kind;
    pv_box box;
    size_t layer; /* that it belongs to */
    union {
        const pv_solid *solid;
        const pv_piece *piece;
        const pv_vec *boundary[2];
    } u;
} pv_layer_part;

typedef enum pv_layer_kind { PV_LAYER_LETTERING, PV_LAYER_AREA, PV_LAYER_LINE } pv_layer_kind;

/* One painted thing and its parts. */
typedef struct pv_layer {
    pv_layer_kind kind;
    size_t colour;
    double half;         /* of a line's width */
    const pv_area *area; /* of an area */
    pv_box box;
    size_t first, n;
} pv_layer;

typedef struct pv_owned {
    pv_solid *solids;
} pv_owned;

struct pv_layers {
    pv_vec size;
    size_t ground;
    pv_layer *layers; /* what is seen first stands first */
    size_t n_layers, cap_layers;
    pv_layer_part *parts;
    size_t n_parts, cap_parts;
    pv_owned *owned; /* freed with the scene */
    size_t n_owned, cap_owned;
    /* Parts, and the whole of each area's layer, by place: where the scene is large. */
    bool by_place;
    pv_boxes part_boxes, area_boxes;
    pv_grid part_grid, area_grid;
};

#endif
