/* Measuring at one station: its two edges in the image, and their distance in true mm. */
#include "image/profile.h"
#include "measure/screen.h"

#include "base/light.h"

#include <string.h>

/* Assumed: more than twice the RMS at which a pose is refused (0.25 mm). */
#define SEARCH 0.60 /* mm that an edge may lie from where the pose says */
#define ROUNDS 4    /* in which the plateaus follow the edge that was found */

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

/* ---- one edge ---- */

/* Where it should be, and the path across it. */
typedef struct edge_site {
    pv_vec planned;      /* mat frame */
    pv_local local;      /* there */
    pv_vec across;       /* px, unit, to the line's left */
    double px, along_px; /* per nominal mm across and along */
} edge_site;

static bool make_site(const pv_frame *frame, const pv_station *st, double side, double line_width,
                      edge_site *out)
{
    pv_vec left = pv_left(st->heading);
    out->planned = pv_along(st->at, left, side * line_width / 2);
    out->local = pv_frame_at(frame, out->planned);
    pv_vec along = pv_local_px(&out->local, st->heading);
    out->along_px = pv_len(along);
    out->across = pv_unit(pv_left(along));
    out->px = pv_dot(out->across, pv_local_px(&out->local, left));
    if (out->px < 0) {
        out->across = pv_scale(out->across, -1);
        out->px = -out->px;
    }
    return out->px > 0 && out->along_px > 0;
}

/* The unit vector turned by an edge's place among the pixels, where it runs along them; averaged
 * over the rows of the band, where it runs across. */
static pv_vec grid_phase(pv_vec px, pv_vec across, double band_px)
{
    bool upright = fabs(across.x) >= fabs(across.y);
    double place = upright ? px.x : px.y, minor = upright ? across.y : across.x;
    double angle = 2 * PV_PI * place, half = 2 * PV_PI * band_px * fabs(minor);
    double shorter = half > 1e-6 ? sin(half) / half : 1;
    return pv_v(shorter * cos(angle), shorter * sin(angle));
}

static double luminance(const double rgb[3], int channels)
{
    return channels == 1 ? rgb[0] : pv_luminance(rgb);
}

/* Where the colours differ by about as much in each channel, and by much: a neutral edge. */
static bool look_at_fringe(const pv_profile *profile, const pv_edge *edge, double near, double far,
                           double fringe[2])
{
    double least = 1, most = 0, at[3];
    for (int c = 0; c < 3; c++) {
        least = fmin(least, fabs(edge->one[c] - edge->zero[c]));
        most = fmax(most, fabs(edge->one[c] - edge->zero[c]));
    }
    if (least < 0.2 || least < 0.7 * most)
        return false;
    for (int c = 0; c < 3; c++) {
        pv_edge alone;
        if (!pv_edge_find_in(profile, c, edge->at, near, far, &alone))
            return false;
        at[c] = alone.at;
    }
    fringe[0] = at[0] - at[1];
    fringe[1] = at[2] - at[1];
    return true;
}

static void fill_seen(const edge_site *site, const pv_profile *profile, const pv_edge *edge,
                      pv_seen *seen)
{
    double one = luminance(edge->one, profile->channels);
    double zero = luminance(edge->zero, profile->channels);
    seen->px = pv_along(site->local.px, site->across, edge->at);
    seen->across = site->across;
    seen->blur = pv_edge_blur(edge);
    memcpy(seen->weight, edge->weight, sizeof seen->weight);
    seen->dark = fmin(zero, one);
    seen->light = fmax(zero, one);
    seen->grid = grid_phase(seen->px, site->across, PV_STATION_BAND * site->along_px);
}

/* Of the plateau that lies off px from an edge. */
static double texture_beside(const pv_plane *plane, const edge_site *site, pv_vec px, double off)
{
    return pv_texture(plane, pv_along(px, site->across, off), pv_left(site->across),
                      PV_STATION_BAND * site->along_px);
}

/* One edge: how far to the line's left it lies of where the pose says, in true mm. */
static bool edge_offset(const pv_frame *frame, const pv_plane *plane, const pv_optics *optics,
                        double line_width, int which, bool look, pv_station *st)
{
    double side = which == 0 ? -1 : 1;
    edge_site site;
    pv_profile profile;
    pv_edge edge = {0};
    pv_seen *seen = &st->seen[which];
    if (!make_site(frame, st, side, line_width, &site))
        return false;
    double near = st->near * site.px, far = st->far * site.px;
    if (!pv_profile_take(plane, site.local.px, site.across, far + SEARCH * site.px + 1,
                         PV_STATION_BAND * site.along_px, &profile) ||
        !seek(&profile, near, far, SEARCH * site.px, &edge))
        return false;
    fill_seen(&site, &profile, &edge, seen);
    seen->texture[0] = texture_beside(plane, &site, seen->px, -(near + far) / 2);
    seen->texture[1] = texture_beside(plane, &site, seen->px, (near + far) / 2);
    seen->fringed =
        look && profile.channels == 3 && look_at_fringe(&profile, &edge, near, far, seen->fringe);
    double add = pv_optics_tone(optics, &edge, seen->tone);
    double at = edge.at + add - pv_optics_fringe(optics, &edge, seen->px, site.across);
    pv_optics_fringe_u(optics, &edge, seen->px, site.across, seen->tone);
    double per_px = pv_dot(pv_local_from_px(&site.local, site.across),
                           pv_local_true_left(&site.local, st->heading));
    for (int i = 0; i < PV_TONES; i++)
        seen->tone[i] *= per_px;
    /* Back through the map itself: its size changes on the way in a photograph. */
    pv_vec found = pv_pose_unmap(frame->pose, pv_along(site.local.px, site.across, at));
    pv_vec off = pv_sub(pv_add(found, frame->origin), site.planned);
    st->edge[which] =
        pv_local_across(&site.local, st->heading, off) - curve_shift(st, side, line_width);
    st->slope[which] = edge.slope / per_px;
    return st->slope[which] > 0 && isfinite(st->edge[which]);
}

void pv_station_measure(const pv_frame *frame, const pv_plane *plane, const pv_optics *optics,
                        double line_width, bool look, pv_station *station)
{
    station->found = edge_offset(frame, plane, optics, line_width, 0, look, station) &&
                     edge_offset(frame, plane, optics, line_width, 1, look, station);
    if (!station->found)
        return;
    pv_local local = pv_frame_at(frame, station->at);
    pv_vec step = pv_scale(pv_left(station->heading), line_width);
    double *edge = station->edge;
    station->width = pv_local_across(&local, station->heading, step) + edge[1] - edge[0];
    station->centre = (edge[0] + edge[1]) / 2;
}
