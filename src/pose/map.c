/* The map itself: sheet mm to image px and back. */
#include "pose/pose.h"
#include "pose/solve.h"

#define LENS_ROUNDS 30
#define LENS_EXACT  1e-9 /* px */

/* Brown's radial factor at p, and its derivative by r^2. */
static double radial(const pv_pose *pose, pv_vec from_centre, double *slope)
{
    double unit = pose->lens_unit, r2 = pv_dot(from_centre, from_centre) / (unit * unit);
    *slope = (pose->lens[0] + 2 * pose->lens[1] * r2) / (unit * unit);
    return 1 + r2 * (pose->lens[0] + pose->lens[1] * r2);
}

static bool has_lens(const pv_pose *pose)
{
    return pose->lens_unit > 0 && (pose->lens[0] != 0 || pose->lens[1] != 0);
}

static pv_vec bend(const pv_pose *pose, pv_vec p)
{
    double slope;
    pv_vec from = pv_sub(p, pose->lens_centre);
    return pv_along(pose->lens_centre, from, radial(pose, from, &slope));
}

pv_vec pv_pose_map(const pv_pose *pose, pv_vec sheet_mm)
{
    pv_vec p = pv_map_point(pose->h, sheet_mm);
    return has_lens(pose) ? bend(pose, p) : p;
}

void pv_pose_jacobian(const pv_pose *pose, pv_vec sheet_mm, pv_vec *dx, pv_vec *dy)
{
    pv_map_jacobian(pose->h, sheet_mm, dx, dy);
    if (!has_lens(pose))
        return;
    double slope;
    pv_vec from = pv_sub(pv_map_point(pose->h, sheet_mm), pose->lens_centre);
    double factor = radial(pose, from, &slope);
    pv_vec *both[] = {dx, dy};
    for (int i = 0; i < 2; i++)
        *both[i] =
            pv_add(pv_scale(*both[i], factor), pv_scale(from, 2 * slope * pv_dot(from, *both[i])));
}

pv_vec pv_pose_unmap(const pv_pose *pose, pv_vec px)
{
    const double *h = pose->h;
    pv_vec p = px;
    for (int i = 0; has_lens(pose) && i < LENS_ROUNDS; i++) {
        pv_vec off = pv_sub(px, bend(pose, p));
        p = pv_add(p, off);
        if (pv_len(off) < LENS_EXACT)
            break;
    }
    /* The adjugate is the inverse but for a factor, which doesn't matter. */
    double inverse[9] = {
        h[4] * h[8] - h[5] * h[7], h[2] * h[7] - h[1] * h[8], h[1] * h[5] - h[2] * h[4],
        h[5] * h[6] - h[3] * h[8], h[0] * h[8] - h[2] * h[6], h[2] * h[3] - h[0] * h[5],
        h[3] * h[7] - h[4] * h[6], h[1] * h[6] - h[0] * h[7], h[0] * h[4] - h[1] * h[3]};
    return pv_map_point(inverse, p);
}

double pv_pose_u_stretch(const pv_pose *pose, pv_vec sheet_mm, pv_vec direction)
{
    (void)sheet_mm;
    pv_vec d = pv_unit(direction);
    return hypot(hypot(d.x * d.x * pose->u_scale[0], d.y * d.y * pose->u_scale[1]),
                 d.x * d.y * pose->u_skew / 1000);
}
