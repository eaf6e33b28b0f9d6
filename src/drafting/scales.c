#include "drafting/scales.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>

#define ROOM   24
#define FAR    9    /* powers of ten either way */
#define A_HAIR 1e-9 /* what rounding takes */

double pv_scale_for(double most, char *said)
{
    static const double enlarged[3] = {5, 2, 1}, reduced[3] = {2, 5, 10};
    double scale = pow(10, -FAR);
    bool found = false;
    for (int power = FAR; power >= -FAR && !found; power--)
        for (int i = 0; i < 3 && !found; i++) {
            double one =
                power >= 0 ? enlarged[i] * pow(10, power) : 1 / (reduced[i] * pow(10, -power - 1));
            found = one <= most * (1 + A_HAIR);
            scale = found ? one : scale;
        }
    if (said != NULL)
        snprintf(said, ROOM, scale >= 1 ? "%.0f:1" : "1:%.0f", scale >= 1 ? scale : 1 / scale);
    return scale;
}

double pv_scale_below(double scale, char *said)
{
    return pv_scale_for(scale * (1 - 1e-3), said);
}
