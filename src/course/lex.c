#include "course/lex.h"

#include "base/memory.h"
#include "base/words.h"

#include <stdlib.h>
#include <string.h>

typedef struct lexer {
    pv_lexed *out;
    size_t at;
    uint32_t line;
    size_t counted;  /* up to this byte, */
    uint32_t column; /* whose column is this */
    bool first;      /* no token yet on this line */
    bool in_text, in_braces;
    bool failed; /* memory ran out */
} lexer;

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_';
}

/* Malformed bytes count as a character each. */
static int characters(const char *s, size_t from, size_t to)
{
    int n = 0;
    while (from < to) {
        size_t step = pv_utf8_length(s + from, to - from);
        from += step > 0 ? step : 1;
        n++;
    }
    return n;
}

static void put(lexer *lex, pv_token_kind kind, size_t length, unsigned what, uint32_t more)
{
    pv_lexed *out = lex->out;
    if (!PV_GROW(out->tokens, out->n_tokens, out->cap_tokens)) {
        lex->failed = true;
        return;
    }
    lex->column += (uint32_t)characters(out->text, lex->counted, lex->at);
    lex->counted = lex->at;
    out->tokens[out->n_tokens++] = (pv_token){.kind = (uint8_t)kind,
                                              .what = (uint8_t)what,
                                              .first = lex->first,
                                              .at = (uint32_t)lex->at,
                                              .length = (uint32_t)length,
                                              .line = lex->line,
                                              .column = lex->column,
                                              .more = more};
    lex->first = false;
    lex->at += length;
}

static void put_bad(lexer *lex, pv_bad bad, size_t length)
{
    put(lex, PV_TOKEN_BAD, length, bad, 0);
}

/* FNV-1a, 32 bits. */
static uint32_t hash(const char *chars, size_t length)
{
    uint32_t h = 2166136261u;
    for (size_t i = 0; i < length; i++)
        h = (h ^ (unsigned char)chars[i]) * 16777619u;
    return h;
}

/* The slot of that name, or the empty one where it belongs. */
static uint32_t *slot(const pv_lexed *out, const char *chars, size_t length)
{
    size_t mask = out->table_size - 1;
    for (size_t i = hash(chars, length) & mask;; i = (i + 1) & mask) {
        uint32_t number = out->table[i];
        if (number == 0)
            return &out->table[i];
        const pv_name *name = &out->names[number - 1];
        if (name->length == length && memcmp(out->text + name->at, chars, length) == 0)
            return &out->table[i];
    }
}

static bool grow_table(pv_lexed *out)
{
    size_t size = out->table_size == 0 ? 256 : out->table_size * 2;
    uint32_t *table = PV_NEW_ARRAY(size, uint32_t);
    if (table == NULL)
        return false;
    free(out->table);
    out->table = table;
    out->table_size = size;
    for (size_t i = 0; i < out->n_names; i++)
        *slot(out, out->text + out->names[i].at, out->names[i].length) = (uint32_t)i + 1;
    return true;
}

/* The number of a name among the distinct ones. */
static uint32_t intern(lexer *lex, size_t length)
{
    pv_lexed *out = lex->out;
    if ((out->table_size / 2 <= out->n_names && !grow_table(out)) ||
        !PV_GROW(out->names, out->n_names, out->cap_names)) {
        lex->failed = true;
        return 0;
    }
    uint32_t *place = slot(out, out->text + lex->at, length);
    if (*place == 0) {
        out->names[out->n_names++] = (pv_name){(uint32_t)lex->at, (uint32_t)length};
        *place = (uint32_t)out->n_names;
    }
    return *place - 1;
}

static void lex_name(lexer *lex)
{
    const char *s = lex->out->text + lex->at;
    size_t n = 0, most = lex->out->length - lex->at;
    while (n < most && (is_letter(s[n]) || is_digit(s[n])))
        n++;
    bool angle;
    double factor;
    pv_word word;
    if (n > PV_NAME_MAX)
        put_bad(lex, PV_BAD_LONG_NAME, n);
    else if (pv_unit_find(s, n, &angle, &factor))
        put(lex, PV_TOKEN_UNIT, n, 0, intern(lex, n));
    else if (pv_word_find(s, n, &word))
        put(lex, PV_TOKEN_WORD, n, word, intern(lex, n));
    else
        put(lex, PV_TOKEN_NAME, n, 0, intern(lex, n));
}

