/* The paint of a line as solids: boxes, ring sectors, corner wedges and caps. Their union is the
 * line. Printing fills them all in one path by the non-zero rule (each runs counter-clockwise), so
 * that no seam shows between them; covering tests ask each in turn. */
#ifndef SCENE_OUTLINE_H
#define SCENE_OUTLINE_H

#include "scene/art.h"

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

/* What is painted of a line is every point whose foot on a piece, at right angles to it, is at most
 * half a width away, with the corners and ends filled in as pv_line says. Its solids: for each
 * piece a box, or a sector (two for an arc whose radius is under half the width: the paint then
 * reaches past the centre); for each corner a wedge on its outer side, none where the pieces are
 * tangent (to PV_TANGENT); for each end what its finish adds. */
#define PV_TANGENT 1e-6 /* radians */

/* Calls `visit` with each solid in order until it gives false; needs no memory. True where all were
 * visited. */
typedef bool pv_solid_visit(void *context, const pv_solid *solid);
bool pv_line_each_solid(const pv_line *line, pv_solid_visit *visit, void *context);

/* Edges count as covered, and 1e-9 mm beyond them, so that no point falls between two solids. */
bool pv_solid_covers(const pv_solid *solid, pv_vec p);
pv_box pv_solid_box(const pv_solid *solid); /* exact */

#endif
