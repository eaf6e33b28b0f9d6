/* Numbers by chance, the same on every machine. For the one file of a Check program. */
#ifndef TESTS_GAUSS_H
#define TESTS_GAUSS_H

#include <math.h>

/* A linear congruential generator (Knuth's MMIX). */
static unsigned long long chance_state = 7;

static double uniform(void)
{
    chance_state = chance_state * 6364136223846793005ull + 1442695040888963407ull;
    return (double)(chance_state >> 11) / 9007199254740992.0;
}

/* Standard deviation 1 about 0, by Box and Muller. */
static double gauss(void)
{
    double u = 1 - uniform(), v = uniform();
    return sqrt(-2 * log(u)) * cos(8 * atan(1) * v);
}

#endif