static void lex_number(lexer *lex)
{
    const char *s = lex->out->text + lex->at;
    size_t n = 0, most = lex->out->length - lex->at;
    bool point = false;
    while (n < most &&
           (is_digit(s[n]) || (s[n] == '.' && !point && n + 1 < most && is_digit(s[n + 1])))) {
        point = point || s[n] == '.';
        n++;
    }
    if (n > PV_NAME_MAX)
        put_bad(lex, PV_BAD_LONG_NUMBER, n);
    else
        put(lex, PV_TOKEN_NUMBER, n, 0, 0);
}

/* Bytes of a character that may stand in a text or a comment as it is; 0 for others. */
static size_t plain_character(const lexer *lex)
{
    const char *s = lex->out->text + lex->at;
    size_t n = pv_utf8_length(s, lex->out->length - lex->at);
    if (n == 1 && (((unsigned char)*s < 0x20 && *s != '\t') || *s == 0x7F))
        return 0;
    if (n == 2 && (unsigned char)s[0] == 0xC2 && (unsigned char)s[1] < 0xA0)
        return 0;
    return n;
}

/* What is wrong with the character here, for those that nothing can begin with. */
static void lex_stray(lexer *lex)
{
    const char *s = lex->out->text + lex->at;
    size_t n = pv_utf8_length(s, lex->out->length - lex->at);
    if (n == 0)
        put_bad(lex, PV_BAD_UTF8, 1);
    else if (*s == '\0')
        put_bad(lex, PV_BAD_NUL, 1);
    else if (*s == '\r')
        put_bad(lex, PV_BAD_RETURN, 1);
    else if (plain_character(lex) == 0)
        put_bad(lex, PV_BAD_CONTROL, n);
    else
        put_bad(lex, PV_BAD_CHARACTER, n);
}

static bool at_line_end(const lexer *lex)
{
    const char *s = lex->out->text + lex->at;
    size_t left = lex->out->length - lex->at;
    return left == 0 || *s == '\n' || (*s == '\r' && left > 1 && s[1] == '\n');
}

static void lex_comment(lexer *lex)
{
    while (!at_line_end(lex)) {
        size_t n = plain_character(lex);
        if (n == 0) {
            lex_stray(lex);
            while (!at_line_end(lex))
                lex->at++;
            return;
        }
        lex->at += n;
    }
}

/* From within a text up to its closing quote, a brace, or what is wrong. */
static void lex_text(lexer *lex)
{
    const char *s = lex->out->text;
    size_t from = lex->at, end = lex->out->length;
    pv_bad bad = PV_BAD_QUOTE;
    size_t bad_length = 0, n = 0;
    while (!at_line_end(lex) && s[lex->at] != '"' && bad_length == 0) {
        char c = s[lex->at], next = lex->at + 1 < end ? s[lex->at + 1] : '\0';
        if (c == '{' && next != '{')
            break;
        if (c == '\\' && next != '"' && next != '\\') {
            bad = PV_BAD_ESCAPE;
            bad_length = 1;
        } else if (c == '}' && next != '}') {
            bad = PV_BAD_BRACE;
            bad_length = 1;
        } else if ((n = plain_character(lex)) == 0) {
            break;
        } else {
            lex->at += c == '\\' || c == '{' || c == '}' ? 2 : n;
        }
    }
    size_t length = lex->at - from;
    lex->at = from;
    if (length > 0)
        put(lex, PV_TOKEN_CHARS, length, 0, 0);
    if (at_line_end(lex)) {
        put_bad(lex, PV_BAD_QUOTE, 0);
        lex->in_text = false;
    } else if (bad_length > 0) {
        put_bad(lex, bad, bad_length);
    } else if (s[lex->at] == '"') {
        put(lex, PV_TOKEN_QUOTE, 1, 0, 0);
        lex->in_text = false;
    } else if (s[lex->at] == '{') {
        put(lex, PV_TOKEN_OPEN_BRACE, 1, 0, 0);
        lex->in_text = false;
        lex->in_braces = true;
    } else {
        lex_stray(lex);
    }
}

static void lex_line_end(lexer *lex)
{
    pv_lexed *out = lex->out;
    if (lex->in_braces || lex->in_text)
        put_bad(lex, lex->in_braces ? PV_BAD_BRACE : PV_BAD_QUOTE, 0);
    lex->in_text = lex->in_braces = false;
    pv_token_kind last = PV_TOKEN_STOP;
    if (out->n_tokens > 0)
        last = (pv_token_kind)out->tokens[out->n_tokens - 1].kind;
    if (last != PV_TOKEN_STOP && (last != PV_TOKEN_COMMA || lex->at >= out->length))
        put(lex, PV_TOKEN_STOP, 0, 0, 0);
}

