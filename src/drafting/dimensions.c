/* The dimension drawing as a whole: the sheet, the scale, and what is drawn in which order. */
#include "base/memory.h"
#include "base/text.h"
#include "drafting/blocks.h"
#include "drafting/features.h"
#include "drafting/lanes.h"
#include "drafting/notes.h"
#include "drafting/scales.h"
#include "draw/backend.h"
#include "draw/strokes.h"
#include "paper/paper.h"

#include <pavior/drawing.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define BORDER      10.0  /* mm from the paper's edge to the frame (ISO 5457) */
#define BORDER_FILE 20.0  /* at the left, for filing */
#define SPARE       1.0   /* between the lanes and the frame */
#define SIDE_MIN    180.0 /* mm, the paper's: blocks of 84 mm and something beside them */
#define SLANT_MIN   12.0  /* mm on paper, of a piece whose angle is said; assumed */
#define TRIES       30    /* scales, of which three are ten times apart */
#define PALE        0.35  /* of each colour */
#define CENTRED_MAX 4000u /* pieces whose centre lines are drawn; with more, nobody sees them */

static const pv_drawing_options defaults = {sizeof defaults, NULL, NULL, NULL};

void pv_drawing_init_options(pv_drawing_options *options, size_t size)
{
    pv_give_options(options, size, &defaults, sizeof defaults);
}

typedef struct drawing {
    pv_board board;
    pv_drawing_options how;
    char *paper;          /* its name */
    double width, height; /* lying */
    pv_box frame, room;   /* the sheet's frame; what of it the mat and its lanes have */
    pv_box blocks[PV_BLOCKS];
    pv_features features;
    pv_lanes lanes;
    double depth[PV_LANE_SIDES];
    pv_sheet_facts facts;
} drawing;

static void drop(drawing *w)
{
    pv_board_close(&w->board);
    pv_features_drop(&w->features);
    pv_lanes_drop(&w->lanes);
    free(w->paper);
}

/* ---- arranging ---- */

/* The blocks in a column at the right, or in a row at the bottom; the title block in the corner. */
static void place_blocks(const drawing *w, bool column, pv_box *room, pv_box blocks[PV_BLOCKS])
{
    pv_vec corner = pv_v(w->frame.hi.x, w->frame.lo.y);
    for (int i = 0; i < PV_BLOCKS; i++) {
        pv_vec right = column ? pv_v(corner.x, corner.y + PV_BLOCK_HEIGHT * i)
                              : pv_v(corner.x - PV_BLOCK_WIDTH * i, corner.y);
        blocks[i] =
            (pv_box){{right.x - PV_BLOCK_WIDTH, right.y}, {right.x, right.y + PV_BLOCK_HEIGHT}};
    }
    *room = pv_box_grow(w->frame, -SPARE);
    if (column)
        room->hi.x -= PV_BLOCK_WIDTH;
    else
        room->lo.y += PV_BLOCK_HEIGHT;
}

/* Blocks that have room on the sheet. */
static size_t blocks_within(const drawing *w)
{
    size_t n = 0;
    for (size_t i = 0; i < PV_BLOCKS; i++)
        n += w->blocks[i].lo.x >= w->frame.lo.x - 0.1 && w->blocks[i].hi.y <= w->frame.hi.y + 0.1;
    return n;
}

/* Whether the mat and its lanes have room at a scale. */
static bool fits(drawing *w, pv_box room, double scale)
{
    pv_vec size = w->board.course->art.size;
    for (int s = 0; s < PV_LANE_SIDES; s++)
        w->depth[s] = pv_side_depth(&w->board, &w->lanes.side[s], scale);
    return size.x * scale + w->depth[2] + w->depth[3] <= room.hi.x - room.lo.x &&
           size.y * scale + w->depth[0] + w->depth[1] <= room.hi.y - room.lo.y;
}

