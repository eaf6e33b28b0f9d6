/* A paper's own pages: what to print and to have, and one short page a sheet. */
#include "base/memory.h"
#include "guide/say.h"
#include "guide/tools.h"
#include "kit/page.h"
#include "page/page.h"
#include "paper/roll.h"
#include "po/po.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Sheets that a picture of all of them has: of more it would be a grey patch, and large. */
#define MAP_MOST 2000

static void add_pdfs(pv_kit_page *page, const pv_laid_pdfs *pdfs, bool one)
{
    const pv_language *l = page->m->o.language;
    pv_data_open(&page->data, "pdfs", '[');
    for (size_t i = 0; i < pdfs->n; i++) {
        const pv_laid_pdf *pdf = &pdfs->items[i];
        pv_json_open(&page->data, '{');
        pv_data_text(&page->data, "file", strchr(pdf->name, '/') + 1);
        if (pdfs->n == 1)
            pv_data_text(&page->data, "label",
                         one ? pv_say(l, "Mat (PDF)") : pv_say(l, "Sheets (PDF)"));
        else
            pv_data_words(&page->data, "label", pv_say(l, "Sheets, part %zu of %zu (PDF)"), i + 1,
                          pdfs->n);
        pv_json_close(&page->data, '}');
    }
    pv_json_close(&page->data, ']');
}

/* Which pages are the sheets, where the guide comes before them in the same file. */
static void add_pages(pv_kit_page *page, const pv_laid *laid, const pv_laid_pdfs *pdfs)
{
    if (pdfs->n != 1 || laid->guide_pages == 0) {
        pv_data_bool(&page->data, "pages_words", false);
        return;
    }
    pv_data_words(&page->data, "pages_words",
                  pv_say(page->m->o.language,
                         "Pages %zu to %zu are the sheets, from A1 on. The first %zu are the "
                         "taping guide; you can also read it on a screen."),
                  laid->guide_pages + 1, pdfs->items[0].pages, laid->guide_pages);
}

/* What a copy shop is asked for: those pages alone. */
static void add_ask(pv_kit_page *page, const pv_laid *laid, const pv_laid_pdfs *pdfs)
{
    const pv_language *l = page->m->o.language;
    size_t guide = laid->guide_pages, last = pdfs->n == 1 ? pdfs->items[0].pages : 0;
    if (guide == 0)
        pv_data_text(&page->data, "ask", pv_say(l, "Please print this PDF."));
    else if (pdfs->n > 1)
        pv_data_words(&page->data, "ask",
                      pv_say(l, "Please print these PDFs, but not the first %zu pages of the first "
                                "one."),
                      guide);
    else if (last == guide + 1)
        pv_data_words(&page->data, "ask", pv_say(l, "Please print only page %zu of this PDF."),
                      last);
    else
        pv_data_words(&page->data, "ask",
                      pv_say(l, "Please print only pages %zu to %zu of this PDF."), guide + 1,
                      last);
}

/* ---- what one needs ---- */

static void add_paper_need(pv_kit_page *page, const pv_plan *plan, const pv_laid *laid)
{
    const pv_language *l = page->m->o.language;
    size_t n = plan->n_sheets, spare = (size_t)ceil(PV_SPARE * (double)n);
    if (laid->told.roll > 0) {
        double along = (double)n * pv_roll_along(plan->paper, plan->page);
        pv_data_words(&page->data, "paper_need", pv_say(l, "%s of the roll"),
                      pv_kit_page_metres(page, along / 1000, 2).chars);
        return;
    }
    pv_text text = PV_TEXT_INIT;
    pv_text_add(&text, pv_say(l, "%zu sheets: %zu for the mat, %zu to spare"),
                n + spare + laid->guide_pages + laid->proof, n, spare);
    if (laid->guide_pages > 0)
        pv_text_add(&text, pv_say(l, ", %zu for the printed guide"), laid->guide_pages);
    if (laid->proof)
        pv_text_add(&text, "%s", pv_say(l, ", 1 for the proof page"));
    pv_data_take(&page->data, "paper_need", &text);
}

/* For what is cut, taped and measured on these sheets and on the proof page. */
static void add_tools(pv_kit_page *page, const pv_plan *plan, const pv_laid *laid)
{
    const pv_language *l = page->m->o.language;
    pv_guide_tools tools = pv_guide_tools_of(plan, laid->proof_gauge);
    pv_data_text(&page->data, "tape", pv_kit_page_metres(page, tools.seams, 0).chars);
    pv_data_text(&page->data, "tape_edge", pv_kit_page_metres(page, tools.edges, 0).chars);
    pv_data_words(&page->data, "rule",
                  tools.moved ? pv_say(l, "%s or longer; move it along for longer cuts")
                              : pv_say(l, "%s or longer"),
                  pv_kit_page_mm(page, tools.rule).chars);
    pv_data_bool(&page->data, "steel_tape", tools.steel_tape);
    pv_data_words(&page->data, "tape_measure",
                  tools.steel_tape ? pv_say(l, "%s or longer, for the print and the finished mat")
                                   : pv_say(l, "%s or longer, for the finished mat"),
                  pv_kit_page_metres(page, tools.tape / 1000, 0).chars);
}

