/* Points, boxes and small transforms of the plane. Lengths are millimetres except where an image is
 * spoken of. */
#ifndef BASE_VEC_H
#define BASE_VEC_H

#include <math.h>
#include <stdbool.h>

#define PV_PI        3.14159265358979323846
#define PV_MM_PER_IN 25.4 /* exact since 1959 */
#define PV_MM_PER_FT 304.8
#define PV_MM_PER_PT (25.4 / 72.0) /* the PDF unit, ISO 32000-1 8.3.2.3 */

typedef struct pv_vec {
    double x, y;
} pv_vec;

typedef struct pv_box {
    pv_vec lo, hi;
} pv_box;

static inline pv_vec pv_v(double x, double y)
{
    return (pv_vec){x, y};
}
static inline pv_vec pv_add(pv_vec a, pv_vec b)
{
    return pv_v(a.x + b.x, a.y + b.y);
}
static inline pv_vec pv_sub(pv_vec a, pv_vec b)
{
    return pv_v(a.x - b.x, a.y - b.y);
}
static inline pv_vec pv_scale(pv_vec a, double k)
{
    return pv_v(a.x * k, a.y * k);
}
/* a + k b */
static inline pv_vec pv_along(pv_vec a, pv_vec b, double k)
{
    return pv_v(a.x + k * b.x, a.y + k * b.y);
}
static inline double pv_dot(pv_vec a, pv_vec b)
{
    return a.x * b.x + a.y * b.y;
}
static inline double pv_cross_z(pv_vec a, pv_vec b)
{
    return a.x * b.y - a.y * b.x;
}
static inline double pv_len(pv_vec a)
{
    return hypot(a.x, a.y);
}
static inline double pv_dist(pv_vec a, pv_vec b)
{
    return hypot(a.x - b.x, a.y - b.y);
}
/* Zero stays zero. */
static inline pv_vec pv_unit(pv_vec a)
{
    double l = pv_len(a);
    return l > 0 ? pv_scale(a, 1 / l) : a;
}
/* A sine or cosine without the last digits, in which one libm differs from another: multiples of
 * 2^-44, which over 10 m makes less than a nanometre; and those of right angles are exact. */
static inline double pv_steady(double ratio)
{
    return ldexp(round(ldexp(ratio, 44)), -44);
}

/* A quarter turn counter-clockwise (y up): the left-hand normal of a direction. */
static inline pv_vec pv_left(pv_vec a)
{
    return pv_v(-a.y, a.x);
}
static inline pv_vec pv_polar(double radius, double angle)
{
    return pv_v(radius * pv_steady(cos(angle)), radius * pv_steady(sin(angle)));
}

/* A box that holds nothing yet. */
static inline pv_box pv_box_none(void)
{
    return (pv_box){{HUGE_VAL, HUGE_VAL}, {-HUGE_VAL, -HUGE_VAL}};
}
static inline pv_box pv_box_all(void)
{
    return (pv_box){{-HUGE_VAL, -HUGE_VAL}, {HUGE_VAL, HUGE_VAL}};
}
static inline pv_box pv_box_add(pv_box b, pv_vec p)
{
    b.lo.x = fmin(b.lo.x, p.x);
    b.lo.y = fmin(b.lo.y, p.y);
    b.hi.x = fmax(b.hi.x, p.x);
    b.hi.y = fmax(b.hi.y, p.y);
    return b;
}
static inline pv_box pv_box_grow(pv_box b, double by)
{
    return (pv_box){{b.lo.x - by, b.lo.y - by}, {b.hi.x + by, b.hi.y + by}};
}
static inline bool pv_box_meets(pv_box a, pv_box b)
{
    return a.lo.x <= b.hi.x && b.lo.x <= a.hi.x && a.lo.y <= b.hi.y && b.lo.y <= a.hi.y;
}
static inline bool pv_box_holds(pv_box b, pv_vec p)
{
    return b.lo.x <= p.x && p.x <= b.hi.x && b.lo.y <= p.y && p.y <= b.hi.y;
}
static inline pv_vec pv_box_middle(pv_box b)
{
    return pv_v((b.lo.x + b.hi.x) / 2, (b.lo.y + b.hi.y) / 2);
}

#endif
