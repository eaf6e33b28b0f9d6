/* One paper of a kit: its plan, its sheets, its proof. */
#include "paper/paper.h"
#include "base/memory.h"
#include "base/text.h"
#include "kit/page.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct laying {
    pv_kit_making *m;
    const pv_kit_wish *wish;
    pv_layout_options layout;
    char url[PV_KIT_URL_MAX + PV_KIT_ID + 3];
    const pv_plan *older; /* the former kit's, whose seams it keeps; or NULL */
    pv_plan *plan;
    pv_laid laid;
    pv_laid_pdfs pdfs;
} laying;

/* A name in the paper's folder. */
static void __attribute__((format(printf, 3, 4)))
name_file(const laying *l, char name[PV_KIT_NAME], const char *format, ...)
{
    int n = snprintf(name, PV_KIT_NAME, "%s/", l->wish->id);
    va_list args;
    va_start(args, format);
    vsnprintf(name + n, PV_KIT_NAME - (size_t)n, format, args);
    va_end(args);
}

/* ---- the plan ---- */

/* What planning had to say, under the paper's name. What can be done without becomes a note where
 * it is too small, or too large, for a sheet. True where the work can go on. */
static bool tell(const laying *l, const char *what, bool needed, const pv_diags *said)
{
    pv_diags *to = l->m->diags;
    pv_cause cause = pv_diags_cause(said);
    bool failed = pv_diags_count(said, PV_ERROR) > 0;
    bool left_out = failed && !needed &&
                    (cause == PV_CAUSE_USAGE || cause == PV_CAUSE_LIMIT || cause == PV_CAUSE_DATA);
    for (size_t i = 0; i < pv_diags_size(said); i++) {
        const pv_diag *d = pv_diags_at(said, i);
        if (d->severity == PV_NOTE)
            continue;
        bool note = left_out && d->severity == PV_ERROR;
        pv_diags_add(to, note ? PV_NOTE : d->severity, note ? PV_CAUSE_NONE : d->cause, NULL,
                     note ? NULL : d->hint, note ? "%s is left out: %s" : "%s: %s", what,
                     d->message);
    }
    return !failed || left_out;
}

/* ---- PDFs ---- */

/* A pv_pdf_sink. A set of one file has no number; whether it is one shows when its first file has
 * its last sheet. */
static bool take_pdf(void *context, const pv_pdf_part *part, pv_diags *diags)
{
    (void)diags; /* the making's own */
    laying *l = context;
    if (!PV_GROW(l->pdfs.items, l->pdfs.n, l->pdfs.cap)) {
        pv_fail_memory(l->m->diags);
        return false;
    }
    pv_laid_pdf *pdf = &l->pdfs.items[l->pdfs.n++];
    *pdf = (pv_laid_pdf){.first = part->first, .last = part->last, .pages = part->pages};
    if (part->number == 1 && part->last + 1 == l->plan->n_sheets)
        name_file(l, pdf->name, "mat-%s.pdf", l->wish->id);
    else
        name_file(l, pdf->name, "mat-%s-%zu.pdf", l->wish->id, part->number);
    l->laid.told.pdfs++;
    l->laid.told.pages += part->pages;
    l->laid.guide_pages += part->guide;
    return pv_kit_put(l->m, pdf->name, part->bytes, part->size);
}

static bool put_sheets(laying *l)
{
    pv_kit_making *m = l->m;
    pv_pdf_options options = pv_pdf_defaults();
    options.type = m->type;
    pv_diags *said = pv_diags_new();
    if (said == NULL) {
        pv_fail_memory(m->diags);
        return false;
    }
    bool good = pv_kit_put_plan(m, l->laid.plan, pv_plan_json(l->plan, m->diags)) &&
                pv_sheets_pdf(l->plan, &options, take_pdf, l, said);
    tell(l, l->wish->id, true, said);
    pv_diags_free(said);
    return good;
}

