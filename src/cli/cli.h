/* What the commands share: exit statuses, options, files, findings. */
#ifndef CLI_CLI_H
#define CLI_CLI_H

#include "base/file.h"

#include <pavior/pavior.h>

#include <stdio.h>

/* 0, 1 and 2 are verdicts; the others are those of sysexits.h. */
enum {
    CLI_OK = 0,
    CLI_DOES_NOT_CONFORM = 1, /* review: something is wrong */
    CLI_UNDECIDED = 2,
    CLI_USAGE = 64,
    CLI_DATA = 65,
    CLI_NO_INPUT = 66,
    CLI_SOFTWARE = 70,
    CLI_OS = 71,
    CLI_NO_CREATE = 73,
    CLI_IO = 74
};

typedef struct cli_command {
    const char *name;
    const char *summary;
    const char *help;                  /* the whole of --help, examples included */
    int (*run)(int argc, char **argv); /* argv[0] is the command's name */
} cli_command;

extern const cli_command cli_review, cli_sheets, cli_inspect, cli_calibrate;

/* Exit status for a list's first error; CLI_OK where there is none. */
int cli_status(const pv_diags *diags);

/* A stranger's text, such as the name of a file, with a question mark for each character that
 * doesn't print (pv_prints): none can forge a line or steer a terminal. */
void cli_show(FILE *to, const char *text);

/* Prints findings to standard error: all, or errors alone if quiet. */
void cli_report(const pv_diags *diags, bool quiet);

/* A usage error in one line with a pointer to --help; gives CLI_USAGE. */
int cli_usage(const char *command, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* Options. A table ends with a NULL name. Long options are matched whole or by a unique beginning,
 * with "--name value" or "--name=value"; "--" ends options; options and operands may be mixed. */
typedef struct cli_option {
    const char *name; /* without dashes */
    char letter;      /* or 0 */
    bool has_value;
} cli_option;

typedef struct cli_scan {
    const char *command;
    const cli_option *options;
    int argc;
    char **argv;
    int next;
    const char *letters; /* rest of a bundle of one-letter options */
    bool only_operands;  /* after "--" */
    const char *value;   /* of the option or operand last given */
} cli_scan;

enum { CLI_END = -1, CLI_OPERAND = -2, CLI_BAD = -3 };

cli_scan cli_scan_start(const char *command, const cli_option *options, int argc, char **argv);
/* The index of the next option in the table, or one of the above; CLI_BAD has said why. */
int cli_scan_next(cli_scan *scan);

/* A length with unit from an option; false after saying why. */
bool cli_length(const char *command, const char *option, const char *text, double *mm);

/* A length of the print measured by hand, from --measured: "x:100mm=99.7mm", with "+-0.3mm" behind
 * it where the reading's expanded uncertainty (k = 2) isn't PV_RULER_U; false after saying why. */
bool cli_reading(const char *command, const char *text, pv_ruler_reading *out);

/* Colour on standard output: a terminal, and no NO_COLOR. */
bool cli_colour(void);

/* Both names lead to one file, there already or not yet; "-" and NULL lead to none. */
bool cli_same_file(const char *a, const char *b);

/* True, and said as a usage error, where writing `output` would overwrite `input`, which is a
 * `kind` of thing ("course"). */
bool cli_overwrites(const char *command, const char *output, const char *kind, const char *input);

/* Reads a file as pv_file_read does. False, too, and said with what to give instead, where its
 * first bytes show that it is of another kind: a PDF, a picture, or another file of pavior's. */
typedef enum cli_kind {
    CLI_KIND_COURSE,
    CLI_KIND_PLAN,
    CLI_KIND_REPORT,
    CLI_KIND_PRINTER,
    CLI_KIND_SCANNER
} cli_kind;
bool cli_read_kind(const char *name, cli_kind kind, size_t limit, pv_bytes *out, pv_diags *diags);

/* Writes text to a file ("-": standard output) and frees it; NULL text means that memory ran out.
 */
bool cli_write_text(const char *name, char *text, pv_diags *diags);

#endif
