/* How exact a fit is: its covariance, as independent errors of the map. */
#include "pose/model.h"

#include "base/memory.h"
#include "base/numeric.h"

#include <stdlib.h>
#include <string.h>

#define U PV_POSE_UNKNOWNS
/* Added to the diagonal of the correlations, so that two unknowns which the sights don't tell apart
 * stay positive in rounding. */
#define JITTER 1e-10

typedef struct spread {
    const pv_sight *sights;
    size_t n, unknowns;
    pv_model model;
    double told[U * U];    /* what the sights tell: J^T W J */
    double inverse[U * U]; /* of told and what was known beforehand, together */
    double priors[U];      /* 1 / variance of what was known beforehand; 0: nothing */
    double covariance[U * U];
} spread;

static double part_of(const pv_sight *s)
{
    return s->weight / (s->sigma * s->sigma);
}

static bool take_normal(spread *job)
{
    static const double lens[PV_LENS_UNKNOWNS] = PV_LENS_PRIORS;
    size_t u = job->unknowns;
    for (size_t i = 0; u > PV_LENS_FIRST && i < PV_LENS_UNKNOWNS; i++)
        job->priors[PV_LENS_FIRST + i] = 1 / (lens[i] * lens[i]);
    for (size_t i = 0; i < job->n; i++) {
        double row[U], part = part_of(&job->sights[i]);
        pv_model_residual(&job->model, job->model.x, &job->sights[i], row);
        for (size_t a = 0; a < u; a++)
            for (size_t b = 0; b < u; b++)
                job->told[u * a + b] += part * row[a] * row[b];
    }
    double factor[U * U];
    memcpy(factor, job->told, sizeof factor);
    for (size_t a = 0; a < u; a++)
        factor[u * a + a] += job->priors[a];
    if (!pv_cholesky(factor, u))
        return false;
    pv_cholesky_inverse(factor, u, job->inverse);
    return true;
}

/* inverse (each told + priors) inverse: the covariance of an estimate whose sights' variances are
 * `each` times as large as they were taken to be. */
static void add_scatter(spread *job, double each)
{
    size_t u = job->unknowns;
    double half[U * U] = {0};
    for (size_t a = 0; a < u; a++)
        for (size_t b = 0; b < u; b++)
            for (size_t k = 0; k < u; k++)
                half[u * a + b] += job->inverse[u * a + k] *
                                   (each * job->told[u * k + b] + (k == b ? job->priors[k] : 0));
    for (size_t a = 0; a < u; a++)
        for (size_t b = 0; b < u; b++)
            for (size_t k = 0; k < u; k++)
                job->covariance[u * a + b] += half[u * a + k] * job->inverse[u * k + b];
}

/* A mark of shared error e moves the unknowns by e times the sum of their derivatives by what its
 * sights saw. */
static bool add_shared(spread *job)
{
    size_t marks = 0, u = job->unknowns;
    for (size_t i = 0; i < job->n; i++)
        if (job->sights[i].mark >= marks)
            marks = job->sights[i].mark + 1;
    double *moved = PV_NEW_ARRAY(marks * u, double);
    if (moved == NULL)
        return false;
    for (size_t i = 0; i < job->n; i++) {
        const pv_sight *s = &job->sights[i];
        double row[U], part = s->shared * part_of(s);
        pv_model_residual(&job->model, job->model.x, s, row);
        for (size_t a = 0; a < u; a++)
            for (size_t b = 0; b < u; b++)
                moved[s->mark * u + a] += part * job->inverse[u * a + b] * row[b];
    }
    for (size_t m = 0; m < marks; m++)
        for (size_t a = 0; a < u; a++)
            for (size_t b = 0; b < u; b++)
                job->covariance[u * a + b] += moved[m * u + a] * moved[m * u + b];
    free(moved);
    return true;
}

/* A print's own smooth bow: along x or y, over the way along x or y, so many mm (standard
 * deviation) from the middle of what is seen to its ends. */
static pv_vec bow_at(int which, pv_vec at, pv_vec middle, pv_vec half)
{
    double way = which < 2 ? (at.x - middle.x) / half.x : (at.y - middle.y) / half.y;
    double off = PV_BOW_U * way * way;
    return which % 2 == 0 ? pv_v(off, 0) : pv_v(0, off);
}

/* A lens hides what an even map would leave as residuals: a bow of the print is taken for a part of
 * the lens, and goes wrong where the lens is carried on beyond what the sheet shows, as to a card
 * beside it. Each bow by itself moves the unknowns by what all sights together make of it. */
