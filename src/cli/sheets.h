/* What pavior sheets was asked for and what it made: sheets.c makes, sheets_say.c tells. */
#ifndef CLI_SHEETS_H
#define CLI_SHEETS_H

#include "cli/cli.h"
#include "plan/layout.h"
#include "plan/takeoff.h"
#include "json/json.h"

#include <pavior/printer.h>

#include <stdio.h>

typedef struct cli_sheets_request {
    const char *course, *range, *output, *plan, *printer, *font; /* borrowed, may be NULL */
    pv_layout_options layout;
    const char *printer_class; /* whose margins hold where none are given */
    bool margin_given[4];
    bool gray, sparing;
    double paper_weight; /* g/m2 */
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
    pv_takeoff takes; /* nothing for a proof, or where nobody is told */
} cli_sheets_product;

/* Takes one --margin; false after saying why not. */
bool cli_sheets_margin(cli_sheets_request *r, const char *text);
/* Fills in the class's margins, once all options are known. */
void cli_sheets_settle_margins(cli_sheets_request *r);

/* With a range, sheets are printed again, to go with those that were printed before: false with a
 * reason where the plan that lies beside them isn't this one. */
bool cli_sheets_same_plan(const cli_sheets_request *r, const cli_sheets_product *p,
                          pv_diags *diags);

/* Takes --paper-weight; false after saying why not. */
bool cli_sheets_paper_weight(cli_sheets_request *r, const char *text);
void cli_sheets_say_takes(FILE *to, const cli_sheets_request *r, const pv_takeoff *takes);
void cli_sheets_json_takes(pv_json_writer *w, const cli_sheets_request *r, const pv_plan *plan,
                           const pv_takeoff *takes);

/* Says what was made, as text or JSON; false after saying that memory ran out. */
bool cli_sheets_tell(const cli_sheets_request *r, const cli_sheets_product *p);

#endif
