/* Where a target is seen in the image, and how well. */
#include "image/profile.h"
#include "pose/target.h"

#include <math.h>

/* How a tag's side is read, in cells: sought within, plateaus from and to. */
#define TAG_SEARCH 0.45
#define TAG_NEAR   0.30
#define TAG_FAR    0.75

/* What a sight of each kind is good to without any noise, px: alone, and what all sights of one
 * mark share. Upper ends of what simulated scans of 150 to 300 dpi showed. */
static const struct {
    double alone, shared;
} floors[] = {[PV_TARGET_LINE] = {0.006, 0.006},
              [PV_TARGET_STROKE] = {0.015, 0.010},
              [PV_TARGET_TAG] = {0.012, 0.005}};
/* In a tag of small cells the next cells' edges reach into the plateaus when ink has grown: mm that
 * a side's middle was off, of cells of 0.5 mm; it falls with the cell's third power or faster. */
#define TAG_SMALL_SHARED 0.004
#define TAG_SMALL_CELL   0.5
/* Standard error of an edge or a stroke per RMS of its plateaus' samples: the crossing is that of a
 * mean over 3 px, which rises by a third in a pixel. */
#define ERROR_OF_NOISE 2.0 /* px */

/* A target's frame in the image. */
typedef struct view {
    pv_vec a, b, normal;
    double across, along; /* px per mm */
} view;

static pv_vec turned(pv_vec dx, pv_vec dy, pv_vec d)
{
    return pv_v(dx.x * d.x + dy.x * d.y, dx.y * d.x + dy.y * d.y);
}

static view take_view(const pv_target *target, const pv_pose *map)
{
    pv_vec dx, dy;
    pv_pose_jacobian(map, pv_scale(pv_add(target->a, target->b), 0.5), &dx, &dy);
    pv_vec along = turned(dx, dy, target->along), across = turned(dx, dy, target->across);
    view v = {pv_pose_map(map, target->a), pv_pose_map(map, target->b), pv_left(pv_unit(along)), 0,
              pv_len(along)};
    if (pv_dot(v.normal, across) < 0)
        v.normal = pv_scale(v.normal, -1);
    v.across = pv_dot(v.normal, across);
    return v;
}

static bool sight_stroke(const pv_target *target, const pv_plane *plane, const view *v,
                         double reach, pv_sight *out)
{
    pv_profile profile;
    pv_edge edge;
    double half = fmin(fmax(reach, PV_STROKE_NEED), target->room) * v->across;
    if (!pv_profile_take(plane, v->a, v->normal, half + 0.5, target->band * v->along, &profile) ||
        !pv_stroke_find(&profile, 0, half, &edge))
        return false;
    out->at = pv_dot(v->normal, v->a) + edge.at;
    out->sigma = hypot(floors[PV_TARGET_STROKE].alone, ERROR_OF_NOISE * edge.noise);
    return true;
}

/* The middle of two opposite edges. */
static bool take_pair(const view *v, const pv_edge edges[2], pv_target_kind kind, pv_sight *out)
{
    /* Ink spreads a tenth of a millimetre or two; more is another edge. */
    if (fabs(edges[1].at - edges[0].at) > 0.6 * v->across)
        return false;
    double a = pv_dot(v->normal, v->a) + edges[0].at, b = pv_dot(v->normal, v->b) + edges[1].at;
    out->at = (a + b) / 2;
    out->sigma =
        hypot(floors[kind].alone, ERROR_OF_NOISE / 2 * hypot(edges[0].noise, edges[1].noise));
    return true;
}

static bool sight_line(const pv_target *target, const pv_plane *plane, const view *v, double reach,
                       pv_sight *out)
{
    double least = 3 / v->across; /* mm that are 3 px: blurs less than that in any image */
    double near = fmax(fmin(reach, 0.6 * target->room), least);
    double far = fmin(near + fmax(0.8, least), target->width - fmin(near, target->width / 3));
    far = fmin(far, target->room - 0.1);
    if (far < near + least / 3)
        return false;
    pv_vec ends[2] = {v->a, v->b};
    pv_edge edges[2];
    for (int k = 0; k < 2; k++) {
        pv_profile profile;
        if (!pv_profile_take(plane, ends[k], v->normal, far * v->across + 0.5,
                             target->band * v->along, &profile) ||
            !pv_edge_find(&profile, 0, near * v->across, far * v->across, &edges[k]))
            return false;
    }
    return take_pair(v, edges, PV_TARGET_LINE, out);
}

/* Each edge is sought where it should be, and measured with its plateaus placed about where it is.
 */
static bool sight_tag(const pv_target *target, const pv_plane *plane, const view *v, pv_sight *out)
{
    double cell = target->room * v->across;
    pv_vec ends[2] = {v->a, v->b};
    pv_edge edges[2] = {{0}};
    for (int k = 0; k < 2; k++) {
        pv_profile profile;
        double most = TAG_SEARCH + TAG_FAR;
        if (!pv_profile_take(plane, ends[k], v->normal, most * cell + 0.5, target->band * v->along,
                             &profile) ||
            !pv_edge_find(&profile, 0, TAG_SEARCH * cell, TAG_FAR * cell, &edges[k]) ||
            !pv_edge_find(&profile, edges[k].at, TAG_NEAR * cell, TAG_FAR * cell, &edges[k]))
            return false;
    }
    double small = TAG_SMALL_SHARED * v->across * pow(TAG_SMALL_CELL / target->room, 3);
    out->shared = hypot(out->shared, small);
    return take_pair(v, edges, PV_TARGET_TAG, out);
}

bool pv_target_sight(const pv_target *target, const pv_plane *plane, const pv_pose *map,
                     double reach, pv_sight *out)
{
    view v = take_view(target, map);
    if (!(v.across > 0 && v.along > 0) || !isfinite(v.across) || !isfinite(v.along))
        return false;
    *out = (pv_sight){.a = target->a,
                      .b = target->b,
                      .normal = v.normal,
                      .group = target->group,
                      .mark = target->mark,
                      .shared = floors[target->kind].shared,
                      .weight = 1};
    if (target->kind == PV_TARGET_STROKE)
        return sight_stroke(target, plane, &v, reach, out);
    return target->kind == PV_TARGET_TAG ? sight_tag(target, plane, &v, out)
                                         : sight_line(target, plane, &v, reach, out);
}