static void add_bill(pv_kit_page *page, const pv_plan *plan, const pv_laid *laid)
{
    add_paper_need(page, plan, laid);
    pv_data_text(&page->data, "cut", pv_kit_page_metres(page, laid->takes.cut, 0).chars);
    add_tools(page, plan, laid);
}

static void add_list(pv_kit_page *page, const pv_plan *plan)
{
    char file[PV_SHEET_PAGE];
    pv_data_open(&page->data, "list", '[');
    for (size_t i = 0; i < plan->n_sheets; i++) {
        pv_sheet_page(&plan->sheets[i], file);
        pv_json_open_inline(&page->data, '{');
        pv_data_text(&page->data, "sheet", plan->sheets[i].name);
        pv_data_text(&page->data, "file", file);
        pv_json_close(&page->data, '}');
    }
    pv_json_close(&page->data, ']');
}

/* Of the page that is checked first: the proof page, or a mat in one piece. */
static void add_ruler(pv_kit_page *page, const pv_plan *plan, const pv_laid *laid)
{
    double whole[2];
    pv_kit_gauge(&plan->sheets[0], whole);
    pv_kit_page_ruler(page, laid->proof ? laid->proof_gauge : plan->n_sheets == 1 ? whole : NULL);
}

static bool put_index(pv_kit_making *m, const pv_plan *plan, const pv_laid *laid,
                      const pv_laid_pdfs *pdfs)
{
    const pv_language *l = m->o.language;
    char name[PV_KIT_NAME];
    pv_kit_page page;
    snprintf(name, sizeof name, "%s/index.html", laid->id);
    pv_kit_page_begin(&page, m, name, "%s, %s", plan->art.name, laid->paper);
    pv_kit_page_paper(&page, laid);
    add_ruler(&page, plan, laid);
    pv_data_bool(&page.data, "proof", laid->proof);
    pv_data_bool(&page.data, "guide", laid->guide);
    bool roll = laid->told.roll > 0;
    if (roll)
        pv_kit_page_length(&page, "roll", laid->told.roll);
    else
        pv_data_bool(&page.data, "roll", false);
    /* "Off" is a heading, too, of how far something is off. */
    pv_data_text(&page.data, "switched_off", pv_say_in(l, "a setting of the printer", "off"));
    add_ask(&page, laid, pdfs);
    pv_data_text(&page.data, "former", plan->n_sheets > 1 ? plan->former.chars : "");
    pv_data_text(&page.data, "print_title",
                 plan->n_sheets > 1 && !roll ? pv_say(l, "Print the sheets")
                                             : pv_say(l, "Print the mat"));
    add_pdfs(&page, pdfs, plan->n_sheets == 1);
    add_pages(&page, laid, pdfs);
    add_bill(&page, plan, laid);
    if (plan->n_sheets > MAP_MOST)
        pv_data_text(&page.data, "map_svg", "");
    else
        pv_kit_page_svg(&page, "map_svg",
                        pv_kit_map(plan, "../", SIZE_MAX, true,
                                   pv_say(l, "The mat with all its sheets and their names")));
    add_list(&page, plan);
    return pv_kit_page_end(&page, "kit_paper");
}

/* ---- a sheet ---- */

static void add_side(pv_kit_page *page, const pv_plan *plan, const pv_sheet *sheet, pv_side side)
{
    const pv_language *l = page->m->o.language;
    size_t seam = sheet->seam[side];
    pv_json_open(&page->data, '{');
    pv_data_text(&page->data, "side", pv_guide_side_word(side, l));
    if (seam == SIZE_MAX) {
        pv_data_bool(&page->data, "file", false);
        pv_data_text(&page->data, "beside", pv_say(l, "nothing: the mat's edge"));
        pv_data_text(&page->data, "do", pv_say(l, "cut along the marks"));
    } else {
        const pv_seam *s = &plan->seams[seam];
        const pv_sheet *other = &plan->sheets[s->over == sheet->number ? s->under : s->over];
        char file[PV_SHEET_PAGE];
        pv_sheet_page(other, file);
        pv_data_text(&page->data, "file", file);
        pv_data_text(&page->data, "beside", other->name);
        pv_data_words(&page->data, "do",
                      plan->joint == PV_JOINT_BUTT
                          ? pv_say(l, "cut along the marks; lay it edge to edge with %s")
                      : sheet->side[side] == PV_OVER
                          ? pv_say(l, "cut along the marks; lay it over %s")
                          : pv_say(l, "do not cut: %s lies over it"),
                      other->name);
    }
    pv_json_close(&page->data, '}');
}

