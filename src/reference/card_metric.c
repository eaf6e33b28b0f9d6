#include "reference/card_metric.h"

/* What the result depends on besides the outline itself, each 0 at its best estimate; and the
 * standard uncertainty of each. */
enum {
    OFF = 0,   /* four sides' places */
    SLOPE = 4, /* and directions */
    WALL = 8,  /* where between the rims each edge was seen */
    LONG = 12, /* the card's own size */
    SHORT,
    SQUARE,
    LEVEL,  /* moves all sides out alike */
    HEIGHT, /* of rim over camera's height, relative */
    FOOT_X,
    FOOT_Y,
    STRETCH_LONG, /* of the pose */
    STRETCH_SHORT,
    STRETCH_ANGLE,
    CAUSES
};

/* By how much the upper rim of a side lies farther out than the lower one, as seen on the paper's
 * plane: negative where the camera sees the wall. */
static double rim_shift(const pv_card_seen *s, const pv_outline_side *side, const double by[CAUSES])
{
    if (!s->camera->known)
        return 0;
    pv_vec foot = pv_add(s->camera->foot, pv_v(by[FOOT_X], by[FOOT_Y]));
    double part = PV_CARD_THICKNESS / s->camera->height * (1 + by[HEIGHT]);
    double rise = part / (1 - part);
    return pv_dot(pv_sub(side->middle, foot), side->out) * rise;
}

double pv_card_shift(const pv_card_seen *s, const pv_outline_side *side)
{
    static const double none[CAUSES] = {0};
    return rim_shift(s, side, none);
}

/* (ln sx, ln sy, skew) for a card that lies as outlined: with V its two sides as vectors in nominal
 * mm and D = ((a^2, a b sin q), (a b sin q, b^2)) their true products, G = V^-T D V^-1 holds the
 * true products of the sheet's own unit vectors. False where the sides don't make a card. */
static bool print_by_card(const pv_card_seen *s, const double by[CAUSES], double out[3])
{
    pv_outline moved = s->outline;
    double off[4];
    pv_vec c[4];
    for (int k = 0; k < 4; k++) {
        double shift = rim_shift(s, &s->outline.side[k], by);
        off[k] = by[OFF + k] + by[WALL + k] + by[LEVEL] -
                 (shift > 0 || s->rim[k] ? shift : shift * (1 - PV_CARD_LOWER));
        moved.side[k].slope += by[SLOPE + k];
    }
    pv_outline_corners(&moved, off, c);
    pv_vec v1 = pv_scale(pv_add(pv_sub(c[1], c[0]), pv_sub(c[2], c[3])), 0.5);
    pv_vec v2 = pv_scale(pv_add(pv_sub(c[3], c[0]), pv_sub(c[2], c[1])), 0.5);
    v1 = pv_scale(v1, 1 + by[STRETCH_LONG]);
    v2 = pv_along(pv_scale(v2, 1 + by[STRETCH_SHORT]), pv_left(v2), by[STRETCH_ANGLE]);
    double a = PV_CARD_LONG + by[LONG], b = PV_CARD_SHORT + by[SHORT];
    double ab = a * b * sin(by[SQUARE]), det = pv_cross_z(v1, v2);
    if (!(fabs(det) > 1))
        return false;
    /* Rows of V^-1. */
    pv_vec r1 = pv_v(v2.y / det, -v2.x / det), r2 = pv_v(-v1.y / det, v1.x / det);
    double xx = a * a * r1.x * r1.x + 2 * ab * r1.x * r2.x + b * b * r2.x * r2.x;
    double yy = a * a * r1.y * r1.y + 2 * ab * r1.y * r2.y + b * b * r2.y * r2.y;
    double xy = a * a * r1.x * r1.y + ab * (r1.x * r2.y + r1.y * r2.x) + b * b * r2.x * r2.y;
    if (!(xx > 0 && yy > 0))
        return false;
    out[0] = log(xx) / 2;
    out[1] = log(yy) / 2;
    out[2] = asin(fmax(-1, fmin(1, xy / sqrt(xx * yy))));
    return true;
}

