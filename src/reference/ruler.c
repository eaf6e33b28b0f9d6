/* Lengths of the print measured by hand. */
#include "reference/ruler.h"

#include "base/numeric.h"

#define U_LEAST 1e-5 /* relative */

/* ---- the sheet's bars ---- */

static double bar_length(const pv_bar *bar)
{
    return bar->count * bar->step;
}

static bool has_length(const pv_sheet *sheet, const pv_ruler_reading *r)
{
    for (size_t i = 0; i < sheet->n_bars; i++) {
        const pv_bar *bar = &sheet->bar[i];
        double ticks = round(r->nominal / bar->step);
        if (bar->vertical == r->vertical && ticks >= 1 && ticks <= bar->count &&
            fabs(ticks * bar->step - r->nominal) <= PV_RULER_TYPED)
            return true;
    }
    return false;
}

/* Whole where they are, as "100" or "101.6". */
static pv_digits short_mm(double mm)
{
    return pv_fixed(mm, fabs(mm - round(mm)) < 0.005            ? 0
                        : fabs(10 * mm - round(10 * mm)) < 0.05 ? 1
                                                                : 2);
}

static void add_bars(const pv_sheet *sheet, bool vertical, pv_text *out)
{
    size_t n = 0;
    for (size_t i = 0; i < sheet->n_bars; i++) {
        const pv_bar *bar = &sheet->bar[i];
        if (bar->vertical != vertical)
            continue;
        pv_text_add(out, "%s%s mm by %s mm", n++ > 0 ? " and " : "",
                    short_mm(bar_length(bar)).chars, short_mm(bar->step).chars);
    }
    if (n == 0)
        pv_text_add(out, "none");
}

bool pv_ruler_readings_fit(const pv_sheet *sheet, const pv_ruler_reading *readings, size_t n,
                           pv_diags *diags)
{
    for (size_t i = 0; i < n; i++) {
        if (has_length(sheet, &readings[i]))
            continue;
        pv_text hint = PV_TEXT_INIT;
        pv_text_add(&hint, "its bars across (x) are ");
        add_bars(sheet, false, &hint);
        pv_text_add(&hint, ", up (y) ");
        add_bars(sheet, true, &hint);
        pv_text_add(&hint, ": measure one of these from tick to tick");
        if (hint.failed)
            pv_fail_memory(diags);
        else
            pv_diags_add(diags, PV_ERROR, PV_CAUSE_DATA, NULL, hint.chars,
                         "--measured %s:%smm: sheet %s has no bar that shows this length",
                         readings[i].vertical ? "y" : "x", short_mm(readings[i].nominal).chars,
                         sheet->name);
        pv_text_drop(&hint);
        return false;
    }
    return true;
}

void pv_ruler_longest_bars(const pv_sheet *sheet, double mm[2])
{
    mm[0] = mm[1] = 0;
    for (size_t i = 0; i < sheet->n_bars; i++) {
        const pv_bar *bar = &sheet->bar[i];
        if (!bar->inch)
            mm[bar->vertical] = fmax(mm[bar->vertical], bar_length(bar));
    }
}

/* ---- readings ---- */

static bool usable(const pv_ruler_reading *r)
{
    return r->nominal > 0 && r->measured > 0 && r->U >= 0 &&
           fabs(r->measured / r->nominal - 1) <= PV_RULER_APART &&
           r->U <= PV_RULER_APART * r->nominal;
}

static double u_of(const pv_ruler_reading *r)
{
    return fmax(U_LEAST, r->U / (2 * r->measured));
}

/* Sums over one axis: of weights 1/u^2, of these times ln(measured / nominal), and of 1/u. */
typedef struct ruler_axis {
    double weight, value, root;
    int n;
    double wider; /* factor on the standard uncertainty, 1 or more */
} ruler_axis;

static void say_unusable(const pv_ruler_reading *r, pv_text *note)
{
    pv_text_add(note, "%sthe reading %s mm for a length of %s mm is impossible and is not used",
                note->length > 0 ? "; " : "", pv_fixed(r->measured, 2).chars,
                pv_fixed(r->nominal, 2).chars);
}

