/* Boxes that lie apart or inside, to a micrometre's thousandth; and assertions by the million. */
#ifndef TESTS_BOXES_H
#define TESTS_BOXES_H

#include "common.h"

#include "base/vec.h"

/* Check notes every assertion in a file: where there are very many, this is far faster. */
#define REQUIRE(holds, ...)                                                                        \
    do {                                                                                           \
        if (!(holds))                                                                              \
            ck_abort_msg(__VA_ARGS__);                                                             \
    } while (0)

static bool overlap(pv_box a, pv_box b)
{
    return pv_box_meets(pv_box_grow(a, -1e-6), b);
}

static bool inside(pv_box outer, pv_box inner)
{
    pv_box wide = pv_box_grow(outer, 1e-6);
    return pv_box_holds(wide, inner.lo) && pv_box_holds(wide, inner.hi);
}

static pv_box shifted(pv_box box, pv_vec by)
{
    return (pv_box){pv_sub(box.lo, by), pv_sub(box.hi, by)};
}

#endif
