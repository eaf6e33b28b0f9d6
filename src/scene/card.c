#include "scene/card.h"

size_t pv_card_teeth(pv_box c, pv_box teeth[PV_CARD_TEETH_MAX])
{
    pv_vec m = pv_box_middle(c);
    size_t n = 0;
    for (int vertical = 0; vertical < 2; vertical++) {
        double half = (vertical ? c.hi.y - c.lo.y : c.hi.x - c.lo.x) / 2, wide = PV_CARD_PITCH / 4;
        int most = (int)floor((half - wide) / PV_CARD_PITCH);
        for (int k = -most; k <= most && n + 2 <= PV_CARD_TEETH_MAX; k++) {
            double u = k * PV_CARD_PITCH;
            if (vertical) {
                double y[2] = {m.y + u - wide, m.y + u + wide};
                teeth[n++] =
                    (pv_box){{c.lo.x - PV_CARD_BEYOND, y[0]}, {c.lo.x + PV_CARD_BENEATH, y[1]}};
                teeth[n++] =
                    (pv_box){{c.hi.x - PV_CARD_BENEATH, y[0]}, {c.hi.x + PV_CARD_BEYOND, y[1]}};
            } else {
                double x[2] = {m.x + u - wide, m.x + u + wide};
                teeth[n++] =
                    (pv_box){{x[0], c.lo.y - PV_CARD_BEYOND}, {x[1], c.lo.y + PV_CARD_BENEATH}};
                teeth[n++] =
                    (pv_box){{x[0], c.hi.y - PV_CARD_BENEATH}, {x[1], c.hi.y + PV_CARD_BEYOND}};
            }
        }
    }
    return n;
}
