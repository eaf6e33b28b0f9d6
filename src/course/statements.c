#include "course/statements.h"

#include "base/memory.h"
#include "base/text.h"
#include "course/expression.h"
#include "course/path.h"
#include "course/quoted.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- course ---- */

static bool state_course(pv_parser *p)
{
    char *name = NULL, *edition = NULL;
    pv_art *art = &p->course->art;
    uint32_t first = p->next;
    bool good = pv_quoted_read(p, "the course's name in quotes", &name);
    if (good && name[strspn(name, " ")] == '\0')
        good = PV_WRONG_SINCE(p, first, NULL, "this name has only spaces");
    if (good && pv_accept_word(p, PV_WORD_EDITION))
        good = pv_quoted_read(p, "the edition in quotes", &edition);
    if (good) {
        char *old[2] = {art->name, edition != NULL ? art->edition : NULL};
        art->name = name;
        art->edition = edition != NULL ? edition : art->edition;
        name = old[0];
        edition = old[1];
    }
    free(name);
    free(edition);
    return good && (pv_peek(p)->kind == PV_TOKEN_STOP ||
                    pv_expected(p, "\"edition\" or the end of the line", PV_W(PV_WORD_EDITION)));
}

/* ---- colours ---- */

bool pv_colour_add(pv_parser *p, const char *name, size_t length, const uint8_t rgb[3])
{
    pv_art *art = &p->course->art;
    char *copy = pv_copy_chars(name, length);
    if (copy == NULL || !PV_GROW(art->colours, art->n_colours, art->cap_colours)) {
        free(copy);
        return pv_no_memory(p);
    }
    art->colours[art->n_colours++] = (pv_colour){.name = copy, .rgb = {rgb[0], rgb[1], rgb[2]}};
    return true;
}

static bool read_colour(pv_parser *p, size_t *colour)
{
    const pv_token *token = pv_peek(p);
    if (token->kind != PV_TOKEN_NAME)
        return pv_expected(p, "the name of a colour", 0);
    const pv_meaning *meaning = &p->names[token->more];
    if (meaning->colour_line != 0 && meaning->colour == SIZE_MAX)
        return pv_silent(p);
    *colour = meaning->colour;
    if (meaning->colour_line != 0) {
        pv_advance(p);
        return true;
    }
    pv_nearest nearest = pv_nearest_here(p);
    for (size_t i = 0; i < p->course->art.n_colours; i++)
        pv_nearest_offer(&nearest, p->course->art.colours[i].name,
                         strlen(p->course->art.colours[i].name));
    const char *hint = pv_nearest_hint(&nearest);
    return PV_WRONG_HERE(p, hint != NULL ? hint : "name it first: colour NAME = rgb(31, 90, 160)",
                         "no colour is named \"%.*s\"", PV_SHOWN(p, token));
}

static bool read_code(pv_parser *p, uint8_t *code)
{
    double value;
    uint32_t first = p->next;
    if (!pv_number_read(p, &value))
        return false;
    if (value < 0 || value > 255 || value != floor(value))
        return PV_WRONG_SINCE(p, first, NULL, "a colour's code is a whole number from 0 to 255");
    *code = (uint8_t)value;
    return true;
}

/* rgb(R, G, B) or grey(V), sRGB codes. */
static bool read_codes(pv_parser *p, int n, uint8_t rgb[3])
{
    if (!pv_take(p, PV_TOKEN_OPEN, "("))
        return false;
    for (int i = 0; i < n; i++) {
        if (i > 0 && !pv_accept(p, PV_TOKEN_COMMA))
            return pv_expected(p, "a comma and the next of three codes", 0);
        if (!read_code(p, &rgb[i]))
            return false;
    }
    if (!pv_take(p, PV_TOKEN_CLOSE, ")"))
        return false;
    if (n == 1)
        rgb[1] = rgb[2] = rgb[0];
    return true;
}

static int hex_digit(char c)
{
    if (c >= '0' && c <= '9')
        return c - '0';
    if (c >= 'a' && c <= 'f')
        return c - 'a' + 10;
    return c >= 'A' && c <= 'F' ? c - 'A' + 10 : -1;
}

