/* A libm whose last digit can't be trusted, to be loaded before the system's: each result is the
 * true one, the next above or the next below, by the bits of what was asked and NOISE in the
 * environment. For test_libm.py. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

static double noisy(double value, double asked)
{
    const char *noise = getenv("NOISE");
    uint64_t bits;
    memcpy(&bits, &asked, sizeof bits);
    bits ^= noise != NULL ? strtoull(noise, NULL, 10) * UINT64_C(0x9E3779B97F4A7C15) : 0;
    bits = (bits ^ bits >> 31) * UINT64_C(0xBF58476D1CE4E5B9);
    bits ^= bits >> 29;
    /* What is exact in every libm stays. */
    if (value == 0 || fabs(value) == 1 || !isfinite(value) || bits % 3 == 2)
        return value;
    return nextafter(value, bits % 3 == 0 ? HUGE_VAL : -HUGE_VAL);
}

#define ONE(name)                                                                                  \
    double name(double x)                                                                          \
    {                                                                                              \
        static double (*true_one)(double);                                                         \
        if (true_one == NULL)                                                                      \
            *(void **)&true_one = dlsym(RTLD_NEXT, #name);                                         \
        return noisy(true_one(x), x);                                                              \
    }
#define TWO(name)                                                                                  \
    double name(double x, double y)                                                                \
    {                                                                                              \
        static double (*true_one)(double, double);                                                 \
        if (true_one == NULL)                                                                      \
            *(void **)&true_one = dlsym(RTLD_NEXT, #name);                                         \
        return noisy(true_one(x, y), x + 3 * y);                                                   \
    }

ONE(sin)
ONE(cos)
ONE(tan)
ONE(asin)
ONE(acos)
ONE(atan)
ONE(exp)
ONE(log)
TWO(atan2)
TWO(hypot)
TWO(pow)

void sincos(double x, double *s, double *c)
{
    *s = sin(x);
    *c = cos(x);
}
