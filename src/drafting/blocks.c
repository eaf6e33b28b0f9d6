#include "drafting/blocks.h"

#include "base/text.h"
#include "drafting/scales.h"
#include "draw/strokes.h"

#include <pavior/pavior.h>

#include <stdio.h>
#include <string.h>

#define LABEL 1.8 /* mm: names of fields */
#define INSET 2.0
#define HEAD  6.0 /* what a block's heading takes */
#define LINE  4.6 /* from one base line to the next */

static const pv_lettered plain = {PV_LETTER, PV_ALIGN_LEFT, false, false};
static const pv_lettered bold = {PV_LETTER, PV_ALIGN_LEFT, false, true};

void pv_letter_within(pv_board *board, pv_vec at, const char *text, pv_lettered how, double width)
{
    double has = pv_text_width(board, text, &how);
    if (has > width)
        how.height *= width / has;
    pv_letter(board, at, text, &how);
}

/* ---- title block ---- */

static void field(pv_board *board, pv_box box, const char *name, const char *value, double height)
{
    pv_draw_frame(&board->d, box, PV_NARROW);
    pv_draw_fill(&board->d, pv_ink, false);
    pv_lettered label = {LABEL, PV_ALIGN_LEFT, false, false};
    pv_lettered text = {height, PV_ALIGN_LEFT, false, height > PV_LETTER};
    pv_letter(board, pv_v(box.lo.x + 1, box.hi.y - LABEL - 0.8), name, &label);
    pv_letter_within(board, pv_v(box.lo.x + INSET, box.lo.y + 0.6 + 0.4 * height), value, text,
                     box.hi.x - box.lo.x - 2 * INSET);
}

/* A row of a table: `n` fields side by side, their right ends in parts of the width. */
typedef struct column {
    double to;
    const char *name, *value;
} column;

static double row(pv_board *board, pv_box block, double top, double height, const column *columns,
                  size_t n, double letter)
{
    double width = block.hi.x - block.lo.x, from = 0;
    for (size_t i = 0; i < n; i++) {
        field(board,
              (pv_box){{block.lo.x + from * width, top - height},
                       {block.lo.x + columns[i].to * width, top}},
              columns[i].name, columns[i].value, letter);
        from = columns[i].to;
    }
    return top - height;
}

static void title_block(pv_board *board, const pv_sheet_facts *facts, pv_box box)
{
    const pv_art *art = &board->course->art;
    const pv_language *l = board->language;
    double top = box.hi.y;
    top = row(board, box, top, 14, (column[]){{1, pv_say(l, "Title"), art->name}}, 1, 5);
    top = row(board, box, top, 8,
              (column[]){{0.62, pv_say(l, "Document"), pv_say(l, "Dimension drawing")},
                         {1, pv_say(l, "Edition"), art->edition}},
              2, PV_LETTER);
    bool known = facts->identity != NULL;
    top = row(board, box, top, 8,
              (column[]){{0.31, pv_say(l, "Scale"), facts->scale},
                         {known ? 0.62 : 1, pv_say(l, "Units"), "mm [in]"},
                         {1, pv_say(l, "Identity"), facts->identity}},
              known ? 3 : 2, PV_LETTER);
    top = row(board, box, top, 8,
              (column[]){{0.31, pv_say(l, "Paper"), facts->paper},
                         {0.62, pv_say(l, "Sheet"), pv_say(l, "1 of 1")},
                         {1, pv_say(l, "Made by"), "pavior " PV_VERSION_STRING}},
              3, PV_LETTER);
    row(board, box, top, top - box.lo.y,
        (column[]){{1, pv_say(l, "Rules"), pv_say(l, "In the manner of ISO 128 and ISO 129-1")}}, 1,
        PV_LETTER);
    pv_draw_frame(&board->d, box, PV_WIDE);
    pv_draw_fill(&board->d, pv_ink, false);
}

/* ---- notes ---- */

/* A list of lines from the top of a block, as far as they fit. */
typedef struct list {
    pv_board *board;
    pv_box box;
    double y;
} list;

static list begin(pv_board *board, pv_box box, const char *head)
{
    list l = {board, box, box.hi.y - INSET - PV_LETTER};
    pv_letter(board, pv_v(box.lo.x + INSET, l.y), head, &bold);
    l.y -= LINE + 0.4;
    return l;
}

