#include "pose/pose.h"

#include "base/memory.h"
#include "pose/fit.h"
#include "pose/seed.h"
#include "pose/solve.h"
#include "pose/target.h"

#include <stdlib.h>
#include <string.h>

#define ROUNDS     4
#define SIGHTS_MIN 12
#define FOUND_MIN  0.25 /* of the targets that lie in the image */
#define KEPT_MIN   0.5  /* of those found */
#define RMS_MAX    0.25 /* mm: past that the print is another one, whatever the tags say */

/* When a homography is believed: the size of a millimetre must change across the sheet by more than
 * SLANT_MIN (a flatbed keeps it to a few parts in ten thousand; a camera held by hand, a degree off
 * level, changes it by a hundredth), and the sum of squares must fall by more than chance allows:
 * the F test with 2 and (groups - 8) degrees of freedom, where 10 is passed by chance once in some
 * thousand times. */
#define SLANT_MIN 0.003
#define F_MIN     10.0

/* How far off, mm, targets may be in each round. */
static const double reaches[ROUNDS] = {1.5, 0.9, 0.6, 0.6};

typedef struct pose_job {
    const pv_plan *plan;
    const pv_plane *plane;
    const pv_sheet *sheet;
    pv_target *targets;
    size_t n_targets, inside;
    pv_sight *sights, *others; /* n_targets each; others for the second kind of fit */
    size_t n;
    pv_pose_kind kind;
    pv_fitted fitted;
    double h[9];
} pose_job;

static pv_pose_failure no_memory(pv_diags *diags)
{
    pv_fail_memory(diags);
    return PV_POSE_NO_FIT;
}

static void sight_all(pose_job *job, double reach)
{
    pv_box image = {{0, 0}, {(double)job->plane->width, (double)job->plane->height}};
    job->n = job->inside = 0;
    for (size_t i = 0; i < job->n_targets; i++) {
        const pv_target *t = &job->targets[i];
        job->inside += pv_box_holds(image, pv_map_point(job->h, t->a));
        job->n += pv_target_sight(t, job->plane, job->h, reach, &job->sights[job->n]);
    }
}

/* ---- which kind ---- */

/* By how much the size of a millimetre changes across the page, relative. */
static double slant(const pv_plan *plan, const double h[9])
{
    double least = HUGE_VAL, most = 0;
    for (int i = 0; i < 4; i++) {
        double x = (i & 1) != 0 ? plan->page[0] : 0, y = (i & 2) != 0 ? plan->page[1] : 0;
        double w = h[6] * x + h[7] * y + h[8];
        least = fmin(least, w);
        most = fmax(most, w);
    }
    return least > 0 ? most / least - 1 : HUGE_VAL;
}

/* Outliers count as at three times the spread of the better fit. */
static double bounded_squares(const pv_sight *sights, size_t n, double spread)
{
    double sum = 0, bound = 9 * spread * spread;
    for (size_t i = 0; i < n; i++)
        sum += fmin(bound, pow(sights[i].residual / sights[i].sigma, 2));
    return sum;
}

/* sights have the affine fit's residuals, others the perspective's. */
static bool is_perspective(const pose_job *job, const pv_fitted *perspective)
{
    if (slant(job->plan, perspective->h) < SLANT_MIN || perspective->groups <= 8)
        return false;
    double spread = fmax(job->fitted.scale, perspective->scale);
    double affine = bounded_squares(job->sights, job->n, spread);
    double other = bounded_squares(job->others, job->n, spread);
    double freedom = (double)perspective->groups - 8;
    return (affine - other) / 2 > F_MIN * other / freedom;
}

