#include "pose/model.h"

#include "base/memory.h"
#include "base/numeric.h"

#include <float.h>
#include <stdlib.h>
#include <string.h>

/* Tuning constants for 95 % efficiency under normal errors (Holland and Welsch, Communications
 * in Statistics A6, 1977). So many rounds are assumed to be enough for either kind of
 * weights. */
#define HUBER        1.345
#define TUKEY        4.685
#define HUBER_ROUNDS 8
#define TUKEY_ROUNDS 12
#define SCALE_MIN    1.0 /* of what each sight's own noise lets expect */

/* A fit at work. */
typedef struct fit_job {
    pv_sight *sights;
    size_t n;
    pv_model model;
    double *spare;  /* n values */
    double *solver; /* for pv_minimise, of a perspective */
} fit_job;

/* ---- one weighted least squares ---- */

static bool solve_affinity(fit_job *job)
{
    double normal[36] = {0}, x[6] = {0};
    static const double zero[6] = {0};
    for (size_t i = 0; i < job->n; i++) {
        const pv_sight *s = &job->sights[i];
        double row[6];
        double value = -pv_model_residual(&job->model, zero, s, row);
        double part = s->weight / (s->sigma * s->sigma);
        for (int a = 0; a < 6; a++) {
            for (int b = 0; b <= a; b++)
                normal[6 * a + b] += part * row[a] * row[b];
            x[a] += part * row[a] * value;
        }
    }
    if (!pv_cholesky(normal, 6))
        return false;
    pv_cholesky_solve(normal, 6, x);
    memcpy(job->model.x, x, sizeof x);
    return true;
}

/* The sights' residuals, and after them what is known of the lens beforehand. */
static void perspective_values(void *context, size_t m, size_t n, const double *x, double *values,
                               double *jacobian)
{
    static const double priors[PV_LENS_UNKNOWNS] = PV_LENS_PRIORS;
    const fit_job *job = context;
    for (size_t i = 0; i < job->n; i++) {
        const pv_sight *s = &job->sights[i];
        double gradient[PV_POSE_UNKNOWNS], root = sqrt(s->weight) / s->sigma;
        double value = pv_model_residual(&job->model, x, s, jacobian != NULL ? gradient : NULL);
        if (jacobian == NULL)
            values[i] = root * value;
        for (size_t k = 0; jacobian != NULL && k < n; k++)
            jacobian[i + m * k] = root * gradient[k];
    }
    for (size_t i = 0; i < PV_LENS_UNKNOWNS; i++) {
        size_t of = PV_LENS_FIRST + i, at = job->n + i;
        if (jacobian == NULL)
            values[at] = x[of] / priors[i];
        for (size_t k = 0; jacobian != NULL && k < n; k++)
            jacobian[at + m * k] = k == of ? 1 / priors[i] : 0;
    }
}

static bool solve_perspective(fit_job *job)
{
    return pv_minimise(perspective_values, job, job->n + PV_LENS_UNKNOWNS, PV_POSE_UNKNOWNS, 1e-12,
                       job->model.x, job->solver);
}

/* ---- weights ---- */

/* Fills in residuals; the robust scale. */
static double take_residuals(fit_job *job)
{
    for (size_t i = 0; i < job->n; i++) {
        pv_sight *s = &job->sights[i];
        s->residual = pv_model_residual(&job->model, job->model.x, s, NULL);
        job->spare[i] = isfinite(s->residual) ? fabs(s->residual) / s->sigma : DBL_MAX;
    }
    return fmax(SCALE_MIN, PV_MAD_TO_SIGMA * pv_median_of(job->spare, job->n));
}

/* The largest change of a weight. */
static double reweigh(fit_job *job, double scale, bool tukey)
{
    double change = 0;
    for (size_t i = 0; i < job->n; i++) {
        pv_sight *s = &job->sights[i];
        double off = fabs(s->residual) / (s->sigma * scale), weight;
        if (tukey) {
            double u = off / TUKEY;
            weight = u < 1 ? (1 - u * u) * (1 - u * u) : 0;
        } else {
            weight = off > HUBER ? HUBER / off : 1;
        }
        change = fmax(change, fabs(weight - s->weight));
        s->weight = weight;
    }
    return change;
}

static pv_fit_status iterate(fit_job *job)
{
    for (size_t i = 0; i < job->n; i++)
        job->sights[i].weight = 1;
    for (int round = 0; round < HUBER_ROUNDS + TUKEY_ROUNDS; round++) {
        bool good =
            job->model.kind == PV_POSE_AFFINE ? solve_affinity(job) : solve_perspective(job);
        if (!good)
            return PV_FIT_UNDETERMINED;
        double scale = take_residuals(job);
        double change = reweigh(job, scale, round >= HUBER_ROUNDS);
        if (change < 1e-4) {
            if (round >= HUBER_ROUNDS)
                break;
            round = HUBER_ROUNDS - 1; /* settled: go on with Tukey's */
        }
    }
    return PV_FIT_DONE;
}

/* ---- the whole ---- */

static void sum_up(const fit_job *job, pv_fitted *out)
{
    double kept = 0;
    *out = (pv_fitted){.scale = SCALE_MIN};
    size_t last = SIZE_MAX;
    for (size_t i = 0; i < job->n; i++) {
        const pv_sight *s = &job->sights[i];
        out->squares += s->weight * pow(s->residual / s->sigma, 2);
        out->weights += s->weight;
        if (s->weight <= 0) {
            out->rejected++;
            continue;
        }
        out->used++;
        kept += s->residual * s->residual;
        out->groups += s->group != last;
        last = s->group;
    }
    out->rms = out->used > 0 ? sqrt(kept / (double)out->used) : 0;
    pv_model_map(&job->model, job->model.x, &out->map);
}

static bool is_finite(const pv_pose *map)
{
    for (int i = 0; i < 9; i++)
        if (!isfinite(map->h[i]))
            return false;
    return true;
}

pv_fit_status pv_fit(pv_pose_kind kind, pv_sight *sights, size_t n, const pv_pose *start,
                     pv_vec middle, pv_fitted *out)
{
    fit_job job = {.sights = sights, .n = n};
    if (n <= (kind == PV_POSE_AFFINE ? PV_AFFINE_UNKNOWNS : PV_LENS_FIRST))
        return PV_FIT_UNDETERMINED;
    pv_fit_status status = pv_model_make(kind, sights, n, start, middle, &job.model);
    if (status != PV_FIT_DONE)
        return status;
    job.spare = PV_NEW_ARRAY(n, double);
    if (kind == PV_POSE_PERSPECTIVE)
        job.solver =
            PV_NEW_ARRAY(pv_minimise_scratch(n + PV_LENS_UNKNOWNS, PV_POSE_UNKNOWNS), double);
    if (job.spare == NULL || (kind == PV_POSE_PERSPECTIVE && job.solver == NULL))
        status = PV_FIT_NO_MEMORY;
    else
        status = iterate(&job);
    if (status == PV_FIT_DONE) {
        double scale = take_residuals(&job);
        sum_up(&job, out);
        out->map.kind = kind;
        out->scale = scale;
        if (!is_finite(&out->map))
            status = PV_FIT_UNDETERMINED;
    }
    free(job.spare);
    free(job.solver);
    return status;
}
