/* One image's whole inspection: decode, find the pose, choose the reference, measure, judge. */
#include "base/diag.h"
#include "base/memory.h"
#include "judge/answer.h"
#include "judge/how.h"
#include "judge/notes.h"
#include "judge/results.h"
#include "judge/stranger.h"
#include "po/po.h"
#include "pose/rectify.h"
#include "reference/ruler.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const pv_inspect_options defaults = {
    .size = sizeof defaults, .scanner_U_rel = -1, .pixels_max = PV_IMAGE_PIXELS_MAX};

void pv_inspect_init(pv_inspect_options *options, size_t size)
{
    pv_give_options(options, size, &defaults, sizeof defaults);
}

/* ---- the way through ---- */

typedef struct inspect_job {
    const pv_plan *const *plans;
    size_t n_plans;
    const pv_plan *plan; /* the picture's own, once it is known */
    pv_inspect_options options;
    pv_inspection *out;
    pv_notes notes;
} inspect_job;

/* False where memory ran out; else the answer is the first error. */
static bool refuse(inspect_job *job, const pv_diags *why)
{
    if (pv_diags_cause(why) == PV_CAUSE_MEMORY)
        return false;
    size_t first = 0;
    while (first + 1 < pv_diags_size(why) && pv_diags_at(why, first)->severity != PV_ERROR)
        first++;
    const pv_diag *error = pv_diags_at(why, first);
    return pv_answer_error(job->out, error->message, error->hint);
}

static bool describe_sheet(inspect_job *job, const pv_pose *pose)
{
    const pv_plan *plan = job->plan;
    pv_inspected *out = &job->out->sheet;
    pv_text kit = PV_TEXT_IN(out->language);
    pv_text_say(&kit, "%s, edition %s, kit %s", plan->art.name, plan->art.edition,
                pv_plan_kit(plan).chars);
    out->kit = pv_text_take(&kit);
    out->sheet = pv_copy_text(plan->sheets[pose->sheet].name);
    job->out->kit = pv_plan_kit(plan);
    out->proof = plan->proof;
    out->plan = pose->plan;
    out->number = pose->sheet;
    out->photograph = pose->kind == PV_POSE_PERSPECTIVE;
    out->unsure_kind = pose->unsure;
    out->residual = pose->rms;
    out->uneven = pose->uneven;
    out->lens = pose->lens[0] + pose->lens[1]; /* where r is 1: at the corner */
    pv_vec middle = pv_v(plan->page[0] / 2, plan->page[1] / 2);
    pv_pose_resolution(pose, middle, out->measured_resolution);
    memcpy(out->page, plan->page, sizeof out->page);
    out->origin[0] = plan->sheets[pose->sheet].origin.x;
    out->origin[1] = plan->sheets[pose->sheet].origin.y;
    out->gauge[0] = pv_ruler_nominal(&plan->sheets[pose->sheet], 'P', 'Q');
    out->gauge[1] = pv_ruler_nominal(&plan->sheets[pose->sheet], 'P', 'S');
    out->corrected = plan->corrected;
    out->inches = plan->art.inches;
    out->paper = pv_copy_text(plan->paper);
    return out->kit != NULL && out->sheet != NULL && out->paper != NULL;
}

static bool judge_all(inspect_job *job, const pv_plane *plane, const pv_pose *pose)
{
    pv_inspection *out = job->out;
    out->sheet.turn = out->table.turn;
    out->sheet.unpaired = out->table.unpaired;
    out->sheet.unsought = out->table.unsought;
    out->sheet.surface = out->table.surface;
    if (!pv_results_judge(out, &job->plan->art.tolerances))
        return false;
    pv_notes_of_image(&job->notes, out, plane, pose);
    pv_notes_of_results(&job->notes, out);
    const pv_inspect_options *how = &job->options;
    const pv_answer_told told = {.proof = job->plan->proof,
                                 .single = job->plan->n_sheets == 1,
                                 .for_sender = how->for_sender,
                                 .by_page = how->by_page,
                                 .scanner_told = how->scanner_kind != PV_SCANNER_UNKNOWN ||
                                                 how->scanner != NULL || how->scanner_U_rel >= 0};
    return pv_answer_make(out, &told) && !job->notes.failed;
}

/* What was remarked without refusing. A remark that was lost for want of memory fails, too. */
static void keep_remarks(inspect_job *job, const pv_diags *why)
{
    job->notes.failed = job->notes.failed || pv_diags_cause(why) == PV_CAUSE_MEMORY;
    for (size_t i = 0; i < pv_diags_size(why); i++) {
        pv_text text = PV_TEXT_INIT;
        if (pv_diags_at(why, i)->severity != PV_ERROR)
            pv_text_add(&text, "%s", pv_diags_at(why, i)->message);
        pv_notes_take(&job->notes, &text);
    }
}

static bool keep_picture(inspect_job *job, const pv_plane *plane, const pv_pose *pose)
{
    double wish = job->options.picture_px_per_mm;
    if (!(wish > 0))
        return true;
    return pv_rectify(plane, pose, job->plan->page, fmin(wish, PV_PICTURE_PX_PER_MM),
                      &job->out->picture);
}

/* The list and the words move over. */
static void take_references(pv_inspection *out, pv_references *from)
{
    out->sheet.basis = from->basis;
    from->basis = NULL;
    out->sheet.disagree = from->disagree;
    out->sheet.reference = from->kind;
    out->sheet.reference_U_rel = from->U_rel;
    memcpy(out->sheet.resolution, from->stated, sizeof out->sheet.resolution);
    out->references = from->items;
    out->n_references = from->n;
    from->items = NULL;
    from->n = 0;
}

