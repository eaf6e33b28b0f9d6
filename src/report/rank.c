#include "report/rank.h"

#include "base/memory.h"
#include "judge/judge.h"

#include <math.h>
#include <stdlib.h>

double pv_strain(const pv_value *value)
{
    if (!value->measured)
        return 0;
    double off = fabs(value->value - value->nominal);
    return value->tolerance > 0 ? off / value->tolerance : off > 0 ? HUGE_VAL : 0;
}

const pv_value *pv_worst(const pv_inspection *in, pv_value_kind kind)
{
    const pv_value *worst = NULL;
    for (size_t i = 0; i < in->table.n_values; i++) {
        const pv_value *value = &in->table.values[i];
        if (value->kind == kind && value->counts && value->measured &&
            (worst == NULL || pv_strain(value) > pv_strain(worst)))
            worst = value;
    }
    return worst;
}

const pv_value *pv_worst_of_lines(const pv_inspection *in)
{
    const pv_value *width = pv_worst(in, PV_KIND_WIDTH), *bow = pv_worst(in, PV_KIND_STRAIGHT);
    return width == NULL || (bow != NULL && pv_strain(bow) > pv_strain(width)) ? bow : width;
}

pv_verdict pv_line_verdict(const pv_inspection *in, size_t line)
{
    const pv_value *width = pv_inspection_find(in, PV_KIND_WIDTH, line);
    const pv_value *straight = pv_inspection_find(in, PV_KIND_STRAIGHT, line);
    return straight->measured ? pv_judge_worse(width->verdict, straight->verdict) : width->verdict;
}

typedef struct ranked {
    int rank; /* by verdict */
    double strain;
    size_t index;
} ranked;

static int worse_first(const void *x, const void *y)
{
    const ranked *a = x, *b = y;
    if (a->rank != b->rank)
        return a->rank < b->rank ? -1 : 1;
    if (a->strain != b->strain)
        return a->strain > b->strain ? -1 : 1;
    return a->index < b->index ? -1 : a->index > b->index;
}

static int rank_of(const pv_value *value)
{
    return value->verdict == PV_DOES_NOT_CONFORM ? 0
           : value->verdict == PV_UNDECIDED      ? (value->measured ? 1 : 2)
                                                 : 3;
}

static ranked rank_line(const pv_inspection *in, size_t line)
{
    const pv_value *width = pv_inspection_find(in, PV_KIND_WIDTH, line);
    const pv_value *straight = pv_inspection_find(in, PV_KIND_STRAIGHT, line);
    int rank = rank_of(width);
    if (straight->measured && rank_of(straight) < rank)
        rank = rank_of(straight);
    return (ranked){in->table.lines[line].planned > 0 ? rank : 4,
                    fmax(pv_strain(width), pv_strain(straight)), line};
}

bool pv_ranking_make(pv_ranking *ranking, const pv_inspection *in)
{
    const pv_measures *table = &in->table;
    size_t n = table->n_lines, m = 0;
    ranked *list = PV_NEW_ARRAY(n + table->n_values, ranked);
    *ranking = (pv_ranking){.lines = PV_NEW_ARRAY(n, size_t),
                            .spacings = PV_NEW_ARRAY(table->n_values, const pv_value *)};
    bool good = list != NULL && ranking->lines != NULL && ranking->spacings != NULL;
    for (size_t i = 0; good && i < n; i++)
        list[i] = rank_line(in, i);
    for (size_t i = 0; good && i < table->n_values; i++)
        if (table->values[i].kind == PV_KIND_SPACING)
            list[n + m++] = (ranked){rank_of(&table->values[i]), pv_strain(&table->values[i]), i};
    if (good) {
        qsort(list, n, sizeof *list, worse_first);
        qsort(list + n, m, sizeof *list, worse_first);
    }
    for (size_t i = 0; good && i < n; i++)
        ranking->lines[i] = list[i].index;
    for (size_t i = 0; good && i < m; i++)
        ranking->spacings[i] = &table->values[list[n + i].index];
    ranking->n_spacings = m;
    free(list);
    return good;
}

void pv_ranking_clear(pv_ranking *ranking)
{
    free(ranking->lines);
    free((void *)ranking->spacings);
    *ranking = (pv_ranking){0};
}
