/* pavior/printer.h - what a printer does to a page, and printing so that it comes out true.
 *
 * The printer's own frame is that of the upright page as it is sent: x across, y up. A page that is
 * sent lying is taken to be turned by a quarter on its way to the paper, which is the same stack:
 * its x runs along the upright page's y. A point p of the page, from the page's middle, is printed
 * at (x y, both lengths true mm)
 *     (scale_x p_x + scale_y sin(skew) p_y, scale_y cos(skew) p_y)
 * but for a turn, and every edge between dark and light moves by `ink` into the light. */
#ifndef PAVIOR_PRINTER_H
#define PAVIOR_PRINTER_H

#include <pavior/inspect.h>

#ifdef __cplusplus
extern "C" {
#endif

/* The largest corrections that are believed. Past them something else is wrong: a print dialog
 * that fits pages to the paper, or measurements of another paper. Estimates. */
#define PV_PRINTER_SCALE_MIN 0.9
#define PV_PRINTER_SCALE_MAX 1.1
#define PV_PRINTER_SKEW_MAX  20.0   /* mrad */
#define PV_PRINTER_INK_MAX   0.3    /* mm */
#define PV_PRINTER_SCALE_U   1.0    /* the largest U that is written down, */
#define PV_PRINTER_SKEW_U    1000.0 /* mrad, */
#define PV_PRINTER_INK_U     10.0   /* mm */
#define PV_PRINTER_NAME_MAX  100    /* bytes */
#define PV_PRINTER_BYTES_MAX (1u << 20)

/* One property with its expanded uncertainty for 95.45 %. U 0: it wasn't measured, or what was
 * measured isn't believed; the value is then a true printer's, and the file has null. */
typedef struct pv_printer_value {
    double value, U;
    bool corrected; /* sheets correct for it; else it is only on record */
} pv_printer_value;

/* A result: the library takes it only as the library made it. */
struct pv_printer {
    char *name;                /* of the printer, or NULL */
    char *paper;               /* by which it was measured */
    double page[2];            /* mm, that paper upright */
    pv_printer_value scale[2]; /* printed mm per nominal mm, x and y of its own frame */
    pv_printer_value skew;     /* mrad by which x and y enclose less than a right angle */
    pv_printer_value ink;      /* mm by which dark spreads into light at each edge */
};

/* The printer file (docs/use/calibrating.md) and back. NULL with a reason, or where memory ran out.
 * The caller frees what comes out with pv_printer_free and pv_free. */
PV_API pv_printer *pv_printer_parse(const char *text, size_t length, const char *name,
                                    pv_diags *diags);
PV_API char *pv_printer_json(const pv_printer *printer, pv_diags *diags);
PV_API void pv_printer_free(pv_printer *printer); /* NULL is fine */

/* An inspection report (`pavior inspect --json`) to calibrate from. Borrowed. `name` stands for it
 * in messages and may not be NULL. */
typedef struct pv_report_text {
    const char *name, *text;
    size_t length;
} pv_report_text;

#define PV_REPORT_BYTES_MAX   (64u << 20)
#define PV_REPORTS_IMAGES_MAX 1000u /* in all reports together */

/* What one or more reports say of the printer, by weight. Notes say what was found, what is left
 * uncorrected and why, and which images were not used. `name` becomes the printer's, at most
 * PV_PRINTER_NAME_MAX bytes; NULL: none. NULL with a reason where the measurements don't support
 * any correction. The caller frees it with pv_printer_free. */
PV_API pv_printer *pv_calibrate_printer(const pv_report_text *reports, size_t n, const char *name,
                                        pv_diags *diags);

/* What scans with another reference besides the scanner say of the scanner. NULL with a reason. The
 * caller frees it with pv_scanner_free. */
PV_API pv_scanner *pv_calibrate_scanner(const pv_report_text *reports, size_t n, pv_diags *diags);

/* The scanner file (docs/reference/printer-format.md) and back. NULL with a reason: text that is no
 * such file, or memory. The caller frees what comes out with pv_scanner_free and pv_free. */
PV_API pv_scanner *pv_scanner_parse(const char *text, size_t length, const char *name,
                                    pv_diags *diags);
PV_API char *pv_scanner_json(const pv_scanner *scanner, pv_diags *diags);
PV_API void pv_scanner_free(pv_scanner *scanner); /* NULL is fine */

#ifdef __cplusplus
}
#endif
#endif
