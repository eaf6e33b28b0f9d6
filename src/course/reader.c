#include "course/reader.h"

#include "base/text.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void pv_advance(pv_parser *p)
{
    if (pv_peek(p)->kind == PV_TOKEN_FILE_END)
        return;
    p->next++;
    if (++p->steps > PV_COURSE_STEPS_MAX && !p->stopped)
        pv_past_limit(p, p->next - 1,
                      "the course has more than %u words to read, repetitions counted",
                      PV_COURSE_STEPS_MAX);
}

bool pv_accept(pv_parser *p, pv_token_kind kind)
{
    if (pv_peek(p)->kind != kind)
        return false;
    pv_advance(p);
    return true;
}

bool pv_at_word(const pv_parser *p, pv_word word)
{
    return pv_peek(p)->kind == PV_TOKEN_WORD && pv_peek(p)->what == word;
}

bool pv_accept_word(pv_parser *p, pv_word word)
{
    if (!pv_at_word(p, word))
        return false;
    pv_advance(p);
    return true;
}

const char *pv_chars(const pv_parser *p, const pv_token *token)
{
    return p->lexed.text + token->at;
}

/* ---- findings ---- */

/* A line longer than this many bytes is not repeated in findings. */
#define SHOWN_MAX 1000

bool pv_report_at(pv_parser *p, pv_severity severity, pv_cause cause, uint32_t line, size_t at,
                  size_t length, const char *hint, const char *message)
{
    pv_place place = pv_lex_place(&p->lexed, p->file, line, at, length);
    if (place.source_length > SHOWN_MAX)
        place.source = NULL;
    pv_diags_add(p->diags, severity, cause, &place, hint, "%s", message);
    return false;
}

static void report(pv_parser *p, pv_severity severity, pv_cause cause, uint32_t first,
                   uint32_t last, const char *hint, const char *format, va_list args)
{
    const pv_token *a = &p->lexed.tokens[first];
    const pv_token *b = &p->lexed.tokens[last];
    if (pv_diags_full(p->diags)) { /* only counted: a long line isn't looked at again and again */
        pv_diags_add(p->diags, severity, cause, NULL, NULL, "%s", format);
        return;
    }
    size_t end = b->at + (size_t)b->length;
    if (b->line != a->line) /* underlined to the end of its line */
        end = p->lexed.length;
    pv_text message = PV_TEXT_INIT;
    pv_text_addv(&message, format, args);
    char *text = pv_text_take(&message);
    if (text != NULL)
        pv_report_at(p, severity, cause, a->line, a->at, end - a->at, hint, text);
    else
        pv_no_memory(p);
    free(text);
}

bool pv_wrong(pv_parser *p, uint32_t first, uint32_t last, const char *hint, const char *format,
              ...)
{
    va_list args;
    va_start(args, format);
    if (!p->stopped)
        report(p, PV_ERROR, PV_CAUSE_DATA, first, last, hint, format, args);
    va_end(args);
    p->errors++;
    p->stopped = p->stopped || pv_diags_full(p->diags);
    return false;
}

bool pv_past_limit(pv_parser *p, uint32_t token, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    if (!p->stopped)
        report(p, PV_ERROR, PV_CAUSE_LIMIT, token, token, NULL, format, args);
    va_end(args);
    p->errors++;
    p->stopped = true;
    return false;
}

void pv_warn(pv_parser *p, uint32_t first, uint32_t last, const char *hint, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    if (!p->stopped)
        report(p, PV_WARNING, PV_CAUSE_DATA, first, last, hint, format, args);
    va_end(args);
}

bool pv_no_memory(pv_parser *p)
{
    if (!p->stopped)
        pv_fail_memory(p->diags);
    p->errors++;
    p->stopped = true;
    return false;
}

bool pv_silent(pv_parser *p)
{
    p->errors++;
    return false;
}

/* ---- what is wrong with a token ---- */

