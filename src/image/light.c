/* Codes and linear light. */
#include "image/decode.h"

#include "base/light.h"

double pv_linear_to_srgb(double linear)
{
    return 255.0 * pv_srgb_encode(linear);
}

void pv_light_table(uint16_t *table, size_t n, double exponent)
{
    for (size_t i = 0; i < n; i++) {
        double v = (double)i / (double)(n - 1);
        double light = exponent > 0 ? pow(v, exponent) : pv_srgb_decode(v);
        table[i] = (uint16_t)lround(65535.0 * light);
    }
}
