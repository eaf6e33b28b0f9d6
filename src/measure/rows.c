#include "measure/rows.h"

#include "base/light.h"
#include "base/memory.h"
#include "base/numeric.h"

#include <stdlib.h>
#include <string.h>

/* Where rows stand and how they are read: choices of this method, assumed. */
#define LABEL_MARGIN 0.35 /* mm to each side of a planned edge where labels aren't asked */
#define SIDE_REACH   1.60 /* mm beyond the edge that must be plain */
#define END_MARGIN   5    /* rows next to one that isn't plain */
#define DEPTH        0.80 /* mm inside of an edge that is read, less on thin lines */
#define REACH        1.30 /* mm outside */
#define BIN_WIDTH    0.60 /* mm, about */
#define BIN_POINT    0.25 /* mm between the points of a bin */
#define COLOUR_EVERY 4    /* rows whose colours are looked at */
#define COLOURS_MIN  5
#define PITCH_MIN    0.03 /* mm between places across an edge; coarser images go by pixels */

/* Contrast of luminance that is enough to read an edge by luminance alone, which JPEG keeps
 * sharper than hue. */
#define LUMINANCE_ENOUGH 0.10

/* ---- where rows stand ---- */

static bool side_plain(const pv_labels *labels, uint32_t own, const pv_row *row, double edge,
                       double sign, uint32_t *label)
{
    pv_vec left = pv_left(row->heading);
    for (int k = 0; k <= 5; k++) {
        double t = edge + LABEL_MARGIN + (SIDE_REACH - LABEL_MARGIN) * k / 5;
        uint32_t one = pv_label_at(labels, pv_along(row->at, left, sign * t));
        if (k == 0)
            *label = one;
        if (one != *label || one == own || one >= PV_LABEL_WASTE)
            return false;
    }
    return true;
}

static void look(const pv_view *view, const pv_line *line, size_t index, pv_row *row)
{
    const pv_labels *labels = &view->labels;
    uint32_t own = (uint32_t)(view->art->n_colours + index);
    double half = line->width / 2, inside = fmax(half - LABEL_MARGIN, 0);
    pv_vec left = pv_left(row->heading);
    int steps = (int)fmin(fmax(ceil(inside / 0.5), 1), 40);
    row->plain = true;
    for (int k = -steps; row->plain && k <= steps; k++)
        row->plain = pv_label_at(labels, pv_along(row->at, left, inside * k / steps)) == own;
    row->plain = row->plain && side_plain(labels, own, row, half, -1, &row->side[0]) &&
                 side_plain(labels, own, row, half, 1, &row->side[1]);
}

static double outside_by(pv_box box, pv_vec p)
{
    double x = fmax(fmax(box.lo.x - p.x, p.x - box.hi.x), 0);
    double y = fmax(fmax(box.lo.y - p.y, p.y - box.hi.y), 0);
    return hypot(x, y);
}

static bool walk_piece(pv_rows *rows, const pv_view *view, pv_box window, const pv_piece *piece,
                       bool *follows, size_t *budget)
{
    double length = pv_piece_length(piece);
    double n = ceil(length / PV_ROW_STEP);
    bool tight = piece->arc && piece->radius < rows->line->width / 2 + 1;
    pv_box box = pv_box_grow(pv_piece_box(piece), rows->line->width / 2);
    if (!(length > 0) || tight || !pv_box_meets(box, window)) {
        *follows = false;
        return true;
    }
    for (double i = 0; i<n && * budget> 0; i += 1) { /* NOLINT: whole steps */
        double s = (i + 0.5) * length / n;
        pv_row row = {.at = pv_piece_point(piece, s), .heading = pv_piece_heading(piece, s)};
        double away = outside_by(window, row.at);
        if (away > 0) {
            i += fmax(0, floor(away / PV_ROW_STEP) - 1);
            *follows = false;
            continue;
        }
        look(view, rows->line, rows->index, &row);
        row.apart = !*follows;
        *follows = true;
        if (!PV_GROW(rows->row, rows->n, rows->cap))
            return false;
        rows->row[rows->n++] = row;
        --*budget;
    }
    return true;
}