/* hex "1f5aa0", with or without a # before the digits. */
static bool read_hex(pv_parser *p, uint8_t rgb[3])
{
    char *text;
    uint32_t first = p->next;
    if (!pv_quoted_read(p, "six digits in quotes", &text))
        return false;
    const char *digits = text + (*text == '#');
    bool good = strlen(digits) == 6;
    for (size_t i = 0; good && i < 3; i++) {
        int high = hex_digit(digits[2 * i]), low = hex_digit(digits[2 * i + 1]);
        good = high >= 0 && low >= 0;
        rgb[i] = good ? (uint8_t)(high * 16 + low) : 0;
    }
    free(text);
    if (good)
        return true;
    return PV_WRONG_SINCE(p, first, "such as hex \"1f5aa0\"",
                          "a colour in hexadecimal has six digits, 0 to 9 and a to f");
}

static bool read_colour_value(pv_parser *p, uint8_t rgb[3])
{
    pv_word word;
    if (!pv_take_choice(p, PV_W(PV_WORD_RGB) | PV_W(PV_WORD_GREY) | PV_W(PV_WORD_HEX), &word))
        return false;
    return word == PV_WORD_HEX ? read_hex(p, rgb) : read_codes(p, word == PV_WORD_RGB ? 3 : 1, rgb);
}

/* "in line 3", or that it is so from the start */
static const char *said_where(uint32_t line, char *out, size_t size)
{
    if (line == PV_BUILT_IN)
        snprintf(out, size, "from the start");
    else
        snprintf(out, size, "in line %u", line);
    return out;
}

static bool state_colour(pv_parser *p)
{
    const pv_token *name = pv_peek(p);
    uint8_t rgb[3] = {0};
    char where[32];
    if (name->kind != PV_TOKEN_NAME)
        return pv_expected(p, "a name for the colour", 0);
    pv_meaning *meaning = &p->names[name->more];
    if (meaning->colour_line != 0)
        return PV_WRONG_HERE(p, NULL, "the colour \"%.*s\" is named already, %s", PV_SHOWN(p, name),
                             said_where(meaning->colour_line, where, sizeof where));
    meaning->colour_line = name->line;
    meaning->colour = SIZE_MAX;
    pv_advance(p);
    if (!pv_take(p, PV_TOKEN_EQUALS, "="))
        return false;
    if (!read_colour_value(p, rgb) || !pv_colour_add(p, pv_chars(p, name), name->length, rgb))
        return false;
    meaning->colour = p->course->art.n_colours - 1;
    return true;
}

/* ---- mat ---- */

static bool read_ground(pv_parser *p, pv_word word, void *into)
{
    (void)word;
    return read_colour(p, into);
}

/* How many more of these tokens are inches and feet than are mm, cm and m. */
static int count_inches(const pv_parser *p, uint32_t from, uint32_t to)
{
    int more = 0;
    for (uint32_t i = from; i < to; i++) {
        const pv_token *token = &p->lexed.tokens[i];
        bool angle = true;
        double factor = 0;
        if (token->kind == PV_TOKEN_UNIT &&
            pv_unit_find(pv_chars(p, token), token->length, &angle, &factor) && !angle)
            more += factor == PV_MM_PER_IN || factor == PV_MM_PER_FT ? 1 : -1;
    }
    return more;
}

/* The mat's sides tell in what unit people think of the course; where they are given by names
 * alone, the whole course. */
static bool state_mat(pv_parser *p)
{
    pv_art *art = &p->course->art;
    pv_words seen = 0, ground = PV_W(PV_WORD_GROUND);
    uint32_t first = p->next;
    if (!pv_size_read(p, "a side of the mat", PV_COURSE_SIDE_MIN, &art->size.x) ||
        !pv_take_word(p, PV_WORD_BY) ||
        !pv_size_read(p, "a side of the mat", PV_COURSE_SIDE_MIN, &art->size.y))
        return false;
    int more = count_inches(p, first, p->next);
    art->inches = more > 0 || (more == 0 && count_inches(p, 0, (uint32_t)p->lexed.n_tokens) > 0);
    return pv_parts(p, ground, ground, &seen, read_ground, &art->ground);
}

/* ---- tolerances ---- */

