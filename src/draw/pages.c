/* Whole files of drawings: the public face of this room. */
#include "base/memory.h"
#include "base/text.h"
#include "course/model.h"
#include "draw/art.h"
#include "draw/backend.h"
#include "draw/gain.h"

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

char *pv_sheet_svg(const pv_plan *plan, size_t sheet, pv_type *type, pv_diags *diags)
{
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

/* How the pages are to be printed: the art compensated for a printer's ink, or the plan's. */
typedef struct printing {
    pv_printing asked;
    pv_art own;
    pv_scene *moved; /* its scene */
    const pv_scene *mat;
} printing;

static bool printing_open(printing *p, const pv_plan *plan, const pv_printing *asked,
                          pv_diags *diags)
{
    *p = (printing){.asked = *asked, .mat = plan->mat};
    double ink = pv_printer_ink(asked->printer);
    if (ink == 0)
        return true;
    if (pv_gain_art(plan->mat, ink, &p->own))
        p->mat = p->moved = pv_scene_of(&p->own);
    if (p->moved == NULL)
        pv_fail_memory(diags);
    return p->moved != NULL;
}

static void printing_close(printing *p)
{
    pv_scene_free(p->moved);
    pv_gain_drop(&p->own);
}

/* ---- files of pages ---- */

/* Pages, and the bytes of their contents, that one file takes. */
typedef struct room {
    size_t pages, contents;
} room;

typedef struct writing {
    const pv_plan *plan;
    const pv_pdf_job *job;
    room most;
    printing how;
    size_t total, done;
    size_t next; /* sheet */
    pv_diags *diags;
} writing;

static bool is_chosen(const writing *w, size_t sheet)
{
    return w->job->chosen == NULL || w->job->chosen[sheet];
}

/* False where the caller wants no more. */
static bool report(const writing *w)
{
    if (w->job->progress == NULL || w->job->progress(w->job->progress_context, w->done, w->total))
        return true;
    pv_fail(w->diags, PV_CAUSE_USAGE, "stopped after %zu of %zu sheets", w->done, w->total);
    return false;
}

/* Pages until the file is full or there are no more; the last sheet that became one in *last. */
static bool add_pages(writing *w, pv_pdf *pdf, size_t *last)
{
    for (; w->next < w->plan->n_sheets; w->next++) {
        if (!is_chosen(w, w->next))
            continue;
        if (pv_pdf_pages(pdf) >= w->most.pages || pv_pdf_contents(pdf) >= w->most.contents)
            return true;
        if (!report(w))
            return false;
        pv_drawing drawing;
        bool good =
            pv_draw_sheet_for(&drawing, w->plan, w->next, &w->how.asked, w->how.mat, w->diags) &&
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
    while (!is_chosen(w, w->next))
        w->next++;
    part->number++;
    part->first = w->next;
    pv_pdf *pdf = pv_pdf_new(title, w->job->how.type, w->diags);
    unsigned char *bytes = NULL;
    bool good = pdf != NULL && add_pages(w, pdf, &part->last);
    if (good)
        part->pages = pv_pdf_pages(pdf);
    good = good && pv_pdf_finish(pdf, &bytes, &part->size, w->diags);
    pv_pdf_free(pdf); /* before the sink needs memory of its own */
    part->bytes = bytes;
    good = good && w->job->sink(w->job->sink_context, part, w->diags);
    free(bytes);
    return good;
}

static bool write_parts(const pv_plan *plan, const pv_pdf_job *job, room most, pv_diags *diags)
{
    writing w = {.plan = plan, .job = job, .most = most, .diags = diags};
    if (job->how.type == NULL) {
        pv_fail(diags, PV_CAUSE_USAGE, "printing needs the typeface of the course");
        return false;
    }
    for (size_t i = 0; i < plan->n_sheets; i++)
        w.total += is_chosen(&w, i);
    if (w.total == 0) {
        pv_fail(diags, PV_CAUSE_USAGE, "no sheet was chosen");
        return false;
    }
    pv_text title = PV_TEXT_INIT;
    pv_text_add(&title, "%s, edition %s, %s", plan->art.name, plan->art.edition, plan->paper);
    char *words = pv_text_take(&title);
    if (words == NULL)
        pv_fail_memory(diags);
    bool good = words != NULL && printing_open(&w.how, plan, &job->how, diags);
    pv_pdf_part part = {0};
    while (good && w.done < w.total)
        good = write_part(&w, words, &part);
    printing_close(&w.how);
    free(words);
    return good;
}

bool pv_sheets_pdf_files(const pv_plan *plan, const pv_pdf_job *job, pv_diags *diags)
{
    return write_parts(plan, job, (room){PV_PDF_PAGES_MAX, PV_PDF_CONTENTS_MAX}, diags);
}

/* ---- one file in memory ---- */

typedef struct kept {
    unsigned char **bytes;
    size_t *size;
} kept;

static bool keep(void *context, const pv_pdf_part *part, pv_diags *diags)
{
    const kept *k = context;
    *k->bytes = pv_copy_bytes(part->bytes, part->size, 1);
    *k->size = part->size;
    if (*k->bytes == NULL)
        pv_fail_memory(diags);
    return *k->bytes != NULL;
}

bool pv_sheets_pdf_for(const pv_plan *plan, const pv_printing *asked, const bool *chosen,
                       pv_progress *progress, void *context, unsigned char **bytes, size_t *size,
                       pv_diags *diags)
{
    *bytes = NULL;
    *size = 0;
    kept k = {bytes, size};
    pv_pdf_job job = {*asked, chosen, progress, context, keep, &k};
    return write_parts(plan, &job, (room){SIZE_MAX, SIZE_MAX}, diags);
}
