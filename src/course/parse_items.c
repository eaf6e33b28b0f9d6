/* Statements for what lies on the mat: lines of every kind, fills, texts, start, finish, route. */
#include "course/parse.h"

#include "base/memory.h"
#include "base/text.h"
#include "course/regions.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Said once: whatever lies on the mat is checked against its size. */
static void need_mat(pv_parser *p)
{
    if ((p->seen[0] & PV_W(PV_WORD_MAT)) != 0 || p->mat_missed)
        return;
    p->mat_missed = true;
    pv_wrong(p, p->begin, p->begin, "state it above: mat 1200mm by 900mm",
             "the mat's size comes before what lies on it");
}

/* A mat of unknown size holds every point. */
static bool is_on_mat(const pv_parser *p, pv_vec at)
{
    pv_vec size = p->course->art.size;
    return !(size.x > 0 && size.y > 0) || pv_box_holds((pv_box){{0, 0}, size}, at);
}

static bool on_mat(pv_parser *p, pv_vec at, uint32_t first, uint32_t last)
{
    pv_vec size = p->course->art.size;
    char width[PV_SAID_NUMBER], height[PV_SAID_NUMBER];
    if (is_on_mat(p, at))
        return true;
    return pv_wrong(p, first, last, NULL, "this point lies off the mat of %s by %s mm",
                    pv_say_number(size.x, width), pv_say_number(size.y, height));
}

static bool mat_point_read(pv_parser *p, pv_vec *at)
{
    uint32_t first = p->next;
    return pv_point_read(p, at) && on_mat(p, *at, first, p->next - 1);
}

/* --- ids of lines -------------------------------------------------------------------------- */

typedef struct line_name {
    bool given;
    const pv_token *token;
} line_name;

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
    pv_nearest nearest = {.word = pv_chars(p, token), .length = token->length};
    pv_nearest_offer_words(&nearest, PV_PAINT | PV_LEGS | PV_W(PV_WORD_CENTRE) |
                                         PV_W(PV_WORD_RADIUS) | PV_W(PV_WORD_SWEEP));
    if (nearest.best[0] == '\0')
        return false;
    char hint[PV_NAME_MAX + 32];
    snprintf(hint, sizeof hint, "did you mean \"%s\"?", nearest.best);
    pv_wrong(p, p->next, p->next, hint, "\"%.*s\" is no word of this statement", (int)token->length,
             pv_chars(p, token));
    return true;
}

static bool read_line_name(pv_parser *p, line_name *name)
{
    const pv_token *token = pv_peek(p);
    *name = (line_name){.given = token->kind == PV_TOKEN_NAME, .token = token};
    if (!name->given)
        return true;
    if (misspelt(p, token))
        return false;
    if (is_automatic(pv_chars(p, token), token->length))
        return pv_wrong(p, p->next, p->next, "choose another name",
                        "L1, L2 and so on are given to lines without a name");
    pv_meaning *meaning = &p->names[token->more];
    if (meaning->id_line != 0 && meaning->id_token != p->begin)
        return pv_wrong(p, p->next, p->next, NULL, "a line is named \"%.*s\" already, in line %u",
                        (int)token->length, pv_chars(p, token), meaning->id_line);
    meaning->id_line = token->line;
    meaning->id_token = p->begin;
    meaning->id_count++;
    pv_advance(p);
    return true;
}

static char *line_id(pv_parser *p, const line_name *name)
{
    pv_text id = PV_TEXT_INIT;
    if (!name->given) {
        pv_text_add(&id, "L%u", ++p->unnamed);
        return pv_text_take(&id);
    }
    pv_text_bytes(&id, pv_chars(p, name->token), name->token->length);
    if (p->repeats > 0)
        pv_text_add(&id, "-%u", p->names[name->token->more].id_count);
    return pv_text_take(&id);
}

/* --- lines --------------------------------------------------------------------------------- */

static bool lies_off(pv_parser *p, const pv_line *line)
{
    pv_vec size = p->course->art.size;
    if (!(size.x > 0 && size.y > 0) || pv_box_meets(pv_line_box(line), (pv_box){{0, 0}, size}))
        return false;
    pv_wrong(p, p->begin, p->begin, NULL, "this line lies wholly off the mat");
    return true;
}

