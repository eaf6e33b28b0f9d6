#include "drafting/notes.h"

#include "base/text.h"
#include "draw/strokes.h"

#include <stdio.h>

#define DOT     0.5 /* mm, radius of the dot that ends a leader within an area (ISO 128-2) */
#define CLEAR   1.0 /* about a text */
#define N_REACH 8   /* how long a leader's slanting part is tried */
#define N_WAYS  16  /* and in how many directions */
#define LANDING 1.0 /* mm, of a leader's level part before its text, at least */
#define BACK    (PV_LIFT + 1.3 * PV_LETTER)
#define STEEP   0.6 /* across, of a leader from which texts may lead either way */

/* What places cost, in mm of leader; assumed, by the look of the layouts. */
#define CROSSED 8.0  /* a rule that the leader crosses */
#define BREAKS  6.0  /* a line that the text breaks, and its length there */
#define HIDDEN  40.0 /* a leader to where another thing covers what it is about */

static const double reach[N_REACH] = {6, 10, 15, 22, 32, 45, 60, 80};

/* ---- words ---- */

static pv_dual finish_words(const pv_board *board)
{
    pv_box box = pv_area_box(&board->course->finish.outline);
    pv_vec by = pv_sub(box.hi, box.lo);
    pv_dual x = pv_length_said(by.x), y = pv_length_said(by.y), said;
    /* In parentheses: the lines around it have their dimensions already. */
    snprintf(said.over, sizeof said.over, pv_say(board->language, "FINISH (%.12s × %.12s)"), x.over,
             y.over);
    snprintf(said.under, sizeof said.under, "[%.12s × %.12s]",
             pv_fixed(by.x / PV_MM_PER_IN, 2).chars, pv_fixed(by.y / PV_MM_PER_IN, 2).chars);
    return said;
}

/* In degrees from 0 to 360: "heading 270", not "-90". */
static double heading_of(const pv_start *start)
{
    double degrees = round(start->heading * 180 / PV_PI * 100) / 100;
    return degrees - 360 * floor(degrees / 360);
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
        snprintf(said.over, sizeof said.over,
                 note->colours ? pv_say(board->language, "%sline %s wide, all colours")
                               : pv_say(board->language, "%sline %s wide"),
                 times, mm);
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
                 pv_number_said(heading_of(&board->course->start)).chars);
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
    size_t breaks = 0, by_leader = 0;
    double length = 0;
    pv_box text = pv_box_grow(p->text, CLEAR);
    if (!within(s->room, text) || !pv_board_free(s->board, text, &breaks, &length))
        return HUGE_VAL;
    double cost = pv_dist(p->tip, p->knee) + BREAKS * (double)breaks + length;
    if (!pv_board_clear(s->board, p->tip, p->knee, &by_leader))
        return HUGE_VAL;
    cost += CROSSED * (double)by_leader;
    size_t colour;
    return pv_scene_plain(s->board->mat, on_mat(s->board, text), &colour, s->look) ? cost
                                                                                   : HUGE_VAL;
}

static void consider(search *s, const pv_note_target *target, pv_vec way, bool arrow, double length,
                     bool left)
{
    pv_vec tip = pv_on_paper(s->board, target->at);
    place p = {.tip = tip, .way = way, .arrow = arrow, .left = left};
    p.knee = pv_along(tip, way, length);
    /* Where the text leads back over the leader, it begins once the leader is below or above it. */
    double gap = left == (way.x < 0) ? LANDING : LANDING + BACK * fabs(way.x / way.y);
    p.text = pv_dual_box(s->board, pv_add(p.knee, pv_v(left ? -gap : gap, 0)), &s->words,
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
            pv_vec way = pv_polar(1, (i + 0.5) * 2 * PV_PI / N_WAYS);
            consider(s, target, way, false, reach[k], way.x < 0);
            if (fabs(way.x) < STEEP)
                consider(s, target, way, false, reach[k], way.x > 0);
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
    pv_vec end = pv_v(p->left ? p->text.lo.x - LANDING : p->text.hi.x + LANDING, p->knee.y);
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

/* ---- aside ---- */

#define LINE 4.6 /* mm from one base line to the next */
#define OFF  3.0 /* about the list */
#define STEP 5.0 /* from one place that is tried to the next; assumed */

typedef struct aside {
    char words[160];
} aside;

static aside aside_words(const pv_board *board, const pv_note_item *note)
{
    aside said;
    pv_dual dual = pv_note_words(board, note);
    snprintf(said.words, sizeof said.words, "%s %s", dual.over, dual.under);
    return said;
}

static const pv_lettered aside_how = {PV_LETTER, PV_ALIGN_LEFT, false, false};

/* The uppermost free place for a box of this size: its upper left corner. */
static bool free_place(const pv_board *board, pv_vec size, pv_box room, pv_vec *corner)
{
    pv_box mat = pv_box_grow(pv_mat_on_paper(board), OFF), inner = pv_box_grow(room, -OFF);
    pv_vec spare = pv_sub(pv_sub(inner.hi, inner.lo), size);
    int across = (int)floor(spare.x / STEP), down = (int)floor(spare.y / STEP);
    for (int k = 0; k <= down; k++)
        for (int i = 0; i <= across; i++) {
            size_t breaks;
            double length;
            *corner = pv_v(inner.lo.x + STEP * i, inner.hi.y - STEP * k);
            pv_box box = {{corner->x, corner->y - size.y}, {corner->x + size.x, corner->y}};
            if (!pv_box_meets(mat, box) &&
                pv_board_free(board, pv_box_grow(box, OFF), &breaks, &length))
                return true;
        }
    return false;
}

void pv_notes_aside(pv_board *board, const pv_note_item *const *notes, size_t n, size_t more,
                    pv_box room)
{
    char rest[96];
    pv_vec size = {0, 0}, at = {0, 0};
    size_t shown = n;
    snprintf(rest, sizeof rest, pv_say(board->language, "and %zu more"), n + more);
    size.x = pv_text_width(board, rest, &aside_how);
    for (size_t i = 0; i < n; i++)
        size.x = fmax(size.x, pv_text_width(board, aside_words(board, notes[i]).words, &aside_how));
    /* Half as many where all have no room, and so on. */
    for (bool found = false; !found; shown = found ? shown : shown / 2) {
        size.y = LINE * (double)(shown + (shown < n + more));
        found = size.y == 0 || free_place(board, size, room, &at);
        if (!found && shown == 0)
            return;
    }
    for (size_t i = 0; i < shown; i++)
        pv_letter(board, pv_v(at.x, at.y - LINE * (double)i - PV_LETTER),
                  aside_words(board, notes[i]).words, &aside_how);
    if (shown == n + more)
        return;
    snprintf(rest, sizeof rest, pv_say(board->language, "and %zu more"), n + more - shown);
    pv_letter(board, pv_v(at.x, at.y - LINE * (double)shown - PV_LETTER), rest, &aside_how);
}
