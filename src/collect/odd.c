/* What is usual over all teams, and who is odd: a picture whose value is further from the median of
 * all than ODD_SPREADS robust standard deviations, and by more than its own uncertainty, so that a
 * coarse picture is not odd for being coarse. The median and the median deviation are not moved by
 * the odd ones themselves, as long as they are fewer than half. */
#include "base/memory.h"
#include "base/numeric.h"
#include "collect/tally.h"

#include <math.h>
#include <stdlib.h>

#define ODD_SPREADS 3.0 /* of a normal distribution one in 370 is further out: common practice */

double pv_tally_odd_value(const pv_tally_row *row, int which)
{
    if (row->error != NULL || !isfinite(row->U_rel))
        return NAN;
    switch (which) {
    case PV_ODD_SCALE_X:
        return row->scale[0];
    case PV_ODD_SCALE_Y:
        return row->scale[1];
    case PV_ODD_SKEW:
        return row->skew;
    default:
        return row->kind[PV_TALLY_WIDTH].mean;
    }
}

static double uncertainty(const pv_tally_row *row, int which)
{
    switch (which) {
    case PV_ODD_SCALE_X:
        return row->scale_U[0];
    case PV_ODD_SCALE_Y:
        return row->scale_U[1];
    case PV_ODD_SKEW:
        return row->skew_U;
    default:
        return row->kind[PV_TALLY_WIDTH].mean_U;
    }
}

static void compare(pv_tally *t, int which, double *values, double *scratch)
{
    pv_tally_usual *usual = &t->usual[which];
    usual->n = 0;
    for (size_t i = 0; i < t->n_rows; i++) {
        double value = pv_tally_odd_value(&t->rows[i], which);
        if (isfinite(value))
            values[usual->n++] = value;
    }
    if (usual->n < PV_ODD_LEAST)
        return;
    usual->median = pv_median(values, usual->n, scratch);
    for (size_t i = 0; i < usual->n; i++)
        values[i] = fabs(values[i] - usual->median);
    usual->spread = PV_MAD_TO_SIGMA * pv_median_of(values, usual->n);
    for (size_t i = 0; i < t->n_rows; i++) {
        double off = fabs(pv_tally_odd_value(&t->rows[i], which) - usual->median);
        if (off > ODD_SPREADS * usual->spread && off > uncertainty(&t->rows[i], which))
            t->rows[i].odd |= 1u << which;
    }
}

bool pv_tally_compare(pv_tally *t)
{
    double *values = PV_NEW_ARRAY(t->n_rows, double), *scratch = PV_NEW_ARRAY(t->n_rows, double);
    bool good = values != NULL && scratch != NULL;
    for (int which = 0; good && which < PV_ODDS; which++)
        compare(t, which, values, scratch);
    free(values);
    free(scratch);
    return good;
}
