#include "plan/crossings.h"

#include "base/memory.h"

#include <stdlib.h>

/* The route so far, seen from one seam's line. */
typedef struct walk {
    const pv_seam *seam;
    pv_crossings *found;
    int side; /* of the line that it was last on: -1 or 1; 0 before it was on any */
} walk;

static double off_line(const walk *w, pv_vec p)
{
    return (w->seam->vertical ? p.x : p.y) - w->seam->at;
}

static double along_line(const walk *w, pv_vec p)
{
    return w->seam->vertical ? p.y : p.x;
}

static int side_of(double off)
{
    return off > PV_CROSSING_TRUE ? 1 : off < -PV_CROSSING_TRUE ? -1 : 0;
}

static bool add_crossing(walk *w, double along, int to)
{
    pv_crossings *f = w->found;
    if (!(along >= w->seam->from && along < w->seam->to))
        return true;
    if (!PV_GROW(f->list, f->n, f->capacity))
        return false;
    f->list[f->n++] = (pv_crossing){along, to > 0};
    return true;
}

/* A part of a piece that goes towards the line or away from it, but not both: `meets` is where it
 * meets the line, if its ends lie on different sides. */
static bool take_step(walk *w, pv_vec from, pv_vec to, double meets)
{
    int before = side_of(off_line(w, from)), after = side_of(off_line(w, to));
    if (w->side == 0)
        w->side = before;
    bool crosses = after != 0 && w->side == -after;
    if (after != 0)
        w->side = after;
    return !crosses || add_crossing(w, before != 0 ? meets : along_line(w, from), after);
}

static bool take_segment(walk *w, const pv_piece *piece)
{
    double a = off_line(w, piece->a), b = off_line(w, piece->b);
    double from = along_line(w, piece->a), to = along_line(w, piece->b);
    return take_step(w, piece->a, piece->b, a != b ? from + (to - from) * (a / (a - b)) : from);
}

/* An arc is cut where it turns back, every half turn: where it is farthest from the line on either
 * side of its centre. Between two such places it meets the line on one side of the centre only. */
static bool take_arc(walk *w, const pv_piece *arc)
{
    bool vertical = w->seam->vertical;
    double way = arc->sweep < 0 ? -1 : 1, end = fabs(arc->sweep);
    double off = off_line(w, arc->centre), middle = along_line(w, arc->centre);
    double half_chord = sqrt(fmax((arc->radius - off) * (arc->radius + off), 0));
    /* How far before the start the arc would have turned back. */
    double since = fmod(way * (arc->from - (vertical ? 0 : PV_PI / 2)), PV_PI);
    if (since < 0)
        since += PV_PI;
    pv_vec from = arc->a;
    double done = 0;
    while (done < end) {
        double next = fmin(done + PV_PI - since, end);
        since = 0;
        double angle = arc->from + way * (done + next) / 2;
        double meets = middle + copysign(half_chord, vertical ? sin(angle) : cos(angle));
        pv_vec turn = pv_polar(arc->radius, arc->from + way * next);
        pv_vec to = next < end ? pv_add(arc->centre, turn) : arc->b;
        if (!take_step(w, from, to, meets))
            return false;
        from = to;
        done = next;
    }
    return true;
}

bool pv_seam_crossings(const pv_plan *plan, const pv_seam *seam, pv_crossings *found)
{
    walk w = {.seam = seam, .found = found};
    *found = (pv_crossings){NULL, 0, 0};
    bool good = true;
    for (size_t i = 0; i < plan->n_route && good; i++) {
        const pv_piece *piece = &plan->route[i];
        good = piece->arc ? take_arc(&w, piece) : take_segment(&w, piece);
    }
    return good;
}

bool pv_crossing_up(const pv_plan *plan, const pv_seam *seam, const pv_crossing *crossing)
{
    /* Forward leads to the sheet on the right, or to the upper one. */
    const pv_sheet *over = &plan->sheets[seam->over], *under = &plan->sheets[seam->under];
    bool over_ahead = seam->vertical ? over->column > under->column : over->row < under->row;
    return crossing->forward == over_ahead;
}

bool pv_seam_steps(const pv_plan *plan, const pv_seam *seam, size_t *down, size_t *up)
{
    pv_crossings found;
    *down = *up = 0;
    bool good = pv_seam_crossings(plan, seam, &found);
    for (size_t i = 0; good && i < found.n; i++)
        *(pv_crossing_up(plan, seam, &found.list[i]) ? up : down) += 1;
    free(found.list);
    return good;
}
