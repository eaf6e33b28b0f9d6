/* Weighted least squares of what the references say, and whether they agree. */
#include "reference/combine.h"

#include "base/numeric.h"
#include "po/po.h"

#include <string.h>

/* Tells "unknown" from "known": prior standard deviations of ln scale and skew, so weak that they
 * move nothing that is known, and the standard uncertainty from which something counts as known. */
#define PRIOR_SD 3.0
#define KNOWN_U  0.02

typedef struct estimate {
    double p[3], cov[9];
    double chi_squared;
    int rows, known;
} estimate;

pv_evidence pv_evidence_of_metric(pv_reference_kind kind, const pv_metric *metric)
{
    pv_evidence out = {.result = {.kind = kind}, .rows = 3};
    for (int i = 0; i < 3; i++)
        out.row[i][i] = 1;
    out.z[0] = log(metric->scale[0]);
    out.z[1] = log(metric->scale[1]);
    out.z[2] = metric->skew;
    memcpy(out.cov, metric->cov, sizeof out.cov);
    return out;
}

/* The one parameter that a row is about, or -1. */
static int sole(const double row[3])
{
    int which = -1;
    for (int i = 0; i < 3; i++) {
        if (row[i] == 0)
            continue;
        if (which >= 0 || row[i] != 1)
            return -1;
        which = i;
    }
    return which;
}

void pv_evidence_result(pv_evidence *evidence)
{
    pv_reference_result *result = &evidence->result;
    for (size_t i = 0; i < evidence->rows; i++) {
        int which = sole(evidence->row[i]);
        double u = sqrt(evidence->cov[i * evidence->rows + i]);
        if (which == 2) {
            result->skew = 1000 * evidence->z[i];
            result->skew_U = 2000 * u;
        } else if (which >= 0) {
            result->scale[which] = exp(evidence->z[i]);
            result->U[which] = 2 * u * result->scale[which];
        }
    }
}

/* C^-1 of up to three rows into out (rows x rows). False where it isn't positive. */
static bool inverse(const double *cov, size_t rows, double *out)
{
    double l[9];
    memcpy(l, cov, rows * rows * sizeof *l);
    if (!pv_cholesky(l, rows))
        return false;
    pv_cholesky_inverse(l, rows, out);
    return true;
}

/* Adds H' C^-1 H and H' C^-1 z. */
static bool add_information(const pv_evidence *e, double n[9], double b[3])
{
    double weight[9];
    if (!inverse(e->cov, e->rows, weight))
        return false;
    for (size_t i = 0; i < e->rows; i++)
        for (size_t k = 0; k < e->rows; k++) {
            double w = weight[i * e->rows + k];
            for (int r = 0; r < 3; r++) {
                b[r] += e->row[i][r] * w * e->z[k];
                for (int c = 0; c < 3; c++)
                    n[3 * r + c] += e->row[i][r] * w * e->row[k][c];
            }
        }
    return true;
}

static double left_over(const pv_evidence *e, size_t i, const double p[3])
{
    return e->z[i] - e->row[i][0] * p[0] - e->row[i][1] * p[1] - e->row[i][2] * p[2];
}

/* d' (C + extra)^-1 d of what p leaves of one reference; extra is a covariance of p, or NULL. */
static double distance(const pv_evidence *e, const double p[3], const double *extra)
{
    double cov[9] = {0}, weight[9], sum = 0;
    for (size_t i = 0; i < e->rows; i++)
        for (size_t k = 0; k < e->rows; k++) {
            double *to = &cov[i * e->rows + k];
            *to = e->cov[i * e->rows + k];
            for (int r = 0; extra != NULL && r < 3; r++)
                for (int c = 0; c < 3; c++)
                    *to += e->row[i][r] * extra[3 * r + c] * e->row[k][c];
        }
    if (!inverse(cov, e->rows, weight))
        return 0;
    for (size_t i = 0; i < e->rows; i++)
        for (size_t k = 0; k < e->rows; k++)
            sum += left_over(e, i, p) * weight[i * e->rows + k] * left_over(e, k, p);
    return sum;
}

