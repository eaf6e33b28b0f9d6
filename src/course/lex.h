/* The text of a course cut into tokens. Nothing is reported here: what cannot be a token becomes a
 * PV_TOKEN_BAD that the parser reports if it meets it. */
#ifndef COURSE_LEX_H
#define COURSE_LEX_H

#include "base/diag.h"
#include "course/vocabulary.h"

typedef enum pv_token_kind {
    PV_TOKEN_NAME,   /* `more` is its number among the distinct names */
    PV_TOKEN_WORD,   /* `what` is a pv_word; `more` as in a name */
    PV_TOKEN_UNIT,   /* mm, cm, m, in, ft, deg, rad, mrad */
    PV_TOKEN_NUMBER, /* digits with at most one point */
    PV_TOKEN_QUOTE,  /* before and after a text */
    PV_TOKEN_CHARS,  /* within a text: characters and escapes */
    PV_TOKEN_OPEN,
    PV_TOKEN_CLOSE,
    PV_TOKEN_OPEN_BRACE, /* within a text, around an expression */
    PV_TOKEN_CLOSE_BRACE,
    PV_TOKEN_COMMA,
    PV_TOKEN_EQUALS,
    PV_TOKEN_PLUS,
    PV_TOKEN_MINUS,
    PV_TOKEN_TIMES,
    PV_TOKEN_DIVIDE,
    PV_TOKEN_PERCENT,
    PV_TOKEN_BAD,     /* `what` is a pv_bad */
    PV_TOKEN_STOP,    /* end of a statement */
    PV_TOKEN_FILE_END /* the last one */
} pv_token_kind;

typedef enum pv_bad {
    PV_BAD_CHARACTER, /* well-formed, but means nothing here */
    PV_BAD_CONTROL,
    PV_BAD_NUL,
    PV_BAD_UTF8,
    PV_BAD_RETURN,     /* a carriage return that no line feed follows */
    PV_BAD_QUOTE,      /* a text without end on its line */
    PV_BAD_BRACE,      /* a brace in a text without its partner */
    PV_BAD_ESCAPE,     /* a backslash before anything but " and \ */
    PV_BAD_LONG_NAME,  /* more than PV_NAME_MAX characters */
    PV_BAD_LONG_NUMBER /* more than PV_NAME_MAX characters */
} pv_bad;

typedef struct pv_token {
    uint8_t kind, what;
    bool first;                        /* on its line of the text */
    uint32_t at, length, line, column; /* column: in characters, from 1 */
    uint32_t more; /* names: their number; repeat: the index of its `end`; end: 1; 0: no partner */
} pv_token;

typedef struct pv_name {
    uint32_t at, length;
} pv_name;

typedef struct pv_lexed {
    const char *text;     /* borrowed */
    size_t length, begin; /* begin: past a byte order mark */
    pv_token *tokens;
    size_t n_tokens, cap_tokens;
    pv_name *names;
    size_t n_names, cap_names;
    uint32_t *table; /* hash table of name numbers + 1; its size is a power of two */
    size_t table_size;
} pv_lexed;

/* False where memory ran out. pv_lex_clear is needed either way. length < 4 GiB. */
bool pv_lex(pv_lexed *lexed, const char *text, size_t length);
void pv_lex_clear(pv_lexed *lexed);

/* The place of bytes at .. at + length - 1, as far as they are on one line. */
pv_place pv_lex_place(const pv_lexed *lexed, const char *file, uint32_t line, size_t at,
                      size_t length);

#endif
