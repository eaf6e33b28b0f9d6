/* Mean light over squares of plain colour. */
#include "base/memory.h"
#include "measure/shape.h"

#include <stdlib.h>

#define SAMPLES 12 /* px along a square's side, at most: finer images are read in steps */

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
