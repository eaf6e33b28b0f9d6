/* Codes and linear light (IEC 61966-2-1:1999, 5.2). */
#ifndef BASE_LIGHT_H
#define BASE_LIGHT_H

/* Both 0 to 1. */
double pv_srgb_decode(double code);
double pv_srgb_encode(double light);

#endif
