/* The run through a course: statement after statement, repetitions, and on after an error. */
#include "base/memory.h"
#include "course/expression.h"
#include "course/settle.h"
#include "course/statements.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Past an error, to the next statement: after the end of this one, or, where a comma has carried it
 * on by mistake, at a line that begins with a statement's word. `arc` may also go on a path. */
static void recover(pv_parser *p)
{
    const pv_words begins = PV_STATEMENTS & ~PV_W(PV_WORD_ARC);
    while (pv_peek(p)->kind != PV_TOKEN_FILE_END) {
        const pv_token *token = pv_peek(p);
        if (token->first && token->kind == PV_TOKEN_WORD && p->next > p->begin &&
            (begins & PV_W(token->what)) != 0)
            return;
        pv_advance(p);
        if (token->kind == PV_TOKEN_STOP)
            return;
    }
}

/* ---- repetition ---- */

typedef struct repetition {
    uint32_t name; /* number of its variable */
    pv_amount_kind kind;
    double from, step;
    size_t times;
} repetition;

static void set_variable(pv_parser *p, const repetition *r, double value, uint32_t line)
{
    p->names[r->name].value = (pv_amount){r->kind, value, 0};
    p->names[r->name].let_line = line;
}

static bool count_times(pv_parser *p, repetition *r, pv_amount to, uint32_t line_end)
{
    double span = (to.v - r->from) / r->step;
    if (!(span < (double)PV_COURSE_ITEMS_MAX))
        return pv_past_limit(p, p->begin, "this repetition runs more than %u times",
                             PV_COURSE_ITEMS_MAX);
    /* Steps such as 0.1mm must not lose the last turn to rounding. */
    double times = floor(span + 1e-9) + 1;
    r->times = times > 0 ? (size_t)times : 0;
    if (r->times == 0)
        pv_warn(p, p->begin, line_end, "a negative step counts down",
                "this repetition runs no times");
    return true;
}

/* from A to B [step S]: all of one kind, any but points. */
static bool read_range(pv_parser *p, repetition *r)
{
    pv_amount from, to, step = {PV_AMOUNT_NUMBER, 1, 0};
    uint32_t at_from = p->next + 1;
    if (!pv_take_word(p, PV_WORD_FROM))
        return false;
    if (!pv_amount_read(p, &from))
        return false;
    uint32_t from_last = p->next - 1, at_to = p->next + 1;
    if (!pv_take_word(p, PV_WORD_TO))
        return false;
    if (!pv_amount_read(p, &to))
        return false;
    uint32_t at_step = p->next, last = p->next - 1;
    bool stepped = pv_accept_word(p, PV_WORD_STEP);
    if (stepped && !pv_amount_read(p, &step))
        return false;
    if (from.kind == PV_AMOUNT_UNKNOWN || to.kind == PV_AMOUNT_UNKNOWN ||
        step.kind == PV_AMOUNT_UNKNOWN)
        return pv_silent(p);
    if (from.kind == PV_AMOUNT_POINT)
        return pv_wrong(p, at_from, from_last, NULL, "a repetition cannot run over points");
    if (to.kind != from.kind)
        return pv_wrong(p, at_to, last, NULL, "this repetition runs from %s to %s",
                        pv_amount_kind_name(from.kind), pv_amount_kind_name(to.kind));
    if (!stepped && from.kind != PV_AMOUNT_NUMBER)
        return pv_wrong(p, p->begin, last, "add one, such as step 9in",
                        "a repetition over %ss needs a step",
                        pv_amount_kind_name(from.kind) + 2 + (from.kind == PV_AMOUNT_ANGLE));
    if (step.kind != from.kind)
        return pv_wrong(p, at_step, p->next - 1, NULL, "the step is %s, but the range is %s",
                        pv_amount_kind_name(step.kind), pv_amount_kind_name(from.kind));
    if (step.v == 0)
        return pv_wrong(p, at_step, p->next - 1, NULL, "the step is zero");
    r->kind = from.kind;
    r->from = from.v;
    r->step = step.v;
    return count_times(p, r, to, p->next - 1);
}

static bool read_header(pv_parser *p, repetition *r)
{
    const pv_token *name = pv_peek(p);
    if (name->kind != PV_TOKEN_NAME)
        return pv_expected(p, "the name of the repetition's variable", 0);
    if (p->names[name->more].let_line != 0)
        return PV_WRONG_HERE(p, NULL, "\"%.*s\" has a value already", PV_SHOWN(p, name));
    r->name = name->more;
    pv_advance(p);
    return read_range(p, r) && (pv_peek(p)->kind == PV_TOKEN_STOP || pv_take_word(p, PV_WORD_STEP));
}

static void run(pv_parser *p, uint32_t until);

static void forget_scope(pv_parser *p, size_t down_to)
{
    while (p->n_scoped > down_to)
        p->names[p->scoped[--p->n_scoped]].let_line = 0;
}