/* Of where a step is, on a side whose wall is so broad and hidden. What hides it hides the foot's
 * shadow, too. */
static double lower_u(double wall)
{
    return PV_CARD_LOWER_U * wall + fmin(PV_CARD_FOOT_U, PV_CARD_LOWER_U * wall);
}

/* Opposite sides are parallel, on the paper's plane, too: rims shift without turning. So both show
 * one direction twice, and what they differ by beyond their own uncertainties is an unknown of each
 * (the moments' estimate of the variance between two readings: half of what is left of the square).
 */
static double unparallel(const pv_outline_side *a, const pv_outline_side *b)
{
    pv_vec da = pv_along(a->along, a->out, a->slope), db = pv_along(b->along, b->out, b->slope);
    double turn = asin(fmax(-1, fmin(1, pv_cross_z(pv_unit(da), pv_unit(db)))));
    double own = a->u_slope * a->u_slope + b->u_slope * b->u_slope;
    return sqrt(fmax(0, turn * turn - own) / 2);
}

static void uncertainties(const pv_card_seen *s, double u[CAUSES])
{
    double soft = 0;
    pv_vec middle = pv_v(0, 0);
    for (int k = 0; k < 4; k++) {
        const pv_outline_side *side = &s->outline.side[k];
        double grid = PV_CARD_GRID_U / pv_pose_px_per_mm(s->pose, side->middle);
        u[OFF + k] = hypot(hypot(side->u_off, PV_CARD_RIM_U), grid);
        u[SLOPE + k] = hypot(side->u_slope, unparallel(side, &s->outline.side[(k + 2) % 4]));
        u[WALL + k] = s->rim[k] ? 0 : lower_u(fmax(0, -pv_card_shift(s, side)));
        soft += side->soft / 4;
        middle = pv_along(middle, side->middle, 0.25);
    }
    u[LONG] = PV_CARD_LONG_OFF / sqrt(6);
    u[SHORT] = PV_CARD_SHORT_OFF / sqrt(6);
    u[SQUARE] = PV_CARD_SQUARE_U;
    u[LEVEL] = PV_CARD_LEVEL_U * soft;
    u[HEIGHT] = u[FOOT_X] = u[FOOT_Y] = 0;
    if (s->camera->known) {
        u[HEIGHT] = hypot(s->camera->height_u, PV_CARD_THICKNESS_OFF / PV_CARD_THICKNESS / sqrt(3));
        u[FOOT_X] = u[FOOT_Y] = s->camera->foot_u;
    }
    /* In a scan the pose's scale is one for all the sheet, and counted with the scale itself. */
    u[STRETCH_LONG] = u[STRETCH_SHORT] = u[STRETCH_ANGLE] = 0;
    if (s->pose->kind == PV_POSE_PERSPECTIVE) {
        u[STRETCH_LONG] = pv_pose_u_stretch(s->pose, middle, s->outline.side[0].along);
        u[STRETCH_SHORT] = pv_pose_u_stretch(s->pose, middle, s->outline.side[1].along);
        u[STRETCH_ANGLE] = fmax(u[STRETCH_LONG], u[STRETCH_SHORT]);
    }
}

/* The metric and, by differences, its covariance. */
bool pv_card_metric(const pv_card_seen *s, pv_metric *out)
{
    double by[CAUSES] = {0}, u[CAUSES], p[3];
    *out = pv_metric_unknown();
    if (!print_by_card(s, by, p))
        return false;
    uncertainties(s, u);
    for (int i = 0; i < CAUSES; i++) {
        double up[3], down[3];
        if (!(u[i] > 0))
            continue;
        by[i] = u[i];
        bool good = print_by_card(s, by, up);
        by[i] = -u[i];
        good = good && print_by_card(s, by, down);
        by[i] = 0;
        if (!good)
            return false;
        for (int r = 0; r < 3; r++)
            for (int c = 0; c < 3; c++)
                out->cov[3 * r + c] += (up[r] - down[r]) * (up[c] - down[c]) / 4;
    }
    out->scale[0] = exp(p[0]);
    out->scale[1] = exp(p[1]);
    out->skew = p[2];
    out->known = out->has_skew = true;
    return true;
}
