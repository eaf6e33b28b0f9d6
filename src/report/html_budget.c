/* The uncertainty budgets: a few that stand for their kind, and every value's in a list that can be
 * folded away. */
#include "report/html.h"

#include <math.h>

/* A value with the words and the unit that it is given in. */
typedef struct budget_row {
    const char *name;
    const char *of[2]; /* ids that say which one, or NULL */
    const pv_value *value;
    double factor;
    int decimals;
    const char *unit;
} budget_row;

static void part_cell(pv_text *to, const pv_value *value, int part, double factor, int decimals)
{
    double own = value->part[part], share = value->u > 0 ? own * own / (value->u * value->u) : 0;
    if (!(own > 0)) {
        pv_text_add(to, "<td>0</td>");
        return;
    }
    pv_text_add(to, "<td>");
    pv_html_number(to, factor * own, decimals);
    pv_text_add(to, "<svg class=\"w\" viewBox=\"0 0 40 4\" aria-hidden=\"true\"><path d=\"M0 0h40v4"
                    "h-40Z\"/><path d=\"M0 0h");
    pv_svg_number(to, 40 * fmin(share, 1));
    pv_text_add(to, "v4H0Z\"/></svg></td>");
}

static void add_row(pv_html *page, const budget_row *row, bool bars)
{
    pv_text *to = &page->out;
    const pv_value *value = row->value;
    if (!value->measured)
        return;
    pv_text_add(to, "<tr><th scope=\"row\">%s", row->name);
    for (int i = 0; i < 2 && row->of[i] != NULL; i++) {
        pv_text_add(to, "%s", i > 0 ? " \xE2\x80\x93 " : " ");
        pv_html_text(to, row->of[i]);
    }
    pv_text_add(to, "</th><td class=\"t\">%s</td>", row->unit);
    for (int part = 0; part < PV_PARTS; part++) {
        if (bars) {
            part_cell(to, value, part, row->factor, row->decimals);
            continue;
        }
        pv_text_add(to, "<td>");
        pv_html_number(to, row->factor * value->part[part], row->decimals);
        pv_text_add(to, "</td>");
    }
    pv_text_add(to, "<td><b>");
    pv_html_number(to, row->factor * value->u, row->decimals);
    pv_text_add(to, "</b></td><td>");
    if (isfinite(value->freedom) && value->freedom < 1e4)
        pv_html_number(to, value->freedom, 0);
    else
        pv_text_add(to, "many");
    pv_text_add(to, "</td><td>");
    pv_html_number(to, value->k, 2);
    pv_text_add(to, "</td><td><b>");
    pv_html_number(to, row->factor * value->U, row->decimals);
    pv_text_add(to, "</b></td></tr>\n");
}

static void start(pv_html *page, const char *caption)
{
    const char *heads[PV_PARTS + 7];
    size_t n = 0;
    heads[n++] = "|value";
    heads[n++] = "|unit";
    for (int part = 0; part < PV_PARTS; part++)
        heads[n++] = pv_contribution_name((pv_contribution)part);
    heads[n++] = "<i>u</i>";
    heads[n++] = "<i>\xCE\xBD</i>";
    heads[n++] = "<i>k</i>";
    heads[n++] = "<i>U</i>";
    heads[n] = NULL;
    pv_html_table_start(page, caption, heads);
}

/* ---- rows ---- */

static budget_row width_row(const pv_line_result *line, const char *name)
{
    return (budget_row){name, {line->id, NULL}, &line->width, 1, 4, "mm"};
}

static budget_row straight_row(const pv_line_result *line, const char *name)
{
    return (budget_row){name, {line->id, NULL}, &line->straight, 1, 4, "mm"};
}

static budget_row spacing_row(const pv_spacing_result *one, const char *name)
{
    return (budget_row){name, {one->from, one->to}, &one->value, 1, 4, "mm"};
}

static void sheet_rows(pv_html *page, const pv_inspection *in, bool bars)
{
    const budget_row rows[] = {
        {"scale x", {NULL, NULL}, &in->scale[0], 100, 4, "%"},
        {"scale y", {NULL, NULL}, &in->scale[1], 100, 4, "%"},
        {"skew", {NULL, NULL}, &in->skew, 1, 3, "mrad"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        add_row(page, &rows[i], bars);
}

/* The one with the largest, or the least U: *found is false where none was measured. */
static budget_row extreme(const pv_inspection *in, char kind, bool largest, bool *found)
{
    size_t n = kind == 's' ? in->n_spacings : in->n_lines;
    budget_row best = {.name = ""};
    *found = false;
    for (size_t i = 0; i < n; i++) {
        budget_row row = kind == 'w'   ? width_row(&in->lines[i], "")
                         : kind == 'b' ? straight_row(&in->lines[i], "")
                                       : spacing_row(&in->spacings[i], "");
        if (!row.value->measured)
            continue;
        if (!*found || (largest ? row.value->U > best.value->U : row.value->U < best.value->U))
            best = row;
        *found = true;
    }
    return best;
}

static void kind_rows(pv_html *page, const pv_inspection *in, char kind, const char *least,
                      const char *most)
{
    bool found;
    budget_row low = extreme(in, kind, false, &found), high = extreme(in, kind, true, &found);
    if (!found)
        return;
    low.name = least;
    high.name = most;
    if (low.value != high.value)
        add_row(page, &low, true);
    add_row(page, &high, true);
}

static void every_row(pv_html *page, const pv_html_sheet *sheet)
{
    const pv_inspection *in = sheet->in;
    sheet_rows(page, in, false);
    for (size_t i = 0; i < in->n_lines; i++) {
        budget_row row = width_row(&in->lines[sheet->line[i]], "width");
        add_row(page, &row, false);
    }
    for (size_t i = 0; i < in->n_lines; i++) {
        budget_row row = straight_row(&in->lines[sheet->line[i]], "straightness");
        add_row(page, &row, false);
    }
    for (size_t i = 0; i < in->n_spacings; i++) {
        budget_row row = spacing_row(&in->spacings[sheet->spacing[i]], "spacing");
        add_row(page, &row, false);
    }
}

void pv_html_budget(pv_html *page, const pv_html_sheet *sheet)
{
    const pv_inspection *in = sheet->in;
    pv_text_add(&page->out,
                "<h3>Uncertainty budget</h3>\n<p class=\"m\">Standard uncertainties by where they "
                "come from; <i>u</i> is the root of the sum of their squares, <i>U</i> = <i>k</i> "
                "<i>u</i> holds the true value with 95.45 %% (JCGM 100:2008). Bars: share of "
                "<i>u</i>\xC2\xB2. <i>\xCE\xBD</i>: effective degrees of freedom.</p>\n");
    start(page, "Budgets that stand for their kind");
    sheet_rows(page, in, true);
    kind_rows(page, in, 'w', "width, least <i>U</i>:", "width, largest <i>U</i>:");
    kind_rows(page, in, 'b', "straightness, least <i>U</i>:", "straightness, largest <i>U</i>:");
    kind_rows(page, in, 's', "spacing, least <i>U</i>:", "spacing, largest <i>U</i>:");
    pv_html_table_end(page);
    pv_text_add(&page->out, "<details open><summary>Every value\xE2\x80\x99s budget</summary>\n");
    start(page, "Uncertainty of every value by its parts");
    every_row(page, sheet);
    pv_html_table_end(page);
    pv_text_add(&page->out, "</details>\n");
}
