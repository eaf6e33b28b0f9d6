/* One image's whole inspection: decode, find the pose, choose the reference, measure, judge. */
#include "base/memory.h"
#include "judge/judge.h"
#include "judge/notes.h"
#include "measure/measure.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

pv_inspect_options pv_inspect_defaults(void)
{
    return (pv_inspect_options){.scanner_U_rel = PV_SCANNER_U_REL,
                                .pixels_max = PV_IMAGE_PIXELS_MAX};
}

void pv_inspection_free(pv_inspection *inspection)
{
    if (inspection == NULL)
        return;
    for (size_t i = 0; i < inspection->n_lines; i++) {
        free((char *)inspection->lines[i].id);
        free(inspection->lines[i].station);
    }
    for (size_t i = 0; i < inspection->n_spacings; i++) {
        free((char *)inspection->spacings[i].from);
        free((char *)inspection->spacings[i].to);
    }
    for (size_t i = 0; i < inspection->n_notes; i++)
        free((char *)inspection->notes[i]);
    free(inspection->lines);
    free(inspection->spacings);
    for (size_t i = 0; i < inspection->n_fills; i++)
        free((char *)inspection->fills[i].colour);
    free(inspection->fills);
    free(inspection->flaws);
    free(inspection->references);
    free(inspection->picture.rgb);
    free((void *)inspection->notes);
    free((char *)inspection->file);
    free((char *)inspection->error);
    free((char *)inspection->sheet);
    free((char *)inspection->kit);
    free((char *)inspection->paper);
    free(inspection);
}

pv_inspection *pv_inspection_unread(const char *name, const char *why)
{
    pv_inspection *out = PV_NEW(pv_inspection);
    if (out == NULL)
        return NULL;
    out->verdict = PV_UNDECIDED;
    out->file = pv_copy_text(name);
    out->error = pv_copy_text(why);
    if (out->file != NULL && out->error != NULL)
        return out;
    pv_inspection_free(out);
    return NULL;
}

/* ---- values ---- */

static pv_value judged(const pv_quantity *q, double nominal, double tolerance)
{
    pv_value out = {.tolerance = tolerance, .verdict = PV_UNDECIDED, .measured = q->measured};
    if (!q->measured)
        return out;
    out.value = q->value;
    memcpy(out.part, q->part, sizeof out.part);
    out.u = pv_quantity_u(q);
    out.k = 2;
    out.freedom = HUGE_VAL;
    out.U = out.k * out.u;
    out.verdict = pv_judge(q->value - nominal, out.U, tolerance);
    return out;
}

/* A length: without a reference it is only relative, and proves nothing. */
static pv_value judged_length(const pv_inspection *in, const pv_quantity *q, double nominal,
                              double tolerance)
{
    pv_value out = judged(q, nominal, tolerance);
    if (in->reference == PV_REFERENCE_NONE)
        out.verdict = PV_UNDECIDED;
    return out;
}

static void judge_sheet(pv_inspection *in, const pv_tolerances *tolerances, const pv_measures *m)
{
    for (int i = 0; i < 2; i++)
        in->scale[i] = judged(&m->scale[i], 1, tolerances->scale);
    in->skew = judged(&m->skew, 0, tolerances->skew);
    in->turn = m->turn;
}

static bool keep_stations(const pv_measures *m, const pv_line_measure *from, pv_line_result *to)
{
    to->station = PV_NEW_ARRAY(from->stations, pv_station_result);
    if (to->station == NULL)
        return false;
    for (size_t i = 0; i < from->stations; i++)
        to->station[i] = m->stations[from->first + i];
    return true;
}

static bool judge_lines(pv_inspection *in, const pv_art *art, const pv_measures *m)
{
    in->lines = PV_NEW_ARRAY(m->n_lines, pv_line_result);
    if (in->lines == NULL)
        return false;
    for (size_t i = 0; i < m->n_lines; i++) {
        const pv_line_measure *from = &m->lines[i];
        const pv_line *line = &art->lines[from->line];
        pv_line_result *to = &in->lines[in->n_lines++];
        to->id = pv_copy_text(line->id);
        if (to->id == NULL)
            return false;
        to->nominal = line->width;
        to->width = judged_length(in, &from->width, line->width, art->tolerances.width);
        to->straight = judged(&from->straight, 0, art->tolerances.straight);
        to->planned = from->planned;
        to->stations = from->stations;
        to->shape = from->shape;
        if (!keep_stations(m, from, to))
            return false;
        if (2 * from->stations < from->planned)
            to->width.verdict = PV_UNDECIDED;
    }
    return true;
}

