/* The shape of each line: breaks from its inside, the rest from its edges and colours. */
#include "measure/shape.h"

#include "base/memory.h"
#include "base/numeric.h"
#include "measure/edges.h"
#include "measure/surface.h"

#include <stdlib.h>

/* What counts as lost ink: assumed, tried on faults painted into pages and on clean prints that
 * must raise no alarm (tests/outside/test_shape.py). */
#define GONE         0.5  /* of the way from ink to what shows through */
#define APART_MIN    0.15 /* two colours nearer than that don't tell ink from no ink */
#define BREAK_GAP    2    /* rows */
#define MISSING_OF   0.55 /* of the width: a great part of it */
#define THIN_MM      0.75 /* mm: thin lines must lose that much, or nearly all */
#define OFFSET_MAX   0.8  /* mm */
#define SIDE_ROWS    40   /* 5 mm: a neighbour seen along less isn't judged */
#define CONTRAST_ANY 0.02 /* nominal: a neighbour of the same colour is none */
#define BILEVEL_LOW  0.25 /* luminance: darker than that, and lighter than the next, black and */
#define BILEVEL_TOP  0.60 /* white alone still tells a line from its side */

typedef struct line_work {
    const pv_view *view;
    pv_rows rows;
    double *gone; /* mm of width, by row */
    double *mean; /* bins x 3, of three rows */
    pv_measures *out;
    pv_line_result *line; /* one of out's */
    pv_value ragged, contrast, breaks, blobs;
} line_work;

/* ---- where the edges are ---- */

/* By the stations that were measured: medians. */
static bool find_offsets(const pv_measures *out, const pv_line_result *line, double nominal,
                         double offset[2])
{
    offset[0] = offset[1] = 0;
    size_t n = line->stations;
    if (n == 0)
        return true;
    double *work = PV_NEW_ARRAY(2 * n, double);
    if (work == NULL)
        return false;
    double middle[2];
    for (int k = 0; k < 2; k++) {
        for (size_t i = 0; i < n; i++) {
            const pv_station_result *st = &out->stations[line->first_station + i];
            work[i] = k == 0 ? st->width - nominal : st->centre;
        }
        middle[k] = pv_median(work, n, work + n);
    }
    free(work);
    offset[0] = fmin(fmax(middle[0] / 2 - middle[1], -OFFSET_MAX), OFFSET_MAX);
    offset[1] = fmin(fmax(middle[0] / 2 + middle[1], -OFFSET_MAX), OFFSET_MAX);
    double least = -0.35 * nominal;
    for (int k = 0; k < 2; k++)
        offset[k] = fmax(offset[k], least);
    return true;
}

/* ---- breaks ---- */

/* Bins of a row averaged with the rows next to it. */
static void mean_bins(const line_work *w, size_t i)
{
    const pv_rows *rows = &w->rows;
    size_t lo = i > 0 && rows->row[i - 1].plain ? i - 1 : i;
    size_t hi = i + 1 < rows->n && rows->row[i + 1].plain ? i + 1 : i;
    for (size_t k = 0; k < 3 * rows->bins; k++) {
        double sum = 0;
        for (size_t r = lo; r <= hi; r++)
            sum += rows->bin[r * rows->bins * 3 + k];
        w->mean[k] = sum / (double)(hi - lo + 1);
    }
}

/* Marks the bins of a row that show `other` rather than the line's own colour; both relative to
 * paper. */
static void mark_bins(const line_work *w, const double other[3], const double white[3],
                      bool *is_gone)
{
    const double *own = w->rows.own;
    if (pv_view_apart(w->view, own, other) < APART_MIN)
        return;
    double square = 0;
    int channels = w->view->plane->channels == 1 ? 1 : 3;
    for (int c = 0; c < channels; c++)
        square += (other[c] - own[c]) * (other[c] - own[c]);
    for (size_t b = 0; b < w->rows.bins; b++) {
        double part = 0;
        for (int c = 0; c < channels; c++)
            part += (w->mean[3 * b + (size_t)c] / white[c] - own[c]) * (other[c] - own[c]);
        is_gone[b] = is_gone[b] || part >= GONE * square;
    }
}

/* mm of a row's width where the ink is missing. Paper shows there; a line that is as light as paper
 * itself is interrupted by its neighbours' colours. */
