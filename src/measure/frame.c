#include "measure/frame.h"

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

pv_vec pv_local_true_left(const pv_local *local, pv_vec heading)
{
    pv_vec along = pv_unit(pv_local_true(local, heading));
    pv_vec left = pv_local_true(local, pv_left(heading));
    return pv_unit(pv_along(left, along, -pv_dot(left, along)));
}

double pv_local_across(const pv_local *local, pv_vec heading, pv_vec nominal)
{
    return pv_dot(pv_local_true(local, nominal), pv_local_true_left(local, heading));
}

double pv_frame_u_stretch(const pv_frame *frame, pv_vec mat, pv_vec direction)
{
    /* Where the image itself says how long a millimetre is, nominal lengths come by the pose and go
     * by it again, and its errors with them. */
    if (frame->metric->own)
        return 0;
    return pv_pose_u_stretch(frame->pose, pv_sub(mat, frame->origin), direction);
}

double pv_local_px_across(const pv_local *local, pv_vec heading)
{
    pv_vec across = pv_unit(pv_left(pv_local_px(local, heading)));
    return fabs(pv_dot(across, pv_local_px(local, pv_left(heading))));
}
