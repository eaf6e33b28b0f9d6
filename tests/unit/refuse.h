/* Refusing one allocation of our own code. For the one file of a Check program whose name has
 * "alloc" in it: such programs are linked so that malloc, calloc and realloc come here. */
#ifndef TESTS_REFUSE_H
#define TESTS_REFUSE_H

#include <stdbool.h>
#include <stddef.h>

static long until = -1; /* allocations until one is refused; negative: none is */
static bool hit;        /* one was */
static long made;       /* allocations asked for */

void *__real_malloc(size_t size);
void *__real_calloc(size_t n, size_t size);
void *__real_realloc(void *old, size_t size);
void *__wrap_malloc(size_t size);
void *__wrap_calloc(size_t n, size_t size);
void *__wrap_realloc(void *old, size_t size);

static bool refused(void)
{
    made++;
    if (until < 0 || until-- > 0)
        return false;
    hit = true;
    return true;
}

void *__wrap_malloc(size_t size)
{
    return refused() ? NULL : __real_malloc(size);
}

void *__wrap_calloc(size_t n, size_t size)
{
    return refused() ? NULL : __real_calloc(n, size);
}

void *__wrap_realloc(void *old, size_t size)
{
    return refused() ? NULL : __real_realloc(old, size);
}

#endif
