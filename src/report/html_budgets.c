/* Where each value's uncertainty comes from. */
#include "po/po.h"
#include "report/html.h"

#include <math.h>

static void part_cell(pv_html *page, const pv_value *value, int part, bool bar)
{
    const pv_kind_info shown = pv_value_shown(value), *kind = &shown;
    pv_json_writer *w = &page->data;
    double own = value->part[part], share = value->u > 0 ? own * own / (value->u * value->u) : 0;
    if (!bar) {
        pv_data_number(w, NULL, kind->factor * own, kind->decimals + 1);
        return;
    }
    if (!(own > 0)) {
        pv_data_text(w, NULL, "0");
        return;
    }
    pv_text width = PV_TEXT_INIT;
    pv_svg_number(&width, 40 * fmin(share, 1));
    pv_cell_start(w, "bar");
    pv_data_number(w, "text", kind->factor * own, kind->decimals + 1);
    pv_data_take(w, "share", &width);
    pv_cell_end(w);
}

static void strong_cell(pv_html *page, double value, int decimals)
{
    pv_text text = PV_TEXT_INIT;
    pv_html_number(&text, value, decimals);
    pv_cell_take(&page->data, "strong", &text);
}

/* `which` is said before the value's name: "least U: "; NULL: nothing is. */
static void budget_row(pv_html *page, const pv_value *value, const char *which, bool bars)
{
    const pv_kind_info shown = pv_value_shown(value), *kind = &shown;
    pv_json_writer *w = &page->data;
    int decimals = kind->decimals + 1;
    pv_text what = PV_TEXT_INIT;
    if (!value->measured)
        return;
    if (which != NULL)
        pv_text_add(&what, "%s", pv_say(page->language, which));
    pv_html_what(page, &what, value);
    pv_row_start(w);
    pv_cell_take(w, "th", &what);
    pv_cell_words(w, kind->unit);
    for (int part = 0; part < PV_PARTS; part++)
        part_cell(page, value, part, bars);
    strong_cell(page, kind->factor * value->u, decimals);
    if (isfinite(value->freedom))
        pv_data_number(w, NULL, value->freedom, 0);
    else
        pv_data_text(w, NULL, pv_say(page->language, "many"));
    pv_data_number(w, NULL, value->k, 2);
    strong_cell(page, kind->factor * value->U, decimals);
    pv_row_end(w);
}

static void budget_start(pv_html *page, const char *key, const char *caption)
{
    pv_head heads[PV_PARTS + 6];
    size_t n = 0;
    heads[n++] = (pv_head){PV_SAID("value"), 't'};
    heads[n++] = (pv_head){PV_SAID("unit"), 't'};
    for (int part = 0; part < PV_PARTS; part++)
        heads[n++] = (pv_head){pv_contribution_name((pv_contribution)part), 0};
    heads[n++] = (pv_head){"u", 'i'};
    heads[n++] = (pv_head){"\xCE\xBD", 'i'};
    heads[n++] = (pv_head){"k", 'i'};
    heads[n++] = (pv_head){"U", 'i'};
    pv_table_start(&page->data, key, page->language, pv_say(page->language, caption), heads, n);
}

static bool has_budget(const pv_kind_info *kind)
{
    return kind->judged || kind->of == PV_OF_SHEET;
}

/* U in units of its last decimal as shown: of what is alike by it the first is named, whatever the
 * digits behind it are on this machine. */
static double shown_U(const pv_value *value)
{
    const pv_kind_info *kind = pv_kind_of(value->kind);
    return round(kind->factor * value->U * pow(10, kind->decimals + 1));
}

/* Those that stand for their kind: all of the sheet; of others the least and the largest U. */
static void typical_rows(pv_html *page, const pv_inspection *in, pv_value_kind kind)
{
    const pv_value *least = NULL, *most = NULL;
    for (size_t i = 0; i < in->table.n_values; i++) {
        const pv_value *value = &in->table.values[i];
        if (value->kind != kind || !value->measured)
            continue;
        if (pv_kind_of(kind)->of == PV_OF_SHEET) {
            budget_row(page, value, NULL, true);
            continue;
        }
        least = least == NULL || shown_U(value) < shown_U(least) ? value : least;
        most = most == NULL || shown_U(value) > shown_U(most) ? value : most;
    }
    if (most != NULL && least != most)
        budget_row(page, least, PV_SAID("least U: "), true);
    if (most != NULL)
        budget_row(page, most, PV_SAID("largest U: "), true);
}

static void every_row(pv_html *page, const pv_html_sheet *sheet, pv_value_kind kind)
{
    const pv_inspection *in = sheet->in;
    pv_value_of of = pv_kind_of(kind)->of;
    for (size_t i = 0; of == PV_OF_LINE && i < in->table.n_lines; i++)
        budget_row(page, pv_inspection_find(in, kind, sheet->ranking.lines[i]), NULL, false);
    for (size_t i = 0; of == PV_OF_LINES && i < sheet->ranking.n_spacings; i++)
        budget_row(page, sheet->ranking.spacings[i], NULL, false);
    for (size_t i = 0; of == PV_OF_SHEET && i < in->table.n_values; i++)
        if (in->table.values[i].kind == kind)
            budget_row(page, &in->table.values[i], NULL, false);
}

void pv_html_budgets(pv_html *page, const pv_html_sheet *sheet)
{
    budget_start(page, "budget", PV_SAID("Typical budgets, one of each kind"));
    for (int kind = 0; kind < PV_KINDS; kind++)
        if (has_budget(pv_kind_of((pv_value_kind)kind)))
            typical_rows(page, sheet->in, (pv_value_kind)kind);
    pv_html_table_end(page, sheet);
    budget_start(page, "budgets", PV_SAID("Uncertainty of every value by its parts"));
    for (int kind = 0; kind < PV_KINDS; kind++)
        if (has_budget(pv_kind_of((pv_value_kind)kind)))
            every_row(page, sheet, (pv_value_kind)kind);
    pv_html_table_end(page, sheet);
}
