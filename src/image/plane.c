/* Planes: the limits, filling one row by row, reducing. */
#include "image/plane.h"

#include "base/memory.h"
#include "image/decode.h"

#include <stdlib.h>
#include <string.h>

void pv_plane_free(pv_plane *plane)
{
    if (plane == NULL)
        return;
    free(plane->samples);
    free(plane);
}

/* ---- filling one ---- */

bool pv_raster_fits(size_t columns, size_t rows, size_t pixels_max, pv_diags *diags)
{
    if (columns == 0 || rows == 0) {
        pv_fail(diags, PV_CAUSE_DATA, "the image has no pixels: its size is given as %zu x %zu",
                columns, rows);
        return false;
    }
    if (columns > PV_IMAGE_SIDE_MAX || rows > PV_IMAGE_SIDE_MAX) {
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_LIMIT, NULL, "scan at a lower resolution",
                     "the image is %zu x %zu pixels; the limit is %u along a side", columns, rows,
                     PV_IMAGE_SIDE_MAX);
        return false;
    }
    if (columns > pixels_max / rows) {
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_LIMIT, NULL, "scan at a lower resolution",
                     "the image is %zu x %zu pixels; the limit is %zu pixels", columns, rows,
                     pixels_max);
        return false;
    }
    return true;
}

void pv_fail_pages(const char *kind, pv_diags *diags)
{
    pv_diags_add(diags, PV_ERROR, PV_CAUSE_LIMIT, NULL, "save its pages in several files",
                 "the %s file has more than %d pages", kind, PV_IMAGE_PAGES_MAX);
}

bool pv_raster_start(pv_raster *raster, size_t columns, size_t rows, int channels, int orientation,
                     pv_diags *diags)
{
    bool swapped = orientation >= 5; /* rows become columns */
    pv_plane *plane = PV_NEW(pv_plane);
    if (plane != NULL) {
        plane->width = swapped ? rows : columns;
        plane->height = swapped ? columns : rows;
        plane->channels = channels;
        plane->samples = malloc(columns * rows * (size_t)channels * sizeof *plane->samples);
    }
    if (plane == NULL || plane->samples == NULL) {
        pv_plane_free(plane);
        pv_fail_memory(diags);
        return false;
    }
    /* EXIF's orientation names the upright sides at which stored row 0 and column 0 stand. */
    bool from_right = orientation == 2 || orientation == 3 || orientation == 6 || orientation == 7;
    bool from_bottom = orientation == 3 || orientation == 4 || orientation == 7 || orientation == 8;
    ptrdiff_t step_x = channels, step_y = (ptrdiff_t)plane->width * channels;
    ptrdiff_t start = 0;
    if (from_right) {
        start += step_x * ((ptrdiff_t)plane->width - 1);
        step_x = -step_x;
    }
    if (from_bottom) {
        start += step_y * ((ptrdiff_t)plane->height - 1);
        step_y = -step_y;
    }
    *raster = (pv_raster){
        plane, columns, rows, start, swapped ? step_y : step_x, swapped ? step_x : step_y, false};
    return true;
}

/* 1 for anything but 0 and 65535. */
static inline unsigned is_gray(uint16_t sample)
{
    return (uint16_t)(sample + 1) > 1;
}

void pv_raster_row(pv_raster *raster, size_t row, const unsigned char *bytes,
                   const uint16_t table[256])
{
    uint16_t *to = raster->plane->samples + raster->start + raster->down * (ptrdiff_t)row;
    ptrdiff_t along = raster->along;
    unsigned grays = raster->grays;
    if (raster->plane->channels == 1) {
        for (size_t i = 0; i < raster->columns; i++, to += along) {
            *to = table[bytes[i]];
            grays |= is_gray(*to);
        }
    } else {
        for (size_t i = 0; i < raster->columns; i++, bytes += 3, to += along) {
            to[0] = table[bytes[0]];
            to[1] = table[bytes[1]];
            to[2] = table[bytes[2]];
            grays |= is_gray(to[0]) | is_gray(to[1]) | is_gray(to[2]);
        }
    }
    raster->grays = grays != 0;
}

void pv_raster_pixel(pv_raster *raster, size_t row, size_t column, const uint16_t *light)
{
    uint16_t *to = raster->plane->samples + raster->start + raster->down * (ptrdiff_t)row +
                   raster->along * (ptrdiff_t)column;
    int channels = raster->plane->channels == 1 ? 1 : 3;
    for (int k = 0; k < channels; k++) {
        to[k] = light[k];
        raster->grays = raster->grays || is_gray(light[k]) != 0;
    }
}

void pv_raster_code(pv_raster *raster, size_t row, size_t column, const unsigned *codes,
                    const pv_coding *how)
{
    int channels = raster->plane->channels == 1 ? 1 : 3;
    unsigned most = how->most, covers = how->alpha ? codes[channels] : most;
    uint16_t light[3] = {0, 0, 0};
    for (int k = 0; k < channels; k++) {
        unsigned code = codes[k];
        if (how->multiplied && covers < most) {
            double whole = covers > 0 ? (double)code * most / covers : 0;
            code = whole < most ? (unsigned)lround(whole) : most;
        }
        light[k] = how->table[code];
        if (covers < most) {
            double alpha = (double)covers / most;
            light[k] = (uint16_t)lround(alpha * light[k] + (1 - alpha) * 65535.0);
        }
    }
    pv_raster_pixel(raster, row, column, light);
}

static unsigned code_at(const pv_whole *from, size_t row, size_t sample)
{
    const unsigned char *bytes = from->pixels + row * from->stride;
    if (from->bits <= 8)
        return bytes[sample];
    unsigned code = bytes[2 * sample] | (unsigned)bytes[2 * sample + 1] << 8;
    unsigned most = (1u << from->bits) - 1;
    return code < most ? code : most;
}

