/* Lengths of the print measured by hand, between gauge marks. */
#include "reference/ruler.h"

#include "base/numeric.h"
#include "po/po.h"

#include <string.h>

#define U_LEAST 1e-5 /* relative */
#define LIKELY  0.02 /* relative: another pair of marks so near to a reading is named */
#define ROUNDS  3    /* of the fit: lengths are all but linear in the scales and the skew */

/* ---- the sheet's marks ---- */

static int mark_of(char name)
{
    const char *at = name != '\0' ? strchr(PV_GAUGE_NAMES, name) : NULL;
    return at != NULL ? (int)(at - PV_GAUGE_NAMES) : -1;
}

static pv_vec span_of(const pv_sheet *sheet, char from, char to)
{
    int a = mark_of(from), b = mark_of(to);
    if (sheet->n_gauge == 0 || a < 0 || b < 0)
        return pv_v(0, 0);
    return pv_sub(sheet->gauge[b], sheet->gauge[a]);
}

double pv_ruler_nominal(const pv_sheet *sheet, char from, char to)
{
    return pv_len(span_of(sheet, from, to));
}

/* A tape of class II (pavior/inspect.h). */
static double tape_U(double mm)
{
    return hypot(0.2, 2 * (0.3 + 0.2 * ceil(mm / 1000)) / sqrt(3));
}

double pv_ruler_U(const pv_ruler_reading *reading, double nominal)
{
    if (reading->U > 0)
        return reading->U;
    return nominal <= PV_RULER_LONGEST ? PV_RULER_U : tape_U(nominal);
}

/* Whole where it is, as "100" or "101.6". */
static pv_digits short_mm(double mm)
{
    return pv_fixed(mm, fabs(mm - round(mm)) < 0.05 ? 0 : 1);
}

/* What may have happened: other marks, or inches. */
static void guess(const pv_sheet *sheet, const pv_ruler_reading *r, pv_text *hint)
{
    for (int a = 0; a < PV_GAUGE_MARKS; a++)
        for (int b = a + 1; b < PV_GAUGE_MARKS; b++) {
            double other = pv_dist(sheet->gauge[a], sheet->gauge[b]);
            if (hint->length > 0 || fabs(r->measured / other - 1) > LIKELY)
                continue;
            pv_text_say(hint, "from %c to %c it is %s mm: were these the marks?", PV_GAUGE_NAMES[a],
                        PV_GAUGE_NAMES[b], short_mm(other).chars);
        }
    double inches = pv_ruler_nominal(sheet, r->from, r->to) / PV_MM_PER_IN;
    if (hint->length == 0 && fabs(r->measured / inches - 1) <= PV_RULER_APART)
        pv_text_say(hint, "were these inches? Then write %sin", pv_fixed(r->measured, 2).chars);
    if (hint->length == 0)
        pv_text_say(hint, "measure from the middle of one cross to the middle of the other");
}

static bool fits(const pv_sheet *sheet, const pv_ruler_reading *r, pv_diags *diags)
{
    double nominal = pv_ruler_nominal(sheet, r->from, r->to);
    if (!(nominal > 0)) {
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL,
                     sheet->n_gauge > 0 ? "its marks are P, Q, R and S, near its corners" : NULL,
                     "--measured %c-%c: sheet %s has no such marks", r->from, r->to, sheet->name);
        return false;
    }
    pv_text hint = PV_TEXT_IN(pv_diags_language(diags));
    double U = pv_ruler_U(r, nominal);
    bool near = r->measured > 0 && fabs(r->measured / nominal - 1) <= PV_RULER_APART;
    if (!near)
        guess(sheet, r, &hint);
    else if (U > PV_RULER_APART * nominal)
        pv_text_say(&hint, "this reading is too uncertain to be of use");
    bool good = hint.length == 0 && !hint.failed;
    if (hint.failed)
        pv_fail_memory(diags);
    else if (!good)
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL, hint.chars,
                     "--measured %c-%c=%smm: sheet %s has these marks %s mm apart", r->from, r->to,
                     pv_fixed(r->measured, 2).chars, sheet->name, short_mm(nominal).chars);
    pv_text_drop(&hint);
    return good;
}

bool pv_ruler_readings_fit(const pv_sheet *sheet, const pv_ruler_reading *readings, size_t n,
                           pv_diags *diags)
{
    for (size_t i = 0; i < n; i++)
        if (!fits(sheet, &readings[i], diags))
            return false;
    return true;
}

/* ---- least squares ---- */

/* ln |M d / d| and its derivatives by p = (ln sx, ln sy, skew). */
static double predict(pv_vec d, const double p[3], double h[3])
{
    double sx = exp(p[0]), sy = exp(p[1]), s = sin(p[2]), c = cos(p[2]);
    pv_vec t = {sx * d.x + sy * s * d.y, sy * c * d.y};
    double square = pv_dot(t, t);
    h[0] = t.x * sx * d.x / square;
    h[1] = (t.x * sy * s * d.y + t.y * sy * c * d.y) / square;
    h[2] = (t.x * sy * c * d.y - t.y * sy * s * d.y) / square;
    return log(square / pv_dot(d, d)) / 2;
}

/* Readings as one least squares problem: about both scales and the skew, or about each direction
 * by itself. */
