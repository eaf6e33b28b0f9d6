#include "pose/fit.h"

#include "base/memory.h"
#include "pose/solve.h"

#include <cminpack.h>
#include <float.h>
#include <stdlib.h>
#include <string.h>

#define HUBER        1.345
#define TUKEY        4.685
#define HUBER_ROUNDS 8
#define TUKEY_ROUNDS 12
#define SCALE_MIN    1.0    /* of what each sight's own noise lets expect */
#define MAD_TO_SIGMA 1.4826 /* 1 / 0.6745, for normal errors */

/* A fit at work. Sheet and image are conditioned; residuals stay px. */
typedef struct fit_job {
    pv_sight *sights;
    size_t n;
    pv_vec from_centre, to_centre;
    double from_scale, to_scale;
    double h[9];    /* conditioned */
    double *spare;  /* n values */
    double *solver; /* lmder1's, for a homography */
} fit_job;

static pv_vec conditioned(const fit_job *job, pv_vec p)
{
    return pv_scale(pv_sub(p, job->from_centre), 1 / job->from_scale);
}

/* px; the image's origin moved to the sights' centre */
static double seen(const fit_job *job, const pv_sight *s)
{
    return s->at - pv_dot(s->normal, job->to_centre);
}

/* Residual of a sight; gradient, if not NULL, by the eight free elements of h. */
static double residual(const fit_job *job, const double *h, const pv_sight *s, double gradient[8])
{
    double sum = 0;
    pv_vec ends[2] = {conditioned(job, s->a), conditioned(job, s->b)};
    if (gradient != NULL)
        memset(gradient, 0, 8 * sizeof *gradient);
    for (int k = 0; k < 2; k++) {
        pv_vec p = ends[k];
        double w = h[6] * p.x + h[7] * p.y + 1;
        double x = (h[0] * p.x + h[1] * p.y + h[2]) / w;
        double y = (h[3] * p.x + h[4] * p.y + h[5]) / w;
        double along = s->normal.x * x + s->normal.y * y;
        sum += along / 2;
        if (gradient == NULL)
            continue;
        double v = 0.5 * job->to_scale / w;
        double parts[8] = {s->normal.x * p.x, s->normal.x * p.y, s->normal.x,  s->normal.y * p.x,
                           s->normal.y * p.y, s->normal.y,       -along * p.x, -along * p.y};
        for (int i = 0; i < 8; i++)
            gradient[i] += v * parts[i];
    }
    return job->to_scale * sum - seen(job, s);
}

/* ---- one weighted least squares ---- */

