/* An image in memory: linear light, and what it says of its resolution.
 *
 * Image coordinates: (0,0) is the outer corner of the first pixel, x to the right, y down; pixel
 * centres are at .5.
 *
 * A guide to this room. decode.c tells the kinds of file apart, and there is one decoder a file,
 * which reads rows by the library that only it meets; exif.c reads the few fields that matter;
 * plane.c turns the rows upright into a
 * plane of 16 bits of linear light a channel, within limits, and reduces it for finding tags;
 * light.c makes the table from codes to light. All that is measured is read through profile.h:
 * light along a short path across an edge, averaged over a band along it, and where the edge
 * crosses midway between its two sides. In a JPEG, whose hue is coarse, luma alone says how far
 * along the way from one colour to the other a sample stands. encode.c writes pictures for people.
 */
#ifndef IMAGE_PLANE_H
#define IMAGE_PLANE_H

#include "base/diag.h"
#include "base/vec.h"

#include <pavior/inspect.h>

#include <stdint.h>

typedef enum pv_resolution_source {
    PV_RESOLUTION_ABSENT,
    PV_RESOLUTION_PNG,      /* the pHYs chunk */
    PV_RESOLUTION_JFIF,     /* the APP0 density */
    PV_RESOLUTION_EXIF,     /* the APP1 resolution */
    PV_RESOLUTION_TIFF,     /* its tags */
    PV_RESOLUTION_PDF,      /* the size at which its page shows it */
    PV_RESOLUTION_CONFLICT, /* JFIF and EXIF disagree: taken as unknown */
    PV_RESOLUTION_SCREEN    /* 72 or 96 per inch, which programs and cameras write where nothing is
                               known: taken as unknown */
} pv_resolution_source;

typedef struct pv_plane {
    size_t width, height;
    int channels;      /* 1 or 3 */
    uint16_t *samples; /* interleaved, row by row; linear light, 0 to 65535 (code 255) */
    pv_resolution_source source;
    double resolution[2]; /* stated px per mm along x and y; 0 where absent */
    double rounding;      /* of that, relative: half the last place of a PDF's numbers; else 0 */
    bool bilevel;         /* every sample is 0 or 65535 */
    bool coarse_hue;      /* JPEG's YCbCr: luma is exact, the rest was thinned out and coarsened */
    bool camera;          /* EXIF names a focal length, an aperture or an exposure */
    double focal35;       /* mm, equivalent focal length on 35 mm film, as EXIF states it; or 0 */
} pv_plane;

#define PV_IMAGE_SIDE_MAX 60000u

/* One picture of a file (`page`, from 0), whose kind its first bytes tell. NULL with an error.
 * pixels_max lowers the limit above.
 *
 * PNG: every colour type and depth, interlaced or not; transparency is laid on white, in linear
 * light. Codes follow the sRGB curve where the file has an sRGB chunk, an ICC profile (which isn't
 * read; a note says so unless it is named sRGB), a gAMA of 45455 (which stands for sRGB, PNG
 * specification 11.3.2.5) or nothing at all; another gAMA is a plain power.
 * TIFF, PDF, WebP, HEIC and AVIF: docs/reference/images.md, and the heads of their files.
 * JPEG: gray, YCbCr and RGB by the sRGB curve, whatever ICC profile there is (a note says so unless
 * it calls itself sRGB); CMYK is refused. EXIF's orientation is applied, with
 * it the axes of the resolution. A file that ends early is an error, and so is one that the library
 * calls damaged: what it goes on with are pixels that nobody saw. */
pv_plane *pv_plane_decode(const unsigned char *bytes, size_t size, size_t page, size_t pixels_max,
                          pv_diags *diags);
void pv_plane_free(pv_plane *plane);

/* Linear light 0 to 1 to an 8-bit code (IEC 61966-2-1). */
double pv_linear_to_srgb(double linear);

/* A gray, gamma-coded copy reduced by a whole factor (area average in linear light), for finding
 * tags. width / factor x height / factor pixels, rounded down; the caller frees it with free(). */
uint8_t *pv_plane_reduced(const pv_plane *plane, size_t factor, size_t *width, size_t *height);

#endif
