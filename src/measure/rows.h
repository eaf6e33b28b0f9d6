/* A line as rows across it, PV_ROW_STEP apart, each read from the image. */
#ifndef MEASURE_ROWS_H
#define MEASURE_ROWS_H

#include "measure/view.h"

#define PV_ROW_STEP 0.125 /* mm along a line between rows across it */
#define PV_BINS_MIN 4     /* across a line's inside */
#define PV_BINS_MAX 16
#define PV_SIDES    8 /* kinds of neighbours on one line that are told apart */

typedef struct pv_row {
    pv_vec at, heading; /* mat frame, on the planned centre */
    uint32_t side[2];   /* labels to the right and to the left */
    bool plain;         /* by the plan nothing else is near, and the image has it */
    bool apart;         /* does not follow the row before it */
    bool broken;        /* its ink is missing */
} pv_row;

/* What stands beside a line somewhere, and how it came out. */
typedef struct pv_neighbour {
    uint32_t label;
    double light[3]; /* relative to paper */
    size_t rows;
} pv_neighbour;

typedef struct pv_rows {
    const pv_line *line;
    size_t index; /* of the line in the art */
    pv_row *row;
    size_t n, cap;
    double offset[2]; /* mm by which the edges lie farther out than planned; right, left */
    /* Inside: mean light of bins across it, absolute. */
    double inner; /* mm across all bins */
    size_t bins;
    float *bin;    /* n x bins x 3 */
    double own[3]; /* relative to paper, the median */
    bool own_seen; /* its own colour is really there, not taken from the course */
    pv_neighbour near[PV_SIDES];
    size_t n_near;
    /* Edges: part of the way from the line's own colour (0) to its side's (1), from inside to
     * outside. */
    double pitch, first; /* mm between places; of the first from the edge, negative: inside. Rows
                            begin by turns up to a place farther out, so that all of them together
                            see an edge in finer steps */
    size_t places;
    float *part[2]; /* n x places, right and left */
} pv_rows;

/* Where rows stand and which are plain. *budget is how many more rows the sheet may have. False
 * where memory ran out. */
bool pv_rows_walk(pv_rows *rows, const pv_view *view, size_t line, size_t *budget);
/* Reads the inside and the colours; rows->offset must be set. False where memory ran out. */
bool pv_rows_inside(pv_rows *rows, const pv_view *view);
/* Reads the edges. False where memory ran out. */
bool pv_rows_edges(pv_rows *rows, const pv_view *view);
void pv_rows_clear(pv_rows *rows);

/* mm outwards from the expected edge of place k of a row. */
double pv_rows_place(const pv_rows *rows, size_t row, double k);

/* The neighbour of a row's side, or NULL. */
const pv_neighbour *pv_rows_near(const pv_rows *rows, const pv_row *row, int side);

#endif