static bool room(const list *l)
{
    return l->y > l->box.lo.y + 1;
}

static void say(list *l, const char *name, const char *value)
{
    if (!room(l))
        return;
    double width = l->box.hi.x - l->box.lo.x - 2 * INSET;
    double from = value != NULL ? 36 : 0;
    if (value != NULL)
        pv_letter_within(l->board, pv_v(l->box.lo.x + INSET, l->y), name, plain, from - 1);
    pv_letter_within(l->board, pv_v(l->box.lo.x + INSET + from, l->y), value != NULL ? value : name,
                     plain, width - from);
    l->y -= LINE;
}

/* All tolerances are to either side, straightness as well: of a line's best fit. */
static void within(char *to, size_t size, double mm)
{
    snprintf(to, size, "±%.20s [%.20s]", pv_number_said(mm).chars,
             pv_fixed(mm / PV_MM_PER_IN, 3).chars);
}

static void notes_block(pv_board *board, const pv_sheet_facts *facts, pv_box box)
{
    const pv_tolerances *t = &board->course->art.tolerances;
    char value[96];
    list l = begin(board, box, pv_say(board->language, "Tolerances"));
    snprintf(value, sizeof value, "±%.20s %%", pv_number_said(100 * t->scale).chars);
    say(&l, pv_say(board->language, "Scale"), value);
    within(value, sizeof value, t->width);
    say(&l, pv_say(board->language, "Line width"), value);
    within(value, sizeof value, t->spacing);
    say(&l, pv_say(board->language, "Line spacing"), value);
    within(value, sizeof value, t->straight);
    say(&l, pv_say(board->language, "Straightness"), value);
    snprintf(value, sizeof value, "±%.20s mrad", pv_number_said(t->skew).chars);
    say(&l, pv_say(board->language, "Right angle"), value);
    say(&l, pv_say(board->language, "Positions are of centre lines, from the lower left corner."),
        NULL);
    if (facts->left_out > 0) {
        snprintf(value, sizeof value,
                 pv_say_count(board->language, "%zu more position stands in the course file.",
                              "%zu more positions stand in the course file.", facts->left_out),
                 facts->left_out);
        say(&l, value, NULL);
    }
}

/* ---- robot and colours ---- */

#define ASIDE 5.0 /* mm from the robot to its dimension lines */

void pv_robot_draw(pv_board *board, pv_box box, char *said)
{
    const pv_robot *robot = &board->course->robot;
    pv_vec room = pv_v(box.hi.x - box.lo.x - 46, box.hi.y - box.lo.y - 20);
    double scale = pv_scale_for(fmin(room.x / robot->length, room.y / robot->width), said);
    pv_vec size = pv_scale(pv_v(robot->length, robot->width), scale);
    pv_vec lo =
        pv_v(box.lo.x + 24 + (room.x - size.x) / 2, box.lo.y + 10.5 + (room.y - size.y) / 2);
    pv_box body = {lo, pv_add(lo, size)};
    pv_vec pivot = pv_v(lo.x + robot->pivot * scale, lo.y + size.y / 2);
    pv_draw_frame(&board->d, body, PV_WIDE);
    pv_draw_arrow(&board->d, pv_v(body.hi.x + 7, pivot.y), pv_v(1, 0), PV_ARROW);
    pv_draw_circle(&board->d, pivot, 1.2, PV_NARROW);
    pv_draw_fill(&board->d, pv_ink, false);
    pv_board_rule(board, pv_v(pivot.x - 3, pivot.y), pv_v(body.hi.x + 6, pivot.y));
    pv_board_rule(board, pv_v(pivot.x, body.lo.y - ASIDE - PV_OVERSHOOT),
                  pv_v(pivot.x, pivot.y + 3));
    pv_board_rule(board, pv_v(body.lo.x, body.lo.y - PV_GAP),
                  pv_v(body.lo.x, body.lo.y - ASIDE - PV_OVERSHOOT));
    pv_dimension(board, pv_v(body.lo.x, body.lo.y - ASIDE), pv_v(pivot.x, body.lo.y - ASIDE),
                 &(pv_dual[]){pv_length_said(robot->pivot)}[0]);
    for (int end = 0; end < 2; end++) {
        double x = end == 0 ? body.lo.x : body.hi.x, y = end == 0 ? body.lo.y : body.hi.y;
        pv_board_rule(board, pv_v(x, body.hi.y + PV_GAP),
                      pv_v(x, body.hi.y + ASIDE + PV_OVERSHOOT));
        pv_board_rule(board, pv_v(body.lo.x - PV_GAP, y),
                      pv_v(body.lo.x - ASIDE - PV_OVERSHOOT, y));
    }
    pv_dimension(board, pv_v(body.lo.x, body.hi.y + ASIDE), pv_v(body.hi.x, body.hi.y + ASIDE),
                 &(pv_dual[]){pv_length_said(robot->length)}[0]);
    pv_dimension(board, pv_v(body.lo.x - ASIDE, body.lo.y), pv_v(body.lo.x - ASIDE, body.hi.y),
                 &(pv_dual[]){pv_length_said(robot->width)}[0]);
}

