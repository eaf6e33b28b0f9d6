/* The paint of a line as solids: boxes, ring sectors, corner wedges and caps. Their union is the
 * line. Printing fills them all in one path by the non-zero rule (each runs counter-clockwise), so
 * that no seam shows between them; covering tests ask each in turn. */
#ifndef COURSE_OUTLINE_H
#define COURSE_OUTLINE_H

#include "course/art.h"

typedef enum pv_solid_kind {
    PV_SOLID_POLYGON, /* n corners, counter-clockwise, convex */
    PV_SOLID_SECTOR   /* between radii `inner` and `outer` about `centre`, over a sweep */
} pv_solid_kind;

typedef struct pv_solid {
    pv_solid_kind kind;
    pv_vec corner[4];
    int n;
    pv_vec centre;
    double inner, outer; /* inner may be 0 (half discs, tight arcs) */
    double from, sweep;  /* sweep > 0; 2 pi is a whole ring */
} pv_solid;

/* The solids of a line, in order. The caller frees *solids with free(). False where memory ran
 * out. */
bool pv_line_solids(const pv_line *line, pv_solid **solids, size_t *n);
bool pv_solid_covers(const pv_solid *solid, pv_vec p);

#endif