static double gone_width(const line_work *w, size_t i)
{
    const pv_rows *rows = &w->rows;
    static const double paper[3] = {1, 1, 1};
    bool is_gone[PV_BINS_MAX] = {false};
    double white[3];
    mean_bins(w, i);
    pv_white_at(&w->view->white, rows->row[i].at, white);
    bool inked = pv_view_apart(w->view, rows->own, paper) >= APART_MIN;
    if (inked)
        mark_bins(w, paper, white, is_gone);
    for (int side = 0; !inked && side < 2; side++) {
        const pv_neighbour *near = pv_rows_near(rows, &rows->row[i], side);
        if (near != NULL)
            mark_bins(w, near->light, white, is_gone);
    }
    size_t n = 0;
    for (size_t b = 0; b < rows->bins; b++)
        n += is_gone[b];
    return n == rows->bins ? rows->line->width : rows->inner * (double)n / (double)rows->bins;
}

static bool add_flaw(pv_measures *out, const pv_flaw *flaw)
{
    if (out->n_flaws >= PV_FLAWS_MAX)
        return true;
    if (!PV_GROW(out->flaws, out->n_flaws, out->cap_flaws))
        return false;
    out->flaws[out->n_flaws++] = *flaw;
    return true;
}

static bool take_break(line_work *w, size_t first, size_t last)
{
    double length = (double)(last - first + 1) * PV_ROW_STEP, most = 0;
    if (length < PV_BREAK_MIN)
        return true;
    w->breaks.places++;
    w->breaks.value += length;
    w->line->longest_break = fmax(w->line->longest_break, length);
    for (size_t i = first; i <= last; i++) {
        w->rows.row[i].broken = true;
        most = fmax(most, w->gone[i]);
    }
    pv_vec at = w->rows.row[(first + last) / 2].at;
    pv_flaw flaw = {
        .line = w->breaks.subject, .x = at.x, .y = at.y, .length = length, .reach = most};
    return add_flaw(w->out, &flaw);
}

static bool find_breaks(line_work *w)
{
    const pv_rows *rows = &w->rows;
    double width = rows->line->width;
    double enough = fmax(MISSING_OF * width, fmin(THIN_MM, 0.9 * rows->inner));
    size_t first = 0, last = 0;
    bool open = false;
    for (size_t i = 0; i <= rows->n; i++) {
        bool plain = i < rows->n && rows->row[i].plain;
        bool ends = open && (!plain || rows->row[i].apart || i > last + BREAK_GAP);
        if (ends && !take_break(w, first, last))
            return false;
        open = open && !ends;
        if (!plain)
            continue;
        w->gone[i] = gone_width(w, i);
        if (w->gone[i] < enough)
            continue;
        first = open ? first : i;
        last = i;
        open = true;
    }
    return true;
}

/* ---- colours ---- */

static double contrast_of(double a, double b)
{
    double light = fmax(a, b);
    return light > 0 ? (light - fmax(fmin(a, b), 0)) / light : 0;
}

static void measure_colours(line_work *w)
{
    const pv_rows *rows = &w->rows;
    const pv_view *view = w->view;
    double nominal[3], own = pv_view_luminance(view, rows->own);
    pv_view_nominal(view, rows->line->colour, nominal);
    if (!rows->own_seen)
        return;
    w->line->gray = pv_view_gray(view, rows->own, nominal);
    for (size_t i = 0; i < rows->n_near; i++) {
        const pv_neighbour *near = &rows->near[i];
        size_t colour = pv_label_colour(view->art, near->label);
        if (near->rows < SIDE_ROWS || colour == SIZE_MAX)
            continue;
        double beside[3];
        pv_view_nominal(view, colour, beside);
        double asked =
            contrast_of(pv_view_luminance(view, nominal), pv_view_luminance(view, beside));
        double contrast = contrast_of(own, pv_view_luminance(view, near->light));
        if (asked < CONTRAST_ANY || (w->contrast.measured && contrast >= w->contrast.value))
            continue;
        w->contrast.measured = true;
        w->contrast.value = contrast;
        w->contrast.nominal = asked;
    }
    w->contrast.tolerance = (1 - PV_CONTRAST_FAIR) * w->contrast.nominal;
    w->contrast.fair = w->contrast.nominal < PV_CONTRAST_LOW ||
                       w->contrast.value >= PV_CONTRAST_FAIR * w->contrast.nominal;
}

/* ---- one line ---- */

static bool take_blobs(line_work *w, const pv_edges *edges)
{
    for (size_t i = 0; i < edges->n_blobs; i++) {
        const pv_blob *blob = &edges->blobs[i];
        const pv_row *row = &w->rows.row[blob->row];
        double sign = blob->side == 0 ? -1 : 1;
        double out = w->rows.line->width / 2 + w->rows.offset[blob->side] + blob->edge;
        pv_vec at = pv_along(row->at, pv_left(row->heading), sign * out);
        pv_flaw flaw = {w->blobs.subject, true, at.x, at.y, blob->length, blob->reach};
        w->blobs.places++;
        w->blobs.value += blob->length;
        if (!add_flaw(w->out, &flaw))
            return false;
    }
    return true;
}

