/* The page that inspects sheets in a browser, where the caller has the script for it: the page, its
 * own script, that script, and the kit's plans as a script, since a page in a folder on disk can
 * load nothing else. */
#include "kit/page.h"
#include "po/po.h"

#include <string.h>

bool pv_kit_put_plan(pv_kit_making *m, const char *name, char *text)
{
    if (m->o.checker != NULL && text != NULL) {
        if (m->plans.out.length == 0)
            pv_json_open(&m->plans, '[');
        pv_json_open(&m->plans, '{');
        pv_data_text(&m->plans, "name", name);
        pv_data_text(&m->plans, "text", text);
        pv_json_close(&m->plans, '}');
    }
    return pv_kit_put_text(m, name, text);
}

static bool put_plans(pv_kit_making *m)
{
    pv_text script = PV_TEXT_INIT;
    pv_json_close(&m->plans, ']');
    pv_text_add(&script, "\"use strict\";\nglobalThis.paviorPlans = ");
    pv_text_bytes(&script, m->plans.out.chars, m->plans.out.length);
    pv_text_add(&script, ";\n");
    script.failed = script.failed || m->plans.out.failed;
    pv_text_drop(&m->plans.out);
    return pv_kit_put_text(m, "plans.js", pv_text_take(&script));
}

bool pv_kit_check_page(pv_kit_making *m)
{
    if (m->o.checker == NULL)
        return true;
    pv_kit_page page;
    pv_kit_page_begin(&page, m, "check.html", pv_say(m->o.language, "Check your sheets, %s"),
                      m->course->art.name);
    return pv_kit_page_end(&page, "check") && put_plans(m) && pv_kit_put_plain(m, "check.js") &&
           pv_kit_put(m, "check-module.js", m->o.checker, m->o.checker_size);
}
