/* What the commands share. main.c finds the command; a command is one file, or a few that begin
 * with its name; its help is a text in embedded/. All of them stand on the library's public headers
 * and on libc alone. */
#ifndef CLI_CLI_H
#define CLI_CLI_H

#include <pavior/pavior.h>

#include <signal.h>
#include <stdio.h>
#include <time.h>

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

/* Each command; argv[0] is its name. */
int cli_review(int argc, char **argv);
int cli_sheets(int argc, char **argv);
int cli_inspect(int argc, char **argv);
int cli_calibrate(int argc, char **argv);
int cli_kit(int argc, char **argv);
int cli_collect(int argc, char **argv);

/* ---- options.c ---- */

/* An option is known by its name or a unique beginning of it. One of the last five says what it
 * does; all but `flag` take a value: "--name value" or "--name=value". */
typedef struct cli_option {
    const char *name; /* without dashes; a table ends with NULL */
    char letter;      /* or 0 */
    bool *flag;
    const char **word;
    double *length;                                 /* mm, typed with its unit */
    const pv_language **language;                   /* by its code */
    bool (*take)(void *request, const char *value); /* false after saying why */
} cli_option;

/* Does what all options say, and moves the operands to argv's start. Options and operands may be
 * mixed; "--" ends the options. The number of operands, or -1 after saying what is wrong. */
int cli_options(const char *command, const cli_option *options, void *request, int argc,
                char **argv);

/* A length with its unit; false after saying why. */
bool cli_length(const char *command, const char *option, const char *text, double *mm);

/* A plain number, with that unit behind it or without; false after saying why. */
bool cli_number(const char *command, const char *option, const char *text, const char *unit,
                double least, double most, double *value);

/* A kind of scanner by its name; false, and nothing said, where there is none. */
bool cli_scanner_kind(const char *text, pv_scanner_kind *kind);

