/* Whole files of drawings: the public face of this room. */
#include "base/memory.h"
#include "base/text.h"
#include "course/model.h"
#include "draw/art.h"
#include "draw/backend.h"
#include "draw/gain.h"

#include <stdlib.h>

char *pv_course_svg(const pv_course *course, bool run, pv_diags *diags)
{
    const pv_art *art = &course->art;
    pv_box mat = {{0, 0}, art->size};
    pv_drawing drawing;
    pv_drawing_init(&drawing, art->size.x, art->size.y);
    drawing.type = course->type;
    drawing.label = pv_copy_text(art->name);
    drawing.failed = drawing.label == NULL;
    pv_draw_box(&drawing, mat);
    pv_draw_clip(&drawing);
    pv_draw_art(&drawing, art, mat, pv_v(0, 0));
    pv_draw_end_clip(&drawing);
    if (run)
        pv_draw_run(&drawing, course);
    char *text = pv_svg(&drawing, diags);
    pv_drawing_clear(&drawing);
    return text;
}

char *pv_sheet_svg(const pv_plan *plan, size_t sheet, pv_diags *diags)
{
    if (sheet >= plan->n_sheets) {
        pv_fail(diags, PV_CAUSE_USAGE, "there is no sheet number %zu: the plan has %zu", sheet + 1,
                plan->n_sheets);
        return NULL;
    }
    pv_drawing drawing;
    char *text = NULL;
    if (pv_draw_sheet(&drawing, plan, sheet, diags))
        text = pv_svg(&drawing, diags);
    pv_drawing_clear(&drawing);
    return text;
}

/* How the pages are to be printed: the art compensated for a printer's ink, or the plan's. */
typedef struct printing {
    pv_printing asked;
    pv_art own;
    pv_placed art;
} printing;

static bool printing_open(printing *p, const pv_plan *plan, const pv_printing *asked,
                          pv_diags *diags)
{
    *p = (printing){.asked = *asked};
    double ink = pv_printer_ink(asked->printer);
    if (ink != 0 && !pv_gain_art(&plan->art, ink, &p->own, diags))
        return false;
    if (pv_placed_open(&p->art, ink != 0 ? &p->own : &plan->art))
        return true;
    pv_fail_memory(diags);
    return false;
}

static void printing_close(printing *p)
{
    pv_placed_close(&p->art);
    pv_art_clear(&p->own);
}

static bool add_pages(pv_pdf *pdf, const pv_plan *plan, const printing *how, const bool *chosen,
                      pv_progress *progress, void *context, pv_diags *diags)
{
    size_t total = 0, done = 0;
    for (size_t i = 0; i < plan->n_sheets; i++)
        total += chosen == NULL || chosen[i];
    if (total == 0)
        pv_fail(diags, PV_CAUSE_USAGE, "no sheet was chosen");
    bool good = total > 0;
    for (size_t i = 0; good && i < plan->n_sheets; i++) {
        if (chosen != NULL && !chosen[i])
            continue;
        if (progress != NULL && !progress(context, done, total)) {
            pv_fail(diags, PV_CAUSE_USAGE, "stopped after %zu of %zu sheets", done, total);
            return false;
        }
        pv_drawing drawing;
        good = pv_draw_sheet_for(&drawing, plan, i, &how->asked, &how->art, diags) &&
               pv_pdf_page(pdf, &drawing, diags);
        pv_drawing_clear(&drawing);
        done++;
    }
    if (good && progress != NULL && !progress(context, total, total)) {
        pv_fail(diags, PV_CAUSE_USAGE, "stopped after %zu of %zu sheets", done, total);
        return false;
    }
    return good;
}

bool pv_sheets_pdf(const pv_plan *plan, const bool *chosen, pv_progress *progress, void *context,
                   unsigned char **bytes, size_t *size, pv_diags *diags)
{
    pv_printing how = {0};
    return pv_sheets_pdf_for(plan, &how, chosen, progress, context, bytes, size, diags);
}

bool pv_sheets_pdf_for(const pv_plan *plan, const pv_printing *asked, const bool *chosen,
                       pv_progress *progress, void *context, unsigned char **bytes, size_t *size,
                       pv_diags *diags)
{
    *bytes = NULL;
    *size = 0;
    pv_text title = PV_TEXT_INIT;
    pv_text_add(&title, "%s, edition %s, %s", plan->art.name, plan->art.edition, plan->paper);
    char *words = pv_text_take(&title);
    if (words == NULL) {
        pv_fail_memory(diags);
        return false;
    }
    pv_pdf *pdf = pv_pdf_new(words, asked->type, diags);
    free(words);
    printing how = {0};
    bool good = pdf != NULL && printing_open(&how, plan, asked, diags) &&
                add_pages(pdf, plan, &how, chosen, progress, context, diags) &&
                pv_pdf_finish(pdf, bytes, size, diags);
    printing_close(&how);
    pv_pdf_free(pdf);
    return good;
}
