/* Tags: the one place that meets libapriltag. Family tagStandard41h12: 9 x 9 cells, 2115 patterns.
 * Also how a sheet's identity is spread over its tags. */
#ifndef TAG_TAG_H
#define TAG_TAG_H

#include "base/diag.h"
#include "base/vec.h"

#include <stdint.h>

/* Of the family tagStandard41h12: 9 x 9 cells with its border, 2115 ids. */
#define PV_TAG_CELLS  9
#define PV_TAG_INSET  2 /* cells from the pattern's edge to its detected corners */
#define PV_TAG_IDS    2115u
#define PV_TAG_PLACES 4

/* Cells of a pattern as printed, row 0 on top: 1 is black. False where id is out of range or memory
 * ran out. */
bool pv_tag_cells(unsigned id, uint8_t cells[PV_TAG_CELLS][PV_TAG_CELLS], pv_diags *diags);

/* ---- what a sheet's tags say ----
 * A sheet's identity is a number below 2113^3 = 2^33.1; 2113 is the largest prime for which there
 * are patterns. The ids of the tags at places 0 to 2 are its digits to the base 2113, the lowest
 * first, w0, w1 and w2; the id at place 3 is w0 + 2 w1 + 3 w2 modulo 2113. So any three tags, with
 * their places, give the whole identity, the fourth shows a contradiction, and no two tags can
 * change places without one: a code over a prime field whose words differ in two places at least
 * (Singleton's bound; MacWilliams and Sloane, The Theory of Error-Correcting Codes, chapter 11).
 * Which place a tag has, its id tells to who knows the sheet: the four ids of a sheet differ. */
#define PV_TAG_BASE       2113u
#define PV_TAG_IDENTITIES UINT64_C(9434056897)

void pv_tag_ids(uint64_t identity, unsigned ids[PV_TAG_PLACES]);
/* Whether these are the ids of one sheet, in the order of their places. */
bool pv_tag_ids_agree(const unsigned ids[PV_TAG_PLACES]);
/* The identity of a plan's first sheet from its fingerprint; that of the next from a sheet's: 1, 2
 * and 4 more in its digits, with carry, as often as it takes for all four ids to differ. */
uint64_t pv_tag_identity(uint64_t from, bool next);

/* ---- finding tags in an image ---- */
typedef struct pv_tag_seen {
    unsigned id;
    int corrected;    /* bits */
    double margin;    /* decision margin, as the library gives it */
    pv_vec corner[4]; /* px, (0,0) the outer corner of the first pixel, y down: lower left, lower
                         right, upper right, upper left of the upright tag, PV_TAG_INSET cells in */
    pv_vec centre;
} pv_tag_seen;

/* px: libapriltag keeps 16-bit coordinates (tag/find.c). */
#define PV_TAG_IMAGE_SIDE_MAX 8192

/* gray: 8 bit, row by row. The caller frees *seen. Sorted by id, then place in the image. */
bool pv_tags_find(const uint8_t *gray, size_t width, size_t height, pv_tag_seen **seen, size_t *n,
                  pv_diags *diags);

#endif
