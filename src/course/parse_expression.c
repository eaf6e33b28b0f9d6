/* Quantities: numbers, lengths, angles and points, with their arithmetic. Every operation checks
 * what kinds it is given, and that a finite value comes out. */
#include "course/parse.h"

#include "base/units.h"

#include <stdio.h>

static const pv_amount unknown = {PV_KIND_UNKNOWN, 0, 0};

const char *pv_kind_name(pv_kind kind)
{
    switch (kind) {
    case PV_KIND_NUMBER:
        return "a plain number";
    case PV_KIND_LENGTH:
        return "a length";
    case PV_KIND_ANGLE:
        return "an angle";
    case PV_KIND_POINT:
        return "a point";
    case PV_KIND_UNKNOWN:
        break;
    }
    return "unknown";
}

bool pv_finite(pv_parser *p, uint32_t first, const pv_amount *q)
{
    if (isfinite(q->v) && isfinite(q->y))
        return true;
    return pv_wrong(p, first, p->next - 1, NULL, "this comes out too large to be reckoned with");
}

/* --- numbers and names --------------------------------------------------------------------- */

static bool no_such_unit(pv_parser *p)
{
    const pv_token *token = pv_peek(p);
    pv_nearest nearest = {.word = pv_chars(p, token), .length = token->length};
    pv_nearest_offer_units(&nearest);
    char hint[PV_NAME_MAX + 64];
    if (nearest.best[0] != '\0')
        snprintf(hint, sizeof hint, "did you mean \"%s\"?", nearest.best);
    else
        snprintf(hint, sizeof hint, "units are mm, cm, m, in, ft, deg, rad and mrad");
    return pv_wrong(p, p->next, p->next, hint, "there is no unit \"%.*s\"", (int)token->length,
                    pv_chars(p, token));
}

/* A unit after a number, or after a bracket with plain numbers in it. */
static bool apply_unit(pv_parser *p, pv_amount *q)
{
    const pv_token *token = pv_peek(p);
    bool angle;
    double factor;
    if (!pv_unit_find(pv_chars(p, token), token->length, &angle, &factor))
        return no_such_unit(p);
    if (q->kind == PV_KIND_POINT && angle)
        return pv_wrong(p, p->next, p->next, NULL, "a point has no angle as its unit");
    q->v *= factor;
    q->y *= factor;
    if (q->kind == PV_KIND_NUMBER)
        q->kind = angle ? PV_KIND_ANGLE : PV_KIND_LENGTH;
    pv_advance(p);
    return true;
}

static bool read_literal(pv_parser *p, pv_amount *out)
{
    const pv_token *token = pv_peek(p);
    size_t used;
    uint32_t first = p->next;
    *out = (pv_amount){PV_KIND_NUMBER, 0, 0};
    if (!pv_number_parse(pv_chars(p, token), token->length, &out->v, &used))
        out->v = HUGE_VAL;
    pv_advance(p);
    const pv_token *after = pv_peek(p);
    bool unit = after->kind == PV_TOKEN_UNIT || after->kind == PV_TOKEN_NAME ||
                (after->kind == PV_TOKEN_WORD && after->at == token->at + token->length);
    return (!unit || apply_unit(p, out)) && pv_finite(p, first, out);
}

static bool no_such_name(pv_parser *p)
{
    const pv_token *token = pv_peek(p);
    pv_nearest nearest = {.word = pv_chars(p, token), .length = token->length};
    for (size_t i = 0; i < p->lexed.n_names; i++)
        if (p->names[i].let_line != 0)
            pv_nearest_offer(&nearest, p->lexed.text + p->lexed.names[i].at,
                             p->lexed.names[i].length);
    char hint[PV_NAME_MAX + 32];
    snprintf(hint, sizeof hint, "did you mean \"%s\"?", nearest.best);
    return pv_wrong(p, p->next, p->next, nearest.best[0] != '\0' ? hint : NULL,
                    "nothing is named \"%.*s\"", (int)token->length, pv_chars(p, token));
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
        return pv_wrong(p, p->next, p->next, "state it further up", "there is no %s yet",
                        pv_word_text(word));
    *out = unknown;
    if (start ? course->start.given : course->finish.given) {
        pv_vec at = start ? course->start.at : course->finish.at;
        *out = (pv_amount){PV_KIND_POINT, at.x, at.y};
    }
    pv_advance(p);
    return true;
}

