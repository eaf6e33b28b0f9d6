#include "reference/camera.h"

#include <string.h>

typedef struct columns {
    double a[3], b[3], t[3];
} columns;

/* h with the image's middle as its origin, in px over f0. */
static columns centred(const double h[9], pv_vec middle, double f0)
{
    columns out = {{0}, {0}, {0}};
    double *to[] = {out.a, out.b, out.t};
    for (int c = 0; c < 3; c++) {
        to[c][0] = (h[c] - middle.x * h[6 + c]) / f0;
        to[c][1] = (h[3 + c] - middle.y * h[6 + c]) / f0;
        to[c][2] = h[6 + c];
    }
    return out;
}

/* r = f0^2 / f^2 and its variance, from both conditions and the prior r = 1. */
static double focal_ratio(const columns *m, double prior_u, double *variance)
{
    double size =
        (m->a[0] * m->a[0] + m->a[1] * m->a[1] + m->b[0] * m->b[0] + m->b[1] * m->b[1]) / 2;
    double c[2] = {(m->a[0] * m->b[0] + m->a[1] * m->b[1]) / size,
                   (m->a[0] * m->a[0] + m->a[1] * m->a[1] - m->b[0] * m->b[0] - m->b[1] * m->b[1]) /
                       (2 * size)};
    double d[2] = {m->a[2] * m->b[2] / size, (m->a[2] * m->a[2] - m->b[2] * m->b[2]) / (2 * size)};
    double noise = PV_CAMERA_PRINT_U * PV_CAMERA_PRINT_U;
    double weight = 1 / (prior_u * prior_u), sum = weight;
    for (int i = 0; i < 2; i++) {
        weight += c[i] * c[i] / noise;
        sum -= c[i] * d[i] / noise;
    }
    *variance = 1 / weight;
    return sum / weight;
}

pv_camera_view pv_camera_view_of(const pv_plane *plane, const pv_pose *pose)
{
    pv_camera_view out = {.known = false};
    bool stated = plane->focal35 > 0, camera = plane->camera || stated;
    if (pose->kind == PV_POSE_AFFINE && !camera)
        return out;
    double width = (double)plane->width, height = (double)plane->height;
    double focal = stated ? plane->focal35 : PV_CAMERA_FOCAL35;
    double f0 = focal * hypot(width, height) / PV_CAMERA_DIAGONAL;
    pv_vec middle = pv_v(width / 2, height / 2);
    columns m = centred(pose->h, middle, f0);
    double variance, u = stated ? PV_CAMERA_FOCAL35_U : PV_CAMERA_FOCAL_U;
    double r = focal_ratio(&m, 2 * u, &variance);
    if (!(r > 0.05 && r < 20))
        return out;
    double f = 1 / sqrt(r); /* in units of f0 */
    for (int i = 0; i < 2; i++) {
        m.a[i] /= f;
        m.b[i] /= f;
        m.t[i] /= f;
    }
    /* The columns are lambda r1, lambda r2, lambda T; the camera stands at -R' T. */
    double la = sqrt(m.a[0] * m.a[0] + m.a[1] * m.a[1] + m.a[2] * m.a[2]);
    double lb = sqrt(m.b[0] * m.b[0] + m.b[1] * m.b[1] + m.b[2] * m.b[2]);
    double at = m.a[0] * m.t[0] + m.a[1] * m.t[1] + m.a[2] * m.t[2];
    double bt = m.b[0] * m.t[0] + m.b[1] * m.t[1] + m.b[2] * m.t[2];
    double n[3] = {m.a[1] * m.b[2] - m.a[2] * m.b[1], m.a[2] * m.b[0] - m.a[0] * m.b[2],
                   m.a[0] * m.b[1] - m.a[1] * m.b[0]};
    double nt = n[0] * m.t[0] + n[1] * m.t[1] + n[2] * m.t[2];
    out.foot = pv_v(-at / (la * la), -bt / (lb * lb));
    out.height = fabs(nt) / (la * lb * sqrt(la * lb));
    out.height_u = sqrt(variance) / (2 * r);
    out.foot_u = out.height * fmin(0.2, out.height_u);
    out.known =
        isfinite(out.height) && out.height > 0 && isfinite(out.foot.x) && isfinite(out.foot.y);
    return out;
}