/* One fit of each kind to the same sights; the right one is kept. */
static pv_fit_status fit_both(pose_job *job)
{
    pv_fitted perspective;
    memcpy(job->others, job->sights, job->n * sizeof *job->sights);
    pv_fit_status a = pv_fit(PV_POSE_AFFINE, job->sights, job->n, job->h, &job->fitted);
    pv_fit_status p = pv_fit(PV_POSE_PERSPECTIVE, job->others, job->n, job->h, &perspective);
    if (a == PV_FIT_NO_MEMORY || p == PV_FIT_NO_MEMORY)
        return PV_FIT_NO_MEMORY;
    job->kind = PV_POSE_AFFINE;
    if (p == PV_FIT_DONE && (a != PV_FIT_DONE || is_perspective(job, &perspective))) {
        job->kind = PV_POSE_PERSPECTIVE;
        job->fitted = perspective;
        memcpy(job->sights, job->others, job->n * sizeof *job->sights);
        a = p;
    }
    if (a == PV_FIT_DONE)
        memcpy(job->h, job->fitted.h, sizeof job->h);
    return a;
}

/* ---- the whole ---- */

static pv_pose_failure no_fit(const pose_job *job, pv_diags *diags)
{
    pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL,
                 "check that it is a print of this plan, whole, flat and sharp",
                 "the tags are those of sheet %s, but its crosses, bars and lines are not where "
                 "they should be (%zu of %zu found, %zu of them fit)",
                 job->sheet->name, job->n, job->inside, job->fitted.used);
    return PV_POSE_NO_FIT;
}

static pv_pose_failure refine(pose_job *job, pv_diags *diags)
{
    for (int round = 0; round < ROUNDS; round++) {
        sight_all(job, reaches[round]);
        job->fitted.used = 0;
        if (job->n < SIGHTS_MIN || (double)job->n < FOUND_MIN * (double)job->inside)
            return no_fit(job, diags);
        pv_fit_status status = fit_both(job);
        if (status == PV_FIT_NO_MEMORY)
            return no_memory(diags);
        if (status != PV_FIT_DONE)
            return no_fit(job, diags);
    }
    return PV_POSE_FOUND;
}

/* px per mm, about, at the middle of the page. */
static double mean_resolution(const pose_job *job)
{
    pv_vec dx, dy;
    pv_map_jacobian(job->h, pv_v(job->plan->page[0] / 2, job->plan->page[1] / 2), &dx, &dy);
    return sqrt(fabs(pv_cross_z(dx, dy)));
}

static pv_pose_failure finish(const pose_job *job, pv_pose *out, pv_diags *diags)
{
    const pv_fitted *f = &job->fitted;
    if (f->used < SIGHTS_MIN || (double)f->used < KEPT_MIN * (double)job->n ||
        f->rms > fmax(1, RMS_MAX * mean_resolution(job)))
        return no_fit(job, diags);
    *out = (pv_pose){.kind = job->kind,
                     .sheet = job->sheet->number,
                     .rms = f->rms,
                     .used = f->used,
                     .rejected = f->rejected};
    memcpy(out->h, f->h, sizeof out->h);
    if (job->kind != PV_POSE_AFFINE)
        return PV_POSE_FOUND;
    pv_fit_status status = pv_fit_uncertainty(job->sights, job->n, f, out->u_scale, &out->u_skew);
    if (status == PV_FIT_NO_MEMORY)
        return no_memory(diags);
    return status == PV_FIT_DONE ? PV_POSE_FOUND : no_fit(job, diags);
}

pv_pose_failure pv_pose_find(const pv_plan *plan, const pv_plane *plane, pv_pose *out,
                             pv_diags *diags)
{
    pv_seed seed;
    pv_pose_failure failure = pv_seed_find(plan, plane, &seed, diags);
    if (failure != PV_POSE_FOUND)
        return failure;
    pose_job job = {.plan = plan, .plane = plane, .sheet = &plan->sheets[seed.sheet]};
    memcpy(job.h, seed.h, sizeof job.h);
    if (!pv_targets_list(plan, job.sheet, &job.targets, &job.n_targets, diags))
        return PV_POSE_NO_FIT;
    job.sights = PV_NEW_ARRAY(job.n_targets, pv_sight);
    job.others = PV_NEW_ARRAY(job.n_targets, pv_sight);
    if (job.sights == NULL || job.others == NULL)
        failure = no_memory(diags);
    else
        failure = refine(&job, diags);
    if (failure == PV_POSE_FOUND)
        failure = finish(&job, out, diags);
    free(job.targets);
    free(job.sights);
    free(job.others);
    return failure;
}
