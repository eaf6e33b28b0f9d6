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

/* True where a name is "-", or a device, a pipe or the like: written to as it is, never replaced.
 */
bool pv_file_is_stream(const char *name);

/* For several files that belong together: new content, whole and on the disk, beside the place of
 * a file that is to be replaced. It must be settled or discarded. False, and said, where it can't
 * be written. Not for streams. */
typedef struct pv_staged {
    char *beside;
} pv_staged;

bool pv_file_stage(const char *name, const void *data, size_t size, pv_staged *out,
                   pv_diags *diags);
/* Puts it in place of a file in the same folder; or discards it, and says why. */
bool pv_file_settle(pv_staged *staged, const char *name, pv_diags *diags);
/* Several of them, each in its place; or none: then former files are as they were, and new ones
 * gone. What can't be put back is said by the name under which it was kept. */
bool pv_file_settle_all(pv_staged *const *staged, const char *const *names, size_t n,
                        pv_diags *diags);
void pv_file_discard(pv_staged *staged);

/* Removes what is staged: for a signal's handler that ends the program, and fit for one. It knows
 * PV_STAGED_MAX files at a time; signals wait while files are put in place. */
#define PV_STAGED_MAX 64
void pv_file_remove_staged(void);

#endif
