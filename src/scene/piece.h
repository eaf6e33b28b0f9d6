/* A piece: a straight segment or a circular arc, the only curves of a centre line. */
#ifndef SCENE_PIECE_H
#define SCENE_PIECE_H

#include "base/vec.h"

#include <stddef.h>

/* Points closer than this are one point: it is far below what any printer resolves (0.01 mm at
 * 2,400 dpi), and far above what rounding does to coordinates of up to PV_COURSE_REACH (1e-10 mm).
 */
#define PV_TOUCH 0.001 /* mm */

typedef struct pv_piece {
    pv_vec a, b; /* where it starts and ends */
    bool arc;
    /* The rest counts for an arc only. Angles in radians, counter-clockwise from +x; sweep < 0 runs
     * clockwise; |sweep| <= 2 pi. */
    pv_vec centre;
    double radius, from, sweep;
} pv_piece;

pv_piece pv_segment(pv_vec a, pv_vec b);
pv_piece pv_arc(pv_vec centre, double radius, double from, double sweep);

double pv_piece_length(const pv_piece *piece);
/* At a distance s from the start, 0 <= s <= length. */
pv_vec pv_piece_point(const pv_piece *piece, double s);
/* Unit direction of travel there. */
pv_vec pv_piece_heading(const pv_piece *piece, double s);
/* The distance along the piece of its point nearest to p. */
double pv_piece_nearest(const pv_piece *piece, pv_vec p);
pv_box pv_piece_box(const pv_piece *piece); /* of the centre line, exact */

#endif
