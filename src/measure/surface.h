/* The whole surface of a sheet's cell against the course: what is seen in each small square, less
 * what the course may show there. What is left over is joined into marks (marks.c). */
#ifndef MEASURE_SURFACE_H
#define MEASURE_SURFACE_H

#include "measure/measure.h"
#include "measure/view.h"

/* There may be a letter, or its edge; within a square's reach nothing but a letter; or none. */
#define PV_LETTERED_MAYBE 1
#define PV_LETTERED_INK   2
#define PV_LETTERED_BARE  3

/* What one colour of the course looks like on this sheet, relative to paper. */
typedef struct pv_paint {
    bool known;         /* from places where it stands alone; else lo and hi are wide */
    float lo[3], hi[3]; /* what it may show */
    float middle[3];    /* what it shows; where that isn't known, what the course says */
    float noise;        /* standard deviation of a square's light about that */
} pv_paint;

/* What may be seen at a place: all between several colours. */
typedef struct pv_range {
    float lo[3], hi[3], noise;
    bool blind; /* unknown what is there */
} pv_range;

static inline void pv_range_add(pv_range *range, const pv_paint *paint)
{
    for (int c = 0; c < 3; c++) {
        range->lo[c] = fminf(range->lo[c], paint->lo[c]);
        range->hi[c] = fmaxf(range->hi[c], paint->hi[c]);
    }
    range->noise = fmaxf(range->noise, paint->noise);
}

/* Squares of two labels' cells each way. The outermost ones stand outside of what is asked. */
typedef struct pv_surface {
    const pv_view *view;
    size_t nx, ny;
    size_t from[2];    /* the labels' cell where the first square begins */
    double pitch;      /* mm */
    pv_paint *paint;   /* of each colour of the art, of paper, of the page's black */
    uint32_t *label;   /* PV_LABEL_BLOCKED where nothing is asked */
    uint8_t *plain;    /* nothing but one colour within a square's reach */
    uint8_t *lettered; /* PV_LETTERED_..., or 0: no letters are near */
    float *seen;       /* 3 a square: light relative to paper */
    float *off;        /* 3 a square: by how much that is outside of what it may be */
    float *size;       /* root mean square of that over the channels */
    float *limit;      /* from which `size` is no noise */
    double asked;      /* share of the cell's squares that were looked at */
} pv_surface;

/* False where memory ran out; close it either way. */
bool pv_surface_open(pv_surface *surface, const pv_view *view);
void pv_surface_close(pv_surface *surface);
/* A square's middle, mat frame. */
static inline pv_vec pv_surface_place(const pv_surface *s, size_t index)
{
    const pv_labels *labels = &s->view->labels;
    size_t column = index % s->nx, row = index / s->nx;
    double i = (double)column + 0.5, j = (double)row + 0.5;
    return pv_v(labels->lo.x + (double)s->from[0] * labels->cell + i * s->pitch,
                labels->lo.y + (double)s->from[1] * labels->cell + j * s->pitch);
}

/* The label of what the page itself prints in black: no colour of the art, nor a line of it. */
#define PV_SURFACE_BLACK (PV_LABEL_WASTE - 1)

/* Of a label: its colour's index in `paint`, paper's in the waste. */
static inline size_t pv_surface_paint(const pv_surface *s, uint32_t label)
{
    if (label == PV_SURFACE_BLACK)
        return s->view->art->n_colours + 1;
    size_t colour = pv_label_colour(s->view->art, label);
    return colour == SIZE_MAX ? s->view->art->n_colours : colour;
}

static inline size_t pv_surface_paints(const pv_surface *s)
{
    return s->view->art->n_colours + 2;
}

/* Squares [x0, x1) by [y0, y1). */
typedef struct pv_squares {
    size_t x0, x1, y0, y1;
} pv_squares;

/* Those with their middles in a box, mat frame. */
static inline pv_squares pv_surface_squares(const pv_surface *s, pv_box box)
{
    pv_vec first = pv_surface_place(s, 0);
    double lo_x = fmax(ceil((box.lo.x - first.x) / s->pitch), 0);
    double lo_y = fmax(ceil((box.lo.y - first.y) / s->pitch), 0);
    double hi_x = fmin(floor((box.hi.x - first.x) / s->pitch) + 1, (double)s->nx);
    double hi_y = fmin(floor((box.hi.y - first.y) / s->pitch) + 1, (double)s->ny);
    if (!(hi_x > lo_x && hi_y > lo_y))
        return (pv_squares){0, 0, 0, 0};
    return (pv_squares){(size_t)lo_x, (size_t)hi_x, (size_t)lo_y, (size_t)hi_y};
}

/* Appends the marks, the largest first. False where memory ran out. */
bool pv_surface_marks(const pv_surface *surface, pv_measures *out);

#endif