static void robot_block(pv_board *board, pv_box box)
{
    const pv_robot *robot = &board->course->robot;
    char head[96], said[24];
    snprintf(head, sizeof head, "%.90s", pv_say(board->language, "Robot: none stated"));
    if (robot->given) {
        pv_robot_draw(board, (pv_box){box.lo, {box.hi.x, box.hi.y - HEAD}}, said);
        snprintf(head, sizeof head, pv_say(board->language, "Robot with its pivot, %s"), said);
    }
    begin(board, box, head);
}

static bool uses(const pv_art *art, size_t colour)
{
    bool used = art->ground == colour;
    for (size_t i = 0; i < art->n_lines && !used; i++)
        used = art->lines[i].colour == colour;
    for (size_t i = 0; i < art->n_fills && !used; i++)
        used = art->fills[i].colour == colour;
    for (size_t i = 0; i < art->n_marks && !used; i++)
        used = art->marks[i].colour == colour;
    for (size_t i = 0; i < art->n_letterings && !used; i++)
        used = art->letterings[i].colour == colour;
    return used;
}

static void colours_block(pv_board *board, pv_box box)
{
    const pv_art *art = &board->course->art;
    list l = begin(board, box, pv_say(board->language, "Colours (drawn pale)"));
    size_t left = 0;
    for (size_t i = 0; i < art->n_colours; i++)
        left += uses(art, i);
    for (size_t i = 0; i < art->n_colours && left > 0; i++) {
        const pv_colour *c = &art->colours[i];
        if (!uses(art, i))
            continue;
        char value[96];
        if (l.y < box.lo.y + 1 + LINE && left > 1) {
            snprintf(value, sizeof value, pv_say(board->language, "and %zu more"), left);
            say(&l, value, NULL);
            break;
        }
        left--;
        pv_box swatch = {{box.lo.x + INSET, l.y - 0.6}, {box.lo.x + INSET + 8, l.y + 2.8}};
        pv_draw_box(&board->d, swatch);
        pv_draw_fill(&board->d, c->rgb, false);
        pv_draw_frame(&board->d, swatch, PV_NARROW);
        pv_draw_fill(&board->d, pv_ink, false);
        snprintf(value, sizeof value, "sRGB %d %d %d", c->rgb[0], c->rgb[1], c->rgb[2]);
        pv_letter_within(board, pv_v(box.lo.x + INSET + 10, l.y), c->name, plain, 33);
        pv_letter_within(board, pv_v(box.lo.x + INSET + 45, l.y), value, plain, 35);
        l.y -= LINE;
    }
}

void pv_blocks_draw(pv_board *board, const pv_sheet_facts *facts, const pv_box *place, size_t n)
{
    for (size_t i = 0; i < n && i < PV_BLOCKS; i++) {
        pv_draw_frame(&board->d, place[i], PV_NARROW);
        pv_draw_fill(&board->d, pv_ink, false);
        if (i == 0)
            title_block(board, facts, place[i]);
        else if (i == 1)
            notes_block(board, facts, place[i]);
        else if (i == 2)
            robot_block(board, place[i]);
        else
            colours_block(board, place[i]);
    }
}
