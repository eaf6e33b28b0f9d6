/* What turns drawings into files. */
#ifndef DRAW_BACKEND_H
#define DRAW_BACKEND_H

#include "draw/drawing.h"

/* A PDF is made page by page. */
typedef struct pv_pdf pv_pdf;
pv_pdf *pv_pdf_new(const char *title, pv_type *type, pv_diags *diags);
bool pv_pdf_page(pv_pdf *pdf, const pv_drawing *drawing, pv_diags *diags);
/* Pages so far, and the bytes of their contents before compression, which the library keeps in
 * memory until the end. */
size_t pv_pdf_pages(const pv_pdf *pdf);
size_t pv_pdf_contents(const pv_pdf *pdf);
/* The caller frees *bytes. */
bool pv_pdf_finish(pv_pdf *pdf, unsigned char **bytes, size_t *size, pv_diags *diags);
void pv_pdf_free(pv_pdf *pdf);

/* The caller frees it. */
char *pv_svg(const pv_drawing *drawing, pv_diags *diags);

#endif