/* Of all but `skip`. */
static estimate fit(const pv_evidence *items, size_t n, size_t skip)
{
    estimate out = {.rows = 0};
    double normal[9] = {0};
    for (int i = 0; i < 3; i++)
        normal[4 * i] = 1 / (PRIOR_SD * PRIOR_SD);
    for (size_t i = 0; i < n; i++)
        if (i != skip && add_information(&items[i], normal, out.p))
            out.rows += (int)items[i].rows;
    if (!inverse(normal, 3, out.cov))
        return out;
    double l[9];
    memcpy(l, normal, sizeof l);
    if (pv_cholesky(l, 3))
        pv_cholesky_solve(l, 3, out.p);
    for (int i = 0; i < 3; i++)
        out.known += out.cov[4 * i] < KNOWN_U * KNOWN_U;
    for (size_t i = 0; i < n; i++)
        if (i != skip)
            out.chi_squared += distance(&items[i], out.p, NULL);
    return out;
}

static int freedom_of(const estimate *e)
{
    return e->rows > e->known ? e->rows - e->known : 0;
}

static bool agree(const estimate *e)
{
    return e->chi_squared <= pv_chi_squared_limit(freedom_of(e));
}

/* A reference is one that tells the size along x or y. */
static bool tells_size(const pv_evidence *e)
{
    return e->result.U[0] > 0 || e->result.U[1] > 0;
}

/* Of two by themselves. */
static estimate fit_pair(const pv_evidence *items, size_t i, size_t k)
{
    const pv_evidence two[2] = {items[i], items[k]};
    return fit(two, 2, 2);
}

/* How far two stand apart, in standard uncertainties of the difference, per statement that both
 * make; negative where they make none. */
static double apart(const pv_evidence *items, size_t i, size_t k)
{
    estimate two = fit_pair(items, i, k);
    int freedom = freedom_of(&two);
    return freedom > 0 ? sqrt(two.chi_squared / freedom) : -1;
}

/* Whether at least two others, each by itself, say that this one is wrong. */
static bool beyond_doubt(const pv_evidence *items, size_t n, size_t which)
{
    size_t against = 0;
    for (size_t i = 0; i < n; i++) {
        double far = i != which && tells_size(&items[i]) ? apart(items, i, which) : -1;
        if (far >= 0 && far <= PV_LEFT_OUT_FROM)
            return false;
        against += far > PV_LEFT_OUT_FROM;
    }
    return against >= 2;
}

/* The one without which the rest agree, if there is exactly one and it is wrong beyond doubt; else
 * n. */
static size_t odd_one(const pv_evidence *items, size_t n)
{
    size_t odd = n;
    for (size_t i = 0; i < n; i++) {
        estimate rest = fit(items, n, i);
        if (!tells_size(&items[i]) || !agree(&rest))
            continue;
        if (odd < n)
            return n;
        odd = i;
    }
    return odd < n && beyond_doubt(items, n, odd) ? odd : n;
}

/* The two whose difference is the least likely to be chance. */
static void find_pair(pv_evidence *items, size_t n, size_t pair[2])
{
    double most = -1;
    for (size_t i = 0; i < n; i++)
        for (size_t k = i + 1; k < n; k++) {
            estimate two = fit_pair(items, i, k);
            int freedom = freedom_of(&two);
            double much = freedom > 0 ? two.chi_squared / pv_chi_squared_limit(freedom) : -1;
            if (much > most) {
                most = much;
                pair[0] = i;
                pair[1] = k;
            }
        }
    items[pair[0]].result.disagrees = items[pair[1]].result.disagrees = true;
}

static void set_weights(pv_evidence *items, size_t n, const estimate *all, size_t skip)
{
    for (size_t i = 0; i < n; i++) {
        double normal[9] = {0}, b[3] = {0};
        if (i == skip || !add_information(&items[i], normal, b))
            continue;
        for (int a = 0; a < 2; a++) {
            double share = 0;
            for (int k = 0; k < 3; k++)
                share += all->cov[3 * a + k] * normal[3 * k + a];
            items[i].result.weight[a] = fmax(0, fmin(1, share));
        }
    }
}

/* Birge's ratio of each of the three by itself: of the statements that are about it alone. */
static void widen(const pv_evidence *items, size_t n, size_t skip, const estimate *all,
                  double factor[3])
{
    double chi[3] = {0};
    int told[3] = {0};
    for (size_t i = 0; i < n; i++)
        for (size_t r = 0; i != skip && r < items[i].rows; r++) {
            int which = sole(items[i].row[r]);
            if (which < 0)
                continue;
            double off = left_over(&items[i], r, all->p);
            chi[which] += off * off / items[i].cov[r * items[i].rows + r];
            told[which]++;
        }
    for (int i = 0; i < 3; i++)
        factor[i] = told[i] > 1 ? sqrt(fmax(1, chi[i] / (told[i] - 1))) : 1;
}

