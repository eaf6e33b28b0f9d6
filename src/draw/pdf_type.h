/* Faces in a PDF: each is embedded with the glyphs that were used, and text is shown by them. The
 * pdf back end's own. */
#ifndef DRAW_PDF_TYPE_H
#define DRAW_PDF_TYPE_H

#include "draw/drawing.h"

#include <hpdf.h>

typedef struct pv_pdf_type pv_pdf_type;

/* NULL where memory ran out. */
pv_pdf_type *pv_pdf_type_new(HPDF_Doc doc, const pv_type *type);
void pv_pdf_type_free(pv_pdf_type *fonts);

/* Shows a text operation on a page; colours are set already. False where memory ran out, or where
 * *wrong says why not; libharu's errors go to its handler. */
bool pv_pdf_type_show(pv_pdf_type *fonts, HPDF_Page page, const pv_op *op, const char *utf8,
                      const char **wrong);

/* Writes the faces that were used into the document. */
bool pv_pdf_type_finish(pv_pdf_type *fonts, pv_diags *diags);

#endif
