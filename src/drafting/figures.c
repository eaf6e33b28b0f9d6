/* The figures of the page with a mat's rules, and of the camera's place. */
#include "base/text.h"
#include "drafting/blocks.h"
#include "drafting/features.h"
#include "draw/art.h"
#include "draw/backend.h"
#include "draw/strokes.h"

#include <pavior/drawing.h>

#include <stdio.h>
#include <string.h>

#define WIDTH  110.0 /* mm of every figure */
#define SIDE   18.0  /* for dimensions, at the left and beneath */
#define END    6.0   /* at the right and on top */
#define HIGH   100.0 /* at most of what is shown of a mat */
#define TALL   0.5   /* of its width at least */
#define OFF    8.0   /* from what is shown to a dimension line */
#define STRONG 0.8   /* share of each colour */
#define ROOM   1.25  /* what is shown, to the thing itself */
#define BAR    40.0  /* mm of a line that is shown */
#define LOWEST 4.0   /* mm that a line takes up or down, at least */
#define APART  11.0  /* mm from a line to the next: the arrows of both, and a gap */
#define WIDEST 24.0  /* mm of a line's width on paper */

static const double dashes[2] = {12 * PV_NARROW, 3 * PV_NARROW}; /* ISO 128-2, type 02 */

/* A board with a part of the mat, about `middle` and at least `across` mm of it wide. */
static void open_window(pv_board *board, const pv_course *course, pv_vec middle, pv_vec across)
{
    double scale = (WIDTH - SIDE - END) / across.x;
    double high = fmin(fmax(across.y * scale, TALL * WIDTH), HIGH);
    if (across.y * scale > high)
        scale = high / across.y;
    pv_board_open(board, course, WIDTH, high + SIDE + END);
    board->scale = scale;
    pv_box seen = {{SIDE, SIDE}, {WIDTH - END, SIDE + high}};
    board->at = pv_along(pv_box_middle(seen), middle, -scale);
    pv_box mat = pv_mat_on_paper(board);
    seen = (pv_box){{fmax(seen.lo.x, mat.lo.x), fmax(seen.lo.y, mat.lo.y)},
                    {fmin(seen.hi.x, mat.hi.x), fmin(seen.hi.y, mat.hi.y)}};
    pv_board_mat(board, seen, STRONG);
    pv_draw_frame(&board->d, seen, PV_NARROW);
    pv_draw_fill(&board->d, pv_ink, false);
}

/* An extension line: over the mat the mat's own texts break it. */
static void extend(pv_board *board, pv_vec from, pv_vec edge, pv_vec to)
{
    pv_board_rule_late(board, from, edge, pv_ink);
    pv_board_rule(board, edge, to);
}

/* The size of a box of the paper, beneath it and at its left, said in mm of the mat. */
static void dimension_box(pv_board *board, pv_box box, pv_vec mm)
{
    double y = SIDE - OFF, x = SIDE - OFF;
    pv_vec from = pv_v(box.lo.x - PV_GAP, box.lo.y - PV_GAP);
    pv_vec edge =
        pv_v(fmin(from.x, fmax(SIDE, board->at.x)), fmin(from.y, fmax(SIDE, board->at.y)));
    for (int end = 0; end < 2; end++) {
        double at_x = end == 0 ? box.lo.x : box.hi.x, at_y = end == 0 ? box.lo.y : box.hi.y;
        extend(board, pv_v(at_x, from.y), pv_v(at_x, edge.y), pv_v(at_x, y - PV_OVERSHOOT));
        extend(board, pv_v(from.x, at_y), pv_v(edge.x, at_y), pv_v(x - PV_OVERSHOOT, at_y));
    }
    pv_board_draw_late(board);
    pv_dual wide = pv_length_said(mm.x), high = pv_length_said(mm.y);
    pv_dimension(board, pv_v(box.lo.x, y), pv_v(box.hi.x, y), &wide);
    pv_dimension(board, pv_v(x, box.lo.y), pv_v(x, box.hi.y), &high);
}

static pv_box on_paper(const pv_board *board, pv_box mat)
{
    return (pv_box){pv_on_paper(board, mat.lo), pv_on_paper(board, mat.hi)};
}