static bool tolerance_in_bounds(pv_parser *p, pv_word word, double value, uint32_t first)
{
    if (!(value >= PV_TOLERANCE_LEAST))
        return PV_WRONG_SINCE(p, first, NULL, "a tolerance must be more than zero");
    if (word == PV_WORD_CONTRAST && !(value >= PV_MARK_CONTRAST_MIN && value <= 1))
        return PV_WRONG_SINCE(p, first, NULL, "a tolerance of contrast is from %.0f to 100 %%",
                              100 * PV_MARK_CONTRAST_MIN);
    if (word == PV_WORD_SPOT && !(value >= PV_SPOT_MIN && value <= PV_SPOT_MAX))
        return PV_WRONG_SINCE(p, first, NULL, "a sensor's spot is from %.0f to %.0f mm",
                              PV_SPOT_MIN, PV_SPOT_MAX);
    if (word == PV_WORD_SCALE && value > 0.1)
        return PV_WRONG_SINCE(p, first, NULL, "a tolerance of the scale is at most 10 %%");
    if (word == PV_WORD_SKEW && value > 1000)
        return PV_WRONG_SINCE(p, first, NULL, "a tolerance of the skew is at most 1 rad");
    return value <= PV_COURSE_SIDE_MAX ||
           PV_WRONG_SINCE(p, first, NULL, "a tolerance is at most %.0f m",
                          PV_COURSE_SIDE_MAX / 1000);
}

static bool read_tolerance(pv_parser *p, pv_word word, void *into)
{
    pv_tolerances *t = into;
    uint32_t first = p->next;
    double value = 0, *to = word == PV_WORD_SCALE      ? &t->scale
                            : word == PV_WORD_WIDTH    ? &t->width
                            : word == PV_WORD_SPACING  ? &t->spacing
                            : word == PV_WORD_SKEW     ? &t->skew
                            : word == PV_WORD_CONTRAST ? &t->contrast
                            : word == PV_WORD_SPOT     ? &t->spot
                                                       : &t->straight;
    if (word == PV_WORD_SCALE || word == PV_WORD_CONTRAST) {
        const char *percent = word == PV_WORD_SCALE
                                  ? "% (the tolerance of the scale is in per cent)"
                                  : "% (the tolerance of contrast is in per cent)";
        if (!pv_number_read(p, &value) || !pv_take(p, PV_TOKEN_PERCENT, percent))
            return false;
        value /= 100;
    } else if (word == PV_WORD_SKEW) {
        if (!pv_angle_read(p, &value))
            return false;
        value *= 1000;
    } else if (!pv_length_read(p, &value)) {
        return false;
    }
    if (!tolerance_in_bounds(p, word, value, first))
        return false;
    *to = value;
    return true;
}

/* A statement that is nothing but its parts has at least one. */
static bool read_some(pv_parser *p, pv_words words, pv_words *seen, pv_part_reader *read,
                      void *into)
{
    if (pv_peek(p)->kind == PV_TOKEN_STOP)
        return pv_expected(p, NULL, words);
    return pv_parts(p, words, words, seen, read, into);
}

static bool state_tolerance(pv_parser *p)
{
    const pv_words words = PV_W(PV_WORD_SCALE) | PV_W(PV_WORD_WIDTH) | PV_W(PV_WORD_SPACING) |
                           PV_W(PV_WORD_STRAIGHTNESS) | PV_W(PV_WORD_SKEW) |
                           PV_W(PV_WORD_CONTRAST) | PV_W(PV_WORD_SPOT);
    return read_some(p, words, &p->seen[1], read_tolerance, &p->course->art.tolerances);
}

/* ---- paint ---- */

/* The words that say how a line is painted. */
#define PAINT (PV_W(PV_WORD_WIDTH) | PV_W(PV_WORD_COLOUR) | PV_W(PV_WORD_ENDS))

static bool read_ends(pv_parser *p, pv_ends *ends)
{
    pv_word word;
    if (!pv_take_choice(p, PV_W(PV_WORD_FLAT) | PV_W(PV_WORD_SQUARE) | PV_W(PV_WORD_ROUND), &word))
        return false;
    *ends = word == PV_WORD_FLAT     ? PV_ENDS_FLAT
            : word == PV_WORD_SQUARE ? PV_ENDS_SQUARE
                                     : PV_ENDS_ROUND;
    return true;
}

static bool read_paint(pv_parser *p, pv_word word, void *into)
{
    pv_brush *paint = into;
    if (word == PV_WORD_WIDTH)
        return pv_size_read(p, "a line's width", PV_COURSE_WIDTH_MIN, &paint->width);
    return word == PV_WORD_COLOUR ? read_colour(p, &paint->colour) : read_ends(p, &paint->ends);
}

static bool state_paint(pv_parser *p)
{
    pv_words seen = 0;
    return read_some(p, PAINT, &seen, read_paint, &p->paint);
}

/* ---- robot ---- */

