#include "reference/outline.h"

/* The long side of a card has 76 places, 1 mm apart. The rest: choices of this method, assumed
 * and tried on simulated cards. */
#define PLACES_MAX  100
#define ROUNDS      8
#define PITCH_FIRST 2.0                   /* mm between the places of a first look */
#define KEPT_FIRST  (PV_OUTLINE_KEPT / 2) /* share of them on one line that still leaves doubt */
#define PLATEAU     0.6                   /* mm, length of a plateau */
#define NEAR_MM     0.35                  /* in the second pass: where the plateaus begin */
#define NEAR_PX     2.5

/* What a place's edge is good to, relative to others: mm, and as parts of its softness, by shading
 * and by what its plateaus scatter (estimates). */
#define PLACE_U       0.01
#define PLACE_SHADING 0.05
#define PLACE_NOISE   0.3

/* One place of a side, where an edge was seen. */
typedef struct place {
    double s, d; /* mm along and out from the side's middle */
    double soft;
    double weight; /* of a soft or an uneven edge little */
    bool kept;
} place;

bool pv_outline_profile(const pv_plane *plane, const pv_pose *pose, const pv_outline_side *side,
                        double s, double half, pv_profile *out, pv_outline_cut *cut)
{
    pv_vec at = pv_along(side->middle, side->along, s), dx, dy;
    at = pv_along(at, side->out, side->off + side->slope * s);
    pv_pose_jacobian(pose, at, &dx, &dy);
    pv_vec along = pv_add(pv_scale(dx, side->along.x), pv_scale(dy, side->along.y));
    pv_vec outwards = pv_add(pv_scale(dx, side->out.x), pv_scale(dy, side->out.y));
    pv_vec across = pv_unit(pv_left(along));
    if (pv_dot(across, outwards) < 0)
        across = pv_scale(across, -1);
    *cut = (pv_outline_cut){pv_pose_map(pose, at), across, pv_dot(across, outwards)};
    return cut->px > 0 && pv_profile_take(plane, cut->centre, across, half * cut->px + 2,
                                          PV_OUTLINE_BAND * pv_len(along), out);
}

/* The edge in a profile, and what its place is good to. */
static bool weigh(const pv_profile *profile, double near, double px, pv_edge *edge, place *out)
{
    if (!pv_edge_find(profile, 0, near * px, (near + PLATEAU) * px, edge))
        return false;
    out->soft = 1 / (edge->slope * px);
    double u = hypot(PLACE_U, out->soft * (PLACE_SHADING + PLACE_NOISE * edge->noise));
    out->weight = PLACE_U * PLACE_U / (u * u);
    return true;
}

/* Reads the edge across a side at s, within +-near of its present line. Where JPEG made hue coarse,
 * luma is the sharper witness; but of a face and a ground that are about as light as each other hue
 * is the better one, and blurred alike to both sides. */
static bool see(const pv_plane *plane, const pv_pose *pose, const pv_outline_side *side, double s,
                double near, place *out)
{
    pv_profile profile;
    pv_edge edge, by_hue;
    pv_outline_cut cut;
    if (!pv_outline_profile(plane, pose, side, s, near + PLATEAU, &profile, &cut))
        return false;
    bool found = weigh(&profile, near, cut.px, &edge, out);
    if (profile.coarse_hue) {
        place hue;
        profile.coarse_hue = false;
        if (weigh(&profile, near, cut.px, &by_hue, &hue) && (!found || hue.weight > out->weight)) {
            *out = hue;
            edge = by_hue;
            found = true;
        }
    }
    if (!found)
        return false;
    pv_vec seen = pv_pose_unmap(pose, pv_along(cut.centre, cut.across, edge.at));
    pv_vec from = pv_sub(seen, side->middle);
    out->s = pv_dot(from, side->along);
    out->d = pv_dot(from, side->out);
    return isfinite(out->s) && isfinite(out->d);
}

static size_t see_all(const pv_plane *plane, const pv_pose *pose, pv_outline_side *side,
                      double near, double pitch, place *places)
{
    double reach = side->half - PV_OUTLINE_ENDS;
    size_t n = 0;
    side->places = (size_t)fmin(PLACES_MAX, 1 + floor(2 * reach / pitch));
    for (size_t i = 0; i < side->places; i++) {
        double s = -reach + 2 * reach * ((double)i + 0.5) / (double)side->places;
        n += see(plane, pose, side, s, near, &places[n]);
    }
    return n;
}

