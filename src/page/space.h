/* Free room on a sheet: the bands around the art, and what already stands in them. Private to this
 * room. Lengths are mm in the sheet's frame. */
#ifndef PAGE_SPACE_H
#define PAGE_SPACE_H

#include "base/vec.h"

#include <stddef.h>

#define PV_SPACE_GAP 0.7 /* between neighbours, and to the art */

typedef struct pv_space {
    pv_box page; /* nothing stands out of it */
    pv_box art;  /* nothing stands on it */
    pv_box *taken;
    size_t n_taken, cap_taken;
    bool failed; /* memory ran out: nothing is found any more */
} pv_space;

void pv_space_take(pv_space *space, pv_box box);
void pv_space_drop(pv_space *space);
/* Gives back n boxes from one on that were taken. */
void pv_space_give(pv_space *space, size_t first, size_t n);

/* True where a box stands in the page, clear of the art and of all that is taken by `gap`. */
bool pv_space_free(const pv_space *space, pv_box box, double gap);

/* The band between the art and the page's edge on a side (numbered as pv_side), over the page's
 * whole length. */
pv_box pv_space_band(const pv_space *space, int side);

/* What is looked for: a block, as near to a place as can be. */
typedef struct pv_block {
    double width, height;
    pv_vec toward; /* where its middle should be */
    bool turned;  /* it may stand turned by a quarter counter-clockwise in the bands at the sides */
    bool upright; /* it may stand upright there */
    double across; /* a millimetre away from the side counts as so many along it */
} pv_block;

#define PV_SPACE_ACROSS 6.0 /* for what belongs close to its side */

/* Finds room in the band of a side; false where there is none. *box is what it covers, *turned
 * whether it is turned. Doesn't take it. */
bool pv_space_find(pv_space *space, int side, const pv_block *block, pv_box *box, bool *turned);

#endif
