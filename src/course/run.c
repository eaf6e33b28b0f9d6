#include "course/run.h"

#include "base/memory.h"
#include "course/sweep.h"

#include <stdlib.h>
#include <string.h>

/* What one line has had to do with the robot so far. */
typedef struct contact {
    size_t crossing;    /* counted from 1, where the pivot's way meets its paint; else 0 */
    bool touched;       /* reported */
    bool open;          /* the footprint was on it when last asked */
    bool open_crossed;  /* and since then the pivot has been on it too */
    size_t first, last; /* steps of that contact */
    size_t counted;     /* step last counted in on_paint, from 1 */
    double on_paint;    /* mm of the pivot's way, in whole steps */
} contact;

typedef struct chase {
    pv_reviewing *r;
    pv_sweep *sweep;
    contact *contacts; /* one a line */
    size_t index;
    pv_step step;
    bool failed; /* said in diags */
} chase;

/* ---- the pivot's way ---- */

static bool meet_path(chase *run, const pv_item *item)
{
    pv_review *review = run->r->review;
    pv_vec at;
    if (item->kind != PV_ITEM_LINE || pv_convex_to_solid(&run->step.path, &item->u.solid, &at) > 0)
        return true;
    contact *c = &run->contacts[item->of];
    if (c->crossing == 0) {
        if (!PV_GROW(review->crossings, review->n_crossings, review->cap_crossings))
            return false;
        review->crossings[review->n_crossings++] =
            (pv_line_met){review->lines[item->of].id, false, run->step.s, at.x, at.y};
        c->crossing = review->n_crossings;
    }
    if (c->counted != run->index + 1) /* a line's solids overlap: count a step once */
        c->on_paint += run->step.s_end - run->step.s;
    c->counted = run->index + 1;
    return true;
}

/* In the order of painting, where a step meets several lines. */
static bool find_crossings(chase *run)
{
    pv_reviewing *r = run->r;
    pv_look look = {0};
    bool good = true;
    for (run->index = 0; good && run->index < pv_sweep_steps(run->sweep); run->index++) {
        pv_sweep_step(run->sweep, run->index, &run->step);
        good = pv_scene_find(r->mat, pv_convex_box(&run->step.path), &look);
        for (size_t i = 0; good && i < look.n; i++)
            good = meet_path(run, look.items[i]);
    }
    pv_look_drop(&look);
    if (!good) {
        pv_fail_memory(r->diags);
        return false;
    }
    for (size_t i = 0; i < r->course->art.n_lines; i++) {
        const contact *c = &run->contacts[i];
        double width = r->course->art.lines[i].width;
        r->met[i] = c->crossing > 0;
        if (r->met[i])
            r->review->crossings[c->crossing - 1].follows =
                c->on_paint > PV_FOLLOW_WIDTHS * width + 2 * PV_STEP;
    }
    return true;
}

/* ---- the footprint ---- */

/* Whether some solid of a line meets a shape. */
typedef struct probe {
    size_t line;
    pv_convex body;
    bool meets;
    pv_vec at;
} probe;

static bool meet_probe(void *context, const pv_item *item)
{
    probe *p = context;
    pv_vec at;
    if (p->meets || item->kind != PV_ITEM_LINE || item->of != p->line ||
        pv_convex_to_solid(&p->body, &item->u.solid, &at) > 0)
        return true;
    p->meets = true;
    p->at = at;
    return true;
}

/* Where in the step the footprint first meets the line, by halving; mm along the route. */
static double first_meeting(const chase *run, size_t line, size_t index, pv_vec *at)
{
    pv_step step;
    double lo = 0, hi = 1;
    probe p = {.line = line};
    pv_sweep_step(run->sweep, index, &step);
    *at = step.path.corner[0];
    for (int halving = 0; halving < 20; halving++) {
        double middle = halving == 0 ? 1 : (lo + hi) / 2;
        p.body = pv_sweep_part(run->sweep, &step, middle);
        p.meets = false;
        pv_scene_visit(run->r->mat, pv_convex_box(&p.body), meet_probe, &p);
        *(p.meets ? &hi : &lo) = middle;
        *at = p.meets ? p.at : *at;
    }
    return step.s + hi * (step.s_end - step.s);
}