static bool judge_spacings(pv_inspection *in, const pv_art *art, const pv_measures *m)
{
    in->spacings = PV_NEW_ARRAY(m->n_spacings, pv_spacing_result);
    if (in->spacings == NULL)
        return false;
    for (size_t i = 0; i < m->n_spacings; i++) {
        const pv_spacing_measure *from = &m->spacings[i];
        pv_spacing_result *to = &in->spacings[in->n_spacings++];
        to->from = pv_copy_text(art->lines[from->from].id);
        to->to = pv_copy_text(art->lines[from->to].id);
        if (to->from == NULL || to->to == NULL)
            return false;
        to->nominal = from->nominal;
        for (int k = 0; k < 2; k++) {
            to->x[k] = from->at[k].x;
            to->y[k] = from->at[k].y;
        }
        to->value = judged_length(in, &from->value, from->nominal, art->tolerances.spacing);
    }
    return true;
}

static bool keep_shapes(pv_inspection *in, const pv_measures *m)
{
    in->fills = PV_NEW_ARRAY(m->n_fills, pv_fill_result);
    if (in->fills == NULL)
        return false;
    for (size_t i = 0; i < m->n_fills; i++) {
        pv_fill_result *to = &in->fills[in->n_fills++];
        *to = m->fills[i];
        to->colour = pv_copy_text(m->fills[i].colour);
        if (to->colour == NULL)
            return false;
    }
    in->flaws = PV_NEW_ARRAY(m->n_flaws, pv_flaw);
    if (in->flaws == NULL)
        return false;
    for (size_t i = 0; i < m->n_flaws; i++)
        in->flaws[in->n_flaws++] = m->flaws[i];
    return true;
}

/* The worst of all that could be judged by the plan. */
static pv_verdict whole_verdict(const pv_inspection *in)
{
    pv_verdict worst = pv_judge_worse(in->scale[0].verdict, in->scale[1].verdict);
    worst = pv_judge_worse(worst, in->skew.verdict);
    for (size_t i = 0; i < in->n_lines; i++) {
        const pv_line_result *line = &in->lines[i];
        if (line->planned == 0)
            continue;
        worst = pv_judge_worse(worst, line->width.verdict);
        if (line->straight.measured)
            worst = pv_judge_worse(worst, line->straight.verdict);
    }
    for (size_t i = 0; i < in->n_spacings; i++)
        worst = pv_judge_worse(worst, in->spacings[i].value.verdict);
    return worst;
}

/* ---- the way through ---- */

typedef struct inspect_job {
    const pv_plan *plan;
    pv_inspect_options options;
    pv_inspection *out;
    pv_notes notes;
} inspect_job;

/* The first error of a list, with its hint, as one text; NULL where memory ran out. */
static char *error_text(const pv_diags *diags)
{
    pv_text text = PV_TEXT_INIT;
    for (size_t i = 0; i < pv_diags_size(diags); i++) {
        const pv_diag *diag = pv_diags_at(diags, i);
        if (diag->severity != PV_ERROR)
            continue;
        pv_text_add(&text, "%s", diag->message);
        if (diag->hint != NULL)
            pv_text_add(&text, ": %s", diag->hint);
        break;
    }
    return pv_text_take(&text);
}

/* False where memory ran out; else out->error says what the library said. */
static bool refuse(inspect_job *job, const pv_diags *why)
{
    if (pv_diags_cause(why) == PV_CAUSE_MEMORY)
        return false;
    job->out->error = error_text(why);
    return job->out->error != NULL;
}