/* What is next to something else isn't plain either: a print may be off by that much. */
static bool keep_away(pv_rows *rows)
{
    bool *plain = PV_NEW_ARRAY(rows->n, bool);
    if (plain == NULL)
        return false;
    size_t run = 0;
    for (size_t i = 0; i < rows->n; i++) {
        run = rows->row[i].apart ? 0 : run;
        run = rows->row[i].plain ? run + 1 : 0;
        plain[i] = run > END_MARGIN;
    }
    run = 0;
    for (size_t i = rows->n; i-- > 0;) {
        run = rows->row[i].plain ? run + 1 : 0;
        rows->row[i].plain = plain[i] && run > END_MARGIN;
        run = rows->row[i].apart ? 0 : run;
    }
    free(plain);
    return true;
}

bool pv_rows_walk(pv_rows *rows, const pv_view *view, size_t line, size_t *budget)
{
    *rows = (pv_rows){.line = &view->art->lines[line], .index = line};
    bool follows = false;
    for (size_t k = 0; k < rows->line->n_pieces; k++)
        if (!walk_piece(rows, view, view->shown->window, &rows->line->pieces[k], &follows, budget))
            return false;
    return keep_away(rows);
}

void pv_rows_clear(pv_rows *rows)
{
    free(rows->row);
    free(rows->bin);
    free(rows->part[0]);
    free(rows->part[1]);
    *rows = (pv_rows){0};
}

/* ---- reading light ---- */

/* Linear interpolation between pixel centres, as a profile does; 0 to 65535. The caller has checked
 * that the place is inside. */
static void light_at(const pv_plane *plane, pv_vec px, double light[3])
{
    double u = px.x - 0.5, v = px.y - 0.5;
    size_t i = (size_t)u, j = (size_t)v, k = (size_t)plane->channels, row = plane->width * k;
    double fu = u - (double)i, fv = v - (double)j;
    const uint16_t *p = plane->samples + j * row + i * k;
    for (size_t c = 0; c < k; c++) {
        double top = p[c] + fu * ((double)p[c + k] - p[c]);
        double low = p[c + row] + fu * ((double)p[c + k + row] - p[c + row]);
        light[c] = top + fv * (low - top);
    }
}

static bool in_image(const pv_plane *plane, pv_vec px)
{
    return px.x >= 1 && px.y >= 1 && px.x < (double)plane->width - 1 &&
           px.y < (double)plane->height - 1;
}

/* A row in the image: its middle, and px per nominal mm to the left. */
typedef struct row_line {
    pv_vec px, left;
} row_line;

static bool row_in_image(const pv_view *view, const pv_row *row, double reach, row_line *out)
{
    pv_local local = pv_frame_at(view->frame, row->at);
    out->px = local.px;
    out->left = pv_local_px(&local, pv_left(row->heading));
    return in_image(view->plane, pv_along(out->px, out->left, reach)) &&
           in_image(view->plane, pv_along(out->px, out->left, -reach));
}

/* How far from a row's middle is read. */
static double reach_of(const pv_rows *rows)
{
    return rows->line->width / 2 + fmax(fabs(rows->offset[0]), fabs(rows->offset[1])) + REACH + 0.1;
}

/* ---- inside ---- */

/* How much is left out at each edge: blur reaches in. */
static double inside_margin(double width, double px)
{
    return width >= 2 ? 0.40 : fmin(fmax(0.12, 1 / px), 0.25 * width);
}

static void read_row(const pv_rows *rows, const pv_view *view, const row_line *at, float *bin)
{
    double from = -rows->line->width / 2 - rows->offset[0];
    double to = rows->line->width / 2 + rows->offset[1];
    double middle = (from + to) / 2, wide = rows->inner / (double)rows->bins;
    int points = (int)fmin(fmax(ceil(wide / BIN_POINT), 2), 6);
    for (size_t b = 0; b < rows->bins; b++) {
        double sum[3] = {0, 0, 0};
        for (int k = 0; k < points; k++) {
            double t = middle - rows->inner / 2 + ((double)b + (k + 0.5) / (double)points) * wide;
            double light[3] = {0, 0, 0};
            light_at(view->plane, pv_along(at->px, at->left, t), light);
            for (int c = 0; c < 3; c++)
                sum[c] += light[c];
        }
        for (int c = 0; c < 3; c++)
            bin[3 * b + (size_t)c] = (float)(sum[c] / (65535.0 * points));
    }
}

