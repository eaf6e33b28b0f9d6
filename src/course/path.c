#include "course/path.h"

#include "base/memory.h"
#include "course/expression.h"

#include <stdio.h>
#include <stdlib.h>

/* Corners of an arc flattened to within PV_FLATNESS: the sagitta of a chord over an angle t is
 * r (1 - cos(t / 2)). */
static double flattened_corners(const pv_piece *piece)
{
    if (!piece->arc)
        return 1;
    double step = piece->radius > PV_FLATNESS ? 2 * acos(1 - PV_FLATNESS / piece->radius) : PV_PI;
    return ceil(fabs(piece->sweep) / step) + 1;
}

bool pv_path_add(pv_parser *p, pv_path *path, pv_piece piece)
{
    if (++p->pieces > PV_COURSE_PIECES_MAX)
        return pv_past_limit(p, p->begin, "the course has more than %u pieces of lines",
                             PV_COURSE_PIECES_MAX);
    p->points += flattened_corners(&piece);
    if (p->points > PV_COURSE_POINTS_MAX)
        return pv_past_limit(p, p->begin,
                             "the course has too many or too large arcs: more than "
                             "%u corners when flattened",
                             PV_COURSE_POINTS_MAX);
    if (!PV_GROW(path->pieces, path->n, path->cap))
        return pv_no_memory(p);
    path->pieces[path->n++] = piece;
    path->at = piece.b;
    path->begun = true;
    pv_vec heading = pv_piece_heading(&piece, pv_piece_length(&piece));
    path->heading = atan2(heading.y, heading.x);
    path->headed = true;
    return true;
}

static const char *say_point(pv_vec at, char out[2 * PV_SAID_NUMBER + 8])
{
    char x[PV_SAID_NUMBER], y[PV_SAID_NUMBER];
    double scale = 1e4; /* tenths of a micrometre */
    snprintf(out, 2 * PV_SAID_NUMBER + 8, "(%s, %s)mm",
             pv_say_number(round(at.x * scale) / scale, x),
             pv_say_number(round(at.y * scale) / scale, y));
    return out;
}

/* `word`, with or without a comma before it. */
static bool accept_part(pv_parser *p, pv_word word)
{
    const pv_token *token = pv_peek(p);
    bool comma = token->kind == PV_TOKEN_COMMA;
    if (token[comma].kind != PV_TOKEN_WORD || token[comma].what != word)
        return false;
    if (comma)
        pv_advance(p);
    pv_advance(p);
    return true;
}

static bool must_have_begun(pv_parser *p, const pv_path *path)
{
    uint32_t word = p->next - 1;
    if (path->begun)
        return true;
    return pv_wrong(p, word, word, "begin with from (30mm, 40mm)",
                    "the point where this path begins is not stated");
}

/* A turn on the spot only counts for a leg that goes on in the path's heading. */
static bool turn_unused(pv_parser *p, const pv_path *path)
{
    if (path->turn == 0)
        return true;
    return pv_wrong(p, path->turn, path->turn_last, "ahead continues in the new heading",
                    "this turn has no effect: no leg continues in its heading");
}

static bool leg_from(pv_parser *p, pv_path *path)
{
    uint32_t first = p->next;
    bool start = pv_at_word(p, PV_WORD_START);
    if (path->begun)
        return pv_wrong(p, first - 1, first - 1, "to continue to a point, write to",
                        "this path has begun already");
    if (!pv_point_read(p, &path->at))
        return false;
    path->begun = true;
    if (start && p->next == first + 1) {
        path->heading = p->course->start.heading;
        path->headed = true;
    }
    if (!accept_part(p, PV_WORD_HEADING))
        return true;
    path->headed = true;
    return pv_angle_read(p, &path->heading);
}

static bool leg_straight(pv_parser *p, pv_path *path, pv_vec to, uint32_t first)
{
    if (pv_dist(path->at, to) <= PV_TOUCH)
        return PV_WRONG_SINCE(p, first, NULL,
                              "this leg has no length: the path is at this point already");
    return pv_point_in_reach(p, to, first, p->next - 1) &&
           pv_path_add(p, path, pv_segment(path->at, to));
}

static bool leg_to(pv_parser *p, pv_path *path, bool relative)
{
    uint32_t first = p->next;
    pv_vec to;
    if (!must_have_begun(p, path) || !turn_unused(p, path) || !pv_point_read(p, &to))
        return false;
    return leg_straight(p, path, relative ? pv_add(path->at, to) : to, first);
}

static bool must_be_headed(pv_parser *p, const pv_path *path)
{
    uint32_t word = p->next - 1;
    if (path->headed)
        return true;
    return pv_wrong(p, word, word, "begin with from (30mm, 40mm) heading 90deg",
                    "the heading in which this leg continues is not stated");
}

