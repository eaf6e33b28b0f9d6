#include "drafting/notes.h"

#include "base/text.h"
#include "draw/strokes.h"

#include <stdio.h>

#define DOT     0.5 /* mm, radius of the dot that ends a leader within an area (ISO 128-2) */
#define CLEAR   0.8 /* about a text */
#define N_REACH 6   /* how long a leader's slanting part is tried */
#define N_WAYS  16  /* and in how many directions */

/* What places cost, in mm of leader; assumed, by the look of the layouts. */
#define CROSSED 8.0  /* a rule that the leader crosses */
#define CROSSES 45.0 /* a rule that crosses the text */
#define ON_ART  90.0 /* a text over the edge between two colours */
#define HIDDEN  40.0 /* a leader to where another thing covers what it is about */

static const double reach[N_REACH] = {6, 10, 15, 22, 32, 45};

/* ---- words ---- */

static pv_dual finish_words(const pv_board *board)
{
    pv_box box = pv_area_box(&board->course->finish.outline);
    pv_vec by = pv_sub(box.hi, box.lo);
    pv_dual x = pv_length_said(by.x), y = pv_length_said(by.y), said;
    /* In parentheses: the lines around it have their dimensions already. */
    snprintf(said.over, sizeof said.over, pv_say(board->language, "FINISH (%.12s × %.12s)"), x.over,
             y.over);
    snprintf(said.under, sizeof said.under, "([%.12s × %.12s])",
             pv_fixed(by.x / PV_MM_PER_IN, 2).chars, pv_fixed(by.y / PV_MM_PER_IN, 2).chars);
    return said;
}

pv_dual pv_note_words(const pv_board *board, const pv_note_item *note)
{
    pv_dual said = pv_length_said(note->value);
    char times[24] = "", mm[24];
    if (note->count > 1)
        snprintf(times, sizeof times, "%zu× ", note->count);
    snprintf(mm, sizeof mm, "%.20s", said.over);
    switch (note->kind) {
    case PV_NOTE_WIDTH:
        snprintf(said.over, sizeof said.over, pv_say(board->language, "%sline %s wide"), times, mm);
        break;
    case PV_NOTE_RADIUS:
        snprintf(said.over, sizeof said.over, "%sR%s", times, mm);
        break;
    case PV_NOTE_DIAMETER:
        snprintf(said.over, sizeof said.over, "%sØ%s", times, mm);
        break;
    case PV_NOTE_ANGLE:
        snprintf(said.over, sizeof said.over, "%s(%s°)", times, mm);
        said.under[0] = '\0';
        break;
    case PV_NOTE_START:
        snprintf(said.over, sizeof said.over, pv_say(board->language, "START mark %s"), mm);
        snprintf(said.under, sizeof said.under, pv_say(board->language, "[%.12s], heading %.8s°"),
                 pv_fixed(note->value / PV_MM_PER_IN, 2).chars,
                 pv_number_said(board->course->start.heading * 180 / PV_PI).chars);
        break;
    case PV_NOTE_FINISH:
        return finish_words(board);
    }
    return said;
}

/* ---- where ---- */

/* A place that a note could have: the leader from its tip to the knee, and the text on a line from
 * there, to the right or the left. */
typedef struct place {
    pv_vec tip, knee;
    bool arrow; /* else a dot */
    pv_vec way; /* unit, from the tip */
    pv_box text;
    bool left;
    bool bare; /* the text stands on what it is about: no leader */
    double cost;
} place;

typedef struct search {
    pv_board *board;
    const pv_note_item *note;
    pv_dual words;
    pv_box room;
    pv_look *look;
    place best;
    bool found;
} search;

static pv_box on_mat(const pv_board *board, pv_box paper)
{
    return (pv_box){pv_scale(pv_sub(paper.lo, board->at), 1 / board->scale),
                    pv_scale(pv_sub(paper.hi, board->at), 1 / board->scale)};
}

static bool within(pv_box outer, pv_box inner)
{
    return outer.lo.x <= inner.lo.x && outer.lo.y <= inner.lo.y && inner.hi.x <= outer.hi.x &&
           inner.hi.y <= outer.hi.y;
}

