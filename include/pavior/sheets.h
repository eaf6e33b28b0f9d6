/* pavior/sheets.h - a course laid out on sheets: the plan, and the pages to print. */
#ifndef PAVIOR_SHEETS_H
#define PAVIOR_SHEETS_H

#include <pavior/course.h>

#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/* A sheet size. Upright: width <= height. */
typedef struct pv_paper {
    const char *name;     /* PWG 5101.1 self-describing name, "iso_a4_210x297mm" */
    const char *everyday; /* "A4", "letter", "B4 JIS", "ARCH C"; equals name for custom sizes */
    double width, height; /* mm */
} pv_paper;

PV_API size_t pv_paper_count(void);
PV_API const pv_paper *pv_paper_at(size_t index); /* NULL past the end */

typedef enum pv_orientation { PV_FEWEST, PV_PORTRAIT, PV_LANDSCAPE } pv_orientation;

/* How sheets meet: the one over the other at each seam, or edge to edge, taped from beneath. */
typedef enum pv_joint { PV_JOINT_LAP, PV_JOINT_BUTT } pv_joint;

/* All lengths in mm. Start from pv_layout_defaults. */
typedef struct pv_layout_options {
    const char *paper; /* a name of either kind, or a custom size such as "300x450mm" */
    pv_orientation orientation;
    double margin[4]; /* left, bottom, right, top of the page as printed: not printable */
    double overlap;   /* how far an under sheet continues beneath its neighbour */
    pv_joint joint;
    pv_type *type; /* for a proof's words, and needed for those alone */
    double border; /* left blank beyond the mat's own edges, inside of the outer trim lines */
    /* Wide format: a roll of this width instead of `paper`; else 0. The margins are then those of
     * the roll: left and right its edges, bottom and top a page's ends. The orientation says which
     * way the roll runs: up the mat (portrait) or along it. */
    double roll;
    double panel_length; /* of a page along the roll, at most; 0: as long as need be */
} pv_layout_options;

PV_API pv_layout_options pv_layout_defaults(void);
/* The same for a roll of that width, with a plotter's margins. */
PV_API pv_layout_options pv_layout_roll_defaults(double width);

/* Classes of printers by what they leave blank: "laser", "inkjet", "borderless"; NULL past the end.
 * The margins are those of a page as printed, for either way round where that is left open. False
 * where there is no such class. */
PV_API const char *pv_printer_class(size_t index);
PV_API bool pv_printer_class_margins(const char *name, pv_orientation orientation,
                                     double margin[4]);

/* What sheets are corrected for when they are printed, in the printer's own frame
 * (pavior/printer.h): neutral (1, 1, 0, 0) where nothing is. */
typedef struct pv_correction {
    bool any;        /* false: the sheets are drawn as planned, and nothing below counts */
    double scale[2]; /* printed mm per nominal mm that were taken off */
    double skew;     /* mrad */
    double ink;      /* mm at each edge */
} pv_correction;

typedef struct pv_plan pv_plan;

/* Lays a course on sheets. NULL with a reason where that is impossible. The plan holds copies of
 * all that it needs. The caller frees it. */
PV_API pv_plan *pv_plan_make(const pv_course *course, const pv_layout_options *options,
                             pv_diags *diags);
/* One page to measure a printer by, as a plan of one sheet; it stands upright, and the overlap is
 * its own. NULL with a reason. The caller frees it. */
PV_API pv_plan *pv_plan_proof(const pv_layout_options *options, pv_diags *diags);
PV_API void pv_plan_free(pv_plan *plan);

/* The plan as JSON (docs/reference/plan-format.md) and back. Reading checks everything: a plan that
 * was read is as good as one that was made. */
#define PV_PLAN_BYTES_MAX (128u << 20)
/* A sheet's number has 14 bits of its tags, and past 16,384 sheets a 15th, which the fingerprint
 * gives up. */
#define PV_PLAN_SHEETS_MAX 32768u
PV_API char *pv_plan_json(const pv_plan *plan, pv_diags *diags);
PV_API pv_plan *pv_plan_parse(const char *text, size_t length, const char *name, pv_diags *diags);

PV_API size_t pv_plan_sheets(const pv_plan *plan);
PV_API const char *pv_plan_sheet_name(const pv_plan *plan, size_t sheet); /* "A1" */
PV_API size_t pv_plan_rows(const pv_plan *plan);
PV_API size_t pv_plan_columns(const pv_plan *plan);
PV_API const char *pv_plan_paper(const pv_plan *plan);
PV_API double pv_plan_page_width(const pv_plan *plan);  /* mm, as printed */
PV_API double pv_plan_page_height(const pv_plan *plan); /* mm */
PV_API unsigned pv_plan_fingerprint(const pv_plan *plan);
PV_API size_t pv_plan_taping(const pv_plan *plan,
                             size_t turn); /* the sheet to be laid in that turn,
                                              from 0; SIZE_MAX past the end */

/* What each seam of a plan costs and why it lies where it does, as text (docs/how/seams.md); the
 * plan is of that course. The caller frees it with pv_free. NULL with a reason. */
PV_API char *pv_plan_explain(const pv_plan *plan, const pv_course *course, pv_diags *diags);

/* Which sheets: "A1", "A1-B3" (a rectangle of sheets), several with commas; NULL means all.
 * *chosen gets one flag a sheet; the caller frees it with pv_free. */
PV_API bool pv_plan_choose(const pv_plan *plan, const char *range, bool **chosen, pv_diags *diags);

/* Called now and then with 0 to `total`; returning false stops the work. */
typedef bool pv_progress(void *context, size_t done, size_t total);

/* Sheets as one or more files, for more pages than one should hold: a file takes no further page
 * once it has PV_PDF_PAGES_MAX of them, or PV_PDF_CONTENTS_MAX bytes of their contents before
 * compression. Each is handed over when it is whole, and may be written and forgotten; returning
 * false, having said why, stops the work. */
#define PV_PDF_PAGES_MAX    1000u
#define PV_PDF_CONTENTS_MAX (64u << 20)

typedef struct pv_pdf_part {
    size_t number;      /* from 1 */
    size_t first, last; /* sheets */
    size_t pages;
    const unsigned char *bytes; /* only during the call */
    size_t size;
} pv_pdf_part;

typedef bool pv_pdf_sink(void *context, const pv_pdf_part *part, pv_diags *diags);

/* One sheet as SVG at true size, its words in the course's type; the caller frees it with pv_free.
 */
PV_API char *pv_sheet_svg(const pv_plan *plan, size_t sheet, pv_type *type, pv_diags *diags);

#ifdef __cplusplus
}
#endif
#endif