/* Mean light beyond the blur of an edge. */
static void read_side(const pv_rows *rows, const pv_view *view, const row_line *at, int side,
                      double light[3])
{
    double sign = side == 0 ? -1 : 1, edge = rows->line->width / 2 + rows->offset[side];
    double sum[3] = {0, 0, 0};
    const int points = 5;
    for (int k = 0; k < points; k++) {
        double one[3] = {0, 0, 0};
        double t = sign * (edge + 0.5 + 0.7 * k / (points - 1));
        light_at(view->plane, pv_along(at->px, at->left, t), one);
        for (int c = 0; c < 3; c++)
            sum[c] += one[c];
    }
    for (int c = 0; c < 3; c++)
        light[c] = sum[c] / (65535.0 * points);
}

const pv_neighbour *pv_rows_near(const pv_rows *rows, const pv_row *row, int side)
{
    for (size_t i = 0; i < rows->n_near; i++)
        if (rows->near[i].label == row->side[side])
            return &rows->near[i];
    return NULL;
}

/* Medians channel by channel of what is listed (n x 3). */
static void median_light(const double *list, size_t n, double *work, double out[3])
{
    for (size_t c = 0; c < 3; c++) {
        for (size_t i = 0; i < n; i++)
            work[i] = list[3 * i + c];
        out[c] = pv_median(work, n, work + n);
    }
}

/* The line's own colour where it is there; else as the course has it. */
static void settle_own(pv_rows *rows, const pv_view *view, const double *list, size_t n,
                       double *work)
{
    double nominal[3], paper[3] = {1, 1, 1};
    pv_view_nominal(view, rows->line->colour, nominal);
    memcpy(rows->own, nominal, sizeof nominal);
    if (n < COLOURS_MIN)
        return;
    double seen[3];
    median_light(list, n, work, seen);
    double asked = pv_view_apart(view, nominal, paper), got = pv_view_apart(view, seen, paper);
    rows->own_seen = asked < 0.15 || got > 0.3 * asked;
    if (rows->own_seen)
        memcpy(rows->own, seen, sizeof seen);
}

/* list: n rows' worth of triples; work: likewise. */
static void own_colour(pv_rows *rows, const pv_view *view, double *list, double *work)
{
    size_t m = 0;
    for (size_t i = 0; i < rows->n; i += COLOUR_EVERY) {
        if (!rows->row[i].plain)
            continue;
        double white[3];
        pv_white_at(&view->white, rows->row[i].at, white);
        for (size_t c = 0; c < 3; c++) {
            double sum = 0;
            for (size_t b = 0; b < rows->bins; b++)
                sum += rows->bin[(i * rows->bins + b) * 3 + c];
            list[3 * m + c] = sum / (double)rows->bins / white[c];
        }
        m++;
    }
    settle_own(rows, view, list, m, work);
}

static void add_near(pv_rows *rows, uint32_t label)
{
    for (size_t i = 0; i < rows->n_near; i++)
        if (rows->near[i].label == label)
            return;
    if (rows->n_near < PV_SIDES)
        rows->near[rows->n_near++] = (pv_neighbour){.label = label};
}

static void near_colour(pv_rows *rows, const pv_view *view, pv_neighbour *near, double *list,
                        double *work)
{
    size_t m = 0, room = 2 * (rows->n / COLOUR_EVERY + 1);
    for (size_t i = 0; i < rows->n; i++) {
        const pv_row *row = &rows->row[i];
        for (int side = 0; row->plain && side < 2; side++) {
            if (row->side[side] != near->label)
                continue;
            near->rows++;
            row_line at;
            if (i % COLOUR_EVERY != 0 || m == room || !row_in_image(view, row, reach_of(rows), &at))
                continue;
            double white[3], light[3];
            pv_white_at(&view->white, row->at, white);
            read_side(rows, view, &at, side, light);
            for (size_t c = 0; c < 3; c++)
                list[3 * m + c] = light[c] / white[c];
            m++;
        }
    }
    if (m > 0)
        median_light(list, m, work, near->light);
}