/* What a place costs, or HUGE_VAL where it is none. */
static double cost_of(search *s, const place *p)
{
    size_t crossed = 0, by_leader = 0;
    pv_box text = pv_box_grow(p->text, CLEAR);
    if (!within(s->room, text) || !pv_board_free(s->board, text, &crossed))
        return HUGE_VAL;
    if (!pv_scene_find(s->board->mat, on_mat(s->board, text), s->look))
        return HUGE_VAL;
    for (size_t i = 0; i < s->look->n; i++)
        if (s->look->items[i]->kind == PV_ITEM_TEXT)
            return HUGE_VAL;
    double cost = pv_dist(p->tip, p->knee) + CROSSES * (double)crossed;
    if (!pv_board_clear(s->board, p->tip, p->knee, &by_leader))
        return HUGE_VAL;
    cost += CROSSED * (double)by_leader;
    size_t colour;
    if (!pv_scene_plain(s->board->mat, on_mat(s->board, text), &colour, s->look))
        cost += ON_ART;
    return cost;
}

static void consider(search *s, const pv_note_target *target, pv_vec way, bool arrow, double length,
                     bool left)
{
    pv_vec tip = pv_on_paper(s->board, target->at);
    place p = {.tip = tip, .way = way, .arrow = arrow, .left = left};
    p.knee = pv_along(tip, way, length);
    p.text = pv_dual_box(s->board, pv_add(p.knee, pv_v(left ? -1 : 1, 0)), &s->words,
                         left ? PV_ALIGN_RIGHT : PV_ALIGN_LEFT, false);
    p.cost = cost_of(s, &p);
    if (p.cost < HUGE_VAL && s->note->kind == PV_NOTE_WIDTH) {
        pv_spot spot = pv_scene_at(s->board->mat, target->at);
        bool shown = spot.line >= 0 &&
                     fabs(s->board->course->art.lines[spot.line].width - s->note->value) < PV_SAME;
        p.cost += shown ? 0 : HIDDEN;
    }
    if (p.cost < (s->found ? s->best.cost : HUGE_VAL)) {
        s->best = p;
        s->found = true;
    }
}

/* A text within the area that it is about. */
static void consider_bare(search *s, const pv_note_target *target)
{
    place p = {.tip = pv_on_paper(s->board, target->at), .bare = true};
    p.knee = p.tip;
    p.text = pv_dual_box(s->board, p.tip, &s->words, PV_ALIGN_MIDDLE, false);
    p.cost = cost_of(s, &p);
    if (p.cost < (s->found ? s->best.cost : HUGE_VAL)) {
        s->best = p;
        s->found = true;
    }
}

static void consider_target(search *s, const pv_note_target *target)
{
    if (s->note->kind == PV_NOTE_FINISH)
        consider_bare(s, target);
    bool radial = pv_len(target->out) > 0;
    for (int k = 0; k < N_REACH; k++) {
        if (radial) {
            /* From outside the arc and from within it. */
            for (int side = -1; side <= 1; side += 2) {
                pv_vec way = pv_scale(target->out, side);
                consider(s, target, way, true, reach[k], way.x < 0);
            }
            continue;
        }
        for (int i = 0; i < N_WAYS; i++) {
            double angle = (i + 0.5) * 2 * PV_PI / N_WAYS;
            pv_vec way = pv_polar(1, angle);
            consider(s, target, way, false, reach[k], way.x < 0);
        }
    }
}

static void draw_place(search *s)
{
    pv_board *board = s->board;
    const place *p = &s->best;
    if (p->bare) {
        pv_letter_dual(board, p->tip, &s->words, PV_ALIGN_MIDDLE, false);
        return;
    }
    pv_vec end = pv_v(p->left ? p->text.lo.x - 1 : p->text.hi.x + 1, p->knee.y);
    pv_board_rule(board, p->tip, p->knee);
    pv_board_rule(board, p->knee, end);
    if (p->arrow)
        pv_draw_arrow(&board->d, p->tip, pv_scale(p->way, -1), PV_ARROW);
    else
        pv_draw_disc(&board->d, p->tip, DOT);
    pv_draw_fill(&board->d, pv_ink, false);
    pv_letter_dual(board, pv_v(p->text.lo.x, p->knee.y), &s->words, PV_ALIGN_LEFT, false);
}

bool pv_note_draw(pv_board *board, const pv_note_item *note, pv_box room, pv_look *look)
{
    search s = {.board = board,
                .note = note,
                .words = pv_note_words(board, note),
                .room = room,
                .look = look};
    for (size_t i = 0; i < note->n_targets && !board->d.failed; i++)
        consider_target(&s, &note->targets[i]);
    if (look->failed)
        board->d.failed = true;
    if (s.found)
        draw_place(&s);
    return s.found;
}