static bool describe_sheet(inspect_job *job, const pv_pose *pose)
{
    const pv_plan *plan = job->plan;
    pv_inspection *out = job->out;
    pv_text kit = PV_TEXT_INIT;
    pv_text_add(&kit, "%s, edition %s, kit %04X", plan->art.name, plan->art.edition,
                plan->fingerprint);
    out->kit = pv_text_take(&kit);
    out->sheet = pv_copy_text(plan->sheets[pose->sheet].name);
    out->number = pose->sheet;
    out->photograph = pose->kind == PV_POSE_PERSPECTIVE;
    out->residual = pose->rms;
    out->uneven = pose->uneven;
    pv_vec middle = pv_v(plan->page[0] / 2, plan->page[1] / 2);
    pv_pose_resolution(pose, middle, out->measured_resolution);
    memcpy(out->page, plan->page, sizeof out->page);
    out->paper = pv_copy_text(plan->paper);
    return out->kit != NULL && out->sheet != NULL && out->paper != NULL;
}

static bool judge_all(inspect_job *job, const pv_plane *plane, const pv_pose *pose,
                      const pv_measures *m)
{
    pv_inspection *out = job->out;
    const pv_art *art = &job->plan->art;
    judge_sheet(out, &art->tolerances, m);
    if (!judge_lines(out, art, m) || !judge_spacings(out, art, m) || !keep_shapes(out, m))
        return false;
    out->verdict = whole_verdict(out);
    pv_notes_of_scale(&job->notes, out);
    pv_notes_of_image(&job->notes, out, plane, pose);
    pv_notes_of_lines(&job->notes, out);
    pv_notes_of_undecided(&job->notes, out);
    return !job->notes.failed;
}

/* What was remarked without refusing. */
static void keep_remarks(inspect_job *job, const pv_diags *why)
{
    for (size_t i = 0; i < pv_diags_size(why); i++) {
        pv_text text = PV_TEXT_INIT;
        if (pv_diags_at(why, i)->severity != PV_ERROR)
            pv_text_add(&text, "%s", pv_diags_at(why, i)->message);
        pv_notes_take(&job->notes, &text);
    }
}

/* The list moves over. */
static void take_references(pv_inspection *out, pv_references *from)
{
    out->reference = from->kind;
    out->reference_U_rel = from->U_rel;
    memcpy(out->resolution, from->stated, sizeof out->resolution);
    out->references = from->items;
    out->n_references = from->n;
    from->items = NULL;
    from->n = 0;
}

static bool measure_plane(inspect_job *job, const pv_plane *plane)
{
    pv_diags *why = pv_diags_new();
    if (why == NULL)
        return false;
    pv_pose pose;
    bool found = pv_pose_find(job->plan, plane, &pose, why) == PV_POSE_FOUND;
    bool good = found || refuse(job, why);
    if (found)
        good = describe_sheet(job, &pose);
    if (found && good) {
        pv_references references;
        pv_measures m = {0};
        good = pv_references_find(job->plan, plane, &pose, &job->options, &references, why) &&
               pv_measure_sheet(job->plan, plane, &pose, &references.metric, &references.covered,
                                &m, why);
        keep_remarks(job, why);
        if (good) {
            take_references(job->out, &references);
            good = judge_all(job, plane, &pose, &m);
        }
        pv_measures_clear(&m);
        pv_references_clear(&references);
    }
    pv_diags_free(why);
    return good;
}

static bool inspect_image(inspect_job *job, const unsigned char *bytes, size_t size)
{
    pv_diags *why = pv_diags_new();
    if (why == NULL)
        return false;
    pv_plane *plane = pv_plane_decode(bytes, size, job->options.pixels_max, why);
    bool good = plane != NULL ? measure_plane(job, plane) : refuse(job, why);
    if (plane != NULL)
        keep_remarks(job, why);
    good = good && !job->notes.failed;
    pv_plane_free(plane);
    pv_diags_free(why);
    return good;
}

pv_inspection *pv_inspect(const pv_plan *plan, const unsigned char *bytes, size_t size,
                          const char *name, const pv_inspect_options *options, pv_diags *diags)
{
    inspect_job job = {.plan = plan};
    job.options = options != NULL ? *options : pv_inspect_defaults();
    if (!(job.options.scanner_U_rel >= 0))
        job.options.scanner_U_rel = PV_SCANNER_U_REL;
    job.out = PV_NEW(pv_inspection);
    bool good = job.out != NULL;
    if (good) {
        job.out->verdict = PV_UNDECIDED;
        job.out->file = pv_copy_text(name);
        good = job.out->file != NULL && inspect_image(&job, bytes, size);
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
