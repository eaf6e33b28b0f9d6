/* The geometry library, met by one context a piece of work: its complaints become findings, and
 * nothing is shared between threads. Only this room includes it. */
#ifndef COURSE_GEOS_H
#define COURSE_GEOS_H

#include "scene/art.h"
#include "scene/outline.h"

#include <geos_c.h>

typedef struct pv_geos {
    GEOSContextHandle_t handle;
    char message[200]; /* the last complaint */
    bool failed;       /* a search by place ran out of memory: what was found can't be trusted */
} pv_geos;

/* The context points at *geos, which must not move. False where memory ran out (said). */
bool pv_geos_open(pv_geos *geos, pv_diags *diags);
void pv_geos_close(pv_geos *geos);
/* Says in diags what the library last complained of; gives false. */
bool pv_geos_refused(pv_geos *geos, pv_diags *diags);

/* All of these give NULL where the library refused; the caller destroys what they give. */
GEOSGeometry *pv_geos_box(pv_geos *geos, pv_box box);
GEOSGeometry *pv_geos_string(pv_geos *geos, const pv_vec *points, size_t n);
/* A polygon that needs no closing point; counter-clockwise or not. */
GEOSGeometry *pv_geos_polygon(pv_geos *geos, const pv_vec *points, size_t n);
/* A solid. Arcs are flattened to within 0.02 mm, with corners as far outside the arc as keeps the
 * solid's exact area: it is areas that these are made for. */
GEOSGeometry *pv_geos_solid(pv_geos *geos, const pv_solid *solid);
/* An area by the even-odd rule over its rings, which must not cross each other. */
GEOSGeometry *pv_geos_area(pv_geos *geos, const pv_area *area);

/* A polygon's rings as a new area; false where memory ran out or the library refused (said). */
bool pv_geos_to_area(pv_geos *geos, const GEOSGeometry *polygon, pv_area *out, pv_diags *diags);

/* ---- boxes found by place ---- */

typedef struct pv_index {
    pv_geos *geos;
    GEOSSTRtree *tree;
} pv_index;

/* Boxes are known by their place in the array. False where the library refused. */
bool pv_index_open(pv_index *index, pv_geos *geos, const pv_box *boxes, size_t n);
void pv_index_close(pv_index *index);
/* Calls `visit` with each box that meets `box`, in no particular order. False where the library
 * refused. */
typedef void pv_index_visit(size_t item, void *context);
bool pv_index_find(const pv_index *index, pv_box box, pv_index_visit *visit, void *context);

#endif
