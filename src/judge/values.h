/* All values of an inspection in a row, whatever they are values of. */
#ifndef JUDGE_VALUES_H
#define JUDGE_VALUES_H

#include <pavior/inspect.h>

typedef enum pv_value_kind {
    PV_KIND_SCALE,
    PV_KIND_SKEW,
    PV_KIND_WIDTH,
    PV_KIND_STRAIGHT,
    PV_KIND_SPACING,
    PV_KINDS
} pv_value_kind;

typedef struct pv_judged {
    pv_value_kind kind;
    const pv_value *value;
    double nominal;
    const char *name, *to; /* the line's; a spacing's two; "x" or "y" of the scale; else "" */
    bool counts;           /* for the sheet's verdict */
} pv_judged;

size_t pv_judged_count(const pv_inspection *in);
/* index < pv_judged_count; in order of kind. */
pv_judged pv_judged_at(const pv_inspection *in, size_t index);

#endif
