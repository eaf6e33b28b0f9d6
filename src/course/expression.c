/* Every operation checks what kinds it is given, and that a finite value comes out. */
#include "course/expression.h"

#include "base/units.h"
#include "json/json.h"

#include <string.h>

_Static_assert(PV_SAID_NUMBER >= PV_JSON_NUMBER, "room for any number");

static const pv_amount unknown = {PV_AMOUNT_UNKNOWN, 0, 0};

const char *pv_amount_kind_name(pv_amount_kind kind)
{
    switch (kind) {
    case PV_AMOUNT_NUMBER:
        return "a plain number";
    case PV_AMOUNT_LENGTH:
        return "a length";
    case PV_AMOUNT_ANGLE:
        return "an angle";
    case PV_AMOUNT_POINT:
        return "a point";
    case PV_AMOUNT_UNKNOWN:
        break;
    }
    return "unknown";
}

/* Of the tokens since `first`. */
static bool finite(pv_parser *p, uint32_t first, const pv_amount *q)
{
    if (isfinite(q->v) && isfinite(q->y))
        return true;
    return PV_WRONG_SINCE(p, first, NULL, "this value is out of range");
}

/* ---- numbers and names ---- */

static bool no_such_unit(pv_parser *p)
{
    pv_nearest nearest = pv_nearest_here(p);
    pv_nearest_offer_units(&nearest);
    const char *hint = pv_nearest_hint(&nearest);
    return PV_WRONG_HERE(p, hint != NULL ? hint : "units are mm, cm, m, in, ft, deg, rad and mrad",
                         "there is no unit \"%.*s\"", PV_SHOWN(p, pv_peek(p)));
}

/* A unit after a number, or after a bracket with plain numbers in it. */
static bool apply_unit(pv_parser *p, pv_amount *q)
{
    const pv_token *token = pv_peek(p);
    bool angle;
    double factor;
    if (!pv_unit_find(pv_chars(p, token), token->length, &angle, &factor))
        return no_such_unit(p);
    if (q->kind == PV_AMOUNT_POINT && angle)
        return PV_WRONG_HERE(p, NULL, "the unit of a point must be a length");
    q->v *= factor;
    q->y *= factor;
    if (q->kind == PV_AMOUNT_NUMBER)
        q->kind = angle ? PV_AMOUNT_ANGLE : PV_AMOUNT_LENGTH;
    pv_advance(p);
    return true;
}

static bool read_literal(pv_parser *p, pv_amount *out)
{
    const pv_token *token = pv_peek(p);
    size_t used;
    uint32_t first = p->next;
    *out = (pv_amount){PV_AMOUNT_NUMBER, 0, 0};
    if (!pv_number_parse(pv_chars(p, token), token->length, &out->v, &used))
        out->v = HUGE_VAL;
    pv_advance(p);
    const pv_token *after = pv_peek(p);
    bool unit = after->kind == PV_TOKEN_UNIT || after->kind == PV_TOKEN_NAME ||
                (after->kind == PV_TOKEN_WORD && after->at == token->at + token->length);
    return (!unit || apply_unit(p, out)) && finite(p, first, out);
}

static bool no_such_name(pv_parser *p)
{
    pv_nearest nearest = pv_nearest_here(p);
    for (size_t i = 0; i < p->lexed.n_names; i++)
        if (p->names[i].let_line != 0)
            pv_nearest_offer(&nearest, p->lexed.text + p->lexed.names[i].at,
                             p->lexed.names[i].length);
    return PV_WRONG_HERE(p, pv_nearest_hint(&nearest), "nothing is named \"%.*s\"",
                         PV_SHOWN(p, pv_peek(p)));
}

static bool read_name(pv_parser *p, pv_amount *out)
{
    const pv_meaning *meaning = &p->names[pv_peek(p)->more];
    if (meaning->let_line == 0)
        return no_such_name(p);
    *out = meaning->value;
    pv_advance(p);
    return true;
}

