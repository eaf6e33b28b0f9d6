/* Refusing one allocation of our own code. For the one file of a Check program whose name has
 * "alloc" in it: such programs are linked so that malloc, calloc and realloc come here. */
#ifndef TESTS_REFUSE_H
#define TESTS_REFUSE_H

#include "common.h"
#include "type/face.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

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

/* The test's type as if it was opened anew: no width is known from before. */
__attribute__((unused)) static void forget_widths(void)
{
    memset(test_type()->memo, 0, sizeof test_type()->memo);
}

/* Beyond the first so many, each STRIDE-th: the time goes with the square of their number, and late
 * ones come from places that earlier ones came from. All of them where PAVIOR_DRAWS is set, as
 * make test-long does. */
#define EACH   300
#define STRIDE 31

/* Refuses each allocation of a work in turn, until none is left: it must fail, and say why. No
 * assertion in the work, since Check itself needs memory. */
__attribute__((unused)) static void refuse_each(bool (*work)(pv_diags *), const char *name)
{
    long n = 0, stride = getenv("PAVIOR_DRAWS") != NULL ? 1 : STRIDE;
    for (bool reached = true; reached; n += n < EACH ? 1 : stride) {
        pv_diags *said = pv_diags_new();
        until = n;
        bool good = work(said);
        reached = until < 0;
        until = -1;
        if (good == reached)
            ck_abort_msg("%s: refusing allocation %ld went unnoticed", name, n);
        if (!good && pv_diags_cause(said) != PV_CAUSE_MEMORY)
            ck_abort_msg("%s: refusing allocation %ld gave cause %d", name, n,
                         (int)pv_diags_cause(said));
        pv_diags_free(said);
        ck_assert_int_lt(n, 100000);
    }
    ck_assert_int_gt(n, 1);
    bool all = n < EACH || stride == 1;
    printf("    %s: %s of %ld allocations refused once\n", name, all ? "each" : "most", n - 1);
}

#endif
