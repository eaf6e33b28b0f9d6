#include "drafting/board.h"

#include "base/memory.h"
#include "base/text.h"
#include "draw/art.h"
#include "draw/strokes.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const uint8_t pv_ink[3] = {0, 0, 0};

void pv_board_open(pv_board *board, const pv_course *course, double width, double height)
{
    *board = (pv_board){.course = course, .scale = 1};
    pv_drawing_init(&board->d, course->type, width, height);
    board->d.label = pv_copy_text(course->art.name);
    board->mat = pv_scene_of(&course->art);
    board->d.failed = board->d.label == NULL || board->mat == NULL;
}

void pv_board_close(pv_board *board)
{
    pv_drawing_clear(&board->d);
    pv_scene_free(board->mat);
    free(board->texts);
    free(board->rules);
    *board = (pv_board){0};
}

pv_box pv_mat_on_paper(const pv_board *board)
{
    return (pv_box){board->at, pv_on_paper(board, board->course->art.size)};
}

/* ---- the mat ---- */

static void paler(pv_colour *colour, double share)
{
    for (int i = 0; i < 3; i++)
        colour->rgb[i] = (uint8_t)lround(255 - (255 - colour->rgb[i]) * share);
}

static void keep_text(pv_board *board, pv_box box)
{
    if (!PV_GROW(board->texts, board->n_texts, board->cap_texts))
        board->d.failed = true;
    else
        board->texts[board->n_texts++] = box;
}

void pv_board_mat(pv_board *board, pv_box within, double share)
{
    /* The course's art in other colours; all else is the course's own. */
    pv_art pale = board->course->art;
    pale.users = NULL;
    pale.colours = pv_copy_bytes(pale.colours, pale.n_colours, sizeof(pv_colour));
    pv_scene *scene = NULL;
    if (pale.colours != NULL) {
        for (size_t i = 0; i < pale.n_colours; i++)
            paler(&pale.colours[i], share);
        scene = pv_scene_of(&pale);
    }
    if (scene == NULL) {
        board->d.failed = true;
    } else {
        /* Drawn at true size about the page's middle, then made smaller about it. */
        pv_vec middle = pv_v(board->d.width / 2, board->d.height / 2);
        pv_vec origin = pv_sub(pv_scale(pv_sub(middle, board->at), 1 / board->scale), middle);
        pv_box seen = {pv_scale(pv_sub(within.lo, board->at), 1 / board->scale),
                       pv_scale(pv_sub(within.hi, board->at), 1 / board->scale)};
        pv_draw_box(&board->d, (pv_box){pv_sub(seen.lo, origin), pv_sub(seen.hi, origin)});
        pv_draw_clip(&board->d);
        pv_draw_mat(&board->d, scene, seen, origin);
        pv_draw_end_clip(&board->d);
        pv_drawing_map(&board->d, (pv_linear){board->scale, 0, 0, board->scale});
    }
    pv_scene_free(scene);
    free(pale.colours);
    for (size_t i = 0; board->mat != NULL && i < board->mat->n_items; i++)
        if (board->mat->items[i].kind == PV_ITEM_TEXT) {
            pv_box box = board->mat->items[i].box;
            keep_text(board, (pv_box){pv_on_paper(board, box.lo), pv_on_paper(board, box.hi)});
        }
}

/* ---- lines ---- */

#define BREAK  0.5  /* mm that a broken line keeps off a text */
#define A_HAIR 1e-6 /* mm */

static void draw_rule(pv_board *board, pv_vec a, pv_vec b, const uint8_t rgb[3])
{
    pv_draw_bar(&board->d, a, b, PV_NARROW);
    pv_draw_fill(&board->d, rgb, false);
}

static void keep_rule(pv_board *board, pv_board_line rule)
{
    if (!PV_GROW(board->rules, board->n_rules, board->cap_rules))
        board->d.failed = true;
    else
        board->rules[board->n_rules++] = rule;
}

void pv_board_rule(pv_board *board, pv_vec a, pv_vec b)
{
    draw_rule(board, a, b, pv_ink);
    keep_rule(board, (pv_board_line){a, b, NULL});
}

void pv_board_rule_late(pv_board *board, pv_vec a, pv_vec b, const uint8_t rgb[3])
{
    keep_rule(board, (pv_board_line){a, b, rgb});
}

