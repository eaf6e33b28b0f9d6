/* Pictures for people, as files. */
#ifndef IMAGE_ENCODE_H
#define IMAGE_ENCODE_H

#include "base/diag.h"
#include "base/memory.h"

/* A baseline JPEG of sRGB codes, 3 a pixel, the top row first; gray where all of them are. quality
 * is libjpeg's, 1 to 100. The caller frees out->data with free(). False with a finding. */
bool pv_jpeg_encode(const unsigned char *rgb, size_t width, size_t height, int quality,
                    pv_bytes *out, pv_diags *diags);

#endif
