/* What an older kit's sheets are still good for: what changed, and what must be printed again. */
#include "base/memory.h"
#include "html/escape.h"
#include "html/svg.h"
#include "kit/page.h"
#include "paper/paper.h"
#include "paper/roll.h"
#include "po/po.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define LIST_MOST 200 /* changes that the page tells */

/* ---- the older plan ---- */

bool pv_kit_older(const pv_kit_making *m, const pv_kit_wish *wish, const pv_plan **older)
{
    char roll[PV_ROLL_NAME], *paper = NULL;
    double width, height;
    *older = NULL;
    if (wish->paper == NULL)
        pv_roll_name(wish->roll, roll);
    else if (!pv_paper_find(wish->paper, &paper, &width, &height, m->diags))
        return false;
    for (size_t i = 0; i < m->o.n_older; i++)
        if (!m->o.older[i]->proof &&
            strcmp(m->o.older[i]->paper, paper != NULL ? paper : roll) == 0)
            *older = m->o.older[i];
    free(paper);
    return true;
}

/* ---- the picture ---- */

/* The mat, the sheets to print again in colour with their names, and where it looks different. */
static char *draw(const pv_plan *plan, const pv_comparison *c, const char *words)
{
    pv_text to = PV_TEXT_INIT;
    double top = plan->art.size.y, room = pv_map_open(&to, plan, "", words);
    for (int again = 0; again < 2; again++) {
        pv_text_add(&to, again ? "<g class=\"here\">" : "<g>");
        for (size_t i = 0; i < plan->n_sheets; i++)
            if ((pv_comparison_sheet(c, i)->again != PV_AGAIN_NOT) == again)
                pv_map_cell(&to, plan, &plan->sheets[i]);
        pv_text_add(&to, "</g>");
    }
    const pv_changed_part *part;
    pv_text_add(&to, "<g class=\"changed\">");
    for (size_t i = 0; (part = pv_comparison_part(c, i)) != NULL; i++) {
        const double *b = part->box;
        double y = top - b[3];
        pv_svg_rect(&to, "",
                    (pv_box){{b[0], y}, {fmax(b[2], b[0] + room), fmax(top - b[1], y + room)}});
    }
    pv_text_add(&to, "</g>");
    /* On top: the red is often where a sheet's middle is. */
    for (size_t i = 0; i < plan->n_sheets; i++)
        if (pv_comparison_sheet(c, i)->again != PV_AGAIN_NOT)
            pv_map_name(&to, plan, &plan->sheets[i]);
    pv_text_add(&to, "</svg>");
    return pv_text_take(&to);
}

/* ---- PDFs ---- */

typedef struct again_set {
    pv_kit_making *m;
    pv_laid_again *again;
    const char *id;
} again_set;

/* A pv_pdf_sink. */
static bool take_pdf(void *context, const pv_pdf_part *part, pv_diags *diags)
{
    (void)diags; /* the making's own */
    again_set *set = context;
    char name[PV_KIT_NAME];
    if (part->number == 1)
        snprintf(name, sizeof name, "%s/again-%s.pdf", set->id, set->id);
    else
        snprintf(name, sizeof name, "%s/again-%s-%zu.pdf", set->id, set->id, part->number);
    set->again->pdfs++;
    return pv_kit_put(set->m, name, part->bytes, part->size);
}

static bool keep_names(pv_laid_again *again, const pv_plan *plan, const pv_comparison *c)
{
    pv_text gone = PV_TEXT_INIT;
    pv_text_add(&gone, "%s", "");
    for (size_t i = 0; pv_comparison_gone(c, i) != NULL; i++)
        pv_text_add(&gone, "%s%s", i > 0 ? ", " : "", pv_comparison_gone(c, i));
    again->gone = pv_text_take(&gone);
    pv_text names = PV_TEXT_INIT;
    pv_text_add(&names, "%s", "");
    again->stays = PV_NEW_ARRAY(plan->n_sheets, bool);
    for (size_t turn = 0; again->stays != NULL && turn < plan->n_sheets; turn++) {
        size_t i = plan->taping[turn];
        const pv_again_info *sheet = pv_comparison_sheet(c, i);
        again->stays[i] = sheet->again == PV_AGAIN_NOT;
        if (!again->stays[i])
            pv_text_add(&names, "%s%s", names.length > 0 ? ", " : "", sheet->name);
    }
    again->names = pv_text_take(&names);
    return again->gone != NULL && again->names != NULL && again->stays != NULL;
}

/* The mat's changes are the same on each paper. */
static bool keep_changes(pv_kit *kit, const pv_plan *older, const pv_comparison *c)
{
    const char *told;
    if (kit->was_edition != NULL)
        return true;
    kit->was_edition = pv_copy_text(older->art.edition);
    kit->changes = PV_NEW_ARRAY(LIST_MOST, char *);
    if (kit->was_edition == NULL || kit->changes == NULL)
        return false;
    for (size_t i = 0; (told = pv_comparison_told(c, i)) != NULL; i++) {
        if (kit->n_changes == LIST_MOST) {
            kit->changes_left++;
            continue;
        }
        kit->changes[kit->n_changes] = pv_copy_text(told);
        if (kit->changes[kit->n_changes++] == NULL)
            return false;
    }
    return true;
}

