/* Whole PDFs: the guide, then the sheets. */
#include "base/memory.h"
#include "base/text.h"
#include "draw/art.h"
#include "draw/backend.h"
#include "draw/gain.h"
#include "guide/pages.h"

#include <stdint.h>
#include <stdlib.h>

typedef struct writing {
    const pv_plan *plan;
    pv_type *type;
    pv_pdf_options how;
    pv_pdf_sink *sink;
    void *sink_context;
    bool *chosen;
    size_t total, done;
    size_t next;         /* page of all sheets */
    size_t no_code;      /* sheets so far that have no room for their QR code */
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

/* On a page of all sheets. */
static size_t sheet_of(const writing *w, size_t page)
{
    return w->how.taping ? w->plan->taping[page] : page;
}

/* Pages until the file is full or there are no more; the last sheet that became one in *last. */
static bool add_pages(writing *w, pv_pdf *pdf, size_t *last)
{
    for (; w->next < w->plan->n_sheets; w->next++) {
        size_t sheet = sheet_of(w, w->next);
        if (!w->chosen[sheet])
            continue;
        if (pv_pdf_pages(pdf) >= PV_PDF_PAGES_MAX || pv_pdf_contents(pdf) >= PV_PDF_CONTENTS_MAX)
            return true;
        if (!report(w))
            return false;
        pv_drawing drawing;
        bool good = pv_draw_sheet_for(&drawing, w->plan, sheet, w->type, w->plan->printer, w->mat,
                                      &w->no_code, w->diags) &&
                    pv_pdf_page(pdf, &drawing, w->diags);
        pv_drawing_clear(&drawing);
        if (!good)
            return false;
        *last = sheet;
        w->done++;
    }
    return report(w);
}

static bool add_guide_page(void *context, const pv_drawing *page, pv_diags *diags)
{
    return pv_pdf_page(context, page, diags);
}

/* Before the first sheet of a whole set. */
static bool add_guide(const writing *w, pv_pdf *pdf)
{
    if (w->how.no_guide || w->how.range != NULL || w->done > 0 || !pv_guide_wanted(w->plan))
        return true;
    pv_guide *guide = pv_guide_make(w->plan, w->diags);
    bool good = guide != NULL && pv_guide_pages(guide, w->type, add_guide_page, pdf, w->diags);
    pv_guide_free(guide);
    return good;
}

static bool write_part(writing *w, const char *title, pv_pdf_part *part)
{
    while (!w->chosen[sheet_of(w, w->next)])
        w->next++;
    part->number++;
    part->first = sheet_of(w, w->next);
    pv_pdf *pdf = pv_pdf_new(title, w->type, w->diags);
    unsigned char *bytes = NULL;
    bool good = pdf != NULL && add_guide(w, pdf);
    if (good)
        part->guide = pv_pdf_pages(pdf);
    good = good && add_pages(w, pdf, &part->last);
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

static void tell_codes(const writing *w)
{
    if (w->no_code > 0)
        pv_diags_add(w->diags, PV_WARNING, PV_CAUSE_NONE, NULL,
                     "they are complete without it: it only opens a sheet's page on a phone",
                     "%zu of %zu sheets have no room for their QR code", w->no_code, w->total);
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
    w.type = pv_draw_type(plan, w.how.type, diags);
    bool good = w.type != NULL && pv_plan_choose(plan, w.how.range, &w.chosen, diags);
    for (size_t i = 0; good && i < plan->n_sheets; i++)
        w.total += w.chosen[i];
    good = good && write_parts(&w);
    if (good)
        tell_codes(&w);
    free(w.chosen);
    return good;
}
