/* Whether what is seen on a sheet may be a card that lies there, or the parts of one that show. */
#ifndef MEASURE_UNDER_CARD_H
#define MEASURE_UNDER_CARD_H

#include "base/vec.h"

#include <stdbool.h>

#define PV_CARD_TURNS 36 /* ways round in which a card is tried: even */

/* How far something reaches, along axes at k pi / PV_CARD_TURNS from x. */
typedef struct pv_reach {
    double lo[PV_CARD_TURNS], hi[PV_CARD_TURNS];
} pv_reach;

pv_reach pv_reach_none(void);
void pv_reach_add(pv_reach *reach, pv_vec at);

/* Does an ID-1 card (ISO/IEC 7810) with its shadow, laid some way round, cover both? */
bool pv_reach_under_one_card(const pv_reach *a, const pv_reach *b);

/* Of what a is of, and b, together. */
pv_reach pv_reach_join(const pv_reach *a, const pv_reach *b);

/* The turn at which a rectangle about it is smallest: k of its axes, k + PV_CARD_TURNS / 2 across,
 * if that has a side as long as one of a card's; else PV_CARD_TURNS. */
int pv_reach_card_turn(const pv_reach *reach);
/* Whether a place is within that rectangle. */
bool pv_reach_holds(const pv_reach *reach, int turn, pv_vec at);

/* As long as one of a card's sides, also on a page that was printed too small. */
bool pv_like_card_side(double length);

#endif