static double away(const place *p, double off, double slope)
{
    return fabs(p->d - off - slope * p->s);
}

/* The line through two places that most others lie near: many places see something else. */
static bool most_agree(const place *places, size_t n, double within, double *off, double *slope)
{
    double best = 0;
    for (size_t gap = n / 4; gap < n; gap += (n + 11) / 12)
        for (size_t i = 0; i + gap < n; i++) {
            const place *a = &places[i], *b = &places[i + gap];
            if (!(b->s - a->s > 5))
                continue;
            double g = (b->d - a->d) / (b->s - a->s), o = a->d - g * a->s;
            double sum = 0;
            for (size_t k = 0; k < n; k++)
                sum += away(&places[k], o, g) <= within ? places[k].weight : 0;
            if (sum > best && fabs(g) < 0.05) {
                best = sum;
                *off = o;
                *slope = g;
            }
        }
    return best > 0;
}

/* Sums over the kept places. */
typedef struct line_sums {
    double n, w, ww, soft; /* their number, sums of weights, of squared ones, of softness */
    double s, d;           /* the weighted middle */
    double ss, sd, dd, wwss;
} line_sums;

static line_sums sum_up(const place *places, size_t n)
{
    line_sums t = {0};
    for (size_t i = 0; i < n; i++) {
        const place *p = &places[i];
        if (!p->kept)
            continue;
        t.n++;
        t.w += p->weight;
        t.ww += p->weight * p->weight;
        t.s += p->weight * p->s;
        t.d += p->weight * p->d;
        t.soft += p->weight * p->soft;
    }
    t.s /= t.w;
    t.d /= t.w;
    t.soft /= t.w;
    for (size_t i = 0; i < n; i++) {
        const place *p = &places[i];
        if (!p->kept)
            continue;
        double s = p->s - t.s, d = p->d - t.d, w = p->weight;
        t.ss += w * s * s;
        t.sd += w * s * d;
        t.dd += w * d * d;
        t.wwss += w * w * s * s;
    }
    return t;
}

/* Weighted least squares of the kept places. */
static bool fit_line(const place *places, size_t n, pv_outline_side *side)
{
    line_sums t = sum_up(places, n);
    if (t.n < 4 || !(t.ss > 0))
        return false;
    side->slope = t.sd / t.ss;
    side->off = t.d - side->slope * t.s;
    double left = fmax(0, t.dd - side->slope * t.sd);
    side->rms = sqrt(left / t.w * t.n / (t.n - 2));
    side->u_slope = side->rms * sqrt(PV_OUTLINE_ALIKE * t.wwss) / t.ss;
    side->u_off = hypot(side->rms * sqrt(PV_OUTLINE_ALIKE * t.ww) / t.w, t.s * side->u_slope);
    side->soft = t.soft;
    side->kept = (size_t)t.n;
    return true;
}

static bool spread(const place *places, size_t n, const pv_outline_side *side)
{
    double lo = HUGE_VAL, hi = -HUGE_VAL;
    for (size_t i = 0; i < n; i++)
        if (places[i].kept) {
            lo = fmin(lo, places[i].s);
            hi = fmax(hi, places[i].s);
        }
    return hi - lo >= PV_OUTLINE_SPREAD * 2 * side->half;
}

/* One pass: reads places near the side's present line, and moves the line. */
static bool pass(const pv_plane *plane, const pv_pose *pose, double near, double pitch, double most,
                 pv_outline_side *side, bool *whole)
{
    place places[PLACES_MAX];
    size_t n = see_all(plane, pose, side, near, pitch, places);
    double within = 1.5 * most;
    if (!most_agree(places, n, within, &side->off, &side->slope))
        return false;
    for (int round = 0; round < ROUNDS; round++) {
        for (size_t i = 0; i < n; i++)
            places[i].kept = away(&places[i], side->off, side->slope) <= within;
        if (!fit_line(places, n, side))
            return false;
        within = fmin(1.5 * most, fmax(3 * side->rms, 0.02));
    }
    *whole = (double)side->kept >= PV_OUTLINE_KEPT * (double)side->places && side->rms <= most &&
             spread(places, n, side);
    return true;
}

/* Where the guess is turned a little, a first pass sees one end of the side only, and a second one
 * the rest. */
static bool seek(const pv_plane *plane, const pv_pose *pose, double near, double pitch, double most,
                 pv_outline_side *side, bool *whole)
{
    *whole = false;
    for (int i = 0; i < 3 && !*whole; i++)
        if (!pass(plane, pose, near, pitch, most, side, whole))
            return false;
    return true;
}