/* A usage error in one line with a pointer to --help; gives CLI_USAGE. */
int cli_usage(const char *command, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* ---- terminal.c ---- */

/* A stranger's text, such as a file's name, made safe (pv_text_safe). */
void cli_show(FILE *to, const char *text);
/* A time by a rule of thumb: rounded to a quarter of an hour from two hours on, else to five
 * minutes. */
void cli_show_minutes(FILE *to, double minutes);
/* Prints findings to standard error: all, or errors alone if quiet. */
void cli_report(const pv_diags *diags, bool quiet);
/* The exit status for a list's first error; CLI_OK where there is none. */
int cli_status(const pv_diags *diags);
/* Out of memory, said in the list if there is one, else at once; gives false. */
bool cli_no_memory(pv_diags *diags);
/* Colour on standard output: a terminal, and no NO_COLOR. */
bool cli_colour(void);

/* Progress on standard error, for work that takes longer than a second, with the time that is left.
 */
typedef struct cli_progress {
    const char *things; /* what is counted: "sheets" */
    bool terminal;      /* a bar that is redrawn; else a line each time */
    struct timespec start, last;
    struct timespec mark; /* from when on the time that is left is reckoned, */
    size_t marked;        /* and what was done by then */
    bool shown;
} cli_progress;

/* Whether to show it: on a terminal or if asked for, and never if quiet. */
bool cli_progress_start(cli_progress *progress, const char *things, bool asked, bool quiet);
/* A pv_progress; the context is a cli_progress. */
bool cli_progress_show(void *context, size_t done, size_t total);
void cli_progress_end(cli_progress *progress); /* wipes the bar off a terminal */

/* ---- files.c ---- */

typedef struct cli_bytes {
    unsigned char *data;
    size_t size;
} cli_bytes;

/* Reads a whole file ("-": standard input) of at most `limit` bytes; a NUL follows the last byte.
 * The caller frees data with free(). False with a reason in diags. */
bool cli_read(const char *name, size_t limit, cli_bytes *out, pv_diags *diags);
/* The same of a file of that kind; another kind is refused, saying what to give instead. */
bool cli_read_kind(const char *name, pv_file_kind kind, size_t limit, cli_bytes *out,
                   pv_diags *diags);
/* An ordinary file, or a link to one: what is found under a name in a stranger's folder may as well
 * be a pipe, which would keep us waiting. False, and said. */
bool cli_is_file(const char *name, pv_diags *diags);
/* A name for messages: "standard input" for "-". */
const char *cli_input_name(const char *name);

/* True for a file that pavior wrote and can write again: a report, a printer's or a scanner's file.
 * Not a plan, without which prints can't be inspected; nor what is protected against writing. */
bool cli_is_ours(const char *name);

/* Says what could not be done with a file and why (an errno); gives false. */
bool cli_fail_file(pv_diags *diags, pv_cause cause, const char *what, const char *name, int why);
/* False with errno set. */
bool cli_write_all(int fd, const unsigned char *data, size_t size);
/* Writes all to an open file and closes it; `sync`: waits until it is on the disk. False, and said.
 */
bool cli_fill(int fd, const char *name, const void *data, size_t size, bool sync, pv_diags *diags);
/* The folder in which a file is or would be; NULL without memory. The caller frees it. */
char *cli_folder(const char *name);

/* "-", or a name like /dev/stdout for what standard output is, even if it is a file. */
bool cli_is_output(const char *name);
/* True for "-", a device (and /dev/stdout, even if that is a file), a pipe or the like: written to
 * as it is, never replaced. */
bool cli_is_stream(const char *name);

/* Both names lead to one file, there already or not yet; "-" and NULL lead to none. */
bool cli_same_file(const char *a, const char *b);
/* True, and said as a usage error, where writing `output` would overwrite `input`, which is a
 * `kind` of thing ("course"). */
bool cli_overwrites(const char *command, const char *output, const char *kind, const char *input);

/* ---- how.c ---- */

/* By what an image is measured. */
typedef struct cli_how {
    pv_inspect_options options; /* its readings are those below, its scanner the file's */
    pv_ruler_reading readings[PV_READINGS_MAX];
    const char *scanner; /* a scanner's file, or NULL */
    pv_scanner *own;     /* what is in it */
} cli_how;

void cli_how_init(cli_how *how); /* it stays where it is from then on */
/* The values of --dpi, --scanner-uncertainty, --scanner (a kind, else a file) and --measured
 * ("P-Q=196.4mm", with "+-0.2mm" behind it where the reading's expanded uncertainty, k = 2, is
 * stated). False after saying why. */
bool cli_how_dpi(const char *command, cli_how *how, const char *text);
bool cli_how_uncertainty(const char *command, cli_how *how, const char *text);
bool cli_how_scanner(const char *command, cli_how *how, const char *text);
bool cli_how_measured(const char *command, cli_how *how, const char *text);
/* What they contradict in each other; NULL where nothing. */
const char *cli_how_contradiction(const cli_how *how);
/* Reads the scanner's file, if one was given. False, and said. */
bool cli_how_open(cli_how *how, pv_diags *diags);
void cli_how_close(cli_how *how);

/* ---- kit_scripts.c ---- */

/* The scripts for the pages that inspect sheets and that draw courses in a browser; of what is not
 * installed none, with a warning. False with a reason. The caller frees the data of both. */
bool cli_kit_scripts(cli_bytes *checker, cli_bytes *maker, pv_diags *diags);

/* ---- place.c ---- */

/* Writes a file in one step, or leaves what is there as it was and says why; "-" is standard
 * output. What holds something else is replaced only where `replace`, or where it is one of ours.
 */
bool cli_write(const char *name, const void *data, size_t size, bool replace, pv_diags *diags);
/* Writes text from the library and frees it; NULL means that the library has said why not, or that
 * memory ran out. */
bool cli_write_text(const char *name, char *text, bool replace, pv_diags *diags);

/* New content of a file, whole and on the disk, beside the file's place. */
typedef struct cli_staged {
    char *beside; /* NULL: nothing is staged */
} cli_staged;

/* False, and said, where it can't be written. Not for streams. */
bool cli_stage(const char *name, const void *data, size_t size, cli_staged *out, pv_diags *diags);
/* Puts files that belong together in their places, each in the folder where it was staged; or none:
 * then former files are as they were, and new ones gone. What can't be put back is said by the name
 * under which it was kept. Without `replace` each place must be free, or hold the same bytes; of
 * two programs that want a place at once, one gets it. One program at a time does this in the
 * folder of the first name. */
bool cli_settle(cli_staged *const *staged, const char *const *names, size_t n, bool replace,
                pv_diags *diags);
void cli_discard(cli_staged *staged);
/* Removes what is staged, CLI_STAGED_MAX files at most: for a signal's handler that ends the
 * program. Signals wait while files are put in place. */
#define CLI_STAGED_MAX 64
void cli_remove_staged(void);
/* Signals that would end the program wait meanwhile; errno stays. */
void cli_hold_signals(sigset_t *before);
void cli_release_signals(const sigset_t *before);

/* ---- folder.c ---- */

/* A kit's folder, written beside its place; one at a time. */
typedef struct cli_folder_staged cli_folder_staged;

#define CLI_SUMS_MAX (64u << 20) /* bytes of a SHA256SUMS */

/* NULL, and said, where it can't be written, or where a kit must not go: what is there must be
 * empty, or with `replace` a kit. */
cli_folder_staged *cli_folder_stage(const char *name, bool replace, pv_diags *diags);
/* A pv_kit_sink; the context is the folder. */
bool cli_folder_add(void *folder, const pv_kit_member *member, pv_diags *diags);
/* Puts it in its place: in one step where that is free. Over a kit, file by file; files of the
 * former kit that the new one lacks go, if nobody has changed them, and other files stay. False,
 * and said. */
bool cli_folder_settle(cli_folder_staged *folder, pv_diags *diags);
/* Removes what is not in its place, and frees all; NULL is fine. */
void cli_folder_discard(cli_folder_staged *folder);
/* For a signal's handler, as cli_remove_staged. */
void cli_remove_folder(void);

/* ---- tree.c ---- */

/* Files, by their paths below a folder. */
typedef struct cli_listed {
    char *name;
    const char *problem; /* why it is not to be read, or NULL */
} cli_listed;
typedef struct cli_list {
    cli_listed *items;
    size_t n, room;
} cli_list;

/* Takes the name over; NULL for it is memory that ran out. False, and said, where that or a limit
 * fails. */
bool cli_list_add(cli_list *list, char *name, const char *problem, pv_diags *diags);
void cli_list_free(cli_list *list);
/* All files in a folder and its folders, in order; those whose names begin with a dot, and what
 * file managers leave (Thumbs.db), are passed over, links are not followed, and what can't be read
 * is listed with its problem. So is a folder right in it, as "NAME/", that holds no file. */
bool cli_walk(const char *folder, cli_list *out, pv_diags *diags);
extern const char cli_no_file[]; /* that problem */

/* "FOLDER/NAME"; NULL where memory ran out. The caller frees it. */
char *cli_join(const char *folder, const char *name);
/* Makes it, unless it is there. */
bool cli_make_folder(const char *name, pv_diags *diags);
/* Reads an ordinary file, never what a link leads to; a NUL follows its bytes. The caller frees
 * data with free(). Its messages call the file "it". */
bool cli_read_strangers(const char *name, size_t limit, cli_bytes *out, pv_diags *diags);

#endif
