#include "scene/sides.h"

#include "base/memory.h"

#include <stdlib.h>

#define RUN   16   /* sides in a run, and runs in a run of runs */
#define SLACK 1e-9 /* mm, more than rounding moves the place where a side is crossed */

static pv_vec corner(const pv_ring *ring, size_t i)
{
    return ring->points[i < ring->n ? i : 0];
}

static bool add_run(pv_sides *s, pv_run run)
{
    if (!PV_GROW(s->runs, s->n_runs, s->cap_runs))
        return false;
    s->runs[s->n_runs++] = run;
    return true;
}

/* One run of some runs that follow each other in the list. */
static pv_run join(const pv_sides *s, size_t first, size_t n)
{
    pv_run run = {.box = pv_box_none(), .first = first, .n = n};
    for (size_t i = first; i < first + n; i++)
        run.box = pv_box_add(pv_box_add(run.box, s->runs[i].box.lo), s->runs[i].box.hi);
    run.a = s->runs[first].a;
    run.b = s->runs[first + n - 1].b;
    return run;
}

/* Joins the runs from `first` to the end of the list until the last stands for them all. */
static bool join_all(pv_sides *s, size_t first, bool rings)
{
    for (size_t end = s->n_runs; end - first > 1; first = end, end = s->n_runs)
        for (size_t i = first; i < end; i += RUN) {
            pv_run run = join(s, i, end - i < RUN ? end - i : RUN);
            if (rings)
                run.b = run.a;
            if (!add_run(s, run))
                return false;
        }
    return true;
}

static bool add_ring(pv_sides *s, const pv_ring *ring)
{
    size_t start = s->n_runs;
    for (size_t first = 0; first < ring->n; first += RUN) {
        pv_run run = {.box = pv_box_none(), .ring = ring, .first = first};
        run.n = ring->n - first < RUN ? ring->n - first : RUN;
        for (size_t i = first; i <= first + run.n; i++)
            run.box = pv_box_add(run.box, corner(ring, i));
        run.a = corner(ring, first);
        run.b = corner(ring, first + run.n);
        if (!add_run(s, run))
            return false;
    }
    if (!join_all(s, start, false))
        return false;
    if (ring->n > 0)
        s->runs[s->n_runs - 1].whole = ring;
    return true;
}

bool pv_sides_open(pv_sides *s, const pv_area *area)
{
    *s = (pv_sides){0};
    size_t *whole = PV_NEW_ARRAY(area->n_rings, size_t), n = 0;
    bool good = whole != NULL;
    for (size_t i = 0; good && i < area->n_rings; i++) {
        good = add_ring(s, &area->rings[i]);
        if (good && area->rings[i].n > 0)
            whole[n++] = s->n_runs - 1;
    }
    /* A run's parts follow each other in the list, so rings are joined by copies of their runs. */
    size_t first = s->n_runs;
    for (size_t i = 0; good && n > 1 && i < n; i++)
        good = add_run(s, s->runs[whole[i]]);
    free(whole);
    return good && (n < 2 || join_all(s, first, true));
}

void pv_sides_close(pv_sides *s)
{
    free(s->runs);
    *s = (pv_sides){0};
}

pv_box pv_sides_box(const pv_sides *s)
{
    return s->n_runs > 0 ? s->runs[s->n_runs - 1].box : pv_box_none();
}

/* Whether a ray from p towards +x meets the run's sides an odd number of times. */
static bool is_odd(const pv_sides *s, const pv_run *run, pv_vec p)
{
    const pv_box *box = &run->box;
    if (p.y < box->lo.y || p.y > box->hi.y || p.x > box->hi.x + SLACK)
        return false;
    if (p.x <
        box->lo.x - SLACK) /* wherever it goes, it leads from one side of the ray to another */
        return (run->a.y > p.y) != (run->b.y > p.y);
    bool odd = false;
    for (size_t i = run->first; i < run->first + run->n; i++) {
        if (run->ring == NULL) {
            odd ^= is_odd(s, &s->runs[i], p);
            continue;
        }
        pv_vec a = corner(run->ring, i), b = corner(run->ring, i + 1);
        if ((a.y > p.y) != (b.y > p.y) && p.x < a.x + (b.x - a.x) * ((p.y - a.y) / (b.y - a.y)))
            odd = !odd;
    }
    return odd;
}

bool pv_sides_cover(const pv_sides *s, pv_vec p)
{
    return s->n_runs > 0 && is_odd(s, &s->runs[s->n_runs - 1], p);
}

static bool each(const pv_sides *s, const pv_run *run, pv_box box, pv_side_visit *visit,
                 void *context)
{
    if (!pv_box_meets(run->box, box))
        return true;
    for (size_t i = run->first; i < run->first + run->n; i++) {
        if (run->ring == NULL) {
            if (!each(s, &s->runs[i], box, visit, context))
                return false;
            continue;
        }
        pv_vec a = corner(run->ring, i), b = corner(run->ring, i + 1);
        if (pv_box_meets(pv_box_add(pv_box_add(pv_box_none(), a), b), box) && !visit(context, a, b))
            return false;
    }
    return true;
}

bool pv_sides_each(const pv_sides *s, pv_box box, pv_side_visit *visit, void *context)
{
    return s->n_runs == 0 || each(s, &s->runs[s->n_runs - 1], box, visit, context);
}

static bool each_ring(const pv_sides *s, const pv_run *run, pv_box box, pv_ring_visit *visit,
                      void *context)
{
    if (!pv_box_meets(run->box, box))
        return true;
    if (run->whole != NULL)
        return visit(context, run->whole);
    for (size_t i = run->first; i < run->first + run->n; i++)
        if (!each_ring(s, &s->runs[i], box, visit, context))
            return false;
    return true;
}

bool pv_sides_each_ring(const pv_sides *s, pv_box box, pv_ring_visit *visit, void *context)
{
    return s->n_runs == 0 || each_ring(s, &s->runs[s->n_runs - 1], box, visit, context);
}
