/* One picture of a PDF's page, by libqpdf. */
#ifndef IMAGE_PDF_PICTURE_H
#define IMAGE_PDF_PICTURE_H

#include "image/pdf.h"

#include <qpdf/qpdf-c.h>

/* A member of a dictionary (or of a stream's), or of an array; null where it isn't there. */
qpdf_oh pv_pdf_member(qpdf_data pdf, qpdf_oh object, const char *key);
/* A number; `other` where it is none. */
double pv_pdf_number(qpdf_data pdf, qpdf_oh object, double other);
/* All bytes of a stream as they are stored, or unpacked; the caller frees them. Unpacking takes
 * what is read and made on the way from the budget, and ends early where that comes to 0. False,
 * and said, where they can't be had. */
bool pv_pdf_stored(qpdf_data pdf, qpdf_oh stream, pv_bytes *out, pv_diags *diags);
bool pv_pdf_unpacked(qpdf_data pdf, qpdf_oh stream, size_t *budget, pv_bytes *out, pv_diags *diags);

/* Its size; false where it is none or past a limit. */
bool pv_pdf_picture_size(qpdf_data pdf, qpdf_oh stream, size_t *columns, size_t *rows);
/* Is it all grey, as far as its description tells? */
bool pv_pdf_picture_is_gray(qpdf_data pdf, qpdf_oh stream);
/* Its pixels; NULL, and said, where they can't be read. */
pv_plane *pv_pdf_picture_decode(qpdf_data pdf, qpdf_oh stream, const pv_wanted *wanted,
                                pv_diags *diags);

#endif
