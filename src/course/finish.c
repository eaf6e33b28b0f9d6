#include "course/finish.h"

#include "base/memory.h"
#include "course/convex.h"
#include "course/run.h"
#include "course/sweep.h"

#include <stdlib.h>

/* Distance of a footprint to the nearest line's paint. */
typedef struct near_paint {
    pv_convex body;
    double distance;
} near_paint;

static bool nearer_paint(void *context, const pv_item *item)
{
    near_paint *n = context;
    if (item->kind == PV_ITEM_LINE)
        n->distance = fmin(n->distance, pv_convex_to_solid(&n->body, &item->u.solid, NULL));
    return true;
}

/* How much room a footprint has to the region's edge and to all line paint: 0 where it hasn't any.
 */
static double room(const pv_reviewing *r, pv_pose2 pose)
{
    const pv_area *region = &r->course->finish.outline;
    pv_vec corners[4];
    pv_footprint(&r->course->robot, pose.at, pose.heading, PV_SWEEP_LESS, corners);
    near_paint n = {.distance = HUGE_VAL};
    n.body = pv_convex_hull(corners, 4);
    if (!pv_area_covers(region, corners[0]))
        return 0;
    for (size_t i = 0; i < region->n_rings; i++) {
        const pv_ring *ring = &region->rings[i];
        for (size_t k = 0; k < ring->n; k++) {
            pv_piece side = pv_segment(ring->points[k], ring->points[(k + 1) % ring->n]);
            n.distance = fmin(n.distance, pv_convex_to_piece(&n.body, &side, NULL));
        }
    }
    pv_box box = pv_box_grow(pv_convex_box(&n.body), n.distance);
    pv_scene_visit(r->mat, box, nearer_paint, &n);
    return fmax(0, n.distance - PV_SWEEP_LESS);
}

/* ---- does any place do? ---- */

/* The effort of the search; more finds tighter places and takes longer. */
#define GRID   16 /* places along each side of the region's box */
#define TURNS  24 /* headings over half a turn: a rectangle is its own half turn */
#define KEEP   24 /* the most promising ones, which are then improved */
#define PROBES 9  /* points along each side of the footprint that are asked for */

/* A search of one region. */
typedef struct search {
    const pv_reviewing *r;
    size_t region;
} search;

static bool in_region(const search *s, pv_vec p)
{
    return pv_regions_find(s->r->regions, p) == s->region;
}

typedef struct place {
    pv_pose2 middle; /* of the rectangle, not the pivot */
    int free;        /* probes that lie in the region and off all paint */
} place;

static pv_pose2 pivot_of(const pv_robot *robot, pv_pose2 middle)
{
    double back = robot->pivot - robot->length / 2;
    return (pv_pose2){pv_along(middle.at, pv_polar(1, middle.heading), back), middle.heading};
}

static int count_free(const search *s, pv_pose2 middle)
{
    const pv_robot *robot = &s->r->course->robot;
    pv_vec x = pv_polar(1, middle.heading), y = pv_left(x);
    int n = 0;
    for (int i = 0; i < PROBES * PROBES; i++) {
        double u = (i % PROBES) / (PROBES - 1.0) - 0.5;
        double v = (int)(i / PROBES) / (PROBES - 1.0) - 0.5;
        pv_vec p = pv_along(pv_along(middle.at, x, u * robot->length), y, v * robot->width);
        n += in_region(s, p) && pv_scene_at(s->r->mat, p).line < 0;
    }
    return n;
}

/* Keeps the best, best first. */
static void keep_place(place *kept, int *n, const place *p)
{
    int at = *n;
    while (at > 0 && kept[at - 1].free < p->free)
        at--;
    if (at >= KEEP)
        return;
    if (*n < KEEP)
        (*n)++;
    for (int i = *n - 1; i > at; i--)
        kept[i] = kept[i - 1];
    kept[at] = *p;
}

