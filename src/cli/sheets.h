/* What pavior sheets was asked for and what it made: sheets.c makes, sheets_say.c tells. */
#ifndef CLI_SHEETS_H
#define CLI_SHEETS_H

#include "cli/cli.h"
#include "plan/layout.h"

#include <pavior/printer.h>

typedef struct cli_sheets_request {
    const char *course, *range, *output, *plan, *printer, *font; /* borrowed, may be NULL */
    pv_layout_options layout;
    bool paper_by_locale, overlap_given, list, proof, json, quiet;
    char *pdf_name, *plan_name; /* owned */
} cli_sheets_request;

/* What was made, ready to be written. */
typedef struct cli_sheets_product {
    pv_plan *plan;
    pv_printer *printer; /* or NULL */
    pv_type *type;
    double widened; /* mm by which its correction widened the margins */
    bool *chosen;
    size_t printed;
    unsigned char *pdf;
    size_t pdf_size;
    char *plan_text;
} cli_sheets_product;

/* Says what was made, as text or JSON; false after saying that memory ran out. */
bool cli_sheets_tell(const cli_sheets_request *r, const cli_sheets_product *p);

#endif
