/* A course and a sheet as drawings: the public face of this room. */
#include "base/memory.h"
#include "course/model.h"
#include "draw/art.h"
#include "draw/backend.h"
#include "page/page.h"

#include <stdint.h>
#include <stdlib.h>

char *pv_course_svg(const pv_course *course, bool run, pv_diags *diags)
{
    const pv_art *art = &course->art;
    pv_box mat = {{0, 0}, art->size};
    pv_drawing drawing;
    pv_drawing_init(&drawing, course->type, art->size.x, art->size.y);
    drawing.label = pv_copy_text(art->name);
    drawing.failed = drawing.label == NULL;
    pv_draw_box(&drawing, mat);
    pv_draw_clip(&drawing);
    pv_scene *scene = pv_scene_of(art);
    if (scene != NULL)
        pv_draw_mat(&drawing, scene, mat, pv_v(0, 0));
    else
        drawing.failed = true;
    pv_scene_free(scene);
    pv_draw_end_clip(&drawing);
    if (run)
        pv_draw_run(&drawing, course);
    char *text = pv_svg(&drawing, diags);
    pv_drawing_clear(&drawing);
    return text;
}

bool pv_draw_sheet_for(pv_drawing *drawing, const pv_plan *plan, size_t sheet, pv_type *type,
                       const pv_printer *printer, const pv_scene *mat, size_t *no_code,
                       pv_diags *diags)
{
    *drawing = (pv_drawing){0};
    pv_scene *page = pv_page_make(plan, sheet, type, printer, diags);
    bool good = page != NULL && pv_draw_page(drawing, page, type, printer, mat, diags);
    if (page != NULL && no_code != NULL)
        *no_code += plan->url != NULL && page->code == SIZE_MAX;
    pv_scene_free(page);
    return good;
}

bool pv_draw_sheet(pv_drawing *drawing, const pv_plan *plan, size_t sheet, pv_type *type,
                   pv_diags *diags)
{
    return pv_draw_sheet_for(drawing, plan, sheet, type, NULL, plan->mat, NULL, diags);
}

pv_type *pv_draw_type(const pv_plan *plan, pv_type *asked, pv_diags *diags)
{
    if (asked == NULL && plan->type == NULL)
        pv_fail(diags, PV_CAUSE_USAGE, "a plan that was read from a file needs a typeface");
    return asked != NULL ? asked : plan->type;
}

char *pv_sheet_svg(const pv_plan *plan, size_t sheet, pv_type *type, pv_diags *diags)
{
    type = pv_draw_type(plan, type, diags);
    if (type == NULL)
        return NULL;
    if (sheet >= plan->n_sheets) {
        pv_fail(diags, PV_CAUSE_USAGE, "there is no sheet number %zu: the plan has %zu", sheet + 1,
                plan->n_sheets);
        return NULL;
    }
    pv_drawing drawing;
    char *text = NULL;
    if (pv_draw_sheet(&drawing, plan, sheet, type, diags))
        text = pv_svg(&drawing, diags);
    pv_drawing_clear(&drawing);
    return text;
}
