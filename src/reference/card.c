#include "reference/card.h"

#include "reference/camera.h"
#include "reference/outline.h"
#include "reference/rim.h"

#include <string.h>

#define MARGIN 2.0 /* mm around a card that its shadow and rim may touch */

typedef struct card_search {
    const pv_plan *plan;
    const pv_plane *plane;
    const pv_pose *pose;
    pv_camera_view camera;
    bool found;
    pv_outline outline; /* the best so far */
    bool rims;          /* its sides are at the upper rim; else a wall hides which rim was seen */
    bool failed;        /* memory ran out */
    pv_metric metric;
    double fitness;
} card_search;

/* ---- from an outline to a metric ---- */

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
static double rim_shift(const card_search *s, const pv_outline_side *side, const double by[CAUSES])
{
    if (!s->camera.known)
        return 0;
    pv_vec foot = pv_add(s->camera.foot, pv_v(by[FOOT_X], by[FOOT_Y]));
    double rise = PV_CARD_THICKNESS / s->camera.height * (1 + by[HEIGHT]);
    return pv_dot(pv_sub(side->middle, foot), side->out) * rise;
}

/* (ln sx, ln sy, skew) for a card that lies as outlined: with V its two sides as vectors in nominal
 * mm and D = ((a^2, a b sin q), (a b sin q, b^2)) their true products, G = V^-T D V^-1 holds the
 * true products of the sheet's own unit vectors. False where the sides don't make a card. */
