/* An inspection's picture as a file. Private to this room. */
#ifndef REPORT_JPEG_H
#define REPORT_JPEG_H

#include "image/encode.h"

#include <pavior/inspect.h>

/* The picture as a JPEG of at most `share` bytes, with fewer pixels where need be; data NULL where
 * it would be too small to show anything. The caller frees out->data. False with a finding. */
bool pv_picture_jpeg(const pv_picture *picture, size_t share, pv_bytes *out, pv_diags *diags);

#endif
