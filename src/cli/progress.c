#include "cli/progress.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

#define PATIENCE  1.0 /* s before anything is shown, and between lines */
#define EVERY     0.1 /* s between two states of the bar */
#define BAR_WIDTH 30

static double seconds_since(struct timespec then, struct timespec now)
{
    return (double)(now.tv_sec - then.tv_sec) + 1e-9 * (double)(now.tv_nsec - then.tv_nsec);
}

bool cli_progress_start(cli_progress *progress, const char *things, bool asked, bool quiet)
{
    *progress = (cli_progress){.things = things, .terminal = isatty(STDERR_FILENO) == 1};
    clock_gettime(CLOCK_MONOTONIC, &progress->start);
    progress->last = progress->start;
    return !quiet && (asked || progress->terminal);
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
    if (!p->terminal) {
        fprintf(stderr, "%zu of %zu %s\n", done, total, p->things);
        return true;
    }
    char bar[BAR_WIDTH + 1];
    size_t full = (size_t)(BAR_WIDTH * (double)done / (double)total);
    memset(bar, '-', BAR_WIDTH);
    memset(bar, '#', full);
    bar[BAR_WIDTH] = '\0';
    fprintf(stderr, "\r[%s] %zu of %zu %s ", bar, done, total, p->things);
    fflush(stderr);
    return true;
}

void cli_progress_end(cli_progress *progress)
{
    if (progress->shown && progress->terminal)
        fprintf(stderr, "\r%*s\r", BAR_WIDTH + 50, "");
}