/* Their PDFs. What there is to warn of was said when all sheets were put. */
static bool put_again(pv_kit_making *m, const pv_plan *plan, const pv_comparison *c, pv_laid *laid)
{
    again_set set = {m, &laid->again, laid->id};
    pv_pdf_options options = pv_pdf_defaults();
    options.type = m->type;
    options.range = pv_comparison_range(c);
    options.taping = true;
    pv_diags *said = pv_diags_new();
    if (said == NULL) {
        pv_fail_memory(m->diags);
        return false;
    }
    bool good = pv_sheets_pdf(plan, &options, take_pdf, &set, said);
    for (size_t i = 0; i < pv_diags_size(said); i++) {
        const pv_diag *d = pv_diags_at(said, i);
        if (d->severity == PV_ERROR)
            pv_diags_add(m->diags, PV_ERROR, d->cause, NULL, d->hint, "%s: %s", laid->id,
                         d->message);
    }
    pv_diags_free(said);
    return good;
}

bool pv_kit_again(pv_kit_making *m, const pv_plan *older, const pv_plan *plan, pv_laid *laid)
{
    pv_laid_again *again = &laid->again;
    pv_comparison *c = pv_plan_compare(older, plan, m->o.language, m->diags);
    if (c == NULL)
        return false;
    again->compared = true;
    again->n = pv_comparison_again(c);
    again->map = draw(plan, c, pv_say(m->o.language, "The sheets to print again"));
    bool good = again->map != NULL && keep_names(again, plan, c) && keep_changes(m->kit, older, c);
    if (!good)
        pv_fail_memory(m->diags);
    if (good && again->n > 0 && again->n < plan->n_sheets)
        good = put_again(m, plan, c, laid);
    pv_comparison_free(c);
    return good;
}

/* Two mats of one edition: whoever reads the edition on a sheet takes the one for the other. */
static void warn_of_edition(const pv_kit_making *m)
{
    const pv_kit *kit = m->kit;
    if (kit->n_changes == 0 || strcmp(kit->was_edition, kit->edition) != 0)
        return;
    pv_diags_add(m->diags, PV_WARNING, PV_CAUSE_NONE, NULL,
                 "give the course a new edition, or teams cannot tell the sheets apart",
                 "the course has changed, but it and the former kit are both edition \"%s\"",
                 kit->edition);
}

void pv_kit_again_clear(pv_laid_again *again)
{
    free(again->names);
    free(again->gone);
    free(again->map);
    free(again->stays);
    *again = (pv_laid_again){0};
}

/* ---- the page ---- */

static void add_pdfs(pv_kit_page *page, const pv_laid *laid)
{
    pv_data_open(&page->data, "pdfs", '[');
    for (size_t i = 0; i < laid->again.pdfs; i++) {
        pv_json_open(&page->data, '{');
        if (i == 0)
            pv_data_words(&page->data, "pdf", "%s/again-%s.pdf", laid->id, laid->id);
        else
            pv_data_words(&page->data, "pdf", "%s/again-%s-%zu.pdf", laid->id, laid->id, i + 1);
        pv_json_close(&page->data, '}');
    }
    pv_json_close(&page->data, ']');
}

/* Sheets to print again lie beside others that stay. */
static bool is_some(const pv_laid *laid)
{
    return laid->again.n > 0 && laid->again.n < laid->told.sheets;
}

static void add_paper(pv_kit_page *page, const pv_laid *laid)
{
    const pv_laid_again *again = &laid->again;
    const pv_language *l = page->m->o.language;
    pv_json_open(&page->data, '{');
    pv_kit_page_paper(page, laid);
    pv_data_bool(&page->data, "compared", again->compared);
    pv_data_bool(&page->data, "none", again->compared && again->n == 0);
    pv_data_bool(&page->data, "all", again->compared && again->n == laid->told.sheets);
    pv_data_bool(&page->data, "some", is_some(laid));
    pv_data_bool(&page->data, "several", again->n > 1);
    pv_data_words(&page->data, "count", pv_say_count(l, "%zu sheet", "%zu sheets", again->n),
                  again->n);
    pv_data_text(&page->data, "names", again->names);
    pv_data_bool(&page->data, "has_gone", again->gone != NULL && *again->gone != '\0');
    pv_data_text(&page->data, "gone", again->gone);
    pv_data_text(&page->data, "map_svg", again->map);
    add_pdfs(page, laid);
    pv_json_close(&page->data, '}');
}

bool pv_kit_changes_page(pv_kit_making *m)
{
    const pv_kit *kit = m->kit;
    if (kit->was_edition == NULL)
        return true;
    warn_of_edition(m);
    pv_kit_page page;
    pv_kit_page_begin(&page, m, "changes.html", pv_say(m->o.language, "What has changed"));
    pv_data_text(&page.data, "was", kit->was_edition);
    pv_data_bool(&page.data, "renewed", strcmp(kit->was_edition, kit->edition) != 0);
    pv_data_bool(&page.data, "unchanged", kit->n_changes == 0);
    pv_data_bool(&page.data, "changed", kit->n_changes > 0);
    pv_data_open(&page.data, "changes", '[');
    for (size_t i = 0; i < kit->n_changes; i++) {
        pv_json_open(&page.data, '{');
        pv_data_text(&page.data, "words", kit->changes[i]);
        pv_json_close(&page.data, '}');
    }
    if (kit->changes_left > 0) {
        pv_json_open(&page.data, '{');
        pv_data_words(&page.data, "words", pv_say(m->o.language, "And %zu more."),
                      kit->changes_left);
        pv_json_close(&page.data, '}');
    }
    pv_json_close(&page.data, ']');
    bool replace = false;
    pv_data_open(&page.data, "papers", '[');
    for (size_t i = 0; i < kit->n_papers; i++) {
        add_paper(&page, &kit->papers[i]);
        replace = replace || is_some(&kit->papers[i]);
    }
    pv_json_close(&page.data, ']');
    pv_data_bool(&page.data, "replace", replace);
    return pv_kit_page_end(&page, "kit_changes");
}