/* The robot's outline where its pivot stands on the start. */
static void draw_robot(pv_board *board)
{
    const pv_robot *robot = &board->course->robot;
    const pv_start *start = &board->course->start;
    pv_vec ahead = pv_polar(1, start->heading), left = pv_left(ahead);
    pv_vec rear = pv_along(start->at, ahead, -robot->pivot), corner[4];
    for (int i = 0; i < 4; i++) {
        pv_vec end = pv_along(rear, ahead, i == 1 || i == 2 ? robot->length : 0);
        corner[i] = pv_on_paper(board, pv_along(end, left, (i < 2 ? -0.5 : 0.5) * robot->width));
    }
    for (int i = 0; i < 4; i++) {
        pv_piece side = pv_segment(corner[i], corner[(i + 1) % 4]);
        pv_draw_dashes(&board->d, &side, 2 * PV_NARROW, dashes, 2);
    }
    pv_draw_fill(&board->d, pv_ink, false);
    pv_vec pivot = pv_on_paper(board, start->at);
    pv_draw_disc(&board->d, pivot, 1.2);
    pv_draw_fill(&board->d, (const uint8_t[3]){255, 255, 255}, false);
    pv_draw_circle(&board->d, pivot, 1.2, PV_NARROW);
    pv_draw_fill(&board->d, pv_ink, false);
}

static const pv_area *start_mark(const pv_course *course)
{
    for (size_t i = 0; i < course->art.n_marks; i++)
        if (strcmp(course->art.marks[i].id, "start") == 0)
            return &course->art.marks[i];
    return NULL;
}

static void draw_start(pv_board *board, const pv_course *course)
{
    const pv_robot *robot = &course->robot;
    const pv_area *mark = start_mark(course);
    double reach = course->start.size;
    if (robot->given)
        reach = fmax(reach, hypot(fmax(robot->pivot, robot->length - robot->pivot), robot->width));
    open_window(board, course, course->start.at, pv_v(2 * ROOM * reach, 1.6 * ROOM * reach));
    if (robot->given)
        draw_robot(board);
    if (mark == NULL)
        return;
    pv_box box = pv_area_box(mark);
    dimension_box(board, on_paper(board, box), pv_sub(box.hi, box.lo));
}

static void draw_finish(pv_board *board, const pv_course *course)
{
    pv_box box = pv_area_box(&course->finish.outline);
    pv_vec size = pv_sub(box.hi, box.lo);
    open_window(board, course, pv_box_middle(box), pv_scale(size, ROOM));
    for (size_t r = 0; r < course->finish.outline.n_rings; r++) {
        const pv_ring *ring = &course->finish.outline.rings[r];
        for (size_t i = 0; i < ring->n; i++)
            pv_draw_bar(&board->d, pv_on_paper(board, ring->points[i]),
                        pv_on_paper(board, ring->points[(i + 1) % ring->n]), PV_WIDE);
    }
    pv_draw_fill(&board->d, pv_ink, false);
    dimension_box(board, on_paper(board, box), size);
}

/* Lines of each width, one above the other, as long as they are on paper. */
static void draw_lines(pv_board *board, const pv_course *course)
{
    bool more;
    double widths[PV_WIDTHS_SHOWN], widest = 0, scale = 1, high = 2 * END - APART;
    size_t n = pv_line_widths(course, widths, &more);
    for (size_t i = 0; i < n; i++)
        widest = fmax(widest, widths[i]);
    if (widest > WIDEST)
        scale = WIDEST / widest;
    for (size_t i = 0; i < n; i++)
        high += fmax(widths[i] * scale, LOWEST) + APART;
    double y = high - END;
    pv_board_open(board, course, WIDTH, high);
    for (size_t i = 0; i < n; i++) {
        double wide = widths[i] * scale, step = fmax(wide, LOWEST), middle = y - step / 2;
        pv_box bar = {{END, middle - wide / 2}, {END + BAR, middle + wide / 2}};
        pv_draw_box(&board->d, bar);
        pv_draw_fill(&board->d, (const uint8_t[3]){90, 90, 90}, false);
        pv_dual said = pv_length_said(widths[i]);
        char words[160];
        snprintf(words, sizeof words, "%.30s ±%.20s mm %.40s", said.over,
                 pv_number_said(course->art.tolerances.width).chars, said.under);
        double x = END + BAR + 4;
        for (int end = 0; end < 2; end++) {
            double at = end == 0 ? bar.lo.y : bar.hi.y, way = end == 0 ? -1 : 1;
            pv_board_rule(board, pv_v(END + BAR + PV_GAP, at), pv_v(x + PV_OVERSHOOT, at));
            pv_draw_bar(&board->d, pv_v(x, at), pv_v(x, at + way * 4), PV_NARROW);
            pv_draw_arrow(&board->d, pv_v(x, at), pv_v(0, -way), PV_ARROW);
            pv_draw_fill(&board->d, pv_ink, false);
        }
        pv_lettered how = {PV_LETTER, PV_ALIGN_LEFT, false, false};
        pv_letter_within(board, pv_v(x + 5, middle - PV_LETTER / 2), words, how,
                         WIDTH - x - 5 - END);
        y -= step + APART;
    }
}

