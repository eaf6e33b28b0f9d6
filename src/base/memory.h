/* Memory: arrays that grow, with every size checked. */
#ifndef BASE_MEMORY_H
#define BASE_MEMORY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Makes room for `need` items of `size` bytes at *items, at least doubling. False (and everything
 * as it was) where memory ran out or the size would overflow. */
bool pv_reserve(void **items, size_t *capacity, size_t need, size_t size);

/* Room for one more in the array `items` of a struct with fields n and cap named n_X and cap_X:
 *     if (!PV_GROW(plan->sheets, plan->n_sheets, plan->cap_sheets)) ...                          */
#define PV_GROW(items, n, cap) pv_reserve((void **)&(items), &(cap), (n) + 1, sizeof *(items))

/* Zeroed array; NULL on overflow or where memory ran out. Never NULL for zero items. */
void *pv_new_array(size_t n, size_t size);
#define PV_NEW(type)          ((type *)pv_new_array(1, sizeof(type)))
#define PV_NEW_ARRAY(n, type) ((type *)pv_new_array((n), sizeof(type)))

/* Options from a program that may have been compiled with an older or a newer header (pavior.h):
 * `full`, of `size` bytes, holds the defaults, and takes over as much of `given` as both know; of
 * NULL nothing. */
void pv_take_options(void *full, size_t size, const void *given);
/* The other way: defaults for a program that knows `size` bytes of them. */
void pv_give_options(void *to, size_t size, const void *full, size_t full_size);

/* Bytes on the heap. */
typedef struct pv_bytes {
    unsigned char *data;
    size_t size;
} pv_bytes;

/* A copy that the caller frees; NULL where memory ran out. text may be NULL only for pv_copy_text,
 * which then gives a copy of "". */
char *pv_copy_text(const char *text);
char *pv_copy_chars(const char *chars, size_t length);
void *pv_copy_bytes(const void *bytes, size_t n, size_t size);

#endif
