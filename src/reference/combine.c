/* Weighted least squares of what the references say, and whether they agree. */
#include "reference/combine.h"

#include "base/numeric.h"

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

/* How far one stands from what the others say, in standard uncertainties of the difference, per
 * statement. */
static double apart(const pv_evidence *items, size_t n, size_t which)
{
    estimate rest = fit(items, n, which);
    return sqrt(distance(&items[which], rest.p, rest.cov) / (double)items[which].rows);
}

/* The one without which the rest agree, if there is exactly one and it is far off; else n. */
static size_t odd_one(const pv_evidence *items, size_t n)
{
    size_t odd = n, sizes = 0;
    for (size_t i = 0; i < n; i++)
        sizes += tells_size(&items[i]);
    if (sizes < 3)
        return n;
    for (size_t i = 0; i < n; i++) {
        estimate rest = fit(items, n, i);
        if (!tells_size(&items[i]) || !agree(&rest))
            continue;
        if (odd < n)
            return n;
        odd = i;
    }
    return odd < n && apart(items, n, odd) > PV_LEFT_OUT_FROM ? odd : n;
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

/* By what the uncertainties must grow so that U covers the whole of a reference's own interval. */
static double factor_to_hold(const pv_evidence *e, const estimate *all)
{
    double most = 1;
    for (size_t i = 0; i < e->rows; i++) {
        int which = sole(e->row[i]);
        if (which < 0)
            continue;
        double U = 2 * sqrt(e->cov[i * e->rows + i]), own = 2 * sqrt(all->cov[4 * which]);
        most = fmax(most, (fabs(left_over(e, i, all->p)) + U) / own);
    }
    return most;
}

static double widen(pv_evidence *items, size_t n, const estimate *all)
{
    double factor = sqrt(fmax(1, all->chi_squared / freedom_of(all)));
    for (size_t i = 0; i < n; i++) {
        double far = apart(items, n, i);
        items[i].result.disagrees =
            far * far * (double)items[i].rows > pv_chi_squared_limit((int)items[i].rows);
        if (items[i].result.disagrees)
            factor = fmax(factor, factor_to_hold(&items[i], all));
    }
    return factor;
}

static pv_metric metric_of(const estimate *e, double factor)
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
            out.cov[i] = e->cov[i] * factor * factor;
    if (!known[2])
        out.cov[8] = PV_SKEW_UNKNOWN * PV_SKEW_UNKNOWN;
    return out;
}

pv_combined pv_combine(pv_evidence *items, size_t n)
{
    estimate all = fit(items, n, n);
    pv_combined out = {.agreement = PV_AGREE, .left_out = n, .widened = 1};
    out.chi_squared = all.chi_squared;
    out.freedom = freedom_of(&all);
    out.limit = pv_chi_squared_limit(out.freedom);
    if (!agree(&all)) {
        out.left_out = odd_one(items, n);
        if (out.left_out < n) {
            out.agreement = PV_ONE_LEFT_OUT;
            items[out.left_out].result.disagrees = true;
            all = fit(items, n, out.left_out);
        } else {
            out.agreement = PV_WIDENED;
            out.widened = widen(items, n, &all);
        }
    }
    set_weights(items, n, &all, out.left_out);
    out.metric = metric_of(&all, out.widened);
    return out;
}

/* ---- words ---- */

/* What a kind is called in a list, and in a sentence. */
static const struct {
    const char *name, *noun;
} words[PV_REFERENCE_KINDS] = {
    [PV_REFERENCE_NONE] = {"none", "the references"},
    [PV_REFERENCE_SCANNER] = {"scanner", "the scanner"},
    [PV_REFERENCE_CARD] = {"card", "the card"},
    [PV_REFERENCE_RULER] = {"ruler", "the ruler"},
    [PV_REFERENCE_PAPER] = {"paper", "the paper"},
    [PV_REFERENCE_COMBINED] = {"combined", "the references"},
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
    pv_text_add(note, "%s says", pv_reference_noun(r->kind));
    for (int i = 0; i < 2; i++) {
        if (r->U[i] <= 0)
            continue;
        pv_text_add(note, "%s %s %s \xC2\xB1%s %%", first ? "" : ",", axis[i],
                    pv_fixed(100 * r->scale[i], 2).chars, pv_fixed(100 * r->U[i], 2).chars);
        first = false;
    }
    if (first || r->disagrees)
        if (r->skew_U > 0)
            pv_text_add(note, "%s skew %s \xC2\xB1%s mrad", first ? "" : ",",
                        pv_fixed(r->skew, 1).chars, pv_fixed(r->skew_U, 1).chars);
}

void pv_combined_note(const pv_combined *combined, const pv_evidence *items, size_t n,
                      pv_text *note)
{
    size_t told = 0;
    if (combined->agreement == PV_AGREE)
        return;
    pv_text_add(note, "the references disagree: ");
    for (size_t i = 0; i < n; i++) {
        if (items[i].silent)
            continue;
        pv_text_add(note, "%s", told++ > 0 ? "; " : "");
        add_values(note, &items[i].result);
    }
    if (combined->agreement == PV_ONE_LEFT_OUT)
        pv_text_add(note, ". All but %s agree, so %s is left out: find out why it is off",
                    pv_reference_noun(items[combined->left_out].result.kind),
                    pv_reference_noun(items[combined->left_out].result.kind));
    else
        pv_text_add(note,
                    ". It is unknown which is wrong, so the scale's uncertainty is widened %s "
                    "times to cover them all: find the one that is off, or add another reference",
                    pv_fixed(combined->widened, 1).chars);
}
