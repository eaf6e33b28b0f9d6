/* A page of the guide: its size, its frame and its foot. */
#include "base/memory.h"
#include "guide/pages.h"
#include "po/po.h"

#include <stdio.h>
#include <stdlib.h>

/* Layout: chosen. A pen unit is 1 mm on paper whose shorter side is from SHORT to LONG mm. */
#define SHORT      180.0
#define LONG       300.0
#define UNIT_LEAST 0.8
/* mm, the shorter side: larger paper is for plotters, and dear. Its guide is for an office printer.
 */
#define LARGE  450.0
#define MARGIN 8.0 /* units */
#define FOOT   5.0
#define EM     2.4

void pv_guide_open_page(pv_guide_book *b)
{
    const pv_plan *plan = b->guide->plan;
    double w = plan->page[0], h = plan->page[1];
    pv_box reach = pv_plan_printable(plan);
    if (fmin(w, h) > LARGE) {
        w = plan->art.inches ? 8.5 * PV_MM_PER_IN : 210;
        h = plan->art.inches ? 11 * PV_MM_PER_IN : 297;
        reach = (pv_box){{0, 0}, {w, h}};
    }
    double brief = fmin(w, h);
    pv_drawing_init(&b->page, b->type, w, h);
    b->pen.d = &b->page;
    b->pen.unit = brief < SHORT ? fmax(brief / SHORT, UNIT_LEAST) : fmax(brief / LONG, 1);
    double u = b->pen.unit;
    b->area = pv_guide_common(reach, pv_box_grow((pv_box){{0, 0}, {w, h}}, -MARGIN * u));
    char label[32];
    snprintf(label, sizeof label, "guide %zu", ++b->n);
    b->page.label = pv_copy_text(label);
    pv_text foot = PV_TEXT_INIT;
    pv_text_add(
        &foot,
        pv_say(b->guide->plan->language, "%s, edition %s, kit %s, %s: taping guide, page %zu"),
        plan->art.name, plan->art.edition, pv_plan_kit(plan).chars, plan->paper, b->n);
    char *text = pv_text_take(&foot);
    b->page.failed = b->page.failed || b->page.label == NULL || text == NULL;
    if (text != NULL)
        pv_draw_text(&b->page, b->area.lo, EM * u, 0, false, pv_guide_grey, text);
    free(text);
    b->area.lo.y += FOOT * u;
    b->whole = b->area;
}

bool pv_guide_close_page(pv_guide_book *b)
{
    bool good = !b->page.failed;
    if (!good)
        pv_fail_memory(b->diags);
    good = good && b->take(b->context, &b->page, b->diags);
    pv_drawing_clear(&b->page);
    return good;
}
