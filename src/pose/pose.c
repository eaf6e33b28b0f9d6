#include "pose/pose.h"

#include "base/memory.h"
#include "po/po.h"
#include "pose/fit.h"
#include "pose/match.h"
#include "pose/seed.h"
#include "pose/target.h"
#include "pose/uneven.h"

#include <stdlib.h>
#include <string.h>

/* Rounds of sighting and fitting, each nearer than the one before: see reaches. */
#define ROUNDS    4    /* at most */
#define SETTLED   0.1  /* px: where nothing moved farther, another round would see the same */
#define GOOD_RMS  0.15 /* mm, and share of the sights kept: an affine map that leaves no more is */
#define GOOD_KEPT 0.9  /* good enough to start with, for any picture */

/* When a picture is refused. Twelve sights: as many as a homography with its lens has unknowns.
 * The shares and the 0.25 mm are assumed. */
#define SIGHTS_MIN          12
#define FOUND_MIN           0.25 /* of the targets that lie in the image */
#define MARKS_MIN           0.5 /* or of the marks among them: lines may be too thin for the image */
#define KEPT_MIN            0.5  /* of those found */
#define RMS_MAX             0.25 /* mm: beyond that it is another print, even if the tags match */
#define DIRECTIONS_APART    0.03 /* so is what is stretched more; printers: a hundredth at most */
#define DIRECTIONS_INVENTED 0.1  /* more is an invented resolution: reference/ says so */

/* When a picture that no camera signed is taken for a photograph, see is_photograph. */
#define SIZE_CHANGE        0.001
#define SIZE_CHANGE_STATED 0.01
#define F_MIN              10.0
#define STATED_APART       0.25 /* a page shrunk to fit differs by 6 % at most */

/* Lenses to begin with, in steps of k1. */
#define K1_STEP    0.01 /* that tags' corners may tell apart */
#define K1_TRY     0.04 /* that bring lines within reach */
#define TRY_PLACES 150  /* looked at for each */
#define TRY_REACH  1.5  /* mm */
#define TRY_NEAR   0.35 /* mm off that still counts as there */
#define TRY_GOOD   0.7  /* of the places: no other is tried */

/* How far off, mm, targets may be in the first round, in one that is still rough, and in the last.
 */
#define REACH_FIRST 1.5
#define REACH_ROUGH 0.9
#define REACH_LAST  0.6

typedef struct pose_job {
    const pv_plan *plan;
    const pv_plane *plane;
    const pv_sheet *sheet;
    pv_target *targets;
    size_t n_targets, inside;
    size_t marks, marks_inside; /* of sights and targets those that aren't lines */
    pv_sight *sights, *others;  /* n_targets each; others for the second kind of fit */
    size_t n;
    pv_vec middle; /* of the image */
    pv_pose map;   /* as known so far */
    pv_fitted fitted;
} pose_job;

static pv_pose_failure no_memory(pv_diags *diags)
{
    pv_fail_memory(diags);
    return PV_POSE_NO_FIT;
}

static void sight_all(pose_job *job, double reach)
{
    pv_box image = {{0, 0}, {(double)job->plane->width, (double)job->plane->height}};
    job->n = job->inside = job->marks = job->marks_inside = 0;
    for (size_t i = 0; i < job->n_targets; i++) {
        const pv_target *t = &job->targets[i];
        bool inside = pv_box_holds(image, pv_pose_map(&job->map, t->a));
        bool seen = pv_target_sight(t, job->plane, &job->map, reach, &job->sights[job->n]);
        job->inside += inside;
        job->n += seen;
        job->marks_inside += inside && t->kind != PV_TARGET_LINE;
        job->marks += seen && t->kind != PV_TARGET_LINE;
    }
}

/* ---- the lens to begin with ---- */

/* How many of some places are where a map has them. */
static size_t count_near(const pose_job *job, const pv_pose *map)
{
    size_t near = 0, stride = job->n_targets / TRY_PLACES + 1;
    for (size_t i = 0; i < job->n_targets; i += stride) {
        pv_sight s;
        if (!pv_target_sight(&job->targets[i], job->plane, map, TRY_REACH, &s))
            continue;
        pv_vec a = pv_pose_map(map, s.a), b = pv_pose_map(map, s.b);
        double off = pv_dot(s.normal, pv_scale(pv_add(a, b), 0.5)) - s.at;
        near += fabs(off) < TRY_NEAR * pv_pose_px_per_mm(map, s.a);
    }
    return near;
}