static bool read_pivot(pv_parser *p, pv_word word, void *into)
{
    (void)word;
    pv_robot *robot = into;
    char length[PV_SAID_NUMBER];
    uint32_t first = p->next;
    if (!pv_length_read(p, &robot->pivot))
        return false;
    return (robot->pivot >= 0 && robot->pivot <= robot->length) ||
           PV_WRONG_SINCE(p, first, NULL,
                          "the pivot must lie within the robot, 0 to %s mm from its rear end",
                          pv_say_number(robot->length, length));
}

static bool state_robot(pv_parser *p)
{
    pv_robot robot = {.given = true};
    pv_words seen = 0, pivot = PV_W(PV_WORD_PIVOT);
    if (!pv_size_read(p, "the robot's length", 1, &robot.length) || !pv_take_word(p, PV_WORD_BY) ||
        !pv_size_read(p, "the robot's width", 1, &robot.width))
        return false;
    robot.pivot = robot.length / 2;
    if (!pv_parts(p, pivot, pivot, &seen, read_pivot, &robot))
        return false;
    p->course->robot = robot;
    return true;
}

/* ---- let ---- */

/* The name counts as given even where its value is wrong, so that its uses are no errors. */
static bool state_let(pv_parser *p)
{
    const pv_token *name = pv_peek(p);
    char where[32];
    if (name->kind == PV_TOKEN_WORD || name->kind == PV_TOKEN_UNIT)
        return PV_WRONG_HERE(p, "choose another name",
                             "\"%.*s\" has a meaning of its own in the language",
                             PV_SHOWN(p, name));
    if (name->kind != PV_TOKEN_NAME)
        return pv_expected(p, "a name", 0);
    pv_meaning *meaning = &p->names[name->more];
    if (meaning->let_line != 0)
        return PV_WRONG_HERE(p, NULL, "\"%.*s\" has a value already, %s", PV_SHOWN(p, name),
                             said_where(meaning->let_line, where, sizeof where));
    pv_advance(p);
    pv_amount value = {PV_AMOUNT_UNKNOWN, 0, 0};
    bool good = pv_accept(p, PV_TOKEN_EQUALS) ? pv_amount_read(p, &value) : pv_expected(p, "=", 0);
    if (p->repeats > 0) {
        if (!PV_GROW(p->scoped, p->n_scoped, p->cap_scoped))
            return pv_no_memory(p);
        p->scoped[p->n_scoped++] = name->more;
    }
    meaning->let_line = name->line;
    meaning->value = good ? value : (pv_amount){PV_AMOUNT_UNKNOWN, 0, 0};
    return good;
}

/* ---- on the mat ---- */

/* A mat of unknown size holds every point. */
static bool is_on_mat(const pv_parser *p, pv_vec at)
{
    pv_vec size = p->course->art.size;
    return !(size.x > 0 && size.y > 0) || pv_box_holds((pv_box){{0, 0}, size}, at);
}

static bool read_mat_point(pv_parser *p, pv_vec *at)
{
    uint32_t first = p->next;
    pv_vec size = p->course->art.size;
    char width[PV_SAID_NUMBER], height[PV_SAID_NUMBER];
    if (!pv_point_read(p, at))
        return false;
    return is_on_mat(p, *at) ||
           PV_WRONG_SINCE(p, first, NULL, "this point lies off the mat of %s by %s mm",
                          pv_say_number(size.x, width), pv_say_number(size.y, height));
}

/* ---- ids of lines ---- */

/* L1, L2 ... are given to lines without name. */
static bool is_automatic(const char *chars, size_t length)
{
    bool digits = length > 1 && chars[0] == 'L';
    for (size_t i = 1; i < length; i++)
        digits = digits && chars[i] >= '0' && chars[i] <= '9';
    return digits;
}

/* A misspelt word where a name may stand is taken for one; what follows it tells. */
static bool misspelt(pv_parser *p, const pv_token *token)
{
    pv_token_kind after = (pv_token_kind)token[1].kind;
    if (after == PV_TOKEN_WORD || after == PV_TOKEN_COMMA || after == PV_TOKEN_STOP ||
        after == PV_TOKEN_BAD)
        return false;
    pv_nearest nearest = pv_nearest_here(p);
    pv_nearest_offer_words(&nearest, PAINT | PV_LEGS | PV_W(PV_WORD_CENTRE) | PV_W(PV_WORD_RADIUS) |
                                         PV_W(PV_WORD_SWEEP));
    const char *hint = pv_nearest_hint(&nearest);
    if (hint == NULL)
        return false;
    PV_WRONG_HERE(p, hint, "\"%.*s\" is no word of this statement", PV_SHOWN(p, token));
    return true;
}