/* --- brackets ------------------------------------------------------------------------------ */

static bool coordinate(pv_parser *p, const pv_amount *q, uint32_t first, uint32_t last)
{
    if (q->kind == PV_KIND_LENGTH)
        return true;
    const char *hint = NULL;
    if (q->kind == PV_KIND_NUMBER)
        hint = "give each coordinate its unit, or both one behind the bracket: (3, 4)mm";
    return pv_wrong(p, first, last, hint, "a coordinate is a length, this is %s",
                    pv_kind_name(q->kind));
}

/* After (A, B: a point. Plain numbers get their unit behind the bracket. */
static bool close_pair(pv_parser *p, uint32_t open, uint32_t comma, const pv_amount *x,
                       const pv_amount *y, pv_amount *out)
{
    uint32_t y_last = p->next - 1;
    if (pv_peek(p)->kind == PV_TOKEN_COMMA)
        return pv_wrong(p, open, p->next, "decimals are written with a point: 1.5mm",
                        "a point has two coordinates");
    if (!pv_accept(p, PV_TOKEN_CLOSE))
        return pv_expected(p, ")", 0);
    if (x->kind == PV_KIND_UNKNOWN || y->kind == PV_KIND_UNKNOWN) {
        *out = unknown;
        return pv_peek(p)->kind != PV_TOKEN_UNIT || (pv_advance(p), true);
    }
    *out = (pv_amount){PV_KIND_POINT, x->v, y->v};
    if (x->kind == PV_KIND_NUMBER && y->kind == PV_KIND_NUMBER &&
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
    if (!pv_accept(p, PV_TOKEN_CLOSE))
        return pv_expected(p, "a comma or )", 0);
    if (pv_peek(p)->kind != PV_TOKEN_UNIT)
        return true;
    if (out->kind == PV_KIND_UNKNOWN)
        return pv_advance(p), true;
    if (out->kind != PV_KIND_NUMBER)
        return pv_wrong(p, p->next, p->next, NULL, "this is %s already", pv_kind_name(out->kind));
    return apply_unit(p, out);
}

/* --- arithmetic ---------------------------------------------------------------------------- */

static bool read_primary(pv_parser *p, pv_amount *out)
{
    const pv_token *token = pv_peek(p);
    bool called = (token->kind == PV_TOKEN_NAME || token->kind == PV_TOKEN_WORD) &&
                  token[1].kind == PV_TOKEN_OPEN && token[1].at == token->at + token->length;
    if (called && (token->kind == PV_TOKEN_NAME || token->what == PV_WORD_ROUND))
        return pv_call_read(p, out);
    if (token->kind == PV_TOKEN_NUMBER)
        return read_literal(p, out);
    if (token->kind == PV_TOKEN_NAME)
        return read_name(p, out);
    if (token->kind == PV_TOKEN_OPEN)
        return read_bracket(p, out);
    if (pv_at_word(p, PV_WORD_START) || pv_at_word(p, PV_WORD_FINISH))
        return read_landmark(p, out);
    if (token->kind == PV_TOKEN_UNIT)
        return pv_wrong(p, p->next, p->next, NULL, "\"%.*s\" is a unit, and stands behind a number",
                        (int)token->length, pv_chars(p, token));
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
    pv_kind ka = a->kind, kb = b->kind;
    if (ka == PV_KIND_UNKNOWN || kb == PV_KIND_UNKNOWN) {
        *a = unknown;
        return true;
    }
    if (ka == PV_KIND_LENGTH && kb == PV_KIND_LENGTH)
        return pv_wrong(
            p, first, p->next - 1, "for a diagonal there is hypot(a, b)",
            "a length times a length is an area, and nothing here is measured in areas");
    if (ka != PV_KIND_NUMBER && kb != PV_KIND_NUMBER)
        return pv_wrong(p, first, p->next - 1, NULL, "%s cannot be multiplied by %s",
                        pv_kind_name(ka), pv_kind_name(kb));
    const pv_amount *factor = kb == PV_KIND_NUMBER ? b : a;
    pv_amount other = kb == PV_KIND_NUMBER ? *a : *b;
    *a = (pv_amount){other.kind, other.v * factor->v, other.y * factor->v};
    return true;
}

static bool divide(pv_parser *p, uint32_t first, pv_amount *a, const pv_amount *b)
{
    if (a->kind == PV_KIND_UNKNOWN || b->kind == PV_KIND_UNKNOWN) {
        *a = unknown;
        return true;
    }
    bool ratio = a->kind == b->kind && a->kind != PV_KIND_POINT;
    if (!ratio && b->kind != PV_KIND_NUMBER)
        return pv_wrong(p, first, p->next - 1,
                        a->kind == PV_KIND_NUMBER && b->kind == PV_KIND_LENGTH
                            ? "a fraction of a unit is written (1/2)in"
                            : NULL,
                        "%s cannot be divided by %s", pv_kind_name(a->kind), pv_kind_name(b->kind));
    if (b->v == 0)
        return pv_wrong(p, first, p->next - 1, NULL, "division by zero");
    a->v /= b->v;
    a->y /= b->v;
    if (ratio)
        a->kind = PV_KIND_NUMBER;
    return true;
}

static bool read_term(pv_parser *p, pv_amount *out)
{
    uint32_t first = p->next;
    if (!read_factor(p, out))
        return false;
    while (pv_peek(p)->kind == PV_TOKEN_TIMES || pv_peek(p)->kind == PV_TOKEN_DIVIDE) {
        bool times = pv_peek(p)->kind == PV_TOKEN_TIMES;
        pv_amount b;
        pv_advance(p);
        if (!read_factor(p, &b) || !(times ? multiply : divide)(p, first, out, &b) ||
            !pv_finite(p, first, out))
            return false;
    }
    return true;
}

static bool add(pv_parser *p, uint32_t first, pv_amount *a, const pv_amount *b, double sign)
{
    if (a->kind == PV_KIND_UNKNOWN || b->kind == PV_KIND_UNKNOWN) {
        *a = unknown;
        return true;
    }
    if (a->kind != b->kind)
        return pv_wrong(p, first, p->next - 1,
                        a->kind == PV_KIND_NUMBER || b->kind == PV_KIND_NUMBER
                            ? "does a number lack its unit?"
                            : NULL,
                        "%s and %s cannot be %s", pv_kind_name(a->kind), pv_kind_name(b->kind),
                        sign > 0 ? "added" : "subtracted");
    a->v += sign * b->v;
    a->y += sign * b->y;
    return true;
}

static bool read_sum(pv_parser *p, pv_amount *out)
{
    uint32_t first = p->next;
    if (!read_term(p, out))
        return false;
    while (pv_peek(p)->kind == PV_TOKEN_PLUS || pv_peek(p)->kind == PV_TOKEN_MINUS) {
        double sign = pv_peek(p)->kind == PV_TOKEN_PLUS ? 1 : -1;
        pv_amount b;
        pv_advance(p);
        if (!read_term(p, &b) || !add(p, first, out, &b, sign) || !pv_finite(p, first, out))
            return false;
    }
    return true;
}

bool pv_amount_read(pv_parser *p, pv_amount *out)
{
    if (p->depth >= PV_COURSE_NEST_MAX)
        return pv_past_limit(p, p->next, "more than %d brackets within each other",
                             PV_COURSE_NEST_MAX);
    p->depth++;
    bool good = read_sum(p, out);
    p->depth--;
    return good;
}
