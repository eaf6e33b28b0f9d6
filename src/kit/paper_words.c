/* What several pages say of a paper. */
#include "kit/page.h"
#include "po/po.h"

#include <math.h>

/* mm, a page's short side (assumed): letter is 216 wide, A3 and tabloid 297 and 279. */
#define HOME_MOST   216.0
#define OFFICE_MOST 305.0

static void add_name(pv_kit_page *page, const pv_laid *laid)
{
    if (laid->told.roll == 0) {
        char first = laid->paper[0];
        if (first >= 'a' && first <= 'z')
            first = (char)(first - 'a' + 'A');
        pv_data_words(&page->data, "name", "%c%s", first, laid->paper + 1);
        return;
    }
    double inches = laid->told.roll / PV_MM_PER_IN;
    bool whole = fabs(inches - round(inches)) < 1e-6;
    pv_data_words(&page->data, "name", pv_say(page->m->o.language, "Roll, %s %s wide"),
                  pv_fixed(whole ? inches : laid->told.roll, 0).chars, whole ? "in" : "mm");
}

void pv_web_paper(pv_kit_page *page, const pv_laid *laid)
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
    pv_web_size(page, "page", roll ? laid->page : upright);
    pv_data_text(&page->data, "where",
                 roll                        ? pv_say(l, "copy shops with a wide printer")
                 : upright[0] <= HOME_MOST   ? pv_say(l, "home and office printers")
                 : upright[0] <= OFFICE_MOST ? pv_say(l, "larger office printers, copy shops")
                                             : pv_say(l, "copy shops"));
    pv_web_minutes(page, "time", laid->takes.minutes);
    pv_data_bool(&page->data, "sheets_many", n > 1);
}
