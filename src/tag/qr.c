#include "tag/qr.h"

#include "base/memory.h"

#include <qrencode.h>

#include <errno.h>
#include <stdlib.h>

bool pv_qr_make(const char *text, pv_qr *out, pv_diags *diags)
{
    *out = (pv_qr){0};
    errno = 0;
    QRcode *code = QRcode_encodeString(text, 0, QR_ECLEVEL_M, QR_MODE_8, 1);
    if (code == NULL) {
        if (errno == ERANGE)
            pv_fail(diags, PV_CAUSE_LIMIT, "no QR code holds an address this long");
        else
            pv_fail_memory(diags);
        return false;
    }
    size_t n = (size_t)code->width * (size_t)code->width;
    out->side = code->width;
    out->cells = PV_NEW_ARRAY(n, uint8_t);
    for (size_t i = 0; out->cells != NULL && i < n; i++)
        out->cells[i] = code->data[i] & 1; /* the other bits say what a module is for */
    QRcode_free(code);
    if (out->cells == NULL)
        pv_fail_memory(diags);
    return out->cells != NULL;
}

void pv_qr_drop(pv_qr *qr)
{
    free(qr->cells);
    *qr = (pv_qr){0};
}
