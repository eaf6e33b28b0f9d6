#include "report/calibrate.h"

#include "base/memory.h"
#include "base/words.h"
#include "paper/paper.h"
#include "json/json.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef struct reading {
    pv_json *json;
    pv_reported_image *image;
    bool out_of_memory;
} reading;

static char *read_text(reading *r, const pv_json_node *node)
{
    char *copy = pv_copy_text(pv_json_get_string(r->json, node));
    r->out_of_memory = r->out_of_memory || copy == NULL;
    return copy;
}

/* The name of the paper goes into a printer's file, and has to be readable there. */
static char *read_paper(reading *r, const pv_json_node *node)
{
    char *copy = read_text(r, node);
    if (copy != NULL && pv_json_good(r->json) && !pv_text_prints(copy, NULL))
        pv_json_complain(r->json, node, "has unprintable characters");
    else if (copy != NULL && strlen(copy) > PV_PRINTER_NAME_MAX)
        pv_json_complain(r->json, node, "is longer than %d bytes", PV_PRINTER_NAME_MAX);
    return copy;
}

/* A part of an uncertainty; `otherwise` where the report has none. */
static double read_part(reading *r, const pv_json_node *node, const char *key, double least,
                        double most, double otherwise)
{
    const pv_json_node *part = pv_json_optional(r->json, node, key);
    return part != NULL ? pv_json_get_number(r->json, part, least, most) : otherwise;
}

/* {"value", "U"}, and of the sheet's own values "u", "shared", "freedom", as json.c writes them; no
 * node, or value or U null: not measured. */
static pv_reported read_value(reading *r, const pv_json_node *node, double least, double most)
{
    pv_reported out = {.shared = -1, .freedom = HUGE_VAL};
    const pv_json_node *value = node != NULL ? pv_json_optional(r->json, node, "value") : NULL;
    const pv_json_node *U = node != NULL ? pv_json_optional(r->json, node, "U") : NULL;
    if (value == NULL || U == NULL)
        return out;
    out.value = pv_json_get_number(r->json, value, least, most);
    out.U = pv_json_get_number(r->json, U, 0, 1000);
    out.u = read_part(r, node, "u", 0, out.U, out.U / 2);
    out.shared = read_part(r, node, "shared", 0, out.u, -1);
    out.freedom = read_part(r, node, "freedom", 0.1, 1e300, HUGE_VAL);
    return out;
}

static pv_reference_kind kind_of(const char *name)
{
    for (int kind = PV_REFERENCE_NONE; kind < PV_REFERENCE_KINDS; kind++)
        if (strcmp(name, pv_reference_name((pv_reference_kind)kind)) == 0)
            return (pv_reference_kind)kind;
    return PV_REFERENCE_NONE;
}

static void read_references(reading *r, const pv_json_node *object)
{
    const pv_json_node *list = pv_json_optional(r->json, object, "references");
    size_t n = list != NULL ? pv_json_length(r->json, list) : 0;
    if (n > PV_REPORTED_REFERENCES_MAX) {
        pv_json_complain(r->json, list, "has %zu references, but must have at most %d", n,
                         PV_REPORTED_REFERENCES_MAX);
        return;
    }
    for (size_t i = 0; i < n && pv_json_good(r->json); i++) {
        const pv_json_node *node = pv_json_item(r->json, list, i);
        pv_reported_reference *one = &r->image->references[r->image->n_references++];
        const pv_json_node *kind = pv_json_member(r->json, node, "kind");
        one->kind = kind_of(pv_json_get_string(r->json, kind));
        one->scale[0] = read_value(r, pv_json_member(r->json, node, "x"), 0, 100);
        one->scale[1] = read_value(r, pv_json_member(r->json, node, "y"), 0, 100);
        one->skew = read_value(r, pv_json_member(r->json, node, "skew_mrad"), -2000, 2000);
    }
}

static void read_applied(reading *r, const pv_json_node *node)
{
    pv_reported_image *image = r->image;
    const pv_json_node *scale = pv_json_member(r->json, node, "scale");
    image->corrected = true;
    for (size_t i = 0; i < 2; i++)
        image->applied[PV_OF_X + i] = pv_json_get_number(
            r->json, pv_json_item(r->json, scale, i), PV_PRINTER_SCALE_MIN, PV_PRINTER_SCALE_MAX);
    image->applied[PV_OF_SKEW] =
        pv_json_get_number(r->json, pv_json_member(r->json, node, "skew_mrad"),
                           -PV_PRINTER_SKEW_MAX, PV_PRINTER_SKEW_MAX);
    image->applied[PV_OF_INK] = pv_json_get_number(r->json, pv_json_member(r->json, node, "ink_mm"),
                                                   -PV_PRINTER_INK_MAX, PV_PRINTER_INK_MAX);
}

