#include "page/space.h"

#include "base/memory.h"

#include <stdlib.h>
#include <string.h>

#define TRUE_MM 1e-9 /* boxes that touch by rounding alone don't meet */

void pv_space_take(pv_space *space, pv_box box)
{
    if (space->failed || !PV_GROW(space->taken, space->n_taken, space->cap_taken))
        space->failed = true;
    else
        space->taken[space->n_taken++] = box;
}

void pv_space_drop(pv_space *space)
{
    free(space->taken);
    space->taken = NULL;
    space->n_taken = space->cap_taken = 0;
}

void pv_space_give(pv_space *space, size_t first, size_t n)
{
    if (n == 0)
        return;
    memmove(space->taken + first, space->taken + first + n,
            (space->n_taken - first - n) * sizeof *space->taken);
    space->n_taken -= n;
}

static bool apart(pv_box a, pv_box b, double gap)
{
    return !pv_box_meets(pv_box_grow(a, gap - TRUE_MM), b);
}

bool pv_space_free(const pv_space *space, pv_box box, double gap)
{
    pv_box page = pv_box_grow(space->page, TRUE_MM);
    if (space->failed || !pv_box_holds(page, box.lo) || !pv_box_holds(page, box.hi) ||
        !apart(box, space->art, gap))
        return false;
    for (size_t i = 0; i < space->n_taken; i++)
        if (!apart(box, space->taken[i], gap))
            return false;
    return true;
}

pv_box pv_space_band(const pv_space *space, int side)
{
    pv_box band = space->page;
    switch (side) {
    case 0:
        band.hi.x = space->art.lo.x;
        break;
    case 1:
        band.hi.y = space->art.lo.y;
        break;
    case 2:
        band.lo.x = space->art.hi.x;
        break;
    default:
        band.lo.y = space->art.hi.y;
        break;
    }
    return band;
}

/* Where a block's lower end may be along one axis: where it should be, as far as that lies in the
 * band; at the band's ends; and just past everything that is in the way. */
typedef struct places {
    double *at;
    size_t n;
} places;

static void add_place(places *p, double at, double lo, double hi)
{
    if (at >= lo - TRUE_MM && at <= hi + TRUE_MM)
        p->at[p->n++] = fmin(fmax(at, lo), hi);
}

static places find_places(const pv_space *space, pv_box band, bool along_x, double length,
                          double wanted, double *room)
{
    places p = {room, 0};
    double lo = along_x ? band.lo.x : band.lo.y, hi = (along_x ? band.hi.x : band.hi.y) - length;
    if (hi < lo)
        return p;
    add_place(&p, fmin(fmax(wanted - length / 2, lo), hi), lo, hi);
    add_place(&p, lo, lo, hi);
    add_place(&p, hi, lo, hi);
    for (size_t i = 0; i < space->n_taken; i++) {
        pv_box t = space->taken[i];
        if (!pv_box_meets(t, band))
            continue;
        add_place(&p, (along_x ? t.hi.x : t.hi.y) + PV_SPACE_GAP, lo, hi);
        add_place(&p, (along_x ? t.lo.x : t.lo.y) - PV_SPACE_GAP - length, lo, hi);
    }
    return p;
}

/* The free place of a block of this very width and height that is nearest to where it should be. */
static double nearest(pv_space *space, int side, pv_box band, const pv_block *block, bool turned,
                      pv_box *box)
{
    double width = turned ? block->height : block->width;
    double height = turned ? block->width : block->height;
    pv_vec toward = block->toward;
    double best = HUGE_VAL;
    if (width > band.hi.x - band.lo.x || height > band.hi.y - band.lo.y)
        return best;
    double *room = PV_NEW_ARRAY(4 * (space->n_taken + 2), double);
    if (room == NULL) {
        space->failed = true;
        return best;
    }
    places x = find_places(space, band, true, width, toward.x, room);
    places y = find_places(space, band, false, height, toward.y, room + 2 * (space->n_taken + 2));
    for (size_t i = 0; i < x.n; i++) {
        for (size_t k = 0; k < y.n; k++) {
            pv_box b = {{x.at[i], y.at[k]}, {x.at[i] + width, y.at[k] + height}};
            pv_vec off = pv_sub(pv_box_middle(b), toward);
            double far = side % 2 == 0 ? hypot(block->across * off.x, off.y)
                                       : hypot(off.x, block->across * off.y);
            if (far < best - TRUE_MM && pv_space_free(space, b, PV_SPACE_GAP)) {
                best = far;
                *box = b;
            }
        }
    }
    free(room);
    return best;
}

bool pv_space_find(pv_space *space, int side, const pv_block *block, pv_box *box, bool *turned)
{
    pv_box band = pv_space_band(space, side);
    bool at_side = side % 2 == 0;
    double best = HUGE_VAL;
    *turned = false;
    /* The art's edge is kept clear of: the band ends a gap before it. */
    pv_box clear = pv_box_grow(space->art, PV_SPACE_GAP);
    pv_box tight = {{side == 2 ? clear.hi.x : band.lo.x, side == 3 ? clear.hi.y : band.lo.y},
                    {side == 0 ? clear.lo.x : band.hi.x, side == 1 ? clear.lo.y : band.hi.y}};
    if (!at_side || block->upright)
        best = nearest(space, side, tight, block, false, box);
    if (at_side && block->turned && !(block->upright && best < HUGE_VAL)) {
        best = nearest(space, side, tight, block, true, box);
        *turned = best < HUGE_VAL;
    }
    return best < HUGE_VAL;
}
