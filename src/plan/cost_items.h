/* What the costs of seams are made of; private to cost.c and cost_items.c. */
#ifndef PLAN_COST_ITEMS_H
#define PLAN_COST_ITEMS_H

#include "plan/cost.h"

/* `off` is a coordinate at right angles to the seams, `along` one along them. */
typedef struct pv_cost_point {
    double off, along;
} pv_cost_point;

typedef enum pv_cost_kind { PV_RUN_EDGE, PV_RUN_LINE, PV_RUN_ROUTE } pv_cost_kind;

/* Something straight that runs along the seams: a seam that is nearer than `reach` goes along it.
 * A route's chord that is crossed at a shallow angle has an `each`. */
typedef struct pv_cost_run {
    pv_cost_kind kind;
    pv_cost_point a, b; /* a.along <= b.along */
    double reach;
    double each;
    double lo, hi; /* places that it counts for */
    const char *id;
} pv_cost_run;

/* An area that a seam goes through: even-odd over rings. */
typedef struct pv_cost_field {
    pv_cost_term term;
    pv_cost_point *points;
    size_t *ring; /* where each ring begins; one more for the end */
    size_t n_rings;
    double each, per_mm;
    double lo, hi;
    const char *id;
} pv_cost_field;

/* A piece of a line's paint: convex. */
typedef struct pv_cost_quad {
    pv_cost_point corner[4];
    double lo, hi;
    const char *id;
} pv_cost_quad;

struct pv_cost_axis {
    bool vertical;
    double across, length; /* of the mat, at right angles to the seams and along them */
    pv_cost_run *runs;     /* by lo */
    size_t n_runs, cap_runs;
    double widest; /* of a run's hi - lo */
    pv_cost_field *fields;
    size_t n_fields, cap_fields;
    pv_cost_quad *quads; /* by lo */
    size_t n_quads, cap_quads;
    double widest_quad; /* hi - lo */
    pv_cost_run *near;  /* those asked about */
    size_t n_near, cap_near;
    const pv_cost_field **near_fields;
    size_t n_near_fields;
    pv_cost_span *spans; /* scratch: as many as there are of near, or of quads */
    size_t cap_spans;
    double *cuts; /* scratch, for the field with most points */
    size_t most_points;
};

/* Fills runs, fields and quads; false where memory ran out. */
bool pv_cost_items_fill(pv_cost_axis *axis, const pv_regard *regard);

#endif
