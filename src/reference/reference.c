#include "reference/reference.h"

#include "base/diag.h"
#include "base/memory.h"
#include "reference/scanner.h"

#include <stdlib.h>
#include <string.h>

static bool add_one(pv_references *out, const pv_reference_result *one)
{
    if (!PV_GROW(out->items, out->n, out->cap))
        return false;
    out->items[out->n++] = *one;
    return true;
}

/* A scanner's lengths are off alike in both directions, as far as anybody knows. */
static bool add_scanner(pv_references *out, const pv_pose *pose, const pv_scan_reference *scan)
{
    double u = scan->U_rel / 2, u_skew = PV_SCANNER_SKEW_U(scan->U_rel) / 2000;
    out->metric = pv_metric_of_scan(pose, scan->px_per_mm);
    for (int i = 0; i < 4; i++)
        out->metric.cov[3 * (i / 2) + i % 2] = u * u;
    out->metric.cov[8] = u_skew * u_skew;
    out->kind = PV_REFERENCE_SCANNER;
    out->U_rel = scan->U_rel;
    pv_reference_result one = {.kind = PV_REFERENCE_SCANNER,
                               .skew = 1000 * out->metric.skew,
                               .skew_U = 2000 * u_skew,
                               .weight = {1, 1}};
    for (int i = 0; i < 2; i++) {
        one.scale[i] = out->metric.scale[i];
        one.U[i] = scan->U_rel * one.scale[i];
    }
    return add_one(out, &one);
}

/* Square pixels are taken for granted: a scan without a resolution still shows its right angle. */
static void take_skew(pv_references *out, const pv_pose *pose, double scanner_U_rel)
{
    static const double square[2] = {1, 1};
    double u = PV_SCANNER_SKEW_U(scanner_U_rel) / 2000;
    out->metric.skew = pv_metric_of_scan(pose, square).skew;
    out->metric.has_skew = true;
    out->metric.cov[8] = u * u;
}

bool pv_references_find(const pv_plan *plan, const pv_plane *plane, const pv_pose *pose,
                        const pv_inspect_options *options, pv_references *out, pv_diags *diags)
{
    (void)plan;
    *out = (pv_references){.metric = pv_metric_unknown()};
    out->metric.cov[8] = PV_SKEW_UNKNOWN * PV_SKEW_UNKNOWN;
    pv_text note = PV_TEXT_INIT;
    pv_scan_reference scan = pv_scan_reference_decide(plane, pose, options, &note);
    memcpy(out->stated, scan.stated, sizeof out->stated);
    bool good = !note.failed;
    if (good && note.length > 0)
        pv_diags_add(diags, PV_NOTE, PV_CAUSE_NONE, NULL, NULL, "%s", note.chars);
    pv_text_drop(&note);
    if (good && scan.believed)
        good = add_scanner(out, pose, &scan);
    else if (good && pose->kind == PV_POSE_AFFINE)
        take_skew(out, pose, options->scanner_U_rel);
    if (!good) {
        pv_references_clear(out);
        pv_fail_memory(diags);
    }
    return good;
}

void pv_references_clear(pv_references *references)
{
    free(references->items);
    *references = (pv_references){.metric = pv_metric_unknown()};
}
