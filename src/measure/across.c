/* Measuring at one station: its two edges in the image, and their distance in true mm. */
#include "image/profile.h"
#include "measure/station.h"

#define SEARCH 0.60 /* mm that an edge may lie from where the pose says */
#define ROUNDS 4    /* in which the plateaus follow the edge that was found */

pv_local pv_frame_at(const pv_frame *frame, pv_vec mat)
{
    pv_local local;
    pv_vec sheet = pv_sub(mat, frame->origin);
    local.px = pv_pose_map(frame->pose, sheet);
    pv_pose_jacobian(frame->pose, sheet, &local.dx, &local.dy);
    local.tx = pv_metric_true(frame->metric, pv_v(1, 0));
    local.ty = pv_metric_true(frame->metric, pv_v(0, 1));
    return local;
}

pv_vec pv_local_px(const pv_local *local, pv_vec nominal)
{
    return pv_add(pv_scale(local->dx, nominal.x), pv_scale(local->dy, nominal.y));
}

pv_vec pv_local_true(const pv_local *local, pv_vec nominal)
{
    return pv_add(pv_scale(local->tx, nominal.x), pv_scale(local->ty, nominal.y));
}

pv_vec pv_local_from_px(const pv_local *local, pv_vec px)
{
    double det = pv_cross_z(local->dx, local->dy);
    pv_vec nominal = pv_v(pv_cross_z(px, local->dy) / det, pv_cross_z(local->dx, px) / det);
    return pv_local_true(local, nominal);
}

/* The unit vector in the true frame that points to a line's left, at right angles to it there. */
static pv_vec true_left(const pv_local *local, pv_vec heading)
{
    pv_vec along = pv_unit(pv_local_true(local, heading));
    pv_vec left = pv_local_true(local, pv_left(heading));
    return pv_unit(pv_along(left, along, -pv_dot(left, along)));
}

double pv_local_across(const pv_local *local, pv_vec heading, pv_vec nominal)
{
    return pv_dot(pv_local_true(local, nominal), true_left(local, heading));
}

/* A band of +-b along the tangent of a curve of radius r sees it, in the mean, b^2 / 6 r nearer to
 * the centre of the curve than at the station: the mean of s^2 / 2 r. */
static double curve_shift(const pv_station *st, double side, double line_width)
{
    if (st->bend == 0)
        return 0;
    double radius = 1 / fabs(st->bend) - copysign(1, st->bend) * side * line_width / 2;
    return copysign(PV_STATION_BAND * PV_STATION_BAND / (6 * radius), st->bend);
}

/* The edge, sought first where the pose says, then to both sides; the plateaus move along with what
 * is found until it stays. near and far in px. */
static bool seek(const pv_profile *profile, double near, double far, double most, pv_edge *edge)
{
    static const double starts[] = {0, -1, 1};
    for (size_t i = 0; i < sizeof starts / sizeof *starts; i++) {
        double at = starts[i] * fmin(near, most);
        for (int k = 0; k < ROUNDS; k++) {
            if (!pv_edge_find(profile, at, near, far, edge) || fabs(edge->at) > most)
                break;
            bool stays = fabs(edge->at - at) < 0.02;
            at = edge->at;
            if (stays || k == ROUNDS - 1)
                return true;
        }
    }
    return false;
}

/* One edge: how far to the line's left it lies of where the pose says, in true mm. */
static bool edge_offset(const pv_frame *frame, const pv_plane *plane, double line_width,
                        double side, const pv_station *st, double *offset, double *slope)
{
    pv_vec left = pv_left(st->heading), planned = pv_along(st->at, left, side * line_width / 2);
    pv_local local = pv_frame_at(frame, planned);
    pv_vec along = pv_local_px(&local, st->heading);
    double along_px = pv_len(along);
    pv_vec across = pv_unit(pv_left(along));
    double px = pv_dot(across, pv_local_px(&local, left)); /* per nominal mm across */
    if (px < 0) {
        across = pv_scale(across, -1);
        px = -px;
    }
    double near, far;
    if (!(px > 0) || !(along_px > 0) || !pv_plateaus(line_width, px, &near, &far))
        return false;
    pv_profile profile;
    pv_edge edge = {0};
    if (!pv_profile_take(plane, local.px, across, (far + SEARCH) * px + 1,
                         PV_STATION_BAND * along_px, &profile))
        return false;
    if (!seek(&profile, near * px, far * px, SEARCH * px, &edge))
        return false;
    double per_px = pv_dot(pv_local_from_px(&local, across), true_left(&local, st->heading));
    /* Back through the map itself: its size changes on the way in a photograph. */
    pv_vec found = pv_pose_unmap(frame->pose, pv_along(local.px, across, edge.at));
    pv_vec off = pv_sub(pv_add(found, frame->origin), planned);
    *offset = pv_local_across(&local, st->heading, off) - curve_shift(st, side, line_width);
    *slope = edge.slope / per_px;
    return *slope > 0 && isfinite(*offset);
}

void pv_station_measure(const pv_frame *frame, const pv_plane *plane, double line_width,
                        pv_station *station)
{
    double *edge = station->edge, *slope = station->slope;
    station->found = edge_offset(frame, plane, line_width, -1, station, &edge[0], &slope[0]) &&
                     edge_offset(frame, plane, line_width, 1, station, &edge[1], &slope[1]);
    if (!station->found)
        return;
    pv_local local = pv_frame_at(frame, station->at);
    pv_vec step = pv_scale(pv_left(station->heading), line_width);
    station->width = pv_local_across(&local, station->heading, step) + edge[1] - edge[0];
    station->centre = (edge[0] + edge[1]) / 2;
}