static void add_bows(spread *job, pv_box seen)
{
    size_t u = job->unknowns;
    pv_vec middle = pv_box_middle(seen), half = pv_scale(pv_sub(seen.hi, seen.lo), 0.5);
    pv_pose base;
    if (u <= PV_LENS_FIRST || !(half.x > 0 && half.y > 0))
        return;
    pv_model_map(&job->model, job->model.x, &base);
    base.kind = job->model.kind;
    for (int which = 0; which < 4; which++) {
        double pull[U] = {0}, moved[U] = {0};
        for (size_t i = 0; i < job->n; i++) {
            const pv_sight *s = &job->sights[i];
            pv_vec at = pv_scale(pv_add(s->a, s->b), 0.5), dx, dy;
            pv_vec bow = bow_at(which, at, middle, half);
            pv_pose_jacobian(&base, at, &dx, &dy);
            double row[U];
            double px = pv_dot(s->normal, pv_add(pv_scale(dx, bow.x), pv_scale(dy, bow.y)));
            pv_model_residual(&job->model, job->model.x, s, row);
            for (size_t a = 0; a < u; a++)
                pull[a] += part_of(s) * px * row[a];
        }
        for (size_t a = 0; a < u; a++)
            for (size_t b = 0; b < u; b++)
                moved[a] += job->inverse[u * a + b] * pull[b];
        for (size_t a = 0; a < u; a++)
            for (size_t b = 0; b < u; b++)
                job->covariance[u * a + b] += moved[a] * moved[b];
    }
}

/* The covariance as columns whose squares add up to it, each turned into what it does to the map.
 */
static bool set_errors(const spread *job, pv_pose *pose)
{
    size_t u = job->unknowns;
    double root[U], factor[U * U];
    for (size_t a = 0; a < u; a++) {
        root[a] = sqrt(job->covariance[u * a + a]);
        if (!(root[a] > 0) || !isfinite(root[a]))
            return false;
    }
    for (size_t a = 0; a < u; a++)
        for (size_t b = 0; b < u; b++)
            factor[u * a + b] =
                job->covariance[u * a + b] / (root[a] * root[b]) + (a == b ? JITTER : 0);
    if (!pv_cholesky(factor, u))
        return false;
    pv_pose base;
    pv_model_map(&job->model, job->model.x, &base);
    pose->n_errors = u;
    for (size_t k = 0; k < u; k++) {
        double x[U];
        memcpy(x, job->model.x, sizeof x);
        for (size_t a = k; a < u; a++)
            x[a] += root[a] * factor[u * a + k];
        pv_pose moved;
        pv_model_map(&job->model, x, &moved);
        pv_pose_error *to = &pose->error[k];
        for (int i = 0; i < 9; i++)
            to->h[i] = moved.h[i] - base.h[i];
        for (int i = 0; i < 2; i++)
            to->lens[i] = moved.lens[i] - base.lens[i];
        to->lens_centre = pv_sub(moved.lens_centre, base.lens_centre);
    }
    return true;
}

pv_fit_status pv_fit_spread(const pv_sight *sights, size_t n, const pv_fitted *fitted,
                            pv_vec middle, pv_pose *pose)
{
    spread job = {.sights = sights, .n = n};
    pv_fit_status status =
        pv_model_make(fitted->map.kind, sights, n, &fitted->map, middle, &job.model);
    if (status != PV_FIT_DONE)
        return status;
    job.unknowns = job.model.unknowns;
    pose->seen = pv_box_none();
    for (size_t i = 0; i < n; i++)
        if (sights[i].weight > 0)
            pose->seen = pv_box_add(pv_box_add(pose->seen, sights[i].a), sights[i].b);
    /* What is known of the lens beforehand are four equations more. */
    double freedom = fitted->weights - (job.unknowns > PV_LENS_FIRST ? PV_LENS_FIRST : 6);
    if (freedom <= 0 || !take_normal(&job))
        return PV_FIT_UNDETERMINED;
    /* Variance of one sight in units of its own, times how many of them say the same thing. What
     * the sights' noise lets expect is the least. */
    double each = fmax(1, fitted->squares / freedom);
    each *= fmax(1, (double)fitted->used / (double)fitted->groups);
    add_scatter(&job, each);
    if (!add_shared(&job))
        return PV_FIT_NO_MEMORY;
    add_bows(&job, pose->seen);
    return set_errors(&job, pose) ? PV_FIT_DONE : PV_FIT_UNDETERMINED;
}
