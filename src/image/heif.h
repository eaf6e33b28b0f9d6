/* What the parts of the HEIC and AVIF reader share. */
#ifndef IMAGE_HEIF_H
#define IMAGE_HEIF_H

#include "base/diag.h"

#include <stdint.h>

/* Before libheif decodes a picture, by its number in the file (heif_guard.c): false, and said,
 * where it is made of itself, of more than 4096 parts, or of parts of parts more than 8 deep. */
bool pv_heif_guard(const unsigned char *bytes, size_t size, uint32_t item, pv_diags *diags);

#endif
