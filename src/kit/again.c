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

static void add_box(pv_text *to, const pv_plan *plan, const double box[4], double least)
{
    double top = plan->art.size.y, x = box[0], y = top - box[3];
    double w = fmax(box[2] - box[0], least), h = fmax(box[3] - box[1], least);
    pv_svg_rect(to, "", (pv_box){{x, y}, {x + w, y + h}});
}

/* The mat, the sheets to print again in colour with their names, and where it looks different. */
static char *draw(const pv_plan *plan, const pv_comparison *c, const char *words)
{
    pv_text to = PV_TEXT_INIT;
    pv_vec size = plan->art.size;
    double room = 0.004 * fmax(size.x, size.y);
    pv_svg_open(&to, "map light", pv_box_grow((pv_box){{0, 0}, size}, room));
    pv_text_add(&to, " role=\"img\" aria-label=\"");
    pv_html_text(&to, words);
    pv_text_add(&to, "\"><image href=\"mat.svg\"");
    pv_svg_attribute(&to, "width", size.x);
    pv_svg_attribute(&to, "height", size.y);
    pv_text_add(&to, "/>");
    for (int again = 0; again < 2; again++) {
        pv_text_add(&to, again ? "<g class=\"here\">" : "<g>");
        for (size_t i = 0; i < plan->n_sheets; i++) {
            pv_box cell = plan->sheets[i].cell;
            if ((pv_comparison_sheet(c, i)->again != PV_AGAIN_NOT) != again)
                continue;
            add_box(&to, plan, (const double[4]){cell.lo.x, cell.lo.y, cell.hi.x, cell.hi.y}, 0);
            if (!again)
                continue;
            double text = 0.24 * fmin(cell.hi.x - cell.lo.x, cell.hi.y - cell.lo.y);
            pv_vec middle = pv_box_middle(cell);
            pv_svg_text(&to, "", "middle", pv_v(middle.x, size.y - middle.y + 0.36 * text), text);
            pv_html_text(&to, plan->sheets[i].name);
            pv_text_add(&to, "</text>");
        }
        pv_text_add(&to, "</g>");
    }
    const pv_changed_part *part;
    pv_text_add(&to, "<g class=\"changed\">");
    for (size_t i = 0; (part = pv_comparison_part(c, i)) != NULL; i++)
        add_box(&to, plan, part->box, room);
    pv_text_add(&to, "</g></svg>");
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

static bool keep_names(pv_laid_again *again, const pv_comparison *c)
{
    pv_text gone = PV_TEXT_INIT;
    pv_text_add(&gone, "%s", "");
    for (size_t i = 0; pv_comparison_gone(c, i) != NULL; i++)
        pv_text_add(&gone, "%s%s", i > 0 ? ", " : "", pv_comparison_gone(c, i));
    again->gone = pv_text_take(&gone);
    pv_text names = PV_TEXT_INIT;
    pv_text_add(&names, "%s", "");
    for (const char *from = pv_comparison_range(c); from != NULL && *from != '\0'; from++)
        pv_text_add(&names, *from == ',' ? ", " : "%c", *from);
    again->names = pv_text_take(&names);
    return again->gone != NULL && again->names != NULL;
}

/* The mat's changes are the same on each paper. */
static bool keep_changes(pv_kit *kit, const pv_plan *older, const pv_comparison *c)
{
    const pv_change_info *change;
    if (kit->was_edition != NULL)
        return true;
    kit->was_edition = pv_copy_text(older->art.edition);
    kit->changes = PV_NEW_ARRAY(LIST_MOST, char *);
    if (kit->was_edition == NULL || kit->changes == NULL)
        return false;
    for (size_t i = 0; (change = pv_comparison_change(c, i)) != NULL; i++) {
        if (kit->n_changes == LIST_MOST) {
            kit->changes_left++;
            continue;
        }
        kit->changes[kit->n_changes] = pv_copy_text(change->words);
        if (kit->changes[kit->n_changes++] == NULL)
            return false;
    }
    return true;
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
    bool good = again->map != NULL && keep_names(again, c) && keep_changes(m->kit, older, c);
    if (!good)
        pv_fail_memory(m->diags);
    if (good && again->n > 0 && again->n < plan->n_sheets) {
        again_set set = {m, again, laid->id};
        pv_pdf_options options = pv_pdf_defaults();
        options.type = m->type;
        options.range = pv_comparison_range(c);
        good = pv_sheets_pdf(plan, &options, take_pdf, &set, m->diags);
    }
    pv_comparison_free(c);
    return good;
}

void pv_kit_again_clear(pv_laid_again *again)
{
    free(again->names);
    free(again->gone);
    free(again->map);
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

static void add_paper(pv_kit_page *page, const pv_laid *laid)
{
    const pv_laid_again *again = &laid->again;
    const pv_language *l = page->m->o.language;
    pv_json_open(&page->data, '{');
    pv_web_paper(page, laid);
    pv_data_bool(&page->data, "compared", again->compared);
    pv_data_bool(&page->data, "none", again->compared && again->n == 0);
    pv_data_bool(&page->data, "all", again->compared && again->n == laid->told.sheets);
    pv_data_bool(&page->data, "some", again->n > 0 && again->n < laid->told.sheets);
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
    pv_kit_page page;
    pv_web_begin(&page, m, "changes.html", pv_say(m->o.language, "What has changed"));
    pv_data_text(&page.data, "was", kit->was_edition);
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
    pv_data_open(&page.data, "papers", '[');
    for (size_t i = 0; i < kit->n_papers; i++)
        add_paper(&page, &kit->papers[i]);
    pv_json_close(&page.data, ']');
    return pv_web_end(&page, "kit_changes");
}