static bool leg_ahead(pv_parser *p, pv_path *path)
{
    uint32_t word = p->next - 1, first = p->next;
    double length;
    if (!must_have_begun(p, path) || !pv_length_read(p, &length))
        return false;
    uint32_t last = p->next - 1;
    if (accept_part(p, PV_WORD_HEADING)) {
        if (!turn_unused(p, path) || !pv_angle_read(p, &path->heading))
            return false;
    } else if (!path->headed) {
        return pv_wrong(p, word, word, "write ahead 200mm heading 90deg",
                        "the heading of this leg is not stated");
    }
    if (!(length > PV_TOUCH))
        return pv_wrong(p, first, last, NULL, "a leg's length must be more than zero");
    path->turn = 0;
    return leg_straight(p, path, pv_add(path->at, pv_polar(length, path->heading)), first);
}

static bool read_turn(pv_parser *p, double *angle)
{
    uint32_t first = p->next;
    if (!pv_angle_read(p, angle))
        return false;
    if (!(*angle > 0))
        return PV_WRONG_SINCE(p, first, "left and right give the direction",
                              "a turn must be more than zero");
    if (*angle > 2 * PV_PI * (1 + 1e-12))
        return PV_WRONG_SINCE(p, first, NULL, "a turn is at most 360 degrees");
    return true;
}

bool pv_arc_has_length(pv_parser *p, const pv_arc_words *arc, uint32_t first)
{
    return arc->radius * fabs(arc->sweep) > PV_TOUCH ||
           PV_WRONG_SINCE(p, first, NULL, "this arc has no length");
}

/* left A: on the spot. left A radius R: along an arc that goes on in the path's heading. */
static bool leg_turn(pv_parser *p, pv_path *path, double side)
{
    uint32_t word = p->next - 1;
    double angle, radius;
    if (!must_have_begun(p, path) || !must_be_headed(p, path) || !read_turn(p, &angle))
        return false;
    if (!accept_part(p, PV_WORD_RADIUS)) {
        if (!turn_unused(p, path))
            return false;
        path->turn = word;
        path->turn_last = p->next - 1;
        path->heading += side * angle;
        return true;
    }
    if (!pv_size_read(p, "a radius", PV_COURSE_WIDTH_MIN, &radius))
        return false;
    if (!pv_arc_has_length(p, &(pv_arc_words){.radius = radius, .sweep = angle}, word))
        return false;
    path->turn = 0;
    double heading = path->heading + side * angle;
    double from = path->heading - side * PV_PI / 2;
    pv_vec centre = pv_sub(path->at, pv_polar(radius, from));
    pv_piece piece = pv_arc(centre, radius, from, side * angle);
    piece.a = path->at;
    if (!pv_point_in_reach(p, piece.b, word, p->next - 1) || !pv_path_add(p, path, piece))
        return false;
    path->heading = heading; /* as it was said, not as it comes back from the arc */
    return true;
}

bool pv_arc_word_read(pv_parser *p, pv_arc_words *arc, pv_word word)
{
    uint32_t first = p->next;
    arc->seen |= PV_W(word);
    if (word == PV_WORD_CENTRE)
        return pv_point_read(p, &arc->centre);
    if (word == PV_WORD_RADIUS)
        return pv_size_read(p, "a radius", PV_COURSE_WIDTH_MIN, &arc->radius);
    if (word == PV_WORD_FROM)
        return pv_angle_read(p, &arc->from);
    if (!pv_angle_read(p, &arc->sweep))
        return false;
    if (arc->sweep == 0)
        return PV_WRONG_SINCE(p, first, NULL, "an arc's sweep must not be zero");
    if (fabs(arc->sweep) > 2 * PV_PI * (1 + 1e-12))
        return PV_WRONG_SINCE(p, first, NULL, "an arc's sweep is at most 360 degrees");
    return true;
}

static bool lacks(pv_parser *p, uint32_t at, const pv_arc_words *arc, pv_words needed)
{
    static const pv_word order[] = {PV_WORD_CENTRE, PV_WORD_RADIUS, PV_WORD_FROM, PV_WORD_SWEEP};
    for (size_t i = 0; i < sizeof order / sizeof *order; i++) {
        if ((needed & ~arc->seen & PV_W(order[i])) != 0) {
            pv_wrong(p, at, at, NULL, "this arc lacks its %s", pv_word_text(order[i]));
            return true;
        }
    }
    return false;
}

