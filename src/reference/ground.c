#include "reference/ground.h"

#include "base/memory.h"

#include <stdlib.h>

#define STRIDE 8 /* px of the ground */

/* Which side of the camera a place is on: places behind it have no image. */
static double depth(const pv_pose *pose, pv_vec p)
{
    return pose->h[6] * p.x + pose->h[7] * p.y + pose->h[8];
}

/* What the image shows of the plane, where all its corners lie in front; else everything. */
static pv_box shown(const pv_plane *plane, const pv_pose *pose, double front)
{
    pv_box out = pv_box_none();
    double w = (double)plane->width, h = (double)plane->height;
    for (int i = 0; i < 8; i++) {
        static const double at[8][2] = {{0, 0}, {0.5, 0}, {1, 0}, {1, 0.5},
                                        {1, 1}, {0.5, 1}, {0, 1}, {0, 0.5}};
        pv_vec p = pv_pose_unmap(pose, pv_v(at[i][0] * w, at[i][1] * h));
        if (!isfinite(p.x) || !isfinite(p.y) || !(depth(pose, p) * front > 0))
            return (pv_box){{-HUGE_VAL, -HUGE_VAL}, {HUGE_VAL, HUGE_VAL}};
        out = pv_box_add(out, p);
    }
    return out;
}

typedef struct source {
    const pv_plane *plane;
    const uint8_t *code_of; /* of 16 bits of linear light */
    size_t block;           /* px to a side that make one of the ground's */
} source;

/* The mean over a block about a place, to the nearest px. */
static bool sample(const source *from, pv_vec px, uint8_t *code)
{
    const pv_plane *plane = from->plane;
    /* Rounded by cutting off: half a px is added. */
    double half = ((double)from->block - 1) / 2, u = px.x - half, v = px.y - half;
    if (!(u >= 0 && v >= 0 && u < (double)(plane->width - from->block + 1) &&
          v < (double)(plane->height - from->block + 1)))
        return false;
    size_t k = (size_t)plane->channels, row = plane->width * k;
    const uint16_t *p = plane->samples + (size_t)v * row + (size_t)u * k;
    uint32_t sum[3] = {0, 0, 0}, n = (uint32_t)(from->block * from->block);
    for (size_t j = 0; j < from->block; j++, p += row)
        for (size_t i = 0; i < from->block; i++)
            for (size_t c = 0; c < k; c++)
                sum[c] += p[i * k + c];
    for (size_t c = 0; c < k; c++)
        code[c] = from->code_of[sum[c] / n];
    return true;
}

/* The map is worked out at every STRIDE-th place of a row, and runs straight between: it bends by
 * far less than a px over so little. */
static void fill_row(pv_ground *out, const source *from, const pv_pose *pose, double front,
                     size_t y)
{
    size_t channels = (size_t)out->channels;
    for (size_t x0 = 0; x0 < out->width; x0 += STRIDE) {
        pv_vec a = pv_ground_sheet(out, (double)x0 + 0.5, (double)y + 0.5);
        pv_vec b = pv_ground_sheet(out, (double)(x0 + STRIDE) + 0.5, (double)y + 0.5);
        if (!(depth(pose, a) * front > 0 && depth(pose, b) * front > 0))
            continue;
        pv_vec p = pv_pose_map(pose, a), step = pv_sub(pv_pose_map(pose, b), p);
        for (size_t i = 0; i < STRIDE && x0 + i < out->width; i++) {
            size_t k = y * out->width + x0 + i;
            out->seen[k] =
                sample(from, pv_along(p, step, (double)i / STRIDE), &out->code[k * channels]);
        }
    }
}

static bool fill(pv_ground *out, const pv_plane *plane, const pv_pose *pose, double front,
                 double px)
{
    size_t n = out->width * out->height, whole = (size_t)fmax(1, round(px / out->px_per_mm));
    uint8_t *code_of = pv_new_array(65536, 1);
    out->channels = plane->channels;
    out->code = pv_new_array(n * (size_t)plane->channels, 1);
    out->seen = pv_new_array(n, 1);
    bool good = code_of != NULL && out->code != NULL && out->seen != NULL;
    size_t least = plane->width < plane->height ? plane->width : plane->height;
    source from = {.plane = plane, .code_of = code_of, .block = whole < least ? whole : least};
    for (size_t i = 0; good && i < 65536; i++)
        code_of[i] = (uint8_t)lround(pv_linear_to_srgb((double)i / 65535.0));
    for (size_t y = 0; good && y < out->height; y++)
        fill_row(out, &from, pose, front, y);
    free(code_of);
    return good;
}

bool pv_ground_make(const pv_plane *plane, const pv_pose *pose, const double page[2],
                    pv_ground *out, bool *found)
{
    *out = (pv_ground){.width = 0};
    *found = false;
    pv_vec middle = pv_v(page[0] / 2, page[1] / 2);
    double front = depth(pose, middle);
    double px = pv_pose_px_per_mm(pose, middle);
    pv_box box = pv_box_grow((pv_box){{0, 0}, {page[0], page[1]}}, PV_GROUND_MARGIN);
    pv_box all = shown(plane, pose, front);
    box = (pv_box){{fmax(box.lo.x, all.lo.x), fmax(box.lo.y, all.lo.y)},
                   {fmin(box.hi.x, all.hi.x), fmin(box.hi.y, all.hi.y)}};
    pv_vec size = pv_sub(box.hi, box.lo);
    if (!(px >= PV_GROUND_PX_LEAST) || !(size.x > 10 && size.y > 10))
        return true;
    double fits = sqrt(PV_GROUND_PIXELS / (size.x * size.y));
    out->px_per_mm = fmin(fmin(px, PV_GROUND_PX_PER_MM), fits);
    if (!(out->px_per_mm >= PV_GROUND_PX_LEAST))
        return true;
    out->lo = box.lo;
    out->width = (size_t)(size.x * out->px_per_mm);
    out->height = (size_t)(size.y * out->px_per_mm);
    *found = fill(out, plane, pose, front, px);
    if (!*found)
        pv_ground_clear(out);
    return *found;
}

void pv_ground_clear(pv_ground *ground)
{
    free(ground->code);
    free(ground->seen);
    *ground = (pv_ground){.width = 0};
}
