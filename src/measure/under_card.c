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

bool pv_reach_under_one_card(const pv_reach *a, const pv_reach *b)
{
    double span[PV_CARD_TURNS];
    for (int k = 0; k < PV_CARD_TURNS; k++)
        span[k] = fmax(a->hi[k], b->hi[k]) - fmin(a->lo[k], b->lo[k]);
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
