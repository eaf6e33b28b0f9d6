/* From reports to a printer. */
#include "report/calibrate.h"

#include "base/memory.h"
#include "base/numeric.h"
#include "base/text.h"
#include "base/vec.h"
#include "base/words.h"
#include "judge/gum.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* mm: assumed, for what other programs round. */
#define SAME_PAPER 0.5 /* mm */

/* Relative, k = 2: from there on a scale that rests on a scanner alone is worth a word (a choice: a
 * scanner that was checked is surer). */
#define SCANNER_SAID 0.001

/* How a property is told, and what of it is worth correcting. The least own part is how well a
 * printer repeats itself from sheet to sheet at best; the largest U is past what a correction is
 * good for. Both are estimates. */
typedef struct property {
    const char *name, *unit;
    double neutral, shown; /* value of a true printer; factor to the unit */
    int decimals;
    double least_own, most_U;
    double least, most; /* that are believed */
    double U_written;   /* the largest that is written down */
} property;

static const property properties[PV_PROPERTIES] = {
    {"scale across", " %", 1, 100, 3, 2e-5, 0.003, PV_PRINTER_SCALE_MIN, PV_PRINTER_SCALE_MAX,
     PV_PRINTER_SCALE_U},
    {"scale up", " %", 1, 100, 3, 2e-5, 0.003, PV_PRINTER_SCALE_MIN, PV_PRINTER_SCALE_MAX,
     PV_PRINTER_SCALE_U},
    {"skew", " mrad", 0, 1, 2, 0.05, 3, -PV_PRINTER_SKEW_MAX, PV_PRINTER_SKEW_MAX,
     PV_PRINTER_SKEW_U},
    {"ink spread", " mm", 0, 1, 3, 0.003, 0.1, -PV_PRINTER_INK_MAX, PV_PRINTER_INK_MAX,
     PV_PRINTER_INK_U},
};

/* ---- means ---- */

static double weight_of(const pv_sample *sample, double least_shared)
{
    double more = sample->shared * sample->shared - least_shared * least_shared;
    return 1 / (sample->own * sample->own + more);
}

pv_mean pv_mean_of(const pv_sample *samples, size_t n)
{
    double least = HUGE_VAL, weight = 0, sum = 0, own = 0, shared = 0, limited = 0;
    for (size_t i = 0; i < n; i++)
        least = fmin(least, samples[i].shared);
    for (size_t i = 0; i < n; i++) {
        double w = weight_of(&samples[i], least);
        double u = w * hypot(samples[i].own, samples[i].shared);
        weight += w;
        sum += w * samples[i].value;
        own += w * w * samples[i].own * samples[i].own;
        shared += w * samples[i].shared;
        limited += u * u * u * u / samples[i].freedom;
    }
    pv_mean out = {.value = sum / weight};
    for (size_t i = 0; i < n; i++) {
        double off = samples[i].value - out.value;
        out.chi += off * off * weight_of(&samples[i], least);
    }
    own = sqrt(own) / weight;
    if (n > 1) {
        out.limit = pv_chi_squared_limit((int)n - 1);
        if (out.chi > out.limit)
            own = fmax(own, sqrt(out.chi / (double)(n - 1) / weight));
    }
    out.u = hypot(own, shared / weight);
    double all = out.u * weight;
    out.freedom = limited > 0 ? all * all * all * all / limited : HUGE_VAL;
    return out;
}

bool pv_all_said(const pv_diags *diags)
{
    return diags == NULL || pv_diags_cause(diags) != PV_CAUSE_MEMORY;
}

/* ---- which images count ---- */

static void say(pv_diags *diags, const char *hint, const pv_reported_image *image, const char *why)
{
    pv_diags_add(diags, PV_NOTE, PV_CAUSE_NONE, NULL, hint, "%s is not used: %s", image->file, why);
}

static bool usable(const pv_reported_image *image, pv_diags *diags)
{
    if (image->error != NULL) {
        say(diags, NULL, image, image->error);
        return false;
    }
    if (image->value[PV_OF_X].U > 0 && image->value[PV_OF_Y].U > 0 && image->U_rel > 0)
        return true;
    say(diags,
        image->photograph
            ? "lay a card in its outline, or measure between the marks P, Q, R and S and give "
              "--measured"
            : "scan it with its resolution, give that with --dpi, or lay a card in its outline",
        image, "it has no length reference");
    return false;
}

