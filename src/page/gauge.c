/* What is said of the gauge marks: their names, and what to measure between them. */
#include "base/text.h"
#include "page/anatomy.h"

#include <stdio.h>

/* Layout: chosen. */
#define NAME_EM    3.2   /* mm: capitals of 2.3 */
#define NAME_STEP  0.2   /* mm smaller where there is no room */
#define NAME_LEAST 1.9   /* as EM_LEAST in words.c */
#define NAME_DOWN  0.085 /* ems: a capital's middle is so far above its box's */
#define CLEAR      0.25  /* mm between a name and everything else */

static bool name_mark(pv_anatomy *a, pv_vec mark, pv_vec way, const char *name, double em)
{
    double out = PV_GAUGE_ARM + PV_GAUGE_CLEAR + CLEAR + 1e-6;
    double wide = em * pv_page_ems(a, name, true) / 2, high = em * pv_text_height(name) / 2;
    pv_vec at = pv_add(mark, pv_v(way.x * (out + wide), way.y * (out + high)));
    if (way.y == 0)
        at.y -= NAME_DOWN * em;
    pv_box box = {pv_sub(at, pv_v(wide, high)), pv_add(at, pv_v(wide, high))};
    if (!pv_space_free(&a->space, box, CLEAR))
        return false;
    pv_page_words(a, box, false, em, true, name);
    pv_space_take(&a->space, box);
    return true;
}

/* To the left or right rather than above or below, and where two arms meet only if need be; away
 * from the page's middle, where the ruler lies, rather than towards it. */
void pv_page_gauge_names(pv_anatomy *a)
{
    pv_vec middle = pv_scale(pv_v(a->plan->page[0], a->plan->page[1]), 0.5);
    for (size_t i = 0; i < a->sheet->n_gauge; i++) {
        const char name[] = {PV_GAUGE_NAMES[i], '\0'};
        pv_vec mark = a->sheet->gauge[i];
        double x = mark.x < middle.x ? -1 : 1, y = mark.y < middle.y ? -1 : 1;
        const pv_vec ways[] = {{x, 0}, {-x, 0}, {0, y},  {0, -y},
                               {x, y}, {x, -y}, {-x, y}, {-x, -y}};
        bool named = false;
        for (size_t w = 0; w < sizeof ways / sizeof *ways && !named; w++)
            for (int k = 0; !named && NAME_EM - k * NAME_STEP >= NAME_LEAST - 1e-9; k++)
                named = name_mark(a, mark, ways[w], name, NAME_EM - k * NAME_STEP);
    }
}

void pv_page_gauge_words(const pv_anatomy *a, pv_gauge_wording how, char *text, size_t size)
{
    const pv_vec *g = a->sheet->gauge;
    double x = pv_dist(g[0], g[1]), y = pv_dist(g[0], g[3]);
    bool whole_x = fabs(x - round(x)) < 1e-6, whole_y = fabs(y - round(y)) < 1e-6;
    char sides[128], across[64];
    snprintf(sides, sizeof sides, "P\xE2\x80\x93Q %s mm \xC2\xB7 P\xE2\x80\x93S %s mm",
             pv_fixed(x, whole_x ? 0 : 1).chars, pv_fixed(y, whole_y ? 0 : 1).chars);
    snprintf(across, sizeof across, "P\xE2\x80\x93R, Q\xE2\x80\x93S %s mm",
             pv_fixed(hypot(x, y), 1).chars);
    if (how == PV_GAUGE_SIDES)
        snprintf(text, size, "%s", sides);
    else if (how == PV_GAUGE_ACROSS)
        snprintf(text, size, "%s", across);
    else
        snprintf(text, size,
                 how == PV_GAUGE_ALL ? pv_say(a->plan->language, "check by ruler: %s · %s")
                                     : "%s · %s",
                 sides, across);
}
