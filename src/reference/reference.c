#include "reference/reference.h"

#include "base/diag.h"
#include "base/memory.h"
#include "po/po.h"
#include "reference/basis.h"
#include "reference/card.h"
#include "reference/combine.h"
#include "reference/feeder.h"
#include "reference/paper.h"
#include "reference/ruler.h"
#include "reference/scanner.h"

#include <stdlib.h>
#include <string.h>

/* The search: what was found so far, and what there is to say. */
typedef struct search {
    const pv_sheet *sheet;
    const pv_scene *page;
    const pv_plane *plane;
    const pv_pose *pose;
    pv_inspect_options options; /* its scanner_kind as far as the picture bears it out */
    pv_references *out;
    pv_diags *diags;
    pv_evidence items[PV_EVIDENCE_MAX];
    size_t n;
    pv_reference_result unused; /* a card that was seen; of kind none where there is none */
    double uneven;              /* pv_metric's */
    bool failed;                /* memory ran out */
} search;

/* Says a note and empties it. */
static void say(search *s, pv_text *note)
{
    s->failed = s->failed || note->failed;
    if (!s->failed && note->length > 0)
        pv_diags_add(s->diags, PV_NOTE, PV_CAUSE_NONE, NULL, NULL, "%s", note->chars);
    pv_text_drop(note);
}

static void take(search *s, const pv_evidence *item)
{
    if (item->rows > 0 && s->n < PV_EVIDENCE_MAX)
        s->items[s->n++] = *item;
}

/* Why a scan's resolution isn't believed only matters where nothing else tells the size: `unknown`
 * keeps it. */
static void ask_scanner(search *s, pv_text *unknown)
{
    pv_text note = PV_TEXT_IN(s->options.language);
    pv_scan_reference scan = pv_scan_reference_decide(s->plane, s->pose, &s->options, &note);
    memcpy(s->out->stated, scan.stated, sizeof s->out->stated);
    pv_evidence item = {.rows = 0};
    if (scan.believed || scan.doubtful)
        say(s, &note);
    else
        *unknown = note;
    if (scan.believed && s->options.scanner_kind == PV_SCANNER_FLATBED &&
        pv_longer_than_glass(s->plane, scan.stated, &note)) {
        say(s, &note);
        s->options.scanner_kind = PV_SCANNER_FEEDER;
    }
    pv_vec size = pv_sub(s->page->page.hi, s->page->page.lo);
    pv_scanner_limits limits =
        pv_scanner_limits_of(s->pose, (const double[2]){size.x, size.y}, &s->options);
    s->uneven = limits.uneven;
    if (scan.believed)
        item = pv_scan_evidence(&scan, s->pose, &limits, &s->options);
    else if (s->pose->kind == PV_POSE_AFFINE)
        item = pv_square_evidence(s->pose, &limits, &s->options);
    take(s, &item);
}

static void ask_ruler(search *s)
{
    pv_text note = PV_TEXT_IN(s->options.language);
    pv_evidence item =
        pv_ruler_evidence(s->sheet, s->options.readings, s->options.n_readings, &note);
    say(s, &note);
    take(s, &item);
}

/* What lies on the sheet or beside it, and the paper itself. */
static void look(search *s, pv_text *unknown)
{
    pv_ground ground;
    pv_vec size = pv_sub(s->page->page.hi, s->page->page.lo);
    bool found;
    if (!pv_ground_make(s->plane, s->pose, (const double[2]){size.x, size.y}, &ground, &found)) {
        s->failed = true;
        return;
    }
    pv_evidence card;
    pv_text note = PV_TEXT_IN(s->options.language);
    if (pv_card_find(s->page, s->plane, s->pose, &ground, &card, &s->out->covered, &note))
        take(s, &card);
    else
        s->failed = true;
    pv_evidence paper = pv_paper_evidence(s->page, s->plane, s->pose, &ground);
    take(s, &paper);
    pv_text edges = PV_TEXT_IN(s->options.language);
    if (s->options.scanner_kind == PV_SCANNER_FLATBED && s->pose->kind == PV_POSE_AFFINE)
        pv_edges_of_feeder(s->plane, s->out->stated, &paper, &edges);
    say(s, &edges);
    if (card.result.unused) {
        s->unused = card.result;
        say(s, &note);
    }
    if (note.length > 0)
        pv_text_add(unknown, "%s%s", unknown->length > 0 ? "; " : "", note.chars);
    unknown->failed = unknown->failed || note.failed;
    pv_text_drop(&note);
    pv_ground_clear(&ground);
}

