/* SHA-256 (FIPS 180-4), by libmd: what a kit's files are checked by, and known again by. */
#ifndef BASE_SHA256_H
#define BASE_SHA256_H

#include <stddef.h>

#define PV_SHA256_HEX 65 /* lower-case digits, and a NUL */

/* Of so many bytes. */
void pv_sha256(const void *bytes, size_t size, char hex[PV_SHA256_HEX]);

#endif