/* Most guesses are of no card: fewer places tell whether there is any straight edge, and only where
 * they leave doubt all places are asked for it. */
bool pv_outline_measure_side(const pv_plane *plane, const pv_pose *pose, double near, double most,
                             pv_outline_side *side)
{
    bool whole;
    pv_outline_side guess = *side;
    double px = pv_pose_px_per_mm(pose, side->middle), close = fmax(NEAR_MM, NEAR_PX / px);
    if (!(px > 0))
        return false;
    most = fmax(most, PV_OUTLINE_RMS_PX / px);
    near = fmax(near, close);
    if (!seek(plane, pose, near, PITCH_FIRST, most, side, &whole))
        return false;
    if (!whole) {
        if ((double)side->kept < KEPT_FIRST * (double)side->places)
            return false;
        *side = guess;
        if (!seek(plane, pose, near, PV_OUTLINE_PITCH, most, side, &whole) || !whole)
            return false;
    }
    if (!pass(plane, pose, close, PV_OUTLINE_PITCH, most, side, &whole) || !whole)
        return false;
    /* Places that lie elsewhere cast doubt on the line of those that don't. */
    double doubt = sqrt((double)side->places / (double)side->kept);
    side->u_off *= doubt;
    side->u_slope *= doubt;
    return true;
}

pv_outline_side pv_outline_side_of(pv_vec from, pv_vec to)
{
    pv_vec along = pv_unit(pv_sub(to, from));
    return (pv_outline_side){.middle = pv_scale(pv_add(from, to), 0.5),
                             .half = pv_dist(from, to) / 2,
                             .along = along,
                             .out = pv_scale(pv_left(along), -1)};
}

size_t pv_outline_measure(const pv_plane *plane, const pv_pose *pose, const pv_vec corner[4],
                          double near, const double most[4], pv_outline *out)
{
    size_t seen = 0;
    for (size_t k = 0; k < 4 && seen + 1 >= k; k++) {
        pv_outline_side guess = pv_outline_side_of(corner[k], corner[(k + 1) % 4]),
                        *side = &out->side[k];
        *side = guess;
        if (side->half > 2 * PV_OUTLINE_ENDS &&
            pv_outline_measure_side(plane, pose, near, most[k], side))
            seen++;
        else
            *side = guess;
    }
    return seen;
}

void pv_outline_corners(const pv_outline *outline, const double off[4], pv_vec corner[4])
{
    for (int k = 0; k < 4; k++) {
        const pv_outline_side *a = &outline->side[(k + 3) % 4], *b = &outline->side[k];
        pv_vec pa = pv_along(a->middle, a->out, a->off + off[(k + 3) % 4]);
        pv_vec pb = pv_along(b->middle, b->out, b->off + off[k]);
        pv_vec da = pv_along(a->along, a->out, a->slope), db = pv_along(b->along, b->out, b->slope);
        double t = pv_cross_z(pv_sub(pb, pa), db) / pv_cross_z(da, db);
        corner[k] = pv_along(pa, da, t);
    }
}

int pv_outline_round_corners(const pv_plane *plane, const pv_pose *pose, const pv_outline *outline,
                             const double doubt[4])
{
    static const double none[4] = {0, 0, 0, 0};
    pv_vec corner[4];
    double seen[4], u[4], share = sqrt(2) - 1;
    int n = 0, most = 0;
    pv_outline_corners(outline, none, corner);
    for (int k = 0; k < 4; k++) {
        const pv_outline_side *a = &outline->side[(k + 3) % 4], *b = &outline->side[k];
        pv_vec out = pv_unit(pv_add(a->out, b->out));
        pv_outline_side cut = {.along = pv_left(out), .out = out};
        cut.middle = pv_along(corner[k], out, -share * PV_CARD_RADIUS);
        place at;
        if (!see(plane, pose, &cut, 0, share * PV_CARD_RADIUS_OFF + 0.4, &at) ||
            fabs(at.d) > share * PV_CARD_RADIUS_OFF)
            continue;
        seen[n] = at.d;
        u[n++] = doubt[k];
    }
    for (int i = 0; i < n; i++) {
        int alike = 0;
        for (int k = 0; k < n; k++)
            alike += fabs(seen[k] - seen[i]) <= PV_CARD_CORNERS_ALIKE + fmax(u[i], u[k]);
        most = alike > most ? alike : most;
    }
    return most;
}