/* A picture of black and white alone tells nothing of grays. */
static bool can_tell(const pv_view *view, const pv_rows *rows)
{
    if (!view->plane->bilevel)
        return true;
    double light[3];
    pv_view_nominal(view, rows->line->colour, light);
    double own = pv_view_luminance(view, light);
    bool good = own < BILEVEL_LOW || own > BILEVEL_TOP;
    for (size_t i = 0; good && i < rows->n_near; i++) {
        pv_view_nominal(view, pv_label_colour(view->art, rows->near[i].label), light);
        double side = pv_view_luminance(view, light);
        good = own < BILEVEL_LOW ? side > BILEVEL_TOP : side < BILEVEL_LOW;
    }
    return good;
}

static bool measure_rows(line_work *w)
{
    pv_rows *rows = &w->rows;
    w->gone = PV_NEW_ARRAY(rows->n, double);
    w->mean = PV_NEW_ARRAY(3 * rows->bins, double);
    if (w->gone == NULL || w->mean == NULL || !find_breaks(w) || !pv_rows_edges(rows, w->view))
        return false;
    pv_edges edges;
    if (!pv_edges_measure(&edges, rows, w->view))
        return false;
    bool good = take_blobs(w, &edges);
    w->ragged.measured = edges.raggedness >= 0;
    w->ragged.value = w->ragged.measured ? edges.raggedness : 0;
    w->ragged.fair = w->ragged.value <= PV_RAGGED_FAIR;
    if (!w->view->plane->bilevel)
        measure_colours(w);
    for (size_t i = 0; i < rows->n; i++)
        w->line->looked += rows->row[i].plain ? PV_ROW_STEP : 0;
    w->breaks.measured = w->blobs.measured = true;
    w->breaks.fair = w->breaks.places == 0;
    w->blobs.fair = w->blobs.places == 0;
    w->line->fair =
        w->ragged.fair && w->contrast.fair && w->breaks.fair && w->blobs.fair && !w->line->gray;
    pv_edges_clear(&edges);
    return good;
}

static bool measure_line(line_work *w, size_t *budget)
{
    pv_rows *rows = &w->rows;
    bool good = pv_rows_walk(rows, w->view, w->line->line, budget) &&
                find_offsets(w->out, w->line, rows->line->width, rows->offset);
    bool any = false;
    for (size_t i = 0; good && i < rows->n && !any; i++)
        any = rows->row[i].plain;
    good = good && (!any || pv_rows_inside(rows, w->view));
    if (good && any && can_tell(w->view, rows))
        good = measure_rows(w);
    free(w->gone);
    free(w->mean);
    pv_rows_clear(rows);
    return good;
}

static pv_value unknown(pv_value_kind kind, size_t line, double tolerance)
{
    return (pv_value){.kind = kind, .subject = line, .tolerance = tolerance, .fair = true};
}

static bool measure_lines(const pv_view *view, pv_measures *out)
{
    size_t budget = PV_ROWS_MAX;
    for (size_t i = 0; i < out->n_lines; i++) {
        line_work w = {.view = view,
                       .out = out,
                       .line = &out->lines[i],
                       .ragged = unknown(PV_KIND_RAGGED, i, PV_RAGGED_FAIR),
                       .contrast = unknown(PV_KIND_CONTRAST, i, 0),
                       .breaks = unknown(PV_KIND_BREAKS, i, 0),
                       .blobs = unknown(PV_KIND_BLOBS, i, 0)};
        w.line->fair = true;
        double near, far;
        bool sought = view->white.known &&
                      pv_plateaus(view->art->lines[w.line->line].width, view->px, 0, &near, &far);
        if ((sought && !measure_line(&w, &budget)) || !pv_measures_add(out, &w.ragged) ||
            !pv_measures_add(out, &w.contrast) || !pv_measures_add(out, &w.breaks) ||
            !pv_measures_add(out, &w.blobs))
            return false;
    }
    out->unsought = budget == 0 || view->labels.overrun;
    return true;
}

static bool measure_surface(const pv_view *view, pv_measures *out)
{
    if (!view->white.known || view->labels.overrun)
        return true;
    pv_surface surface;
    bool good = pv_surface_open(&surface, view) && pv_surface_marks(&surface, out);
    out->surface = good && !view->plane->bilevel ? surface.asked : 0;
    pv_surface_close(&surface);
    return good;
}

bool pv_measure_shape(const pv_shown *shown, const pv_frame *frame, const pv_plane *plane,
                      double px, pv_measures *out)
{
    pv_view view;
    bool good = pv_view_open(&view, shown, frame, plane, px) && measure_lines(&view, out) &&
                pv_shape_fills(&view, out) && measure_surface(&view, out);
    pv_view_close(&view);
    return good;
}