static bool keep_results(search *s)
{
    pv_references *out = s->out;
    for (size_t i = 0; i < s->n; i++) {
        if (s->items[i].silent)
            continue;
        if (!PV_GROW(out->items, out->n, out->cap))
            return false;
        out->items[out->n++] = s->items[i].result;
    }
    if (s->unused.kind == PV_REFERENCE_NONE)
        return true;
    if (!PV_GROW(out->items, out->n, out->cap))
        return false;
    out->items[out->n++] = s->unused;
    return true;
}

/* One kind, or several by weight. */
static pv_reference_kind kind_of(const pv_references *found)
{
    pv_reference_kind kind = PV_REFERENCE_NONE;
    for (size_t i = 0; i < found->n; i++) {
        const pv_reference_result *one = &found->items[i];
        if (!pv_basis_counts(one))
            continue;
        kind = kind == PV_REFERENCE_NONE ? one->kind : PV_REFERENCE_COMBINED;
    }
    return kind;
}

/* Readings that don't tell both scales, where nothing carries one over to the other. */
static void say_half(search *s)
{
    const pv_reference_result *ruler = NULL;
    for (size_t i = 0; i < s->n; i++)
        if (s->items[i].result.kind == PV_REFERENCE_RULER)
            ruler = &s->items[i].result;
    if (ruler == NULL)
        return;
    pv_text note = PV_TEXT_IN(s->options.language);
    int axis = ruler->U[0] > 0 ? 0 : 1;
    if (ruler->U[axis] > 0)
        pv_text_say(&note, "the reading gives the scale along %s only (%s %%): measure P-%s too",
                    axis == 0 ? "x" : "y", pv_fixed(100 * ruler->scale[axis], 2).chars,
                    axis == 0 ? "S" : "Q");
    else
        pv_text_say(&note, "diagonals alone do not give the scale: measure P-Q and P-S too");
    say(s, &note);
}

static void settle(search *s, pv_text *unknown)
{
    pv_references *out = s->out;
    pv_text note = PV_TEXT_IN(s->options.language);
    pv_combined all = pv_combine(s->items, s->n);
    out->metric = all.metric;
    out->disagree = all.agreement == PV_DISAGREE;
    pv_combined_note(&all, s->items, s->n, &note);
    if (!keep_results(s)) {
        pv_text_drop(&note);
        s->failed = true;
        return;
    }
    if (!out->metric.known) {
        say(s, unknown);
        if (!out->disagree)
            say_half(s);
        say(s, &note);
        return;
    }
    out->kind = kind_of(out);
    out->metric.own = out->kind == PV_REFERENCE_SCANNER;
    out->U_rel = 2 * sqrt(fmax(out->metric.cov[0], out->metric.cov[4]));
    /* Paper alone is coarse: why nothing finer counts is worth knowing. */
    if (out->kind == PV_REFERENCE_PAPER)
        say(s, unknown);
    say(s, &note);
}

static void say_basis(search *s)
{
    pv_text basis = PV_TEXT_IN(s->options.language);
    if (!s->failed)
        pv_basis(s->out, &s->options, &basis);
    s->out->basis = pv_text_take(&basis);
    s->failed = s->failed || s->out->basis == NULL;
}

bool pv_references_find(const pv_sheet *sheet, const pv_scene *page, const pv_plane *plane,
                        const pv_pose *pose, const pv_inspect_options *options, pv_references *out,
                        pv_diags *diags)
{
    *out = (pv_references){.metric = pv_metric_unknown()};
    search s = {.sheet = sheet,
                .page = page,
                .plane = plane,
                .pose = pose,
                .options = *options,
                .out = out};
    s.diags = diags;
    pv_text unknown = PV_TEXT_IN(options->language);
    ask_scanner(&s, &unknown);
    ask_ruler(&s);
    look(&s, &unknown);
    settle(&s, &unknown);
    say_basis(&s);
    out->metric.uneven = pose->kind == PV_POSE_PERSPECTIVE ? PV_PHONE_UNEVEN : s.uneven;
    s.failed = s.failed || unknown.failed;
    pv_text_drop(&unknown);
    if (s.failed) {
        pv_references_clear(out);
        pv_fail_memory(diags);
    }
    return !s.failed;
}

void pv_references_clear(pv_references *references)
{
    free(references->items);
    free(references->basis);
    *references = (pv_references){.metric = pv_metric_unknown()};
}
