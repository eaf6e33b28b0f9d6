#include "reference/card.h"

#include "po/po.h"
#include "reference/steps.h"
#include "scene/card.h"

#include <string.h>

#define PRINTED_REACH 0.4 /* mm to each side of a printed edge that are of one colour */
#define PRINTED_SHARE 0.4 /* of a side that runs along one: a comb has teeth along half of it */
#define MARGIN        1.5 /* mm around a card that its shadow and rim may touch */

typedef struct card_search {
    const pv_scene *page;
    pv_box tooth[PV_CARD_TEETH_MAX]; /* of the comb about the page's place for a card */
    size_t n_teeth;
    const pv_plane *plane;
    const pv_pose *pose;
    pv_camera_view camera;
    bool found;
    pv_card_seen best;
    pv_metric metric; /* by it */
    double fitness;
    bool near_miss; /* what has a card's outline, but doesn't make a card */
    pv_outline missed;
} card_search;

static pv_card_seen seen_by(const card_search *s, const pv_outline *outline)
{
    return (pv_card_seen){.pose = s->pose, .camera = &s->camera, .outline = *outline};
}

/* ---- is it a card? ---- */

/* What the page prints at a place. */
static size_t colour_at(const card_search *s, pv_vec at)
{
    for (size_t i = 0; i < s->n_teeth; i++)
        if (pv_box_holds(s->tooth[i], at))
            return SIZE_MAX;
    return pv_scene_at(s->page, at).colour;
}

/* Share of a side where the plan itself has an edge. */
static double printed_share(const card_search *s, const pv_outline_side *side)
{
    int n = 0, edges = 0;
    double reach = side->half - PV_OUTLINE_ENDS;
    for (int i = 0; i < (int)reach; i++) {
        double t = 2 * i - reach;
        pv_vec at = pv_along(side->middle, side->along, t);
        at = pv_add(pv_along(at, side->out, side->off + side->slope * t), s->page->origin);
        pv_vec in = pv_along(at, side->out, -PRINTED_REACH),
               out = pv_along(at, side->out, PRINTED_REACH);
        n++;
        if (!pv_box_holds(s->page->window, at))
            continue;
        edges += colour_at(s, in) != colour_at(s, out);
    }
    return n > 0 ? (double)edges / n : 0;
}

static bool is_print(const card_search *s, const pv_outline *outline)
{
    int sides = 0;
    for (int k = 0; k < 4; k++)
        sides += printed_share(s, &outline->side[k]) > PRINTED_SHARE;
    return sides >= 3;
}

static bool metric_of(const card_search *s, const pv_outline *outline, pv_metric *metric)
{
    pv_card_seen seen = seen_by(s, outline);
    return pv_card_metric(&seen, metric);
}

/* How broad a side's wall is seen; 0 where it isn't. */
static double wall_of(const card_search *s, const pv_outline_side *side)
{
    pv_card_seen seen = {.camera = &s->camera};
    return fmax(0, -pv_card_shift(&seen, side));
}

/* The rim lies anywhere between a side's line and another one `gap` farther out. */
static void span(pv_outline_side *side, double gap)
{
    side->off += gap / 2;
    side->u_off = hypot(side->u_off, 0.4 * gap);
}

/* The farthest step without the innermost that the page has no edge at; 0 where there is none. */
static double other_step(const card_search *s, const pv_outline_side *side,
                         const pv_side_step *steps, size_t n)
{
    for (size_t i = n; i-- > 1;) {
        pv_outline_side at = *side;
        at.off = steps[i].off;
        at.slope = steps[i].slope;
        if (printed_share(s, &at) <= PRINTED_SHARE)
            return steps[i].off - steps[0].off;
    }
    return 0;
}

/* A clear edge may be the end of the card's shadow, or its foot. From the face outwards the first
 * thing that shows is the rim: moves each side to its innermost step. Where a step begins earlier
 * than the sharpest one does, another one may run ahead of it: the rim is anywhere between.
 * other: how much farther out another step of each side lies. */