/* The path becomes a line of the art; its pieces are taken over, or freed where it fails. */
static bool add_line(pv_parser *p, const line_name *name, pv_path *path, const pv_brush *paint,
                     pv_words seen)
{
    pv_art *art = &p->course->art;
    if (path->closed && (seen & PV_W(PV_WORD_ENDS)) != 0) {
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
                    .width = paint->width,
                    .colour = paint->colour,
                    .ends = paint->ends,
                    .source = pv_source_of(p, p->begin)};
    if (line.id == NULL || !PV_GROW(art->lines, art->n_lines, art->cap_lines)) {
        free(line.id);
        free(line.pieces);
        return pv_no_memory(p);
    }
    art->lines[art->n_lines++] = line;
    return !lies_off(p, &line);
}

bool pv_state_line(pv_parser *p)
{
    line_name name;
    pv_path path = {0};
    pv_brush paint = p->paint;
    pv_words seen = 0;
    pv_word word = PV_WORD_COUNT;
    need_mat(p);
    bool good = read_line_name(p, &name);
    do {
        good = good && pv_part(p, PV_PAINT | PV_LEGS, PV_PAINT, &seen, &word);
        if (good && word != PV_WORD_COUNT)
            good = (PV_PAINT & PV_W(word)) != 0 ? pv_brush_read(p, word, &paint)
                                                : pv_leg_read(p, &path, word);
    } while (good && word != PV_WORD_COUNT);
    if (good && pv_path_end(p, &path))
        return add_line(p, &name, &path, &paint, seen);
    free(path.pieces);
    return false;
}

/* arc and circle: the words of an arc and those of paint, in any order. */
static bool read_round(pv_parser *p, pv_words needed, line_name *name, pv_arc_words *arc,
                       pv_brush *paint, pv_words *seen)
{
    pv_word word;
    need_mat(p);
    if (!read_line_name(p, name))
        return false;
    do {
        if (!pv_part(p, needed | PV_PAINT, needed | PV_PAINT, seen, &word))
            return false;
        if (word != PV_WORD_COUNT &&
            !((PV_PAINT & PV_W(word)) != 0 ? pv_brush_read(p, word, paint)
                                           : pv_arc_word_read(p, arc, word)))
            return false;
    } while (word != PV_WORD_COUNT);
    return pv_need(p, needed, *seen);
}

static bool add_round(pv_parser *p, const line_name *name, const pv_arc_words *arc,
                      const pv_brush *paint, pv_words seen)
{
    pv_path path = {0};
    if (arc->radius * fabs(arc->sweep) <= PV_TOUCH)
        return pv_wrong(p, p->begin, p->next - 1, NULL, "this arc has no length");
    if (!pv_path_add(p, &path, pv_arc(arc->centre, arc->radius, arc->from, arc->sweep)))
        return false;
    path.closed = fabs(arc->sweep) >= 2 * PV_PI * (1 - 1e-12);
    if (path.closed)
        path.pieces[0].b = path.pieces[0].a;
    return add_line(p, name, &path, paint, seen);
}

bool pv_state_arc(pv_parser *p)
{
    const pv_words needed =
        PV_W(PV_WORD_CENTRE) | PV_W(PV_WORD_RADIUS) | PV_W(PV_WORD_FROM) | PV_W(PV_WORD_SWEEP);
    line_name name;
    pv_arc_words arc = {0};
    pv_brush paint = p->paint;
    pv_words seen = 0;
    return read_round(p, needed, &name, &arc, &paint, &seen) &&
           add_round(p, &name, &arc, &paint, seen);
}

bool pv_state_circle(pv_parser *p)
{
    line_name name;
    pv_arc_words arc = {.from = 0, .sweep = 2 * PV_PI};
    pv_brush paint = p->paint;
    pv_words seen = 0;
    return read_round(p, PV_W(PV_WORD_CENTRE) | PV_W(PV_WORD_RADIUS), &name, &arc, &paint, &seen) &&
           add_round(p, &name, &arc, &paint, seen);
}

static bool add_box(pv_parser *p, const line_name *name, pv_vec a, pv_vec c, const pv_brush *paint,
                    pv_words seen)
{
    if (fabs(c.x - a.x) <= PV_TOUCH || fabs(c.y - a.y) <= PV_TOUCH)
        return pv_wrong(p, p->begin, p->next - 1, NULL,
                        "the two corners of a box differ in both coordinates");
    pv_vec lo = pv_v(fmin(a.x, c.x), fmin(a.y, c.y)), hi = pv_v(fmax(a.x, c.x), fmax(a.y, c.y));
    pv_vec corner[4] = {lo, pv_v(hi.x, lo.y), hi, pv_v(lo.x, hi.y)};
    pv_path path = {.closed = true};
    for (int i = 0; i < 4; i++) {
        if (!pv_path_add(p, &path, pv_segment(corner[i], corner[(i + 1) % 4]))) {
            free(path.pieces);
            return false;
        }
    }
    return add_line(p, name, &path, paint, seen);
}

