#include "base/light.h"

#include <math.h>

/* The two parts of the curve meet at code 0.04045. */
double pv_srgb_decode(double code)
{
    return code <= 0.04045 ? code / 12.92 : pow((code + 0.055) / 1.055, 2.4);
}

/* 0.0031308 is where the encoding side changes its form. */
double pv_srgb_encode(double light)
{
    return light <= 0.0031308 ? light * 12.92 : 1.055 * pow(light, 1 / 2.4) - 0.055;
}

double pv_luminance_share(int channel)
{
    static const double share[3] = {0.2126, 0.7152, 0.0722};
    return share[channel];
}

double pv_luminance(const double light[3])
{
    double sum = 0;
    for (int c = 0; c < 3; c++)
        sum += pv_luminance_share(c) * light[c];
    return sum;
}
