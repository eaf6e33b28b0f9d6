/* Statements that set a course up: its name, mat, colours, tolerances, paint, robot, and names for
 * values. */
#include "course/parse.h"

#include "base/memory.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

bool pv_state_course(pv_parser *p)
{
    char *name = NULL, *edition = NULL;
    uint32_t first = p->next;
    bool good = pv_quoted_read(p, "the course's name in quotes", &name);
    if (good && name[strspn(name, " ")] == '\0')
        good = pv_wrong(p, first, p->next - 1, NULL, "this name has nothing but spaces");
    if (good && pv_accept_word(p, PV_WORD_EDITION))
        good = pv_quoted_read(p, "the edition in quotes", &edition);
    if (good) {
        free(p->course->art.name);
        p->course->art.name = name;
    } else {
        free(name);
    }
    if (good && edition != NULL) {
        free(p->course->art.edition);
        p->course->art.edition = edition;
    } else {
        free(edition);
    }
    return good && (pv_peek(p)->kind == PV_TOKEN_STOP ||
                    pv_expected(p, "\"edition\" or the end of the line", PV_W(PV_WORD_EDITION)));
}

bool pv_state_mat(pv_parser *p)
{
    pv_art *art = &p->course->art;
    pv_words seen = 0;
    pv_word word;
    if (!pv_size_read(p, "a side of the mat", PV_COURSE_SIDE_MIN, &art->size.x))
        return false;
    if (!pv_accept_word(p, PV_WORD_BY))
        return pv_expected_word(p, PV_WORD_BY);
    if (!pv_size_read(p, "a side of the mat", PV_COURSE_SIDE_MIN, &art->size.y))
        return false;
    do {
        if (!pv_part(p, PV_W(PV_WORD_GROUND), PV_W(PV_WORD_GROUND), &seen, &word) ||
            (word == PV_WORD_GROUND && !pv_colour_read(p, &art->ground)))
            return false;
    } while (word != PV_WORD_COUNT);
    return true;
}

/* --- colours ------------------------------------------------------------------------------- */

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

bool pv_colour_read(pv_parser *p, size_t *colour)
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
    pv_nearest nearest = {.word = pv_chars(p, token), .length = token->length};
    for (size_t i = 0; i < p->course->art.n_colours; i++)
        pv_nearest_offer(&nearest, p->course->art.colours[i].name,
                         strlen(p->course->art.colours[i].name));
    char hint[PV_NAME_MAX + 64] = "name it first: colour NAME = rgb(31, 90, 160)";
    if (nearest.best[0] != '\0')
        snprintf(hint, sizeof hint, "did you mean \"%s\"?", nearest.best);
    return pv_wrong(p, p->next, p->next, hint, "no colour is named \"%.*s\"", (int)token->length,
                    pv_chars(p, token));
}

static bool read_code(pv_parser *p, uint8_t *code)
{
    double value;
    uint32_t first = p->next;
    if (!pv_number_read(p, &value))
        return false;
    if (value < 0 || value > 255 || value != floor(value))
        return pv_wrong(p, first, p->next - 1, NULL,
                        "a colour's code is a whole number from 0 to 255");
    *code = (uint8_t)value;
    return true;
}

/* rgb(R, G, B) or grey(V), sRGB codes. */
static bool read_codes(pv_parser *p, int n, uint8_t rgb[3])
{
    if (!pv_accept(p, PV_TOKEN_OPEN))
        return pv_expected(p, "(", 0);
    for (int i = 0; i < n; i++) {
        if (i > 0 && !pv_accept(p, PV_TOKEN_COMMA))
            return pv_expected(p, "a comma and the next of three codes", 0);
        if (!read_code(p, &rgb[i]))
            return false;
    }
    if (!pv_accept(p, PV_TOKEN_CLOSE))
        return pv_expected(p, ")", 0);
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
    return pv_wrong(p, first, p->next - 1, "such as hex \"1f5aa0\"",
                    "a colour in hexadecimal has six digits, 0 to 9 and a to f");
}