static pv_metric metric_of(const estimate *e, const double factor[3])
{
    pv_metric out = pv_metric_unknown();
    bool known[3];
    for (int i = 0; i < 3; i++)
        known[i] = e->cov[4 * i] < KNOWN_U * KNOWN_U;
    out.known = known[0] && known[1];
    out.has_skew = known[2];
    for (int i = 0; out.known && i < 2; i++)
        out.scale[i] = exp(e->p[i]);
    out.skew = known[2] ? e->p[2] : 0;
    for (int i = 0; i < 9; i++)
        if ((out.known || (i / 3 == 2 && i % 3 == 2)) && known[i / 3] && known[i % 3])
            out.cov[i] = e->cov[i] * factor[i / 3] * factor[i % 3];
    if (!known[2])
        out.cov[8] = PV_SKEW_UNKNOWN * PV_SKEW_UNKNOWN;
    return out;
}

pv_combined pv_combine(pv_evidence *items, size_t n)
{
    estimate all = fit(items, n, n);
    pv_combined out = {.agreement = PV_AGREE, .left_out = n, .widened = {1, 1, 1}};
    out.chi_squared = all.chi_squared;
    out.freedom = freedom_of(&all);
    out.limit = pv_chi_squared_limit(out.freedom);
    if (!agree(&all)) {
        out.left_out = odd_one(items, n);
        if (out.left_out == n) {
            out.agreement = PV_DISAGREE;
            out.metric = pv_metric_unknown();
            out.metric.cov[8] = PV_SKEW_UNKNOWN * PV_SKEW_UNKNOWN;
            find_pair(items, n, out.pair);
            return out;
        }
        out.agreement = PV_ONE_LEFT_OUT;
        items[out.left_out].result.disagrees = true;
        all = fit(items, n, out.left_out);
    }
    set_weights(items, n, &all, out.left_out);
    widen(items, n, out.left_out, &all, out.widened);
    out.metric = metric_of(&all, out.widened);
    return out;
}

/* ---- words ---- */

/* What a kind is called in a list, and in a sentence. */
static const struct {
    const char *name, *noun;
} words[PV_REFERENCE_KINDS] = {
    [PV_REFERENCE_NONE] = {PV_SAID("none"), PV_SAID("the references")},
    [PV_REFERENCE_SCANNER] = {PV_SAID("scanner"), PV_SAID("the scanner")},
    [PV_REFERENCE_CARD] = {PV_SAID("card"), PV_SAID("the card")},
    [PV_REFERENCE_RULER] = {PV_SAID("ruler"), PV_SAID("the ruler")},
    [PV_REFERENCE_PAPER] = {PV_SAID("paper"), PV_SAID("the paper")},
    [PV_REFERENCE_COMBINED] = {PV_SAID("combined"), PV_SAID("the references")},
};

const char *pv_reference_name(pv_reference_kind kind)
{
    return words[(unsigned)kind < PV_REFERENCE_KINDS ? kind : PV_REFERENCE_NONE].name;
}

const char *pv_reference_noun(pv_reference_kind kind)
{
    return words[(unsigned)kind < PV_REFERENCE_KINDS ? kind : PV_REFERENCE_NONE].noun;
}

static void add_values(pv_text *note, const pv_reference_result *r)
{
    static const char *const axis[] = {"x", "y"};
    bool first = true;
    pv_text_say(note, "%s says", pv_say(note->language, pv_reference_noun(r->kind)));
    for (int i = 0; i < 2; i++) {
        if (r->U[i] <= 0)
            continue;
        pv_text_add(note, "%s %s %s \xC2\xB1%s %%", first ? "" : ",", axis[i],
                    pv_fixed(100 * r->scale[i], 2).chars, pv_fixed(100 * r->U[i], 2).chars);
        first = false;
    }
    if ((first || r->disagrees) && r->skew_U > 0) {
        pv_text_add(note, "%s", first ? "" : ",");
        pv_text_say(note, " skew %s ±%s mrad", pv_fixed(r->skew, 1).chars,
                    pv_fixed(r->skew_U, 1).chars);
    }
}

