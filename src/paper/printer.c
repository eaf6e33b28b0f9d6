#include "paper/printer.h"

#include "base/memory.h"
#include "base/words.h"
#include "paper/paper.h"
#include "json/json.h"

#include <stdlib.h>
#include <string.h>

void pv_printer_free(pv_printer *printer)
{
    if (printer == NULL)
        return;
    free(printer->name);
    free(printer->paper);
    free(printer);
}

/* ---- the map ---- */

static double corrected(const pv_printer_value *value, double neutral)
{
    return value->corrected ? value->value : neutral;
}

pv_linear pv_printer_inverse(const pv_printer *printer, const double page[2])
{
    pv_linear out = {1, 0, 0, 1};
    if (printer == NULL)
        return out;
    /* A page that lies is turned by a quarter, either way: its axes change places, and the angle
     * between them is the other one, wider by what the first is narrower. */
    int lies = page[0] > page[1];
    double sx = corrected(&printer->scale[lies], 1), sy = corrected(&printer->scale[!lies], 1);
    double skew = corrected(&printer->skew, 0) / 1000 * (lies ? -1 : 1);
    out.a = 1 / sx;
    out.b = -tan(skew) / sx;
    out.d = 1 / (sy * cos(skew));
    return out;
}

double pv_printer_ink(const pv_printer *printer)
{
    return printer != NULL ? corrected(&printer->ink, 0) : 0;
}

const char *pv_printer_words(const pv_printer *printer)
{
    return printer->name != NULL ? printer->name : "one printer";
}

double pv_printer_widen(const pv_printer *printer, const double page[2], double margin[4])
{
    double most = 0;
    for (int lies = 0; lies < 2; lies++) {
        const double size[2] = {page[lies], page[!lies]};
        pv_linear m = pv_printer_inverse(printer, size);
        most = fmax(most, ((fabs(m.a) - 1) * size[0] + fabs(m.b) * size[1]) / 2);
        most = fmax(most, (fabs(m.d) - 1) * size[1] / 2);
    }
    most = ceil(10 * most - 1e-9) / 10;
    for (int i = 0; i < 4; i++)
        margin[i] += most;
    return most;
}

pv_correction pv_printer_correction(const pv_printer *printer)
{
    pv_correction out = {.scale = {1, 1}};
    if (printer == NULL)
        return out;
    for (int i = 0; i < 2; i++)
        out.scale[i] = corrected(&printer->scale[i], 1);
    out.skew = corrected(&printer->skew, 0);
    out.ink = corrected(&printer->ink, 0);
    out.any = printer->scale[0].corrected || printer->scale[1].corrected ||
              printer->skew.corrected || printer->ink.corrected;
    return out;
}

pv_printer *pv_printer_of(const pv_correction *correction)
{
    pv_printer *out = PV_NEW(pv_printer);
    if (out == NULL)
        return NULL;
    for (int i = 0; i < 2; i++)
        out->scale[i] = (pv_printer_value){.value = correction->scale[i], .corrected = true};
    out->skew = (pv_printer_value){.value = correction->skew, .corrected = true};
    out->ink = (pv_printer_value){.value = correction->ink, .corrected = true};
    return out;
}

pv_printer *pv_printer_copy(const pv_printer *printer)
{
    pv_printer *out = pv_copy_bytes(printer, 1, sizeof *printer);
    if (out == NULL)
        return NULL;
    out->name = printer->name != NULL ? pv_copy_text(printer->name) : NULL;
    out->paper = pv_copy_text(printer->paper);
    if (out->paper != NULL && (out->name != NULL) == (printer->name != NULL))
        return out;
    pv_printer_free(out);
    return NULL;
}

/* ---- writing ---- */

static void write_value(pv_json_writer *w, const char *key, const pv_printer_value *value,
                        int decimals)
{
    pv_json_key(w, key);
    pv_json_open_inline(w, '{');
    const double numbers[2] = {value->value, value->U};
    for (int i = 0; i < 2; i++) {
        pv_json_key(w, i == 0 ? "value" : "U");
        if (value->U > 0 || value->corrected)
            pv_json_rounded(w, numbers[i], decimals);
        else
            pv_json_string(w, NULL);
    }
    pv_json_key_bool(w, "corrected", value->corrected);
    pv_json_close(w, '}');
}

char *pv_printer_json(const pv_printer *printer, pv_diags *diags)
{
    pv_json_writer w = PV_JSON_WRITER_INIT;
    pv_json_open(&w, '{');
    pv_json_key_string(&w, "format", PV_PRINTER_FORMAT);
    pv_json_key_count(&w, "version", PV_PRINTER_VERSION);
    if (printer->name != NULL) {
        pv_json_key_string(&w, "name", printer->name);
    }
    pv_json_key_string(&w, "paper", printer->paper);
    pv_json_key(&w, "page_mm");
    pv_json_open_inline(&w, '[');
    pv_json_number(&w, printer->page[0]);
    pv_json_number(&w, printer->page[1]);
    pv_json_close(&w, ']');
    pv_json_key(&w, "scale");
    pv_json_open(&w, '{');
    write_value(&w, "x", &printer->scale[0], 6);
    write_value(&w, "y", &printer->scale[1], 6);
    pv_json_close(&w, '}');
    write_value(&w, "skew_mrad", &printer->skew, 3);
    write_value(&w, "ink_mm", &printer->ink, 4);
    pv_json_close(&w, '}');
    char *text = pv_json_take(&w);
    if (text == NULL)
        pv_fail_memory(diags);
    return text;
}

