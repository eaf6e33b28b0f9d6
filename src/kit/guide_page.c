/* The taping guide as a page of a paper, with its pictures beside it. */
#include "guide/data.h"
#include "kit/page.h"
#include "po/po.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FOLDER "guide/"

static bool put_picture(pv_kit_making *m, const pv_laid *laid, const pv_guide *guide,
                        pv_guide_picture which, size_t index)
{
    char file[PV_GUIDE_FILE], name[PV_KIT_NAME + PV_GUIDE_FILE];
    pv_guide_file(guide, which, index, file);
    snprintf(name, sizeof name, "%s/" FOLDER "%s", laid->id, file);
    return pv_kit_put_text(m, name, pv_guide_svg(guide, which, index, m->type, m->diags));
}

bool pv_kit_guide_page(pv_kit_making *m, const pv_laid *laid, const pv_guide *guide)
{
    char name[PV_KIT_NAME];
    pv_kit_page page;
    if (!put_picture(m, laid, guide, PV_GUIDE_WHOLE, 0))
        return false;
    for (size_t i = 0; i < guide->n; i = pv_guide_next(guide, i))
        if (!put_picture(m, laid, guide, PV_GUIDE_CUTTING, i) ||
            !put_picture(m, laid, guide, PV_GUIDE_LAYING, i))
            return false;
    snprintf(name, sizeof name, "%s/guide.html", laid->id);
    pv_kit_page_begin(&page, m, name, pv_say(m->o.language, "Taping guide"));
    pv_kit_page_paper(&page, laid);
    pv_guide_members(&page.data, guide, FOLDER); /* where it fails, the data has failed */
    return pv_kit_page_end(&page, "kit_guide");
}

void pv_kit_page_step(pv_kit_page *page, const pv_guide *guide, size_t turn)
{
    size_t own = 0;
    bool has = guide != NULL;
    while (has && pv_guide_next(guide, own) <= turn)
        own = pv_guide_next(guide, own);
    pv_data_bool(&page->data, "guide", has);
    pv_data_bool(&page->data, "pictures", has && own == turn);
    if (!has)
        return;
    char file[PV_GUIDE_FILE];
    pv_data_count(&page->data, "step", guide->steps[own].number);
    pv_guide_file(guide, PV_GUIDE_CUTTING, own, file);
    pv_data_words(&page->data, "cut_picture", FOLDER "%s", file);
    pv_guide_file(guide, PV_GUIDE_LAYING, own, file);
    pv_data_words(&page->data, "lay_picture", FOLDER "%s", file);
}
