/* What a printer does to a page (its public face is pavior/printer.h). */
#ifndef PAPER_PRINTER_H
#define PAPER_PRINTER_H

#include "base/vec.h"

#include <pavior/printer.h>

#define PV_PRINTER_FORMAT  "pavior printer"
#define PV_PRINTER_VERSION 1

/* A linear map of the plane: (a x + b y, c x + d y). */
typedef struct pv_linear {
    double a, b, c, d;
} pv_linear;

/* What is to be drawn, from the page's middle, so that the printer puts it where it belongs: the
 * inverse of the printer's map, for a page of that width and height. What isn't corrected counts as
 * true. NULL gives the map that changes nothing. */
pv_linear pv_printer_inverse(const pv_printer *printer, const double page[2]);
/* mm by which it is to be compensated for at each edge; 0 for NULL. */
double pv_printer_ink(const pv_printer *printer);
/* Its name, or "one printer". Belongs to the printer. */
const char *pv_printer_words(const pv_printer *printer);

#endif