/* The start mark's and the finish's points may be used once they are stated. */
static bool read_landmark(pv_parser *p, pv_amount *out)
{
    pv_word word = (pv_word)pv_peek(p)->what;
    const pv_course *course = p->course;
    bool start = word == PV_WORD_START;
    if ((p->seen[0] & PV_W(word)) == 0)
        return PV_WRONG_HERE(p, "state it above this line", "there is no %s yet",
                             pv_word_text(word));
    *out = unknown;
    if (start ? course->start.given : course->finish.given) {
        pv_vec at = start ? course->start.at : course->finish.at;
        *out = (pv_amount){PV_AMOUNT_POINT, at.x, at.y};
    }
    pv_advance(p);
    return true;
}

/* ---- brackets ---- */

static bool coordinate(pv_parser *p, const pv_amount *q, uint32_t first, uint32_t last)
{
    if (q->kind == PV_AMOUNT_LENGTH)
        return true;
    const char *hint = NULL;
    if (q->kind == PV_AMOUNT_NUMBER)
        hint = "give each coordinate its unit, or both one behind the bracket: (3, 4)mm";
    return pv_wrong(p, first, last, hint, "a coordinate is a length, this is %s",
                    pv_amount_kind_name(q->kind));
}

/* After (A, B: a point. Plain numbers get their unit behind the bracket. */
static bool close_pair(pv_parser *p, uint32_t open, uint32_t comma, const pv_amount *x,
                       const pv_amount *y, pv_amount *out)
{
    uint32_t y_last = p->next - 1;
    if (pv_peek(p)->kind == PV_TOKEN_COMMA)
        return pv_wrong(p, open, p->next, "write decimals with a point: 1.5mm",
                        "a point has two coordinates");
    if (!pv_take(p, PV_TOKEN_CLOSE, ")"))
        return false;
    if (x->kind == PV_AMOUNT_UNKNOWN || y->kind == PV_AMOUNT_UNKNOWN) {
        *out = unknown;
        return pv_peek(p)->kind != PV_TOKEN_UNIT || (pv_advance(p), true);
    }
    *out = (pv_amount){PV_AMOUNT_POINT, x->v, y->v};
    if (x->kind == PV_AMOUNT_NUMBER && y->kind == PV_AMOUNT_NUMBER &&
        (pv_peek(p)->kind == PV_TOKEN_UNIT || pv_peek(p)->kind == PV_TOKEN_NAME))
        return apply_unit(p, out);
    return coordinate(p, x, open + 1, comma - 1) && coordinate(p, y, comma + 1, y_last);
}

static bool read_bracket(pv_parser *p, pv_amount *out)
{
    uint32_t open = p->next;
    pv_amount y = unknown;
    pv_advance(p);
    if (!pv_amount_read(p, out))
        return false;
    uint32_t comma = p->next;
    if (pv_accept(p, PV_TOKEN_COMMA)) {
        pv_amount x = *out;
        return pv_amount_read(p, &y) && close_pair(p, open, comma, &x, &y, out);
    }
    if (!pv_take(p, PV_TOKEN_CLOSE, "a comma or )"))
        return false;
    if (pv_peek(p)->kind != PV_TOKEN_UNIT)
        return true;
    if (out->kind == PV_AMOUNT_UNKNOWN)
        return pv_advance(p), true;
    if (out->kind != PV_AMOUNT_NUMBER)
        return PV_WRONG_HERE(p, NULL, "this is %s already", pv_amount_kind_name(out->kind));
    return apply_unit(p, out);
}

/* ---- functions ---- */

#define ARGUMENTS_MAX 16

/* One of its last three members computes it; no number (NaN) where there is no value. */
typedef struct function {
    const char *name;
    int least, most; /* values */
    pv_amount_kind
        takes[2]; /* the first value, and all others; UNKNOWN: any kind but points, all alike */
    pv_amount_kind gives; /* UNKNOWN: the first value's kind */
    double (*one)(double);
    double (*two)(double, double); /* of more than two: from left to right */
    void (*places)(const pv_amount *values, pv_amount *out);
    const char *domain; /* where not all numbers have a value */
} function;

static double mod(double a, double b)
{
    return b != 0 ? a - b * floor(a / b) : NAN;
}

static void x_of(const pv_amount *a, pv_amount *out)
{
    out->v = a->v;
}

static void y_of(const pv_amount *a, pv_amount *out)
{
    out->v = a->y;
}

