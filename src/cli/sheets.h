/* pavior sheets, in two files: sheets.c reads the options, makes the PDFs and the plan and puts
 * them in place; sheets_tell.c says what was made. */
#ifndef CLI_SHEETS_H
#define CLI_SHEETS_H

#include "cli.h"

typedef struct sheets_request {
    const char *course, *range, *output, *plan, *keep, *printer, *font; /* may be NULL */
    pv_layout_options layout;
    double weight; /* g/m2, of the paper */
    bool portrait, landscape, joint_given, overlap_given, gray, sparing, proof;
    bool list, explain, json, replace, no_guide, progress, quiet, paper_by_locale;
    bool side_given[4];
    char *pdf_name, *plan_name; /* owned */
} sheets_request;

/* One PDF of one or several. */
typedef struct sheets_part {
    char *name; /* owned */
    size_t first, last, pages;
    cli_staged staged; /* until it is put in place */
} sheets_part;

/* What was made. The PDFs come one after the other and are written beside their place; the plan
 * comes last, and with it all are put in place. */
typedef struct sheets_product {
    const sheets_request *asked;
    pv_printer *printer; /* or NULL */
    pv_type *type;
    pv_plan *plan;
    pv_plan *keep;             /* the older plan, or NULL */
    pv_comparison *comparison; /* with it, or NULL */
    pv_summary *summary;
    pv_takeoff *takes; /* NULL for a proof, or if no output shows it */
    char *plan_text, *explained;
    sheets_part *parts;
    size_t n_parts, pages, guide; /* guide: pages of the first PDF */
    cli_bytes stream;             /* the PDF, where it goes to no file that could be replaced */
    cli_staged staged_plan;
} sheets_product;

/* Exit status; CLI_OK where the request is whole. The caller frees its names either way. */
int sheets_options(sheets_request *request, int argc, char **argv);

/* How long a PDF's name is without its last ".pdf". */
size_t sheets_stem(const char *pdf);
/* "F.pdf" with another ending; NULL where memory ran out. The caller frees it. */
char *sheets_beside(const char *pdf, const char *ending);

/* Says what was made, as text or JSON, on standard output; on standard error where a file goes
 * there. */
void sheets_tell(const sheets_product *product);

#endif
