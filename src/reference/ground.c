#include "reference/ground.h"

#include "base/memory.h"

#include <stdlib.h>

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
    const uint8_t *gray;
    size_t width, height;
    double factor;
} source;

static bool sample(const source *from, pv_vec px, uint8_t *code)
{
    double u = px.x / from->factor - 0.5, v = px.y / from->factor - 0.5;
    if (!(u >= 0 && v >= 0 && u < (double)from->width - 1 && v < (double)from->height - 1))
        return false;
    size_t i = (size_t)u, j = (size_t)v;
    double fu = u - (double)i, fv = v - (double)j;
    const uint8_t *p = from->gray + j * from->width + i;
    double top = p[0] + fu * (p[1] - p[0]);
    double low = p[from->width] + fu * (p[from->width + 1] - p[from->width]);
    *code = (uint8_t)(top + fv * (low - top) + 0.5);
    return true;
}

static void fill(pv_ground *out, const source *from, const pv_pose *pose, double front)
{
    for (size_t y = 0; y < out->height; y++)
        for (size_t x = 0; x < out->width; x++) {
            pv_vec p = pv_ground_sheet(out, (double)x + 0.5, (double)y + 0.5);
            size_t k = y * out->width + x;
            if (depth(pose, p) * front > 0)
                out->seen[k] = sample(from, pv_pose_map(pose, p), &out->gray[k]);
        }
}

bool pv_ground_make(const pv_plane *plane, const pv_pose *pose, const double page[2],
                    pv_ground *out, bool *found)
{
    *out = (pv_ground){.width = 0};
    *found = false;
    pv_vec middle = pv_v(page[0] / 2, page[1] / 2), dx, dy;
    double front = depth(pose, middle);
    pv_pose_jacobian(pose, middle, &dx, &dy);
    double px = sqrt(fabs(pv_cross_z(dx, dy)));
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
    source from = {.factor = fmax(1, floor(px / out->px_per_mm))};
    uint8_t *gray = pv_plane_reduced(plane, (size_t)from.factor, &from.width, &from.height);
    out->gray = pv_new_array(out->width * out->height, 1);
    out->seen = pv_new_array(out->width * out->height, 1);
    bool good = gray != NULL && out->gray != NULL && out->seen != NULL;
    if (good) {
        from.gray = gray;
        fill(out, &from, pose, front);
        *found = true;
    } else {
        pv_ground_clear(out);
    }
    free(gray);
    return good;
}

void pv_ground_clear(pv_ground *ground)
{
    free(ground->gray);
    free(ground->seen);
    *ground = (pv_ground){.width = 0};
}