static void distance(const pv_amount *a, pv_amount *out)
{
    out->v = hypot(a[1].v - a[0].v, a[1].y - a[0].y);
}

static void direction(const pv_amount *a, pv_amount *out)
{
    double x = a[1].v - a[0].v, y = a[1].y - a[0].y;
    out->v = x != 0 || y != 0 ? atan2(y, x) : NAN;
}

static void middle(const pv_amount *a, pv_amount *out)
{
    out->v = (a[0].v + a[1].v) / 2;
    out->y = (a[0].y + a[1].y) / 2;
}

static void polar(const pv_amount *a, pv_amount *out)
{
    pv_vec at = pv_polar(a[0].v, a[1].v);
    out->v = at.x;
    out->y = at.y;
}

#define ANY                                                                                        \
    {                                                                                              \
        PV_AMOUNT_UNKNOWN, PV_AMOUNT_UNKNOWN                                                       \
    }
#define NUMBER                                                                                     \
    {                                                                                              \
        PV_AMOUNT_NUMBER, PV_AMOUNT_NUMBER                                                         \
    }
#define ANGLE                                                                                      \
    {                                                                                              \
        PV_AMOUNT_ANGLE, PV_AMOUNT_ANGLE                                                           \
    }
#define POINTS                                                                                     \
    {                                                                                              \
        PV_AMOUNT_POINT, PV_AMOUNT_POINT                                                           \
    }

static const function functions[] = {
    {"abs", 1, 1, ANY, PV_AMOUNT_UNKNOWN, .one = fabs},
    {"acos", 1, 1, NUMBER, PV_AMOUNT_ANGLE, .one = acos, .domain = "between -1 and 1"},
    {"asin", 1, 1, NUMBER, PV_AMOUNT_ANGLE, .one = asin, .domain = "between -1 and 1"},
    {"atan", 1, 1, NUMBER, PV_AMOUNT_ANGLE, .one = atan},
    {"atan2", 2, 2, ANY, PV_AMOUNT_ANGLE, .two = atan2},
    {"ceil", 1, 1, NUMBER, PV_AMOUNT_NUMBER, .one = ceil},
    {"cos", 1, 1, ANGLE, PV_AMOUNT_NUMBER, .one = cos},
    {"direction", 2, 2, POINTS, PV_AMOUNT_ANGLE, .places = direction},
    {"distance", 2, 2, POINTS, PV_AMOUNT_LENGTH, .places = distance},
    {"floor", 1, 1, NUMBER, PV_AMOUNT_NUMBER, .one = floor},
    {"hypot", 2, 2, ANY, PV_AMOUNT_UNKNOWN, .two = hypot},
    {"max", 1, ARGUMENTS_MAX, ANY, PV_AMOUNT_UNKNOWN, .two = fmax},
    {"middle", 2, 2, POINTS, PV_AMOUNT_POINT, .places = middle},
    {"min", 1, ARGUMENTS_MAX, ANY, PV_AMOUNT_UNKNOWN, .two = fmin},
    {"mod", 2, 2, ANY, PV_AMOUNT_UNKNOWN, .two = mod},
    {"polar", 2, 2, {PV_AMOUNT_LENGTH, PV_AMOUNT_ANGLE}, PV_AMOUNT_POINT, .places = polar},
    {"round", 1, 1, NUMBER, PV_AMOUNT_NUMBER, .one = round},
    {"sin", 1, 1, ANGLE, PV_AMOUNT_NUMBER, .one = sin},
    {"sqrt", 1, 1, NUMBER, PV_AMOUNT_NUMBER, .one = sqrt, .domain = "of at least 0"},
    {"tan", 1, 1, ANGLE, PV_AMOUNT_NUMBER, .one = tan},
    {"x", 1, 1, POINTS, PV_AMOUNT_LENGTH, .places = x_of},
    {"y", 1, 1, POINTS, PV_AMOUNT_LENGTH, .places = y_of},
};

#define FUNCTIONS (sizeof functions / sizeof *functions)

typedef struct call {
    const function *f;
    uint32_t first; /* token of its name */
    pv_amount a[ARGUMENTS_MAX];
    uint32_t from[ARGUMENTS_MAX], to[ARGUMENTS_MAX]; /* tokens of each argument */
    int n;
} call;

