/* Codes and linear light. */
#include "image/decode.h"

#include "base/light.h"

#include <string.h>

double pv_linear_to_srgb(double linear)
{
    return 255.0 * pv_srgb_encode(linear);
}

void pv_light_table(uint16_t *table, size_t n, double exponent, bool negative)
{
    for (size_t i = 0; i < n; i++) {
        double v = (double)(negative ? n - 1 - i : i) / (double)(n - 1);
        double light = exponent > 0 ? pow(v, exponent) : pv_srgb_decode(v);
        table[i] = (uint16_t)lround(65535.0 * light);
    }
}

static bool contains(const unsigned char *bytes, size_t n, const char *what, size_t length)
{
    for (size_t i = 0; i + length <= n; i++)
        if (memcmp(bytes + i, what, length) == 0)
            return true;
    return false;
}

bool pv_profile_is_srgb(const unsigned char *bytes, size_t size)
{
    return contains(bytes, size, "sRGB", 4) || contains(bytes, size, "s\0R\0G\0B", 7);
}
