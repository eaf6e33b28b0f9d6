/* pavior calibrate: from inspections to a printer, or to a scanner. */
#include "cli.h"

#include <stdlib.h>
#include <string.h>

typedef struct request {
    const char *output, *name; /* may be NULL */
    char **reports;
    size_t n;
    bool scanner, quiet, replace;
} request;

static bool read_options(request *r, int argc, char **argv)
{
    const cli_option options[] = {
        {"output", 'o', .word = &r->output}, {"name", 0, .word = &r->name},
        {"scanner", 0, .flag = &r->scanner}, {"replace", 0, .flag = &r->replace},
        {"quiet", 'q', .flag = &r->quiet},   {0}};
    int n = cli_options("calibrate", options, r, argc, argv);
    const char *why = NULL;
    if (n < 0)
        return false;
    if (n == 0)
        why = "no report given: name a report from pavior inspect --json";
    else if (r->output == NULL)
        why = "-o is missing: name the file to write";
    else if (r->scanner && r->name != NULL)
        why = "--name is for a printer, not for a scanner";
    if (why != NULL) {
        cli_usage("calibrate", "%s", why);
        return false;
    }
    r->reports = argv;
    r->n = (size_t)n;
    for (size_t i = 0; i < r->n; i++)
        if (cli_overwrites("calibrate", r->output, "report", r->reports[i]))
            return false;
    return true;
}

/* The text of what was found; NULL with findings. */
static char *find(const request *r, const pv_report_text *texts, pv_diags *diags)
{
    char *text = NULL;
    if (r->scanner) {
        pv_scanner *scanner = pv_calibrate_scanner(texts, r->n, diags);
        text = scanner != NULL ? pv_scanner_json(scanner, diags) : NULL;
        pv_scanner_free(scanner);
    } else {
        pv_printer *printer = pv_calibrate_printer(texts, r->n, r->name, diags);
        text = printer != NULL ? pv_printer_json(printer, diags) : NULL;
        pv_printer_free(printer);
    }
    return text;
}

static bool calibrate(const request *r, pv_diags *diags)
{
    pv_report_text *texts = calloc(r->n, sizeof *texts);
    if (texts == NULL)
        return cli_no_memory(diags);
    size_t n = 0;
    for (cli_bytes bytes; n < r->n && cli_read_kind(r->reports[n], PV_FILE_REPORT,
                                                    PV_REPORT_BYTES_MAX, &bytes, diags);
         n++)
        texts[n] =
            (pv_report_text){cli_input_name(r->reports[n]), (const char *)bytes.data, bytes.size};
    bool good = n == r->n;
    char *text = good ? find(r, texts, diags) : NULL;
    good = text != NULL && cli_write_text(r->output, text, r->replace, diags);
    for (size_t i = 0; i < n; i++)
        free((void *)texts[i].text);
    free(texts);
    return good;
}

int cli_calibrate(int argc, char **argv)
{
    request r = {0};
    if (!read_options(&r, argc, argv))
        return CLI_USAGE;
    pv_diags *diags = pv_diags_new();
    if (diags == NULL) {
        cli_no_memory(NULL);
        return CLI_OS;
    }
    bool good = calibrate(&r, diags);
    cli_report(diags, r.quiet);
    int status = good ? CLI_OK : cli_status(diags);
    if (good && !r.quiet && strcmp(r.output, "-") != 0) {
        cli_show(stdout, r.output);
        puts(r.scanner ? ": for pavior inspect --scanner" : ": for pavior sheets --printer");
    }
    pv_diags_free(diags);
    return status;
}
