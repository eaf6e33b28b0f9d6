/* What a printer does to a page (its public face is pavior/printer.h). */
#ifndef PAPER_PRINTER_H
#define PAPER_PRINTER_H

#include "base/kind.h"
#include "base/vec.h"

#include <pavior/printer.h>

#define PV_PRINTER_VERSION 1

/* A linear map of the plane: (a x + b y, c x + d y). */
typedef struct pv_linear {
    double a, b, c, d;
} pv_linear;

/* What is to be drawn, from the page's middle, so that the printer puts it where it belongs: the
 * inverse of the printer's map, for a page of that width and height. What isn't corrected counts as
 * true. NULL gives the map that changes nothing. */
pv_linear pv_printer_inverse(const pv_printer *printer, const double page[2]);
/* mm to compensate at each edge; 0 for NULL. */
double pv_printer_ink(const pv_printer *printer);
/* Its name, or "one printer". Belongs to the printer. */
const char *pv_printer_words(const pv_printer *printer);

/* Makes the margins (left, bottom, right, top) as much wider as a page that is corrected for the
 * printer reaches beyond a true one; page is the paper upright. By how much, mm. */
double pv_printer_widen(const pv_printer *printer, const double page[2], double margin[4]);

/* What is corrected for it; all neutral for NULL. */
pv_correction pv_printer_correction(const pv_printer *printer);
/* A printer without a name or paper for which just that is corrected. NULL where memory ran out. */
pv_printer *pv_printer_of(const pv_correction *correction);
/* NULL where memory ran out. */
pv_printer *pv_printer_copy(const pv_printer *printer);

#endif
