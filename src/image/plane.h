/* An image in memory: linear light, and what it says of its resolution.
 *
 * Image coordinates: (0,0) is the outer corner of the first pixel, x to the right, y down; pixel
 * centres are at .5. */
#ifndef IMAGE_PLANE_H
#define IMAGE_PLANE_H

#include "base/diag.h"
#include "base/vec.h"

#include <stdint.h>

typedef enum pv_resolution_source {
    PV_RESOLUTION_ABSENT,
    PV_RESOLUTION_PNG,     /* the pHYs chunk */
    PV_RESOLUTION_JFIF,    /* the APP0 density */
    PV_RESOLUTION_EXIF,    /* the APP1 resolution */
    PV_RESOLUTION_CONFLICT /* JFIF and EXIF disagree: taken as unknown */
} pv_resolution_source;

typedef struct pv_plane {
    size_t width, height;
    int channels;      /* 1 or 3 */
    uint16_t *samples; /* interleaved, row by row; linear light, 0 to 65535 (code 255) */
    pv_resolution_source source;
    double resolution[2]; /* stated px per mm along x and y; 0 where absent */
    bool bilevel;         /* every sample is 0 or 65535 */
} pv_plane;

#define PV_IMAGE_BYTES_MAX  (1u << 30)
#define PV_IMAGE_PIXELS_MAX 250000000u
#define PV_IMAGE_SIDE_MAX   60000u

/* PNG or JPEG, by the first bytes; transparency is laid on white. NULL with an error. */
pv_plane *pv_plane_decode(const unsigned char *bytes, size_t size, size_t pixels_max,
                          pv_diags *diags);
void pv_plane_free(pv_plane *plane);

/* 8-bit code to linear light 0 to 1 and back (IEC 61966-2-1). */
double pv_srgb_to_linear(double code);
double pv_linear_to_srgb(double linear);

/* A gray, gamma-coded copy reduced by a whole factor (area average in linear light), for finding
 * tags. width / factor x height / factor pixels, rounded down; the caller frees it with free(). */
uint8_t *pv_plane_reduced(const pv_plane *plane, size_t factor, size_t *width, size_t *height);

#endif
