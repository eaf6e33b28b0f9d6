/* Codes and linear light. */
#include "image/decode.h"

/* IEC 61966-2-1: the two parts meet at code 0.04045. */
static double srgb_decode(double v)
{
    return v <= 0.04045 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4);
}

double pv_srgb_to_linear(double code)
{
    return srgb_decode(code / 255.0);
}

double pv_linear_to_srgb(double linear)
{
    /* 0.0031308 is where the curve of the standard's encoding side changes its form. */
    double v = linear <= 0.0031308 ? linear * 12.92 : 1.055 * pow(linear, 1 / 2.4) - 0.055;
    return 255.0 * v;
}

void pv_light_table(uint16_t *table, size_t n, double exponent)
{
    for (size_t i = 0; i < n; i++) {
        double v = (double)i / (double)(n - 1);
        double light = exponent > 0 ? pow(v, exponent) : srgb_decode(v);
        table[i] = (uint16_t)lround(65535.0 * light);
    }
}
