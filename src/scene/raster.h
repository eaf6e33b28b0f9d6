/* What a scene shows at the points of a raster. */
#ifndef SCENE_RASTER_H
#define SCENE_RASTER_H

#include "scene/scene.h"

/* A column of points runs along y, or along x: column c at `first` + c `pitch` across it, row i at
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

/* Fills in what the mat shows at points whose sizes are set. False where memory ran out; free it
 * either way. */
bool pv_points_fill(pv_points *points, const pv_scene *mat);
void pv_points_free(pv_points *points);

#endif
