#include "pose/model.h"

#include "base/memory.h"
#include "pose/solve.h"

#include <stdlib.h>
#include <string.h>

static bool condition(pv_model *model, const pv_sight *sights, size_t n, const pv_pose *start,
                      pv_vec *points)
{
    for (size_t i = 0; i < n; i++) {
        points[2 * i] = sights[i].a;
        points[2 * i + 1] = sights[i].b;
    }
    if (!pv_conditioning(points, 2 * n, &model->from_centre, &model->from_scale))
        return false;
    for (size_t i = 0; i < 2 * n; i++)
        points[i] = pv_map_point(start->h, points[i]);
    return pv_conditioning(points, 2 * n, &model->to_centre, &model->to_scale);
}

static void set_start(pv_model *model, const pv_pose *start)
{
    double k = model->from_scale, s = model->to_scale, half[9], h[9];
    double back[9] = {k, 0, model->from_centre.x, 0, k, model->from_centre.y, 0, 0, 1};
    double to[9] = {1 / s, 0, -model->to_centre.x / s, 0, 1 / s, -model->to_centre.y / s, 0, 0, 1};
    pv_matrix3_product(start->h, back, half);
    pv_matrix3_product(to, half, h);
    for (int i = 0; i < 8; i++)
        model->x[i] = h[i] / h[8];
    if (model->kind == PV_POSE_AFFINE)
        return;
    if (start->lens_unit > 0) {
        double r2 = pow(model->unit / start->lens_unit, 2);
        pv_vec off = pv_scale(pv_sub(start->lens_centre, model->middle), 1 / model->unit);
        double lens[PV_LENS_UNKNOWNS] = {start->lens[0] * r2, start->lens[1] * r2 * r2, off.x,
                                         off.y};
        memcpy(model->x + PV_LENS_FIRST, lens, sizeof lens);
    }
}

pv_fit_status pv_model_make(pv_pose_kind kind, const pv_sight *sights, size_t n,
                            const pv_pose *start, pv_vec middle, pv_model *out)
{
    *out = (pv_model){.kind = kind,
                      .unknowns = kind == PV_POSE_AFFINE ? PV_AFFINE_UNKNOWNS : PV_POSE_UNKNOWNS,
                      .middle = middle,
                      .unit = pv_len(middle)};
    if (n == 0)
        return PV_FIT_UNDETERMINED;
    pv_vec *points = PV_NEW_ARRAY(2 * n, pv_vec);
    if (points == NULL)
        return PV_FIT_NO_MEMORY;
    bool good = condition(out, sights, n, start, points);
    free(points);
    if (good)
        set_start(out, start);
    for (size_t i = 0; i < out->unknowns; i++)
        good = good && isfinite(out->x[i]);
    return good ? PV_FIT_DONE : PV_FIT_UNDETERMINED;
}

/* Of one end of a sight: its half of what is predicted, along the normal, and of the gradient. */
static double end_value(const pv_model *model, const double *x, pv_vec normal, pv_vec end,
                        double *gradient)
{
    pv_vec p = pv_scale(pv_sub(end, model->from_centre), 1 / model->from_scale);
    bool flat = model->kind == PV_POSE_AFFINE;
    double w = flat ? 1 : x[6] * p.x + x[7] * p.y + 1;
    pv_vec q = pv_v((x[0] * p.x + x[1] * p.y + x[2]) / w, (x[3] * p.x + x[4] * p.y + x[5]) / w);
    pv_vec place = pv_along(model->to_centre, q, model->to_scale);
    pv_vec centre = model->middle, from = pv_sub(place, centre), pull = normal;
    double factor = 1, r2 = 0;
    if (!flat) {
        const double *lens = x + PV_LENS_FIRST;
        centre = pv_along(centre, pv_v(lens[2], lens[3]), model->unit);
        from = pv_sub(place, centre);
        r2 = pv_dot(from, from) / (model->unit * model->unit);
        factor = 1 + r2 * (lens[0] + r2 * lens[1]);
        /* What a step of the place does to the value: normal . d(bent) = pull . d(place) */
        double slope = 2 * (lens[0] + 2 * r2 * lens[1]) / (model->unit * model->unit);
        pull = pv_along(pv_scale(normal, factor), from, slope * pv_dot(normal, from));
    }
    if (gradient != NULL) {
        double v = 0.5 * model->to_scale / w, along = pv_dot(pull, q), out = pv_dot(normal, from);
        double parts[8] = {pull.x * p.x, pull.x * p.y, pull.x,       pull.y * p.x,
                           pull.y * p.y, pull.y,       -along * p.x, -along * p.y};
        for (size_t i = 0; i < (flat ? PV_AFFINE_UNKNOWNS : PV_LENS_FIRST); i++)
            gradient[i] += v * parts[i];
        double lens[PV_LENS_UNKNOWNS] = {out * r2, out * r2 * r2, model->unit * (normal.x - pull.x),
                                         model->unit * (normal.y - pull.y)};
        for (size_t i = 0; !flat && i < PV_LENS_UNKNOWNS; i++)
            gradient[PV_LENS_FIRST + i] += 0.5 * lens[i];
    }
    return 0.5 * (pv_dot(normal, centre) + factor * pv_dot(normal, from));
}

double pv_model_residual(const pv_model *model, const double *x, const pv_sight *sight,
                         double *gradient)
{
    if (gradient != NULL)
        memset(gradient, 0, model->unknowns * sizeof *gradient);
    return end_value(model, x, sight->normal, sight->a, gradient) +
           end_value(model, x, sight->normal, sight->b, gradient) - sight->at;
}

void pv_model_map(const pv_model *model, const double *x, pv_pose *out)
{
    double h[9] = {x[0], x[1], x[2], x[3], x[4], x[5], 0, 0, 1};
    out->lens[0] = out->lens[1] = 0;
    out->lens_centre = model->middle;
    out->lens_unit = model->unit;
    if (model->kind == PV_POSE_PERSPECTIVE) {
        h[6] = x[6];
        h[7] = x[7];
        const double *lens = x + PV_LENS_FIRST;
        out->lens[0] = lens[0];
        out->lens[1] = lens[1];
        out->lens_centre = pv_along(model->middle, pv_v(lens[2], lens[3]), model->unit);
    }
    pv_uncondition(h, model->from_centre, model->from_scale, model->to_centre, model->to_scale,
                   out->h);
}
