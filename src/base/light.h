/* Codes and linear light (IEC 61966-2-1:1999, 5.2). */
#ifndef BASE_LIGHT_H
#define BASE_LIGHT_H

/* Both 0 to 1. */
double pv_srgb_decode(double code);
double pv_srgb_encode(double light);

/* What red, green and blue of linear light have of luminance (ITU-R BT.709, item 3.2, which sRGB
 * takes over): of a channel 0 to 2, and of a light. */
double pv_luminance_share(int channel);
double pv_luminance(const double light[3]);

#endif