/* *name is NULL where the line has none. */
static bool read_line_name(pv_parser *p, const pv_token **name)
{
    const pv_token *token = pv_peek(p);
    *name = token->kind == PV_TOKEN_NAME ? token : NULL;
    if (*name == NULL)
        return true;
    if (misspelt(p, token))
        return false;
    if (is_automatic(pv_chars(p, token), token->length))
        return PV_WRONG_HERE(p, "choose another name",
                             "L1, L2 and so on are given to lines without a name");
    pv_meaning *meaning = &p->names[token->more];
    if (meaning->id_line != 0 && meaning->id_token != p->begin)
        return PV_WRONG_HERE(p, NULL, "a line is named \"%.*s\" already, in line %u",
                             PV_SHOWN(p, token), meaning->id_line);
    meaning->id_line = token->line;
    meaning->id_token = p->begin;
    meaning->id_count++;
    pv_advance(p);
    return true;
}

static char *line_id(pv_parser *p, const pv_token *name)
{
    pv_text id = PV_TEXT_INIT;
    if (name == NULL) {
        pv_text_add(&id, "L%u", ++p->unnamed);
        return pv_text_take(&id);
    }
    pv_text_bytes(&id, pv_chars(p, name), name->length);
    if (p->repeats > 0)
        pv_text_add(&id, "-%u", p->names[name->more].id_count);
    return pv_text_take(&id);
}

/* ---- lines ---- */

/* A line, arc, circle or box while its statement is read. */
typedef struct drawn {
    pv_words seen;
    pv_brush paint;
    pv_path path;
    pv_arc_words arc;
    pv_vec from, other; /* of a box */
} drawn;

static bool lies_off(pv_parser *p, const pv_line *line)
{
    pv_vec size = p->course->art.size;
    if (!(size.x > 0 && size.y > 0) || pv_box_meets(pv_line_box(line), (pv_box){{0, 0}, size}))
        return false;
    pv_wrong(p, p->begin, p->begin, NULL, "this line lies wholly off the mat");
    return true;
}

/* The path becomes a line of the art; its pieces are taken over, or freed where it fails. */
static bool add_line(pv_parser *p, const pv_token *name, drawn *d)
{
    pv_art *art = &p->course->art;
    pv_path *path = &d->path;
    if (path->closed && (d->seen & PV_W(PV_WORD_ENDS)) != 0) {
        free(path->pieces);
        return pv_wrong(p, p->begin, p->begin, "leave out ends", "a closed line has no ends");
    }
    const pv_piece *first = &path->pieces[0], *last = &path->pieces[path->n - 1];
    if (!path->closed && pv_dist(first->a, last->b) <= PV_TOUCH)
        pv_warn(p, p->begin, p->begin, "to join its two ends in a corner, end it with close",
                "this line ends where it begins, but is not closed");
    pv_line line = {.id = line_id(p, name),
                    .pieces = path->pieces,
                    .n_pieces = path->n,
                    .closed = path->closed,
                    .width = d->paint.width,
                    .colour = d->paint.colour,
                    .ends = d->paint.ends,
                    .source = pv_source_of(p, p->begin)};
    if (line.id == NULL || !PV_GROW(art->lines, art->n_lines, art->cap_lines)) {
        free(line.id);
        free(line.pieces);
        return pv_no_memory(p);
    }
    art->lines[art->n_lines++] = line;
    return !lies_off(p, &line);
}

/* A name, then parts; then what they make, and the line. */
static bool draw(pv_parser *p, drawn *d, pv_words words, pv_words once, pv_part_reader *read,
                 bool (*finish)(pv_parser *p, drawn *d))
{
    const pv_token *name;
    d->paint = p->paint;
    if (read_line_name(p, &name) && pv_parts(p, words | PAINT, once | PAINT, &d->seen, read, d) &&
        finish(p, d))
        return add_line(p, name, d);
    free(d->path.pieces);
    return false;
}

static bool read_line_part(pv_parser *p, pv_word word, void *into)
{
    drawn *d = into;
    return (PAINT & PV_W(word)) != 0 ? read_paint(p, word, &d->paint)
                                     : pv_leg_read(p, &d->path, word);
}

static bool finish_line(pv_parser *p, drawn *d)
{
    return pv_path_end(p, &d->path);
}

static bool state_line(pv_parser *p)
{
    drawn d = {0};
    return draw(p, &d, PV_LEGS, 0, read_line_part, finish_line);
}

