/* What is seen of a scene at the points of a grid about a seam. */
#ifndef PLAN_POINTS_H
#define PLAN_POINTS_H

#include "plan/plain.h"

#include <stdint.h>

/* A column of points runs along the seam: column c at `first` + c `pitch` across it, row i at
 * i `step` along it, all in mm. */
typedef struct pv_points {
    bool vertical; /* columns run along y */
    double first, pitch, step;
    size_t columns, rows;
    uint8_t *seen;      /* by column, then by row */
    unsigned char *odd; /* scratch for areas, all 0 between uses; NULL where there is none */
} pv_points;

/* Lettering's boxes, within which nothing counts as plain. Other values are the colours' numbers,
 * modulo this. */
#define PV_POINTS_LETTERING UINT8_MAX

/* Fills in what is seen at points whose sizes are set. The scene must hold all that meets its
 * columns' infinite lines. False where memory ran out; free it either way. */
bool pv_points_fill(pv_points *points, const pv_layers *scene);
void pv_points_free(pv_points *points);

#endif