static bool solve_affinity(fit_job *job)
{
    double normal[36] = {0}, x[6] = {0};
    double zero[9] = {0, 0, 0, 0, 0, 0, 0, 0, 1};
    for (size_t i = 0; i < job->n; i++) {
        const pv_sight *s = &job->sights[i];
        double row[8];
        double value = -residual(job, zero, s, row);
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
    memcpy(job->h, x, sizeof x);
    job->h[6] = job->h[7] = 0;
    return true;
}

static int homography_values(void *context, int m, int n, const double *x, double *values,
                             double *jacobian, int stride, int wanted)
{
    const fit_job *job = context;
    for (int i = 0; i < m; i++) {
        const pv_sight *s = &job->sights[i];
        double gradient[8], root = sqrt(s->weight) / s->sigma;
        double value = root * residual(job, x, s, gradient);
        if (wanted == 1)
            values[i] = value;
        else
            for (int k = 0; k < n; k++)
                jacobian[i + stride * k] = root * gradient[k];
    }
    return 0;
}

static bool solve_homography(fit_job *job)
{
    int m = (int)job->n, n = 8, pivots[8];
    double *values = job->solver, *jacobian = values + job->n, *work = jacobian + 8 * job->n;
    double x[8];
    memcpy(x, job->h, sizeof x);
    int info = lmder1(homography_values, job, m, n, x, values, jacobian, m, 1e-12, pivots, work,
                      5 * n + m);
    for (int i = 0; i < n; i++)
        if (!isfinite(x[i]))
            return false;
    /* 0: refused its input; above 4: stopped at the limit of precision, which the residuals judge
     */
    memcpy(job->h, x, sizeof x);
    return info >= 1;
}

/* ---- weights ---- */

static int by_value(const void *a, const void *b)
{
    double p = *(const double *)a, q = *(const double *)b;
    return (p > q) - (p < q);
}

/* Fills in residuals; the robust scale. */
static double take_residuals(fit_job *job)
{
    for (size_t i = 0; i < job->n; i++) {
        pv_sight *s = &job->sights[i];
        s->residual = residual(job, job->h, s, NULL);
        job->spare[i] = isfinite(s->residual) ? fabs(s->residual) / s->sigma : DBL_MAX;
    }
    qsort(job->spare, job->n, sizeof *job->spare, by_value);
    double median = (job->spare[(job->n - 1) / 2] + job->spare[job->n / 2]) / 2;
    return fmax(SCALE_MIN, MAD_TO_SIGMA * median);
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

static pv_fit_status iterate(fit_job *job, pv_pose_kind kind)
{
    for (size_t i = 0; i < job->n; i++)
        job->sights[i].weight = 1;
    for (int round = 0; round < HUBER_ROUNDS + TUKEY_ROUNDS; round++) {
        bool good = kind == PV_POSE_AFFINE ? solve_affinity(job) : solve_homography(job);
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

static bool condition(fit_job *job, const double start[9])
{
    pv_vec *points = (pv_vec *)malloc(2 * job->n * sizeof *points);
    if (points == NULL)
        return false;
    for (size_t i = 0; i < job->n; i++) {
        points[2 * i] = job->sights[i].a;
        points[2 * i + 1] = job->sights[i].b;
    }
    bool good = pv_conditioning(points, 2 * job->n, &job->from_centre, &job->from_scale);
    for (size_t i = 0; i < 2 * job->n; i++)
        points[i] = pv_map_point(start, points[i]);
    good = good && pv_conditioning(points, 2 * job->n, &job->to_centre, &job->to_scale);
    free(points);
    if (!good) {
        job->from_scale = job->to_scale = 0;
        return true; /* memory was there; the caller looks at the scale */
    }
    double back[9] = {
        job->from_scale, 0, job->from_centre.x, 0, job->from_scale, job->from_centre.y, 0, 0, 1};
    double to[9] = {1 / job->to_scale,
                    0,
                    -job->to_centre.x / job->to_scale,
                    0,
                    1 / job->to_scale,
                    -job->to_centre.y / job->to_scale,
                    0,
                    0,
                    1};
    double half[9];
    pv_matrix3_product(start, back, half);
    pv_matrix3_product(to, half, job->h);
    double k = job->h[8];
    for (int i = 0; i < 9; i++)
        job->h[i] /= k;
    return true;
}

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
    pv_uncondition(job->h, job->from_centre, job->from_scale, job->to_centre, job->to_scale,
                   out->h);
}

pv_fit_status pv_fit(pv_pose_kind kind, pv_sight *sights, size_t n, const double start[9],
                     pv_fitted *out)
{
    size_t unknowns = kind == PV_POSE_AFFINE ? 6 : 8;
    if (n <= unknowns)
        return PV_FIT_UNDETERMINED;
    fit_job job = {.sights = sights, .n = n};
    job.spare = PV_NEW_ARRAY(n, double);
    if (kind == PV_POSE_PERSPECTIVE)
        job.solver = PV_NEW_ARRAY(n * 10 + 5 * 8, double);
    pv_fit_status status = PV_FIT_NO_MEMORY;
    if (job.spare != NULL && (kind == PV_POSE_AFFINE || job.solver != NULL) &&
        condition(&job, start)) {
        status = job.from_scale > 0 ? iterate(&job, kind) : PV_FIT_UNDETERMINED;
        if (status == PV_FIT_DONE) {
            double scale = take_residuals(&job);
            sum_up(&job, out);
            out->scale = scale;
            for (int i = 0; i < 9; i++)
                if (!isfinite(out->h[i]))
                    status = PV_FIT_UNDETERMINED;
        }
    }
    free(job.spare);
    free(job.solver);
    return status;
}

/* ---- uncertainty ---- */

enum { FUNCTIONALS = 3 }; /* scale along x, along y, skew */

typedef struct spread {
    const pv_sight *sights;
    size_t n;
    pv_vec centre;             /* of those used */
    double normal[36];         /* the weighted normal matrix, then its factor */
    double by[FUNCTIONALS][6]; /* gradients by the map's elements, then these solved for */
} spread;

static void design_row(const spread *job, const pv_sight *s, double row[6])
{
    pv_vec p = pv_sub(pv_scale(pv_add(s->a, s->b), 0.5), job->centre);
    double all[6] = {s->normal.x * p.x, s->normal.x * p.y, s->normal.x,
                     s->normal.y * p.x, s->normal.y * p.y, s->normal.y};
    memcpy(row, all, sizeof all);
}

static double part_of(const pv_sight *s)
{
    return s->weight / (s->sigma * s->sigma);
}

static void set_gradients(const double h[9], double by[FUNCTIONALS][6])
{
    pv_vec x = {h[0], h[3]}, y = {h[1], h[4]};
    double xx = pv_dot(x, x), yy = pv_dot(y, y);
    /* d(angle) = cross(a, da) / |a|^2; skew is the angle from x to y. */
    double all[FUNCTIONALS][6] = {{x.x / xx, 0, 0, x.y / xx, 0, 0},
                                  {0, y.x / yy, 0, 0, y.y / yy, 0},
                                  {x.y / xx, -y.y / yy, 0, -x.x / xx, y.x / yy, 0}};
    memcpy(by, all, sizeof all);
}

static bool spread_normal(spread *job, const pv_fitted *fitted)
{
    for (size_t i = 0; i < job->n; i++)
        if (job->sights[i].weight > 0)
            job->centre = pv_along(job->centre, pv_add(job->sights[i].a, job->sights[i].b),
                                   0.5 / (double)fitted->used);
    for (size_t i = 0; i < job->n; i++) {
        double row[6], part = part_of(&job->sights[i]);
        design_row(job, &job->sights[i], row);
        for (int a = 0; a < 6; a++)
            for (int b = 0; b <= a; b++)
                job->normal[6 * a + b] += part * row[a] * row[b];
    }
    return fitted->weights > 6 && pv_cholesky(job->normal, 6);
}

/* Adds to each variance what the shared errors of marks do: a mark of shared error e moves a value
 * by e times the sum of the value's derivatives by what its sights saw. */
static bool add_shared(const spread *job, double variance[FUNCTIONALS])
{
    size_t marks = 0;
    for (size_t i = 0; i < job->n; i++)
        if (job->sights[i].mark >= marks)
            marks = job->sights[i].mark + 1;
    double *moved = PV_NEW_ARRAY(marks * FUNCTIONALS, double);
    if (moved == NULL)
        return false;
    for (size_t i = 0; i < job->n; i++) {
        const pv_sight *s = &job->sights[i];
        double row[6];
        design_row(job, s, row);
        for (size_t f = 0; f < FUNCTIONALS; f++)
            for (int a = 0; a < 6; a++)
                moved[s->mark * FUNCTIONALS + f] += s->shared * part_of(s) * job->by[f][a] * row[a];
    }
    for (size_t i = 0; i < marks * FUNCTIONALS; i++)
        variance[i % FUNCTIONALS] += moved[i] * moved[i];
    free(moved);
    return true;
}

pv_fit_status pv_fit_uncertainty(const pv_sight *sights, size_t n, const pv_fitted *fitted,
                                 double u_scale[2], double *u_skew)
{
    spread job = {.sights = sights, .n = n};
    if (!spread_normal(&job, fitted))
        return PV_FIT_UNDETERMINED;
    /* Variance of one sight in units of its own, times how many of them say the same thing. What
     * the sights' noise lets expect is the least. */
    double each = fmax(1, fitted->squares / (fitted->weights - 6));
    each *= fmax(1, (double)fitted->used / (double)fitted->groups);
    double variance[FUNCTIONALS] = {0};
    set_gradients(fitted->h, job.by);
    for (int f = 0; f < FUNCTIONALS; f++) {
        double gradient[6];
        memcpy(gradient, job.by[f], sizeof gradient);
        pv_cholesky_solve(job.normal, 6, job.by[f]);
        for (int a = 0; a < 6; a++)
            variance[f] += each * gradient[a] * job.by[f][a];
    }
    if (!add_shared(&job, variance))
        return PV_FIT_NO_MEMORY;
    u_scale[0] = sqrt(variance[0]);
    u_scale[1] = sqrt(variance[1]);
    *u_skew = 1000 * sqrt(variance[2]);
    bool good = isfinite(u_scale[0]) && isfinite(u_scale[1]) && isfinite(*u_skew);
    return good ? PV_FIT_DONE : PV_FIT_UNDETERMINED;
}
