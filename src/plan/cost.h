/* What it costs to put a seam at a place (docs/how/seams.md says the same in prose beside
 * formulas).
 *
 * The unit is one millimetre of seam that runs along a line's edge; everything else is weighed
 * against that. The weights are assumed: how much a robot's sensor, a wheel or an eye minds a seam
 * at a place, against another. They decide where seams lie, never whether a print is judged right.
 * Costs are summed as whole tenths of the unit, so that a sum is exact and doesn't depend on its
 * order. */
#ifndef PLAN_COST_H
#define PLAN_COST_H

#include "scene/art.h"

#include <stdint.h>

#define PV_COST_TENTHS 10 /* of the unit in one */

/* mm: a seam nearer to an edge than this runs along it, less what rounding may make of it */
#define PV_COST_NEAR 5.0
#define PV_COST_TRUE 1e-6
/* radians from the seam's direction: an edge, a line or the route runs along it up to the first;
 * the route crosses at a shallow angle up to the second. Common practice, no source. */
#define PV_COST_ALONG   (10 * PV_PI / 180)
#define PV_COST_SHALLOW (30 * PV_PI / 180)
/* Arcs are taken as chords of so many radians at most. */
#define PV_COST_CHORD (2 * PV_PI / 180)

/* The weights, in units of one mm of seam along a line's edge: assumed, no source
 * (docs/how/seams.md). */
#define PV_COST_EDGE_MM     1.0    /* a mm along a line's edge */
#define PV_COST_INSIDE_MM   1.0    /* a mm along a line, within its paint, off its edges */
#define PV_COST_MARK_EACH   1000.0 /* through the start mark or another, or within 5 mm of it */
#define PV_COST_FINISH_EACH 30.0   /* through the finish region */
#define PV_COST_FINISH_MM   0.3    /* a mm within it */
#define PV_COST_TEXT_EACH   30.0   /* through a line of small text */
#define PV_COST_TEXT_MM     0.5    /* a mm within its box */
#define PV_COST_TEXT_SMALL  50.0   /* mm: text whose capitals are lower than this is small */
#define PV_COST_ROUTE_MM    1.0    /* a mm along the route, within 5 mm of it */
#define PV_COST_ROUTE_EACH  100.0  /* across the route at no angle; 0 at the second limit */
#define PV_COST_CORNER_EACH 50.0   /* a corner of four sheets on a line's paint */
#define PV_COST_SLIVER_EACH 50.0   /* a cell of no width; falls to 0 at the width below */
#define PV_COST_SLIVER_MM   80.0   /* mm, or this share of the even width if that is less: */
#define PV_COST_SLIVER_EVEN 0.75

typedef enum pv_cost_term {
    PV_COST_EDGE,
    PV_COST_INSIDE,
    PV_COST_MARK,
    PV_COST_FINISH,
    PV_COST_TEXT,
    PV_COST_ROUTE,
    PV_COST_OF_PLACE, /* the number of those above, which depend on one seam's place alone */
    PV_COST_CORNER = PV_COST_OF_PLACE,
    PV_COST_SLIVER,
    PV_COST_TERMS
} pv_cost_term;

/* What a seam is placed with regard to. Borrowed. */
typedef struct pv_regard {
    const pv_art *art;
    const pv_piece *route;
    size_t n_route;
    const pv_area *finish; /* NULL where there is none */
} pv_regard;

/* What one seam across the whole mat costs at one place, by term. `mm` and `count` say how much of
 * it there is; `most` names the thing that adds most to a term, or is NULL. */
typedef struct pv_cost {
    int64_t tenths[PV_COST_TERMS];
    double mm[PV_COST_TERMS];
    size_t count[PV_COST_TERMS];
    const char *most[PV_COST_TERMS]; /* borrowed from the art */
} pv_cost;

int64_t pv_cost_tenths(double cost);
int64_t pv_cost_sum(const pv_cost *cost);

/* Costs of all places of the seams in one direction. Borrows from the regard. */
typedef struct pv_cost_axis pv_cost_axis;

/* `vertical`: of the seams that run along y. NULL where memory ran out. */
pv_cost_axis *pv_cost_axis_new(const pv_regard *regard, bool vertical);
void pv_cost_axis_free(pv_cost_axis *axis);

/* Places from `lo` to `hi` will be asked for, and no others until the next call. False where memory
 * ran out. */
bool pv_cost_axis_near(pv_cost_axis *axis, double lo, double hi);
/* *cost is overwritten, but for corners and slivers, which are 0. */
void pv_cost_at(pv_cost_axis *axis, double place, pv_cost *cost);

/* Of a seam at `place`: where along it there is paint of a line, in no order. */
typedef struct pv_cost_span {
    double lo, hi;
    const char *id; /* of the line or whatever else the stretch is of */
} pv_cost_span;

/* The spans belong to the axis and last until the next call. Any place may be asked for. False
 * where memory ran out. */
bool pv_cost_paint(pv_cost_axis *axis, double place, const pv_cost_span **spans, size_t *n);

#endif