/* The part of a stretch, from 0 to 1, that lies in a box: Liang and Barsky's clipping. */
static bool part_within(pv_board_line s, pv_box box, double *from, double *to)
{
    double lo = 0, hi = 1;
    pv_vec by = pv_sub(s.b, s.a);
    const double p[4] = {-by.x, by.x, -by.y, by.y};
    const double q[4] = {s.a.x - box.lo.x, box.hi.x - s.a.x, s.a.y - box.lo.y, box.hi.y - s.a.y};
    for (int i = 0; i < 4; i++) {
        if (p[i] == 0 && q[i] < 0)
            return false;
        if (p[i] < 0)
            lo = fmax(lo, q[i] / p[i]);
        else if (p[i] > 0)
            hi = fmin(hi, q[i] / p[i]);
    }
    *from = lo;
    *to = hi;
    return lo <= hi;
}

static void draw_broken(pv_board *board, const pv_board_line *rule)
{
    pv_vec ahead = pv_unit(pv_sub(rule->b, rule->a));
    double length = pv_dist(rule->a, rule->b), done = 0;
    while (done < length) {
        /* On to the nearest text of those that the rest meets, then past it. */
        pv_board_line rest = {pv_along(rule->a, ahead, done), rule->b, NULL};
        double left = length - done, next = left, past = left, lo, hi;
        for (size_t i = 0; i < board->n_texts; i++)
            if (part_within(rest, pv_box_grow(board->texts[i], BREAK), &lo, &hi) &&
                (hi - lo) * left > A_HAIR && lo * left < next) {
                next = lo * left;
                past = hi * left;
            }
        if (next > A_HAIR)
            draw_rule(board, rest.a, pv_along(rest.a, ahead, next), rule->late);
        done += past;
    }
}

void pv_board_draw_late(pv_board *board)
{
    pv_draw_box(&board->d, pv_box_grow(pv_mat_on_paper(board), PV_WIDE));
    pv_draw_clip(&board->d);
    for (size_t i = 0; i < board->n_rules; i++)
        if (board->rules[i].late != NULL)
            draw_broken(board, &board->rules[i]);
    pv_draw_end_clip(&board->d);
}

double pv_text_width(pv_board *board, const char *text, const pv_lettered *how)
{
    return pv_draw_ems(&board->d, text, how->bold) * how->height / pv_type_cap(board->d.type);
}

#define DESCENT 0.30 /* of a capital's height: what hangs beneath the base line, about */

pv_box pv_text_box(pv_board *board, pv_vec at, const char *text, const pv_lettered *how)
{
    double width = pv_text_width(board, text, how);
    double from = how->align == PV_ALIGN_LEFT     ? 0
                  : how->align == PV_ALIGN_MIDDLE ? -width / 2
                                                  : -width;
    double below = how->height * DESCENT, above = how->height;
    if (how->turned)
        return (pv_box){{at.x - above, at.y + from}, {at.x + below, at.y + from + width}};
    return (pv_box){{at.x + from, at.y - below}, {at.x + from + width, at.y + above}};
}

void pv_letter(pv_board *board, pv_vec at, const char *text, const pv_lettered *how)
{
    pv_box box = pv_text_box(board, at, text, how);
    double below = how->height * DESCENT;
    pv_vec start = how->turned ? pv_v(at.x, box.lo.y) : pv_v(box.lo.x, box.lo.y + below);
    pv_draw_text(&board->d, start, how->height / pv_type_cap(board->d.type),
                 how->turned ? PV_PI / 2 : 0, how->bold, pv_ink, text);
    keep_text(board, box);
}

static bool passes(pv_board_line s, pv_box box)
{
    double from, to;
    return part_within(s, box, &from, &to);
}

bool pv_board_free(const pv_board *board, pv_box box, size_t *breaks, double *length)
{
    *breaks = 0;
    *length = 0;
    for (size_t i = 0; i < board->n_texts; i++)
        if (pv_box_meets(board->texts[i], box))
            return false;
    for (size_t i = 0; i < board->n_rules; i++) {
        double from, to;
        if (!part_within(board->rules[i], box, &from, &to))
            continue;
        if (board->rules[i].late == NULL)
            return false;
        ++*breaks;
        *length += (to - from) * pv_dist(board->rules[i].a, board->rules[i].b);
    }
    return true;
}

static double side_of(pv_board_line s, pv_vec p)
{
    return pv_cross_z(pv_sub(s.b, s.a), pv_sub(p, s.a));
}

