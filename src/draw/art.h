/* Drawing the art, and a whole sheet with all that stands around its cell. */
#ifndef DRAW_ART_H
#define DRAW_ART_H

#include "course/model.h"
#include "draw/drawing.h"
#include "paper/printer.h"
#include "scene/scene.h"

#include <pavior/printer.h>

/* Everything of a mat's scene that meets `window` (mat frame), shifted by -origin. Doesn't clip. */
void pv_draw_mat(pv_drawing *drawing, const pv_scene *mat, pv_box window, pv_vec origin);

/* The robot's run in the mat frame: the route as a thin line, the robot's outline where it starts
 * and where it ends. Never on a sheet. */
void pv_draw_run(pv_drawing *drawing, const pv_course *course);

/* A page as page/page.h makes it, in that type and for that printer, or NULL. `mat` is the page's
 * own, or the scene of what pv_gain_art made of it for the printer's ink. The page itself and its
 * trim box stay true. */
bool pv_draw_page(pv_drawing *drawing, const pv_scene *page, pv_type *type,
                  const pv_printer *printer, const pv_scene *mat, pv_diags *diags);

/* The same from a plan and a sheet. Where the plan has an address, and the page no room for its QR
 * code, *no_code goes up by one; it may be NULL. */
bool pv_draw_sheet_for(pv_drawing *drawing, const pv_plan *plan, size_t sheet, pv_type *type,
                       const pv_printer *printer, const pv_scene *mat, size_t *no_code,
                       pv_diags *diags);
/* For no printer. */
bool pv_draw_sheet(pv_drawing *drawing, const pv_plan *plan, size_t sheet, pv_type *type,
                   pv_diags *diags);

/* The type that was asked for, or the plan's; NULL with a reason. */
pv_type *pv_draw_type(const pv_plan *plan, pv_type *asked, pv_diags *diags);

#endif
