#include "judge/how.h"

#include "base/memory.h"

#include <stdlib.h>

bool pv_how_copy(pv_inspect_options *to, const pv_inspect_options *from)
{
    *to = *from;
    to->scanner = NULL;
    to->readings = NULL;
    to->n_readings = 0;
    if (from->scanner != NULL) {
        to->scanner = pv_copy_bytes(from->scanner, 1, sizeof *from->scanner);
        if (to->scanner == NULL)
            return false;
    }
    if (from->n_readings > 0) {
        to->readings = pv_copy_bytes(from->readings, from->n_readings, sizeof *from->readings);
        if (to->readings == NULL)
            return false;
        to->n_readings = from->n_readings;
    }
    return true;
}

void pv_how_drop(pv_inspect_options *how)
{
    free((void *)how->scanner);
    free((void *)how->readings);
    *how = (pv_inspect_options){.size = 0};
}

void pv_how_text(pv_text *to, const pv_inspect_options *how)
{
    pv_text_add(to, "scanner %s", pv_scanner_kind_name(how->scanner_kind));
    if (how->scanner_U_rel >= 0)
        pv_text_add(to, ", uncertainty %s %%", pv_fixed(100 * how->scanner_U_rel, 4).chars);
    const pv_scanner *own = how->scanner;
    if (own != NULL) {
        const double values[] = {own->factor[0], own->factor[1], own->U_rel[0],
                                 own->U_rel[1],  own->skew,      own->skew_U};
        pv_text_add(to, ", errors");
        for (size_t i = 0; i < sizeof values / sizeof *values; i++)
            pv_text_add(to, " %s", pv_fixed(values[i], 9).chars);
    }
    if (how->dpi > 0)
        pv_text_add(to, ", %s dpi", pv_fixed(how->dpi, 4).chars);
    for (size_t i = 0; i < how->n_readings; i++) {
        const pv_ruler_reading *one = &how->readings[i];
        pv_text_add(to, ", %c-%c %s mm +-%s mm", one->from, one->to,
                    pv_fixed(one->measured, 4).chars, pv_fixed(one->U, 4).chars);
    }
}