static void try_map(pose_job *job, const pv_pose *map, size_t *best)
{
    size_t near = count_near(job, map);
    if (near <= *best)
        return;
    *best = near;
    job->map = *map;
}

/* A lens bends what lies between the tags by millimetres, so that nothing would be within reach. It
 * is guessed from the tags' corners, which tell a little of it by their own shapes; where that
 * doesn't bring most places within reach, one after another is tried. */
static void guess_lens(pose_job *job, const pv_seed *seed)
{
    size_t best = 0, places = 0, stride = job->n_targets / TRY_PLACES + 1;
    double least = HUGE_VAL, rms;
    pv_pose map, told = job->map;
    for (size_t i = 0; i < job->n_targets; i += stride)
        places++;
    try_map(job, &told, &best);
    int steps = (int)lround(PV_SEED_K1_MOST / K1_STEP);
    for (int i = -steps; i <= steps; i++)
        if (pv_seed_with_lens(seed, job->middle, i * K1_STEP, &map, &rms) && rms < least) {
            least = rms;
            told = map;
        }
    if ((double)best < TRY_GOOD * (double)places)
        try_map(job, &told, &best);
    steps = (int)lround(PV_SEED_K1_MOST / K1_TRY);
    for (int i = -steps; i <= steps && (double)best < TRY_GOOD * (double)places; i++)
        if (pv_seed_with_lens(seed, job->middle, i * K1_TRY, &map, &rms))
            try_map(job, &map, &best);
}

/* ---- which kind ---- */

/* By how much the size of a millimetre changes between the sights, relative. Beyond them a lens
 * that was fitted to an uneven scan goes astray. */
static double size_change(const pose_job *job, const pv_pose *map)
{
    double least = HUGE_VAL, most = 0;
    for (size_t i = 0; i < job->n; i++) {
        double size = pv_pose_px_per_mm(map, job->sights[i].a);
        least = fmin(least, size);
        most = fmax(most, size);
    }
    return least > 0 ? most / least - 1 : HUGE_VAL;
}

/* Outliers count as at ten times the spread of the better fit: what lies by itself at a sheet's
 * corners, and is all that tells, may be thrown out by the wrong one. */
static double bounded_squares(const pv_sight *sights, size_t n, double spread)
{
    double sum = 0, bound = 100 * spread * spread;
    for (size_t i = 0; i < n; i++)
        sum += fmin(bound, pow(sights[i].residual / sights[i].sigma, 2));
    return sum;
}

/* px per mm, about, at the middle of the page. */
static double mean_resolution(const pose_job *job)
{
    return pv_pose_px_per_mm(&job->map, pv_v(job->plan->page[0] / 2, job->plan->page[1] / 2));
}

/* Whether the image states a resolution that may be meant: scanners do, cameras don't. */
static bool states_resolution(const pose_job *job)
{
    const double *stated = job->plane->resolution;
    return stated[0] > 0 &&
           fabs(mean_resolution(job) / sqrt(stated[0] * stated[1]) - 1) < STATED_APART;
}

/* A picture of which EXIF names focal length, aperture or exposure is a photograph. Of any other
 * two things must hold. The size of a millimetre changes across the sheet: a flatbed keeps it to a
 * few parts in ten thousand; a camera held by hand, a degree off level, changes it by a hundredth,
 * which is asked for where a scanner's resolution is stated. Without one, a picture between the two
 * is unsure: a print or a feeder may be so uneven. And the sum of squares must fall by more than
 * chance allows: the F test with 6 and (groups - 12) degrees of freedom, where 10 is passed by
 * chance once in far more than a thousand times; prints that aren't true within themselves pass it,
 * but not the first. sights have the affine fit's residuals, others the perspective's. */
static bool is_photograph(const pose_job *job, const pv_fitted *affine,
                          const pv_fitted *perspective)
{
    if (job->plane->camera)
        return true;
    double change = size_change(job, &perspective->map);
    if (change < (states_resolution(job) ? SIZE_CHANGE_STATED : SIZE_CHANGE) ||
        perspective->groups <= PV_POSE_UNKNOWNS)
        return false;
    double spread = fmin(affine->scale, perspective->scale);
    double flat = bounded_squares(job->sights, job->n, spread);
    double other = bounded_squares(job->others, job->n, spread);
    double freedom = (double)(perspective->groups - PV_POSE_UNKNOWNS);
    return (flat - other) / 6 > F_MIN * other / freedom;
}

