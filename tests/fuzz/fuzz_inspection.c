/* Any bytes as an inspection report, to calibrate a printer and a scanner by. Either there is a
 * result whose file can be read again, or an error says why not. */
#include <pavior/printer.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void require(bool holds)
{
    if (!holds)
        abort();
}

static void use_printer(const pv_printer *printer)
{
    require(printer->scale[0].corrected || printer->scale[1].corrected || printer->skew.corrected ||
            printer->ink.corrected);
    char *json = pv_printer_json(printer, NULL);
    pv_diags *diags = pv_diags_new();
    pv_printer *again =
        json != NULL && diags != NULL ? pv_printer_parse(json, strlen(json), "x", diags) : NULL;
    require(again != NULL);
    pv_printer_free(again);
    pv_diags_free(diags);
    pv_free(json);
}

static void use_scanner(const pv_scanner *scanner)
{
    char *json = pv_scanner_json(scanner, NULL);
    pv_scanner *again = json != NULL ? pv_scanner_parse(json, strlen(json), "x", NULL) : NULL;
    require(again != NULL);
    pv_scanner_free(again);
    pv_free(json);
}

/* The findings hold as text, too. */
static void check(pv_diags *diags, bool good)
{
    require(good == (pv_diags_count(diags, PV_ERROR) == 0));
    for (size_t i = 0; i < pv_diags_size(diags); i++)
        pv_free(pv_diag_text(pv_diags_at(diags, i)));
    pv_diags_free(diags);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    /* Twice, as two reports, so that images are held against each other. */
    pv_report_text reports[] = {{"one", (const char *)data, size},
                                {"two", (const char *)data, size}};
    pv_diags *diags = pv_diags_new();
    pv_printer *printer = pv_calibrate_printer(reports, 2, NULL, diags);
    check(diags, printer != NULL);
    if (printer != NULL)
        use_printer(printer);
    pv_printer_free(printer);
    diags = pv_diags_new();
    pv_scanner *scanner = pv_calibrate_scanner(reports, 2, diags);
    check(diags, scanner != NULL);
    if (scanner != NULL)
        use_scanner(scanner);
    pv_scanner_free(scanner);
    return 0;
}
