#include "measure/under_card.h"

#include "scene/card.h"

#include <math.h>

/* Choices of this method, assumed. */
#define CARD_OFF 3.0 /* mm off a card's sides */
#define CARD_GROWN                                                                                 \
    1.065 /* on a page that a print dialog shrank to 94 %, a card is longer in its mm */
#define CARD_ROUND 13.0 /* mm: its shadow, and the printed outline that it hides */

pv_reach pv_reach_none(void)
{
    pv_reach none;
    for (int k = 0; k < PV_CARD_TURNS; k++) {
        none.lo[k] = HUGE_VAL;
        none.hi[k] = -HUGE_VAL;
    }
    return none;
}

void pv_reach_add(pv_reach *reach, pv_vec at)
{
    for (int k = 0; k < PV_CARD_TURNS; k++) {
        double turn = k * acos(-1) / PV_CARD_TURNS, s = at.x * cos(turn) + at.y * sin(turn);
        reach->lo[k] = fmin(reach->lo[k], s);
        reach->hi[k] = fmax(reach->hi[k], s);
    }
}

pv_reach pv_reach_join(const pv_reach *a, const pv_reach *b)
{
    pv_reach both;
    for (int k = 0; k < PV_CARD_TURNS; k++) {
        both.lo[k] = fmin(a->lo[k], b->lo[k]);
        both.hi[k] = fmax(a->hi[k], b->hi[k]);
    }
    return both;
}

bool pv_reach_under_one_card(const pv_reach *a, const pv_reach *b)
{
    pv_reach both = pv_reach_join(a, b);
    double span[PV_CARD_TURNS];
    for (int k = 0; k < PV_CARD_TURNS; k++)
        span[k] = both.hi[k] - both.lo[k];
    for (int k = 0; k < PV_CARD_TURNS; k++)
        if (span[k] <= PV_CARD_LONG + CARD_ROUND &&
            span[(k + PV_CARD_TURNS / 2) % PV_CARD_TURNS] <= PV_CARD_SHORT + CARD_ROUND)
            return true;
    return false;
}

static bool is_side(double length, double side)
{
    return length >= side - CARD_OFF && length <= side * CARD_GROWN + CARD_OFF;
}

bool pv_like_card_side(double length)
{
    return is_side(length, PV_CARD_LONG) || is_side(length, PV_CARD_SHORT);
}

int pv_reach_card_turn(const pv_reach *reach)
{
    double least = HUGE_VAL, along = 0, across = 0;
    int turn = PV_CARD_TURNS, half = PV_CARD_TURNS / 2;
    for (int k = 0; k < half; k++) {
        double u = reach->hi[k] - reach->lo[k], v = reach->hi[k + half] - reach->lo[k + half];
        if (u * v >= least)
            continue;
        least = u * v;
        along = u;
        across = v;
        turn = k;
    }
    return pv_like_card_side(along) || pv_like_card_side(across) ? turn : PV_CARD_TURNS;
}

bool pv_reach_holds(const pv_reach *reach, int turn, pv_vec at)
{
    int up = PV_CARD_TURNS / 2;
    if (at.x < reach->lo[0] || at.x > reach->hi[0] || at.y < reach->lo[up] || at.y > reach->hi[up])
        return false;
    for (int k = turn; k < PV_CARD_TURNS; k += PV_CARD_TURNS / 2) {
        double a = k * acos(-1) / PV_CARD_TURNS, s = at.x * cos(a) + at.y * sin(a);
        if (s < reach->lo[k] || s > reach->hi[k])
            return false;
    }
    return true;
}