static bool take_proof(void *context, const pv_pdf_part *part, pv_diags *diags)
{
    (void)diags;
    laying *l = context;
    char name[PV_KIT_NAME];
    name_file(l, name, "proof-%s.pdf", l->wish->id);
    return pv_kit_put(l->m, name, part->bytes, part->size);
}

/* A roll has none. */
static bool put_proof(laying *l)
{
    pv_kit_making *m = l->m;
    if (l->wish->paper == NULL)
        return true;
    pv_layout_options how = pv_layout_defaults();
    how.paper = l->wish->paper;
    how.type = m->type;
    how.language = m->o.language;
    pv_diags *said = pv_diags_new();
    if (said == NULL) {
        pv_fail_memory(m->diags);
        return false;
    }
    char name[PV_KIT_NAME];
    snprintf(name, sizeof name, "a proof page of %s", l->wish->id);
    pv_plan *plan = pv_plan_proof(&how, said);
    bool good = tell(l, name, false, said);
    pv_diags_free(said);
    if (plan == NULL)
        return good;
    name_file(l, name, "proof-%s.plan.json", l->wish->id);
    pv_pdf_options options = pv_pdf_defaults();
    options.type = m->type;
    l->laid.proof = true;
    l->laid.proof_fingerprint = pv_plan_kit(plan);
    pv_kit_gauge(&plan->sheets[0], l->laid.proof_gauge);
    good = pv_kit_put_plan(m, name, pv_plan_json(plan, m->diags)) &&
           pv_sheets_pdf(plan, &options, take_proof, l, m->diags);
    pv_plan_free(plan);
    return good;
}

/* With the former kit's seams, or where that can't be with a note without them. */
static bool keep_seams(laying *l)
{
    pv_kit_making *m = l->m;
    pv_diags *said = pv_diags_new();
    if (said == NULL || !pv_kit_older(m, l->wish, &l->older)) {
        if (said == NULL)
            pv_fail_memory(m->diags);
        pv_diags_free(said);
        return false;
    }
    l->layout.keep = l->older;
    l->plan = l->older != NULL ? pv_plan_make(m->course, &l->layout, said) : NULL;
    bool good = l->plan != NULL || pv_diags_cause(said) != PV_CAUSE_MEMORY;
    if (!good)
        pv_fail_memory(m->diags);
    else if (l->plan != NULL)
        good = tell(l, l->wish->id, true, said);
    else if (l->older != NULL)
        pv_diags_add(
            m->diags, PV_NOTE, PV_CAUSE_NONE, NULL, NULL,
            "%s: the former kit's seams can't be kept, so all sheets must be printed again",
            l->wish->id);
    if (l->plan == NULL)
        l->older = NULL;
    l->layout.keep = NULL;
    pv_diags_free(said);
    return good;
}

/* Of the folder with the sheets' pages, or NULL. */
static const char *sheets_address(laying *l)
{
    const char *url = l->m->o.url;
    if (url == NULL)
        return NULL;
    const char *slash = url[strlen(url) - 1] == '/' ? "" : "/";
    snprintf(l->url, sizeof l->url, "%s%s%s/", url, slash, l->wish->id);
    return l->url;
}

static bool make_plan(laying *l)
{
    pv_kit_making *m = l->m;
    pv_diags *said = pv_diags_new();
    if (said == NULL) {
        pv_fail_memory(m->diags);
        return false;
    }
    l->layout = pv_layout_defaults();
    if (l->wish->paper != NULL)
        l->layout.paper = l->wish->paper;
    l->layout.roll = l->wish->roll;
    /* Many people print a kit: no page for which a PDF must state a larger unit, which some of
     * their readers ignore. */
    if (l->wish->roll > 0)
        l->layout.panel_length = PV_PAPER_SIDE_MAX;
    l->layout.language = m->o.language;
    l->layout.url = sheets_address(l);
    bool kept = keep_seams(l);
    if (!kept || l->plan != NULL) {
        pv_diags_free(said);
        return kept;
    }
    l->plan = pv_plan_make(m->course, &l->layout, said);
    bool good = tell(l, l->wish->id, l->wish->named, said);
    pv_diags_free(said);
    return good;
}