static void sum_up(const pv_ruler_reading *readings, size_t n, ruler_axis axis[2], pv_text *note)
{
    for (size_t i = 0; i < n; i++) {
        const pv_ruler_reading *r = &readings[i];
        if (!usable(r)) {
            say_unusable(r, note);
            continue;
        }
        ruler_axis *a = &axis[r->vertical];
        double u = u_of(r), w = 1 / (u * u);
        a->weight += w;
        a->value += w * log(r->measured / r->nominal);
        a->root += 1 / u;
        a->n++;
    }
}

/* Whether one axis' readings agree with each other: chi-squared of what their least squares mean
 * leaves, by their whole covariance C = (1 - shared) diag(u^2) + shared u u'. With d what the mean
 * by 1/u^2 leaves in units of u, and a = 1/u, that is Q(d,d) - Q(d,a)^2 / Q(a,a), where
 *     Q(p,q) = (sum(p q) - part sum(p) sum(q)) / (1 - shared)
 * is the inverse of C (Sherman and Morrison), and sum(d a) = 0. */
static void compare(const pv_ruler_reading *readings, size_t n, bool vertical, ruler_axis *a,
                    pv_text *note)
{
    double mean = a->value / a->weight, squares = 0, sum = 0;
    double part = PV_RULER_SHARED / (1 - PV_RULER_SHARED + a->n * PV_RULER_SHARED);
    double lo = HUGE_VAL, hi = -HUGE_VAL;
    for (size_t i = 0; i < n; i++) {
        const pv_ruler_reading *r = &readings[i];
        if (!usable(r) || r->vertical != vertical)
            continue;
        double off = (log(r->measured / r->nominal) - mean) / u_of(r);
        squares += off * off;
        sum += off;
        lo = fmin(lo, r->measured / r->nominal);
        hi = fmax(hi, r->measured / r->nominal);
    }
    double with = part * sum * a->root, own = a->weight - part * a->root * a->root;
    double chi = (squares - part * sum * sum - with * with / own) / (1 - PV_RULER_SHARED);
    if (a->n < 2 || chi <= pv_chi_squared_limit(a->n - 1))
        return;
    a->wider = sqrt(chi / (a->n - 1));
    pv_text_add(note,
                "%sthe %d readings along %s disagree: they say %s to %s %%, so their mean is taken "
                "as %s times as uncertain: measure again",
                note->length > 0 ? "; " : "", a->n, vertical ? "y" : "x",
                pv_fixed(100 * lo, 2).chars, pv_fixed(100 * hi, 2).chars,
                pv_fixed(a->wider, 1).chars);
}

pv_evidence pv_ruler_evidence(const pv_ruler_reading *readings, size_t n, pv_text *note)
{
    pv_evidence out = {.result = {.kind = PV_REFERENCE_RULER}};
    ruler_axis axis[2] = {{.wider = 1}, {.wider = 1}};
    sum_up(readings, n, axis, note);
    /* var(mean) = sum w_i w_k c_ik / (sum w)^2, with w = 1/u^2 and c_ii = u_i^2, else shared:
     * ((1 - shared) sum w + shared (sum 1/u)^2) / (sum w)^2. */
    double root[2];
    int which[2];
    for (int k = 0; k < 2; k++) {
        if (!(axis[k].weight > 0))
            continue;
        compare(readings, n, k == 1, &axis[k], note);
        size_t i = out.rows++;
        which[i] = k;
        root[i] = axis[k].wider * axis[k].root / axis[k].weight;
        out.row[i][k] = 1;
        out.z[i] = axis[k].value / axis[k].weight;
    }
    for (size_t i = 0; i < out.rows; i++)
        for (size_t k = 0; k < out.rows; k++) {
            const ruler_axis *a = &axis[which[i]];
            out.cov[i * out.rows + k] =
                PV_RULER_SHARED * root[i] * root[k] +
                (i == k ? (1 - PV_RULER_SHARED) * a->wider * a->wider / a->weight : 0);
        }
    pv_evidence_result(&out);
    return out;
}