/* A contact that is over: as it should be where the pivot crossed the line meanwhile. */
static bool close_contact(chase *run, size_t line)
{
    contact *c = &run->contacts[line];
    c->open = false;
    if (c->open_crossed || c->touched)
        return true;
    c->touched = true;
    pv_vec at;
    double s = first_meeting(run, line, c->first, &at);
    const pv_line *l = &run->r->course->art.lines[line];
    pv_rule row = s <= 0            ? PV_RULE_TOUCH_START
                  : c->crossing > 0 ? PV_RULE_TOUCH_CROSSED
                                    : PV_RULE_TOUCH;
    return pv_found_add(run->r, row, l->source, &at, (const char *[]){l->id}, (double[]){s});
}

static void on_line(chase *run, size_t line, const pv_solid *solid)
{
    contact *c = &run->contacts[line];
    if (c->open && c->last + 1 < run->index && !close_contact(run, line))
        run->failed = true;
    if (!c->open) {
        c->open = true;
        c->open_crossed = false;
        c->first = run->index;
    }
    c->last = run->index;
    c->open_crossed = c->open_crossed || pv_convex_to_solid(&run->step.path, solid, NULL) == 0;
}

static bool meet_body(void *context, const pv_item *item)
{
    chase *run = context;
    if (item->kind != PV_ITEM_LINE || run->failed)
        return true;
    pv_clearance *least = &run->r->review->facts.paint;
    pv_vec at;
    double d = pv_convex_to_solid(&run->step.body, &item->u.solid, &at);
    if (d == 0)
        on_line(run, item->of, &item->u.solid);
    else
        d = fmax(0, d - PV_SWEEP_LESS);
    /* What the route crosses is no obstacle; where it is hit all the same, that is a problem of its
     * own. */
    if (run->contacts[item->of].crossing == 0 && (!least->known || d < least->distance))
        *least =
            (pv_clearance){true, d, at.x, at.y, run->step.s, run->r->review->lines[item->of].id};
    return true;
}

static void note_edge(chase *run)
{
    pv_clearance *edge = &run->r->review->facts.edge;
    pv_vec size = run->r->course->art.size;
    for (int i = 0; i < run->step.body.n; i++) {
        pv_vec p = run->step.body.corner[i];
        double d = fmin(fmin(p.x, size.x - p.x), fmin(p.y, size.y - p.y)) - PV_SWEEP_LESS;
        if (!edge->known || d < edge->distance)
            *edge = (pv_clearance){true, d, p.x, p.y, run->step.s, NULL};
    }
}

/* Looks for paint around a step, no farther than the least distance found so far. */
static bool look_around(chase *run)
{
    pv_reviewing *r = run->r;
    const pv_clearance *least = &r->review->facts.paint;
    pv_box box = pv_convex_box(&run->step.body);
    double most = pv_len(r->course->art.size), reach = least->known ? least->distance : 5;
    for (;;) {
        pv_scene_visit(r->mat, pv_box_grow(box, reach), meet_body, run);
        if (run->failed)
            return false;
        if ((least->known && least->distance <= reach) || reach > most)
            return true;
        reach *= 4;
    }
}

static bool sweep_body(chase *run)
{
    for (run->index = 0; run->index < pv_sweep_steps(run->sweep); run->index++) {
        pv_sweep_step(run->sweep, run->index, &run->step);
        note_edge(run);
        if (!look_around(run))
            return false;
    }
    for (size_t i = 0; i < run->r->course->art.n_lines; i++)
        if (run->contacts[i].open && !close_contact(run, i))
            return false;
    const pv_clearance *edge = &run->r->review->facts.edge;
    if (!edge->known || edge->distance >= 0)
        return true;
    pv_vec at = pv_v(edge->x, edge->y);
    return pv_found_add(run->r, PV_RULE_LEAVES, run->r->course->route.source, &at, NULL,
                        (double[]){-edge->distance, edge->along});
}