bool pv_state_box(pv_parser *p)
{
    const pv_words second = PV_W(PV_WORD_TO) | PV_W(PV_WORD_BY);
    const pv_words words = PV_W(PV_WORD_FROM) | second | PV_PAINT;
    line_name name;
    pv_vec from = {0, 0}, other = {0, 0};
    pv_brush paint = p->paint;
    pv_words seen = 0;
    pv_word word;
    need_mat(p);
    if (!read_line_name(p, &name))
        return false;
    do {
        pv_words left = (seen & second) != 0 ? words & ~second : words;
        if (!pv_part(p, left, words, &seen, &word))
            return false;
        if (word != PV_WORD_COUNT &&
            !((PV_PAINT & PV_W(word)) != 0
                  ? pv_brush_read(p, word, &paint)
                  : pv_point_read(p, word == PV_WORD_FROM ? &from : &other)))
            return false;
    } while (word != PV_WORD_COUNT);
    if (!pv_need(p, PV_W(PV_WORD_FROM), seen))
        return false;
    if ((seen & second) == 0)
        return pv_need(p, PV_W(PV_WORD_TO), seen);
    if ((seen & PV_W(PV_WORD_BY)) != 0)
        other = pv_add(from, other);
    return add_box(p, &name, from, other, &paint, seen);
}

/* --- fills and texts ----------------------------------------------------------------------- */

/* The seed and its fill, whose outline comes when all lines are known. */
static bool add_fill(pv_parser *p, const pv_place_tokens *place, pv_vec at, size_t colour)
{
    pv_course *course = p->course;
    pv_art *art = &course->art;
    pv_text id = PV_TEXT_INIT;
    pv_text_add(&id, "fill-%zu", course->n_seeds + 1);
    pv_area area = {.id = pv_text_take(&id), .colour = colour};
    if (area.id == NULL || !PV_GROW(course->seeds, course->n_seeds, course->cap_seeds) ||
        !PV_GROW(p->seed_places, course->n_seeds, p->cap_seed_places) ||
        !PV_GROW(art->fills, art->n_fills, art->cap_fills)) {
        free(area.id);
        return pv_no_memory(p);
    }
    p->seed_places[course->n_seeds] = *place;
    course->seeds[course->n_seeds++] =
        (pv_fill_seed){.at = at, .source = pv_source_of(p, place->first)};
    art->fills[art->n_fills++] = area;
    return true;
}

bool pv_state_fill(pv_parser *p)
{
    const pv_words words = PV_W(PV_WORD_AT) | PV_W(PV_WORD_COLOUR);
    pv_place_tokens place = {0};
    pv_vec at = {0, 0};
    size_t colour = 0;
    pv_words seen = 0;
    pv_word word;
    need_mat(p);
    do {
        if (!pv_part(p, words, words, &seen, &word))
            return false;
        if (word == PV_WORD_AT) {
            place.first = p->next;
            if (!mat_point_read(p, &at))
                return false;
            place.last = p->next - 1;
        } else if (word == PV_WORD_COLOUR && !pv_colour_read(p, &colour)) {
            return false;
        }
    } while (word != PV_WORD_COUNT);
    return pv_need(p, words, seen) && add_fill(p, &place, at, colour);
}

static bool read_anchor(pv_parser *p, pv_anchor *anchor)
{
    if (pv_accept_word(p, PV_WORD_LEFT))
        *anchor = PV_ANCHOR_LEFT;
    else if (pv_accept_word(p, PV_WORD_CENTRE))
        *anchor = PV_ANCHOR_CENTRE;
    else if (pv_accept_word(p, PV_WORD_RIGHT))
        *anchor = PV_ANCHOR_RIGHT;
    else
        return pv_expected(p, "left, centre or right",
                           PV_W(PV_WORD_LEFT) | PV_W(PV_WORD_CENTRE) | PV_W(PV_WORD_RIGHT));
    return true;
}

static bool read_text_height(pv_parser *p, double *height)
{
    uint32_t first = p->next;
    if (!pv_size_read(p, "a text's height", PV_COURSE_WIDTH_MIN, height))
        return false;
    if (*height <= PV_COURSE_LETTER_MAX)
        return true;
    return pv_wrong(p, first, p->next - 1, "draw such letters as lines",
                    "a text's height is at most %.0f m", PV_COURSE_LETTER_MAX / 1000);
}

