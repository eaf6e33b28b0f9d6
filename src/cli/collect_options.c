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

static bool take_dpi(void *to, const char *text)
{
    return cli_how_dpi("collect", &((cli_collect_request *)to)->how, text);
}

static bool take_uncertainty(void *to, const char *text)
{
    return cli_how_uncertainty("collect", &((cli_collect_request *)to)->how, text);
}

static bool take_scanner(void *to, const char *text)
{
    return cli_how_scanner("collect", &((cli_collect_request *)to)->how, text);
}

static bool take_reading(void *to, const char *text)
{
    return cli_how_measured("collect", &((cli_collect_request *)to)->how, text);
}

static bool take_code(void *to, const char *text)
{
    cli_collect_request *r = to;
    r->verify = true;
    if (pv_code_parse(text, &r->code))
        return true;
    cli_usage(
        "collect",
        "--verify needs a certificate's code: four times four letters and digits. A letter of "
        "\"%.40s\" is wrong or missing: type it again",
        text);
    return false;
}

static const char *contradiction_in_verify(const cli_collect_request *r)
{
    if (r->output != NULL || r->merge || r->list != NULL || r->parts > 0 || r->jobs > 0 ||
        r->no_reports || r->progress)
        return "--verify only checks a code: it takes no -o, --list, --part, --merge, -j, "
               "--no-reports or --progress";
    if (r->n < 2)
        return r->n == 0 ? "no kit given" : "no picture given: name it, or a folder of pictures";
    return cli_how_contradiction(&r->how);
}

static const char *contradiction(const cli_collect_request *r)
{
    if (r->verify)
        return contradiction_in_verify(r);
    if (r->how.options.n_readings > 0 || r->how.options.dpi > 0)
        return "--measured and --dpi are of one picture: they go with --verify";
    if (r->how.scanner != NULL)
        return "--scanner knows the kinds flatbed, feeder, feeder-short and feeder-long; one "
               "scanner's own file goes with --verify alone";
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
                                  {"language", 0, .language = &r->how.options.language},
                                  {"scanner-uncertainty", 0, .take = take_uncertainty},
                                  {"dpi", 0, .take = take_dpi},
                                  {"measured", 0, .take = take_reading},
                                  {"verify", 0, .take = take_code},
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
