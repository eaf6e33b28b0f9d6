/* pavior collect: judging the pictures of many teams. */
#include "collect.h"

#include <signal.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <unistd.h>

/* The signal that asked to stop; outlives every call, since a handler is given nothing. Any thread
 * may run the handler. */
static atomic_int asked_to_stop;

static void on_stop(int number)
{
    if (asked_to_stop != 0) {
        cli_remove_staged();
        signal(number, SIG_DFL);
        raise(number);
    }
    asked_to_stop = number;
}

static void stop_on_signals(void)
{
    static const int ending[] = {SIGHUP, SIGINT, SIGTERM};
    for (size_t i = 0; i < sizeof ending / sizeof *ending; i++) {
        struct sigaction now, then = {.sa_flags = SA_RESTART};
        then.sa_handler = on_stop;
        sigemptyset(&then.sa_mask);
        if (sigaction(ending[i], NULL, &now) == 0 && now.sa_handler != SIG_IGN)
            sigaction(ending[i], &then, NULL);
    }
}

/* A pv_progress. */
static bool go_on(void *context, size_t done, size_t total)
{
    cli_collect_work *w = context;
    if (w->show)
        cli_progress_show(&w->bar, done, total);
    return asked_to_stop == 0;
}

static size_t jobs(const cli_collect_request *r)
{
    if (r->jobs > 0)
        return (size_t)r->jobs;
    long n = sysconf(_SC_NPROCESSORS_ONLN);
    return n < 1 ? 1 : n > (long)PV_COLLECT_THREADS_MAX ? PV_COLLECT_THREADS_MAX : (size_t)n;
}

static bool collect(cli_collect_work *w, pv_results *results, pv_collect_result *out,
                    pv_diags *diags)
{
    pv_collect_options options = pv_collect_defaults();
    options.how = &w->r->how.options;
    options.threads = jobs(w->r);
    options.part = (size_t)w->r->part;
    options.parts = (size_t)w->r->parts;
    options.whole = w->whole;
    options.kit_json = w->kit_json;
    if (!w->r->no_reports) {
        if (!cli_collect_folder(w->r, "report", diags))
            return false;
        options.has_report = cli_collect_has_report;
        options.take_report = cli_collect_take_report;
    }
    options.progress = go_on;
    options.progress_context = w;
    w->show = cli_progress_start(&w->bar, "pictures", w->r->progress, w->r->quiet);
    stop_on_signals();
    bool good = pv_collect(results, (const pv_plan *const *)w->plans, w->n_plans, w->pictures, w->n,
                           cli_collect_read, w, &options, out, diags);
    cli_progress_end(&w->bar);
    return good;
}

/* In some lines for whom waits at the terminal. */
static bool say_result(const cli_collect_request *r, const pv_tally *tally,
                       const pv_collect_result *out, pv_diags *diags)
{
    char *page = cli_join(r->output, "index.html");
    char *text = page != NULL ? pv_tally_text(tally, r->merge ? NULL : out, page) : NULL;
    if (text != NULL)
        fputs(text, stdout);
    pv_free(text);
    free(page);
    return text != NULL || cli_no_memory(diags);
}

/* So that no page leads to a report that was not made (--no-reports). */
static void drop_reports(const cli_collect_request *r, pv_tally *tally)
{
    cli_collect_work w = {.r = r};
    for (size_t i = 0; i < pv_tally_pictures(tally); i++) {
        const char *name = pv_tally_report(tally, i);
        if (name != NULL && !cli_collect_has_report(&w, name))
            pv_tally_lacks_report(tally, i);
    }
}

static bool finish(const cli_collect_request *r, pv_results *results, const pv_collect_result *out,
                   pv_diags *diags)
{
    pv_tally *tally = pv_tally_make(results, diags);
    bool good =
        tally != NULL && (!r->merge || r->no_reports || cli_collect_copy_reports(r, tally, diags));
    if (good)
        drop_reports(r, tally);
    good = good && cli_collect_write(r, tally, diags);
    if (good && !r->quiet)
        good = say_result(r, tally, out, diags);
    pv_tally_free(tally);
    return good;
}

static int run(const cli_collect_request *r, pv_diags *diags)
{
    cli_collect_work w = {.r = r};
    pv_collect_result out = {.measured = 0};
    pv_results *results = NULL;
    bool good = cli_collect_kit(&w, r->operands[0], diags) &&
                cli_collect_kit_json(&w, r->operands[0], diags) && cli_collect_find(&w, diags) &&
                (results = cli_collect_open(r, diags)) != NULL && collect(&w, results, &out, diags);
    if (good && out.stopped)
        fputs("stopped; what was measured is kept: run the same command again to go on\n", stderr);
    else if (good)
        good = finish(r, results, &out, diags);
    pv_results_close(results);
    for (size_t i = 0; i < w.n_plans; i++)
        pv_plan_free(w.plans[i]);
    cli_list_free(&w.files);
    free(w.kit_json);
    free(w.pictures);
    free(w.file_of);
    return !good ? cli_status(diags) : out.stopped ? 128 + asked_to_stop : CLI_OK;
}

/* The results' files in the folders that are given. */
static bool merge(const cli_collect_request *r, pv_results *results, pv_diags *diags)
{
    char **names = calloc(r->n + 1, sizeof *names);
    if (names == NULL)
        return cli_no_memory(diags);
    char *into = cli_join(r->output, "results.sqlite");
    bool good = into != NULL || cli_no_memory(diags);
    for (size_t i = 0; good && i < r->n; i++) {
        names[i] = cli_join(r->operands[i], "results.sqlite");
        good = names[i] != NULL || cli_no_memory(diags);
        if (good && cli_same_file(names[i], into)) {
            pv_diags_say(diags, PV_ERROR, PV_CAUSE_USAGE, "name another folder after -o",
                         "%s is one of the results to be merged", r->output);
            good = false;
        }
    }
    good = good && pv_results_merge(results, (const char *const *)names, r->n, diags);
    for (size_t i = 0; i < r->n; i++)
        free(names[i]);
    free(names);
    free(into);
    return good;
}

static int run_merge(const cli_collect_request *r, pv_diags *diags)
{
    pv_collect_result out = {.measured = 0};
    pv_results *results = cli_collect_open(r, diags);
    bool good = results != NULL && merge(r, results, diags) && finish(r, results, &out, diags);
    pv_results_close(results);
    return good ? CLI_OK : cli_status(diags);
}

int cli_collect(int argc, char **argv)
{
    cli_collect_request r = {.output = NULL};
    cli_how_init(&r.how);
    if (!cli_collect_options(&r, argc, argv))
        return CLI_USAGE;
    pv_diags *diags = pv_diags_new();
    int status = CLI_OS;
    if (diags != NULL) {
        status = r.verify  ? cli_collect_verify(&r, diags)
                 : r.merge ? run_merge(&r, diags)
                           : run(&r, diags);
        cli_report(diags, r.quiet);
    } else {
        cli_no_memory(NULL);
    }
    pv_diags_free(diags);
    return status;
}
