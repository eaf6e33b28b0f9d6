/* The options of pavior collect. */
#include "collect.h"

#include <ctype.h>
#include <stdlib.h>

static bool take_jobs(void *to, const char *text)
{
    cli_collect_request *r = to;
    if (!cli_number("collect", "-j", text, "", 1, PV_COLLECT_THREADS_MAX, &r->jobs))
        return false;
    r->jobs = (double)(size_t)r->jobs;
    return true;
}

static bool take_part(void *to, const char *text)
{
    cli_collect_request *r = to;
    char *slash = NULL, *end = NULL;
    unsigned long part = strtoul(text, &slash, 10);
    unsigned long parts = *slash == '/' ? strtoul(slash + 1, &end, 10) : 0;
    if (isdigit((unsigned char)*text) && end != NULL && isdigit((unsigned char)slash[1]) &&
        *end == '\0' && part >= 1 && part <= parts && parts <= PV_COLLECT_PICTURES_MAX) {
        r->part = (double)part;
        r->parts = (double)parts;
        return true;
    }
    cli_usage("collect", "--part needs K/N, from 1/N to N/N, such as 2/3, not \"%.100s\"", text);
    return false;
}

static bool take_scanner(void *to, const char *text)
{
    cli_collect_request *r = to;
    if (cli_scanner_kind(text, &r->how.scanner_kind))
        return true;
    cli_usage("collect",
              "--scanner knows the kinds flatbed, feeder, feeder-short and feeder-long, not "
              "\"%.100s\"",
              text);
    return false;
}

static bool take_uncertainty(void *to, const char *text)
{
    cli_collect_request *r = to;
    double percent = 0;
    if (!cli_number("collect", "--scanner-uncertainty", text, "%", 0.004, 10, &percent))
        return false;
    r->how.scanner_U_rel = percent / 100;
    return true;
}

static const char *contradiction(const cli_collect_request *r)
{
    if (r->output == NULL)
        return "-o is missing: name a folder for the results";
    if (r->merge && (r->list != NULL || r->parts > 0 || r->jobs > 0))
        return "--merge only puts results together: it takes no --list, --part or -j";
    if (r->merge && r->n == 0)
        return "--merge needs the folders of results to put together";
    if (!r->merge && r->n == 0)
        return "no kit given";
    if (!r->merge && r->n == 1 && r->list == NULL)
        return "no folder of pictures given";
    if (!r->merge && r->n > 2)
        return "give one kit and one folder of pictures";
    return NULL;
}

bool cli_collect_options(cli_collect_request *r, int argc, char **argv)
{
    const cli_option options[] = {{"output", 'o', .word = &r->output},
                                  {"list", 0, .word = &r->list},
                                  {"part", 0, .take = take_part},
                                  {"merge", 0, .flag = &r->merge},
                                  {"jobs", 'j', .take = take_jobs},
                                  {"scanner", 0, .take = take_scanner},
                                  {"language", 0, .language = &r->how.language},
                                  {"scanner-uncertainty", 0, .take = take_uncertainty},
                                  {"no-reports", 0, .flag = &r->no_reports},
                                  {"progress", 0, .flag = &r->progress},
                                  {"quiet", 'q', .flag = &r->quiet},
                                  {0}};
    int n = cli_options("collect", options, r, argc, argv);
    if (n < 0)
        return false;
    r->operands = argv;
    r->n = (size_t)n;
    const char *why = contradiction(r);
    if (why != NULL)
        cli_usage("collect", "%s", why);
    return why == NULL;
}