static void lex_symbol(lexer *lex)
{
    static const char symbols[] = "(),=+-*/%";
    static const uint8_t kinds[] = {PV_TOKEN_OPEN,   PV_TOKEN_CLOSE,  PV_TOKEN_COMMA,
                                    PV_TOKEN_EQUALS, PV_TOKEN_PLUS,   PV_TOKEN_MINUS,
                                    PV_TOKEN_TIMES,  PV_TOKEN_DIVIDE, PV_TOKEN_PERCENT};
    char c = lex->out->text[lex->at];
    const char *found = c != '\0' ? strchr(symbols, c) : NULL;
    if (found != NULL)
        put(lex, (pv_token_kind)kinds[found - symbols], 1, 0, 0);
    else
        lex_stray(lex);
}

static void lex_token(lexer *lex)
{
    const char *s = lex->out->text + lex->at;
    char c = *s;
    if (c == ' ' || c == '\t') {
        lex->at++;
    } else if (is_letter(c)) {
        lex_name(lex);
    } else if (is_digit(c) || (c == '.' && lex->at + 1 < lex->out->length && is_digit(s[1]))) {
        lex_number(lex);
    } else if (lex->in_braces && (c == '}' || c == '"')) {
        if (c == '}')
            put(lex, PV_TOKEN_CLOSE_BRACE, 1, 0, 0);
        else
            put_bad(lex, PV_BAD_BRACE, 1);
        lex->in_braces = false;
        lex->in_text = c == '}';
    } else if (c == '"') {
        put(lex, PV_TOKEN_QUOTE, 1, 0, 0);
        lex->in_text = true;
    } else if (c == '#') {
        lex_comment(lex);
    } else {
        lex_symbol(lex);
    }
}

/* Tells every `repeat` that begins a line where its `end` is. */
static bool match_repeats(pv_lexed *out)
{
    uint32_t *open = NULL;
    size_t n_open = 0, capacity = 0;
    for (size_t i = 0; i < out->n_tokens; i++) {
        pv_token *token = &out->tokens[i];
        bool word = token->kind == PV_TOKEN_WORD && token->first;
        if (word && (token->what == PV_WORD_REPEAT || token->what == PV_WORD_END))
            token->more = 0;
        if (word && token->what == PV_WORD_REPEAT) {
            if (!PV_GROW(open, n_open, capacity)) {
                free(open);
                return false;
            }
            open[n_open++] = (uint32_t)i;
        } else if (word && token->what == PV_WORD_END && n_open > 0) {
            token->more = 1;
            out->tokens[open[--n_open]].more = (uint32_t)i;
        }
    }
    free(open);
    return true;
}

bool pv_lex(pv_lexed *lexed, const char *text, size_t length)
{
    *lexed = (pv_lexed){.text = text, .length = length};
    if (length >= 3 && memcmp(text, "\xEF\xBB\xBF", 3) == 0)
        lexed->begin = 3;
    lexer lex = {.out = lexed, .at = lexed->begin, .line = 1, .column = 1, .first = true};
    lex.counted = lexed->begin;
    while (lex.at < length && !lex.failed) {
        if (at_line_end(&lex)) {
            lex_line_end(&lex);
            lex.at += text[lex.at] == '\r' ? 2 : 1;
            lex.line++;
            lex.counted = lex.at;
            lex.column = 1;
            lex.first = true;
        } else if (lex.in_text) {
            lex_text(&lex);
        } else {
            lex_token(&lex);
        }
    }
    lex_line_end(&lex);
    put(&lex, PV_TOKEN_FILE_END, 0, 0, 0);
    return !lex.failed && match_repeats(lexed);
}

void pv_lex_clear(pv_lexed *lexed)
{
    free(lexed->tokens);
    free(lexed->names);
    free(lexed->table);
    *lexed = (pv_lexed){0};
}

pv_place pv_lex_place(const pv_lexed *lexed, const char *file, uint32_t line, size_t at,
                      size_t length)
{
    const char *s = lexed->text;
    size_t start = at, end = at;
    while (start > lexed->begin && s[start - 1] != '\n')
        start--;
    while (end < lexed->length && s[end] != '\n')
        end++;
    if (end > at && s[end - 1] == '\r')
        end--;
    size_t stop = at + length < end ? at + length : end;
    return (pv_place){.file = file,
                      .source = s + start,
                      .source_length = end - start,
                      .line = (int)line,
                      .column = characters(s, start, at) + 1,
                      .length = characters(s, at, stop)};
}
