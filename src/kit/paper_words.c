/* What several pages say of a paper. */
#include "kit/page.h"
#include "po/po.h"

#include <math.h>

/* mm, a page's short side: letter is 216 wide, A3 and tabloid 297 and 279. */
#define HOME_MOST   216.0
#define OFFICE_MOST 305.0

static const char *paper_name(const pv_kit_making *m, const pv_laid *laid, pv_text *to)
{
    if (laid->told.roll == 0) {
        pv_text_add(to, "%s", laid->paper);
        if (to->chars != NULL && to->chars[0] >= 'a' && to->chars[0] <= 'z')
            to->chars[0] = (char)(to->chars[0] - 'a' + 'A');
        return to->chars != NULL ? to->chars : "";
    }
    double inches = laid->told.roll / PV_MM_PER_IN;
    bool whole = fabs(inches - round(inches)) < 1e-6;
    pv_text_add(to, pv_say(m->o.language, "Roll, %s %s wide"),
                pv_fixed(whole ? inches : laid->told.roll, 0).chars, whole ? "in" : "mm");
    return to->chars != NULL ? to->chars : "";
}

void pv_web_paper(pv_kit_page *page, const pv_laid *laid)
{
    const pv_language *l = page->m->o.language;
    size_t n = laid->told.sheets;
    bool roll = laid->told.roll > 0;
    pv_text name = PV_TEXT_INIT;
    pv_web_text(page, "id", laid->id);
    pv_web_text(page, "name", paper_name(page->m, laid, &name));
    page->failed = page->failed || name.failed;
    pv_text_drop(&name);
    pv_web_text(page, "kit", laid->fingerprint.chars);
    pv_web_say(page, "pieces",
               roll ? pv_say_count(l, "%zu piece", "%zu pieces", n)
                    : pv_say_count(l, "%zu sheet", "%zu sheets", n),
               n);
    const double upright[2] = {fmin(laid->page[0], laid->page[1]),
                               fmax(laid->page[0], laid->page[1])};
    pv_web_size(page, "page", roll ? laid->page : upright);
    pv_web_text(page, "where",
                roll                        ? pv_say(l, "copy shops with a wide printer")
                : upright[0] <= HOME_MOST   ? pv_say(l, "home and office printers")
                : upright[0] <= OFFICE_MOST ? pv_say(l, "larger office printers, copy shops")
                                            : pv_say(l, "copy shops"));
    pv_web_minutes(page, "time", laid->takes.minutes);
    pv_web_flag(page, "sheets_many", n > 1);
}