static bool step_in(const card_search *s, pv_outline *outline, double other[4])
{
    double lead[4], least = PV_CARD_LEAD_PX;
    for (int k = 0; k < 4; k++) {
        pv_outline_side *side = &outline->side[k];
        pv_side_step steps[PV_STEPS_MAX];
        size_t n = pv_steps_find(s->plane, s->pose, side, PV_CARD_STEPS_IN, PV_CARD_STEPS_OUT,
                                 PV_CARD_STEP_SHARE, steps);
        if (n == 0)
            return false;
        side->off = steps[0].off;
        side->slope = steps[0].slope;
        side->u_off = steps[0].u_off;
        side->u_slope = steps[0].u_slope;
        /* What few places show may be a pattern on the face: the first clear one may be the rim. */
        size_t clear = 0;
        while (clear + 1 < n && steps[clear].share < PV_CARD_STEP_CLEAR)
            clear++;
        if (clear > 0)
            span(side, steps[clear].off - steps[0].off);
        other[k] = clear > 0 ? 0 : other_step(s, side, steps, n);
        lead[k] = pv_step_lead(s->plane, s->pose, side);
        least = fmin(least, lead[k]);
    }
    for (int k = 0; k < 4; k++) {
        pv_outline_side *side = &outline->side[k];
        double more = fmax(0, lead[k] - least - PV_CARD_LEAD_ALIKE);
        side->ahead = more / pv_pose_px_per_mm(s->pose, side->middle);
        side->off -= side->ahead;
    }
    return true;
}

/* A picture that is printed on the card may end a millimetre before its rim, and all along it. In a
 * scan there is no wall to tell by; but a side that is wrong by so much leaves its two corners
 * unlike the others. Where these don't confirm the innermost steps, another one may be the rim. */
static void doubt_steps(const card_search *s, pv_outline *outline, const double other[4])
{
    static const double none[4] = {0, 0, 0, 0};
    if (s->pose->kind == PV_POSE_PERSPECTIVE ||
        pv_outline_round_corners(s->plane, s->pose, outline, none) == 4)
        return;
    for (int k = 0; k < 4; k++)
        span(&outline->side[k], other[k]);
}

/* However a print is stretched and sheared, sides that are parallel stay so; but one whose wall is
 * seen may be at its upper rim at one end and at its lower rim at the other. */
static bool parallel(const card_search *s, const pv_outline *outline)
{
    for (int k = 0; k < 2; k++) {
        const pv_outline_side *a = &outline->side[k], *b = &outline->side[k + 2];
        if (a->kept == 0 || b->kept == 0)
            continue;
        pv_vec da = pv_along(a->along, a->out, a->slope), db = pv_along(b->along, b->out, b->slope);
        double apart = fabs(pv_cross_z(pv_unit(da), pv_unit(db)));
        double wall = fmin(fmax(wall_of(s, a), wall_of(s, b)), PV_CARD_WALL_MIXED);
        if (apart > PV_CARD_TURNED + wall / (2 * a->half) + 3 * hypot(a->u_slope, b->u_slope))
            return false;
    }
    return true;
}

static bool believable(const pv_metric *m)
{
    return fabs(log(m->scale[0])) <= PV_CARD_SCALE_OFF &&
           fabs(log(m->scale[1])) <= PV_CARD_SCALE_OFF &&
           fabs(log(m->scale[0] / m->scale[1])) <= PV_CARD_RATIO_FIRST &&
           fabs(m->skew) <= PV_CARD_SKEW_OFF;
}

/* Gives also how many edges there are at all. */
static bool measure_within(const card_search *s, const pv_vec corner[4], double near,
                           pv_outline *outline, pv_metric *metric, size_t *edges)
{
    /* Where the paper changes, now one rim of a wall is the clearer one, now the other. */
    double most[4];
    for (int k = 0; k < 4; k++) {
        pv_outline_side side = pv_outline_side_of(corner[k], corner[(k + 1) % 4]);
        most[k] = PV_OUTLINE_RMS + wall_of(s, &side) / 2;
    }
    double other[4];
    *edges = pv_outline_measure(s->plane, s->pose, corner, near, most, outline);
    if (*edges < 4 || !step_in(s, outline, other) || !parallel(s, outline))
        return false;
    doubt_steps(s, outline, other);
    return metric_of(s, outline, metric) && believable(metric);
}

/* Close to the guess first: farther out, a shadow's end may be the clearer edge. */
static bool measure(const card_search *s, const pv_vec corner[4], double near, pv_outline *outline,
                    pv_metric *metric, size_t *edges)
{
    return measure_within(s, corner, near / 2, outline, metric, edges) ||
           measure_within(s, corner, near, outline, metric, edges);
}

