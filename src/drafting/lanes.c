#include "drafting/lanes.h"

#include "base/memory.h"
#include "base/numeric.h"
#include "draw/strokes.h"

#include <stdlib.h>

#define FIRST  6.5 /* mm from the mat to the first dimension line */
#define STEP   9.0 /* to the next */
#define BEYOND 5.5 /* from the end of running values to the line of the mat's size */
#define JOG    3.0 /* where extension lines lean, so that texts stand apart */
#define BEND   0.5 /* past the dimension line, before they lean */
#define STUB   0.8 /* of an extension line, straight again before its text */
#define NEARER 0.6 /* the far side's distance, of the near one's, at which it is chosen */

static double width_of(pv_board *board, double mm)
{
    pv_dual said = pv_length_said(mm);
    return pv_dual_width(board, &said);
}

/* Extension lines over the mat itself: paler, so that they can be told from its lines. */
static const uint8_t across_mat[3] = {110, 110, 110};

/* ---- which side ---- */

bool pv_lanes_make(pv_board *board, const pv_features *features, pv_lanes *lanes)
{
    *lanes = (pv_lanes){0};
    lanes->room = PV_NEW_ARRAY(features->n[0] + features->n[1], const pv_position *);
    if (lanes->room == NULL)
        return false;
    size_t used = 0;
    for (int s = 0; s < PV_LANE_SIDES; s++) {
        pv_lane_side *side = &lanes->side[s];
        *side = (pv_lane_side){.axis = s / 2, .upper = s % 2 == 1, .list = lanes->room + used};
        pv_vec size = board->course->art.size;
        double across = side->axis == 0 ? size.y : size.x;
        for (size_t i = 0; i < features->n[side->axis]; i++) {
            const pv_position *p = &features->positions[side->axis][i];
            bool upper = across - p->hi < NEARER * p->lo;
            if (upper != side->upper)
                continue;
            side->list[side->n++] = p;
            side->words = fmax(side->words, width_of(board, p->at));
        }
        used += side->n;
    }
    /* The mat's size stands where less stands beneath it. */
    for (int axis = 0; axis < 2; axis++) {
        pv_lane_side *low = &lanes->side[2 * axis], *up = low + 1;
        (up->n == 0 && low->n > 0 ? up : low)->whole = true;
    }
    return true;
}

void pv_lanes_drop(pv_lanes *lanes)
{
    free(lanes->room);
    *lanes = (pv_lanes){0};
}

static bool parallel(pv_board *board, const pv_lane_side *side, double scale)
{
    if (side->n > side->most_parallel)
        return false;
    for (size_t i = 0; i < side->n; i++)
        if (side->list[i]->at * scale < width_of(board, side->list[i]->at) + 1)
            return false;
    return true;
}

/* To the outermost dimension line, and past it to the side's end. */
static double last_line(pv_board *board, const pv_lane_side *side, double scale)
{
    if (side->n == 0)
        return side->whole ? FIRST : 0;
    if (parallel(board, side, scale))
        return FIRST + STEP * ((double)side->n - 1) + (side->whole ? STEP : 0);
    return FIRST + JOG + STUB + side->words + (side->whole ? BEYOND : 0);
}

double pv_side_depth(pv_board *board, const pv_lane_side *side, double scale)
{
    double last = last_line(board, side, scale);
    bool line = side->whole || (last > 0 && parallel(board, side, scale));
    return last + (line ? PV_LIFT + PV_LETTER + 1 : 0);
}

/* ---- drawing ---- */

/* A place by a side: `along` from the mat's corner, `out` from its edge, both mm of paper. */
static pv_vec spot(const pv_board *board, const pv_lane_side *side, double along, double out)
{
    pv_box mat = pv_mat_on_paper(board);
    if (side->axis == 0)
        return pv_v(mat.lo.x + along, side->upper ? mat.hi.y + out : mat.lo.y - out);
    return pv_v(side->upper ? mat.hi.x + out : mat.lo.x - out, mat.lo.y + along);
}

/* From what is at a position, with a gap, to `out` beyond the mat's edge. */
static void extend(pv_board *board, const pv_lane_side *side, const pv_position *p, double out)
{
    pv_vec size = board->course->art.size;
    double across = side->axis == 0 ? size.y : size.x;
    double inside = (side->upper ? across - p->hi : p->lo) * board->scale;
    double along = p->at * board->scale;
    if (inside > PV_GAP)
        pv_board_rule_late(board, spot(board, side, along, PV_GAP - inside),
                           spot(board, side, along, 0), across_mat);
    pv_board_rule(board, spot(board, side, along, fmax(PV_GAP - inside, 0)),
                  spot(board, side, along, out));
}

static void draw_parallel(pv_board *board, const pv_lane_side *side)
{
    double last = FIRST + STEP * ((double)side->n - 1) + PV_OVERSHOOT;
    pv_board_rule(board, spot(board, side, 0, PV_GAP), spot(board, side, 0, last));
    for (size_t i = 0; i < side->n; i++) {
        double out = FIRST + STEP * (double)i, at = side->list[i]->at;
        extend(board, side, side->list[i], out + PV_OVERSHOOT);
        pv_dual said = pv_length_said(at);
        pv_dimension(board, spot(board, side, 0, out), spot(board, side, at * board->scale, out),
                     &said);
    }
}

/* Moves places apart until none is nearer to the next than the pitch, each as little as its
 * neighbours let it (pool adjacent violators: Barlow and others, 1972), within bounds that have
 * room for all. `block` has room for n. */
typedef struct cluster {
    double sum; /* of the wishes, each less its turn times the pitch */
    size_t n;
} cluster;

