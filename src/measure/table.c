/* The table of values while it grows, and its order. */
#include "measure/measure.h"

#include "base/memory.h"

#include <stdlib.h>

void pv_measures_clear(pv_measures *measures)
{
    for (size_t i = 0; i < measures->n_lines; i++)
        free((char *)measures->lines[i].id);
    for (size_t i = 0; i < measures->n_fills; i++)
        free((char *)measures->fills[i].colour);
    for (size_t i = 0; i < measures->n_marks; i++) {
        free((char *)measures->marks[i].colour);
        free((char *)measures->marks[i].line);
        free((char *)measures->marks[i].meaning);
    }
    free(measures->values);
    free(measures->lines);
    free(measures->stations);
    free(measures->fills);
    free(measures->flaws);
    free(measures->marks);
    *measures = (pv_measures){0};
}

bool pv_measures_add_line(pv_measures *measures, const pv_line_result *line)
{
    if (!PV_GROW(measures->lines, measures->n_lines, measures->cap_lines))
        return false;
    pv_line_result *to = &measures->lines[measures->n_lines];
    *to = *line;
    to->id = pv_copy_text(line->id);
    measures->n_lines += to->id != NULL;
    return to->id != NULL;
}

bool pv_measures_add_fill(pv_measures *measures, const pv_fill_result *fill)
{
    if (!PV_GROW(measures->fills, measures->n_fills, measures->cap_fills))
        return false;
    pv_fill_result *to = &measures->fills[measures->n_fills];
    *to = *fill;
    to->colour = pv_copy_text(fill->colour);
    measures->n_fills += to->colour != NULL;
    return to->colour != NULL;
}

bool pv_measures_add(pv_measures *measures, const pv_value *row)
{
    if (!PV_GROW(measures->values, measures->n_values, measures->cap_values))
        return false;
    pv_value *to = &measures->values[measures->n_values++];
    *to = *row;
    to->name = to->to = "";
    switch (pv_kind_of(row->kind)->of) {
    case PV_OF_SHEET:
        if (row->kind == PV_KIND_SCALE)
            to->name = row->subject == 0 ? "x" : "y";
        break;
    case PV_OF_LINES:
        to->to = measures->lines[row->other].id;
        to->name = measures->lines[row->subject].id;
        break;
    case PV_OF_LINE:
        to->name = measures->lines[row->subject].id;
        break;
    case PV_OF_AREA:
        to->name = measures->fills[row->subject].colour;
        break;
    }
    return true;
}

/* The sheet's, each line's, the spacings, each area's. */
static size_t place_of(const pv_measures *measures, const pv_value *row)
{
    switch (pv_kind_of(row->kind)->of) {
    case PV_OF_SHEET:
        break;
    case PV_OF_LINE:
        return 1 + row->subject;
    case PV_OF_LINES:
        return 1 + measures->n_lines;
    case PV_OF_AREA:
        return 2 + measures->n_lines + row->subject;
    }
    return 0;
}

bool pv_measures_sort(pv_measures *measures)
{
    size_t places = 2 + measures->n_lines + measures->n_fills, n = measures->n_values;
    size_t *first = PV_NEW_ARRAY(places + 1, size_t);
    pv_value *sorted = PV_NEW_ARRAY(n, pv_value);
    bool good = first != NULL && sorted != NULL;
    for (size_t i = 0; good && i < n; i++)
        first[place_of(measures, &measures->values[i]) + 1]++;
    for (size_t i = 0; good && i < places; i++)
        first[i + 1] += first[i];
    for (size_t i = 0; good && i < measures->n_lines; i++)
        measures->lines[i].first_value = first[1 + i];
    for (size_t i = 0; good && i < measures->n_fills; i++)
        measures->fills[i].first_value = first[2 + measures->n_lines + i];
    for (size_t i = 0; good && i < n; i++)
        sorted[first[place_of(measures, &measures->values[i])]++] = measures->values[i];
    free(first);
    if (!good) {
        free(sorted);
        return false;
    }
    free(measures->values);
    measures->values = sorted;
    measures->cap_values = n;
    return true;
}

pv_value *pv_measures_find(const pv_measures *measures, pv_value_kind kind, size_t subject)
{
    pv_value_of of = pv_kind_of(kind)->of;
    size_t i = 0;
    if (of == PV_OF_LINE)
        i = subject < measures->n_lines ? measures->lines[subject].first_value : SIZE_MAX;
    if (of == PV_OF_AREA)
        i = subject < measures->n_fills ? measures->fills[subject].first_value : SIZE_MAX;
    for (; i < measures->n_values; i++) {
        pv_value *row = &measures->values[i];
        if (row->kind == kind && row->subject == subject)
            return row;
        bool left = pv_kind_of(row->kind)->of != of || row->subject != subject;
        if (left && (of == PV_OF_LINE || of == PV_OF_AREA))
            break;
    }
    return NULL;
}
