/* Which of many areas holds a point, without walking all of their rings each time. */
#ifndef COURSE_LOCATE_H
#define COURSE_LOCATE_H

#include "course/geos.h"

/* A run of a ring's sides. */
typedef struct pv_chunk {
    size_t area, ring, first, n;
} pv_chunk;

typedef struct pv_locator {
    const pv_area *areas; /* must outlive it */
    size_t n_areas;
    pv_box *boxes; /* of the areas, then of the chunks */
    pv_chunk *chunks;
    size_t n_chunks;
    pv_index by_area, by_chunk; /* indexes of their boxes */
} pv_locator;

/* False where memory ran out or the library refused; close it either way. */
bool pv_locator_open(pv_locator *locator, pv_geos *geos, const pv_area *areas, size_t n);
void pv_locator_close(pv_locator *locator);

/* Where a search runs out of memory, these say no, and the geos context keeps it in `failed`. */

/* As pv_area_covers. */
bool pv_locator_covers(const pv_locator *locator, size_t area, pv_vec p);
/* The first area that covers p, or SIZE_MAX. */
size_t pv_locator_find(const pv_locator *locator, pv_vec p);
/* Whether a side of the area comes within a distance of p. */
bool pv_locator_near(const pv_locator *locator, size_t area, pv_vec p, double within);

#endif