/* The sheet taped before or after, or false. */
static void add_neighbour(pv_kit_page *page, const pv_plan *plan, const char *key, size_t turn)
{
    char file[PV_SHEET_PAGE];
    if (turn >= plan->n_sheets) {
        pv_data_bool(&page->data, key, false);
        return;
    }
    const pv_sheet *sheet = &plan->sheets[plan->taping[turn]];
    pv_sheet_page(sheet, file);
    pv_data_open(&page->data, key, '{');
    pv_data_text(&page->data, "file", file);
    pv_data_text(&page->data, "sheet", sheet->name);
    pv_json_close(&page->data, '}');
}

static void add_place(pv_kit_page *page, const pv_sheet *sheet)
{
    const pv_language *l = page->m->o.language;
    size_t letters = strcspn(sheet->name, "0123456789");
    pv_data_words(&page->data, "place", pv_say(l, "row %.*s, column %zu"), (int)letters,
                  sheet->name, sheet->column + 1);
    pv_box cell = sheet->cell;
    pv_data_words(&page->data, "cell", pv_say(l, "%s from the left, %s from the bottom"),
                  pv_kit_page_two(page, cell.lo.x, PV_TO, cell.hi.x).chars,
                  pv_kit_page_two(page, cell.lo.y, PV_TO, cell.hi.y).chars);
}

/* Where it stands in the PDF: pages of the guide come before the sheets. */
static void add_again(pv_kit_page *page, const pv_plan *plan, const pv_sheet *sheet,
                      const pv_laid_pdfs *pdfs)
{
    const pv_language *l = page->m->o.language;
    size_t i = 0;
    while (i + 1 < pdfs->n && sheet->number > pdfs->items[i].last)
        i++;
    const pv_laid_pdf *pdf = &pdfs->items[i];
    size_t before = pdf->pages - (pdf->last - pdf->first + 1);
    pv_data_words(&page->data, "again", pv_say(l, "This sheet is page %zu of the PDF."),
                  before + sheet->number - pdf->first + 1);
    add_pdfs(page, &(pv_laid_pdfs){(pv_laid_pdf *)pdf, 1, 1}, plan->n_sheets == 1);
}

static bool put_sheet(pv_kit_making *m, const pv_plan *plan, const pv_laid *laid,
                      const pv_laid_pdfs *pdfs, const pv_guide *guide, size_t turn)
{
    const pv_language *l = m->o.language;
    size_t index = plan->taping[turn];
    const pv_sheet *sheet = &plan->sheets[index];
    char file[PV_SHEET_PAGE], name[PV_KIT_NAME];
    pv_kit_page page;
    pv_sheet_page(sheet, file);
    snprintf(name, sizeof name, "%s/%s", laid->id, file);
    pv_kit_page_begin(&page, m, name, "%s, %s, %s", sheet->name, laid->paper, plan->art.name);
    double gauge[2];
    pv_kit_gauge(sheet, gauge);
    pv_kit_page_paper(&page, laid);
    pv_kit_page_ruler(&page, gauge);
    bool stays = laid->again.stays != NULL && laid->again.stays[index];
    pv_data_text(&page.data, "former", stays ? plan->former.chars : "");
    pv_data_text(&page.data, "sheet", sheet->name);
    pv_data_bool(&page.data, "roll", laid->told.roll > 0);
    if (plan->n_sheets > 1)
        pv_data_words(&page.data, "turn_words",
                      pv_say(l, "Number %zu of %zu in the order of taping."), turn + 1,
                      plan->n_sheets);
    else
        pv_data_text(&page.data, "turn_words", pv_say(l, "The whole mat in one piece."));
    pv_kit_page_svg(&page, "map_svg",
                    pv_kit_map(plan, "../", index, false, pv_say(l, "The mat with this sheet")));
    add_place(&page, sheet);
    pv_kit_page_step(&page, guide, turn);
    pv_data_open(&page.data, "sides", '[');
    for (pv_side side = PV_LEFT; side <= PV_TOP; side++)
        add_side(&page, plan, sheet, side);
    pv_json_close(&page.data, ']');
    add_again(&page, plan, sheet, pdfs);
    add_neighbour(&page, plan, "before", turn - 1);
    add_neighbour(&page, plan, "after", turn + 1);
    return pv_kit_page_end(&page, "kit_sheet");
}

bool pv_kit_paper_pages(pv_kit_making *m, const pv_plan *plan, const pv_laid *laid,
                        const pv_laid_pdfs *pdfs)
{
    pv_guide *guide = laid->guide ? pv_guide_make(plan, m->diags) : NULL;
    bool good = (guide != NULL) == laid->guide && put_index(m, plan, laid, pdfs) &&
                (guide == NULL || pv_kit_guide_page(m, laid, guide));
    for (size_t turn = 0; good && turn < plan->n_sheets; turn++)
        good = put_sheet(m, plan, laid, pdfs, guide, turn);
    pv_guide_free(guide);
    return good;
}
