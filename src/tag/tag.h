/* Tags: the one place that meets libapriltag. Family tagStandard41h12: 9 x 9 cells, 2115 patterns.
 * Also how sheet number, fingerprint and place are spread over a sheet's tags. */
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
 * Each tag's id is 11 bits: its place (2) and a word (9). Words 0 to 2 hold 14 bits of sheet
 * number and 13 of fingerprint; word 3 is the exclusive or of the others. So any one tag tells
 * where on the sheet it stands, any three give everything, and the fourth shows disagreement. */
#define PV_SHEET_BITS            14
#define PV_FINGERPRINT_BITS      13
#define PV_FINGERPRINT_NAME_BITS 6 /* the upper bits: of the kit's name alone */

/* A sheet's number may have one bit more, with an even fingerprint: its last bit carries it. */
unsigned pv_tag_id(unsigned sheet, unsigned fingerprint, unsigned place);
unsigned pv_tag_place(unsigned id);

typedef enum pv_tag_reading {
    PV_TAGS_READ,
    PV_TAGS_TOO_FEW, /* fewer than three places seen */
    PV_TAGS_DISAGREE /* two tags for one place, or the check word is wrong */
} pv_tag_reading;

pv_tag_reading pv_tag_read(const unsigned *ids, size_t n, unsigned *sheet, unsigned *fingerprint);

/* A kit of more sheets than PV_SHEET_BITS can number: has it? Its fingerprint, made even; and what
 * tags of it say, put right. */
bool pv_tag_many(size_t sheets);
unsigned pv_tag_fingerprint(size_t sheets, unsigned fingerprint);
void pv_tag_put_right(size_t sheets, unsigned *sheet, unsigned *fingerprint);

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
