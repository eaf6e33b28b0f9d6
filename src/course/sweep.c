#include "course/sweep.h"

#include "base/memory.h"

#include <stdlib.h>

/* One stretch of the route, or the turn on the pivot before it. */
typedef struct motion {
    bool turns;     /* on the pivot, by `turn` */
    pv_piece piece; /* else along this */
    pv_pose2 from;
    double turn;
    double s;            /* mm along the route where it begins */
    double length;       /* 0 for a turn */
    size_t steps, first; /* first: number of its first step */
} motion;

struct pv_sweep {
    const pv_robot *robot;
    motion *motions;
    size_t n_motions, cap_motions;
    size_t steps;
};

void pv_footprint(const pv_robot *robot, pv_vec at, double heading, double less, pv_vec corners[4])
{
    pv_vec x = pv_polar(1, heading), y = pv_left(x);
    double back = -robot->pivot + less, front = robot->length - robot->pivot - less;
    double half = robot->width / 2 - less;
    const double along[4] = {back, front, front, back}, across[4] = {-half, -half, half, half};
    for (int i = 0; i < 4; i++)
        corners[i] = pv_along(pv_along(at, x, along[i]), y, across[i]);
}

/* A course without a robot is followed by a point. */
static void outline(const pv_sweep *sweep, pv_pose2 pose, pv_vec corners[4])
{
    pv_footprint(sweep->robot, pose.at, pose.heading, sweep->robot->given ? PV_SWEEP_LESS : 0,
                 corners);
}

/* Largest distance of a corner of the footprint from a point. */
static double reach(const pv_sweep *sweep, pv_pose2 pose, pv_vec about)
{
    pv_vec corners[4];
    double most = 0;
    outline(sweep, pose, corners);
    for (int i = 0; i < 4; i++)
        most = fmax(most, pv_dist(corners[i], about));
    return most;
}

/* Steps that turn by no more than keeps a chord within PV_SWEEP_FLATNESS of its arc. */
static double turning_steps(double turn, double radius)
{
    double most = fmin(sqrt(8 * PV_SWEEP_FLATNESS / radius), PV_STEP / radius);
    return ceil(fabs(turn) / fmin(most, 0.5));
}

static double direction(const pv_piece *piece, double s)
{
    pv_vec t = pv_piece_heading(piece, s);
    return atan2(t.y, t.x);
}

static bool add_motion(pv_sweep *sweep, const motion *m, double steps)
{
    if (!PV_GROW(sweep->motions, sweep->n_motions, sweep->cap_motions))
        return false;
    motion *to = &sweep->motions[sweep->n_motions++];
    *to = *m;
    to->first = sweep->steps;
    to->steps = (size_t)fmin(fmax(steps, 1), 1e12);
    sweep->steps += to->steps;
    return true;
}

static bool add_piece(pv_sweep *sweep, const pv_piece *piece, double *heading, double *s)
{
    double length = pv_piece_length(piece), towards = direction(piece, 0);
    if (!(length > 0))
        return true;
    double turn = sweep->n_motions > 0 ? remainder(towards - *heading, 2 * PV_PI) : 0;
    if (fabs(turn) > PV_TANGENT) {
        motion m = {.turns = true, .from = {piece->a, *heading}, .turn = turn, .s = *s};
        if (!add_motion(sweep, &m, turning_steps(turn, reach(sweep, m.from, piece->a) + 1e-9)))
            return false;
    }
    motion m = {.piece = *piece, .from = {piece->a, towards}, .s = *s, .length = length};
    double steps = ceil(length / PV_STEP);
    if (piece->arc)
        steps =
            fmax(steps, turning_steps(piece->sweep, reach(sweep, m.from, piece->centre) + 1e-9));
    if (!add_motion(sweep, &m, steps))
        return false;
    *heading = direction(piece, length);
    *s += length;
    return true;
}

pv_sweep *pv_sweep_new(const pv_course *course, size_t most, pv_diags *diags)
{
    pv_sweep *sweep = PV_NEW(pv_sweep);
    if (sweep == NULL) {
        pv_fail_memory(diags);
        return NULL;
    }
    sweep->robot = &course->robot;
    double heading = 0, s = 0;
    bool good = true;
    for (size_t i = 0; good && i < course->route.n; i++)
        good = add_piece(sweep, &course->route.pieces[i], &heading, &s);
    if (!good)
        pv_fail_memory(diags);
    else if (sweep->steps > most)
        pv_diags_add(diags, PV_ERROR, PV_CAUSE_LIMIT, NULL, "shorten the route",
                     "the route is too long to be followed: more than %zu steps", most);
    if (good && sweep->steps <= most)
        return sweep;
    pv_sweep_free(sweep);
    return NULL;
}

void pv_sweep_free(pv_sweep *sweep)
{
    if (sweep != NULL)
        free(sweep->motions);
    free(sweep);
}

static pv_pose2 pose_at(const motion *m, double u)
{
    if (m->turns)
        return (pv_pose2){m->from.at, m->from.heading + u * m->turn};
    pv_vec at = pv_piece_point(&m->piece, u * m->length);
    return (pv_pose2){at, m->from.heading + (m->piece.arc ? u * m->piece.sweep : 0)};
}

static pv_convex between(const pv_sweep *sweep, pv_pose2 a, pv_pose2 b)
{
    pv_vec corners[8];
    outline(sweep, a, corners);
    outline(sweep, b, corners + 4);
    return pv_convex_hull(corners, 8);
}

size_t pv_sweep_steps(const pv_sweep *sweep)
{
    return sweep->steps;
}

static const motion *motion_of(const pv_sweep *sweep, size_t index)
{
    size_t lo = 0, hi = sweep->n_motions - 1;
    while (lo < hi) {
        size_t middle = hi - (hi - lo) / 2;
        if (sweep->motions[middle].first <= index)
            lo = middle;
        else
            hi = middle - 1;
    }
    return &sweep->motions[lo];
}

void pv_sweep_step(const pv_sweep *sweep, size_t index, pv_step *out)
{
    const motion *m = motion_of(sweep, index);
    double k = (double)(index - m->first), n = (double)m->steps;
    out->motion = (size_t)(m - sweep->motions);
    out->from = k / n;
    out->to = (k + 1) / n;
    out->s = m->s + out->from * m->length;
    out->s_end = m->s + out->to * m->length;
    pv_pose2 a = pose_at(m, out->from), b = pose_at(m, out->to);
    out->body = between(sweep, a, b);
    const pv_vec path[2] = {a.at, b.at};
    out->path = pv_convex_hull(path, 2);
}

pv_convex pv_sweep_part(const pv_sweep *sweep, const pv_step *step, double part)
{
    const motion *m = &sweep->motions[step->motion];
    return between(sweep, pose_at(m, step->from),
                   pose_at(m, step->from + part * (step->to - step->from)));
}

pv_pose2 pv_sweep_end(const pv_sweep *sweep)
{
    return sweep->n_motions > 0 ? pose_at(&sweep->motions[sweep->n_motions - 1], 1)
                                : (pv_pose2){{0, 0}, 0};
}
