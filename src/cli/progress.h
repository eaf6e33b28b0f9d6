/* Progress on standard error, for work that takes longer than a second. */
#ifndef CLI_PROGRESS_H
#define CLI_PROGRESS_H

#include <stdbool.h>
#include <stddef.h>
#include <time.h>

typedef struct cli_progress {
    const char *things; /* of which there are so many: "sheets" */
    bool terminal;      /* a bar that is drawn anew; else a line each time */
    struct timespec start, last;
    bool shown;
} cli_progress;

/* True where it is to be shown: on a terminal or if asked for, and never if quiet. */
bool cli_progress_start(cli_progress *progress, const char *things, bool asked, bool quiet);
/* A pv_progress; the context is a cli_progress. */
bool cli_progress_show(void *context, size_t done, size_t total);
/* Wipes the bar off a terminal. */
void cli_progress_end(cli_progress *progress);

#endif