static void upright(const pv_reported_image *image, double page[2])
{
    page[0] = fmin(image->page[0], image->page[1]);
    page[1] = fmax(image->page[0], image->page[1]);
}

/* A printer may feed each paper otherwise, so that one file is for one paper. */
static bool same_paper(const pv_reported_image *first, const pv_reported_image *other,
                       pv_diags *diags)
{
    double a[2], b[2];
    upright(first, a);
    upright(other, b);
    if (fabs(a[0] - b[0]) <= SAME_PAPER && fabs(a[1] - b[1]) <= SAME_PAPER)
        return true;
    pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL,
                 "calibrate for each paper separately: a printer may feed each differently",
                 "%s shows %s, and %s shows %s", first->file, first->paper, other->file,
                 other->paper);
    return false;
}

/* ---- samples ---- */

/* What an image says of a property, in the printer's own frame: a page that lies has its axes the
 * other way round, and the other angle between them. What the sheet was corrected for comes on top.
 */
static pv_reported of_printer(const pv_reported_image *image, int which)
{
    bool lies = image->page[0] > image->page[1];
    int from = which;
    if (lies && (which == PV_OF_X || which == PV_OF_Y))
        from = which == PV_OF_X ? PV_OF_Y : PV_OF_X;
    pv_reported out = image->value[from];
    if (lies && which == PV_OF_SKEW)
        out.value = -out.value;
    if (!image->corrected)
        return out;
    if (properties[which].neutral > 0)
        out.value *= image->applied[which];
    else
        out.value += image->applied[which];
    return out;
}

/* The part that images of one scanner, or by one card, have in common, standard. */
static double shared_part(const pv_reported_image *image, int which, const pv_reported *value)
{
    if (value->shared >= 0)
        return fmin(value->shared, value->u);
    switch (which) {
    case PV_OF_X:
    case PV_OF_Y:
        return fmin(value->u, image->U_rel * value->value / 2);
    case PV_OF_SKEW:
        return fmin(value->u, 1000 * image->U_rel / 2);
    default: /* the tone curve and what the lines scatter by, which nothing tells apart: by halves
                of the variance */
        return value->u / sqrt(2);
    }
}

static pv_sample sample_of(const pv_reported_image *image, int which)
{
    pv_reported value = of_printer(image, which);
    pv_sample out = {.value = value.value,
                     .shared = shared_part(image, which, &value),
                     .freedom = value.freedom};
    double own = value.u * value.u - out.shared * out.shared;
    out.own = hypot(sqrt(fmax(own, 0)), properties[which].least_own);
    return out;
}

/* ---- one property ---- */

static pv_digits shown(const property *p, double value)
{
    return pv_fixed(p->shown * value, p->decimals);
}

/* Reports the value and decides whether to correct it. */
static void settle(const property *p, const pv_mean *mean, size_t n, pv_printer_value *out,
                   pv_diags *diags)
{
    *out =
        (pv_printer_value){mean->value, pv_student_t(PV_COVERAGE, mean->freedom) * mean->u, false};
    const char *why = NULL;
    double off = fabs(mean->value - p->neutral);
    bool believed = mean->value >= p->least && mean->value <= p->most;
    if (!believed)
        why = "not corrected and not recorded: no sound printer is so far off; print at 100 %, no "
              "scaling";
    else if (out->U > p->most_U)
        why = "not corrected: too uncertain";
    else if (off <= out->U)
        why = "not corrected: the difference is within its uncertainty";
    out->corrected = why == NULL;
    pv_diags_add(diags, PV_NOTE, PV_CAUSE_NONE, NULL, NULL, "%s %s ±%s%s: %s", p->name,
                 shown(p, out->value).chars, shown(p, out->U).chars, p->unit,
                 out->corrected ? "will be corrected" : why);
    if (!believed || out->U > p->U_written)
        *out = (pv_printer_value){.value = p->neutral};
    if (n > 1 && mean->chi > mean->limit)
        pv_diags_add(diags, PV_WARNING, PV_CAUSE_NONE, NULL,
                     "print and scan more sheets, one at a time",
                     "the %zu images disagree on the %s by more than their uncertainties allow "
                     "(chi-squared %s, at most %s expected)",
                     n, p->name, pv_fixed(mean->chi, 1).chars, pv_fixed(mean->limit, 1).chars);
}

