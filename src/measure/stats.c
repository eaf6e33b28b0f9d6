#include "measure/stats.h"

#include "base/numeric.h"

#include <math.h>

size_t pv_outliers(const double *values, size_t n, double widths, double floor, bool *keep,
                   double *scratch)
{
    if (n == 0)
        return 0;
    double middle = pv_median(values, n, scratch);
    for (size_t i = 0; i < n; i++)
        scratch[i] = fabs(values[i] - middle);
    double limit = fmax(widths * PV_MAD_TO_SIGMA * pv_median_of(scratch, n), floor);
    size_t kept = 0;
    for (size_t i = 0; i < n; i++) {
        keep[i] = fabs(values[i] - middle) <= limit;
        kept += keep[i];
    }
    return kept;
}

static double product(const double *values, size_t n, double mean, size_t lag)
{
    double sum = 0;
    for (size_t i = lag; i < n; i++)
        sum += (values[i] - mean) * (values[i - lag] - mean);
    return sum;
}

double pv_mean_u(const double *values, size_t n, double mean, double floor, double *freedom)
{
    double squares = product(values, n, mean, 0), factor = 1;
    double scatter = n > 1 ? sqrt(squares / (double)(n - 1)) : 0;
    for (size_t k = 1; n >= 8 && squares > 0 && k <= n / 4; k++) {
        double sum = product(values, n, mean, k);
        if (sum <= 0)
            break;
        factor += 2 * (1 - (double)k / (double)n) * sum / squares;
    }
    *freedom = scatter > floor ? fmax(1, (double)n / factor - 1) : 0;
    return fmax(scatter, floor) * sqrt(factor / (double)n);
}

double pv_freedom_of_sum(double a, double freedom_a, double b, double freedom_b)
{
    double sum = 0;
    sum += freedom_a > 0 ? pow(a, 4) / freedom_a : 0;
    sum += freedom_b > 0 ? pow(b, 4) / freedom_b : 0;
    return sum > 0 ? pow(a * a + b * b, 2) / sum : 0;
}

double pv_neighbour_noise(const double *values, size_t n)
{
    double sum = 0;
    for (size_t i = 1; i < n; i++)
        sum += (values[i] - values[i - 1]) * (values[i] - values[i - 1]);
    return n < 2 ? 0 : sqrt(sum / (2 * (double)(n - 1)));
}