static bool read_round_part(pv_parser *p, pv_word word, void *into)
{
    drawn *d = into;
    return (PAINT & PV_W(word)) != 0 ? read_paint(p, word, &d->paint)
                                     : pv_arc_word_read(p, &d->arc, word);
}

#define CIRCLE (PV_W(PV_WORD_CENTRE) | PV_W(PV_WORD_RADIUS))
#define ARC    (CIRCLE | PV_W(PV_WORD_FROM) | PV_W(PV_WORD_SWEEP))

static bool finish_round(pv_parser *p, drawn *d)
{
    const pv_arc_words *arc = &d->arc;
    pv_words needed = p->lexed.tokens[p->begin].what == PV_WORD_ARC ? ARC : CIRCLE;
    if (!pv_need(p, needed, d->seen) || !pv_arc_has_length(p, arc, p->begin) ||
        !pv_path_add(p, &d->path, pv_arc(arc->centre, arc->radius, arc->from, arc->sweep)))
        return false;
    d->path.closed = fabs(arc->sweep) >= 2 * PV_PI * (1 - 1e-12);
    if (d->path.closed)
        d->path.pieces[0].b = d->path.pieces[0].a;
    return true;
}

static bool state_arc(pv_parser *p)
{
    drawn d = {0};
    return draw(p, &d, ARC, ARC, read_round_part, finish_round);
}

static bool state_circle(pv_parser *p)
{
    drawn d = {.arc.sweep = 2 * PV_PI};
    return draw(p, &d, CIRCLE, CIRCLE, read_round_part, finish_round);
}

#define OTHER_CORNER (PV_W(PV_WORD_TO) | PV_W(PV_WORD_BY))

static bool read_box_part(pv_parser *p, pv_word word, void *into)
{
    drawn *d = into;
    if ((PAINT & PV_W(word)) != 0)
        return read_paint(p, word, &d->paint);
    if ((OTHER_CORNER & PV_W(word)) != 0 && (d->seen & OTHER_CORNER) == OTHER_CORNER)
        return pv_wrong(p, p->next - 1, p->next - 1, NULL, "a box has to or by, not both");
    return pv_point_read(p, word == PV_WORD_FROM ? &d->from : &d->other);
}

static bool finish_box(pv_parser *p, drawn *d)
{
    pv_vec a = d->from, c = d->other;
    if (!pv_need(p, PV_W(PV_WORD_FROM), d->seen))
        return false;
    if ((d->seen & OTHER_CORNER) == 0)
        return pv_need(p, PV_W(PV_WORD_TO), d->seen);
    if ((d->seen & PV_W(PV_WORD_BY)) != 0)
        c = pv_add(a, c);
    if (fabs(c.x - a.x) <= PV_TOUCH || fabs(c.y - a.y) <= PV_TOUCH)
        return PV_WRONG_SINCE(p, p->begin, NULL,
                              "the two corners of a box must differ in both coordinates");
    pv_vec lo = pv_v(fmin(a.x, c.x), fmin(a.y, c.y)), hi = pv_v(fmax(a.x, c.x), fmax(a.y, c.y));
    pv_vec corner[4] = {lo, pv_v(hi.x, lo.y), hi, pv_v(lo.x, hi.y)};
    d->path.closed = true;
    for (int i = 0; i < 4; i++)
        if (!pv_path_add(p, &d->path, pv_segment(corner[i], corner[(i + 1) % 4])))
            return false;
    return true;
}

static bool state_box(pv_parser *p)
{
    drawn d = {0};
    const pv_words words = PV_W(PV_WORD_FROM) | OTHER_CORNER;
    return draw(p, &d, words, words, read_box_part, finish_box);
}

/* ---- fills ---- */

typedef struct filling {
    pv_place_tokens place;
    pv_vec at;
    size_t colour;
} filling;

/* The seed and its fill, whose outline comes when all lines are known. */
static bool add_fill(pv_parser *p, const filling *f)
{
    pv_course *course = p->course;
    pv_art *art = &course->art;
    pv_text id = PV_TEXT_INIT;
    pv_text_add(&id, "fill-%zu", course->n_seeds + 1);
    pv_area area = {.id = pv_text_take(&id), .colour = f->colour};
    if (area.id == NULL || !PV_GROW(course->seeds, course->n_seeds, course->cap_seeds) ||
        !PV_GROW(p->seed_places, course->n_seeds, p->cap_seed_places) ||
        !PV_GROW(art->fills, art->n_fills, art->cap_fills)) {
        free(area.id);
        return pv_no_memory(p);
    }
    p->seed_places[course->n_seeds] = f->place;
    course->seeds[course->n_seeds++] =
        (pv_fill_seed){.at = f->at, .source = pv_source_of(p, f->place.first)};
    art->fills[art->n_fills++] = area;
    return true;
}