static void move_apart(double *at, size_t n, double lo, double hi, cluster *block)
{
    size_t blocks = 0;
    for (size_t i = 0; i < n; i++) {
        block[blocks++] = (cluster){at[i] - (double)i * PV_PITCH, 1};
        while (blocks > 1 && block[blocks - 2].sum * (double)block[blocks - 1].n >=
                                 block[blocks - 1].sum * (double)block[blocks - 2].n) {
            block[blocks - 2].sum += block[blocks - 1].sum;
            block[blocks - 2].n += block[blocks - 1].n;
            blocks--;
        }
    }
    double most = hi - (double)(n - 1) * PV_PITCH;
    for (size_t b = 0, i = 0; b < blocks; b++)
        for (size_t k = 0; k < block[b].n; k++, i++)
            at[i] = fmax(lo, fmin(block[b].sum / (double)block[b].n, most)) + (double)i * PV_PITCH;
}

/* The lesser of two: the one that stands for less. */
static int by_extent(const void *a, const void *b)
{
    const pv_position *p = *(const pv_position *const *)a, *q = *(const pv_position *const *)b;
    int order = pv_order(q->hi - q->lo, p->hi - p->lo);
    return order != 0 ? order : pv_order(p->at, q->at);
}

static int by_at(const void *a, const void *b)
{
    const pv_position *p = *(const pv_position *const *)a, *q = *(const pv_position *const *)b;
    return pv_order(p->at, q->at);
}

/* Leaves out what has no room. */
static void thin(pv_lane_side *side, size_t most, size_t *left_out)
{
    if (side->n <= most)
        return;
    *left_out += side->n - most;
    qsort(side->list, side->n, sizeof *side->list, by_extent); /* NOLINT: of pointers */
    side->n = most;
    qsort(side->list, side->n, sizeof *side->list, by_at); /* NOLINT: of pointers */
}

static void running_value(pv_board *board, const pv_lane_side *side, const pv_position *p,
                          double moved)
{
    double along = p->at * board->scale, out = FIRST + BEND;
    extend(board, side, p, out);
    pv_vec bend = spot(board, side, along, out), lean = spot(board, side, moved, FIRST + JOG);
    pv_dual said = pv_length_said(p->at);
    pv_vec end = spot(board, side, moved, FIRST + JOG + STUB + pv_dual_width(board, &said));
    pv_board_rule(board, bend, lean);
    pv_board_rule(board, lean, end);
    pv_letter_dual(board, spot(board, side, moved, FIRST + JOG + STUB), &said,
                   side->upper ? PV_ALIGN_LEFT : PV_ALIGN_RIGHT, side->axis == 0);
}

/* The origin's circle, the line, and an arrow at each position; a dot where arrows would meet. */
static void running_line(pv_board *board, const pv_lane_side *side)
{
    pv_vec origin = spot(board, side, 0, FIRST);
    double end = side->list[side->n - 1]->at * board->scale, before = 0;
    pv_board_rule(board, origin, spot(board, side, end, FIRST));
    pv_board_rule(board, spot(board, side, 0, PV_GAP), spot(board, side, 0, FIRST + PV_OVERSHOOT));
    pv_draw_circle(&board->d, origin, 1.2, PV_NARROW);
    pv_vec ahead = side->axis == 0 ? pv_v(1, 0) : pv_v(0, 1);
    for (size_t i = 0; i < side->n; i++) {
        double at = side->list[i]->at * board->scale;
        if (at - before > 1.4 * PV_ARROW)
            pv_draw_arrow(&board->d, spot(board, side, at, FIRST), ahead, PV_ARROW);
        else
            pv_draw_disc(&board->d, spot(board, side, at, FIRST), 0.45);
        before = at;
    }
    pv_draw_fill(&board->d, pv_ink, false);
}

static void draw_running(pv_board *board, pv_lane_side *side, size_t *left_out)
{
    pv_vec size = board->course->art.size;
    double length = (side->axis == 0 ? size.x : size.y) * board->scale;
    /* The size's own extension lines stand at the mat's corners. */
    double spare = side->whole ? -PV_PITCH / 2 : PV_PITCH;
    double lo = -spare, hi = length + spare;
    thin(side, (size_t)fmax((hi - lo) / PV_PITCH, 0) + 1, left_out);
    double *at = PV_NEW_ARRAY(side->n, double);
    cluster *block = PV_NEW_ARRAY(side->n, cluster);
    if (at == NULL || block == NULL) {
        board->d.failed = true;
    } else {
        for (size_t i = 0; i < side->n; i++)
            at[i] = side->list[i]->at * board->scale;
        move_apart(at, side->n, lo, hi, block);
        running_line(board, side);
        for (size_t i = 0; i < side->n; i++)
            running_value(board, side, side->list[i], at[i]);
    }
    free(at);
    free(block);
}

static void draw_whole(pv_board *board, const pv_lane_side *side)
{
    pv_vec size = board->course->art.size;
    double mm = side->axis == 0 ? size.x : size.y, length = mm * board->scale;
    double out = last_line(board, side, board->scale);
    for (int end = 0; end < 2; end++)
        pv_board_rule(board, spot(board, side, end * length, PV_GAP),
                      spot(board, side, end * length, out + PV_OVERSHOOT));
    pv_dual said = pv_length_said(mm);
    pv_dimension(board, spot(board, side, 0, out), spot(board, side, length, out), &said);
}

void pv_lanes_draw(pv_board *board, pv_lanes *lanes)
{
    for (int s = 0; s < PV_LANE_SIDES; s++) {
        pv_lane_side *side = &lanes->side[s];
        if (side->n > 0 && parallel(board, side, board->scale))
            draw_parallel(board, side);
        else if (side->n > 0)
            draw_running(board, side, &lanes->left_out);
        if (side->whole)
            draw_whole(board, side);
    }
}