/* Characters that look like those of the language but are others. */
static const struct {
    const char *chars, *hint;
} lookalikes[] = {
    {"\xE2\x80\x9C", "write texts between straight quotes: \"BERTH 4\""},
    {"\xE2\x80\x9D", "write texts between straight quotes: \"BERTH 4\""},
    {"\xE2\x80\x9E", "write texts between straight quotes: \"BERTH 4\""},
    {"'", "write texts between double quotes, and feet as \"ft\""},
    {"\xE2\x80\x99", "write feet as \"ft\""},
    {"\xE2\x80\xB2", "write feet as \"ft\""},
    {"\xE2\x80\xB3", "write inches as \"in\""},
    {"\xE2\x88\x92", "write minus as - (hyphen)"},
    {"\xE2\x80\x93", "write minus as - (hyphen)"},
    {"\xE2\x80\x94", "write minus as - (hyphen)"},
    {"\xC3\x97", "write times as *, and the mat's size as 1200mm by 900mm"},
    {"\xC3\xB7", "write division as /"},
    {"\xC2\xB0", "write degrees as \"deg\""},
    {"\xC2\xA0", "this is a no-break space: replace it with a plain one"},
    {";", "a statement ends with its line"},
    {"^", "write a square as a product"},
    {"[", "write points in round brackets: (30mm, 40mm)"},
    {"{", "braces are for texts only"},
};

static bool bad_character(pv_parser *p, const pv_token *token)
{
    const char *chars = pv_chars(p, token), *hint = NULL;
    for (size_t i = 0; i < sizeof lookalikes / sizeof *lookalikes; i++)
        if (strlen(lookalikes[i].chars) == token->length &&
            memcmp(lookalikes[i].chars, chars, token->length) == 0)
            hint = lookalikes[i].hint;
    return PV_WRONG_HERE(p, hint, "\"%.*s\" has no meaning here", (int)token->length, chars);
}

static bool bad_quote(pv_parser *p)
{
    uint32_t open = p->next;
    while (open > p->begin && p->lexed.tokens[open].kind != PV_TOKEN_QUOTE)
        open--;
    const char *hint = NULL;
    if (open > p->begin && p->lexed.tokens[open - 1].kind == PV_TOKEN_NUMBER)
        hint = "write inches as \"in\"";
    return pv_wrong(p, open, open, hint, "this text has no closing quote on its line");
}

static bool bad_token(pv_parser *p)
{
    const pv_token *token = pv_peek(p);
    const char *chars = pv_chars(p, token);
    switch ((pv_bad)token->what) {
    case PV_BAD_CONTROL:
        return PV_WRONG_HERE(p, "delete it and type it again",
                             "a course must not contain control characters (code %d)",
                             token->length == 1 ? (unsigned char)chars[0]
                                                : (unsigned char)chars[1]);
    case PV_BAD_NUL:
        return PV_WRONG_HERE(p, "is this a text file?", "a course must not contain NUL bytes");
    case PV_BAD_UTF8:
        return PV_WRONG_HERE(p, "save the file as UTF-8", "byte 0x%02X is not well-formed UTF-8",
                             (unsigned char)chars[0]);
    case PV_BAD_RETURN:
        return PV_WRONG_HERE(p, "save the file with line ends LF or CR LF",
                             "a carriage return without line feed");
    case PV_BAD_QUOTE:
        return bad_quote(p);
    case PV_BAD_BRACE:
        return PV_WRONG_HERE(p, "braces themselves are written {{ and }}",
                             "a brace in this text has no partner");
    case PV_BAD_ESCAPE:
        return PV_WRONG_HERE(p, "write \\\" for a quote and \\\\ for a backslash",
                             "a backslash must be followed by a quote or a backslash");
    case PV_BAD_LONG_NAME:
        return PV_WRONG_HERE(p, NULL, "a name has at most %d characters", PV_NAME_MAX);
    case PV_BAD_LONG_NUMBER:
        return PV_WRONG_HERE(p, NULL, "a number has at most %d digits", PV_NAME_MAX);
    case PV_BAD_CHARACTER:
        break;
    }
    return bad_character(p, token);
}

/* "found ..." */
static void describe(const pv_parser *p, const pv_token *token, char *out, size_t size)
{
    if (token->kind == PV_TOKEN_STOP || token->kind == PV_TOKEN_FILE_END)
        snprintf(out, size, "the end of the line");
    else if (token->kind == PV_TOKEN_QUOTE || token->kind == PV_TOKEN_CHARS)
        snprintf(out, size, "a text");
    else
        snprintf(out, size, "\"%.*s\"", PV_SHOWN(p, token));
}

/* A comma before a line that begins another statement carries this one on into it. */
static bool runs_on(const pv_parser *p)
{
    const pv_token *token = pv_peek(p);
    return token->kind == PV_TOKEN_WORD && token->first && p->next > p->begin &&
           (PV_STATEMENTS & PV_W(token->what)) != 0 &&
           p->lexed.tokens[p->next - 1].kind == PV_TOKEN_COMMA;
}

