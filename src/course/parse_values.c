/* Quantities of the kind that a statement wants. */
#include "course/parse.h"

#include "json/json.h"

_Static_assert(PV_SAID_NUMBER >= PV_JSON_NUMBER, "room for any number");

const char *pv_say_number(double value, char out[PV_SAID_NUMBER])
{
    double scale = fabs(value) < 1e6 ? 1e9 : 1;
    pv_json_format(round(value * scale) / scale, out);
    return out;
}

/* `what` is "a length"; an example helps where only the unit is missing. */
static bool read_kind(pv_parser *p, pv_kind kind, const char *example, pv_amount *out)
{
    uint32_t first = p->next;
    if (!pv_amount_read(p, out))
        return false;
    if (out->kind == PV_KIND_UNKNOWN)
        return pv_silent(p);
    if (out->kind == kind)
        return true;
    return pv_wrong(p, first, p->next - 1, out->kind == PV_KIND_NUMBER ? example : NULL,
                    "expected %s, this is %s", pv_kind_name(kind), pv_kind_name(out->kind));
}

bool pv_number_read(pv_parser *p, double *out)
{
    pv_amount q = {PV_KIND_UNKNOWN, 0, 0};
    bool good = read_kind(p, PV_KIND_NUMBER, NULL, &q);
    *out = q.v;
    return good;
}

bool pv_length_read(pv_parser *p, double *out)
{
    pv_amount q = {PV_KIND_UNKNOWN, 0, 0};
    bool good = read_kind(p, PV_KIND_LENGTH, "a length has a unit: mm, cm, m, in or ft", &q);
    *out = q.v;
    return good;
}

bool pv_angle_read(pv_parser *p, double *out)
{
    pv_amount q = {PV_KIND_UNKNOWN, 0, 0};
    uint32_t first = p->next;
    bool good = read_kind(p, PV_KIND_ANGLE, "an angle has a unit: deg, rad or mrad", &q);
    *out = q.v;
    if (!good || fabs(q.v) <= PV_COURSE_ANGLE_MAX)
        return good;
    return pv_wrong(p, first, p->next - 1, NULL, "an angle is at most %.0f rad either way",
                    PV_COURSE_ANGLE_MAX);
}

bool pv_point_in_reach(pv_parser *p, pv_vec at, uint32_t first, uint32_t last)
{
    if (fabs(at.x) <= PV_COURSE_REACH && fabs(at.y) <= PV_COURSE_REACH)
        return true;
    return pv_wrong(p, first, last, NULL, "this point lies more than %.0f m from the origin",
                    PV_COURSE_REACH / 1000);
}

bool pv_point_read(pv_parser *p, pv_vec *out)
{
    pv_amount q = {PV_KIND_UNKNOWN, 0, 0};
    uint32_t first = p->next;
    bool good = read_kind(p, PV_KIND_POINT, "a point is written (30mm, 40mm)", &q);
    *out = pv_v(q.v, q.y);
    return good && pv_point_in_reach(p, *out, first, p->next - 1);
}

bool pv_size_read(pv_parser *p, const char *what, double least, double *out)
{
    uint32_t first = p->next;
    char limit[PV_SAID_NUMBER], said[PV_SAID_NUMBER];
    if (!pv_length_read(p, out))
        return false;
    pv_say_number(*out, said);
    if (*out < least)
        return pv_wrong(p, first, p->next - 1, NULL, "%s is at least %s mm, this is %s mm", what,
                        pv_say_number(least, limit), said);
    if (*out > PV_COURSE_SIDE_MAX)
        return pv_wrong(p, first, p->next - 1, NULL, "%s is at most %.0f m", what,
                        PV_COURSE_SIDE_MAX / 1000);
    return true;
}