static void read_image(reading *r, const pv_json_node *object)
{
    pv_json *json = r->json;
    pv_reported_image *image = r->image;
    image->file = read_text(r, pv_json_member(json, object, "file"));
    const pv_json_node *error = pv_json_optional(json, object, "error");
    if (error != NULL) {
        image->error = read_text(r, error);
        return;
    }
    image->paper = read_paper(r, pv_json_member(json, object, "paper"));
    const pv_json_node *page = pv_json_member(json, object, "page_mm");
    for (size_t i = 0; i < 2; i++)
        image->page[i] = pv_json_get_number(json, pv_json_item(json, page, i), PV_PAPER_SIDE_MIN,
                                            PV_PAPER_SIDE_MAX);
    image->photograph = pv_json_get_bool(json, pv_json_member(json, object, "photograph"));
    const pv_json_node *reference = pv_json_member(json, object, "reference");
    const pv_json_node *U_rel = pv_json_optional(json, reference, "U_rel");
    if (U_rel != NULL)
        image->U_rel = pv_json_get_number(json, U_rel, 0, 10);
    const pv_json_node *kind = pv_json_optional(json, reference, "kind");
    const pv_json_node *scanner = pv_json_optional(json, reference, "scanner");
    image->scanner_only =
        kind != NULL && kind_of(pv_json_get_string(json, kind)) == PV_REFERENCE_SCANNER;
    image->flatbed = scanner != NULL && strcmp(pv_json_get_string(json, scanner),
                                               pv_scanner_kind_name(PV_SCANNER_FLATBED)) == 0;
    const pv_json_node *scale = pv_json_member(json, object, pv_kind_of(PV_KIND_SCALE)->key);
    image->value[PV_OF_X] = read_value(r, pv_json_member(json, scale, "x"), 0, 100);
    image->value[PV_OF_Y] = read_value(r, pv_json_member(json, scale, "y"), 0, 100);
    image->value[PV_OF_SKEW] =
        read_value(r, pv_json_member(json, object, pv_kind_of(PV_KIND_SKEW)->key), -2000, 2000);
    image->value[PV_OF_INK] =
        read_value(r, pv_json_optional(json, object, pv_kind_of(PV_KIND_INK)->key), -1000, 1000);
    image->turn = pv_json_get_number(json, pv_json_member(json, object, "turn_deg"), -360, 360);
    const pv_json_node *applied = pv_json_optional(json, object, "corrected");
    if (applied != NULL)
        read_applied(r, applied);
    read_references(r, object);
}

static bool read_report(const pv_report_text *report, pv_reported_images *out, pv_diags *diags)
{
    if (report->length > PV_REPORT_BYTES_MAX) {
        pv_fail(diags, PV_CAUSE_LIMIT, "%s is larger than the limit of %u bytes for a report",
                report->name, PV_REPORT_BYTES_MAX);
        return false;
    }
    reading r = {.json = pv_json_parse(report->text, report->length, report->name, diags)};
    if (r.json == NULL)
        return false;
    const pv_json_node *root = pv_json_root(r.json);
    size_t n = pv_json_length(r.json, root);
    if (pv_json_good(r.json) && n + out->n > PV_REPORTS_IMAGES_MAX)
        pv_json_complain(r.json, root, "makes more images than the limit of %u",
                         PV_REPORTS_IMAGES_MAX);
    for (size_t i = 0; i < n && pv_json_good(r.json) && !r.out_of_memory; i++) {
        r.out_of_memory = !PV_GROW(out->items, out->n, out->cap);
        if (r.out_of_memory)
            break;
        r.image = &out->items[out->n++];
        *r.image = (pv_reported_image){0};
        read_image(&r, pv_json_item(r.json, root, i));
    }
    bool good = pv_json_good(r.json) && !r.out_of_memory;
    if (r.out_of_memory)
        pv_fail_memory(diags);
    pv_json_free(r.json);
    return good;
}

bool pv_reports_read(const pv_report_text *reports, size_t n, pv_reported_images *out,
                     pv_diags *diags)
{
    *out = (pv_reported_images){0};
    for (size_t i = 0; i < n; i++)
        if (!read_report(&reports[i], out, diags))
            return false;
    return true;
}

void pv_reports_clear(pv_reported_images *images)
{
    for (size_t i = 0; i < images->n; i++) {
        free(images->items[i].file);
        free(images->items[i].error);
        free(images->items[i].paper);
    }
    free(images->items);
    *images = (pv_reported_images){0};
}