const char *pv_comma_hint(const pv_parser *p)
{
    const pv_token *token = pv_peek(p);
    if (token->kind != PV_TOKEN_STOP || token[1].kind != PV_TOKEN_WORD ||
        (PV_STATEMENTS & PV_W(token[1].what)) != 0)
        return NULL;
    return "to continue this statement on the next line, end this line with a comma";
}

static char *word_list(pv_words words)
{
    pv_text list = PV_TEXT_INIT;
    for (int i = 0; i < PV_WORD_COUNT; i++) {
        if ((words & PV_W(i)) == 0)
            continue;
        bool last = (words >> i) == 1;
        pv_text_add(&list, "%s%s",
                    list.length == 0 ? ""
                    : last           ? " or "
                                     : ", ",
                    pv_word_text((pv_word)i));
    }
    return pv_text_take(&list);
}

pv_nearest pv_nearest_here(const pv_parser *p)
{
    return (pv_nearest){.word = pv_chars(p, pv_peek(p)), .length = pv_peek(p)->length};
}

/* What to do about the next token; NULL where nothing is known. */
static const char *expected_hint(const pv_parser *p, pv_nearest *nearest, pv_words words)
{
    const pv_token *token = pv_peek(p), *before = p->next > 0 ? token - 1 : NULL;
    if (runs_on(p)) {
        snprintf(nearest->hint, sizeof nearest->hint,
                 "the comma at the end of line %u continues that statement", before->line);
        return nearest->hint;
    }
    if (token->kind == PV_TOKEN_NAME || token->kind == PV_TOKEN_WORD) {
        pv_nearest_offer_words(nearest, words);
        return pv_nearest_hint(nearest);
    }
    if (token->kind == PV_TOKEN_QUOTE && before != NULL && before->kind == PV_TOKEN_NUMBER)
        return "write inches as \"in\"";
    return pv_comma_hint(p);
}

bool pv_expected(pv_parser *p, const char *wanted, pv_words words)
{
    const pv_token *token = pv_peek(p);
    if (token->kind == PV_TOKEN_BAD)
        return bad_token(p);
    char found[PV_NAME_MAX + 32], *list = wanted == NULL ? word_list(words) : NULL;
    if (wanted == NULL && list == NULL)
        return pv_no_memory(p);
    describe(p, token, found, sizeof found);
    pv_nearest nearest = pv_nearest_here(p);
    PV_WRONG_HERE(p, expected_hint(p, &nearest, words), "expected %s, found %s",
                  wanted != NULL ? wanted : list, found);
    free(list);
    return false;
}

bool pv_take(pv_parser *p, pv_token_kind kind, const char *wanted)
{
    return pv_accept(p, kind) || pv_expected(p, wanted, 0);
}

bool pv_take_word(pv_parser *p, pv_word word)
{
    char wanted[32];
    snprintf(wanted, sizeof wanted, "\"%s\"", pv_word_text(word));
    return pv_accept_word(p, word) || pv_expected(p, wanted, PV_W(word));
}

bool pv_take_choice(pv_parser *p, pv_words words, pv_word *word)
{
    *word = (pv_word)pv_peek(p)->what;
    if (pv_peek(p)->kind != PV_TOKEN_WORD || (words & PV_W(*word)) == 0)
        return pv_expected(p, NULL, words);
    pv_advance(p);
    return true;
}

/* ---- parts of a statement ---- */

static bool at_end(const pv_parser *p)
{
    return pv_peek(p)->kind == PV_TOKEN_STOP || pv_peek(p)->kind == PV_TOKEN_FILE_END;
}

bool pv_parts(pv_parser *p, pv_words allowed, pv_words once, pv_words *seen, pv_part_reader *read,
              void *into)
{
    for (;;) {
        pv_word word;
        pv_accept(p, PV_TOKEN_COMMA);
        if (at_end(p))
            return true;
        uint32_t at = p->next;
        if (!pv_take_choice(p, allowed, &word))
            return false;
        if ((*seen & once & PV_W(word)) != 0)
            return pv_wrong(p, at, at, NULL, "%s is given twice", pv_word_text(word));
        *seen |= PV_W(word);
        if (!read(p, word, into))
            return false;
    }
}

bool pv_need(pv_parser *p, pv_words needed, pv_words seen)
{
    pv_words missing = needed & ~seen;
    if (missing == 0)
        return true;
    pv_word word = PV_WORD_AHEAD;
    while ((missing & PV_W(word)) == 0)
        word++;
    const pv_token *first = &p->lexed.tokens[p->begin];
    return pv_wrong(p, p->begin, p->begin, pv_comma_hint(p), "this %s lacks its %s",
                    pv_word_text((pv_word)first->what), pv_word_text(word));
}