/* The largest scale with the blocks in a column or in a row. */
static double scale_for(drawing *w, pv_box room, size_t most_parallel, char *said)
{
    pv_vec size = w->board.course->art.size, has = pv_sub(room.hi, room.lo);
    for (int s = 0; s < PV_LANE_SIDES; s++)
        w->lanes.side[s].most_parallel = most_parallel;
    double scale = pv_scale_for(fmin(has.x / size.x, has.y / size.y), said);
    for (int tries = 0; tries < TRIES && !fits(w, room, scale); tries++)
        scale = pv_scale_below(scale, said);
    return scale;
}

static void arrange(drawing *w)
{
    static const size_t parallel[2] = {PV_PARALLEL_MAX, PV_PARALLEL_SMALL};
    double best = 0;
    size_t most = 0;
    for (int way = 0; way < 4; way++) {
        pv_box room, blocks[PV_BLOCKS];
        char said[24];
        place_blocks(w, way % 2 == 0, &room, blocks);
        double scale = scale_for(w, room, parallel[way / 2], said);
        if (scale <= best)
            continue;
        best = scale;
        most = parallel[way / 2];
        w->room = room;
        memcpy(w->blocks, blocks, sizeof blocks);
        snprintf(w->facts.scale, sizeof w->facts.scale, "%s", said);
    }
    for (int s = 0; s < PV_LANE_SIDES; s++)
        w->lanes.side[s].most_parallel = most;
    pv_vec size = w->board.course->art.size;
    w->board.scale = best;
    fits(w, w->room, best);
    /* In the middle of the room, lanes and all. */
    pv_vec spare = pv_sub(pv_sub(w->room.hi, w->room.lo), pv_scale(size, best));
    w->board.at = pv_v(w->room.lo.x + w->depth[2] + (spare.x - w->depth[2] - w->depth[3]) / 2,
                       w->room.lo.y + w->depth[0] + (spare.y - w->depth[0] - w->depth[1]) / 2);
}

/* ---- drawing ---- */

/* Long dashes and dots (ISO 128-2, type 04: 24, 3, 0.5 and 3 line widths). */
static const double chain[4] = {24 * PV_NARROW, 3 * PV_NARROW, 0.5 * PV_NARROW, 3 * PV_NARROW};

static pv_piece on_paper(const pv_board *board, const pv_piece *piece)
{
    if (piece->arc)
        return pv_arc(pv_on_paper(board, piece->centre), piece->radius * board->scale, piece->from,
                      piece->sweep);
    return pv_segment(pv_on_paper(board, piece->a), pv_on_paper(board, piece->b));
}

#define SEEN 1.0 /* mm: thinner lines are centre line enough */
#define MARK 2.0 /* mm, half of a centre mark */

static void draw_centres(pv_board *board)
{
    const pv_art *art = &board->course->art;
    size_t pieces = 0;
    for (size_t i = 0; i < art->n_lines; i++)
        pieces += art->lines[i].n_pieces;
    if (pieces > CENTRED_MAX)
        return;
    pv_draw_box(&board->d, pv_box_grow(pv_mat_on_paper(board), PV_WIDE));
    pv_draw_clip(&board->d);
    for (size_t i = 0; i < art->n_lines; i++)
        for (size_t k = 0; k < art->lines[i].n_pieces; k++) {
            pv_piece piece = on_paper(board, &art->lines[i].pieces[k]);
            if (art->lines[i].width * board->scale >= SEEN)
                pv_draw_dashes(&board->d, &piece, PV_NARROW, chain, 4);
            if (!piece.arc)
                continue;
            double arm = fabs(piece.sweep) > 6.28 ? piece.radius + MARK : MARK;
            for (int axis = 0; axis < 2; axis++) {
                pv_vec reach = axis == 0 ? pv_v(arm, 0) : pv_v(0, arm);
                pv_board_rule_late(board, pv_sub(piece.centre, reach), pv_add(piece.centre, reach),
                                   pv_ink);
            }
        }
    pv_draw_fill(&board->d, pv_ink, false);
    pv_draw_end_clip(&board->d);
}

