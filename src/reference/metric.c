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

double pv_metric_u_uneven(const pv_metric *metric, double length)
{
    return sqrt(2) * metric->uneven * length / (length + PV_UNEVEN_AREA);
}