static bool follow_route(pv_reviewing *r)
{
    chase run = {.r = r, .sweep = pv_sweep_new(r->course, PV_SWEEPS_MAX, r->diags)};
    if (run.sweep == NULL)
        return false;
    run.contacts = PV_NEW_ARRAY(r->course->art.n_lines, contact);
    if (run.contacts == NULL)
        pv_fail_memory(r->diags);
    bool good = run.contacts != NULL && find_crossings(&run) &&
                (!r->course->robot.given || sweep_body(&run));
    free(run.contacts);
    pv_sweep_free(run.sweep);
    return good;
}

/* ---- the start ---- */

/* How far the start mark sticks out from under the robot that stands there. */
static bool review_mark(pv_reviewing *r)
{
    const pv_course *course = r->course;
    const pv_start *start = &course->start;
    const pv_robot *robot = &course->robot;
    pv_vec x = pv_polar(1, start->heading), y = pv_left(x);
    double most = 0;
    for (size_t i = 0; i < course->art.n_marks; i++) {
        const pv_area *mark = &course->art.marks[i];
        if (mark->id == NULL || strcmp(mark->id, "start") != 0)
            continue;
        r->review->facts.mark_known = true;
        for (size_t k = 0; k < mark->n_rings; k++) {
            for (size_t j = 0; j < mark->rings[k].n; j++) {
                pv_vec d = pv_sub(mark->rings[k].points[j], start->at);
                double along = pv_dot(d, x), across = fabs(pv_dot(d, y));
                most = fmax(most, fmax(-robot->pivot - along, across - robot->width / 2));
                most = fmax(most, along - (robot->length - robot->pivot));
            }
        }
    }
    r->review->facts.mark_sticks_out = most > PV_SWEEP_LESS ? most : 0;
    return most <= PV_SWEEP_LESS || pv_found_add(r, PV_RULE_MARK_STICKS_OUT, start->source,
                                                 &start->at, NULL, (double[]){most});
}

static bool review_beginning(pv_reviewing *r)
{
    const pv_start *start = &r->course->start;
    const pv_route *route = &r->course->route;
    const pv_piece *first = &route->pieces[0];
    pv_vec t = pv_piece_heading(first, 0);
    double off = pv_dist(first->a, start->at);
    double turn = fabs(remainder(atan2(t.y, t.x) - start->heading, 2 * PV_PI)) * 180 / PV_PI;
    if (off > PV_START_OFF)
        return pv_found_add(r, PV_RULE_ROUTE_AWAY, route->source, &first->a, NULL, (double[]){off});
    if (turn > PV_START_TURN)
        return pv_found_add(r, PV_RULE_ROUTE_TURNED, route->source, &first->a, NULL,
                            (double[]){turn});
    return true;
}

static bool missing(pv_reviewing *r, pv_rule row)
{
    return pv_found_add(r, row, (pv_source){0}, NULL, NULL, NULL);
}

bool pv_review_run(pv_reviewing *r)
{
    const pv_course *course = r->course;
    bool route = course->route.n > 0, robot = course->robot.given, start = course->start.given;
    if (!start && !missing(r, PV_RULE_NO_START))
        return false;
    if (!robot && !missing(r, PV_RULE_NO_ROBOT))
        return false;
    if (!route && !missing(r, PV_RULE_NO_ROUTE))
        return false;
    if (start && robot && !review_mark(r))
        return false;
    if (start && route && !review_beginning(r))
        return false;
    for (size_t i = 0; i < course->art.n_lines; i++)
        r->met[i] = !route; /* without a route, any line may be on the way */
    return !route || follow_route(r);
}
