/* Where reading a course has got to, and what all that read it share: taking the next token, saying
 * what is wrong with it, and reading the parts of a statement in any order. */
#ifndef COURSE_READER_H
#define COURSE_READER_H

#include "course/lex.h"
#include "course/model.h"

typedef enum pv_amount_kind {
    PV_AMOUNT_UNKNOWN, /* hangs on something that is wrong and was reported: pass it on silently */
    PV_AMOUNT_NUMBER,
    PV_AMOUNT_LENGTH, /* mm */
    PV_AMOUNT_ANGLE,  /* radians */
    PV_AMOUNT_POINT   /* mm */
} pv_amount_kind;

typedef struct pv_amount {
    pv_amount_kind kind;
    double v;
    double y; /* of a point, whose x is v */
} pv_amount;

/* What a name stands for; variables, colours and lines each have their own names. */
typedef struct pv_meaning {
    pv_amount value;
    uint32_t let_line;    /* where `let` gave the value, 0: it has none; or PV_BUILT_IN */
    uint32_t colour_line; /* where the colour was made, 0: there is none; or PV_BUILT_IN */
    size_t colour;        /* SIZE_MAX: it was, and failed */
    uint32_t id_line;     /* where a line got this name, 0: none did */
    uint32_t id_token;    /* that statement's first token */
    uint32_t id_count;    /* lines that it made */
} pv_meaning;

#define PV_BUILT_IN UINT32_MAX

/* Properties of a line, as `paint` sets them for all that follow. */
typedef struct pv_brush {
    double width;
    size_t colour;
    pv_ends ends;
} pv_brush;

/* The tokens of a point, for findings that come after the last statement. */
typedef struct pv_place_tokens {
    uint32_t first, last;
} pv_place_tokens;

typedef struct pv_parser {
    pv_course *course;
    pv_lexed lexed;
    pv_diags *diags;
    const char *file;
    pv_type *type;    /* that texts are set in */
    uint32_t next;    /* index of the token to read next */
    uint32_t begin;   /* index of the statement's first token */
    int depth;        /* of parentheses and calls */
    int repeats;      /* repetitions that we are in */
    size_t errors;    /* reported; also counts what failed silently */
    bool stopped;     /* read no further */
    size_t items;     /* statements carried out and repetitions begun */
    size_t steps;     /* tokens read */
    size_t pieces;    /* made so far */
    double points;    /* corners of all flattened arcs so far */
    size_t corners;   /* of all letters' outlines so far */
    uint32_t unnamed; /* lines that got an automatic id */
    pv_meaning *names;
    uint32_t *scoped; /* names that a repetition's statements gave, to be forgotten */
    size_t n_scoped, cap_scoped;
    pv_brush paint;
    pv_words seen[2];    /* statements (0) and tolerances (1) met so far */
    uint32_t *seen_line; /* for each word, the line where the statement was first met */
    bool failed;         /* the statement before failed */
    bool mat_missed;     /* that the mat comes first was said */
    pv_place_tokens finish_place;
    pv_place_tokens *seed_places; /* one for each of the course's seeds */
    size_t cap_seed_places;
} pv_parser;

/* ---- tokens ---- */

static inline const pv_token *pv_peek(const pv_parser *p)
{
    return &p->lexed.tokens[p->next];
}
/* Where a token stands. */
static inline pv_source pv_source_of(const pv_parser *p, uint32_t token)
{
    return (pv_source){(int)p->lexed.tokens[token].line, (int)p->lexed.tokens[token].column};
}
/* Past the token; never past the last. */
void pv_advance(pv_parser *p);
bool pv_accept(pv_parser *p, pv_token_kind kind);
bool pv_accept_word(pv_parser *p, pv_word word);
bool pv_at_word(const pv_parser *p, pv_word word);
const char *pv_chars(const pv_parser *p, const pv_token *token);

/* ---- what is wrong ---- */

/* All give false, so that they can be returned. Tokens first .. last are underlined. */
bool pv_wrong(pv_parser *p, uint32_t first, uint32_t last, const char *hint, const char *format,
              ...) __attribute__((format(printf, 5, 6)));
/* The same of the next token; and of all since `first`. */
#define PV_WRONG_HERE(p, hint, ...)         pv_wrong(p, (p)->next, (p)->next, hint, __VA_ARGS__)
#define PV_WRONG_SINCE(p, first, hint, ...) pv_wrong(p, first, (p)->next - 1, hint, __VA_ARGS__)
bool pv_past_limit(pv_parser *p, uint32_t token, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
void pv_warn(pv_parser *p, uint32_t first, uint32_t last, const char *hint, const char *format, ...)
    __attribute__((format(printf, 5, 6)));
bool pv_no_memory(pv_parser *p);
/* Something about bytes of the text, on one line. */
bool pv_report_at(pv_parser *p, pv_severity severity, pv_cause cause, uint32_t line, size_t at,
                  size_t length, const char *hint, const char *message);
/* Something that was reported earlier is in the way. */
bool pv_silent(pv_parser *p);

/* A token's characters as two arguments of "%.*s". */
#define PV_SHOWN(p, token) (int)(token)->length, pv_chars(p, token)

/* The next token is not what it should be: "expected `wanted`, found ...", with the nearest of
 * `words` where it is a word; NULL for `wanted` lists the words. Bad tokens say for themselves what
 * is wrong. */
bool pv_expected(pv_parser *p, const char *wanted, pv_words words);
/* Takes that token or word; false where it isn't the next one (said). */
bool pv_take(pv_parser *p, pv_token_kind kind, const char *wanted);
bool pv_take_word(pv_parser *p, pv_word word);
/* Takes the next token, which must be one of these words. */
bool pv_take_choice(pv_parser *p, pv_words words, pv_word *word);
/* Where the statement ends but the next line reads as its continuation, a comma is missing: the
 * hint that says so, or NULL. */
const char *pv_comma_hint(const pv_parser *p);
/* The nearest of what was offered to the next token: begin with pv_nearest_here, offer, then ask
 * for a hint, which is NULL where nothing is near. */
pv_nearest pv_nearest_here(const pv_parser *p);

/* ---- parts of a statement ---- */

/* Reads what follows a part's word. */
typedef bool pv_part_reader(pv_parser *p, pv_word word, void *into);
/* All parts up to the statement's end, in any order, with or without commas between: words out of
 * `allowed`, each of `once` at most once. *seen gains those that came. */
bool pv_parts(pv_parser *p, pv_words allowed, pv_words once, pv_words *seen, pv_part_reader *read,
              void *into);
/* False, said at the statement's first word, where `needed` are not all in `seen`. */
bool pv_need(pv_parser *p, pv_words needed, pv_words seen);

#endif
