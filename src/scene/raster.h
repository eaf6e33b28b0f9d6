/* What a scene shows at very many points at once: those of a raster, by runs.
 *
 * A raster is lines of points: line l at `first` + l `pitch` across, point i on it at `start` + i
 * `step`, all mm of the mat. Its lines run along y where it is upright, else along x. */
#ifndef SCENE_RASTER_H
#define SCENE_RASTER_H

#include "scene/scene.h"

#include <stdint.h>

typedef struct pv_points {
    bool upright;
    double first, pitch;
    size_t lines;
    double start, step;
    size_t points;      /* on each line */
    pv_box window;      /* nothing is painted outside; pv_box_all where there is none */
    double work;        /* grows with the points painted and the sides looked at */
    unsigned char *odd; /* for scene/ only: scratch, all 0 between uses */
} pv_points;

/* Points [from, to) of a line are covered. */
typedef void pv_points_run(void *context, size_t line, size_t from, size_t to);

/* Visits what an item of the mat paints: fills, lines, marks, and the boxes of text. A point on an
 * edge belongs to what begins there. False where memory ran out. */
bool pv_points_item(pv_points *raster, const pv_scene *scene, const pv_item *item,
                    pv_points_run *visit, void *context);
/* The box of all its lines, however far along them. */
pv_box pv_points_band(const pv_points *raster);
void pv_points_drop(pv_points *raster);

/* Points of a line from lo up to, not at, hi. */
void pv_points_between(const pv_points *raster, double lo, double hi, size_t *from, size_t *to);
/* Lines alike. */
void pv_points_lines(const pv_points *raster, double lo, double hi, size_t *from, size_t *to);

#endif
