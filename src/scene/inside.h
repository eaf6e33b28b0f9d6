/* What the index of a scene holds besides items. Private to this room. */
#ifndef SCENE_INSIDE_H
#define SCENE_INSIDE_H

#include "scene/scene.h"

/* Where a box that several solids of a line cover together is known to be covered: within half a
 * width of one of its pieces, and off its ends, where paint does not reach so far all round. */
struct pv_support {
    size_t line;
    const pv_piece *piece; /* NULL: an end */
    pv_box box;
};

/* The sides of a fill or mark. */
static inline const pv_sides *pv_area_sides(const pv_scene *mat, pv_item_kind kind, size_t of)
{
    return &mat->areas[kind == PV_ITEM_FILL ? of : mat->art->n_fills + of];
}
static inline const pv_sides *pv_item_sides(const pv_scene *mat, const pv_item *item)
{
    return pv_area_sides(mat, item->kind, item->of);
}

#endif
