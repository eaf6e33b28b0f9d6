/* Functions of quantities. */
#include "course/parse.h"

#include <stdio.h>
#include <string.h>

#define ARGUMENTS_MAX 16

typedef struct function {
    const char *name;
    int least, most; /* arguments */
} function;

enum {
    F_ABS,
    F_ACOS,
    F_ASIN,
    F_ATAN,
    F_ATAN2,
    F_CEIL,
    F_COS,
    F_DIRECTION,
    F_DISTANCE,
    F_FLOOR,
    F_HYPOT,
    F_MAX,
    F_MIDDLE,
    F_MIN,
    F_MOD,
    F_POLAR,
    F_ROUND,
    F_SIN,
    F_SQRT,
    F_TAN,
    F_X,
    F_Y,
    F_COUNT
};

static const function functions[F_COUNT] = {
    [F_ABS] = {"abs", 1, 1},
    [F_ACOS] = {"acos", 1, 1},
    [F_ASIN] = {"asin", 1, 1},
    [F_ATAN] = {"atan", 1, 1},
    [F_ATAN2] = {"atan2", 2, 2},
    [F_CEIL] = {"ceil", 1, 1},
    [F_COS] = {"cos", 1, 1},
    [F_DIRECTION] = {"direction", 2, 2},
    [F_DISTANCE] = {"distance", 2, 2},
    [F_FLOOR] = {"floor", 1, 1},
    [F_HYPOT] = {"hypot", 2, 2},
    [F_MAX] = {"max", 1, ARGUMENTS_MAX},
    [F_MIDDLE] = {"middle", 2, 2},
    [F_MIN] = {"min", 1, ARGUMENTS_MAX},
    [F_MOD] = {"mod", 2, 2},
    [F_POLAR] = {"polar", 2, 2},
    [F_ROUND] = {"round", 1, 1},
    [F_SIN] = {"sin", 1, 1},
    [F_SQRT] = {"sqrt", 1, 1},
    [F_TAN] = {"tan", 1, 1},
    [F_X] = {"x", 1, 1},
    [F_Y] = {"y", 1, 1},
};

static int find_function(const char *chars, size_t length)
{
    for (int i = 0; i < F_COUNT; i++)
        if (strlen(functions[i].name) == length && memcmp(functions[i].name, chars, length) == 0)
            return i;
    return -1;
}

static bool no_such_function(pv_parser *p)
{
    const pv_token *token = pv_peek(p);
    pv_nearest nearest = {.word = pv_chars(p, token), .length = token->length};
    for (int i = 0; i < F_COUNT; i++)
        pv_nearest_offer(&nearest, functions[i].name, strlen(functions[i].name));
    char hint[PV_NAME_MAX + 32];
    snprintf(hint, sizeof hint, "did you mean \"%s\"?", nearest.best);
    return pv_wrong(p, p->next, p->next, nearest.best[0] != '\0' ? hint : NULL,
                    "there is no function \"%.*s\"", (int)token->length, pv_chars(p, token));
}

typedef struct call {
    int function;
    uint32_t first; /* token of its name */
    pv_amount a[ARGUMENTS_MAX];
    uint32_t from[ARGUMENTS_MAX], to[ARGUMENTS_MAX]; /* tokens of each argument */
    int n;
} call;

static bool wants(pv_parser *p, const call *c, int i, pv_kind kind)
{
    if (c->a[i].kind == kind)
        return true;
    return pv_wrong(p, c->from[i], c->to[i], NULL, "%s() wants %s here, this is %s",
                    functions[c->function].name, pv_kind_name(kind), pv_kind_name(c->a[i].kind));
}

static bool outside(pv_parser *p, const call *c, const char *range)
{
    char said[PV_SAID_NUMBER];
    return pv_wrong(p, c->from[0], c->to[0], NULL, "%s() wants a number %s, this is %s",
                    functions[c->function].name, range, pv_say_number(c->a[0].v, said));
}

/* All arguments of the first one's kind, which is not a point. */
static bool alike(pv_parser *p, const call *c)
{
    for (int i = 0; i < c->n; i++) {
        if (c->a[i].kind == PV_KIND_POINT)
            return pv_wrong(p, c->from[i], c->to[i], NULL, "%s() does not take points",
                            functions[c->function].name);
        if (!wants(p, c, i, c->a[0].kind))
            return false;
    }
    return true;
}

static bool call_of_angle(pv_parser *p, const call *c, pv_amount *out)
{
    if (!wants(p, c, 0, PV_KIND_ANGLE))
        return false;
    double v = c->a[0].v;
    out->v = c->function == F_SIN ? sin(v) : c->function == F_COS ? cos(v) : tan(v);
    return true;
}