/* From the side: the floor, the mat on it, the camera and what it sees. */
static void draw_camera(pv_board *board, const pv_course *course)
{
    pv_camera_info camera = {0};
    pv_camera_at(course, PV_CAMERA_SHOWN, &camera);
    double half = (WIDTH - 2 * SIDE) / 2, scale = 2 * half / camera.seen[0];
    double high = fmin(camera.height * scale, HIGH);
    scale = high / camera.height;
    half = camera.seen[0] * scale / 2;
    pv_board_open(board, course, WIDTH, high + SIDE + 2 * END);
    pv_draw_box(&board->d, (pv_box){{END, SIDE - 1}, {WIDTH - END, SIDE}});
    pv_draw_fill(&board->d, (const uint8_t[3]){170, 170, 170}, false);
    pv_vec lens = pv_v(WIDTH / 2, SIDE + high);
    pv_vec mat = course->art.size;
    double side = fmax(mat.x, mat.y) * scale / 2;
    pv_draw_box(&board->d, (pv_box){{lens.x - side, SIDE}, {lens.x + side, SIDE + 1}});
    pv_draw_fill(&board->d, (const uint8_t[3]){204, 0, 116}, false);
    pv_draw_box(&board->d, (pv_box){{lens.x - 4, lens.y}, {lens.x + 4, lens.y + 5}});
    pv_draw_box(&board->d, (pv_box){{lens.x - 1.2, lens.y - 1.5}, {lens.x + 1.2, lens.y}});
    pv_draw_fill(&board->d, pv_ink, false);
    for (int way = -1; way <= 1; way += 2) {
        pv_piece ray = pv_segment(lens, pv_v(lens.x + way * half, SIDE));
        pv_draw_dashes(&board->d, &ray, PV_NARROW, dashes, 2);
        pv_draw_fill(&board->d, pv_ink, false);
        pv_board_rule(board, pv_v(lens.x + way * side, SIDE - 2),
                      pv_v(lens.x + way * side, SIDE - OFF - PV_OVERSHOOT));
    }
    /* As the page's table has it. */
    double step = course->art.inches ? PV_MM_PER_IN : 10;
    pv_dual wide = pv_length_said(fmax(mat.x, mat.y));
    pv_dual tall = pv_length_said(step * ceil(camera.height / step - 1e-6));
    pv_dimension(board, pv_v(lens.x - side, SIDE - OFF), pv_v(lens.x + side, SIDE - OFF), &wide);
    double x = WIDTH - OFF - 2;
    pv_board_rule(board, pv_v(lens.x + 5, lens.y), pv_v(x + PV_OVERSHOOT, lens.y));
    pv_dimension(board, pv_v(x, SIDE), pv_v(x, lens.y), &tall);
}

bool pv_figure_shows(const pv_course *course, pv_figure figure)
{
    switch (figure) {
    case PV_FIGURE_START:
        return course->start.given;
    case PV_FIGURE_FINISH:
        return course->finish.given && course->finish.outline.n_rings > 0;
    case PV_FIGURE_LINES:
        return course->art.n_lines > 0;
    case PV_FIGURE_ROBOT:
        return course->robot.given;
    case PV_FIGURE_CAMERA:
        return true;
    }
    return false;
}

static void draw_figure(pv_board *board, const pv_course *course, pv_figure figure)
{
    char said[24];
    switch (figure) {
    case PV_FIGURE_START:
        draw_start(board, course);
        break;
    case PV_FIGURE_FINISH:
        draw_finish(board, course);
        break;
    case PV_FIGURE_LINES:
        draw_lines(board, course);
        break;
    case PV_FIGURE_ROBOT:
        pv_board_open(board, course, WIDTH, 0.6 * WIDTH);
        pv_robot_draw(board, (pv_box){{0, 0}, {WIDTH, 0.6 * WIDTH}}, said);
        break;
    case PV_FIGURE_CAMERA:
        draw_camera(board, course);
        break;
    }
}

char *pv_figure_svg(const pv_course *course, pv_figure figure, pv_diags *diags)
{
    if (!pv_figure_shows(course, figure)) {
        pv_fail(diags, PV_CAUSE_USAGE, "the course has nothing that this figure shows");
        return NULL;
    }
    pv_board board = {0};
    draw_figure(&board, course, figure);
    char *svg = pv_svg(&board.d, diags);
    pv_board_close(&board);
    return svg;
}