/* By what was seen as a card and is not used. */
static bool is_hidden(const pv_references *from, const pv_scene *page)
{
    bool unused = false, on_cell = false;
    for (size_t i = 0; i < from->n; i++)
        unused = unused || from->items[i].unused;
    for (size_t i = 0; i < from->covered.n; i++) {
        const pv_box *box = &from->covered.box[i];
        on_cell = on_cell || pv_box_meets((pv_box){pv_add(box->lo, page->origin),
                                                   pv_add(box->hi, page->origin)},
                                          page->cell);
    }
    return unused && on_cell;
}

static bool measure_plane(inspect_job *job, const pv_plane *plane)
{
    pv_diags *why = pv_diags_new();
    if (why == NULL)
        return false;
    pv_diags_speak(why, pv_say, job->options.language);
    pv_pose pose;
    pv_pose_failure failure = pv_pose_find(job->plans, job->n_plans, plane, &pose, why);
    bool found = failure == PV_POSE_FOUND;
    if (found) {
        job->plan = job->plans[pose.plan];
        found = pv_ruler_readings_fit(&job->plan->sheets[pose.sheet], job->options.readings,
                                      job->options.n_readings, why);
    }
    bool good = found || refuse(job, why);
    if (failure == PV_POSE_OTHER_PLAN && good)
        good = pv_stranger_answer(job->out, job->plans, job->n_plans, plane);
    pv_scene *page = NULL;
    if (found && good) {
        page = pv_plan_page(job->plan, &job->plan->sheets[pose.sheet]);
        good = page != NULL && describe_sheet(job, &pose);
    }
    if (found && good) {
        pv_references references;
        good = pv_references_find(&job->plan->sheets[pose.sheet], page, plane, &pose, &job->options,
                                  &references, why) &&
               pv_measure_sheet(page, plane, &pose, &references.metric, &references.covered,
                                &job->out->table, why);
        keep_remarks(job, why);
        if (good) {
            job->out->sheet.hidden = is_hidden(&references, page);
            take_references(job->out, &references);
            job->out->sheet.scanner = job->options.scanner_kind;
            good = judge_all(job, plane, &pose) && keep_picture(job, plane, &pose);
        }
        pv_references_clear(&references);
    }
    pv_scene_free(page);
    pv_diags_free(why);
    return good;
}

static bool inspect_image(inspect_job *job, const unsigned char *bytes, size_t size)
{
    pv_diags *why = pv_diags_new();
    if (why == NULL)
        return false;
    pv_diags_speak(why, pv_say, job->options.language);
    pv_plane *plane = pv_plane_decode(bytes, size, job->options.page, job->options.pixels_max, why);
    bool good = plane != NULL ? measure_plane(job, plane) : refuse(job, why);
    if (plane != NULL)
        keep_remarks(job, why);
    good = good && !job->notes.failed;
    pv_plane_free(plane);
    pv_diags_free(why);
    return good;
}

/* False where memory ran out. */
static bool name_picture(pv_inspected *out, const char *name)
{
    pv_text label = PV_TEXT_IN(out->language);
    pv_text_add(&label, "%s", name != NULL ? name : "");
    if (out->picture > 0)
        pv_text_say(&label, ", page %zu", out->picture);
    out->file = pv_copy_text(name);
    out->label = pv_text_take(&label);
    return out->file != NULL && out->label != NULL;
}

pv_inspection *pv_inspect(const pv_plan *const *plans, size_t n_plans, const unsigned char *bytes,
                          size_t size, const char *name, const pv_inspect_options *options,
                          pv_diags *diags)
{
    inspect_job job = {.plans = plans, .n_plans = n_plans, .options = defaults};
    pv_take_options(&job.options, sizeof job.options, options);
    job.out = PV_NEW(pv_inspection);
    bool good = job.out != NULL;
    if (good) {
        job.out->sheet.verdict = PV_UNDECIDED;
        job.out->sheet.language = job.options.language;
        if (job.options.page > 0 || pv_image_pages(bytes, size) > 1)
            job.out->sheet.picture = job.options.page + 1;
        pv_sha256(bytes, size, job.out->sha256);
        good = name_picture(&job.out->sheet, name) && pv_how_copy(&job.out->how, &job.options) &&
               inspect_image(&job, bytes, size);
        job.out->notes = job.notes.items;
        job.out->n_notes = job.notes.n;
    }
    if (!good) {
        pv_fail_memory(diags);
        pv_inspection_free(job.out);
        job.out = NULL;
    }
    return job.out;
}

/* Of what is no picture. */
static pv_inspection *unusable(const char *name, const char *why, const char *hint,
                               const pv_language *language)
{
    pv_inspection *out = PV_NEW(pv_inspection);
    if (out == NULL)
        return NULL;
    out->sheet.verdict = PV_UNDECIDED;
    out->sheet.language = language;
    if (name_picture(&out->sheet, name) && pv_answer_error(out, why, hint))
        return out;
    pv_inspection_free(out);
    return NULL;
}

pv_inspection *pv_inspection_unread(const char *name, const char *why, const pv_language *language)
{
    return unusable(name, why, pv_say(language, "check its name and its folder"), language);
}

pv_inspection *pv_inspection_several(const char *name, const pv_language *language)
{
    return unusable(
        name,
        pv_say(language, "ruler readings apply to one sheet, and this file has several pages"),
        pv_say(language, "save the measured page as a picture of its own"), language);
}
