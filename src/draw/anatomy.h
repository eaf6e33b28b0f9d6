/* What stands around a sheet's cell. Private to this room. Everything is in the sheet's frame. */
#ifndef DRAW_ANATOMY_H
#define DRAW_ANATOMY_H

#include "draw/drawing.h"
#include "plan/layout.h"

typedef struct pv_anatomy {
    pv_drawing *drawing;
    const pv_plan *plan;
    const pv_sheet *sheet;
    pv_diags *diags;
    pv_box page; /* what the printer reaches */
    pv_box art;  /* the cell with bleed and lap */
    pv_box cell;
} pv_anatomy;

/* What inspection looks for: crosses and the ticks of scale bars, and the tags. */
bool pv_draw_strokes(pv_anatomy *a);
bool pv_draw_tags(pv_anatomy *a);

#endif
