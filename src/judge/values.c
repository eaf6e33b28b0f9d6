#include "judge/values.h"

size_t pv_judged_count(const pv_inspection *in)
{
    return 3 + 2 * in->n_lines + in->n_spacings;
}

static pv_judged of_line(const pv_line_result *line, pv_value_kind kind)
{
    bool width = kind == PV_KIND_WIDTH;
    /* A line that is nowhere to be seen by the plan says nothing; its straightness only what was
     * seen of it. */
    return (pv_judged){.kind = kind,
                       .value = width ? &line->width : &line->straight,
                       .nominal = width ? line->nominal : 0,
                       .name = line->id,
                       .to = "",
                       .counts = line->planned > 0 && (width || line->straight.measured)};
}

pv_judged pv_judged_at(const pv_inspection *in, size_t index)
{
    if (index < 2)
        return (pv_judged){PV_KIND_SCALE, &in->scale[index], 1, index == 0 ? "x" : "y", "", true};
    if (index == 2)
        return (pv_judged){PV_KIND_SKEW, &in->skew, 0, "", "", true};
    index -= 3;
    if (index < in->n_lines)
        return of_line(&in->lines[index], PV_KIND_WIDTH);
    index -= in->n_lines;
    if (index < in->n_lines)
        return of_line(&in->lines[index], PV_KIND_STRAIGHT);
    const pv_spacing_result *s = &in->spacings[index - in->n_lines];
    return (pv_judged){PV_KIND_SPACING, &s->value, s->nominal, s->from, s->to, true};
}