typedef struct ruler_fit {
    const pv_sheet *sheet;
    const pv_ruler_reading *readings;
    size_t n;
    size_t way[4]; /* which direction is the how manieth: across, up, either diagonal; or n_ways */
    pv_vec along[4];
    size_t n_ways;
    bool whole; /* p is (ln sx, ln sy, skew); else a mean for each direction */
    double p[3], normal[9], chi;
} ruler_fit;

/* 0 across, 1 up, 2 and 3 the diagonals. */
static int way_of(const pv_ruler_reading *r)
{
    int a = mark_of(r->from), b = mark_of(r->to), low = a < b ? a : b;
    if ((a + b) % 2 == 0)
        return 2 + low;
    return a + b == 1 || a + b == 5 ? 0 : 1;
}

static void list_ways(ruler_fit *f)
{
    for (int w = 0; w < 4; w++) {
        f->way[w] = SIZE_MAX;
        for (size_t i = 0; i < f->n && f->way[w] == SIZE_MAX; i++)
            if (way_of(&f->readings[i]) == w) {
                f->along[f->n_ways] = span_of(f->sheet, f->readings[i].from, f->readings[i].to);
                f->way[w] = f->n_ways++;
            }
    }
    f->whole = f->n_ways >= 3;
}

/* One round at p: the normal matrix N = H' H of rows weighed by 1 / u, H' r in `right`, H' 1 in
 * `ones`, and the sum of squares of r, what p leaves. */
static void sum_up(ruler_fit *f, size_t m, double right[3], double ones[3])
{
    memset(f->normal, 0, sizeof f->normal);
    memset(right, 0, 3 * sizeof *right);
    memset(ones, 0, 3 * sizeof *ones);
    f->chi = 0;
    for (size_t i = 0; i < f->n; i++) {
        const pv_ruler_reading *r = &f->readings[i];
        pv_vec d = span_of(f->sheet, r->from, r->to);
        double h[3] = {0}, nominal = pv_len(d), at;
        double u = fmax(U_LEAST, pv_ruler_U(r, nominal) / (2 * r->measured));
        size_t way = f->way[way_of(r)];
        if (f->whole) {
            at = predict(d, f->p, h);
        } else {
            at = f->p[way];
            h[way] = 1;
        }
        double left = (log(r->measured / nominal) - at) / u;
        f->chi += left * left;
        for (size_t k = 0; k < m; k++) {
            right[k] += h[k] / u * left;
            ones[k] += h[k] / u;
            for (size_t l = 0; l < m; l++)
                f->normal[m * k + l] += h[k] * h[l] / (u * u);
        }
    }
}

/* p, its chi-squared, and its covariance as pv_ruler_evidence describes it. */
static bool solve(ruler_fit *f, size_t m, double cov[9])
{
    double right[3], ones[3], alone[9];
    for (int round = 0; round < ROUNDS; round++) {
        sum_up(f, m, right, ones);
        if (!pv_cholesky(f->normal, m))
            return false;
        pv_cholesky_solve(f->normal, m, right);
        for (size_t k = 0; k < m; k++)
            f->p[k] += right[k];
    }
    sum_up(f, m, right, ones);
    if (!pv_cholesky(f->normal, m))
        return false;
    pv_cholesky_inverse(f->normal, m, alone);
    pv_cholesky_solve(f->normal, m, ones);
    double grow[3];
    for (size_t k = 0; k < m; k++)
        for (size_t l = 0; l < m; l++)
            cov[m * k + l] =
                (1 - PV_RULER_SHARED) * alone[m * k + l] + PV_RULER_SHARED * ones[k] * ones[l];
    for (size_t k = 0; k < m; k++)
        grow[k] = sqrt(fmax(1, alone[(m + 1) * k] / cov[(m + 1) * k]));
    for (size_t k = 0; k < m * m; k++)
        cov[k] *= grow[k / m] * grow[k % m];
    return true;
}

/* The factor on the standard uncertainties, 1 where the readings agree. */
static double agreement(const ruler_fit *f, size_t m, pv_text *note)
{
    int freedom = (int)(f->n - m);
    if (freedom < 1 || f->chi <= pv_chi_squared_limit(freedom))
        return 1;
    double wider = sqrt(f->chi / freedom);
    pv_text_say(note,
                "the readings of the marks disagree with each other, so they count as %s times as "
                "uncertain: measure again",
                pv_fixed(wider, 1).chars);
    return wider;
}

pv_evidence pv_ruler_evidence(const pv_sheet *sheet, const pv_ruler_reading *readings, size_t n,
                              pv_text *note)
{
    pv_evidence out = {.result = {.kind = PV_REFERENCE_RULER}};
    ruler_fit f = {.sheet = sheet, .readings = readings, .n = n};
    list_ways(&f);
    size_t m = f.whole ? 3 : f.n_ways;
    if (n == 0 || !solve(&f, m, out.cov))
        return out;
    double wider = agreement(&f, m, note);
    const double nothing[3] = {0};
    for (size_t i = 0; i < m; i++) {
        if (f.whole)
            out.row[i][i] = 1;
        else
            predict(f.along[i], nothing, out.row[i]);
        out.z[i] = f.p[i];
    }
    for (size_t i = 0; i < m * m; i++)
        out.cov[i] *= wider * wider;
    out.rows = m;
    pv_evidence_result(&out);
    return out;
}
