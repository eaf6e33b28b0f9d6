/* Inside of the parser: what its files share. A statement is carried out as it is read; a
 * repetition reads its statements again and again. */
#ifndef COURSE_PARSE_H
#define COURSE_PARSE_H

#include "course/lex.h"
#include "course/model.h"

typedef enum pv_kind {
    PV_KIND_UNKNOWN, /* hangs on something that is wrong and was reported: pass it on silently */
    PV_KIND_NUMBER,
    PV_KIND_LENGTH, /* mm */
    PV_KIND_ANGLE,  /* radians */
    PV_KIND_POINT   /* mm */
} pv_kind;

typedef struct pv_amount {
    pv_kind kind;
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

/* --- parse.c: tokens and findings ---------------------------------------------------------- */

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

/* All give false, so that they can be returned. Tokens first .. last are underlined. */
bool pv_wrong(pv_parser *p, uint32_t first, uint32_t last, const char *hint, const char *format,
              ...) __attribute__((format(printf, 5, 6)));
bool pv_past_limit(pv_parser *p, uint32_t token, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
void pv_warn(pv_parser *p, uint32_t first, uint32_t last, const char *hint, const char *format, ...)
    __attribute__((format(printf, 5, 6)));
bool pv_no_memory(pv_parser *p);
/* A finding about bytes of the text, on one line. */
bool pv_report_at(pv_parser *p, pv_severity severity, pv_cause cause, uint32_t line, size_t at,
                  size_t length, const char *hint, const char *message);
/* Something that was reported earlier is in the way. */
bool pv_silent(pv_parser *p);
/* The next token is not what it should be: "expected `wanted`, found ...", with the nearest of
 * `words` where it is a word. Bad tokens say for themselves what is wrong. */
bool pv_expected(pv_parser *p, const char *wanted, pv_words words);
/* That one word. */
bool pv_expected_word(pv_parser *p, pv_word word);
/* The statement stops here, but the next line goes on as if it didn't: a comma is missing. The hint
 * for it, or NULL. */
const char *pv_comma_hint(const pv_parser *p);

/* The next of several parts of a statement: skips commas, takes a word out of `allowed`. At the end
 * of the statement *word is PV_WORD_COUNT. A word of `once` may come once only: *seen remembers. */
bool pv_part(pv_parser *p, pv_words allowed, pv_words once, pv_words *seen, pv_word *word);
/* False, said at the statement's first word, where `needed` are not all in `seen`. */
bool pv_need(pv_parser *p, pv_words needed, pv_words seen);

/* --- parse_expression.c: quantities -------------------------------------------------------- */

bool pv_amount_read(pv_parser *p, pv_amount *out);
/* False, said of the tokens from `first` on, where the quantity is not finite. */
bool pv_finite(pv_parser *p, uint32_t first, const pv_amount *q);
/* With the kind asked for; false silently where it is unknown. */
bool pv_number_read(pv_parser *p, double *out);
bool pv_length_read(pv_parser *p, double *out);
bool pv_angle_read(pv_parser *p, double *out);
bool pv_point_read(pv_parser *p, pv_vec *out);
/* A length of at least `least`, at most PV_COURSE_SIDE_MAX; `what` names it: "a width". */
bool pv_size_read(pv_parser *p, const char *what, double least, double *out);
const char *pv_kind_name(pv_kind kind); /* "a length" */
/* A number for people: without what rounding left of a nearby shorter one; whatever the locale is.
 */
#define PV_SAID_NUMBER 32
const char *pv_say_number(double value, char out[PV_SAID_NUMBER]);

/* --- parse_functions.c --------------------------------------------------------------------- */

/* NAME(QUANTITY, ...), the name being next and a bracket behind it. */
bool pv_call_read(pv_parser *p, pv_amount *out);

/* --- parse_text.c -------------------------------------------------------------------------- */

/* A quoted text with its expressions put in: characters that can be set only, 1 to
 * PV_COURSE_TEXT_MAX of them. The caller frees *out. */
bool pv_quoted_read(pv_parser *p, const char *what, char **out);

/* --- parse_setup.c: what stands once ------------------------------------------------------- */

bool pv_state_course(pv_parser *p);
bool pv_state_mat(pv_parser *p);
bool pv_state_colour(pv_parser *p);
bool pv_state_tolerance(pv_parser *p);
bool pv_state_paint(pv_parser *p);
bool pv_state_robot(pv_parser *p);
bool pv_state_let(pv_parser *p);
/* The words that say how a line is painted. */
#define PV_PAINT (PV_W(PV_WORD_WIDTH) | PV_W(PV_WORD_COLOUR) | PV_W(PV_WORD_ENDS))
bool pv_brush_read(pv_parser *p, pv_word word, pv_brush *paint);
bool pv_ends_read(pv_parser *p, pv_ends *ends);
/* After `colour` or `ground`: the name of a colour that there is. */
bool pv_colour_read(pv_parser *p, size_t *colour);
bool pv_colour_add(pv_parser *p, const char *name, size_t length, const uint8_t rgb[3]);

/* --- parse_path.c: straight pieces and arcs ------------------------------------------------ */

typedef struct pv_path {
    pv_piece *pieces;
    size_t n, cap;
    bool begun, headed; /* it has a place; it has a heading */
    bool closed;
    uint32_t turn, turn_last; /* tokens of a turn on the spot that nothing has used yet, or 0 */
    pv_vec at;
    double heading;
} pv_path;

/* The words that begin a leg. */
#define PV_LEGS                                                                                    \
    (PV_W(PV_WORD_FROM) | PV_W(PV_WORD_TO) | PV_W(PV_WORD_BY) | PV_W(PV_WORD_AHEAD) |              \
     PV_W(PV_WORD_LEFT) | PV_W(PV_WORD_RIGHT) | PV_W(PV_WORD_ARC) | PV_W(PV_WORD_CLOSE))

/* One leg, its word being read already. */
bool pv_leg_read(pv_parser *p, pv_path *path, pv_word word);
/* At the end of the statement: is the path whole? */
bool pv_path_end(pv_parser *p, pv_path *path);
/* What `arc` and `circle` say of themselves. */
typedef struct pv_arc_words {
    pv_words seen;
    pv_vec centre;
    double radius, from, sweep;
} pv_arc_words;
bool pv_arc_word_read(pv_parser *p, pv_arc_words *arc, pv_word word);
/* Adds a piece, within the limits. */
bool pv_path_add(pv_parser *p, pv_path *path, pv_piece piece);
bool pv_point_in_reach(pv_parser *p, pv_vec at, uint32_t first, uint32_t last);

/* --- parse_items.c: what lies on the mat --------------------------------------------------- */

bool pv_state_line(pv_parser *p);
bool pv_state_arc(pv_parser *p);
bool pv_state_circle(pv_parser *p);
bool pv_state_box(pv_parser *p);
bool pv_state_fill(pv_parser *p);
bool pv_state_text(pv_parser *p);
bool pv_state_start(pv_parser *p);
bool pv_state_finish(pv_parser *p);
bool pv_state_route(pv_parser *p);

/* --- parse_settle.c: after the last statement ---------------------------------------------- */

/* Regions of fills and finish, and what only the whole can tell. */
void pv_settle(pv_parser *p);

#endif
