/* Any bytes as a printer's file, and as a scanner's. What is taken is written again, read again and
 * written again, twice the same; what is drawn for it stays finite and near the page. */
#include "paper/printer.h"

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
    char *json = pv_printer_json(printer, NULL);
    if (json == NULL)
        return;
    pv_printer *again = pv_printer_parse(json, strlen(json), NULL, NULL);
    char *second = again != NULL ? pv_printer_json(again, NULL) : NULL;
    require(second != NULL && strcmp(json, second) == 0);
    pv_free(json);
    pv_free(second);
    pv_printer_free(again);
    for (int lies = 0; lies < 2; lies++) {
        const double page[2] = {printer->page[lies], printer->page[!lies]};
        pv_linear m = pv_printer_inverse(printer, page);
        require(fabs(m.a - 1) < 0.12 && fabs(m.d - 1) < 0.12 && fabs(m.b) < 0.03 && m.c == 0);
    }
    double margin[4] = {0, 0, 0, 0};
    double by = pv_printer_widen(printer, printer->page, margin);
    require(by >= 0 && by <= 0.1 * (printer->page[0] + printer->page[1]) && margin[3] == by);
    require(fabs(pv_printer_ink(printer)) <= PV_PRINTER_INK_MAX);
}

static void use_scanner(const pv_scanner *scanner)
{
    char *json = pv_scanner_json(scanner, NULL);
    if (json == NULL)
        return;
    pv_scanner *again = pv_scanner_parse(json, strlen(json), NULL, NULL);
    require(again != NULL);
    char *second = pv_scanner_json(again, NULL);
    pv_scanner_free(again);
    require(second != NULL && strcmp(json, second) == 0);
    pv_free(json);
    pv_free(second);
    for (int i = 0; i < 2; i++)
        require(isfinite(scanner->factor[i]) && scanner->factor[i] > 0 && scanner->U_rel[i] >= 0);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    pv_diags *diags = pv_diags_new();
    if (diags == NULL)
        return 0;
    pv_printer *printer = pv_printer_parse((const char *)data, size, "fuzz", diags);
    require((printer == NULL) == (pv_diags_count(diags, PV_ERROR) > 0));
    if (printer != NULL)
        use_printer(printer);
    pv_printer_free(printer);
    pv_diags_free(diags);
    diags = pv_diags_new();
    pv_scanner *scanner = pv_scanner_parse((const char *)data, size, "fuzz", diags);
    require(diags == NULL || (scanner != NULL) == (pv_diags_count(diags, PV_ERROR) == 0));
    for (size_t i = 0; diags != NULL && i < pv_diags_size(diags); i++)
        pv_free(pv_diag_text(pv_diags_at(diags, i)));
    if (scanner != NULL)
        use_scanner(scanner);
    pv_scanner_free(scanner);
    pv_diags_free(diags);
    return 0;
}