static bool read_fill_part(pv_parser *p, pv_word word, void *into)
{
    filling *f = into;
    if (word == PV_WORD_COLOUR)
        return read_colour(p, &f->colour);
    f->place.first = p->next;
    bool good = read_mat_point(p, &f->at);
    f->place.last = p->next - 1;
    return good;
}

static bool state_fill(pv_parser *p)
{
    const pv_words words = PV_W(PV_WORD_AT) | PV_W(PV_WORD_COLOUR);
    filling f = {0};
    pv_words seen = 0;
    return pv_parts(p, words, words, &seen, read_fill_part, &f) && pv_need(p, words, seen) &&
           add_fill(p, &f);
}

/* ---- texts ---- */

static bool read_anchor(pv_parser *p, pv_anchor *anchor)
{
    pv_word word;
    if (!pv_take_choice(p, PV_W(PV_WORD_LEFT) | PV_W(PV_WORD_CENTRE) | PV_W(PV_WORD_RIGHT), &word))
        return false;
    *anchor = word == PV_WORD_LEFT     ? PV_ANCHOR_LEFT
              : word == PV_WORD_CENTRE ? PV_ANCHOR_CENTRE
                                       : PV_ANCHOR_RIGHT;
    return true;
}

static bool read_text_height(pv_parser *p, double *height)
{
    uint32_t first = p->next;
    if (!pv_size_read(p, "a text's height", PV_COURSE_WIDTH_MIN, height))
        return false;
    if (*height <= PV_COURSE_LETTER_MAX)
        return true;
    return PV_WRONG_SINCE(p, first, "draw such letters as lines",
                          "a text's height is at most %.0f m", PV_COURSE_LETTER_MAX / 1000);
}

static bool read_text_part(pv_parser *p, pv_word word, void *into)
{
    pv_lettering *text = into;
    switch (word) {
    case PV_WORD_AT:
        return read_mat_point(p, &text->at);
    case PV_WORD_HEIGHT:
        return read_text_height(p, &text->height);
    case PV_WORD_ANGLE:
        return pv_angle_read(p, &text->angle);
    case PV_WORD_ANCHOR:
        return read_anchor(p, &text->anchor);
    default:
        return read_colour(p, &text->colour);
    }
}

/* Corners of all letters' outlines: some 10,000 letters. Those of later texts are left out, and
 * what stands there isn't compared with them. */
#define OUTLINES_MAX 200000u

static bool state_text(pv_parser *p)
{
    const pv_words needed = PV_W(PV_WORD_AT) | PV_W(PV_WORD_HEIGHT);
    const pv_words words =
        needed | PV_W(PV_WORD_ANGLE) | PV_W(PV_WORD_ANCHOR) | PV_W(PV_WORD_COLOUR);
    pv_art *art = &p->course->art;
    pv_lettering text = {
        .anchor = PV_ANCHOR_LEFT, .colour = p->paint.colour, .source = pv_source_of(p, p->begin)};
    pv_words seen = 0;
    bool good = pv_quoted_read(p, "a text in quotes", &text.text) &&
                pv_parts(p, words, words, &seen, read_text_part, &text) && pv_need(p, needed, seen);
    if (good && (!pv_lettering_set(&text, p->type) ||
                 !PV_GROW(art->letterings, art->n_letterings, art->cap_letterings)))
        good = pv_no_memory(p);
    p->corners += pv_lettering_corners(&text);
    if (p->corners > OUTLINES_MAX)
        pv_lettering_drop_outline(&text);
    if (good)
        art->letterings[art->n_letterings++] = text;
    else
        pv_lettering_clear(&text);
    return good;
}

/* ---- start, finish, route ---- */

/* An isosceles wedge that points in the heading: as long as `size`, 0.7 of that across its back,
 * with its centroid, a third of its length from the back, on the start's point. */