static bool count_item(pv_parser *p, uint32_t token)
{
    if (++p->items <= PV_COURSE_ITEMS_MAX)
        return true;
    return pv_past_limit(p, token, "the course has more than %u statements, repetitions counted",
                         PV_COURSE_ITEMS_MAX);
}

/* A repetition that is wrong is run once with an unknown variable, so that other errors in it are
 * found as well; one error ends it. */
static bool state_repeat(pv_parser *p)
{
    uint32_t repeat = p->begin, end = p->lexed.tokens[repeat].more;
    uint32_t line = p->lexed.tokens[repeat].line;
    repetition r = {.name = UINT32_MAX, .kind = PV_AMOUNT_UNKNOWN, .times = 1};
    if (p->repeats >= PV_COURSE_REPEAT_MAX)
        return pv_past_limit(p, repeat, "more than %d repetitions within each other",
                             PV_COURSE_REPEAT_MAX);
    if (end == 0)
        pv_wrong(p, repeat, repeat, "write end on a line of its own after its last statement",
                 "this repetition has no end");
    if (!read_header(p, &r)) {
        r.kind = PV_AMOUNT_UNKNOWN;
        r.times = 1;
        recover(p);
    }
    uint32_t body = p->next;
    size_t errors = p->errors, scope = p->n_scoped;
    p->repeats++;
    for (size_t i = 0; i < r.times && p->errors == errors && !p->stopped; i++) {
        if (r.name != UINT32_MAX)
            set_variable(p, &r, r.from + (double)i * r.step, line);
        p->next = body;
        if (count_item(p, repeat))
            run(p, end != 0 ? end : UINT32_MAX);
        forget_scope(p, scope);
    }
    p->repeats--;
    if (r.name != UINT32_MAX)
        p->names[r.name].let_line = 0;
    if (end != 0)
        p->next = end + 1;
    return true;
}

static bool state_end(pv_parser *p)
{
    return pv_wrong(p, p->begin, p->begin, NULL, "there is no repetition to end here");
}

/* ---- statements ---- */

static bool first_of_its_kind(pv_parser *p, pv_word word)
{
    const pv_token *token = pv_peek(p);
    bool seen = (p->seen[0] & PV_W(word)) != 0;
    p->seen[0] |= PV_W(word);
    if (!seen) {
        p->seen_line[word] = token->line;
        return true;
    }
    const pv_statement *statement = pv_statement_of(word);
    if (statement == NULL || !statement->once)
        return true;
    if (p->seen_line[word] == token->line)
        return PV_WRONG_HERE(p, NULL, "%s may stand once only, not in a repetition",
                             pv_word_text(word));
    return PV_WRONG_HERE(p, NULL, "%s may stand once only; the first is in line %u",
                         pv_word_text(word), p->seen_line[word]);
}

static bool unknown_statement(pv_parser *p)
{
    const pv_token *token = pv_peek(p);
    if (token->kind == PV_TOKEN_NAME && token[1].kind == PV_TOKEN_EQUALS) {
        char hint[PV_NAME_MAX + 64];
        snprintf(hint, sizeof hint, "to give a name a value, write let %.*s = ...",
                 PV_SHOWN(p, token));
        return PV_WRONG_HERE(p, hint, "\"%.*s\" begins no statement", PV_SHOWN(p, token));
    }
    if (token->kind == PV_TOKEN_WORD && p->failed)
        return pv_silent(p); /* the rest of a statement that was reported */
    if (token->kind == PV_TOKEN_WORD)
        return pv_wrong(p, p->next, p->next,
                        "to continue the statement above, end its line with a comma",
                        "\"%.*s\" begins no statement", PV_SHOWN(p, token));
    return pv_expected(p, "a statement", PV_STATEMENTS);
}

/* Said once: whatever lies on the mat is checked against its size. */
static void need_mat(pv_parser *p)
{
    if ((p->seen[0] & PV_W(PV_WORD_MAT)) != 0 || p->mat_missed)
        return;
    p->mat_missed = true;
    pv_wrong(p, p->begin, p->begin, "state it above: mat 1200mm by 900mm",
             "the mat's size comes before what lies on it");
}

static bool carry_out(pv_parser *p, pv_word word)
{
    const pv_statement *statement = pv_statement_of(word);
    if (statement == NULL)
        return word == PV_WORD_REPEAT ? state_repeat(p) : state_end(p);
    if (statement->on_mat)
        need_mat(p);
    return statement->read(p);
}

static bool read_statement(pv_parser *p)
{
    const pv_token *token = pv_peek(p);
    pv_word word = (pv_word)token->what;
    if (token->kind != PV_TOKEN_WORD || (PV_STATEMENTS & PV_W(word)) == 0)
        return unknown_statement(p);
    if (!count_item(p, p->next) || !first_of_its_kind(p, word))
        return false;
    pv_advance(p);
    if (!carry_out(p, word))
        return false;
    if (pv_peek(p)->kind == PV_TOKEN_STOP || word == PV_WORD_REPEAT)
        return true;
    return pv_expected(p, "the end of the statement", 0);
}

