#include "reference/metric.h"

pv_metric pv_metric_unknown(void)
{
    return (pv_metric){.scale = {1, 1}};
}

pv_vec pv_metric_true(const pv_metric *metric, pv_vec nominal)
{
    double y = metric->scale[1] * nominal.y;
    return pv_v(metric->scale[0] * nominal.x + sin(metric->skew) * y, cos(metric->skew) * y);
}

double pv_metric_u(const pv_metric *metric, pv_vec nominal)
{
    /* d ln|true| by ln sx, ln sy and skew, to first order where both scales are near one. */
    pv_vec d = pv_unit(nominal);
    double by[3] = {d.x * d.x, d.y * d.y, d.x * d.y}, variance = 0;
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++)
            variance += by[i] * by[k] * metric->cov[3 * i + k];
    return sqrt(fmax(0, variance));
}

pv_metric pv_metric_of_scan(const pv_pose *pose, const double px_per_mm[2])
{
    pv_metric out = pv_metric_unknown();
    pv_vec dx, dy;
    pv_pose_jacobian(pose, pv_v(0, 0), &dx, &dy);
    pv_vec tx = pv_v(dx.x / px_per_mm[0], dx.y / px_per_mm[1]);
    pv_vec ty = pv_v(dy.x / px_per_mm[0], dy.y / px_per_mm[1]);
    double lx = pv_len(tx), ly = pv_len(ty);
    if (!(lx > 0) || !(ly > 0))
        return out;
    out.known = out.has_skew = out.own = true;
    out.scale[0] = lx;
    out.scale[1] = ly;
    out.skew = asin(fmax(-1, fmin(1, pv_dot(tx, ty) / (lx * ly))));
    return out;
}