static bool print_by_card(const card_search *s, const pv_outline *outline, const double by[CAUSES],
                          double out[3])
{
    pv_outline moved = *outline;
    double off[4];
    pv_vec c[4];
    for (int k = 0; k < 4; k++) {
        double shift = rim_shift(s, &outline->side[k], by);
        off[k] =
            by[OFF + k] + by[WALL + k] + by[LEVEL] - (shift > 0 || s->rims ? shift : shift / 2);
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

static double px_per_mm(const pv_pose *pose, pv_vec at)
{
    pv_vec dx, dy;
    pv_pose_jacobian(pose, at, &dx, &dy);
    return sqrt(fabs(pv_cross_z(dx, dy)));
}

static void uncertainties(const card_search *s, const pv_outline *outline, double u[CAUSES])
{
    static const double none[CAUSES] = {0};
    double soft = 0;
    pv_vec middle = pv_v(0, 0);
    for (int k = 0; k < 4; k++) {
        const pv_outline_side *side = &outline->side[k];
        double grid = PV_CARD_GRID_U / px_per_mm(s->pose, side->middle);
        u[OFF + k] = hypot(hypot(side->u_off, PV_CARD_RIM_U), grid);
        u[SLOPE + k] = side->u_slope;
        u[WALL + k] = s->rims ? 0 : fmax(0, -rim_shift(s, side, none)) / 2;
        soft += side->soft / 4;
        middle = pv_along(middle, side->middle, 0.25);
    }
    u[LONG] = PV_CARD_LONG_OFF / sqrt(6);
    u[SHORT] = PV_CARD_SHORT_OFF / sqrt(6);
    u[SQUARE] = PV_CARD_SQUARE_U;
    u[LEVEL] = PV_CARD_LEVEL_U * soft;
    u[HEIGHT] = u[FOOT_X] = u[FOOT_Y] = 0;
    if (s->camera.known) {
        u[HEIGHT] = hypot(s->camera.height_u, PV_CARD_THICKNESS_OFF / PV_CARD_THICKNESS / sqrt(3));
        u[FOOT_X] = u[FOOT_Y] = s->camera.foot_u;
    }
    /* In a scan the pose's scale is one for all the sheet, and counted with the scale itself. */
    u[STRETCH_LONG] = u[STRETCH_SHORT] = u[STRETCH_ANGLE] = 0;
    if (s->pose->kind == PV_POSE_PERSPECTIVE) {
        u[STRETCH_LONG] = pv_pose_u_stretch(s->pose, middle, outline->side[0].along);
        u[STRETCH_SHORT] = pv_pose_u_stretch(s->pose, middle, outline->side[1].along);
        u[STRETCH_ANGLE] = fmax(u[STRETCH_LONG], u[STRETCH_SHORT]);
    }
}

/* The metric and, by differences, its covariance. */
static bool metric_by(const card_search *s, const pv_outline *outline, pv_metric *out)
{
    double by[CAUSES] = {0}, u[CAUSES], p[3];
    *out = pv_metric_unknown();
    if (!print_by_card(s, outline, by, p))
        return false;
    uncertainties(s, outline, u);
    for (int i = 0; i < CAUSES; i++) {
        double up[3], down[3];
        if (!(u[i] > 0))
            continue;
        by[i] = u[i];
        bool good = print_by_card(s, outline, by, up);
        by[i] = -u[i];
        good = good && print_by_card(s, outline, by, down);
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

/* ---- is it a card? ---- */

/* Share of a side where the plan itself has an edge. */
static double printed_share(const card_search *s, const pv_outline_side *side)
{
    const pv_sheet *sheet = &s->plan->sheets[s->pose->sheet];
    pv_box art = pv_sheet_art_box(s->plan, sheet);
    int n = 0, edges = 0;
    double reach = side->half - PV_OUTLINE_ENDS;
    for (int i = 0; i < (int)reach; i++) {
        double t = 2 * i - reach;
        pv_vec at = pv_along(side->middle, side->along, t);
        at = pv_add(pv_along(at, side->out, side->off + side->slope * t), sheet->origin);
        pv_vec in = pv_along(at, side->out, -0.4), out = pv_along(at, side->out, 0.4);
        n++;
        if (!pv_box_holds(art, at))
            continue;
        edges += pv_art_spot(&s->plan->art, in).colour != pv_art_spot(&s->plan->art, out).colour;
    }
    return n > 0 ? (double)edges / n : 0;
}

static bool is_print(const card_search *s, const pv_outline *outline)
{
    int sides = 0;
    for (int k = 0; k < 4; k++)
        sides += printed_share(s, &outline->side[k]) > 0.6;
    return sides >= 3;
}

/* The outer end of a soft shadow is straight, too, but no edge. */
static bool sharp(const pv_outline *outline)
{
    double least = HUGE_VAL, most = 0;
    for (int k = 0; k < 4; k++) {
        least = fmin(least, outline->side[k].soft);
        most = fmax(most, outline->side[k].soft);
    }
    return most <= PV_CARD_SOFT * least;
}

/* However a print is stretched and sheared, sides that are parallel stay so. */
static bool parallel(const pv_outline *outline)
{
    for (int k = 0; k < 2; k++) {
        const pv_outline_side *a = &outline->side[k], *b = &outline->side[k + 2];
        pv_vec da = pv_along(a->along, a->out, a->slope), db = pv_along(b->along, b->out, b->slope);
        double apart = fabs(pv_cross_z(pv_unit(da), pv_unit(db)));
        if (apart > PV_CARD_TURNED + 3 * hypot(a->u_slope, b->u_slope))
            return false;
    }
    return true;
}

static bool believable(const pv_metric *m)
{
    return fabs(log(m->scale[0])) <= PV_CARD_SCALE_OFF &&
           fabs(log(m->scale[1])) <= PV_CARD_SCALE_OFF &&
           fabs(log(m->scale[0] / m->scale[1])) <= PV_CARD_RATIO_OFF &&
           fabs(m->skew) <= PV_CARD_SKEW_OFF;
}

static bool measure_within(const card_search *s, const pv_vec corner[4], double near,
                           pv_outline *outline, pv_metric *metric)
{
    /* Where the paper changes, now one rim of a wall is the clearer one, now the other. */
    static const double none[CAUSES] = {0};
    double most[4];
    for (int k = 0; k < 4; k++) {
        pv_outline_side side = pv_outline_side_of(corner[k], corner[(k + 1) % 4]);
        most[k] = PV_OUTLINE_RMS + fmax(0, -rim_shift(s, &side, none)) / 2;
    }
    return pv_outline_measure(s->plane, s->pose, corner, near, most, outline) && sharp(outline) &&
           parallel(outline) && metric_by(s, outline, metric) && believable(metric);
}

/* Close to the guess first: farther out, a shadow's end may be the clearer edge. */
static bool measure(const card_search *s, const pv_vec corner[4], double near, pv_outline *outline,
                    pv_metric *metric)
{
    return measure_within(s, corner, near / 2, outline, metric) ||
           measure_within(s, corner, near, outline, metric);
}

/* Measures one candidate, and keeps it where it is a better card than what there is. At least so
 * many of its corners must be seen to be round. */
static void consider(card_search *s, const pv_vec corner[4], double near, int least)
{
    pv_outline outline;
    pv_metric metric;
    if (!measure(s, corner, near, &outline, &metric))
        return;
    int round = pv_outline_round_corners(s->plane, s->pose, &outline);
    if (round < least || is_print(s, &outline))
        return;
    double fitness = round;
    for (int k = 0; k < 4; k++)
        fitness += (double)outline.side[k].kept / (double)outline.side[k].places;
    if (s->found && s->fitness >= fitness)
        return;
    s->found = true;
    s->outline = outline;
    s->metric = metric;
    s->fitness = fitness;
}

/* ---- the upper rim ---- */

/* Blur of edges (mm, standard deviation): the slope of a Gaussian's integral is 1 / (blur sqrt(2
 * pi)). By the sides that show no wall, the sharpest. */
static double blur_of(const card_search *s)
{
    static const double none[CAUSES] = {0};
    double least = HUGE_VAL, all = HUGE_VAL;
    for (int k = 0; k < 4; k++) {
        const pv_outline_side *side = &s->outline.side[k];
        double px = side->soft * px_per_mm(s->pose, side->middle);
        all = fmin(all, px);
        if (rim_shift(s, side, none) >= 0)
            least = fmin(least, px);
    }
    return (least < HUGE_VAL ? least : all) / sqrt(2 * PV_PI);
}

/* By how much a side must be turned to be parallel to its opposite one. */
static double turn_to_parallel(const pv_outline_side *side, const pv_outline_side *opposite)
{
    pv_vec d = pv_along(opposite->along, opposite->out, opposite->slope);
    return pv_dot(d, side->out) / pv_dot(d, side->along) - side->slope;
}

/* Moves the sides whose wall is seen to their upper rim. */
static void find_rims(card_search *s)
{
    static const double none[CAUSES] = {0};
    pv_outline moved = s->outline;
    double blur = blur_of(s);
    bool good = s->camera.known;
    for (int k = 0; k < 4 && good; k++) {
        pv_outline_side *side = &moved.side[k];
        double wall = -rim_shift(s, side, none), px = px_per_mm(s->pose, side->middle);
        if (!(wall * px > PV_CARD_WALL_PX))
            continue;
        const pv_outline_side *opposite = &s->outline.side[(k + 2) % 4];
        double u = wall * hypot(s->camera.height_u, PV_CARD_THICKNESS_OFF / PV_CARD_THICKNESS);
        pv_rim_before before = {
            .wall = wall,
            .wall_u = hypot(u, s->camera.foot_u / s->camera.height * PV_CARD_THICKNESS),
            .slope = turn_to_parallel(side, opposite),
            .slope_u = hypot(PV_CARD_SQUARE_U, opposite->u_slope),
            .blur = blur / px,
            .blur_u = PV_CARD_BLUR_U * blur / px};
        bool memory;
        good = pv_rim_measure(s->plane, s->pose, &before, side, &memory);
        s->failed = s->failed || !memory;
    }
    card_search found = *s;
    found.rims = true;
    pv_metric metric;
    if (good && metric_by(&found, &moved, &metric)) {
        s->rims = true;
        s->outline = moved;
        s->metric = metric;
    }
}

/* ---- where to look ---- */

/* The printed outline, at the sizes that a print of it may have. */
static void look_in_outline(card_search *s)
{
    static const double print_scale[] = {1, 0.97, 0.94, 1.03};
    const pv_sheet *sheet = &s->plan->sheets[s->pose->sheet];
    if (!sheet->has_card)
        return;
    pv_box box = sheet->card;
    pv_vec middle = pv_box_middle(box), half = pv_scale(pv_sub(box.hi, box.lo), 0.5);
    for (int i = 0; i < 4 && !s->found; i++) {
        double x = half.x / print_scale[i], y = half.y / print_scale[i];
        static const double sign[4][2] = {{-1, -1}, {1, -1}, {1, 1}, {-1, 1}};
        pv_vec corner[4];
        int first = half.x > half.y ? 0 : 1;
        for (int k = 0; k < 4; k++) {
            const double *at = sign[(k + first) % 4];
            corner[k] = pv_add(middle, pv_v(at[0] * x, at[1] * y));
        }
        consider(s, corner, 2.3, 0); /* the comb about it hides corners */
    }
}

static bool look_everywhere(card_search *s, const pv_ground *ground)
{
    pv_rectangle found[PV_RECTANGLES_MAX];
    size_t n = 0;
    if (ground->width == 0)
        return true;
    if (!pv_rectangles_find(ground, PV_CARD_LONG, PV_CARD_SHORT, found, &n))
        return false;
    for (size_t i = 0; i < n; i++)
        consider(s, found[i].corner, fmax(0.8, 2 / ground->px_per_mm), 2);
    return true;
}

/* ---- what it hides ---- */

/* The quadrilateral in strips across its height, each its own box. */
static void cover(const pv_vec corner[4], pv_covered *covered)
{
    pv_box all = pv_box_none();
    for (int k = 0; k < 4; k++)
        all = pv_box_add(all, corner[k]);
    size_t n = PV_COVERED_MAX - covered->n;
    double high = (all.hi.y - all.lo.y) / (double)n;
    for (size_t i = 0; i < n; i++) {
        double y0 = all.lo.y + high * (double)i, y1 = y0 + high;
        pv_box strip = pv_box_none();
        for (int k = 0; k < 4; k++) {
            pv_vec a = corner[k], b = corner[(k + 1) % 4];
            double t0 = a.y == b.y ? 0 : (y0 - a.y) / (b.y - a.y);
            double t1 = a.y == b.y ? 1 : (y1 - a.y) / (b.y - a.y);
            double lo = fmax(0, fmin(t0, t1)), hi = fmin(1, fmax(t0, t1));
            bool meets = a.y == b.y ? a.y >= y0 - 1e-9 && a.y <= y1 + 1e-9 : lo <= hi;
            if (!meets)
                continue;
            strip = pv_box_add(strip, pv_along(a, pv_sub(b, a), lo));
            strip = pv_box_add(strip, pv_along(a, pv_sub(b, a), hi));
        }
        if (strip.lo.x <= strip.hi.x)
            covered->box[covered->n++] = pv_box_grow(strip, MARGIN);
    }
}

bool pv_card_find(const pv_plan *plan, const pv_plane *plane, const pv_pose *pose,
                  const pv_ground *ground, pv_evidence *evidence, pv_covered *covered,
                  pv_text *note)
{
    static const double none[4] = {0, 0, 0, 0};
    card_search s = {.plan = plan, .plane = plane, .pose = pose};
    *evidence = (pv_evidence){.result = {.kind = PV_REFERENCE_CARD}};
    s.camera = pv_camera_view_of(plane, pose);
    look_in_outline(&s);
    if (!look_everywhere(&s, ground))
        return false;
    if (!s.found) {
        if (plan->sheets[pose->sheet].has_card)
            pv_text_add(note, "no card was found in its printed outline");
        return true;
    }
    find_rims(&s);
    if (s.failed)
        return false;
    pv_vec corner[4];
    *evidence = pv_evidence_of_metric(PV_REFERENCE_CARD, &s.metric);
    pv_evidence_result(evidence);
    pv_outline_corners(&s.outline, none, corner);
    for (int k = 0; k < 4; k++) {
        evidence->result.corner[k][0] = corner[k].x;
        evidence->result.corner[k][1] = corner[k].y;
    }
    cover(corner, covered);
    return true;
}