static bool call_of_number(pv_parser *p, const call *c, pv_amount *out)
{
    if (!wants(p, c, 0, PV_KIND_NUMBER))
        return false;
    double v = c->a[0].v;
    if (c->function == F_SQRT && v < 0)
        return outside(p, c, "of at least 0");
    if ((c->function == F_ASIN || c->function == F_ACOS) && fabs(v) > 1)
        return outside(p, c, "between -1 and 1");
    bool angle = c->function == F_ASIN || c->function == F_ACOS || c->function == F_ATAN;
    out->kind = angle ? PV_KIND_ANGLE : PV_KIND_NUMBER;
    out->v = c->function == F_SQRT    ? sqrt(v)
             : c->function == F_ASIN  ? asin(v)
             : c->function == F_ACOS  ? acos(v)
             : c->function == F_ATAN  ? atan(v)
             : c->function == F_FLOOR ? floor(v)
             : c->function == F_CEIL  ? ceil(v)
                                      : round(v);
    return true;
}

static bool call_of_alike(pv_parser *p, const call *c, pv_amount *out)
{
    if (!alike(p, c))
        return false;
    double a = c->a[0].v, b = c->n > 1 ? c->a[1].v : 0;
    out->kind = c->function == F_ATAN2 ? PV_KIND_ANGLE : c->a[0].kind;
    if (c->function == F_MOD && b == 0)
        return pv_wrong(p, c->from[1], c->to[1], NULL, "division by zero");
    out->v = c->function == F_ABS     ? fabs(a)
             : c->function == F_ATAN2 ? atan2(a, b)
             : c->function == F_HYPOT ? hypot(a, b)
             : c->function == F_MOD   ? a - b * floor(a / b)
                                      : a;
    for (int i = 1; i < c->n && (c->function == F_MIN || c->function == F_MAX); i++)
        out->v = c->function == F_MIN ? fmin(out->v, c->a[i].v) : fmax(out->v, c->a[i].v);
    return true;
}

static bool call_of_points(pv_parser *p, const call *c, pv_amount *out)
{
    for (int i = 0; i < c->n; i++)
        if (!wants(p, c, i, PV_KIND_POINT))
            return false;
    pv_vec a = pv_v(c->a[0].v, c->a[0].y);
    pv_vec b = c->n > 1 ? pv_v(c->a[1].v, c->a[1].y) : a;
    if (c->function == F_DIRECTION && pv_dist(a, b) == 0)
        return pv_wrong(p, c->first, p->next - 1, NULL,
                        "there is no direction between two points at one place");
    out->kind = c->function == F_DIRECTION ? PV_KIND_ANGLE : PV_KIND_LENGTH;
    if (c->function == F_MIDDLE)
        *out = (pv_amount){PV_KIND_POINT, (a.x + b.x) / 2, (a.y + b.y) / 2};
    else if (c->function == F_DIRECTION)
        out->v = atan2(b.y - a.y, b.x - a.x);
    else
        out->v = c->function == F_DISTANCE ? pv_dist(a, b) : c->function == F_X ? a.x : a.y;
    return true;
}

static bool carry_out(pv_parser *p, const call *c, pv_amount *out)
{
    *out = (pv_amount){PV_KIND_NUMBER, 0, 0};
    for (int i = 0; i < c->n; i++) {
        if (c->a[i].kind == PV_KIND_UNKNOWN) {
            out->kind = PV_KIND_UNKNOWN;
            return true;
        }
    }
    switch (c->function) {
    case F_SIN:
    case F_COS:
    case F_TAN:
        return call_of_angle(p, c, out);
    case F_ABS:
    case F_ATAN2:
    case F_HYPOT:
    case F_MAX:
    case F_MIN:
    case F_MOD:
        return call_of_alike(p, c, out);
    case F_DIRECTION:
    case F_DISTANCE:
    case F_MIDDLE:
    case F_X:
    case F_Y:
        return call_of_points(p, c, out);
    case F_POLAR:
        if (!wants(p, c, 0, PV_KIND_LENGTH) || !wants(p, c, 1, PV_KIND_ANGLE))
            return false;
        pv_vec v = pv_polar(c->a[0].v, c->a[1].v);
        *out = (pv_amount){PV_KIND_POINT, v.x, v.y};
        return true;
    default:
        return call_of_number(p, c, out);
    }
}

bool pv_call_read(pv_parser *p, pv_amount *out)
{
    call c = {.first = p->next};
    const pv_token *name = pv_peek(p);
    c.function = find_function(pv_chars(p, name), name->length);
    if (c.function < 0)
        return no_such_function(p);
    const function *f = &functions[c.function];
    pv_advance(p);
    pv_advance(p); /* the bracket */
    do {
        if (c.n == f->most)
            return pv_wrong(p, p->next, p->next, NULL, "%s() takes at most %d value%s", f->name,
                            f->most, f->most == 1 ? "" : "s");
        c.from[c.n] = p->next;
        if (!pv_amount_read(p, &c.a[c.n]))
            return false;
        c.to[c.n++] = p->next - 1;
    } while (pv_accept(p, PV_TOKEN_COMMA));
    if (pv_peek(p)->kind != PV_TOKEN_CLOSE)
        return pv_expected(p, "a comma or )", 0);
    pv_advance(p);
    if (c.n < f->least)
        return pv_wrong(p, c.first, p->next - 1, NULL, "%s() takes %d values", f->name, f->least);
    return carry_out(p, &c, out) && pv_finite(p, c.first, out);
}
