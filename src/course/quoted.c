#include "course/quoted.h"

#include "base/text.h"
#include "base/words.h"
#include "course/expression.h"
#include "type/type.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A character, shown, or by its number where it shows nothing. */
static bool not_in_typeface(pv_parser *p, const pv_token *token, size_t offset, const char *one,
                            uint32_t code)
{
    char message[96];
    const char *hint = "install a TrueType face that has it; docs/how/lettering.md lists some";
    if (*one == '\t') {
        snprintf(message, sizeof message, "a text must not contain tabs");
        hint = "write a blank";
    } else if (!pv_prints(code)) {
        snprintf(message, sizeof message, "a text must not contain the character U+%04X",
                 (unsigned)code);
        hint = "it is invisible by itself; leave it out";
    } else {
        snprintf(message, sizeof message,
                 "no typeface on this machine has the character \"%s\" (U+%04X)", one,
                 (unsigned)code);
    }
    p->errors++;
    if (p->stopped)
        return false;
    return pv_report_at(p, PV_ERROR, PV_CAUSE_DATA, token->line, token->at + offset, strlen(one),
                        hint, message);
}

/* False, and said, where a character can't be set. */
static bool can_be_set(pv_parser *p, const pv_token *token, size_t offset, const char *one,
                       uint32_t code)
{
    bool shows = *one != '\t' && pv_prints(code);
    switch (shows ? pv_type_cover(p->type, code) : PV_COVER_NONE) {
    case PV_COVERED:
        return true;
    case PV_COVER_FULL:
        return pv_past_limit(p, p->next, "all texts together take at most %u typefaces",
                             PV_TYPE_FAMILIES_MAX);
    case PV_COVER_NO_MEMORY:
        return pv_no_memory(p);
    default:
        return not_in_typeface(p, token, offset, one, code);
    }
}

static bool fits(pv_parser *p, size_t n)
{
    return n <= PV_COURSE_TEXT_MAX ||
           pv_past_limit(p, p->next, "a text has at most %u characters", PV_COURSE_TEXT_MAX);
}

/* Copies characters, undoing escapes; *n counts them. */
static bool add_chars(pv_parser *p, const pv_token *token, pv_text *out, size_t *n)
{
    const char *s = pv_chars(p, token);
    for (size_t i = 0; i < token->length;) {
        if (s[i] == '\\' || s[i] == '{' || s[i] == '}')
            i++; /* the lexer saw to it that the character itself follows */
        size_t step = pv_utf8_length(s + i, token->length - i);
        char one[5] = {0};
        uint32_t code = 0;
        memcpy(one, s + i, step);
        pv_utf8_decode(one, step, &code);
        if (!can_be_set(p, token, i, one, code))
            return false;
        pv_text_bytes(out, one, step);
        i += step;
        ++*n;
    }
    return fits(p, *n);
}

static bool add_number(pv_parser *p, pv_text *out, size_t *n)
{
    pv_amount q;
    uint32_t open = p->next;
    pv_advance(p);
    if (!pv_amount_read(p, &q))
        return false;
    if (q.kind == PV_AMOUNT_UNKNOWN)
        return pv_silent(p);
    if (q.kind != PV_AMOUNT_NUMBER)
        return pv_wrong(p, open, p->next,
                        q.kind == PV_AMOUNT_POINT ? NULL : "divide it by its unit: {gap/1mm}",
                        "a text takes plain numbers, this is %s", pv_amount_kind_name(q.kind));
    if (!pv_take(p, PV_TOKEN_CLOSE_BRACE, "}"))
        return false;
    char said[PV_SAID_NUMBER];
    pv_text_add(out, "%s", pv_say_number(q.v, said));
    *n += strlen(said);
    return fits(p, *n);
}

static bool read_parts(pv_parser *p, pv_text *out)
{
    size_t n = 0;
    while (!pv_accept(p, PV_TOKEN_QUOTE)) {
        pv_token_kind kind = (pv_token_kind)pv_peek(p)->kind;
        if (kind == PV_TOKEN_CHARS) {
            if (!add_chars(p, pv_peek(p), out, &n))
                return false;
            pv_advance(p);
        } else if (kind == PV_TOKEN_OPEN_BRACE) {
            if (!add_number(p, out, &n))
                return false;
        } else {
            return pv_expected(p, "the text's closing quote", 0);
        }
    }
    if (out->failed)
        return pv_no_memory(p);
    return true;
}

bool pv_quoted_read(pv_parser *p, const char *what, char **out)
{
    uint32_t first = p->next;
    if (!pv_accept(p, PV_TOKEN_QUOTE))
        return pv_expected(p, what, 0);
    pv_text text = PV_TEXT_INIT;
    if (!read_parts(p, &text)) {
        pv_text_drop(&text);
        return false;
    }
    if (text.length == 0)
        return PV_WRONG_SINCE(p, first, NULL, "this text is empty");
    *out = pv_text_take(&text);
    return *out != NULL || pv_no_memory(p);
}
