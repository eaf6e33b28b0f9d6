/* The place of a card on a page. */
#ifndef SCENE_CARD_H
#define SCENE_CARD_H

#include "base/vec.h"

#include <stddef.h>

/* Where an ID-1 card is to be laid (ISO/IEC 7810: 85.60 x 53.98 mm), either way round. Around it
 * stands a comb of black and white teeth that reaches beneath the card's edge, so that a card of
 * any tone, and not laid quite true, shows its edge against one of them. On each side of the card a
 * tooth is black where its place along the side, from the side's middle, is within a quarter of
 * PV_CARD_PITCH of a multiple of that; teeth that would reach past the card's corner are left out.
 */
#define PV_CARD_LONG    85.60
#define PV_CARD_SHORT   53.98
#define PV_CARD_PITCH   10.0 /* mm, a black and a white tooth */
#define PV_CARD_BENEATH 2.0  /* mm that the teeth reach beneath the card */
#define PV_CARD_BEYOND  5.0  /* mm that they reach beyond its edge */

/* The black teeth of the comb about a card's outline. */
#define PV_CARD_TEETH_MAX 40
size_t pv_card_teeth(pv_box card, pv_box teeth[PV_CARD_TEETH_MAX]);

#endif
