#include "measure/view.h"

#include "base/light.h"
#include "base/memory.h"

#include <stdlib.h>

/* Assumed: how little hue still is a hue, and where to look for it. */
#define SAMPLES     12   /* px along a square's side, at most: finer images are read in steps */
#define HUE_ROWS    97   /* px between the places where hue is looked for */
#define HUE_SHARE   100  /* one in so many must have some */
#define CHROMA_MIN  0.06 /* root mean square of the channels off their luminance: that is a hue */
#define CHROMA_LEFT 0.25 /* of the nominal hue; less is gray */

/* ---- mean light over squares of plain colour ---- */

/* The mean over pixels [x0, x1] x [y0, y1], every step-th. */
static void mean_light(const pv_plane *plane, const size_t box[4], size_t step, float light[3])
{
    uint64_t sum[3] = {0, 0, 0};
    size_t n = 0, k = (size_t)plane->channels;
    for (size_t y = box[2]; y <= box[3]; y += step) {
        const uint16_t *row = plane->samples + y * plane->width * k;
        uint32_t part[3] = {0, 0, 0};
        if (k == 1) {
            for (size_t x = box[0]; x <= box[1]; x += step, n++)
                part[0] += row[x];
        } else {
            for (size_t x = box[0]; x <= box[1]; x += step, n++) {
                part[0] += row[3 * x];
                part[1] += row[3 * x + 1];
                part[2] += row[3 * x + 2];
            }
        }
        for (int c = 0; c < 3; c++)
            sum[c] += part[c];
    }
    for (int c = 0; c < 3; c++)
        light[c] = (float)((double)sum[c] / (65535.0 * (double)n));
}

/* False where the square leaves the image. */
static bool see(const pv_plane *plane, const pv_local *local, float light[3])
{
    double half = PV_CELL_SIDE / 2 * sqrt(fabs(pv_cross_z(local->dx, local->dy)));
    double lo_x = local->px.x - half, hi_x = local->px.x + half;
    double lo_y = local->px.y - half, hi_y = local->px.y + half;
    if (!(half >= 1 && half < 1000 && lo_x >= 0 && lo_y >= 0 && hi_x < (double)plane->width - 1 &&
          hi_y < (double)plane->height - 1))
        return false;
    size_t box[4] = {(size_t)(lo_x + 0.5), (size_t)(hi_x - 0.5), (size_t)(lo_y + 0.5),
                     (size_t)(hi_y - 0.5)};
    size_t step = (size_t)ceil(2 * half / SAMPLES / 1.25);
    mean_light(plane, box, step, light);
    return true;
}

bool pv_cells_make(pv_cells *cells, const pv_frame *frame, const pv_plane *plane,
                   const pv_labels *labels)
{
    double wide = (double)labels->nx * labels->cell, high = (double)labels->ny * labels->cell;
    double pitch = fmax(PV_CELL_SIDE, sqrt(wide * high / PV_CELLS_MAX));
    *cells = (pv_cells){.pitch = pitch, .channels = plane->channels};
    cells->lo = pv_add(labels->lo, pv_v(pitch / 2, pitch / 2));
    cells->nx = (size_t)fmax(1, wide / pitch);
    cells->ny = (size_t)fmax(1, high / pitch);
    cells->at = PV_NEW_ARRAY(cells->nx * cells->ny, pv_cell);
    if (cells->at == NULL)
        return false;
    for (size_t j = 0; j < cells->ny; j++) {
        for (size_t i = 0; i < cells->nx; i++) {
            pv_cell *cell = &cells->at[j * cells->nx + i];
            pv_vec at = pv_add(cells->lo, pv_v((double)i * pitch, (double)j * pitch));
            cell->label = pv_label_around(labels, at, PV_CELL_CLEAR);
            if (cell->label == PV_LABEL_BLOCKED)
                continue;
            pv_local local = pv_frame_at(frame, at);
            if (!see(plane, &local, cell->light))
                cell->label = PV_LABEL_BLOCKED;
        }
    }
    return true;
}

void pv_cells_clear(pv_cells *cells)
{
    free(cells->at);
    *cells = (pv_cells){0};
}

/* ---- light and hue ---- */

void pv_view_nominal(const pv_view *view, size_t colour, double light[3])
{
    pv_colour_linear(&view->art->colours[colour], light);
    if (view->plane->channels == 1)
        light[0] = light[1] = light[2] = pv_colour_luminance(&view->art->colours[colour]);
}

double pv_view_luminance(const pv_view *view, const double light[3])
{
    if (view->plane->channels == 1)
        return light[0];
    return pv_luminance(light);
}

double pv_view_apart(const pv_view *view, const double a[3], const double b[3])
{
    double square = 0;
    int channels = view->plane->channels == 1 ? 1 : 3;
    for (int c = 0; c < channels; c++)
        square += (a[c] - b[c]) * (a[c] - b[c]);
    return sqrt(square / channels);
}

bool pv_view_gray(const pv_view *view, const double printed[3], const double nominal[3])
{
    static const double paper[3] = {1, 1, 1};
    double y = pv_view_luminance(view, printed), y0 = pv_view_luminance(view, nominal);
    double square = 0, sum = 0;
    for (int c = 0; c < 3; c++) {
        square += (nominal[c] - y0) * (nominal[c] - y0);
        sum += (printed[c] - y) * (nominal[c] - y0);
    }
    double asked = pv_view_apart(view, nominal, paper), got = pv_view_apart(view, printed, paper);
    /* A faint print has its hue in proportion. */
    double strength = asked > 0 ? fmin(got / asked, 1) : 0;
    return view->hues && strength > 0.3 && sqrt(square / 3) >= CHROMA_MIN &&
           sum < CHROMA_LEFT * strength * square;
}

/* A gray scan may be stored in three equal channels: nothing can be said of hue then. */
static bool has_hues(const pv_plane *plane)
{
    if (plane->channels != 3)
        return false;
    size_t n = plane->width * plane->height, seen = 0, hues = 0;
    for (size_t i = 0; i < n; i += HUE_ROWS, seen++) {
        const uint16_t *p = plane->samples + 3 * i;
        hues += p[0] != p[1] || p[1] != p[2];
    }
    return hues * HUE_SHARE > seen;
}

bool pv_view_open(pv_view *view, const pv_shown *shown, const pv_frame *frame,
                  const pv_plane *plane, double px)
{
    *view = (pv_view){.shown = shown,
                      .frame = frame,
                      .plane = plane,
                      .art = shown->art,
                      .px = px,
                      .hues = has_hues(plane)};
    bool soft = frame->pose->kind == PV_POSE_PERSPECTIVE;
    return pv_labels_make(&view->labels, shown) &&
           pv_cells_make(&view->cells, frame, plane, &view->labels) &&
           pv_white_make(&view->white, &view->cells, view->art, soft);
}

void pv_view_close(pv_view *view)
{
    pv_labels_clear(&view->labels);
    pv_cells_clear(&view->cells);
    pv_white_clear(&view->white);
}