static bool add_start_mark(pv_parser *p, const pv_start *start, size_t colour)
{
    pv_art *art = &p->course->art;
    pv_vec ahead = pv_polar(start->size, start->heading), left = pv_left(ahead);
    pv_area mark = {
        .id = pv_copy_text("start"), .rings = PV_NEW(pv_ring), .n_rings = 1, .colour = colour};
    if (mark.rings != NULL)
        mark.rings->points = PV_NEW_ARRAY(3, pv_vec);
    if (mark.id == NULL || mark.rings == NULL || mark.rings->points == NULL ||
        !PV_GROW(art->marks, art->n_marks, art->cap_marks)) {
        mark.n_rings = mark.rings != NULL;
        pv_area_clear(&mark);
        return pv_no_memory(p);
    }
    pv_vec *corner = mark.rings->points, back = pv_along(start->at, ahead, -1.0 / 3);
    mark.rings->n = 3;
    corner[0] = pv_along(start->at, ahead, 2.0 / 3);
    corner[1] = pv_along(back, left, 0.35);
    corner[2] = pv_along(back, left, -0.35);
    art->marks[art->n_marks++] = mark;
    for (int i = 0; i < 3; i++)
        if (!is_on_mat(p, corner[i]))
            return pv_wrong(p, p->begin, p->begin, NULL,
                            "the start mark reaches over the mat's edge");
    return true;
}

typedef struct starting {
    pv_start start;
    size_t colour;
} starting;

static bool read_start_part(pv_parser *p, pv_word word, void *into)
{
    starting *s = into;
    switch (word) {
    case PV_WORD_AT:
        return read_mat_point(p, &s->start.at);
    case PV_WORD_HEADING:
        return pv_angle_read(p, &s->start.heading);
    case PV_WORD_SIZE:
        return pv_size_read(p, "the start mark's size", PV_COURSE_WIDTH_MIN, &s->start.size);
    default:
        return read_colour(p, &s->colour);
    }
}

static bool state_start(pv_parser *p)
{
    const pv_words needed = PV_W(PV_WORD_AT) | PV_W(PV_WORD_HEADING);
    const pv_words words = needed | PV_W(PV_WORD_SIZE) | PV_W(PV_WORD_COLOUR);
    starting s = {.start = {.given = true, .size = 40, .source = pv_source_of(p, p->begin)},
                  .colour = p->paint.colour};
    pv_words seen = 0;
    if (!pv_parts(p, words, words, &seen, read_start_part, &s) || !pv_need(p, needed, seen))
        return false;
    p->course->start = s.start;
    return add_start_mark(p, &s.start, s.colour);
}

static bool state_finish(pv_parser *p)
{
    pv_finish *finish = &p->course->finish;
    if (!pv_take_word(p, PV_WORD_AT))
        return false;
    p->finish_place.first = p->next;
    if (!read_mat_point(p, &finish->at))
        return false;
    p->finish_place.last = p->next - 1;
    finish->given = true;
    finish->source = pv_source_of(p, p->finish_place.first);
    return true;
}

static bool read_leg(pv_parser *p, pv_word word, void *into)
{
    return pv_leg_read(p, into, word);
}

static bool state_route(pv_parser *p)
{
    pv_path path = {0};
    pv_words seen = 0;
    if (!pv_parts(p, PV_LEGS, 0, &seen, read_leg, &path) || !pv_path_end(p, &path)) {
        free(path.pieces);
        return false;
    }
    p->course->route =
        (pv_route){.pieces = path.pieces, .n = path.n, .source = pv_source_of(p, p->begin)};
    return true;
}

/* ---- all ---- */

static const pv_statement statements[PV_WORD_COUNT] = {
    [PV_WORD_COURSE] = {state_course, true, false},
    [PV_WORD_MAT] = {state_mat, true, false},
    [PV_WORD_COLOUR] = {state_colour, false, false},
    [PV_WORD_TOLERANCE] = {state_tolerance, false, false},
    [PV_WORD_PAINT] = {state_paint, false, false},
    [PV_WORD_LET] = {state_let, false, false},
    [PV_WORD_ROBOT] = {state_robot, true, false},
    [PV_WORD_LINE] = {state_line, false, true},
    [PV_WORD_ARC] = {state_arc, false, true},
    [PV_WORD_CIRCLE] = {state_circle, false, true},
    [PV_WORD_BOX] = {state_box, false, true},
    [PV_WORD_FILL] = {state_fill, false, true},
    [PV_WORD_TEXT] = {state_text, false, true},
    [PV_WORD_START] = {state_start, true, true},
    [PV_WORD_FINISH] = {state_finish, true, true},
    [PV_WORD_ROUTE] = {state_route, true, true},
};

const pv_statement *pv_statement_of(pv_word word)
{
    return statements[word].read != NULL ? &statements[word] : NULL;
}