/* Fits the round's sights, as a scan where that is good enough to go on with and `decide` doesn't
 * ask which kind it is; else as both, of which the right one is kept. */
static pv_fit_status fit_round(pose_job *job, bool decide)
{
    pv_fitted affine = {0}, perspective;
    pv_fit_status a = PV_FIT_UNDETERMINED;
    memcpy(job->others, job->sights, job->n * sizeof *job->sights);
    if (!job->plane->camera)
        a = pv_fit(PV_POSE_AFFINE, job->sights, job->n, &job->map, job->middle, &affine);
    bool good = a == PV_FIT_DONE && affine.rms < GOOD_RMS * mean_resolution(job) &&
                (double)affine.used > GOOD_KEPT * (double)job->n;
    pv_fit_status p = PV_FIT_UNDETERMINED;
    if (decide || !good)
        p = pv_fit(PV_POSE_PERSPECTIVE, job->others, job->n, &job->map, job->middle, &perspective);
    if (a == PV_FIT_NO_MEMORY || p == PV_FIT_NO_MEMORY)
        return PV_FIT_NO_MEMORY;
    if (p == PV_FIT_DONE && (a != PV_FIT_DONE || is_photograph(job, &affine, &perspective))) {
        job->fitted = perspective;
        memcpy(job->sights, job->others, job->n * sizeof *job->sights);
        a = p;
    } else if (a == PV_FIT_DONE) {
        job->fitted = affine;
    }
    if (a == PV_FIT_DONE)
        job->map = job->fitted.map;
    return a;
}

/* px: how far the sight that moved most is from where another map had it. */
static double largest_move(const pose_job *job, const pv_pose *before)
{
    double most = 0;
    for (size_t i = 0; i < job->n; i++) {
        pv_vec at = job->sights[i].a;
        most = fmax(most, pv_dist(pv_pose_map(before, at), pv_pose_map(&job->map, at)));
    }
    return most;
}

/* ---- the whole ---- */

static pv_pose_failure no_fit(const pose_job *job, pv_diags *diags)
{
    pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL,
                 "check that the image shows one whole print of this plan, flat and sharp",
                 "the tags are those of sheet %s, but its crosses, bars and lines are not where "
                 "they should be (%zu of %zu found, %zu of them fit)",
                 job->sheet->name, job->n, job->inside, job->fitted.used);
    return PV_POSE_NO_FIT;
}

/* Looks again with the better fit until nothing moves and the kind is decided. */
static pv_pose_failure refine(pose_job *job, pv_diags *diags)
{
    bool decided = job->plane->camera, settled = false;
    double reach = REACH_FIRST;
    for (int round = 0; round < ROUNDS && !(settled && decided); round++) {
        pv_pose before = job->map;
        bool decide = decided || settled || round + 1 == ROUNDS;
        if (!settled)
            sight_all(job, reach);
        job->fitted.used = 0;
        if (job->n < SIGHTS_MIN || ((double)job->n < FOUND_MIN * (double)job->inside &&
                                    (double)job->marks < MARKS_MIN * (double)job->marks_inside))
            return no_fit(job, diags);
        pv_fit_status status = fit_round(job, decide);
        if (status == PV_FIT_NO_MEMORY)
            return no_memory(diags);
        if (status != PV_FIT_DONE)
            return no_fit(job, diags);
        double moved = largest_move(job, &before);
        settled = reach == REACH_LAST && moved < SETTLED;
        decided = decide;
        reach = moved > REACH_ROUGH / 3 * mean_resolution(job) ? REACH_ROUGH : REACH_LAST;
    }
    return PV_POSE_FOUND;
}

/* What the tags say is no proof: they may have been copied, or pasted on. In black and white alone
 * a dark ground and its lines are one. */
static pv_pose_failure contradicted(const pose_job *job, const char *what, pv_diags *diags)
{
    const char *hint = job->plane->bilevel
                           ? PV_SAID("scan the sheet in colour or in shades of grey, not in black "
                                     "and white alone")
                           : PV_SAID("inspect it with the plan that it was printed from; if that "
                                     "is this one, uncover the sheet and scan it again");
    pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL, hint,
                 "the tags are those of sheet %s, but what is printed does not fit this plan: %s",
                 job->sheet->name, pv_say(pv_diags_language(diags), what));
    return PV_POSE_NO_FIT;
}