/* Up to the token `until`, or the end. */
static void run(pv_parser *p, uint32_t until)
{
    while (!p->stopped && p->next < until && pv_peek(p)->kind != PV_TOKEN_FILE_END) {
        p->begin = p->next;
        p->depth = 0;
        if (pv_accept(p, PV_TOKEN_STOP))
            continue;
        bool good = read_statement(p);
        if (!good)
            recover(p);
        p->failed = !good;
    }
}

/* ---- the whole ---- */

/* Names that have a meaning from the start. */
static void name_built_ins(pv_parser *p)
{
    for (size_t i = 0; i < p->lexed.n_names; i++) {
        const char *chars = p->lexed.text + p->lexed.names[i].at;
        size_t length = p->lexed.names[i].length;
        pv_meaning *meaning = &p->names[i];
        if (length == 2 && memcmp(chars, "pi", 2) == 0) {
            meaning->value = (pv_amount){PV_AMOUNT_NUMBER, PV_PI, 0};
            meaning->let_line = PV_BUILT_IN;
        }
        if (length == 5 && (memcmp(chars, "white", 5) == 0 || memcmp(chars, "black", 5) == 0)) {
            meaning->colour = *chars == 'b';
            meaning->colour_line = PV_BUILT_IN;
        }
    }
}

/* A course before its first statement; docs/reference/course-language.md has the defaults. */
static bool begin_course(pv_parser *p, const char *name)
{
    static const uint8_t white[3] = {255, 255, 255}, black[3] = {0, 0, 0};
    pv_course *course = p->course;
    if (!pv_art_open(&course->art))
        return pv_no_memory(p);
    course->art.name = pv_copy_text("Unnamed course");
    course->art.edition = pv_copy_text("1");
    course->art.tolerances = (pv_tolerances){.scale = 0.003,
                                             .width = 0.5,
                                             .spacing = 1.0,
                                             .skew = 3.0,
                                             .straight = 1.0,
                                             .contrast = 0.25,
                                             .spot = 3.0};
    p->paint = (pv_brush){.width = 20, .colour = 1, .ends = PV_ENDS_FLAT};
    if (name != NULL)
        course->file = pv_copy_text(name);
    p->names = PV_NEW_ARRAY(p->lexed.n_names, pv_meaning);
    p->seen_line = PV_NEW_ARRAY(PV_WORD_COUNT, uint32_t);
    if (course->art.name == NULL || course->art.edition == NULL ||
        (name != NULL && course->file == NULL) || p->names == NULL || p->seen_line == NULL)
        return pv_no_memory(p);
    name_built_ins(p);
    return pv_colour_add(p, "white", 5, white) && pv_colour_add(p, "black", 5, black);
}

static void parse(pv_parser *p, const char *text, size_t length, const char *name)
{
    if (length > PV_COURSE_BYTES_MAX) {
        pv_place place = {.file = name};
        pv_diags_add(p->diags, PV_ERROR, PV_CAUSE_LIMIT, &place, NULL,
                     "a course has at most %u bytes, this has %zu", PV_COURSE_BYTES_MAX, length);
        p->errors++;
        return;
    }
    p->course = PV_NEW(pv_course);
    if (p->course == NULL || !pv_lex(&p->lexed, text, length)) {
        pv_no_memory(p);
        return;
    }
    if (length >= 2 && (memcmp(text, "\xFF\xFE", 2) == 0 || memcmp(text, "\xFE\xFF", 2) == 0)) {
        pv_wrong(p, 0, 0, "save the file as UTF-8", "this text is UTF-16");
        return;
    }
    if (!begin_course(p, name))
        return;
    run(p, UINT32_MAX);
    if (!p->stopped)
        pv_settle(p);
}

pv_course *pv_course_parse(const char *text, size_t length, const char *name, pv_type *type,
                           pv_diags *diags)
{
    pv_diags *own = NULL;
    if (diags == NULL && (diags = own = pv_diags_new()) == NULL)
        return NULL;
    pv_parser p = {.diags = diags, .file = name, .type = type};
    size_t before = pv_diags_count(diags, PV_ERROR);
    parse(&p, text, length, name);
    pv_course *course = p.course;
    if (course != NULL)
        course->type = type;
    /* A warning that found no memory counts as an error, too. */
    if (p.errors > 0 || pv_diags_count(diags, PV_ERROR) > before) {
        pv_course_free(course);
        course = NULL;
    }
    pv_lex_clear(&p.lexed);
    free(p.names);
    free(p.scoped);
    free(p.seen_line);
    free(p.seed_places);
    pv_diags_free(own);
    return course;
}
