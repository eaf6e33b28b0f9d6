/* Whole files in and out. Output is written beside its place and renamed, so that nobody ever sees
 * half a file. */
#ifndef BASE_FILE_H
#define BASE_FILE_H

#include "base/diag.h"

typedef struct pv_bytes {
    unsigned char *data;
    size_t size;
} pv_bytes;

/* Reads a file ("-" is standard input) of at most `limit` bytes; a NUL follows the last byte. The
 * caller frees data with pv_free. */
bool pv_file_read(const char *name, size_t limit, pv_bytes *out, pv_diags *diags);

/* Replaces the file in one step, or leaves it as it was and says why; "-" is standard output. */
bool pv_file_write(const char *name, const void *data, size_t size, pv_diags *diags);

#endif