static int round_corners(const card_search *s, const pv_outline *outline)
{
    double doubt[4];
    for (int k = 0; k < 4; k++)
        doubt[k] = fmax(wall_of(s, &outline->side[k]), wall_of(s, &outline->side[(k + 3) % 4])) / 2;
    return pv_outline_round_corners(s->plane, s->pose, outline, doubt);
}

/* Straight edges with round corners. A fourth edge may look like what it lies on. */
static bool has_card_outline(const card_search *s, const pv_outline *outline, size_t edges)
{
    return edges >= 3 && round_corners(s, outline) >= PV_CARD_MISSED_CORNERS &&
           !is_print(s, outline) && (edges == 4 || parallel(s, outline));
}

/* Measures one candidate, and keeps it where it is a better card than what there is. At least so
 * many of its corners must be seen to be round. */
static void consider(card_search *s, const pv_vec corner[4], double near, int least)
{
    pv_outline outline;
    pv_metric metric;
    size_t edges;
    if (!measure(s, corner, near, &outline, &metric, &edges)) {
        bool whole = edges == 4 || least > 0; /* in a comb there are sides enough */
        if (!s->near_miss && whole && has_card_outline(s, &outline, edges)) {
            s->near_miss = true;
            s->missed = outline;
        }
        return;
    }
    int round = round_corners(s, &outline);
    if (round < least || is_print(s, &outline))
        return;
    double fitness = round;
    for (int k = 0; k < 4; k++)
        fitness += (double)outline.side[k].kept / (double)outline.side[k].places;
    if (s->found && s->fitness >= fitness)
        return;
    s->found = true;
    s->best = seen_by(s, &outline);
    s->metric = metric;
    s->fitness = fitness;
}

/* ---- which rim? ---- */

static bool is_line(const card_search *s, const pv_outline_side *side, double wall)
{
    return pv_step_bright(s->plane, s->pose, side, wall) > PV_CARD_STEP_CLEAR;
}

/* On a side whose wall the camera sees, the innermost step is the upper rim, if the wall differs
 * from the face. If it doesn't, it is the lower one. What tells is another step where the lower rim
 * must be, or a line of light: only an upper rim has one. */
static bool has_lower_rim(const card_search *s, const pv_outline_side *side, double wall)
{
    pv_side_step steps[PV_STEPS_MAX];
    double px = pv_pose_px_per_mm(s->pose, side->middle), at = side->off + side->ahead + wall;
    double u = wall * hypot(s->camera.height_u, PV_CARD_THICKNESS_OFF / PV_CARD_THICKNESS);
    u = hypot(u, s->camera.foot_u / s->camera.height * PV_CARD_THICKNESS);
    double near = 2 * u + PV_CARD_RIM_PX / px;
    if (side->ahead * px > PV_CARD_CLEAR_PX)
        return false;
    if (wall * px < PV_CARD_WALL_PX)
        return is_line(s, side, wall);
    size_t n =
        pv_steps_find(s->plane, s->pose, side, 0.5, wall + near + 0.5, PV_CARD_STEP_SHARE, steps);
    bool any = false;
    for (size_t i = 0; i < n; i++)
        any = any || fabs(steps[i].off - at) <= near;
    return any || is_line(s, side, wall);
}

/* A card is of one core all round: where one side shows both its rims, the wall differs from the
 * face, and every side's innermost step is its upper rim. */
static void find_rims(card_search *s)
{
    pv_metric metric;
    bool differs = false;
    for (int k = 0; k < 4; k++) {
        const pv_outline_side *side = &s->best.outline.side[k];
        double wall = wall_of(s, side);
        differs = differs || (wall > 0 && has_lower_rim(s, side, wall));
    }
    for (int k = 0; k < 4; k++) {
        pv_outline_side *side = &s->best.outline.side[k];
        double wall = wall_of(s, side), px = pv_pose_px_per_mm(s->pose, side->middle);
        s->best.rim[k] = differs || !(wall > 0);
        side->u_off = hypot(side->u_off, side->ahead);
        side->u_off = hypot(side->u_off, PV_CARD_LINE_U * fmin(wall, 2 / px));
        /* A line of light that is narrower than the blur is seen as broad as that. */
        double apart = PV_CARD_LINE_PX / px - wall / 2;
        if (wall > 0 && apart > 0 && is_line(s, side, wall)) {
            side->off += apart / 2;
            side->u_off = hypot(side->u_off, apart / 2);
        }
    }
    if (pv_card_metric(&s->best, &metric))
        s->metric = metric;
}