static bool settle_all(const pv_reported_image *const *used, size_t n, pv_printer *out,
                       pv_diags *diags)
{
    pv_sample *samples = PV_NEW_ARRAY(n, pv_sample);
    if (samples == NULL)
        return false;
    pv_printer_value *values[PV_PROPERTIES] = {&out->scale[0], &out->scale[1], &out->skew,
                                               &out->ink};
    for (int which = 0; which < PV_PROPERTIES; which++) {
        const property *p = &properties[which];
        size_t m = 0;
        for (size_t i = 0; i < n; i++)
            if (of_printer(used[i], which).U > 0)
                samples[m++] = sample_of(used[i], which);
        *values[which] = (pv_printer_value){.value = p->neutral};
        if (m == 0) {
            pv_diags_add(diags, PV_NOTE, PV_CAUSE_NONE, NULL, NULL,
                         "%s: not measured, so not corrected", p->name);
            continue;
        }
        pv_mean mean = pv_mean_of(samples, m);
        settle(p, &mean, m, values[which], diags);
    }
    free(samples);
    return true;
}

/* What the scanner is off by goes into the file, and nothing shows it. */
static void say_scanner(const pv_reported_image *const *used, size_t n, pv_diags *diags)
{
    double U = 0;
    for (size_t i = 0; i < n; i++)
        U = fmax(U, used[i]->scanner_only ? used[i]->U_rel : 0);
    if (U > SCANNER_SAID)
        pv_diags_add(diags, PV_NOTE, PV_CAUSE_NONE, NULL,
                     "lay a bank card in the outline, give ruler readings, or check the scanner "
                     "(pavior calibrate --scanner)",
                     "the scale rests on the scanner alone, to ±%s %%: what it is off by, the "
                     "corrected sheets will be off by",
                     pv_fixed(100 * U, 2).chars);
}

static bool any_corrected(const pv_printer *p)
{
    return p->scale[0].corrected || p->scale[1].corrected || p->skew.corrected || p->ink.corrected;
}

/* ---- all together ---- */

static pv_printer *printer_of(const pv_reported_image *const *used, size_t n, pv_diags *diags)
{
    for (size_t i = 1; i < n; i++)
        if (!same_paper(used[0], used[i], diags))
            return NULL;
    pv_printer *out = PV_NEW(pv_printer);
    bool good = out != NULL && (out->paper = pv_copy_text(used[0]->paper)) != NULL;
    if (good)
        upright(used[0], out->page);
    if (!good || !settle_all(used, n, out, diags)) {
        pv_fail_memory(diags);
        pv_printer_free(out);
        return NULL;
    }
    if (any_corrected(out)) {
        say_scanner(used, n, diags);
        return out;
    }
    pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL,
                 "if its prints are not accurate enough, measure it better: scan on a flatbed and "
                 "say so with --scanner flatbed, add a card or ruler readings, more sheets or a "
                 "finer scan",
                 "the measurements support no correction of this printer");
    pv_printer_free(out);
    return NULL;
}

/* Every corrected sheet shows it. */
static bool name_is_fair(const char *name, pv_diags *diags)
{
    if (name == NULL ||
        (*name != '\0' && strlen(name) <= PV_PRINTER_NAME_MAX && pv_text_prints(name, NULL)))
        return true;
    pv_fail(diags, PV_CAUSE_USAGE, "a printer's name must be 1 to %d bytes of printable characters",
            PV_PRINTER_NAME_MAX);
    return false;
}

pv_printer *pv_calibrate_printer(const pv_report_text *reports, size_t n, const char *name,
                                 pv_diags *diags)
{
    pv_reported_images images;
    pv_printer *out = NULL;
    const pv_reported_image **used = NULL;
    if (!name_is_fair(name, diags))
        return NULL;
    if (pv_reports_read(reports, n, &images, diags)) {
        used = PV_NEW_ARRAY(images.n, const pv_reported_image *);
        size_t m = 0;
        for (size_t i = 0; used != NULL && i < images.n; i++)
            if (usable(&images.items[i], diags))
                used[m++] = &images.items[i];
        if (used == NULL)
            pv_fail_memory(diags);
        else if (m == 0)
            pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL,
                         "scan a proof (pavior sheets --proof) and inspect it with --json",
                         "no image can be used to calibrate");
        else
            out = printer_of(used, m, diags);
        if (out != NULL && name != NULL && (out->name = pv_copy_text(name)) == NULL)
            pv_fail_memory(diags);
    }
    free((void *)used);
    pv_reports_clear(&images);
    if (out != NULL && !pv_all_said(diags)) {
        pv_printer_free(out);
        out = NULL;
    }
    return out;
}
