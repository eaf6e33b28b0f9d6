/* Means, outliers and noise of what stations gave. */
#ifndef MEASURE_STATS_H
#define MEASURE_STATS_H

#include <stdbool.h>
#include <stddef.h>

/* Marks outliers: farther from the median than `widths` standard deviations, these taken from the
 * median of the distances (PV_MAD_TO_SIGMA), or than `floor` where that is more. scratch has n
 * places. The number kept. */
size_t pv_outliers(const double *values, size_t n, double widths, double floor, bool *keep,
                   double *scratch);

/* Standard uncertainty of the mean of n > 0 values in a row. Where neighbours resemble each other
 * the variance of the mean is larger than for independent values by f = 1 + 2 sum (1 - k/n) r_k,
 * summed over the lags k up to n/4 until the first correlation r_k that isn't positive (the
 * variance of the mean of a stationary series; JCGM 100:2008, 4.2.7 warns of it); so it is done
 * from 8 values on. Each value is taken to scatter by `floor` at least. freedom: as many values as
 * n / f independent ones stand for, less one; at least one; 0, for many, where the floor decides.
 */
double pv_mean_u(const double *values, size_t n, double mean, double floor, double *freedom);

/* Effective degrees of freedom of hypot(a, b) (Welch and Satterthwaite; JCGM 100:2008, G.4.1); 0
 * stands for many, in what goes in and what comes out. */
double pv_freedom_of_sum(double a, double freedom_a, double b, double freedom_b);

/* Standard deviation of the noise of n values in a row, from the differences of neighbours, which
 * what varies slowly doesn't touch; 0 where there are fewer than two. */
double pv_neighbour_noise(const double *values, size_t n);

#endif
