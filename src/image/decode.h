/* What the decoders share: what is wanted of a file, the plane being filled, the curves, and EXIF's
 * few fields. */
#ifndef IMAGE_DECODE_H
#define IMAGE_DECODE_H

#include "base/text.h"
#include "image/plane.h"

/* What is wanted of a file. */
typedef struct pv_wanted {
    size_t page;       /* which of its pictures, from 0 */
    size_t pixels_max; /* the most that it may have */
    int orientation;   /* 0: as the file says. Else this, 1 to 8 as in EXIF: the picture is part of
                          a page, which says how it stands and how large it is */
    bool negative;     /* code 0 is white */
} pv_wanted;

/* ---- from codes to linear light ---- */

/* Fills a table of `n` codes (2 to 65536): code / (n - 1) to linear light, 0 to 65535. exponent 0
 * is the sRGB curve (IEC 61966-2-1), else light = code^exponent. negative: the code is taken from
 * n - 1 first. */
void pv_light_table(uint16_t *table, size_t n, double exponent, bool negative);

/* Does an ICC profile (ICC.1, annex B.4) call itself sRGB, in ASCII or UTF-16? */
bool pv_profile_is_srgb(const unsigned char *bytes, size_t size);

/* ---- the plane being filled ---- */

/* Rows go in as they are stored in the file and end up turned upright. */
typedef struct pv_raster {
    pv_plane *plane;
    size_t columns, rows;         /* as stored */
    ptrdiff_t start, along, down; /* sample = start + along * column + down * row */
    bool grays;                   /* a sample that is neither 0 nor 65535 was seen */
} pv_raster;

/* Is the size within every limit? Says so if not. Allocates nothing. */
bool pv_raster_fits(size_t columns, size_t rows, size_t pixels_max, pv_diags *diags);

/* Makes the plane; orientation is EXIF's, 1 to 8. False where memory ran out (said). */
bool pv_raster_start(pv_raster *raster, size_t columns, size_t rows, int channels, int orientation,
                     pv_diags *diags);
/* One row of 8-bit samples, as many a pixel as the plane has channels. */
void pv_raster_row(pv_raster *raster, size_t row, const unsigned char *bytes,
                   const uint16_t table[256]);
/* One pixel. */
void pv_raster_pixel(pv_raster *raster, size_t row, size_t column, const uint16_t *light);
/* How a pixel's codes are read. */
typedef struct pv_coding {
    const uint16_t *table; /* of most + 1 codes */
    unsigned most;         /* the code of white, and of what covers all */
    bool alpha;            /* behind the plane's channels stands how much the pixel covers */
    bool multiplied;       /* its codes have been multiplied by that */
} pv_coding;

/* One pixel by its codes; what shows through is white, in linear light. */
void pv_raster_code(pv_raster *raster, size_t row, size_t column, const unsigned *codes,
                    const pv_coding *how);
/* A whole picture as some libraries give it: red, green, blue, and alpha where there is one, of one
 * byte each, or of two where there are more than 8 bits, the lower first. */
typedef struct pv_whole {
    const unsigned char *pixels;
    size_t columns, rows, stride; /* bytes from row to row */
    unsigned bits;
    bool alpha, multiplied; /* as in pv_coding */
    bool coarse_hue;        /* as in pv_plane, should it have any hue */
} pv_whole;

/* Makes the plane of it, by a curve as for pv_light_table: with one channel where red, green and
 * blue are alike everywhere. False where memory ran out (said). */
bool pv_raster_whole(pv_raster *raster, const pv_whole *from, double exponent, int orientation,
                     pv_diags *diags);
/* Hands the plane over. */
pv_plane *pv_raster_take(pv_raster *raster);
void pv_raster_drop(pv_raster *raster);

/* ---- resolution ---- */

/* Sets what the file states, in px per mm along the axes as stored; turned like the pixels. An
 * impossible value (not finite, below 10 or above 100,000 px per inch) is absent; 72 and 96 per
 * inch are PV_RESOLUTION_SCREEN. */
void pv_plane_resolution(pv_plane *plane, pv_resolution_source source, double x, double y,
                         int orientation);

/* The fields that pavior needs of EXIF's first directory (TIFF 6.0, section 8; the EXIF standard,
 * CIPA DC-008, 4.6.4) and of the one for the conditions of a picture's taking (4.6.5). */
typedef struct pv_exif {
    int orientation;  /* 1 to 8; 1 where not stated */
    bool stated;      /* both resolutions are there */
    double per_mm[2]; /* px per mm, as stored */
    bool camera;      /* a focal length, an aperture or an exposure is named */
    double focal35;   /* mm, equivalent focal length on 35 mm film; 0 where not stated */
    bool damaged;     /* an offset points outside, or the header is wrong */
} pv_exif;

/* tiff: the bytes after "Exif\0\0", from "II" or "MM" on. */
pv_exif pv_exif_read(const unsigned char *tiff, size_t size);

/* What EXIF says of the picture's taking, into the plane. Nothing where it is damaged. */
void pv_raster_camera(pv_raster *raster, const pv_exif *exif);

/* ---- the decoders ----
 *
 * Each gives the picture that is wanted, or NULL with an error; and of the files that can hold
 * several, how many there are. A page that can't be read counts as one: decoding it says why. */

pv_plane *pv_png_decode(const unsigned char *bytes, size_t size, const pv_wanted *wanted,
                        pv_diags *diags);
pv_plane *pv_jpeg_decode(const unsigned char *bytes, size_t size, const pv_wanted *wanted,
                         pv_diags *diags);
pv_plane *pv_tiff_decode(const unsigned char *bytes, size_t size, const pv_wanted *wanted,
                         pv_diags *diags);
size_t pv_tiff_pages(const unsigned char *bytes, size_t size);
pv_plane *pv_webp_decode(const unsigned char *bytes, size_t size, const pv_wanted *wanted,
                         pv_diags *diags);
pv_plane *pv_heif_decode(const unsigned char *bytes, size_t size, const pv_wanted *wanted,
                         pv_diags *diags);
size_t pv_heif_pages(const unsigned char *bytes, size_t size);
pv_plane *pv_pdf_scan_decode(const unsigned char *bytes, size_t size, const pv_wanted *wanted,
                             pv_diags *diags);
size_t pv_pdf_scan_pages(const unsigned char *bytes, size_t size);

/* Said where there are more than PV_IMAGE_PAGES_MAX. */
void pv_fail_pages(const char *kind, pv_diags *diags);

/* What to do where a file is damaged. */
#define PV_COPY_AGAIN                                                                              \
    PV_SAID("copy the picture again from the scanner or phone, or scan the sheet again")

/* Said of an ICC profile, unless it is that of sRGB. */
#define PV_PROFILE_UNREAD                                                                          \
    PV_SAID("the image's colour profile is not used; its pixel values are read as sRGB")

#endif