/* Each that is no silent statement. */
static void add_all_values(pv_text *note, const pv_evidence *items, size_t n)
{
    for (size_t i = 0, told = 0; i < n; i++) {
        if (items[i].silent)
            continue;
        pv_text_add(note, "%s", told++ > 0 ? "; " : "");
        add_values(note, &items[i].result);
    }
}

/* Square pixels are a statement, too, though no reference. */
static const char *noun_of(const pv_text *note, const pv_evidence *item)
{
    return pv_say(note->language, item->silent ? PV_SAID("the scan's square pixels")
                                               : pv_reference_noun(item->result.kind));
}

/* " by 0.52 % along x and 0.40 % along y" */
static void add_difference(const pv_evidence *a, const pv_evidence *b, pv_text *note)
{
    const pv_language *l = note->language;
    const pv_reference_result *p = &a->result, *q = &b->result;
    const char *joint = pv_say(l, " by ");
    for (int i = 0; i < 2; i++) {
        if (!(p->U[i] > 0 && q->U[i] > 0))
            continue;
        pv_text_say(note, "%s%s %% along %s", joint,
                    pv_fixed(100 * fabs(p->scale[i] - q->scale[i]), 2).chars, i == 0 ? "x" : "y");
        joint = pv_say(l, " and ");
    }
    if (p->skew_U > 0 && q->skew_U > 0 && fabs(p->skew - q->skew) > hypot(p->skew_U, q->skew_U))
        pv_text_say(note, "%s%s mrad of skew", joint, pv_fixed(fabs(p->skew - q->skew), 1).chars);
}

/* What to look at where one of this kind may be wrong. */
static const char *doubt_of(const pv_text *note, const pv_evidence *item)
{
    const pv_language *l = note->language;
    switch (item->silent ? PV_REFERENCE_NONE : item->result.kind) {
    case PV_REFERENCE_SCANNER:
        return pv_say(l, "was the sheet scanned on a flatbed, at this resolution, and the picture "
                         "not resized?");
    case PV_REFERENCE_CARD:
        return pv_say(l, "is it a bank card that lies flat? Lay it again.");
    case PV_REFERENCE_RULER:
        return pv_say(l, "were the readings taken between the right marks? Measure again.");
    case PV_REFERENCE_PAPER:
        return pv_say(l, "is the paper cut, or of another size?");
    default:
        return pv_say(l, "was the picture resized in one direction?");
    }
}

static bool has_kind(const pv_evidence *items, size_t n, pv_reference_kind kind)
{
    for (size_t i = 0; i < n; i++)
        if (items[i].result.kind == kind && !items[i].silent)
            return true;
    return false;
}

static void say_disagreement(const pv_evidence *items, size_t n, const size_t pair[2],
                             pv_text *note)
{
    const pv_evidence *a = &items[pair[0]], *b = &items[pair[1]];
    const char *one = noun_of(note, a), *other = noun_of(note, b);
    pv_text_say(note, "%s and %s disagree", one, other);
    add_difference(a, b, note);
    pv_text_say(note,
                ", more than chance explains, so neither is used and the scale is undecided (");
    add_all_values(note, items, n);
    pv_text_say(note, "). Check %s: %s Check %s: %s ", one, doubt_of(note, a), other,
                doubt_of(note, b));
    if (!has_kind(items, n, PV_REFERENCE_RULER))
        pv_text_say(note, "Or measure between its marks P, Q, R and S with a steel rule and give "
                          "pavior inspect --measured: two that agree settle it");
    else if (!has_kind(items, n, PV_REFERENCE_CARD))
        pv_text_say(note, "Or lay a bank card on the sheet: two that agree settle it");
    else
        pv_text_say(note, "Then inspect again");
}

void pv_combined_note(const pv_combined *combined, const pv_evidence *items, size_t n,
                      pv_text *note)
{
    if (combined->agreement == PV_DISAGREE)
        say_disagreement(items, n, combined->pair, note);
    if (combined->agreement != PV_ONE_LEFT_OUT)
        return;
    const pv_evidence *odd = &items[combined->left_out];
    pv_text_say(note, "%s disagrees with the other references, which agree, so it is left out (",
                noun_of(note, odd));
    add_all_values(note, items, n);
    pv_text_add(note, "): %s", doubt_of(note, odd));
}
