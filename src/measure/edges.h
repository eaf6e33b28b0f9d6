/* What the two edges of a line tell: raggedness and blobs. */
#ifndef MEASURE_EDGES_H
#define MEASURE_EDGES_H

#include "measure/rows.h"

#define PV_BLOB_MIN 0.35 /* mm out from the edge, and along it */

typedef struct pv_blob {
    size_t row; /* its middle */
    int side;
    double length, reach, edge; /* mm; edge: of the printed edge from the planned one */
} pv_blob;

typedef struct pv_edges {
    double raggedness; /* mm; negative: not measured */
    pv_blob *blobs;
    size_t n_blobs, cap_blobs;
} pv_edges;

/* After pv_rows_edges and with row.broken set. False where memory ran out. */
bool pv_edges_measure(pv_edges *edges, const pv_rows *rows, const pv_view *view);
void pv_edges_clear(pv_edges *edges);

#endif
