/* All images of a report in one table, and where they lie in the mat. */
#include "report/html.h"

static void overview_value(pv_text *to, const pv_value *value, double nominal, double factor,
                           int decimals, bool off)
{
    pv_text_add(to, "<td class=\"%s\">", pv_html_class(value->verdict));
    if (!value->measured)
        pv_text_add(to, "\xE2\x80\x93");
    else if (off)
        pv_html_signed(to, factor * (value->value - nominal), decimals);
    else
        pv_html_number(to, factor * value->value, decimals);
    if (value->measured)
        pv_html_gauge(to, value, nominal);
    pv_text_add(to, "</td>");
}

static bool overview_row(pv_html *page, size_t index)
{
    pv_text *to = &page->out;
    pv_html_sheet sheet = {.in = page->items[index]};
    const pv_inspection *in = sheet.in;
    pv_text_add(to, "<tr><th scope=\"row\"><a href=\"#i%zu\">", index + 1);
    pv_html_text(to, in->error != NULL ? "image" : in->sheet);
    pv_text_add(to, "</a></th><td class=\"t\">");
    pv_html_text(to, in->file);
    pv_text_add(to, "</td><td class=\"t\">");
    if (in->error != NULL) {
        pv_text_add(to, "<span class=\"b er\">");
        pv_html_sign(to, "er");
        pv_text_add(to, "can\xE2\x80\x99t be used</span></td><td class=\"t\" colspan=\"5\">");
        pv_html_text(to, in->error);
        pv_text_add(to, "</td></tr>\n");
        return true;
    }
    if (!pv_html_sheet_open(&sheet)) {
        pv_html_sheet_close(&sheet);
        return false;
    }
    pv_html_badge(to, in->verdict);
    pv_text_add(to, "</td>");
    overview_value(to, &in->scale[0], 1, 100, 3, false);
    overview_value(to, &in->scale[1], 1, 100, 3, false);
    overview_value(to, &in->skew, 0, 1, 2, false);
    pv_value none = {.verdict = PV_CONFORMS};
    const pv_line_result *line = in->n_lines > 0 ? &in->lines[sheet.line[0]] : NULL;
    const pv_spacing_result *gap = in->n_spacings > 0 ? &in->spacings[sheet.spacing[0]] : NULL;
    overview_value(to, line != NULL ? &line->width : &none, line != NULL ? line->nominal : 0, 1, 3,
                   true);
    overview_value(to, gap != NULL ? &gap->value : &none, gap != NULL ? gap->nominal : 0, 1, 3,
                   true);
    pv_text_add(to, "</tr>\n");
    pv_html_sheet_close(&sheet);
    return true;
}

bool pv_html_overview(pv_html *page)
{
    static const char *const heads[] = {"|sheet",
                                        "|image",
                                        "|verdict",
                                        "scale x, %",
                                        "scale y, %",
                                        "skew, mrad",
                                        "worst width, mm off",
                                        "worst spacing, mm off",
                                        NULL};
    pv_text_add(&page->out,
                "<section class=\"over\"><h2>Overview</h2>\n<div class=\"two\">\n<div>");
    pv_html_table_start(page, "All images of this report", heads);
    for (size_t i = 0; i < page->n; i++)
        if (!overview_row(page, i)) {
            pv_fail_memory(page->diags);
            return false;
        }
    pv_html_table_end(page);
    pv_text_add(&page->out, "</div>\n");
    pv_html_map(page);
    pv_text_add(&page->out, "</div></section>\n");
    return true;
}
