/* The proof page: one sheet by which a printer is measured (docs/use/calibrating.md). */
#ifndef PLAN_PROOF_H
#define PLAN_PROOF_H

#include "plan/layout.h"

/* Room that the printer leaves on a page for the art, and what the art makes of it. */
typedef struct pv_proof_art {
    double width, height; /* mm, of the art */
    bool small;           /* fewer widths, for paper below A4 */
    pv_box card;          /* mat frame: the card's nominal outline */
} pv_proof_art;

/* mm: the least that the art takes. */
#define PV_PROOF_WIDTH_MIN        105.6
#define PV_PROOF_HEIGHT_MIN       172.0
#define PV_PROOF_LARGE_WIDTH_MIN  162.0
#define PV_PROOF_LARGE_HEIGHT_MIN 212.0

/* mm: the strips around the art, with tags and bars. */
#define PV_PROOF_OVERLAP       16.0
#define PV_PROOF_OVERLAP_SMALL 12.0

/* Draws lines both ways along the page's edges, ladders of line widths both ways in black on white
 * and white on black, gray and coloured lines, and places the card. `shape` has width, height and
 * small; its captions, which are art as the rest, are in that language. *art is overwritten and to
 * be cleared with pv_art_clear. False where memory ran out. */
bool pv_proof_art_make(pv_proof_art *shape, const pv_language *language, pv_art *art);

#endif
