/* Lengths of the print measured by hand. */
#include "reference/ruler.h"

#define U_LEAST 1e-5 /* relative */

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
} ruler_axis;

pv_evidence pv_ruler_evidence(const pv_ruler_reading *readings, size_t n, pv_text *note)
{
    pv_evidence out = {.result = {.kind = PV_REFERENCE_RULER}};
    ruler_axis axis[2] = {{0, 0, 0}, {0, 0, 0}};
    for (size_t i = 0; i < n; i++) {
        const pv_ruler_reading *r = &readings[i];
        if (!usable(r)) {
            pv_text_add(note, "%sthe reading %s mm for %s mm can't be meant and is not used",
                        note->length > 0 ? "; " : "", pv_fixed(r->measured, 2).chars,
                        pv_fixed(r->nominal, 2).chars);
            continue;
        }
        ruler_axis *a = &axis[r->vertical];
        double u = u_of(r), w = 1 / (u * u);
        a->weight += w;
        a->value += w * log(r->measured / r->nominal);
        a->root += 1 / u;
    }
    /* var(mean) = sum w_i w_k c_ik / (sum w)^2, with w = 1/u^2 and c_ii = u_i^2, else shared:
     * ((1 - shared) sum w + shared (sum 1/u)^2) / (sum w)^2. */
    double root[2];
    int which[2];
    for (int k = 0; k < 2; k++) {
        if (!(axis[k].weight > 0))
            continue;
        size_t i = out.rows++;
        which[i] = k;
        root[i] = axis[k].root / axis[k].weight;
        out.row[i][k] = 1;
        out.z[i] = axis[k].value / axis[k].weight;
    }
    for (size_t i = 0; i < out.rows; i++)
        for (size_t k = 0; k < out.rows; k++)
            out.cov[i * out.rows + k] =
                PV_RULER_SHARED * root[i] * root[k] +
                (i == k ? (1 - PV_RULER_SHARED) / axis[which[i]].weight : 0);
    pv_evidence_result(&out);
    return out;
}