static bool cross(pv_board_line s, pv_board_line t)
{
    return side_of(s, t.a) * side_of(s, t.b) <= 0 && side_of(t, s.a) * side_of(t, s.b) <= 0;
}

bool pv_board_clear(const pv_board *board, pv_vec a, pv_vec b, size_t *rules)
{
    for (size_t i = 0; i < board->n_texts; i++)
        if (passes((pv_board_line){a, b, NULL}, board->texts[i]))
            return false;
    *rules = 0;
    for (size_t i = 0; i < board->n_rules; i++)
        *rules += cross((pv_board_line){a, b, NULL}, board->rules[i]);
    return true;
}

/* ---- a dimension ---- */

static const pv_lettered dual_how = {PV_LETTER, PV_ALIGN_LEFT, false, false};

double pv_dual_width(pv_board *board, const pv_dual *said)
{
    return fmax(pv_text_width(board, said->over, &dual_how),
                pv_text_width(board, said->under, &dual_how));
}

/* Where the base line of the text over a line is, or of that beneath it. */
static pv_vec base(pv_vec at, bool turned, bool under)
{
    double off = under ? -PV_LIFT - PV_LETTER : PV_LIFT;
    return turned ? pv_v(at.x - off, at.y) : pv_v(at.x, at.y + off);
}

pv_box pv_dual_box(pv_board *board, pv_vec at, const pv_dual *said, pv_align align, bool turned)
{
    pv_lettered how = {PV_LETTER, align, turned, false};
    pv_box over = pv_text_box(board, base(at, turned, false), said->over, &how);
    if (said->under[0] == '\0')
        return over;
    pv_box under = pv_text_box(board, base(at, turned, true), said->under, &how);
    return pv_box_add(pv_box_add(over, under.lo), under.hi);
}

void pv_letter_dual(pv_board *board, pv_vec at, const pv_dual *said, pv_align align, bool turned)
{
    pv_lettered how = {PV_LETTER, align, turned, false};
    pv_letter(board, base(at, turned, false), said->over, &how);
    if (said->under[0] != '\0')
        pv_letter(board, base(at, turned, true), said->under, &how);
}

void pv_dimension(pv_board *board, pv_vec a, pv_vec b, const pv_dual *said)
{
    bool turned = fabs(b.y - a.y) > fabs(b.x - a.x);
    if (turned ? b.y < a.y : b.x < a.x) {
        pv_vec other = a;
        a = b;
        b = other;
    }
    pv_vec ahead = pv_unit(pv_sub(b, a)), middle = pv_scale(pv_add(a, b), 0.5);
    double length = pv_dist(a, b), width = pv_dual_width(board, said);
    bool inside = length >= 3 * PV_ARROW, words = length >= width + 1;
    double tail = inside ? 0 : 2 * PV_ARROW, way = inside ? 1 : -1;
    /* Where arrows or text have no room, the line goes on past its ends. */
    pv_board_rule(board, pv_along(a, ahead, -tail),
                  pv_along(b, ahead, words ? tail : fmax(tail, PV_ARROW) + width));
    pv_draw_arrow(&board->d, a, pv_scale(ahead, -way), PV_ARROW);
    pv_draw_arrow(&board->d, b, pv_scale(ahead, way), PV_ARROW);
    pv_draw_fill(&board->d, pv_ink, false);
    if (!words)
        middle = pv_along(b, ahead, fmax(tail, PV_ARROW) + width / 2);
    pv_letter_dual(board, middle, said, PV_ALIGN_MIDDLE, turned);
}

/* ---- lengths ---- */

pv_number pv_number_said(double value)
{
    pv_number said;
    snprintf(said.chars, sizeof said.chars, "%.31s", pv_fixed(value, 2).chars);
    char *end = said.chars + strlen(said.chars);
    if (strchr(said.chars, '.') != NULL)
        while (end[-1] == '0')
            *--end = '\0';
    if (end > said.chars && end[-1] == '.')
        *--end = '\0';
    return said;
}

pv_dual pv_length_said(double mm)
{
    pv_dual said;
    snprintf(said.over, sizeof said.over, "%s", pv_number_said(mm).chars);
    snprintf(said.under, sizeof said.under, "[%.20s]", pv_fixed(mm / PV_MM_PER_IN, 2).chars);
    return said;
}
