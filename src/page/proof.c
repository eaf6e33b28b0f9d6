/* What a proof page says, in the two strips that have no bars. */
#include "base/text.h"
#include "page/anatomy.h"

#define EM_MOST  3.4 /* mm */
#define LEADING  1.25
#define ROOM_OFF 3.0 /* mm kept free of tags */

static const char *const steps[] = {
    PV_SAID(
        "Print at 100 %, no scaling, on the paper and with the settings of the mat. Let the ink "
        "dry."),
    PV_SAID("Scan it at 300 dpi or more, with a card in its place if you can; or check it by "
            "ruler:"),
};
#define STEPS 2

/* Lines from the top downwards in a box, in the largest size that fits; the first of upright ones
 * is bold. */
static void write_lines(pv_anatomy *a, pv_box box, const char *const *lines, int n, bool turned)
{
    double wide = turned ? box.hi.y - box.lo.y : box.hi.x - box.lo.x;
    double high = turned ? box.hi.x - box.lo.x : box.hi.y - box.lo.y;
    double em = fmin(EM_MOST, high / (LEADING * n));
    for (int i = 0; i < n; i++)
        em = fmin(em, wide / pv_page_ems(a, lines[i], !turned && i == 0));
    double block = em * (LEADING * (n - 1) + pv_text_height(lines[0]));
    for (int i = 0; i < n; i++) {
        double from_top = (high - block) / 2 + em * (LEADING * i + pv_text_height(lines[0]));
        double up = high - from_top + PV_TEXT_BELOW * em;
        pv_vec at = turned ? pv_v(box.hi.x - up, box.lo.y) : pv_v(box.lo.x, box.lo.y + up);
        pv_page_text(a, at, em, turned ? PV_PI / 2 : 0, !turned && i == 0, lines[i]);
    }
}

void pv_page_proof_words(pv_anatomy *a)
{
    const pv_plan *plan = a->plan;
    pv_text title = PV_TEXT_INIT;
    const pv_language *l = plan->language;
    pv_text_add(&title, pv_say(l, "%s · %s · kit %s"), pv_say(l, plan->art.name), plan->paper,
                pv_plan_kit(plan).chars);
    if (a->printer != NULL)
        pv_text_add(&title, pv_say(l, " · corrected, for %s only"), pv_printer_words(a->printer));
    if (title.chars == NULL || title.failed) {
        pv_text_drop(&title);
        a->failed = true;
        return;
    }
    double lap = plan->lap_art, service = plan->service;
    pv_box top = {{a->cell.lo.x, a->cell.hi.y + lap / 2},
                  {a->cell.hi.x + lap, a->cell.hi.y + lap + service}};
    top.hi.x -= ROOM_OFF;
    char marks[160] = "";
    if (a->sheet->n_gauge > 0)
        pv_page_gauge_words(a, PV_GAUGE_BRIEF, marks, sizeof marks);
    const char *lines[2 + STEPS] = {title.chars, pv_say(l, steps[0]), pv_say(l, steps[1]), marks};
    write_lines(a, top, lines, 2 + STEPS, false);
    const char *const turned[] = {
        pv_say(l, "For those who use the command, to correct the printer:"),
        "pavior inspect --plan PLAN --json -o proof.json SCAN",
        "pavior calibrate proof.json -o printer.json",
        "pavior sheets COURSE --printer printer.json",
    };
    pv_box left = {{a->cell.lo.x - lap - service, a->cell.lo.y + lap},
                   {a->cell.lo.x - lap / 2, a->cell.hi.y - ROOM_OFF}};
    write_lines(a, left, turned, 4, true);
    pv_text_drop(&title);
}
