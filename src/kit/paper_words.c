/* What several pages say of a paper. */
#include "base/words.h"
#include "guide/say.h"
#include "kit/page.h"
#include "po/po.h"

#include <pavior/inspect.h>

#include <math.h>

/* mm, a page's short side (assumed): letter is 216 wide, A3 and tabloid 297 and 279. */
#define HOME_MOST   216.0
#define OFFICE_MOST 305.0

static void add_name(pv_kit_page *page, const pv_laid *laid)
{
    if (laid->told.roll == 0) {
        pv_data_words(&page->data, "name", "%c%s", pv_capital(laid->paper[0]), laid->paper + 1);
        return;
    }
    double mm = laid->told.roll, inches = mm / PV_MM_PER_IN;
    bool whole = fabs(inches - round(inches)) < 1e-6;
    pv_data_words(&page->data, "name", pv_say(page->m->o.language, "Roll, %s %s wide"),
                  pv_fixed(whole ? inches : mm, whole || mm == round(mm) ? 0 : 1).chars,
                  whole ? pv_say_in(page->m->o.language, "after a roll's width", "in") : "mm");
}

void pv_kit_gauge(const pv_sheet *sheet, double gauge[2])
{
    bool there = sheet->n_gauge > 0;
    gauge[0] = there ? pv_dist(sheet->gauge[0], sheet->gauge[1]) : 0;
    gauge[1] = there ? pv_dist(sheet->gauge[0], sheet->gauge[3]) : 0;
}

#define BAR 100.0 /* mm, the bar that the words name */

/* A bar is surely too far off only past the tolerance and the ruler's own uncertainty: it is too
 * short to decide. */
void pv_kit_page_ruler(pv_kit_page *page, const double gauge[2])
{
    double share = page->m->course->art.tolerances.scale;
    pv_data_words(&page->data, "bar_off", "%s", pv_fixed(share * BAR + PV_RULER_U, 1).chars);
    pv_data_bool(&page->data, "bar_alone", gauge != NULL && gauge[0] == 0);
    pv_data_text(&page->data, "gauge_off",
                 gauge == NULL ? pv_fixed(1000 * share, pv_guide_decimals(1000 * share)).chars
                               : NULL);
    if (gauge == NULL || gauge[0] == 0) {
        pv_data_bool(&page->data, "gauge", false);
        return;
    }
    pv_data_open(&page->data, "gauge", '{');
    pv_data_text(&page->data, "across", pv_guide_reading(gauge[0], share).chars);
    pv_data_text(&page->data, "along", pv_guide_reading(gauge[1], share).chars);
    pv_data_bool(&page->data, "long", fmax(gauge[0], gauge[1]) > PV_RULER_LONGEST);
    pv_json_close(&page->data, '}');
}

void pv_kit_page_paper(pv_kit_page *page, const pv_laid *laid)
{
    const pv_language *l = page->m->o.language;
    size_t n = laid->told.sheets;
    bool roll = laid->told.roll > 0;
    pv_data_text(&page->data, "id", laid->id);
    add_name(page, laid);
    pv_data_text(&page->data, "kit", laid->fingerprint.chars);
    pv_data_words(&page->data, "pieces",
                  roll ? pv_say_count(l, "%zu piece", "%zu pieces", n)
                       : pv_say_count(l, "%zu sheet", "%zu sheets", n),
                  n);
    const double upright[2] = {fmin(laid->page[0], laid->page[1]),
                               fmax(laid->page[0], laid->page[1])};
    pv_kit_page_size(page, "page", roll ? laid->page : upright);
    pv_data_text(&page->data, "where",
                 roll                        ? pv_say(l, "copy shops with a wide printer")
                 : upright[0] <= HOME_MOST   ? pv_say(l, "home and office printers")
                 : upright[0] <= OFFICE_MOST ? pv_say(l, "larger office printers, copy shops")
                                             : pv_say(l, "copy shops"));
    pv_kit_page_minutes(page, "time", laid->takes.minutes);
    pv_data_bool(&page->data, "sheets_many", n > 1);
}
