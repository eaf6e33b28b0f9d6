/* Rows of the table of values, asked for by tests, and made by hand. */
#ifndef TESTS_VALUES_H
#define TESTS_VALUES_H

#include "common.h"

#include "base/memory.h"
#include "judge/results.h"

static inline pv_value *row_in(const pv_measures *m, pv_value_kind kind, size_t subject)
{
    pv_value *row = pv_measures_find(m, kind, subject);
    ck_assert_ptr_nonnull(row);
    return row;
}

static inline pv_value *row_of(const pv_inspection *in, pv_value_kind kind, size_t subject)
{
    return row_in(&in->table, kind, subject);
}

static inline size_t count_spacings(const pv_measures *m)
{
    size_t n = 0;
    for (size_t i = 0; i < m->n_values; i++)
        n += m->values[i].kind == PV_KIND_SPACING;
    return n;
}

static inline pv_value *spacing_in(const pv_measures *m, size_t index)
{
    for (size_t i = 0; i < m->n_values; i++)
        if (m->values[i].kind == PV_KIND_SPACING && index-- == 0)
            return &m->values[i];
    ck_abort_msg("there is no such spacing");
    return NULL;
}

/* U as inspections have it, of a row as it was measured. */
static inline double U_of(const pv_value *row)
{
    pv_value judged = *row;
    judged.tolerance = 1;
    pv_value_judge(&judged);
    return judged.U;
}

/* A judged row made by hand, all of its uncertainty from scatter. */
static inline pv_value judged_row(pv_value_kind kind, size_t subject, double nominal, double value,
                                  double U, double tolerance, pv_verdict verdict)
{
    return (pv_value){.kind = kind,
                      .subject = subject,
                      .nominal = nominal,
                      .value = value,
                      .U = U,
                      .u = U / 2,
                      .k = 2,
                      .freedom = HUGE_VAL,
                      .probability = verdict == PV_CONFORMS ? 0.99 : 0.12,
                      .part = {[PV_PART_SCATTER] = U / 2},
                      .tolerance = tolerance,
                      .verdict = verdict,
                      .measured = true,
                      .counts = true,
                      .fair = true};
}

/* What was not measured. */
static inline pv_value missing_row(pv_value_kind kind, size_t subject, double tolerance)
{
    return (pv_value){.kind = kind,
                      .subject = subject,
                      .nominal = kind == PV_KIND_SCALE ? 1 : 0,
                      .tolerance = tolerance,
                      .probability = NAN,
                      .verdict = PV_UNDECIDED,
                      .counts = true,
                      .fair = true};
}

static inline void add_row(pv_measures *m, pv_value row)
{
    ck_assert(pv_measures_add(m, &row));
}

#endif
