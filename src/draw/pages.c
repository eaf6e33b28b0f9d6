/* Whole files of drawings: the public face of this room. */
#include "base/memory.h"
#include "base/text.h"
#include "course/model.h"
#include "draw/art.h"
#include "draw/backend.h"
#include "draw/gain.h"
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
                       const pv_printer *printer, const pv_scene *mat, pv_diags *diags)
{
    *drawing = (pv_drawing){0};
    pv_scene *page = pv_page_make(plan, sheet, type, printer, diags);
    bool good = page != NULL && pv_draw_page(drawing, page, type, printer, mat, diags);
    pv_scene_free(page);
    return good;
}

bool pv_draw_sheet(pv_drawing *drawing, const pv_plan *plan, size_t sheet, pv_type *type,
                   pv_diags *diags)
{
    return pv_draw_sheet_for(drawing, plan, sheet, type, NULL, plan->mat, diags);
}

/* The type that was asked for, or the plan's; NULL with a reason. */
static pv_type *type_for(const pv_plan *plan, pv_type *asked, pv_diags *diags)
{
    if (asked == NULL && plan->type == NULL)
        pv_fail(diags, PV_CAUSE_USAGE, "a plan that was read from a file needs a typeface");
    return asked != NULL ? asked : plan->type;
}

char *pv_sheet_svg(const pv_plan *plan, size_t sheet, pv_type *type, pv_diags *diags)
{
    type = type_for(plan, type, diags);
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

/* ---- files of pages ---- */

typedef struct writing {
    const pv_plan *plan;
    pv_type *type;
    pv_pdf_options how;
    pv_pdf_sink *sink;
    void *sink_context;
    bool *chosen;
    size_t total, done;
    size_t next;         /* sheet */
    pv_art own;          /* compensated for the printer's ink, where it needs that, */
    pv_scene *moved;     /* and its scene */
    const pv_scene *mat; /* what is drawn: that, or the plan's */
    pv_diags *diags;
} writing;

/* False where the caller wants no more. */
static bool report(const writing *w)
{
    if (w->how.progress == NULL || w->how.progress(w->how.progress_context, w->done, w->total))
        return true;
    pv_fail(w->diags, PV_CAUSE_USAGE, "stopped after %zu of %zu sheets", w->done, w->total);
    return false;
}

/* Pages until the file is full or there are no more; the last sheet that became one in *last. */
static bool add_pages(writing *w, pv_pdf *pdf, size_t *last)
{
    for (; w->next < w->plan->n_sheets; w->next++) {
        if (!w->chosen[w->next])
            continue;
        if (pv_pdf_pages(pdf) >= PV_PDF_PAGES_MAX || pv_pdf_contents(pdf) >= PV_PDF_CONTENTS_MAX)
            return true;
        if (!report(w))
            return false;
        pv_drawing drawing;
        bool good = pv_draw_sheet_for(&drawing, w->plan, w->next, w->type, w->plan->printer, w->mat,
                                      w->diags) &&
                    pv_pdf_page(pdf, &drawing, w->diags);
        pv_drawing_clear(&drawing);
        if (!good)
            return false;
        *last = w->next;
        w->done++;
    }
    return report(w);
}

static bool write_part(writing *w, const char *title, pv_pdf_part *part)
{
    while (!w->chosen[w->next])
        w->next++;
    part->number++;
    part->first = w->next;
    pv_pdf *pdf = pv_pdf_new(title, w->type, w->diags);
    unsigned char *bytes = NULL;
    bool good = pdf != NULL && add_pages(w, pdf, &part->last);
    if (good)
        part->pages = pv_pdf_pages(pdf);
    good = good && pv_pdf_finish(pdf, &bytes, &part->size, w->diags);
    pv_pdf_free(pdf); /* before the sink needs memory of its own */
    part->bytes = bytes;
    good = good && w->sink(w->sink_context, part, w->diags);
    free(bytes);
    return good;
}

static bool open_scene(writing *w)
{
    double ink = pv_printer_ink(w->plan->printer);
    w->mat = w->plan->mat;
    if (ink == 0)
        return true;
    if (pv_gain_art(w->plan->mat, ink, &w->own))
        w->mat = w->moved = pv_scene_of(&w->own);
    if (w->moved == NULL)
        pv_fail_memory(w->diags);
    return w->moved != NULL;
}

static bool write_parts(writing *w)
{
    const pv_plan *plan = w->plan;
    pv_text title = PV_TEXT_INIT;
    pv_text_add(&title, "%s, edition %s, %s", plan->art.name, plan->art.edition, plan->paper);
    char *words = pv_text_take(&title);
    if (words == NULL)
        pv_fail_memory(w->diags);
    bool good = words != NULL && open_scene(w);
    pv_pdf_part part = {0};
    while (good && w->done < w->total)
        good = write_part(w, words, &part);
    pv_scene_free(w->moved);
    pv_gain_drop(&w->own);
    free(words);
    return good;
}

static const pv_pdf_options pdf_defaults = {.size = sizeof pdf_defaults};

void pv_pdf_init(pv_pdf_options *options, size_t size)
{
    pv_give_options(options, size, &pdf_defaults, sizeof pdf_defaults);
}

bool pv_sheets_pdf(const pv_plan *plan, const pv_pdf_options *options, pv_pdf_sink *sink,
                   void *sink_context, pv_diags *diags)
{
    writing w = {.plan = plan, .how = pdf_defaults, .diags = diags};
    w.sink = sink;
    w.sink_context = sink_context;
    pv_take_options(&w.how, sizeof w.how, options);
    w.type = type_for(plan, w.how.type, diags);
    bool good = w.type != NULL && pv_plan_choose(plan, w.how.range, &w.chosen, diags);
    for (size_t i = 0; good && i < plan->n_sheets; i++)
        w.total += w.chosen[i];
    good = good && write_parts(&w);
    free(w.chosen);
    return good;
}
