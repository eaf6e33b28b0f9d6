/* The map itself: sheet mm to image px and back, and how uncertain it is. */
#include "pose/pose.h"
#include "pose/solve.h"

/* Rounds of inverting a lens, which end earlier at LENS_EXACT: assumed to be enough. */
#define LENS_ROUNDS 60
#define LENS_EXACT  1e-9 /* px */
#define GRID        5    /* places each way, for means over the sheet */

/* ---- there and back ---- */

/* With one of the fit's errors: fills the map (h and the lens) of `out`, nothing else. */
static void move_map(const pv_pose *pose, size_t error, pv_pose *out)
{
    const pv_pose_error *by = &pose->error[error];
    out->lens_unit = pose->lens_unit;
    for (int i = 0; i < 9; i++)
        out->h[i] = pose->h[i] + by->h[i];
    for (int i = 0; i < 2; i++)
        out->lens[i] = pose->lens[i] + by->lens[i];
    out->lens_centre = pv_add(pose->lens_centre, by->lens_centre);
}

static bool has_lens(const pv_pose *map)
{
    return map->lens_unit > 0 && (map->lens[0] != 0 || map->lens[1] != 0);
}

/* Brown's radial factor, and its derivative by r^2. */
static double radial(const pv_pose *map, pv_vec from_centre, double *slope)
{
    double r2 = pv_dot(from_centre, from_centre) / (map->lens_unit * map->lens_unit);
    *slope = (map->lens[0] + 2 * map->lens[1] * r2) / (map->lens_unit * map->lens_unit);
    return 1 + r2 * (map->lens[0] + map->lens[1] * r2);
}

static pv_vec bend(const pv_pose *map, pv_vec p)
{
    double slope;
    pv_vec from = pv_sub(p, map->lens_centre);
    return pv_along(map->lens_centre, from, radial(map, from, &slope));
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

double pv_pose_px_per_mm(const pv_pose *pose, pv_vec sheet_mm)
{
    pv_vec dx, dy;
    pv_pose_jacobian(pose, sheet_mm, &dx, &dy);
    return sqrt(fabs(pv_cross_z(dx, dy)));
}

pv_vec pv_pose_unmap(const pv_pose *pose, pv_vec px)
{
    const double *h = pose->h;
    pv_vec p = px;
    for (int i = 0; has_lens(pose) && i < LENS_ROUNDS; i++) {
        double slope;
        pv_vec from = pv_sub(p, pose->lens_centre), off = pv_sub(px, bend(pose, p));
        /* Newton's step along the radius, where nearly all of it lies. */
        double rise = radial(pose, from, &slope) + 2 * slope * pv_dot(from, from);
        p = pv_along(p, off, rise > 0.2 ? 1 / rise : 1);
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

/* ---- how uncertain ---- */

/* How large a map is at a place along a direction, as a logarithm. */
static double size_at(const pv_pose *map, pv_vec at, pv_vec d)
{
    pv_vec dx, dy;
    pv_pose_jacobian(map, at, &dx, &dy);
    return log(hypot(d.x * dx.x + d.y * dy.x, d.x * dx.y + d.y * dy.y));
}

/* The angle from the image of x to that of y. */
static double angle_at(const pv_pose *map, pv_vec at)
{
    pv_vec dx, dy;
    pv_pose_jacobian(map, at, &dx, &dy);
    return atan2(pv_cross_z(dx, dy), pv_dot(dx, dy));
}

static pv_vec grid_place(const pv_pose *pose, int i)
{
    pv_vec size = pv_sub(pose->seen.hi, pose->seen.lo);
    int row = i / GRID, column = i % GRID;
    return pv_v(pose->seen.lo.x + size.x * (column + 0.5) / GRID,
                pose->seen.lo.y + size.y * (row + 0.5) / GRID);
}

/* Of lengths of about 20 mm, where places that far apart are off by `uneven` each on its own. */
static double uneven_stretch(const pv_pose *pose)
{
    return pose->uneven > PV_UNEVEN_MIN ? sqrt(2) * pose->uneven / PV_UNEVEN_AREA : 0;
}

double pv_pose_u_stretch(const pv_pose *pose, pv_vec sheet_mm, pv_vec direction)
{
    pv_vec d = pv_unit(direction);
    if (pv_dot(d, d) == 0)
        return 0;
    double variance = pow(uneven_stretch(pose), 2), grid[GRID * GRID];
    for (int i = 0; i < GRID * GRID; i++)
        grid[i] = size_at(pose, grid_place(pose, i), d);
    for (size_t k = 0; pose->kind != PV_POSE_AFFINE && k < pose->n_errors; k++) {
        pv_pose moved;
        move_map(pose, k, &moved);
        double here = size_at(&moved, sheet_mm, d) - size_at(pose, sheet_mm, d), mean = 0;
        for (int i = 0; i < GRID * GRID; i++) {
            pv_vec at = grid_place(pose, i);
            mean += (size_at(&moved, at, d) - grid[i]) / (GRID * GRID);
        }
        variance += (here - mean) * (here - mean);
    }
    return sqrt(variance);
}

/* What a print that bows does to a scan's skew, rad: the bow shows as unevenness, and the map's
 * angle goes with how the marks happen to lie on it. */
static double bow_skew(const pv_pose *pose)
{
    pv_vec size = pv_sub(pose->seen.hi, pose->seen.lo);
    double across = fmax((size.x + size.y) / 2, PV_UNEVEN_AREA);
    return PV_BOW_SKEW * pose->uneven / across;
}

/* Of a scan what an error does to the map's scales and angle, of a photograph the RMS over the
 * sheet of what it does to a place's against their mean. */
void pv_pose_sum_up(pv_pose *pose)
{
    enum { N = GRID * GRID };
    double variance[3] = {0, 0, 0}, uneven = uneven_stretch(pose);
    bool scan = pose->kind == PV_POSE_AFFINE;
    for (size_t k = 0; k < pose->n_errors; k++) {
        pv_pose moved;
        move_map(pose, k, &moved);
        double sum[3] = {0, 0, 0}, squares[3] = {0, 0, 0};
        for (int i = 0; i < N; i++) {
            pv_vec at = grid_place(pose, i), x = {1, 0}, y = {0, 1};
            double off[3] = {size_at(&moved, at, x) - size_at(pose, at, x),
                             size_at(&moved, at, y) - size_at(pose, at, y),
                             angle_at(&moved, at) - angle_at(pose, at)};
            for (int q = 0; q < 3; q++) {
                sum[q] += off[q];
                squares[q] += off[q] * off[q];
            }
        }
        for (int q = 0; q < 3; q++)
            variance[q] += scan ? squares[q] / N : squares[q] / N - pow(sum[q] / N, 2);
    }
    for (int q = 0; q < 3; q++)
        variance[q] = fmax(0, variance[q]) + (scan ? 0 : uneven * uneven);
    if (scan)
        variance[2] += pow(bow_skew(pose), 2);
    pose->u_scale[0] = sqrt(variance[0]);
    pose->u_scale[1] = sqrt(variance[1]);
    pose->u_skew = 1000 * sqrt(variance[2]);
}