/* Once it is known which rim was seen: a card of another size has another shape, too. */
static bool is_card(const pv_metric *m)
{
    bool near = fabs(log(m->scale[0] * m->scale[1])) / 2 <= PV_CARD_NEAR;
    return fabs(log(m->scale[0] / m->scale[1])) <= (near ? PV_CARD_RATIO_NEAR : PV_CARD_RATIO_FAR);
}

/* ---- where to look ---- */

/* Where the page has a place for a card, or NULL. */
static const pv_item *card_place(const pv_scene *page)
{
    for (size_t i = 0; i < page->n_items; i++)
        if (page->items[i].kind == PV_ITEM_CARD)
            return &page->items[i];
    return NULL;
}

/* The printed outline, at the sizes that a print of it may have. */
static void look_in_outline(card_search *s)
{
    static const double print_scale[] = {1, 0.97, 0.94, 1.03};
    const pv_item *place = card_place(s->page);
    if (place == NULL)
        return;
    pv_box box = place->u.card;
    pv_vec middle = pv_sub(pv_box_middle(box), s->page->origin),
           half = pv_scale(pv_sub(box.hi, box.lo), 0.5);
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

/* Whether the plan has an edge at a place, straight for a little and with this normal. */
static bool is_printed(const card_search *s, pv_vec at, pv_vec normal, double reach)
{
    size_t colour[2] = {0, 0};
    for (int side = 0; side < 2; side++)
        for (int k = -1; k <= 1; k++) {
            pv_vec p = pv_along(at, normal, side == 0 ? -reach : reach);
            p = pv_along(p, pv_left(normal), 2 * reach * k);
            if (!pv_box_holds(s->page->window, p))
                return false;
            size_t here = colour_at(s, p);
            if (k > -1 && here != colour[side])
                return false;
            colour[side] = here;
        }
    return colour[0] != colour[1];
}

/* A pixel of the ground, sheet mm. */
static pv_vec pixel_at(const pv_ground *ground, size_t k)
{
    size_t row = k / ground->width;
    return pv_ground_sheet(ground, (double)(k - row * ground->width) + 0.5, (double)row + 0.5);
}

/* Among all the lines that are printed on a sheet those of a card get lost. */
static void drop_printed(const card_search *s, const pv_ground *ground, pv_edge_map *edges)
{
    double reach = fmax(PRINTED_REACH, 1 / ground->px_per_mm);
    for (size_t k = 0; k < edges->width * edges->height; k++) {
        if (edges->bin[k] < 0)
            continue;
        pv_vec normal = pv_polar(1, PV_PI * (edges->bin[k] + 0.5) / PV_EDGE_ANGLES);
        if (is_printed(s, pv_add(pixel_at(ground, k), s->page->origin), normal, reach))
            edges->bin[k] = -1;
    }
}

/* So do they among a table's grain. */
static void drop_beside(const pv_box *sheet, const pv_ground *ground, pv_edge_map *edges)
{
    for (size_t k = 0; k < edges->width * edges->height; k++)
        if (!pv_box_holds(*sheet, pixel_at(ground, k)))
            edges->bin[k] = -1;
}

static bool look_without(card_search *s, const pv_ground *ground, const pv_edge_map *edges,
                         const pv_box *without)
{
    pv_rectangle found[PV_RECTANGLES_MAX];
    size_t n = 0;
    if (!pv_rectangles_find(ground, edges, PV_CARD_LONG, PV_CARD_SHORT, without, found, &n))
        return false;
    for (size_t i = 0; i < n; i++)
        consider(s, found[i].corner, fmax(0.8, 2 / ground->px_per_mm), 2);
    return true;
}

/* Beside the sheet first, then everywhere, then on it. */
static bool look_everywhere(card_search *s, const pv_ground *ground)
{
    pv_edge_map edges;
    if (ground->width == 0)
        return true;
    pv_box sheet = {{0, 0}, pv_sub(s->page->page.hi, s->page->page.lo)};
    bool good = pv_edge_map_make(ground, &edges) && look_without(s, ground, &edges, &sheet);
    if (good && !s->found) {
        drop_printed(s, ground, &edges);
        good = look_without(s, ground, &edges, NULL);
    }
    if (good && !s->found) {
        drop_beside(&sheet, ground, &edges);
        good = look_without(s, ground, &edges, NULL);
    }
    pv_edge_map_clear(&edges);
    return good;
}

/* ---- what it hides ---- */

/* The card and MARGIN about it, in strips across its height, each its own box: of a card that lies
 * a little turned they must be thin to follow its sides. */
static void cover(const pv_outline *outline, pv_covered *covered)
{
    static const double margin[4] = {MARGIN, MARGIN, MARGIN, MARGIN};
    pv_vec corner[4];
    pv_outline_corners(outline, margin, corner);
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
            covered->box[covered->n++] = strip;
    }
}