/* What the path's place says of the arc, against what the words say. */
static bool join_arc(pv_parser *p, const pv_path *path, pv_arc_words *arc, uint32_t first)
{
    pv_vec out = pv_sub(path->at, arc->centre);
    double radius = pv_len(out), from = atan2(out.y, out.x);
    char starts[2 * PV_SAID_NUMBER + 8], stands[2 * PV_SAID_NUMBER + 8];
    if ((arc->seen & PV_W(PV_WORD_RADIUS)) == 0)
        arc->radius = radius;
    if ((arc->seen & PV_W(PV_WORD_FROM)) == 0)
        arc->from = from;
    pv_vec start = pv_add(arc->centre, pv_polar(arc->radius, arc->from));
    if (pv_dist(start, path->at) > PV_TOUCH)
        return PV_WRONG_SINCE(p, first,
                              "leave out radius and from: they follow from where the path stands",
                              "this arc starts at %s, but the path stands at %s",
                              say_point(start, starts), say_point(path->at, stands));
    if (radius < PV_COURSE_WIDTH_MIN || radius > PV_COURSE_SIDE_MAX)
        return PV_WRONG_SINCE(p, first, NULL,
                              "the path stands %s mm from this arc's centre: no radius for an arc",
                              pv_say_number(round(radius * 1e4) / 1e4, starts));
    arc->from = from;
    arc->radius = radius;
    return true;
}

static bool leg_arc(pv_parser *p, pv_path *path)
{
    static const pv_word words[] = {PV_WORD_CENTRE, PV_WORD_RADIUS, PV_WORD_FROM, PV_WORD_SWEEP};
    uint32_t first = p->next - 1;
    pv_arc_words arc = {0};
    bool more = true;
    if (!turn_unused(p, path))
        return false;
    while (more) {
        more = false;
        for (size_t i = 0; i < 4; i++) {
            if ((arc.seen & PV_W(words[i])) != 0 || !accept_part(p, words[i]))
                continue;
            more = true;
            if (!pv_arc_word_read(p, &arc, words[i]))
                return false;
        }
    }
    pv_words needed = PV_W(PV_WORD_CENTRE) | PV_W(PV_WORD_SWEEP);
    if (!path->begun)
        needed |= PV_W(PV_WORD_RADIUS) | PV_W(PV_WORD_FROM);
    if (lacks(p, first, &arc, needed) || (path->begun && !join_arc(p, path, &arc, first)) ||
        !pv_arc_has_length(p, &arc, first))
        return false;
    pv_piece piece = pv_arc(arc.centre, arc.radius, arc.from, arc.sweep);
    if (path->begun)
        piece.a = path->at;
    return pv_point_in_reach(p, piece.b, first, p->next - 1) && pv_path_add(p, path, piece);
}

static bool leg_close(pv_parser *p, pv_path *path)
{
    uint32_t word = p->next - 1;
    if (!must_have_begun(p, path) || !turn_unused(p, path))
        return false;
    if (path->n == 0)
        return pv_wrong(p, word, word, NULL, "there is no leg yet to close");
    pv_vec begin = path->pieces[0].a;
    if (pv_dist(path->at, begin) <= PV_TOUCH)
        path->pieces[path->n - 1].b = begin;
    else if (path->n == 1 && !path->pieces[0].arc)
        return pv_wrong(p, word, word, NULL, "a single straight leg cannot be closed");
    else if (!pv_path_add(p, path, pv_segment(path->at, begin)))
        return false;
    path->closed = true;
    return true;
}

bool pv_leg_read(pv_parser *p, pv_path *path, pv_word word)
{
    if (path->closed)
        return pv_wrong(p, p->next - 1, p->next - 1, NULL, "nothing can follow close");
    switch (word) {
    case PV_WORD_FROM:
        return leg_from(p, path);
    case PV_WORD_TO:
        return leg_to(p, path, false);
    case PV_WORD_BY:
        return leg_to(p, path, true);
    case PV_WORD_AHEAD:
        return leg_ahead(p, path);
    case PV_WORD_LEFT:
        return leg_turn(p, path, 1);
    case PV_WORD_RIGHT:
        return leg_turn(p, path, -1);
    case PV_WORD_ARC:
        return leg_arc(p, path);
    default:
        return leg_close(p, path);
    }
}

bool pv_path_end(pv_parser *p, pv_path *path)
{
    const char *what = pv_word_text((pv_word)p->lexed.tokens[p->begin].what);
    const char *hint = pv_comma_hint(p);
    if (hint == NULL)
        hint = path->begun ? "continue with to, by, ahead, left, right or arc"
                           : "begin with from (30mm, 40mm)";
    if (!turn_unused(p, path))
        return false;
    if (path->n == 0)
        return pv_wrong(p, p->begin, p->begin, hint, "this %s goes nowhere", what);
    return true;
}
