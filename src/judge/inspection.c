#include "judge/inspection.h"

#include "base/memory.h"
#include "base/text.h"
#include "judge/how.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

const pv_inspected *pv_inspection_sheet(const pv_inspection *in)
{
    return &in->sheet;
}

pv_digits pv_inspection_length(const pv_inspection *in, double mm, int decimals)
{
    bool inches = in->sheet.inches;
    pv_digits out = pv_fixed(inches ? mm / PV_MM_PER_IN : mm, decimals + inches);
    strncat(out.chars, inches ? " in" : " mm", sizeof out.chars - strlen(out.chars) - 1);
    return out;
}

double pv_inspection_dpi(const pv_inspection *in)
{
    const double *px = in->sheet.measured_resolution;
    return fmin(px[0], px[1]) * PV_MM_PER_IN;
}

const pv_value *pv_inspection_find(const pv_inspection *in, pv_value_kind kind, size_t subject)
{
    return pv_measures_find(&in->table, kind, subject);
}

#define LIST(type, all, one, items, n)                                                             \
    size_t all(const pv_inspection *in)                                                            \
    {                                                                                              \
        return in->n;                                                                              \
    }                                                                                              \
    const type *one(const pv_inspection *in, size_t index)                                         \
    {                                                                                              \
        return index < in->n ? &in->items[index] : NULL;                                           \
    }

LIST(pv_value, pv_inspection_values, pv_inspection_value, table.values, table.n_values)
LIST(pv_line_result, pv_inspection_lines, pv_inspection_line, table.lines, table.n_lines)
LIST(pv_station_result, pv_inspection_stations, pv_inspection_station, table.stations,
     table.n_stations)
LIST(pv_fill_result, pv_inspection_fills, pv_inspection_fill, table.fills, table.n_fills)
LIST(pv_flaw, pv_inspection_flaws, pv_inspection_flaw, table.flaws, table.n_flaws)
LIST(pv_mark, pv_inspection_marks, pv_inspection_mark, table.marks, table.n_marks)
LIST(pv_reference_result, pv_inspection_references, pv_inspection_reference, references,
     n_references)
LIST(pv_distance, pv_inspection_steps, pv_inspection_step, steps, n_steps)

size_t pv_inspection_notes(const pv_inspection *in)
{
    return in->n_notes;
}

const char *pv_inspection_note(const pv_inspection *in, size_t index)
{
    return index < in->n_notes ? in->notes[index] : NULL;
}

const pv_picture *pv_inspection_picture(const pv_inspection *in)
{
    return in->picture.rgb != NULL ? &in->picture : NULL;
}

void pv_inspection_free(pv_inspection *in)
{
    if (in == NULL)
        return;
    for (size_t i = 0; i < in->n_notes; i++)
        free(in->notes[i]);
    pv_measures_clear(&in->table);
    free(in->references);
    free(in->picture.rgb);
    free(in->notes);
    free((char *)in->sheet.file);
    free((char *)in->sheet.label);
    free((char *)in->sheet.answer);
    free((char *)in->sheet.advice);
    free((char *)in->sheet.error);
    free((char *)in->sheet.sheet);
    free((char *)in->sheet.kit);
    free((char *)in->sheet.paper);
    free((char *)in->sheet.basis);
    pv_how_drop(&in->how);
    free(in);
}
