#include "measure/stats.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static int compare(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

double pv_median(const double *values, size_t n, double *scratch)
{
    memcpy(scratch, values, n * sizeof *values);
    qsort(scratch, n, sizeof *scratch, compare);
    return (scratch[n / 2] + scratch[(n - 1) / 2]) / 2;
}

size_t pv_outliers(const double *values, size_t n, double widths, double floor, bool *keep,
                   double *scratch)
{
    if (n == 0)
        return 0;
    double middle = pv_median(values, n, scratch);
    for (size_t i = 0; i < n; i++)
        scratch[i] = fabs(values[i] - middle);
    qsort(scratch, n, sizeof *scratch, compare);
    double limit = fmax(widths * 1.4826 * (scratch[n / 2] + scratch[(n - 1) / 2]) / 2, floor);
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

/* Gauss with pivoting on the normal equations. */
static bool solve(double m[3][4], size_t k)
{
    for (size_t col = 0; col < k; col++) {
        size_t pivot = col;
        for (size_t r = col + 1; r < k; r++)
            if (fabs(m[r][col]) > fabs(m[pivot][col]))
                pivot = r;
        if (!(fabs(m[pivot][col]) > 1e-9))
            return false;
        for (size_t c = 0; c < 4; c++) {
            double swap = m[col][c];
            m[col][c] = m[pivot][c];
            m[pivot][c] = swap;
        }
        for (size_t r = 0; r < k; r++) {
            if (r == col)
                continue;
            double f = m[r][col] / m[col][col];
            for (size_t c = col; c < 4; c++)
                m[r][c] -= f * m[col][c];
        }
    }
    return true;
}

bool pv_least_squares(const double *columns, size_t k, const double *y, size_t n, double *c)
{
    double m[3][4] = {{0}};
    if (n < k)
        return false;
    for (size_t i = 0; i < n; i++) {
        const double *row = columns + i * k;
        for (size_t a = 0; a < k; a++) {
            for (size_t b = 0; b < k; b++)
                m[a][b] += row[a] * row[b];
            m[a][3] += row[a] * y[i];
        }
    }
    if (!solve(m, k))
        return false;
    for (size_t a = 0; a < k; a++)
        c[a] = m[a][3] / m[a][a];
    return true;
}
