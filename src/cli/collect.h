/* What the files of pavior collect share. */
#ifndef CLI_COLLECT_H
#define CLI_COLLECT_H

#include "cli.h"

#define CLI_PLANS_MAX 1000 /* of a kit; ours */

typedef struct cli_collect_request {
    const char *output, *list; /* may be NULL */
    char **operands;
    size_t n;
    double jobs, part, parts; /* 0: not given */
    cli_how how;
    pv_code code; /* to be verified */
    bool verify, merge, no_reports, progress, quiet;
} cli_collect_request;

/* What a run works on. */
typedef struct cli_collect_work {
    const cli_collect_request *r;
    const char *folder; /* of the pictures; NULL: paths are as they are */
    cli_list files;     /* as listed; of a list the teams are cut out of */
    pv_collect_picture *pictures;
    size_t *file_of; /* each picture's, in `files` */
    size_t n;
    char whole[65]; /* of a part: the sum of the names of all files */
    pv_plan *plans[CLI_PLANS_MAX];
    size_t n_plans;
    char *kit_json; /* the kit's, or NULL */
    cli_progress bar;
    bool show;
} cli_collect_work;

/* False, and said, where they make no sense. */
bool cli_collect_options(cli_collect_request *r, int argc, char **argv);

/* Whether the code is that of one of the pictures; the exit status. */
int cli_collect_verify(cli_collect_request *r, pv_diags *diags);

/* All plans in the kit's folder; or one plan by itself. */
bool cli_collect_kit(cli_collect_work *w, const char *kit, pv_diags *diags);
/* What the kit says of itself. A folder without that, or where it can't be read, says nothing. */
bool cli_collect_kit_json(cli_collect_work *w, const char *kit, pv_diags *diags);
/* The pictures of the folder or the list, or the part of them that is asked for. */
bool cli_collect_find(cli_collect_work *w, pv_diags *diags);
/* A pv_collect_read; the context is the work. */
bool cli_collect_read(void *context, size_t index, unsigned char **bytes, size_t *size,
                      pv_diags *diags);

/* The file of results in the folder that is asked for, made where it isn't there. */
pv_results *cli_collect_open(const cli_collect_request *r, pv_diags *diags);
/* Makes a folder in that. */
bool cli_collect_folder(const cli_collect_request *r, const char *name, pv_diags *diags);
/* A pv_collect_has_report and a pv_collect_take_report; the context is the work. */
bool cli_collect_has_report(void *context, const char *name);
bool cli_collect_take_report(void *context, const char *name, const char *html, pv_diags *diags);
/* Of results that are put together: each picture's report out of whichever folder has it. */
bool cli_collect_copy_reports(const cli_collect_request *r, const pv_tally *tally, pv_diags *diags);
/* What follows from the results. */
bool cli_collect_write(const cli_collect_request *r, const pv_tally *tally, pv_diags *diags);

#endif