static bool find_function(pv_parser *p, call *c)
{
    const pv_token *name = pv_peek(p);
    for (size_t i = 0; i < FUNCTIONS; i++) {
        c->f = &functions[i];
        if (strlen(c->f->name) == name->length &&
            memcmp(c->f->name, pv_chars(p, name), name->length) == 0)
            return true;
    }
    pv_nearest nearest = pv_nearest_here(p);
    for (size_t i = 0; i < FUNCTIONS; i++)
        pv_nearest_offer(&nearest, functions[i].name, strlen(functions[i].name));
    return PV_WRONG_HERE(p, pv_nearest_hint(&nearest), "there is no function \"%.*s\"",
                         PV_SHOWN(p, name));
}

static bool check_kinds(pv_parser *p, const call *c)
{
    bool alike = c->f->takes[0] == PV_AMOUNT_UNKNOWN;
    for (int i = 0; i < c->n; i++) {
        pv_amount_kind kind = alike ? c->a[0].kind : c->f->takes[i > 0];
        if (alike && c->a[i].kind == PV_AMOUNT_POINT)
            return pv_wrong(p, c->from[i], c->to[i], NULL, "%s() does not take points", c->f->name);
        if (c->a[i].kind != kind)
            return pv_wrong(p, c->from[i], c->to[i], NULL, "%s() needs %s here, this is %s",
                            c->f->name, pv_amount_kind_name(kind),
                            pv_amount_kind_name(c->a[i].kind));
    }
    return true;
}

static bool has_no_value(pv_parser *p, const call *c)
{
    char said[PV_SAID_NUMBER];
    if (c->f->one != NULL)
        return pv_wrong(p, c->from[0], c->to[0], NULL, "%s() needs a number %s, this is %s",
                        c->f->name, c->f->domain, pv_say_number(c->a[0].v, said));
    if (c->f->two != NULL)
        return pv_wrong(p, c->from[1], c->to[1], NULL, "division by zero");
    return PV_WRONG_SINCE(p, c->first, NULL,
                          "there is no direction between two points at one place");
}

static bool carry_out(pv_parser *p, const call *c, pv_amount *out)
{
    const function *f = c->f;
    *out = unknown;
    for (int i = 0; i < c->n; i++)
        if (c->a[i].kind == PV_AMOUNT_UNKNOWN)
            return true;
    if (!check_kinds(p, c))
        return false;
    out->kind = f->gives != PV_AMOUNT_UNKNOWN ? f->gives : c->a[0].kind;
    if (f->places != NULL)
        f->places(c->a, out);
    else
        out->v = f->one != NULL ? f->one(c->a[0].v) : c->a[0].v;
    for (int i = 1; i < c->n && f->two != NULL; i++)
        out->v = f->two(out->v, c->a[i].v);
    return (!isnan(out->v) || has_no_value(p, c)) && finite(p, c->first, out);
}

/* NAME(QUANTITY, ...), the name being next and a bracket behind it. */
static bool read_call(pv_parser *p, pv_amount *out)
{
    call c = {.first = p->next};
    if (!find_function(p, &c))
        return false;
    pv_advance(p);
    pv_advance(p); /* the bracket */
    do {
        if (c.n == c.f->most)
            return PV_WRONG_HERE(p, NULL, "%s() takes at most %d value%s", c.f->name, c.f->most,
                                 c.f->most == 1 ? "" : "s");
        c.from[c.n] = p->next;
        if (!pv_amount_read(p, &c.a[c.n]))
            return false;
        c.to[c.n++] = p->next - 1;
    } while (pv_accept(p, PV_TOKEN_COMMA));
    if (!pv_take(p, PV_TOKEN_CLOSE, "a comma or )"))
        return false;
    if (c.n < c.f->least)
        return PV_WRONG_SINCE(p, c.first, NULL, "%s() takes %d values", c.f->name, c.f->least);
    return carry_out(p, &c, out);
}

/* ---- arithmetic ---- */

