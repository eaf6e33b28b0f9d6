/* What marks and words of a sheet share. */
#include "draw/anatomy.h"

const uint8_t pv_ink[3] = {0, 0, 0};

double pv_text_height(const char *text)
{
    for (const char *c = text; *c != '\0'; c++) /* any letter past ASCII may carry an accent */
        if ((unsigned char)*c >= 0xC3)
            return PV_TEXT_BELOW + 0.94;
    return PV_TEXT_BELOW + 0.775;
}

void pv_draw_words(pv_anatomy *a, pv_box box, bool turned, double em, bool bold, const char *text)
{
    double below = PV_TEXT_BELOW * em;
    pv_vec at = turned ? pv_v(box.hi.x - below, box.lo.y) : pv_v(box.lo.x, box.lo.y + below);
    pv_draw_text(a->drawing, at, em, turned ? PV_PI / 2 : 0, bold, pv_ink, text);
}
