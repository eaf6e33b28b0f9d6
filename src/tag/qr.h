/* QR codes (ISO/IEC 18004): the one place that meets libqrencode.
 *
 * Level M mends 15 % of the code's words: a crease or a spot of glue. The version, and how letters
 * and digits are packed, is the library's choice: the smallest that holds the text. */
#ifndef TAG_QR_H
#define TAG_QR_H

#include "base/diag.h"

#include <stdint.h>

#define PV_QR_QUIET 4   /* modules left white all round (ISO/IEC 18004, from memory) */
#define PV_QR_SIDE  177 /* modules along a side, at most: version 40 */

typedef struct pv_qr {
    int side;       /* modules */
    uint8_t *cells; /* side x side, row 0 on top: 1 is black */
} pv_qr;

/* False where the text is too long for any code (said), or memory ran out (said). Drop it. */
bool pv_qr_make(const char *text, pv_qr *out, pv_diags *diags);
void pv_qr_drop(pv_qr *qr);

#endif