bool pv_rows_inside(pv_rows *rows, const pv_view *view)
{
    double width = rows->line->width + rows->offset[0] + rows->offset[1];
    rows->inner = fmax(width - 2 * inside_margin(width, view->px), 0.2 * rows->line->width);
    rows->bins = (size_t)fmin(fmax(ceil(rows->inner / BIN_WIDTH), PV_BINS_MIN), PV_BINS_MAX);
    rows->bin = PV_NEW_ARRAY(rows->n * rows->bins * 3, float);
    size_t room = 2 * (rows->n / COLOUR_EVERY + 1);
    double *list = PV_NEW_ARRAY(3 * room, double), *work = PV_NEW_ARRAY(2 * room, double);
    bool good = rows->bin != NULL && list != NULL && work != NULL;
    double reach = reach_of(rows);
    for (size_t i = 0; good && i < rows->n; i++) {
        pv_row *row = &rows->row[i];
        row_line at;
        row->plain = row->plain && row_in_image(view, row, reach, &at);
        if (!row->plain)
            continue;
        read_row(rows, view, &at, &rows->bin[i * rows->bins * 3]);
        add_near(rows, row->side[0]);
        add_near(rows, row->side[1]);
    }
    if (good)
        own_colour(rows, view, list, work);
    for (size_t i = 0; good && i < rows->n_near; i++)
        near_colour(rows, view, &rows->near[i], list, work);
    free(list);
    free(work);
    return good;
}

/* ---- edges ---- */

/* How light becomes a part of the way: part = sum of weight x (light - zero). */
typedef struct way {
    double zero[3], weight[3];
} way;

static way way_between(const pv_view *view, const double own[3], const double side[3],
                       const double white[3])
{
    way w = {{0, 0, 0}, {0, 0, 0}};
    double bright = pv_view_luminance(view, side) - pv_view_luminance(view, own), square = 0;
    int channels = view->plane->channels;
    for (int c = 0; c < channels; c++) {
        w.zero[c] = own[c] * white[c];
        square += (side[c] - own[c]) * (side[c] - own[c]);
    }
    for (int c = 0; c < channels; c++) {
        double one = channels == 1                      ? 1 / bright
                     : fabs(bright) >= LUMINANCE_ENOUGH ? pv_luminance_share(c) / bright
                                                        : (side[c] - own[c]) / square;
        w.weight[c] = one / white[c];
    }
    return w;
}

double pv_rows_place(const pv_rows *rows, size_t row, double k)
{
    static const double turns[4] = {0, 0.5, 0.25, 0.75};
    return rows->first + (k + turns[row % 4]) * rows->pitch;
}

static void read_edge(const pv_rows *rows, const pv_view *view, size_t row, const row_line *at,
                      int side, const way *w)
{
    double sign = side == 0 ? -1 : 1;
    double from = rows->line->width / 2 + rows->offset[side] + pv_rows_place(rows, row, 0);
    float *part = &rows->part[side][row * rows->places];
    pv_vec step = pv_scale(at->left, sign * rows->pitch);
    pv_vec px = pv_along(at->px, at->left, sign * from);
    int channels = view->plane->channels;
    for (size_t k = 0; k < rows->places; k++) {
        double light[3], sum = 0;
        light_at(view->plane, px, light);
        for (int c = 0; c < channels; c++)
            sum += w->weight[c] * (light[c] / 65535.0 - w->zero[c]);
        part[k] = (float)sum;
        px = pv_add(px, step);
    }
}

bool pv_rows_edges(pv_rows *rows, const pv_view *view)
{
    double depth = fmin(DEPTH, rows->line->width / 2);
    rows->pitch = fmax(1 / view->px, PITCH_MIN);
    rows->places = (size_t)((depth + REACH) / rows->pitch);
    rows->first = -depth;
    for (int side = 0; side < 2; side++) {
        rows->part[side] = PV_NEW_ARRAY(rows->n * rows->places, float);
        if (rows->part[side] == NULL)
            return false;
    }
    double reach = reach_of(rows);
    for (size_t i = 0; i < rows->n; i++) {
        const pv_row *row = &rows->row[i];
        row_line at;
        double white[3];
        if (!row->plain || !row_in_image(view, row, reach, &at))
            continue;
        pv_white_at(&view->white, row->at, white);
        for (int side = 0; side < 2; side++) {
            const pv_neighbour *near = pv_rows_near(rows, row, side);
            if (near == NULL)
                continue;
            way w = way_between(view, rows->own, near->light, white);
            read_edge(rows, view, i, &at, side, &w);
        }
    }
    return true;
}