static bool has_hue(const pv_whole *from)
{
    size_t samples = from->alpha ? 4 : 3;
    for (size_t y = 0; y < from->rows; y++)
        for (size_t i = 0; i < from->columns * samples; i += samples) {
            unsigned red = code_at(from, y, i);
            if (red != code_at(from, y, i + 1) || red != code_at(from, y, i + 2))
                return true;
        }
    return false;
}

bool pv_raster_whole(pv_raster *raster, const pv_whole *from, double exponent, int orientation,
                     pv_diags *diags)
{
    bool hue = has_hue(from);
    size_t codes = (size_t)1 << from->bits, samples = from->alpha ? 4 : 3, channels = hue ? 3 : 1;
    uint16_t *table = PV_NEW_ARRAY(codes, uint16_t);
    if (table == NULL) {
        pv_fail_memory(diags);
        return false;
    }
    bool good =
        pv_raster_start(raster, from->columns, from->rows, (int)channels, orientation, diags);
    pv_light_table(table, codes, exponent, false);
    const pv_coding how = {table, (unsigned)codes - 1, from->alpha, from->multiplied};
    bool plain = hue && !from->alpha && from->bits == 8;
    for (size_t y = 0; good && y < from->rows; y++) {
        if (plain)
            pv_raster_row(raster, y, from->pixels + y * from->stride, table);
        for (size_t x = 0; !plain && x < from->columns; x++) {
            unsigned code[4] = {0, 0, 0, 0};
            for (size_t k = 0; k < channels; k++)
                code[k] = code_at(from, y, x * samples + k);
            if (from->alpha)
                code[channels] = code_at(from, y, x * samples + 3);
            pv_raster_code(raster, y, x, code, &how);
        }
    }
    if (good)
        raster->plane->coarse_hue = hue && from->coarse_hue;
    free(table);
    return good;
}

pv_plane *pv_raster_take(pv_raster *raster)
{
    pv_plane *plane = raster->plane;
    plane->bilevel = !raster->grays;
    raster->plane = NULL;
    return plane;
}

void pv_raster_drop(pv_raster *raster)
{
    pv_plane_free(raster->plane);
    raster->plane = NULL;
}

static bool is_screen(double per_mm)
{
    double per_inch = per_mm * PV_MM_PER_IN;
    return fabs(per_inch - 72) < 0.1 || fabs(per_inch - 96) < 0.1;
}

void pv_plane_resolution(pv_plane *plane, pv_resolution_source source, double x, double y,
                         int orientation)
{
    double least = 10 / PV_MM_PER_IN, most = 100000 / PV_MM_PER_IN;
    plane->source = source;
    plane->resolution[0] = plane->resolution[1] = 0;
    if (source == PV_RESOLUTION_ABSENT || source == PV_RESOLUTION_CONFLICT)
        return;
    if (!(x >= least && x <= most && y >= least && y <= most))
        plane->source = PV_RESOLUTION_ABSENT;
    else if (is_screen(x) && is_screen(y))
        plane->source = PV_RESOLUTION_SCREEN;
    else {
        plane->resolution[0] = orientation >= 5 ? y : x;
        plane->resolution[1] = orientation >= 5 ? x : y;
    }
}

void pv_raster_camera(pv_raster *raster, const pv_exif *exif)
{
    raster->plane->camera = exif->camera && !exif->damaged;
    raster->plane->focal35 = exif->damaged ? 0 : exif->focal35;
}

/* ---- reducing ---- */

/* Gray as the eye sees it: the luminance of IEC 61966-2-1 (ITU-R BT.709 primaries), in 1/65536. */
enum { LUMA_R = 13933, LUMA_G = 46871, LUMA_B = 4732 };

/* Adds one row of luminance, `factor` pixels to each of `n` sums. */
static void add_row(const pv_plane *plane, size_t row, size_t factor, size_t n, uint64_t *sums)
{
    const uint16_t *from = plane->samples + row * plane->width * (size_t)plane->channels;
    for (size_t i = 0; i < n; i++) {
        uint64_t sum = 0;
        if (plane->channels == 1) {
            for (size_t k = 0; k < factor; k++)
                sum += *from++;
        } else {
            uint64_t r = 0, g = 0, b = 0;
            for (size_t k = 0; k < factor; k++, from += 3) {
                r += from[0];
                g += from[1];
                b += from[2];
            }
            sum = (r * LUMA_R + g * LUMA_G + b * LUMA_B) >> 16;
        }
        sums[i] += sum;
    }
}

uint8_t *pv_plane_reduced(const pv_plane *plane, size_t factor, size_t *width, size_t *height)
{
    size_t w = factor > 0 ? plane->width / factor : 0;
    size_t h = factor > 0 ? plane->height / factor : 0;
    *width = w;
    *height = h;
    uint8_t *out = pv_new_array(w * h, 1);
    uint64_t *sums = PV_NEW_ARRAY(w, uint64_t);
    uint8_t *codes = pv_new_array(65536, 1);
    if (out == NULL || sums == NULL || codes == NULL) {
        free(out);
        free(sums);
        free(codes);
        return NULL;
    }
    for (size_t i = 0; i < 65536; i++)
        codes[i] = (uint8_t)lround(pv_linear_to_srgb((double)i / 65535.0));
    for (size_t y = 0; y < h; y++) {
        memset(sums, 0, w * sizeof *sums);
        for (size_t k = 0; k < factor; k++)
            add_row(plane, y * factor + k, factor, w, sums);
        for (size_t x = 0; x < w; x++)
            out[y * w + x] = codes[sums[x] / (factor * factor)];
    }
    free(sums);
    free(codes);
    return out;
}
