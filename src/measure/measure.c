#include "measure/measure.h"

#include "base/memory.h"
#include "measure/lines.h"

#include <stdlib.h>

/* A pose's own uncertainty can't be better than this, whatever its residuals say: a hundredth of a
 * pixel over a sheet of a thousand. */
#define U_SCALE_MIN 1e-5
#define U_SKEW_MIN  0.02 /* mrad, alike */

static void measure_scale(const pv_frame *frame, pv_vec middle, pv_measures *out)
{
    pv_local local = pv_frame_at(frame, middle);
    /* The image's y runs down: turned up, so that angles run counter-clockwise as seen. */
    out->turn = atan2(-local.dx.y, local.dx.x) * 180 / PV_PI;
    if (frame->pose->kind != PV_POSE_AFFINE)
        return;
    pv_vec tx = local.tx, ty = local.ty;
    if (!frame->absolute) { /* square pixels are taken for granted: only the angle is used */
        tx = local.dx;
        ty = local.dy;
    }
    double lx = pv_len(tx), ly = pv_len(ty);
    if (!(lx > 0) || !(ly > 0))
        return;
    double sine = fmax(-1, fmin(1, pv_dot(tx, ty) / (lx * ly)));
    out->skew = (pv_quantity){
        .value = asin(sine) * 1000, .u = hypot(frame->pose->u_skew, U_SKEW_MIN), .measured = true};
    if (!frame->absolute)
        return;
    out->scale[0] = (pv_quantity){lx, lx * hypot(frame->pose->u_scale[0], U_SCALE_MIN), true};
    out->scale[1] = (pv_quantity){ly, ly * hypot(frame->pose->u_scale[1], U_SCALE_MIN), true};
}

/* Pixels per true mm, the mean of both directions. */
static double px_per_true(const pv_frame *frame, pv_vec middle)
{
    pv_local local = pv_frame_at(frame, middle);
    double px = sqrt(fabs(pv_cross_z(local.dx, local.dy)));
    double mm = sqrt(fabs(pv_cross_z(local.tx, local.ty)));
    return mm > 0 ? px / mm : 0;
}

static bool add_line(pv_measures *out, const pv_line_measure *line)
{
    if (!PV_GROW(out->lines, out->n_lines, out->cap_lines))
        return false;
    out->lines[out->n_lines++] = *line;
    return true;
}

/* Every line that the sheet shows, also those without any station. */
static bool measure_lines(const pv_scene *scene, const pv_stations *stations,
                          const pv_edge_floor *floor, pv_measures *out)
{
    size_t last = SIZE_MAX, at = 0;
    for (size_t i = 0; i < scene->n_solids; i++) {
        size_t index = scene->solids[i].line;
        if (index == last)
            continue;
        last = index;
        size_t end = at;
        while (end < stations->n && stations->items[end].line == index)
            end++;
        pv_line_measure line = {.line = index};
        if (end > at && !pv_measure_line(scene->art, stations->items + at, end - at, floor, &line))
            return false;
        line.planned = end - at;
        if (!add_line(out, &line))
            return false;
        at = end;
    }
    return true;
}

static bool measure_stations(const pv_frame *frame, const pv_plane *plane, const pv_scene *scene,
                             double px, const pv_edge_floor *floor, pv_measures *out)
{
    pv_stations stations;
    if (!pv_stations_plan(scene, px, &stations))
        return false;
    for (size_t i = 0; i < stations.n; i++) {
        const pv_line *line = &scene->art->lines[stations.items[i].line];
        pv_station_measure(frame, plane, line->width, &stations.items[i]);
    }
    bool good = pv_stations_clean(&stations, floor) &&
                measure_lines(scene, &stations, floor, out) &&
                pv_measure_spacings(frame, scene, &stations, floor, out);
    free(stations.items);
    return good;
}

bool pv_measure_sheet(const pv_plan *plan, const pv_plane *plane, const pv_pose *pose,
                      const double px_per_mm[2], pv_measures *out, pv_diags *diags)
{
    const pv_sheet *sheet = &plan->sheets[pose->sheet];
    *out = (pv_measures){0};
    pv_frame frame = {.pose = pose, .origin = sheet->origin};
    frame.absolute = pose->kind == PV_POSE_AFFINE && px_per_mm[0] > 0 && px_per_mm[1] > 0;
    frame.px_per_mm[0] = px_per_mm[0];
    frame.px_per_mm[1] = px_per_mm[1];
    out->absolute = frame.absolute;

    pv_vec middle = pv_box_middle(pv_sheet_art_box(plan, sheet));
    measure_scale(&frame, middle, out);
    pv_local local = pv_frame_at(&frame, middle);
    double px = sqrt(fabs(pv_cross_z(local.dx, local.dy)));
    pv_scene scene = {0};
    bool good = pv_scene_make(&scene, plan, sheet);
    if (good && px > 0 && isfinite(px)) {
        pv_edge_floor floor = pv_edge_floor_of(plane, px_per_true(&frame, middle));
        good = measure_stations(&frame, plane, &scene, px, &floor, out);
    }
    pv_scene_clear(&scene);
    if (!good) {
        pv_measures_clear(out);
        pv_fail_memory(diags);
    }
    return good;
}

void pv_measures_clear(pv_measures *measures)
{
    free(measures->lines);
    free(measures->spacings);
    *measures = (pv_measures){0};
}
