/* Regions: the faces of the arrangement of all centre lines and the mat's edge.
 *
 * Ends within PV_TOUCH of another centre line are taken to lie on it; larger gaps stay open and the
 * review tells of them. */
#ifndef COURSE_REGIONS_H
#define COURSE_REGIONS_H

#include "scene/scene.h"

typedef struct pv_regions pv_regions;

/* The arrangement of the art's lines. Faces that are narrower than PV_TOUCH on average (2 area /
 * perimeter) are what rounding leaves between lines that lie on each other: they are no regions.
 * NULL where memory ran out or the geometry library refused. */
pv_regions *pv_regions_make(const pv_art *art, pv_diags *diags);
void pv_regions_free(pv_regions *regions);

size_t pv_regions_count(const pv_regions *regions);
/* The first ring is its outside, the others its holes. Belongs to the regions; NULL past the end.
 */
const pv_area *pv_regions_area(const pv_regions *regions, size_t index);

/* The region that holds p, as an area (the caller clears it with pv_area_clear): its rings, in a
 * new id-less, colour 0 area. False where p lies on a boundary or off the mat (nothing said), or
 * memory ran out (said). *index, if not NULL, tells regions apart. */
bool pv_regions_at(const pv_regions *regions, pv_vec p, pv_area *out, size_t *index,
                   pv_diags *diags);

/* The index alone of the region that holds p, also within PV_TOUCH of its boundary; SIZE_MAX off
 * the mat. */
size_t pv_regions_find(const pv_regions *regions, pv_vec p);

/* Dead ends: places where a centre line ends and touches nothing. */
typedef struct pv_dead_end {
    pv_vec at;
    size_t line;    /* index in the art */
    double gap;     /* mm to the nearest other centre line, or other part of its own, or mat edge */
    size_t nearest; /* that line, or SIZE_MAX for the mat's edge */
    double stub; /* mm along the line back to where it last met another; HUGE_VAL where nowhere */
} pv_dead_end;
size_t pv_regions_dead_ends(const pv_regions *regions, const pv_dead_end **list);

/* Painted area in mm2 of each colour of a mat as one sees it (later paint hides earlier), lettering
 * left out: n_colours values into out. */
bool pv_scene_painted(const pv_scene *mat, double *out, pv_diags *diags);

#endif
