#include "measure/measure.h"

#include "base/memory.h"
#include "measure/lines.h"
#include "measure/look.h"
#include "measure/screen.h"
#include "measure/shape.h"

#include <stdlib.h>

/* A pose's own uncertainty can't be better than this, whatever its residuals say: a hundredth of a
 * pixel over a sheet of a thousand. */
#define U_SCALE_MIN 1e-5
#define U_SKEW_MIN  0.02 /* mrad, alike */

static bool measure_scale(const pv_frame *frame, pv_vec middle, pv_measures *out)
{
    const pv_metric *metric = frame->metric;
    pv_local local = pv_frame_at(frame, middle);
    /* The image's y runs down: turned up, so that angles run counter-clockwise as seen. */
    out->turn = atan2(-local.dx.y, local.dx.x) * 180 / PV_PI;
    for (size_t i = 0; i < 2; i++) {
        double scale = metric->known ? metric->scale[i] : 0;
        pv_value row = {.kind = PV_KIND_SCALE, .subject = i, .nominal = 1, .value = scale};
        row.measured = metric->known;
        row.part[PV_PART_POSE] = scale * hypot(frame->pose->u_scale[i], U_SCALE_MIN);
        row.part[PV_PART_REFERENCE] = metric->known ? scale * sqrt(metric->cov[4 * i]) : 0;
        if (!pv_measures_add(out, &row))
            return false;
    }
    pv_value skew = {.kind = PV_KIND_SKEW, .measured = metric->has_skew};
    if (metric->has_skew) {
        skew.value = metric->skew * 1000;
        skew.part[PV_PART_POSE] = hypot(frame->pose->u_skew, U_SKEW_MIN);
        skew.part[PV_PART_REFERENCE] = 1000 * sqrt(metric->cov[8]);
    }
    return pv_measures_add(out, &skew);
}

/* Pixels per true mm, the mean of both directions. */
static double px_per_true(const pv_frame *frame, pv_vec middle)
{
    pv_local local = pv_frame_at(frame, middle);
    double px = sqrt(fabs(pv_cross_z(local.dx, local.dy)));
    double mm = sqrt(fabs(pv_cross_z(local.tx, local.ty)));
    return mm > 0 ? px / mm : 0;
}

/* Keeps the stations of one line that were used. False where memory ran out. */
static bool keep_stations(const pv_line *line, const pv_station *st, size_t n, pv_measures *out)
{
    double start = 0;
    size_t piece = 0;
    for (size_t i = 0; i < n; i++) {
        for (; piece < st[i].piece; piece++)
            start += pv_piece_length(&line->pieces[piece]);
        if (!st[i].found)
            continue;
        if (!PV_GROW(out->stations, out->n_stations, out->cap_stations))
            return false;
        pv_vec left = pv_left(st[i].heading);
        out->stations[out->n_stations++] = (pv_station_result){.x = st[i].at.x,
                                                               .y = st[i].at.y,
                                                               .nx = left.x,
                                                               .ny = left.y,
                                                               .s = start + st[i].s,
                                                               .width = st[i].width,
                                                               .centre = st[i].centre};
    }
    return true;
}

static bool measure_line(const pv_line *line, size_t index, const pv_station *st, size_t n,
                         const pv_edge_floor *floor, pv_measures *out)
{
    pv_value width = {.kind = PV_KIND_WIDTH, .nominal = line->width};
    pv_value straight = {.kind = PV_KIND_STRAIGHT};
    if (n > 0 && !pv_measure_line(line, st, n, floor, &width, &straight))
        return false;
    width.subject = straight.subject = out->n_lines;
    width.planned = straight.planned = n;
    pv_line_result shown = {.id = line->id,
                            .nominal = line->width,
                            .line = index,
                            .planned = n,
                            .stations = width.places,
                            .first_station = out->n_stations,
                            .first_value = out->n_values};
    return pv_measures_add_line(out, &shown) && pv_measures_add(out, &width) &&
           pv_measures_add(out, &straight) && keep_stations(line, st, n, out);
}

/* Every line that the sheet's cell shows, also those without any station, and those of the laps
 * that have one. */
static bool measure_lines(const pv_shown *shown, const pv_stations *stations,
                          const pv_edge_floor *floor, pv_measures *out)
{
    for (size_t i = 0, at = 0, end; i < shown->n_lines; i++, at = end) {
        size_t index = shown->lines[i];
        for (end = at; end < stations->n && stations->items[end].line == index;)
            end++;
        const pv_line *line = &shown->art->lines[index];
        if (end == at && !pv_line_meets(line, shown->page->cell))
            continue;
        if (!measure_line(line, index, stations->items + at, end - at, floor, out))
            return false;
    }
    return true;
}

static bool measure_stations(const pv_frame *frame, const pv_plane *plane, const pv_shown *shown,
                             pv_edge_floor *floor, pv_measures *out)
{
    pv_stations stations;
    pv_optics optics = pv_optics_of(plane, frame->pose->kind == PV_POSE_PERSPECTIVE, floor->px);
    if (!pv_optics_look(shown, frame, plane, &optics) ||
        !pv_stations_plan(shown, frame, &optics, PV_STATION_PITCH, &stations))
        return false;
    for (size_t i = 0; i < stations.n; i++) {
        const pv_line *line = &shown->art->lines[stations.items[i].line];
        pv_station_measure(frame, plane, &optics, line->width, false, &stations.items[i]);
    }
    bool good = pv_stations_clean(&stations, floor) &&
                pv_screen_mark(frame, plane, shown->page, &stations) &&
                measure_lines(shown, &stations, floor, out) &&
                pv_measure_spacings(frame, shown, &stations, floor, out) &&
                pv_measure_ink(frame, shown->art, &stations, out);
    free(stations.items);
    return good;
}

bool pv_measure_sheet(const pv_scene *page, const pv_plane *plane, const pv_pose *pose,
                      const pv_metric *metric, const pv_covered *covered, pv_measures *out,
                      pv_diags *diags)
{
    *out = (pv_measures){0};
    pv_frame frame = {.pose = pose, .metric = metric, .origin = page->origin};
    out->absolute = metric->known;
    pv_vec middle = pv_box_middle(page->window);
    pv_local local = pv_frame_at(&frame, middle);
    double px = sqrt(fabs(pv_cross_z(local.dx, local.dy)));
    pv_shown shown = {0};
    bool good = measure_scale(&frame, middle, out) && pv_shown_make(&shown, page, covered);
    if (good && px > 0 && isfinite(px)) {
        pv_edge_floor floor = pv_edge_floor_of(plane, &frame, px_per_true(&frame, middle));
        good = measure_stations(&frame, plane, &shown, &floor, out) &&
               pv_measure_shape(&shown, &frame, plane, px, out);
    }
    pv_shown_clear(&shown);
    good = good && pv_measures_sort(out);
    if (!good) {
        pv_measures_clear(out);
        pv_fail_memory(diags);
    }
    return good;
}
