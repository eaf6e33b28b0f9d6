/* The arrangement: all centre lines and the mat's four edges cut at every place where they meet,
 * with what lies outside the mat left out. */
#ifndef COURSE_ARRANGE_H
#define COURSE_ARRANGE_H

#include "course/geos.h"

/* Limits, so that a small text can't ask for endless work. */
#define PV_PAIRS_MAX    20000000u /* pieces whose boxes meet, compared two by two */
#define PV_MEETINGS_MAX 4000000u  /* places where pieces meet */

#define PV_MAT_EDGE SIZE_MAX /* stands for a line's index */

typedef struct pv_curve {
    pv_piece piece;
    size_t line;   /* or PV_MAT_EDGE */
    size_t end[2]; /* the nodes of its ends */
} pv_curve;

typedef struct pv_node {
    pv_vec at;
    unsigned degree; /* edges that end here, counted after clipping */
    size_t next;     /* in its cell of the hash */
} pv_node;

/* A stretch of one curve between two nodes with none between. */
typedef struct pv_graph_edge {
    size_t node[2];
    size_t curve;
    double from, to; /* mm along the curve */
    pv_vec middle;
} pv_graph_edge;

/* A node on a curve. */
typedef struct pv_stop {
    size_t curve, node;
    double s; /* mm along the curve */
} pv_stop;

typedef struct pv_arrangement {
    pv_vec size;
    pv_curve *curves; /* the mat's edges are the first four; zero lengths are left out */
    size_t n_curves, cap_curves;
    pv_node *nodes;
    size_t n_nodes, cap_nodes;
    size_t *cells, n_cells; /* heads of the hash's chains */
    pv_stop *stops;         /* sorted by curve, then s */
    size_t n_stops, cap_stops;
    pv_graph_edge *edges;
    size_t n_edges, cap_edges;
    pv_index index; /* of the curves' boxes */
} pv_arrangement;

/* False with a finding; clear it either way. The geos context must outlive it. */
bool pv_arrange(pv_arrangement *out, const pv_art *art, pv_geos *geos, pv_diags *diags);
void pv_arrangement_clear(pv_arrangement *arrangement);

/* How many bounded faces there are by Euler's formula, V - E + F = 1 + C. False where memory ran
 * out. */
bool pv_arrangement_faces(const pv_arrangement *arrangement, size_t *faces);

/* The points of an edge from node to node, arcs flattened within PV_FLATNESS. The caller
 * frees *points. False where memory ran out. */
bool pv_graph_edge_points(const pv_arrangement *arrangement, const pv_graph_edge *edge,
                          pv_vec **points, size_t *n);

#endif