static bool read_primary(pv_parser *p, pv_amount *out)
{
    const pv_token *token = pv_peek(p);
    bool called = (token->kind == PV_TOKEN_NAME || token->kind == PV_TOKEN_WORD) &&
                  token[1].kind == PV_TOKEN_OPEN && token[1].at == token->at + token->length;
    if (called && (token->kind == PV_TOKEN_NAME || token->what == PV_WORD_ROUND))
        return read_call(p, out);
    if (token->kind == PV_TOKEN_NUMBER)
        return read_literal(p, out);
    if (token->kind == PV_TOKEN_NAME)
        return read_name(p, out);
    if (token->kind == PV_TOKEN_OPEN)
        return read_bracket(p, out);
    if (pv_at_word(p, PV_WORD_START) || pv_at_word(p, PV_WORD_FINISH))
        return read_landmark(p, out);
    if (token->kind == PV_TOKEN_UNIT)
        return PV_WRONG_HERE(p, NULL, "\"%.*s\" is a unit, and belongs after a number",
                             PV_SHOWN(p, token));
    return pv_expected(p, "a value", 0);
}

static bool read_factor(pv_parser *p, pv_amount *out)
{
    double sign = 1;
    while (pv_peek(p)->kind == PV_TOKEN_MINUS || pv_peek(p)->kind == PV_TOKEN_PLUS) {
        sign = pv_peek(p)->kind == PV_TOKEN_MINUS ? -sign : sign;
        pv_advance(p);
    }
    if (!read_primary(p, out))
        return false;
    out->v *= sign;
    out->y *= sign;
    return true;
}

static bool multiply(pv_parser *p, uint32_t first, pv_amount *a, const pv_amount *b)
{
    pv_amount_kind ka = a->kind, kb = b->kind;
    if (ka == PV_AMOUNT_LENGTH && kb == PV_AMOUNT_LENGTH)
        return PV_WRONG_SINCE(
            p, first, "for a diagonal there is hypot(a, b)",
            "a length times a length is an area, and nothing here is measured in areas");
    if (ka != PV_AMOUNT_NUMBER && kb != PV_AMOUNT_NUMBER)
        return PV_WRONG_SINCE(p, first, NULL, "%s cannot be multiplied by %s",
                              pv_amount_kind_name(ka), pv_amount_kind_name(kb));
    const pv_amount *factor = kb == PV_AMOUNT_NUMBER ? b : a;
    pv_amount other = kb == PV_AMOUNT_NUMBER ? *a : *b;
    *a = (pv_amount){other.kind, other.v * factor->v, other.y * factor->v};
    return true;
}

static bool divide(pv_parser *p, uint32_t first, pv_amount *a, const pv_amount *b)
{
    bool ratio = a->kind == b->kind && a->kind != PV_AMOUNT_POINT;
    if (!ratio && b->kind != PV_AMOUNT_NUMBER)
        return PV_WRONG_SINCE(p, first,
                              a->kind == PV_AMOUNT_NUMBER && b->kind == PV_AMOUNT_LENGTH
                                  ? "write a fraction of a unit as (1/2)in"
                                  : NULL,
                              "%s cannot be divided by %s", pv_amount_kind_name(a->kind),
                              pv_amount_kind_name(b->kind));
    if (b->v == 0)
        return PV_WRONG_SINCE(p, first, NULL, "division by zero");
    a->v /= b->v;
    a->y /= b->v;
    if (ratio)
        a->kind = PV_AMOUNT_NUMBER;
    return true;
}

static bool combine(pv_parser *p, uint32_t first, pv_amount *a, const pv_amount *b, double sign)
{
    if (a->kind != b->kind)
        return PV_WRONG_SINCE(p, first,
                              a->kind == PV_AMOUNT_NUMBER || b->kind == PV_AMOUNT_NUMBER
                                  ? "does a number lack its unit?"
                                  : NULL,
                              "%s and %s cannot be %s", pv_amount_kind_name(a->kind),
                              pv_amount_kind_name(b->kind), sign > 0 ? "added" : "subtracted");
    a->v += sign * b->v;
    a->y += sign * b->y;
    return true;
}

static bool operate(pv_parser *p, pv_token_kind sign, uint32_t first, pv_amount *a,
                    const pv_amount *b)
{
    if (a->kind == PV_AMOUNT_UNKNOWN || b->kind == PV_AMOUNT_UNKNOWN) {
        *a = unknown;
        return true;
    }
    bool good = sign == PV_TOKEN_TIMES    ? multiply(p, first, a, b)
                : sign == PV_TOKEN_DIVIDE ? divide(p, first, a, b)
                                          : combine(p, first, a, b, sign == PV_TOKEN_PLUS ? 1 : -1);
    return good && finite(p, first, a);
}

