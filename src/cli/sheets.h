/* What pavior sheets was asked for and what it made: sheets.c makes, sheets_files.c writes,
 * sheets_say.c tells, and sheets_help.c has the words of --help. */
#ifndef CLI_SHEETS_H
#define CLI_SHEETS_H

#include "cli/cli.h"
#include "plan/layout.h"
#include "plan/takeoff.h"
#include "json/json.h"

#include <pavior/printer.h>

#include <stdio.h>

extern const char cli_sheets_help[];

typedef struct cli_sheets_request {
    const char *course, *range, *output, *plan, *printer, *font; /* borrowed, may be NULL */
    pv_layout_options layout;
    const char *printer_class;           /* whose margins hold where none are given */
    bool margin_given[4], side_given[4]; /* at all; by its own name */
    bool gray, sparing;
    double paper_weight; /* g/m2 */
    bool paper_by_locale, overlap_given, joint_given, list, replace;
    bool proof, explain, json, quiet, progress;
    char *pdf_name, *plan_name; /* owned */
} cli_sheets_request;

/* One PDF of one or several. */
typedef struct cli_sheets_part {
    char *name;         /* owned */
    size_t first, last; /* sheets */
    size_t pages;
    pv_staged staged; /* until it is put in place */
} cli_sheets_part;

/* The files. PDFs come one after the other and are written beside their place; the plan comes last,
 * and with it all are put in place. */
typedef struct cli_sheets_output {
    const char *pdf_name, *plan_name; /* borrowed */
    bool pdf_stream, plan_stream;     /* no file that could be replaced */
    cli_sheets_part *parts;
    size_t n_parts, cap_parts;
    unsigned char *pdf; /* for a stream, which takes only one */
    size_t pdf_size;
    pv_staged plan;
} cli_sheets_output;

void cli_sheets_output_init(cli_sheets_output *o, const char *pdf, const char *plan);
/* Leaves nothing of what was not put in place. */
void cli_sheets_output_drop(cli_sheets_output *o);
/* A pv_pdf_sink; the context is a cli_sheets_output. */
bool cli_sheets_take_part(void *context, const pv_pdf_part *part, pv_diags *diags);
/* Puts all in place, or leaves nothing and says why. */
bool cli_sheets_write(cli_sheets_output *o, const char *plan_text, pv_diags *diags);

/* What was made. */
typedef struct cli_sheets_product {
    pv_plan *plan;
    pv_printer *printer; /* or NULL */
    pv_type *type;
    double widened; /* mm by which its correction widened the margins */
    bool *chosen;
    size_t printed;
    char *plan_text;
    char *explained;  /* or NULL */
    pv_takeoff takes; /* nothing for a proof, or where nobody is told */
    cli_sheets_output output;
} cli_sheets_product;

/* Takes one --margin; false after saying why not. */
bool cli_sheets_margin(cli_sheets_request *r, const char *text);
/* Fills in the class's margins, once all options are known. */
void cli_sheets_settle_margins(cli_sheets_request *r);

/* With a range, sheets are printed again, to go with those that were printed before: false with a
 * reason where the plan that lies beside them isn't this one. */
bool cli_sheets_same_plan(const cli_sheets_request *r, const cli_sheets_product *p,
                          pv_diags *diags);

/* Where no file is named and nothing is said of replacing, the plan of other prints is not
 * overwritten: without it they can't be inspected. False with a reason. */
bool cli_sheets_keeps_others(const cli_sheets_request *r, const cli_sheets_product *p,
                             pv_diags *diags);

/* Takes --paper-weight; false after saying why not. */
bool cli_sheets_paper_weight(cli_sheets_request *r, const char *text);
void cli_sheets_say_takes(FILE *to, const cli_sheets_request *r, const pv_takeoff *takes);
void cli_sheets_json_takes(pv_json_writer *w, const cli_sheets_request *r, const pv_plan *plan,
                           const pv_takeoff *takes);

/* Says what was made, as text or JSON; false after saying that memory ran out. */
bool cli_sheets_tell(const cli_sheets_request *r, const cli_sheets_product *p);

#endif