static void draw_notes(drawing *w)
{
    pv_look look = {0};
    pv_box room = pv_box_grow(pv_mat_on_paper(&w->board), -PV_GAP);
    const pv_note_item *aside[PV_NOTES_MAX];
    size_t n = 0;
    for (size_t i = 0; i < w->features.n_notes; i++) {
        const pv_note_item *note = &w->features.notes[i];
        /* What slants has its ends' positions; where it is short, the angle helps nobody. */
        bool idle = note->kind == PV_NOTE_ANGLE && note->longest * w->board.scale < SLANT_MIN;
        if (!idle && !pv_note_draw(&w->board, note, room, &look))
            aside[n++] = note;
    }
    pv_look_drop(&look);
    pv_notes_aside(&w->board, aside, n, w->features.more, w->room);
}

static void draw_sheet(drawing *w)
{
    pv_board *board = &w->board;
    pv_board_mat(board, pv_mat_on_paper(board), PALE);
    draw_centres(board);
    pv_draw_frame(&board->d, pv_mat_on_paper(board), PV_WIDE);
    pv_draw_frame(&board->d, w->frame, PV_FRAME);
    pv_draw_fill(&board->d, pv_ink, false);
    pv_lanes_draw(board, &w->lanes);
    draw_notes(w);
    pv_board_draw_late(board);
    w->facts.left_out = w->lanes.left_out;
    pv_blocks_draw(board, &w->facts, w->blocks, blocks_within(w));
}

/* False with a reason; drop it either way. */
static bool make(drawing *w, const pv_course *course, const pv_drawing_options *options,
                 pv_diags *diags)
{
    *w = (drawing){.how = defaults};
    pv_take_options(&w->how, sizeof w->how, options);
    double sides[2];
    if (!pv_paper_find(w->how.paper != NULL ? w->how.paper : "A3", &w->paper, &sides[0], &sides[1],
                       diags))
        return false;
    if (sides[0] < SIDE_MIN) {
        pv_fail(diags, PV_CAUSE_USAGE,
                "a dimension drawing needs paper at least %.0f mm wide: %s is %s mm", SIDE_MIN,
                w->paper, pv_number_said(sides[0]).chars);
        return false;
    }
    w->width = sides[1];
    w->height = sides[0];
    w->frame = (pv_box){{BORDER_FILE, BORDER}, {w->width - BORDER, w->height - BORDER}};
    w->facts = (pv_sheet_facts){.identity = w->how.identity, .paper = w->paper};
    pv_board_open(&w->board, course, w->width, w->height);
    w->board.language = w->how.language;
    if (w->board.d.failed || !pv_features_find(course, &w->features) ||
        !pv_lanes_make(&w->board, &w->features, &w->lanes)) {
        pv_fail_memory(diags);
        return false;
    }
    arrange(w);
    draw_sheet(w);
    return true;
}

char *pv_dimensions_svg(const pv_course *course, const pv_drawing_options *options, pv_diags *diags)
{
    drawing w;
    char *svg = make(&w, course, options, diags) ? pv_svg(&w.board.d, diags) : NULL;
    drop(&w);
    return svg;
}

bool pv_dimensions_pdf(const pv_course *course, const pv_drawing_options *options,
                       unsigned char **bytes, size_t *size, pv_diags *diags)
{
    *bytes = NULL;
    *size = 0;
    drawing w;
    bool good = make(&w, course, options, diags);
    pv_pdf *pdf = good ? pv_pdf_new(course->art.name, course->type, diags) : NULL;
    good = pdf != NULL && pv_pdf_page(pdf, &w.board.d, diags) &&
           pv_pdf_finish(pdf, bytes, size, diags);
    pv_pdf_free(pdf);
    drop(&w);
    return good;
}