/* By how much a scan's size across differs from that up, relative, as far as the fit is sure of it;
 * 0 where the scan doesn't state its resolution. */
static double directions_differ(const pose_job *job, const pv_pose *pose)
{
    const double *stated = job->plane->resolution;
    if (pose->kind != PV_POSE_AFFINE || !(stated[0] > 0 && stated[1] > 0))
        return 0;
    pv_vec x = {pose->h[0] / stated[0], pose->h[3] / stated[1]};
    pv_vec y = {pose->h[1] / stated[0], pose->h[4] / stated[1]};
    double sure = 3 * hypot(pose->u_scale[0], pose->u_scale[1]);
    return fmax(0, fabs(pv_len(x) / pv_len(y) - 1) - sure);
}

static pv_pose_failure check_print(const pose_job *job, const pv_scene *page, const pv_pose *pose,
                                   pv_diags *diags)
{
    double differ = directions_differ(job, pose);
    if (differ > DIRECTIONS_APART && differ < DIRECTIONS_INVENTED)
        return contradicted(job, PV_SAID("it is stretched in one direction, more than printers do"),
                            diags);
    pv_match match = pv_match_page(page, job->plane, pose);
    if (pv_match_contradicts(&match))
        return contradicted(job, PV_SAID("its lines and areas are not there"), diags);
    return PV_POSE_FOUND;
}

static pv_pose_failure finish(const pose_job *job, pv_pose *out, pv_diags *diags)
{
    const pv_fitted *f = &job->fitted;
    if (f->used < SIGHTS_MIN || (double)f->used < KEPT_MIN * (double)job->n ||
        f->rms > fmax(1, RMS_MAX * mean_resolution(job)))
        return no_fit(job, diags);
    *out = job->fitted.map;
    out->sheet = job->sheet->number;
    out->rms = f->rms;
    out->used = f->used;
    out->rejected = f->rejected;
    pv_fit_status status = pv_fit_spread(job->sights, job->n, f, job->middle, out);
    if (status == PV_FIT_NO_MEMORY || !pv_uneven(job->sights, job->n, out, &out->uneven))
        return no_memory(diags);
    pv_pose_sum_up(out);
    out->unsure = out->kind == PV_POSE_PERSPECTIVE && !job->plane->camera &&
                  size_change(job, out) < SIZE_CHANGE_STATED;
    bool good = isfinite(out->u_scale[0]) && isfinite(out->u_scale[1]) && isfinite(out->u_skew);
    return status == PV_FIT_DONE && good ? PV_POSE_FOUND : no_fit(job, diags);
}

pv_pose_failure pv_pose_find(const pv_plan *const *plans, size_t n_plans, const pv_plane *plane,
                             pv_pose *out, pv_diags *diags)
{
    pv_seed seed;
    pv_pose_failure failure = pv_seed_find(plans, n_plans, plane, &seed, diags);
    if (failure != PV_POSE_FOUND)
        return failure;
    const pv_plan *plan = plans[seed.plan];
    pose_job job = {.plan = plan, .plane = plane, .sheet = &plan->sheets[seed.sheet]};
    job.middle = pv_v((double)plane->width / 2, (double)plane->height / 2);
    memcpy(job.map.h, seed.h, sizeof seed.h);
    pv_scene *page = pv_plan_page(plan, job.sheet);
    if (page == NULL)
        return no_memory(diags);
    bool listed = pv_targets_list(page, &job.targets, &job.n_targets, diags);
    if (!listed) {
        pv_scene_free(page);
        return PV_POSE_NO_FIT;
    }
    job.sights = PV_NEW_ARRAY(job.n_targets, pv_sight);
    job.others = PV_NEW_ARRAY(job.n_targets, pv_sight);
    if (job.sights == NULL || job.others == NULL)
        failure = no_memory(diags);
    else {
        guess_lens(&job, &seed);
        failure = refine(&job, diags);
    }
    if (failure == PV_POSE_FOUND)
        failure = finish(&job, out, diags);
    if (failure == PV_POSE_FOUND)
        failure = check_print(&job, page, out, diags);
    pv_scene_free(page);
    out->plan = seed.plan;
    free(job.targets);
    free(job.sights);
    free(job.others);
    return failure;
}
