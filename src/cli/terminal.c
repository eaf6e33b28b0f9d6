/* Writing to standard error and standard output. */
#include "cli.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define SHOWN_MAX 50  /* findings: nobody reads more at a time; the first error comes besides */
#define PATIENCE  1.0 /* s before progress is shown, and between lines of it */
#define EVERY     0.1 /* s between two states of the bar */
#define BAR_WIDTH 30

void cli_show(FILE *to, const char *text)
{
    char *safe = pv_text_safe(text);
    fputs(safe != NULL ? safe : "?", to);
    pv_free(safe);
}

void cli_show_minutes(FILE *to, double minutes)
{
    double step = minutes >= 120 ? 15 : 5;
    long rounded = (long)(step * fmax(1, round(minutes / step)));
    if (rounded < 60)
        fprintf(to, "%ld min", rounded);
    else if (rounded % 60 == 0)
        fprintf(to, "%ld h", rounded / 60);
    else
        fprintf(to, "%ld h %02ld min", rounded / 60, rounded % 60);
}

void cli_report(const pv_diags *diags, bool quiet)
{
    size_t shown = 0;
    bool told = false; /* an error */
    for (size_t i = 0; i < pv_diags_size(diags); i++) {
        const pv_diag *diag = pv_diags_at(diags, i);
        bool error = diag->severity == PV_ERROR;
        if ((quiet && !error) || (shown >= SHOWN_MAX && (told || !error)))
            continue;
        told = told || error;
        char *text = pv_diag_text(diag);
        fputs(text != NULL ? text : "error: out of memory\n", stderr);
        pv_free(text);
        shown++;
    }
    size_t all = pv_diags_count(diags, quiet ? PV_ERROR : PV_NOTE);
    if (all > shown)
        fprintf(stderr, "... and %zu more\n", all - shown);
}

int cli_status(const pv_diags *diags)
{
    switch (pv_diags_cause(diags)) {
    case PV_CAUSE_NONE:
        return CLI_OK;
    case PV_CAUSE_USAGE:
        return CLI_USAGE;
    case PV_CAUSE_DATA:
    case PV_CAUSE_LIMIT:
        return CLI_DATA;
    case PV_CAUSE_INPUT:
        return CLI_NO_INPUT;
    case PV_CAUSE_CREATE:
        return CLI_NO_CREATE;
    case PV_CAUSE_OUTPUT:
        return CLI_IO;
    case PV_CAUSE_MEMORY:
        return CLI_OS;
    case PV_CAUSE_LIBRARY:
        break;
    }
    return CLI_SOFTWARE;
}

bool cli_no_memory(pv_diags *diags)
{
    if (diags != NULL)
        pv_diags_say(diags, PV_ERROR, PV_CAUSE_MEMORY, NULL, "out of memory");
    else
        fputs("error: out of memory\n", stderr);
    return false;
}

bool cli_colour(void)
{
    const char *no = getenv("NO_COLOR");
    return (no == NULL || *no == '\0') && isatty(STDOUT_FILENO) == 1;
}

static double seconds_since(struct timespec then, struct timespec now)
{
    return (double)(now.tv_sec - then.tv_sec) + 1e-9 * (double)(now.tv_nsec - then.tv_nsec);
}

bool cli_progress_start(cli_progress *progress, const char *things, bool asked, bool quiet)
{
    *progress = (cli_progress){.things = things, .terminal = isatty(STDERR_FILENO) == 1};
    clock_gettime(CLOCK_MONOTONIC, &progress->start);
    progress->last = progress->mark = progress->start;
    return !quiet && (asked || progress->terminal);
}

/* By the pace of late: what is quick at first, because it was done before, tells little. "" where
 * nothing tells. */
static void time_left(cli_progress *p, struct timespec now, size_t done, size_t total, char out[40])
{
    double since = seconds_since(p->mark, now);
    out[0] = '\0';
    if (done <= p->marked || since <= 0)
        return;
    double left = since / (double)(done - p->marked) * (double)(total - done);
    if (left < 90)
        snprintf(out, 40, ", %.0f s left", left);
    else if (left < 5400)
        snprintf(out, 40, ", %.0f min left", left / 60);
    else
        snprintf(out, 40, ", %.1f h left", left / 3600);
    if (since > seconds_since(p->start, p->mark) + 10) {
        p->mark = now;
        p->marked = done;
    }
}

bool cli_progress_show(void *context, size_t done, size_t total)
{
    cli_progress *p = context;
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    if (seconds_since(p->start, now) < PATIENCE || done >= total)
        return true;
    if (p->shown && seconds_since(p->last, now) < (p->terminal ? EVERY : PATIENCE))
        return true;
    p->shown = true;
    p->last = now;
    char left[40];
    time_left(p, now, done, total, left);
    if (!p->terminal) {
        fprintf(stderr, "%zu of %zu %s%s\n", done, total, p->things, left);
        return true;
    }
    char bar[BAR_WIDTH + 1];
    size_t full = (size_t)(BAR_WIDTH * (double)done / (double)total);
    memset(bar, '-', BAR_WIDTH);
    memset(bar, '#', full);
    bar[BAR_WIDTH] = '\0';
    fprintf(stderr, "\r[%s] %zu of %zu %s%-14s ", bar, done, total, p->things, left);
    fflush(stderr);
    return true;
}

void cli_progress_end(cli_progress *progress)
{
    if (progress->shown && progress->terminal)
        fprintf(stderr, "\r%*s\r", BAR_WIDTH + 60, "");
}