static bool read_text_part(pv_parser *p, pv_word word, pv_lettering *text)
{
    switch (word) {
    case PV_WORD_AT:
        return mat_point_read(p, &text->at);
    case PV_WORD_HEIGHT:
        return read_text_height(p, &text->height);
    case PV_WORD_ANGLE:
        return pv_angle_read(p, &text->angle);
    case PV_WORD_ANCHOR:
        return read_anchor(p, &text->anchor);
    case PV_WORD_COLOUR:
        return pv_colour_read(p, &text->colour);
    default:
        return true;
    }
}

bool pv_state_text(pv_parser *p)
{
    const pv_words words = PV_W(PV_WORD_AT) | PV_W(PV_WORD_HEIGHT) | PV_W(PV_WORD_ANGLE) |
                           PV_W(PV_WORD_ANCHOR) | PV_W(PV_WORD_COLOUR);
    pv_art *art = &p->course->art;
    pv_lettering text = {
        .anchor = PV_ANCHOR_LEFT, .colour = p->paint.colour, .source = pv_source_of(p, p->begin)};
    pv_words seen = 0;
    pv_word word = PV_WORD_COUNT;
    need_mat(p);
    bool good = pv_quoted_read(p, "a text in quotes", &text.text);
    do {
        good = good && pv_part(p, words, words, &seen, &word) && read_text_part(p, word, &text);
    } while (good && word != PV_WORD_COUNT);
    good = good && pv_need(p, PV_W(PV_WORD_AT) | PV_W(PV_WORD_HEIGHT), seen);
    if (good && !pv_lettering_set(&text, p->type))
        good = pv_no_memory(p);
    if (good && !PV_GROW(art->letterings, art->n_letterings, art->cap_letterings))
        good = pv_no_memory(p);
    if (good)
        art->letterings[art->n_letterings++] = text;
    else
        free(text.text);
    return good;
}

/* --- start, finish, route ------------------------------------------------------------------ */

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

static bool read_start_part(pv_parser *p, pv_word word, pv_start *start, size_t *colour)
{
    switch (word) {
    case PV_WORD_AT:
        return mat_point_read(p, &start->at);
    case PV_WORD_HEADING:
        return pv_angle_read(p, &start->heading);
    case PV_WORD_SIZE:
        return pv_size_read(p, "the start mark's size", PV_COURSE_WIDTH_MIN, &start->size);
    case PV_WORD_COLOUR:
        return pv_colour_read(p, colour);
    default:
        return true;
    }
}

bool pv_state_start(pv_parser *p)
{
    const pv_words words =
        PV_W(PV_WORD_AT) | PV_W(PV_WORD_HEADING) | PV_W(PV_WORD_SIZE) | PV_W(PV_WORD_COLOUR);
    pv_start start = {.given = true, .size = 40, .source = pv_source_of(p, p->begin)};
    size_t colour = p->paint.colour;
    pv_words seen = 0;
    pv_word word;
    need_mat(p);
    do {
        if (!pv_part(p, words, words, &seen, &word) || !read_start_part(p, word, &start, &colour))
            return false;
    } while (word != PV_WORD_COUNT);
    if (!pv_need(p, PV_W(PV_WORD_AT) | PV_W(PV_WORD_HEADING), seen))
        return false;
    p->course->start = start;
    return add_start_mark(p, &start, colour);
}

bool pv_state_finish(pv_parser *p)
{
    pv_finish *finish = &p->course->finish;
    need_mat(p);
    if (!pv_accept_word(p, PV_WORD_AT))
        return pv_expected_word(p, PV_WORD_AT);
    p->finish_place.first = p->next;
    if (!mat_point_read(p, &finish->at))
        return false;
    p->finish_place.last = p->next - 1;
    finish->given = true;
    finish->source = pv_source_of(p, p->finish_place.first);
    return true;
}

bool pv_state_route(pv_parser *p)
{
    pv_path path = {0};
    pv_words seen = 0;
    pv_word word = PV_WORD_COUNT;
    bool good = true;
    need_mat(p);
    do {
        good = pv_part(p, PV_LEGS, 0, &seen, &word);
        if (good && word != PV_WORD_COUNT)
            good = pv_leg_read(p, &path, word);
    } while (good && word != PV_WORD_COUNT);
    if (!good || !pv_path_end(p, &path)) {
        free(path.pieces);
        return false;
    }
    p->course->route =
        (pv_route){.pieces = path.pieces, .n = path.n, .source = pv_source_of(p, p->begin)};
    return true;
}