/* ---- reading ---- */

typedef struct reader {
    pv_json *json;
    pv_printer *out;
    bool out_of_memory;
} reader;

static char *read_words(reader *r, const pv_json_node *node)
{
    const char *text = pv_json_get_string(r->json, node);
    char *copy = pv_copy_text(text);
    r->out_of_memory = r->out_of_memory || copy == NULL;
    if (pv_json_good(r->json) && !pv_text_prints(text, NULL))
        pv_json_complain(r->json, node, "has unprintable characters");
    else if (strlen(text) > PV_PRINTER_NAME_MAX)
        pv_json_complain(r->json, node, "is longer than %d bytes", PV_PRINTER_NAME_MAX);
    return copy;
}

static void read_value(reader *r, const pv_json_node *object, const char *key, double neutral,
                       double least, double most, double U_most, pv_printer_value *out)
{
    const pv_json_node *node = pv_json_member(r->json, object, key);
    const pv_json_node *value = pv_json_member(r->json, node, "value");
    const pv_json_node *U = pv_json_member(r->json, node, "U");
    const pv_json_node *corrected = pv_json_member(r->json, node, "corrected");
    out->corrected = pv_json_get_bool(r->json, corrected);
    /* Both null: not known. */
    if (pv_json_optional(r->json, node, "value") != NULL ||
        pv_json_optional(r->json, node, "U") != NULL) {
        out->value = pv_json_get_number(r->json, value, least, most);
        out->U = pv_json_get_number(r->json, U, 0, U_most);
        return;
    }
    out->value = neutral;
    if (pv_json_good(r->json) && out->corrected)
        pv_json_complain(r->json, corrected, "must be false if the value is not known");
}

static void read_all(reader *r)
{
    pv_printer *p = r->out;
    pv_json *json = r->json;
    const pv_json_node *root = pv_json_root(json);
    const pv_json_node *format = pv_json_member(json, root, "format");
    if (strcmp(pv_json_get_string(json, format), PV_PRINTER_FORMAT) != 0)
        pv_json_complain(json, format, "must be \"%s\": this is not a file from pavior calibrate",
                         PV_PRINTER_FORMAT);
    const pv_json_node *version = pv_json_member(json, root, "version");
    long long number = pv_json_get_integer(json, version, 1, 1000000);
    if (number > PV_PRINTER_VERSION)
        pv_json_complain(json, version, "is %lld, but this program reads up to version %d", number,
                         PV_PRINTER_VERSION);
    const pv_json_node *name = pv_json_optional(json, root, "name");
    if (name != NULL)
        p->name = read_words(r, name);
    p->paper = read_words(r, pv_json_member(json, root, "paper"));
    const pv_json_node *page = pv_json_member(json, root, "page_mm");
    for (size_t i = 0; i < 2; i++)
        p->page[i] = pv_json_get_number(json, pv_json_item(json, page, i), PV_PAPER_SIDE_MIN,
                                        PV_PAPER_SIDE_MAX);
    if (pv_json_good(json) && p->page[0] > p->page[1])
        pv_json_complain(json, page, "must be the upright paper, width before height");
    const pv_json_node *scale = pv_json_member(json, root, "scale");
    read_value(r, scale, "x", 1, PV_PRINTER_SCALE_MIN, PV_PRINTER_SCALE_MAX, PV_PRINTER_SCALE_U,
               &p->scale[0]);
    read_value(r, scale, "y", 1, PV_PRINTER_SCALE_MIN, PV_PRINTER_SCALE_MAX, PV_PRINTER_SCALE_U,
               &p->scale[1]);
    read_value(r, root, "skew_mrad", 0, -PV_PRINTER_SKEW_MAX, PV_PRINTER_SKEW_MAX,
               PV_PRINTER_SKEW_U, &p->skew);
    read_value(r, root, "ink_mm", 0, -PV_PRINTER_INK_MAX, PV_PRINTER_INK_MAX, PV_PRINTER_INK_U,
               &p->ink);
}

pv_printer *pv_printer_parse(const char *text, size_t length, const char *name, pv_diags *diags)
{
    if (length > PV_PRINTER_BYTES_MAX) {
        pv_fail(diags, PV_CAUSE_LIMIT, "%s is larger than the limit of %u bytes for a printer",
                name != NULL ? name : "the input", PV_PRINTER_BYTES_MAX);
        return NULL;
    }
    reader r = {.json = pv_json_parse(text, length, name, diags)};
    if (r.json == NULL)
        return NULL;
    r.out = PV_NEW(pv_printer);
    r.out_of_memory = r.out == NULL;
    if (!r.out_of_memory)
        read_all(&r);
    bool good = pv_json_good(r.json) && !r.out_of_memory;
    if (r.out_of_memory)
        pv_fail_memory(diags);
    pv_json_free(r.json);
    if (good)
        return r.out;
    pv_printer_free(r.out);
    return NULL;
}
