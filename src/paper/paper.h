/* Sheet sizes by name (its table's public face is in pavior/sheets.h), and what a printer can't
 * reach of them. */
#ifndef PAPER_PAPER_H
#define PAPER_PAPER_H

#include "base/diag.h"

#include <pavior/sheets.h>

#define PV_PAPER_SIDE_MIN 50.0   /* mm */
#define PV_PAPER_SIDE_MAX 5080.0 /* mm: 14,400 pt, the largest PDF page (ISO 32000-1, annex C) */
#define PV_MARGIN_DEFAULT 5.0    /* mm; common practice for office printers, no source */

/* A size by PWG 5101.1 name, everyday name (case and blanks don't count), or custom size ("300 x
 * 450 mm", "11x17in", "custom_..._300x450mm"). Upright. False with the nearest names where there is
 * none. name_out gets the name to show; the caller frees it. */
bool pv_paper_find(const char *text, char **name_out, double *width, double *height,
                   pv_diags *diags);

/* What a printer of a class (pv_printer_class) leaves blank of a page as printed: left, bottom,
 * right, top; for either orientation where that is left open. False where there is no such class.
 */
bool pv_class_margins(const char *name, pv_orientation orientation, double margin[4]);

#endif
