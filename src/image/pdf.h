/* What the parts of the PDF reader share: one picture of a page, as its stream describes it, and
 * what unpacks and wraps it. */
#ifndef IMAGE_PDF_H
#define IMAGE_PDF_H

#include "base/memory.h"
#include "base/text.h"
#include "image/decode.h"

#define PV_PDF_SAVE_AS                                                                             \
    PV_SAID("save the scan as PNG or TIFF, or have the scanner write JPEG into the PDF")

#define PV_PDF_SAVE_FLAT                                                                           \
    PV_SAID("save the scan as PNG or TIFF, or switch off compact PDF in the scanner")
#define PV_PDF_LAYERED PV_SAID("the PDF's picture has transparent parts, or is made up of layers")

/* ---- before libqpdf (pdf_guard.c) ---- */

/* False, and said, where all that isn't a picture could come to more than 256 MiB unpacked. */
bool pv_pdf_guard(const unsigned char *bytes, size_t size, pv_diags *diags);

/* ---- coded bytes (pdf_bytes.c) ---- */

typedef enum pv_pdf_filter { /* ISO 32000-1, 7.4 */
                             PV_FILTER_HEX,
                             PV_FILTER_85,
                             PV_FILTER_RUNS,
                             PV_FILTER_FLATE,
                             PV_FILTER_LZW,
                             PV_FILTER_FAX,
                             PV_FILTER_JPEG,
                             PV_FILTER_UNKNOWN
} pv_pdf_filter;

/* Undoes one of the first four: the result, which the caller frees, of at most `most` bytes; what
 * comes beyond is left. False where memory ran out or, for Flate, where the data are damaged
 * (said). */
bool pv_pdf_undo(pv_pdf_filter filter, const unsigned char *bytes, size_t size, size_t most,
                 pv_bytes *out, pv_diags *diags);

/* ---- a picture's samples as a file of another kind (pdf_wrap.c) ---- */

typedef struct pv_pdf_samples {
    size_t columns, rows;
    unsigned bits, samples;        /* a sample, and of a pixel */
    pv_pdf_filter filter;          /* the last one; PV_FILTER_UNKNOWN: none */
    long long predictor;           /* of Flate and LZW: 1 none, 2 TIFF's, 10 and more PNG's */
    long long k;                   /* of fax: below 0 T.6, 0 T.4 in one dimension, above in two */
    bool aligned;                  /* of fax: each row begins at a byte */
    size_t colours;                /* of a palette; 0: it has none */
    unsigned char palette[256][3]; /* red, green, blue */
    bool negative;                 /* code 0 is white */
} pv_pdf_samples;

/* The picture: the samples become the body of a TIFF or a PNG, whose decoders know all of these
 * codings, or are a JPEG already. `wanted` is for the picture alone. */
pv_plane *pv_pdf_samples_decode(const pv_pdf_samples *how, const pv_bytes *data,
                                const pv_wanted *wanted, pv_diags *diags);

#endif
