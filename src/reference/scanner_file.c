/* A scanner's own truth as a file (docs/use/calibrating.md). */
#include "base/kind.h"
#include "base/memory.h"
#include "reference/reference.h"
#include "json/json.h"

#include <pavior/printer.h>

#include <stdlib.h>
#include <string.h>

#define VERSION    1
#define FACTOR_MIN 0.9
#define FACTOR_MAX 1.1

static void write_value(pv_json_writer *w, const char *key, double value, double U, int decimals)
{
    pv_json_key(w, key);
    pv_json_open_inline(w, '{');
    pv_json_key_rounded(w, "value", value, decimals);
    pv_json_key_rounded(w, "U", U, decimals);
    pv_json_close(w, '}');
}

char *pv_scanner_json(const pv_scanner *scanner, pv_diags *diags)
{
    pv_json_writer w = PV_JSON_WRITER_INIT;
    pv_json_open(&w, '{');
    pv_json_key_string(&w, "format", PV_SCANNER_FORMAT);
    pv_json_key_count(&w, "version", VERSION);
    pv_json_key(&w, "true_mm_per_stated_mm");
    pv_json_open(&w, '{');
    write_value(&w, "x", scanner->factor[0], scanner->U_rel[0] * scanner->factor[0], 7);
    write_value(&w, "y", scanner->factor[1], scanner->U_rel[1] * scanner->factor[1], 7);
    pv_json_close(&w, '}');
    write_value(&w, "skew_mrad", scanner->skew, scanner->skew_U, 3);
    pv_json_close(&w, '}');
    char *text = pv_json_take(&w);
    if (text == NULL)
        pv_fail_memory(diags);
    return text;
}

static double read_number(pv_json *json, const pv_json_node *object, const char *key, double least,
                          double most)
{
    return pv_json_get_number(json, pv_json_member(json, object, key), least, most);
}

void pv_scanner_free(pv_scanner *scanner)
{
    free(scanner);
}

pv_scanner *pv_scanner_parse(const char *text, size_t length, const char *name, pv_diags *diags)
{
    if (length > PV_PRINTER_BYTES_MAX) {
        pv_fail(diags, PV_CAUSE_LIMIT, "%s is larger than the limit of %u bytes for a scanner",
                name != NULL ? name : "the input", PV_PRINTER_BYTES_MAX);
        return NULL;
    }
    pv_json *json = pv_json_parse(text, length, name, diags);
    if (json == NULL)
        return NULL;
    pv_scanner scanner = {{1, 1}, {0, 0}, 0, 0}, *out = NULL;
    const pv_json_node *root = pv_json_root(json);
    const pv_json_node *format = pv_json_member(json, root, "format");
    if (strcmp(pv_json_get_string(json, format), PV_SCANNER_FORMAT) != 0)
        pv_json_complain(json, format,
                         "must be \"%s\": this is not a file from pavior calibrate --scanner",
                         PV_SCANNER_FORMAT);
    const pv_json_node *version = pv_json_member(json, root, "version");
    long long number = pv_json_get_integer(json, version, 1, 1000000);
    if (number > VERSION)
        pv_json_complain(json, version, "is %lld, but this program reads up to version %d", number,
                         VERSION);
    const pv_json_node *factor = pv_json_member(json, root, "true_mm_per_stated_mm");
    static const char *const axes[2] = {"x", "y"};
    for (int i = 0; i < 2 && pv_json_good(json); i++) {
        const pv_json_node *axis = pv_json_member(json, factor, axes[i]);
        scanner.factor[i] = read_number(json, axis, "value", FACTOR_MIN, FACTOR_MAX);
        double U = read_number(json, axis, "U", 0, 1);
        if (pv_json_good(json))
            scanner.U_rel[i] = U / scanner.factor[i];
    }
    const pv_json_node *skew = pv_json_member(json, root, "skew_mrad");
    scanner.skew = read_number(json, skew, "value", -100, 100);
    scanner.skew_U = read_number(json, skew, "U", 0, 1000);
    if (pv_json_good(json) && (out = pv_copy_bytes(&scanner, 1, sizeof scanner)) == NULL)
        pv_fail_memory(diags);
    pv_json_free(json);
    return out;
}
