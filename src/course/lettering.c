/* Boxes of lettering, by the widths of its typeface. */
#include "base/typeface.h"
#include "course/art.h"

pv_box pv_lettering_frame(const pv_lettering *lettering)
{
    double em = lettering->height / PV_CAP_HEIGHT;
    double width = pv_text_ems(lettering->text, false) * em, left = 0;
    if (lettering->anchor == PV_ANCHOR_CENTRE)
        left = -width / 2;
    else if (lettering->anchor == PV_ANCHOR_RIGHT)
        left = -width;
    return (pv_box){{left, -PV_DESCENT * em}, {left + width, PV_ASCENT * em}};
}

pv_box pv_lettering_box(const pv_lettering *lettering)
{
    pv_box frame = pv_lettering_frame(lettering), box = pv_box_none();
    pv_vec x = pv_polar(1, lettering->angle), y = pv_left(x);
    for (int i = 0; i < 4; i++) {
        double u = i & 1 ? frame.hi.x : frame.lo.x, v = i & 2 ? frame.hi.y : frame.lo.y;
        box = pv_box_add(box, pv_along(pv_along(lettering->at, x, u), y, v));
    }
    return box;
}