static void say_size(const pv_metric *m, pv_text *note)
{
    pv_text_say(note,
                "a possible bank card was found but is not used: it would put the print at x %s "
                "and y %s %%, so it may be a card of another size",
                pv_fixed(100 * m->scale[0], 1).chars, pv_fixed(100 * m->scale[1], 1).chars);
}

static void say_edges(const pv_outline *outline, pv_text *note)
{
    pv_vec at = pv_scale(pv_add(outline->side[0].middle, outline->side[2].middle), 0.5);
    pv_text_say(
        note,
        "what may be a bank card lies about x = %s mm, y = %s mm of the page but is not "
        "used: its edges cannot be told from its shadow or from what lies beneath. Turn "
        "it over or lay it on a plain ground of another colour, in even light. If it is none, "
        "take it off: the sheet beneath it is not compared with the course",
        pv_fixed(at.x, 0).chars, pv_fixed(at.y, 0).chars);
}

static void say_coarse(double U, pv_text *note)
{
    pv_text_say(note,
                "a bank card was found but is not used: its rim cannot be told from its shadow or "
                "its wall, so lengths by it are good to %s %% only. Turn it over or lay it on a "
                "ground of another colour, in even light; photograph it from straight above",
                pv_fixed(100 * U, 1).chars);
}

/* In one it lies on the glass, in the other its rim stands nearer to the camera, by 0.1 to 0.3 %.
 */
static void say_unsure(pv_text *note)
{
    pv_text_say(note, "a bank card was found but is not used: the picture does not tell whether it "
                      "was scanned or photographed, and a card looks different in each");
}

/* Whether the best candidate is used; where it isn't, or where there is but a near miss, says why.
 */
static bool decide(card_search *s, pv_text *note)
{
    if (!s->found) {
        if (s->near_miss)
            say_edges(&s->missed, note);
        else if (card_place(s->page) != NULL)
            pv_text_say(note, "no card found in its printed outline");
        return false;
    }
    find_rims(s);
    double U = 2 * sqrt(fmax(s->metric.cov[0], s->metric.cov[4]));
    if (!is_card(&s->metric))
        say_size(&s->metric, note);
    else if (U > PV_CARD_U_MOST)
        say_coarse(U, note);
    else if (s->pose->unsure)
        say_unsure(note);
    else
        return true;
    return false;
}

bool pv_card_find(const pv_scene *page, const pv_plane *plane, const pv_pose *pose,
                  const pv_ground *ground, pv_evidence *evidence, pv_covered *covered,
                  pv_text *note)
{
    static const double none[4] = {0, 0, 0, 0};
    card_search s = {.page = page, .plane = plane, .pose = pose};
    *evidence = (pv_evidence){.result = {.kind = PV_REFERENCE_CARD}};
    s.camera = pv_camera_view_of(plane, pose);
    const pv_item *place = card_place(page);
    if (place != NULL)
        s.n_teeth = pv_card_teeth(place->u.card, s.tooth);
    look_in_outline(&s);
    if (!look_everywhere(&s, ground))
        return false;
    bool used = decide(&s, note);
    if (!s.found && !s.near_miss)
        return true;
    if (used) {
        *evidence = pv_evidence_of_metric(PV_REFERENCE_CARD, &s.metric);
        pv_evidence_result(evidence);
    }
    evidence->result.unused = !used;
    pv_vec corner[4];
    const pv_outline *outline = s.found ? &s.best.outline : &s.missed;
    pv_outline_corners(outline, none, corner);
    for (int k = 0; k < 4; k++) {
        evidence->result.corner[k][0] = corner[k].x;
        evidence->result.corner[k][1] = corner[k].y;
    }
    cover(outline, covered);
    return true;
}