static bool read_colour_value(pv_parser *p, uint8_t rgb[3])
{
    if (pv_accept_word(p, PV_WORD_RGB))
        return read_codes(p, 3, rgb);
    if (pv_accept_word(p, PV_WORD_GREY))
        return read_codes(p, 1, rgb);
    if (pv_accept_word(p, PV_WORD_HEX))
        return read_hex(p, rgb);
    return pv_expected(p, "rgb, grey or hex",
                       PV_W(PV_WORD_RGB) | PV_W(PV_WORD_GREY) | PV_W(PV_WORD_HEX));
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

bool pv_state_colour(pv_parser *p)
{
    const pv_token *name = pv_peek(p);
    uint8_t rgb[3] = {0};
    char where[32];
    if (name->kind != PV_TOKEN_NAME)
        return pv_expected(p, "a name for the colour", 0);
    pv_meaning *meaning = &p->names[name->more];
    if (meaning->colour_line != 0)
        return pv_wrong(p, p->next, p->next, NULL, "the colour \"%.*s\" is named already, %s",
                        (int)name->length, pv_chars(p, name),
                        said_where(meaning->colour_line, where, sizeof where));
    meaning->colour_line = name->line;
    meaning->colour = SIZE_MAX;
    pv_advance(p);
    if (!pv_accept(p, PV_TOKEN_EQUALS))
        return pv_expected(p, "=", 0);
    if (!read_colour_value(p, rgb) || !pv_colour_add(p, pv_chars(p, name), name->length, rgb))
        return false;
    meaning->colour = p->course->art.n_colours - 1;
    return true;
}

/* --- tolerances, paint, robot -------------------------------------------------------------- */

static bool read_tolerance(pv_parser *p, pv_word word)
{
    pv_tolerances *t = &p->course->art.tolerances;
    uint32_t first = p->next;
    double value = 0;
    if (word == PV_WORD_SCALE) {
        if (!pv_number_read(p, &value))
            return false;
        if (!pv_accept(p, PV_TOKEN_PERCENT))
            return pv_expected(p, "% (the tolerance of the scale is in per cent)", 0);
        value /= 100;
    } else if (word == PV_WORD_SKEW ? !pv_angle_read(p, &value) : !pv_length_read(p, &value)) {
        return false;
    }
    if (!(value >= PV_TOLERANCE_LEAST))
        return pv_wrong(p, first, p->next - 1, NULL, "a tolerance is more than zero");
    if (word == PV_WORD_SCALE && value > 0.1)
        return pv_wrong(p, first, p->next - 1, NULL, "a tolerance of the scale is at most 10 %%");
    if (word == PV_WORD_SKEW && value > 1)
        return pv_wrong(p, first, p->next - 1, NULL, "a tolerance of the skew is at most 1 rad");
    if (value > PV_COURSE_SIDE_MAX)
        return pv_wrong(p, first, p->next - 1, NULL, "a tolerance is at most %.0f m",
                        PV_COURSE_SIDE_MAX / 1000);
    if (word == PV_WORD_SKEW)
        t->skew = value * 1000;
    else
        *(word == PV_WORD_SCALE     ? &t->scale
          : word == PV_WORD_WIDTH   ? &t->width
          : word == PV_WORD_SPACING ? &t->spacing
                                    : &t->straight) = value;
    return true;
}

bool pv_state_tolerance(pv_parser *p)
{
    const pv_words words = PV_W(PV_WORD_SCALE) | PV_W(PV_WORD_WIDTH) | PV_W(PV_WORD_SPACING) |
                           PV_W(PV_WORD_STRAIGHTNESS) | PV_W(PV_WORD_SKEW);
    pv_word word;
    if (pv_peek(p)->kind == PV_TOKEN_STOP)
        return pv_expected(p, "scale, width, spacing, straightness or skew", words);
    do {
        if (!pv_part(p, words, words, &p->seen[1], &word) ||
            (word != PV_WORD_COUNT && !read_tolerance(p, word)))
            return false;
    } while (word != PV_WORD_COUNT);
    return true;
}

bool pv_ends_read(pv_parser *p, pv_ends *ends)
{
    if (pv_accept_word(p, PV_WORD_FLAT))
        *ends = PV_ENDS_FLAT;
    else if (pv_accept_word(p, PV_WORD_SQUARE))
        *ends = PV_ENDS_SQUARE;
    else if (pv_accept_word(p, PV_WORD_ROUND))
        *ends = PV_ENDS_ROUND;
    else
        return pv_expected(p, "flat, square or round",
                           PV_W(PV_WORD_FLAT) | PV_W(PV_WORD_SQUARE) | PV_W(PV_WORD_ROUND));
    return true;
}

bool pv_brush_read(pv_parser *p, pv_word word, pv_brush *paint)
{
    if (word == PV_WORD_WIDTH)
        return pv_size_read(p, "a line's width", PV_COURSE_WIDTH_MIN, &paint->width);
    if (word == PV_WORD_COLOUR)
        return pv_colour_read(p, &paint->colour);
    return pv_ends_read(p, &paint->ends);
}

bool pv_state_paint(pv_parser *p)
{
    pv_words seen = 0;
    pv_word word;
    if (pv_peek(p)->kind == PV_TOKEN_STOP)
        return pv_expected(p, "width, colour or ends", PV_PAINT);
    do {
        if (!pv_part(p, PV_PAINT, PV_PAINT, &seen, &word) ||
            (word != PV_WORD_COUNT && !pv_brush_read(p, word, &p->paint)))
            return false;
    } while (word != PV_WORD_COUNT);
    return true;
}

bool pv_state_robot(pv_parser *p)
{
    pv_robot robot = {.given = true};
    pv_words seen = 0;
    pv_word word;
    char length[PV_SAID_NUMBER];
    if (!pv_size_read(p, "the robot's length", 1, &robot.length))
        return false;
    if (!pv_accept_word(p, PV_WORD_BY))
        return pv_expected_word(p, PV_WORD_BY);
    if (!pv_size_read(p, "the robot's width", 1, &robot.width))
        return false;
    robot.pivot = robot.length / 2;
    do {
        if (!pv_part(p, PV_W(PV_WORD_PIVOT), PV_W(PV_WORD_PIVOT), &seen, &word))
            return false;
        uint32_t first = p->next;
        if (word == PV_WORD_PIVOT && !pv_length_read(p, &robot.pivot))
            return false;
        if (robot.pivot < 0 || robot.pivot > robot.length)
            return pv_wrong(p, first, p->next - 1, NULL,
                            "the pivot lies within the robot, 0 to %s mm from its rear end",
                            pv_say_number(robot.length, length));
    } while (word != PV_WORD_COUNT);
    p->course->robot = robot;
    return true;
}

/* --- let ----------------------------------------------------------------------------------- */

/* The name counts as given even where its value is wrong, so that its uses are no errors. */
bool pv_state_let(pv_parser *p)
{
    const pv_token *name = pv_peek(p);
    char where[32];
    if (name->kind == PV_TOKEN_WORD || name->kind == PV_TOKEN_UNIT)
        return pv_wrong(p, p->next, p->next, "choose another name",
                        "\"%.*s\" has a meaning of its own in the language", (int)name->length,
                        pv_chars(p, name));
    if (name->kind != PV_TOKEN_NAME)
        return pv_expected(p, "a name", 0);
    pv_meaning *meaning = &p->names[name->more];
    if (meaning->let_line != 0)
        return pv_wrong(p, p->next, p->next, NULL, "\"%.*s\" has a value already, %s",
                        (int)name->length, pv_chars(p, name),
                        said_where(meaning->let_line, where, sizeof where));
    pv_advance(p);
    pv_amount value = {PV_KIND_UNKNOWN, 0, 0};
    bool good = pv_accept(p, PV_TOKEN_EQUALS) ? pv_amount_read(p, &value) : pv_expected(p, "=", 0);
    if (p->repeats > 0) {
        if (!PV_GROW(p->scoped, p->n_scoped, p->cap_scoped))
            return pv_no_memory(p);
        p->scoped[p->n_scoped++] = name->more;
    }
    meaning->let_line = name->line;
    meaning->value = good ? value : (pv_amount){PV_KIND_UNKNOWN, 0, 0};
    return good;
}
