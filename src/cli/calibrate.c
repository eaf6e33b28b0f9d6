/* pavior calibrate: from inspections to a printer, or to a scanner. */
#include "cli/cli.h"

#include "base/memory.h"
#include "base/words.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char help[] =
    "Finds by how much a printer is off, for pavior sheets --printer to correct.\n"
    "\n"
    "Usage: pavior calibrate REPORT.json... -o PRINTER.json [OPTION...]\n"
    "       pavior calibrate --scanner REPORT.json... -o SCANNER.json\n"
    "\n"
    "  -o, --output FILE    the printer's file, \"-\" for standard output\n"
    "      --name NAME      the printer's name: every sheet that is corrected for it\n"
    "                       says so\n"
    "      --scanner        not the printer but the scanner, for pavior inspect\n"
    "                       --scanner: from scans that a card or a ruler was measured\n"
    "                       in, too\n"
    "  -q, --quiet          errors only\n"
    "      --help           this text\n"
    "\n"
    "REPORT is what pavior inspect --json wrote of one or more sheets that this\n"
    "printer printed on one kind of paper: best of a proof (pavior sheets --proof),\n"
    "but any sheet does. Several sheets tell more than one, and whether the printer\n"
    "repeats itself. Sheets that were printed with --printer may be among them: what\n"
    "they were corrected for is counted in. \"-\" is standard input.\n"
    "\n"
    "Exit status: 0 done; 64 wrong usage; 65 a report is no report, or the\n"
    "measurements support no correction; 66 it cannot be read; 71 out of memory;\n"
    "73 or 74 the file cannot be written.\n"
    "\n"
    "Examples:\n"
    "  pavior sheets --proof --paper A4\n"
    "  pavior inspect --plan proof.plan.json --json -o proof.json scan1.png scan2.png\n"
    "  pavior calibrate proof.json -o printer.json --name \"the hall's printer\"\n"
    "  pavior sheets quayside.course --paper A4 --printer printer.json\n"
    "  pavior calibrate --scanner card.json -o scanner.json\n";

enum { OPT_OUTPUT, OPT_NAME, OPT_SCANNER, OPT_QUIET };

static const cli_option options[] = {{"output", 'o', true},
                                     {"name", 0, true},
                                     {"scanner", 0, false},
                                     {"quiet", 'q', false},
                                     {NULL, 0, false}};

typedef struct request {
    const char *output, *name; /* borrowed, may be NULL */
    const char **reports;      /* owned list of borrowed names */
    size_t n, cap;
    bool scanner, quiet;
} request;

static bool take_report(request *r, const char *name)
{
    if (!PV_GROW(r->reports, r->n, r->cap)) {
        fputs("error: out of memory\n", stderr);
        return false;
    }
    r->reports[r->n++] = name;
    return true;
}

static bool take_name(request *r, const char *name)
{
    r->name = name;
    if (*name != '\0' && strlen(name) <= PV_PRINTER_NAME_MAX && pv_text_prints(name, NULL))
        return true;
    cli_usage("calibrate", "--name needs 1 to %d letters that can be printed", PV_PRINTER_NAME_MAX);
    return false;
}

static bool take_option(request *r, int option, const char *value)
{
    switch (option) {
    case OPT_OUTPUT:
        r->output = value;
        return true;
    case OPT_NAME:
        return take_name(r, value);
    case OPT_SCANNER:
        r->scanner = true;
        return true;
    case OPT_QUIET:
        r->quiet = true;
        return true;
    default: /* CLI_OPERAND */
        return take_report(r, value);
    }
}

static bool read_options(request *r, int argc, char **argv)
{
    cli_scan scan = cli_scan_start("calibrate", options, argc, argv);
    for (int option = cli_scan_next(&scan); option != CLI_END; option = cli_scan_next(&scan))
        if (option == CLI_BAD || !take_option(r, option, scan.value))
            return false;
    const char *why = NULL;
    if (r->n == 0)
        why = "no report given: what pavior inspect --json wrote";
    else if (r->output == NULL)
        why = "-o is missing: where to write what is found";
    else if (r->scanner && r->name != NULL)
        why = "--name is for a printer, not for a scanner";
    if (why != NULL) {
        cli_usage("calibrate", "%s", why);
        return false;
    }
    for (size_t i = 0; i < r->n; i++)
        if (cli_overwrites("calibrate", r->output, "report", r->reports[i]))
            return false;
    return true;
}

/* The text of what was found; NULL with findings. */
static char *find(const request *r, const pv_report_text *texts, pv_diags *diags)
{
    if (r->scanner) {
        pv_scanner scanner;
        bool good = pv_calibrate_scanner(texts, r->n, &scanner, diags);
        return good ? pv_scanner_json(&scanner, diags) : NULL;
    }
    pv_printer *printer = pv_calibrate_printer(texts, r->n, diags);
    char *text = NULL;
    if (printer != NULL && r->name != NULL && (printer->name = pv_copy_text(r->name)) == NULL)
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_MEMORY, NULL, NULL, "out of memory");
    else if (printer != NULL)
        text = pv_printer_json(printer, diags);
    pv_printer_free(printer);
    return text;
}

static bool calibrate(const request *r, pv_diags *diags)
{
    pv_report_text *texts = PV_NEW_ARRAY(r->n, pv_report_text);
    bool good = texts != NULL;
    size_t n = 0;
    for (; good && n < r->n; n++) {
        pv_bytes bytes;
        good = cli_read_kind(r->reports[n], CLI_KIND_REPORT, PV_REPORT_BYTES_MAX, &bytes, diags);
        if (!good)
            break;
        bool input = strcmp(r->reports[n], "-") == 0;
        texts[n] = (pv_report_text){input ? "standard input" : r->reports[n],
                                    (const char *)bytes.data, bytes.size};
    }
    char *text = good ? find(r, texts, diags) : NULL;
    good = text != NULL && pv_file_write(r->output, text, strlen(text), diags);
    pv_free(text);
    for (size_t i = 0; i < n; i++)
        pv_free((void *)texts[i].text);
    free(texts);
    return good;
}

static int run(int argc, char **argv)
{
    request r = {0};
    if (!read_options(&r, argc, argv)) {
        free((void *)r.reports);
        return CLI_USAGE;
    }
    pv_diags *diags = pv_diags_new();
    bool good = diags != NULL && calibrate(&r, diags);
    int status = CLI_OS;
    if (diags == NULL)
        fputs("error: out of memory\n", stderr);
    else
        cli_report(diags, r.quiet);
    if (good)
        status = CLI_OK;
    else if (diags != NULL && pv_diags_count(diags, PV_ERROR) > 0)
        status = cli_status(diags);
    if (good && !r.quiet && strcmp(r.output, "-") != 0) {
        cli_show(stdout, r.output);
        puts(r.scanner ? ": for pavior inspect --scanner" : ": for pavior sheets --printer");
    }
    pv_diags_free(diags);
    free((void *)r.reports);
    return status;
}

const cli_command cli_calibrate = {"calibrate", "how far a printer is off, to be corrected", help,
                                   run};