/* Operands with either of two signs between them, from left to right. */
static bool read_chain(pv_parser *p, bool (*read)(pv_parser *p, pv_amount *out), pv_token_kind one,
                       pv_token_kind other, pv_amount *out)
{
    uint32_t first = p->next;
    if (!read(p, out))
        return false;
    while (pv_peek(p)->kind == one || pv_peek(p)->kind == other) {
        pv_token_kind sign = (pv_token_kind)pv_peek(p)->kind;
        pv_amount b;
        pv_advance(p);
        if (!read(p, &b) || !operate(p, sign, first, out, &b))
            return false;
    }
    return true;
}

static bool read_term(pv_parser *p, pv_amount *out)
{
    return read_chain(p, read_factor, PV_TOKEN_TIMES, PV_TOKEN_DIVIDE, out);
}

bool pv_amount_read(pv_parser *p, pv_amount *out)
{
    if (p->depth >= PV_COURSE_NEST_MAX)
        return pv_past_limit(p, p->next, "more than %d brackets within each other",
                             PV_COURSE_NEST_MAX);
    p->depth++;
    bool good = read_chain(p, read_term, PV_TOKEN_PLUS, PV_TOKEN_MINUS, out);
    p->depth--;
    return good;
}

/* ---- quantities of the kind that a statement wants ---- */

const char *pv_say_number(double value, char out[PV_SAID_NUMBER])
{
    double scale = fabs(value) < 1e6 ? 1e9 : 1;
    pv_json_format(round(value * scale) / scale, out);
    return out;
}

/* `what` is "a length"; an example helps where only the unit is missing. */
static bool read_kind(pv_parser *p, pv_amount_kind kind, const char *example, pv_amount *out)
{
    uint32_t first = p->next;
    if (!pv_amount_read(p, out))
        return false;
    if (out->kind == PV_AMOUNT_UNKNOWN)
        return pv_silent(p);
    if (out->kind == kind)
        return true;
    return PV_WRONG_SINCE(p, first, out->kind == PV_AMOUNT_NUMBER ? example : NULL,
                          "expected %s, this is %s", pv_amount_kind_name(kind),
                          pv_amount_kind_name(out->kind));
}

bool pv_number_read(pv_parser *p, double *out)
{
    pv_amount q = {PV_AMOUNT_UNKNOWN, 0, 0};
    bool good = read_kind(p, PV_AMOUNT_NUMBER, NULL, &q);
    *out = q.v;
    return good;
}

bool pv_length_read(pv_parser *p, double *out)
{
    pv_amount q = {PV_AMOUNT_UNKNOWN, 0, 0};
    bool good = read_kind(p, PV_AMOUNT_LENGTH, "a length has a unit: mm, cm, m, in or ft", &q);
    *out = q.v;
    return good;
}

bool pv_angle_read(pv_parser *p, double *out)
{
    pv_amount q = {PV_AMOUNT_UNKNOWN, 0, 0};
    uint32_t first = p->next;
    bool good = read_kind(p, PV_AMOUNT_ANGLE, "an angle has a unit: deg, rad or mrad", &q);
    *out = q.v;
    if (!good || fabs(q.v) <= PV_COURSE_ANGLE_MAX)
        return good;
    return PV_WRONG_SINCE(p, first, NULL, "an angle is at most %.0f rad either way",
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
    pv_amount q = {PV_AMOUNT_UNKNOWN, 0, 0};
    uint32_t first = p->next;
    bool good = read_kind(p, PV_AMOUNT_POINT, "write a point as (30mm, 40mm)", &q);
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
        return PV_WRONG_SINCE(p, first, NULL, "%s is at least %s mm, this is %s mm", what,
                              pv_say_number(least, limit), said);
    if (*out > PV_COURSE_SIDE_MAX)
        return PV_WRONG_SINCE(p, first, NULL, "%s is at most %.0f m", what,
                              PV_COURSE_SIDE_MAX / 1000);
    return true;
}
