#include "base/sha256.h"

#include <sha256.h>
#include <string.h>

/* <sha256.h> is libmd's; it names the same functions on every system. */
void pv_sha256(const void *bytes, size_t size, char hex[PV_SHA256_HEX])
{
    SHA256_CTX context;
    SHA256_Init(&context);
    SHA256_Update(&context, bytes, size);
    SHA256_End(&context, hex);
}