/* assumed: more than a team will cut and tape; it takes days by pv_takeoff's rule of thumb. */
#define MANY_SHEETS 200

#define MAP_MOST 400 /* sheets on a small picture of all */

/* The mat's colours are the same on each paper. */
static bool know_areas(pv_kit_making *m, const pv_takeoff *takes)
{
    size_t n = m->course->art.n_colours;
    if (m->kit->areas != NULL)
        return true;
    m->kit->areas = PV_NEW_ARRAY(n, double);
    if (m->kit->areas == NULL)
        return false;
    for (size_t i = 0; i < n; i++) {
        const pv_colour_info *colour = pv_takeoff_colour(takes, i);
        m->kit->areas[i] = colour != NULL ? colour->area : 0;
    }
    return true;
}

static bool know(laying *l)
{
    pv_kit_making *m = l->m;
    const pv_plan *plan = l->plan;
    pv_laid *laid = &l->laid;
    pv_takeoff *takes = pv_takeoff_make(plan, PV_PAPER_WEIGHT, m->diags);
    if (takes == NULL)
        return false;
    laid->takes = *takes;
    bool good = know_areas(m, takes);
    pv_takeoff_free(takes);
    laid->paper = pv_copy_text(plan->paper);
    laid->map =
        plan->n_sheets > MAP_MOST ? pv_copy_text("") : pv_kit_map(plan, "", SIZE_MAX, false, NULL);
    if (!good || laid->paper == NULL || laid->map == NULL) {
        pv_fail_memory(m->diags);
        return false;
    }
    laid->told.roll = l->wish->roll;
    laid->told.sheets = plan->n_sheets;
    laid->told.minutes = laid->takes.minutes;
    laid->fingerprint = pv_plan_kit(plan);
    memcpy(laid->id, l->wish->id, sizeof laid->id);
    memcpy(laid->page, plan->page, sizeof laid->page);
    laid->rows = plan->rows;
    laid->columns = plan->columns;
    laid->guide = pv_guide_wanted(plan);
    name_file(l, laid->plan, "mat-%s.plan.json", l->wish->id);
    if (plan->n_sheets > MANY_SHEETS)
        pv_diags_add(m->diags, PV_WARNING, PV_CAUSE_NONE, NULL, "name larger papers, or rolls",
                     "%s: the mat takes %zu sheets, more than most teams will tape", l->wish->id,
                     plan->n_sheets);
    return true;
}

static bool keep(laying *l)
{
    pv_kit *kit = l->m->kit;
    if (!PV_GROW(kit->papers, kit->n_papers, kit->cap_papers)) {
        pv_fail_memory(l->m->diags);
        return false;
    }
    kit->papers[kit->n_papers++] = l->laid;
    l->laid.paper = l->laid.map = NULL;
    l->laid.again = (pv_laid_again){0};
    kit->told.papers = kit->n_papers;
    return true;
}

bool pv_kit_lay(pv_kit_making *m, const pv_kit_wish *wish)
{
    laying l = {.m = m, .wish = wish};
    if (!make_plan(&l))
        return false;
    bool good = l.plan == NULL || (know(&l) && put_sheets(&l) && put_proof(&l) &&
                                   (l.older == NULL || pv_kit_again(m, l.older, l.plan, &l.laid)) &&
                                   pv_kit_paper_pages(m, l.plan, &l.laid, &l.pdfs) && keep(&l));
    free(l.pdfs.items);
    free(l.laid.paper);
    free(l.laid.map);
    pv_kit_again_clear(&l.laid.again);
    pv_plan_free(l.plan);
    return good;
}