/* Tries a step each way along x, y and the heading; keeps what frees more probes. */
static bool step_aside(const search *s, place *p, double step, double turn)
{
    const pv_pose2 steps[6] = {{{step, 0}, 0},  {{-step, 0}, 0}, {{0, step}, 0},
                               {{0, -step}, 0}, {{0, 0}, turn},  {{0, 0}, -turn}};
    bool better = false;
    for (int i = 0; i < 6; i++) {
        pv_pose2 m = {pv_add(p->middle.at, steps[i].at), p->middle.heading + steps[i].heading};
        int n = count_free(s, m);
        if (n <= p->free)
            continue;
        *p = (place){m, n};
        better = true;
    }
    return better;
}

/* Moves and turns a place by ever smaller steps as long as more probes come free. */
static bool improve(const search *s, place *p, double step)
{
    double turn = PV_PI / TURNS;
    while (step > 0.02) {
        while (step_aside(s, p, step, turn)) {
        }
        if (p->free == PROBES * PROBES && room(s->r, pivot_of(&s->r->course->robot, p->middle)) > 0)
            return true;
        step /= 2;
        turn /= 2;
    }
    return false;
}

static bool find_place(const pv_reviewing *r, size_t region, pv_pose2 *out)
{
    const search s = {r, region};
    pv_box box = pv_area_box(&r->course->finish.outline);
    pv_vec pitch = pv_scale(pv_sub(box.hi, box.lo), 1.0 / GRID);
    place kept[KEEP];
    int n = 0;
    for (int i = 0; i < GRID * GRID; i++) {
        pv_vec at = pv_v(box.lo.x + (i % GRID + 0.5) * pitch.x,
                         box.lo.y + ((int)(i / GRID) + 0.5) * pitch.y);
        if (!in_region(&s, at))
            continue;
        for (int k = 0; k < TURNS; k++) {
            place p = {.middle = {at, PV_PI * k / TURNS}};
            p.free = count_free(&s, p.middle);
            keep_place(kept, &n, &p);
        }
    }
    for (int i = 0; i < n; i++) {
        if (!improve(&s, &kept[i], fmax(pitch.x, pitch.y) / 2))
            continue;
        *out = pivot_of(&r->course->robot, kept[i].middle);
        return true;
    }
    return false;
}

/* ---- the two questions ---- */

static bool judge_end(pv_reviewing *r, pv_pose2 end)
{
    const pv_course *course = r->course;
    if (!pv_area_covers(&course->finish.outline, end.at))
        return pv_found_add(r, PV_RULE_ROUTE_END, course->route.source, &end.at, NULL, NULL);
    if (!course->robot.given)
        return true;
    double margin = room(r, end);
    r->review->facts.finish =
        (pv_standing){true, margin > 0, margin, end.at.x, end.at.y, end.heading};
    return margin > 0 ||
           pv_found_add(r, PV_RULE_STANDS_OUTSIDE, course->finish.source, &end.at, NULL, NULL);
}

static bool judge_room(pv_reviewing *r)
{
    const pv_finish *finish = &r->course->finish;
    pv_pose2 pose = {finish->at, 0};
    bool fits = find_place(r, pv_regions_find(r->regions, finish->at), &pose);
    double margin = fits ? fmax(0, room(r, pose)) : 0;
    r->review->facts.finish = (pv_standing){true, fits, margin, pose.at.x, pose.at.y, pose.heading};
    return fits || pv_found_add(r, PV_RULE_NO_PLACE, finish->source, &finish->at, NULL, NULL);
}

bool pv_review_finish(pv_reviewing *r)
{
    const pv_course *course = r->course;
    if (!course->finish.given)
        return pv_found_add(r, PV_RULE_NO_FINISH, (pv_source){0}, NULL, NULL, NULL);
    if (course->route.n == 0)
        return !course->robot.given || judge_room(r);
    pv_sweep *sweep = pv_sweep_new(course, PV_SWEEPS_MAX, r->diags);
    if (sweep == NULL)
        return false;
    pv_pose2 end = pv_sweep_end(sweep);
    pv_sweep_free(sweep);
    return judge_end(r, end);
}
