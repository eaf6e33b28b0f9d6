/* Every number of one image, in tables. */
#include "report/html.h"

#include <math.h>

#define TICK "\xE2\x80\x93" /* where nothing was measured */

void pv_html_table_start(pv_html *page, const char *caption, const char *const *heads)
{
    pv_text_add(&page->out,
                "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"table: %s\">"
                "<table><caption><span>%s</span></caption><thead><tr>",
                caption, caption);
    for (size_t i = 0; heads[i] != NULL; i++)
        pv_text_add(&page->out, "<th scope=\"col\"%s>%s</th>",
                    heads[i][0] == '|' ? " class=\"t\"" : "", heads[i] + (heads[i][0] == '|'));
    pv_text_add(&page->out, "</tr></thead>\n<tbody>\n");
}

void pv_html_table_end(pv_html *page)
{
    pv_text_add(&page->out, "</tbody></table></div>\n");
}

/* ---- cells ---- */

static void cell_number(pv_text *to, double value, int decimals, bool known)
{
    pv_text_add(to, "<td>");
    if (known)
        pv_html_number(to, value, decimals);
    else
        pv_text_add(to, TICK);
    pv_text_add(to, "</td>");
}

static void cell_text(pv_text *to, const char *tag, const char *text)
{
    pv_text_add(to, "<%s>", tag);
    pv_html_text(to, text);
    pv_text_add(to, "</%.2s>", tag);
}

static void cell_verdict(pv_text *to, pv_verdict verdict)
{
    pv_text_add(to, "<td class=\"t\">");
    pv_html_badge(to, verdict);
    pv_text_add(to, "</td>");
}

/* In per cent. */
static void cell_probability(pv_text *to, const pv_value *value)
{
    double percent = 100 * value->probability;
    bool known = value->measured && isfinite(percent);
    pv_text_add(to, "<td>");
    if (!known)
        pv_text_add(to, TICK);
    else if (percent > 99.99)
        pv_text_add(to, "&gt; 99.99");
    else if (percent < 0.01)
        pv_text_add(to, "&lt; 0.01");
    else
        pv_html_number(to, percent, 2);
    pv_text_add(to, "</td>");
}

/* Value, U, k, deviation, tolerance, picture, probability, verdict. */
static void cells_of_value(pv_text *to, const pv_value *value, double nominal, double factor,
                           int decimals)
{
    bool known = value->measured;
    cell_number(to, factor * value->value, decimals, known);
    pv_text_add(to, "<td>");
    if (known)
        pv_html_uncertainty(to, factor * value->U, decimals);
    else
        pv_text_add(to, TICK);
    pv_text_add(to, "</td>");
    cell_number(to, value->k, 2, known);
    pv_text_add(to, "<td>");
    if (known)
        pv_html_signed(to, factor * (value->value - nominal), decimals);
    else
        pv_text_add(to, TICK);
    pv_text_add(to, "</td><td>");
    pv_html_uncertainty(to, factor * value->tolerance, decimals);
    pv_text_add(to, "</td><td>");
    pv_html_gauge(to, value, nominal);
    pv_text_add(to, "</td>");
    cell_probability(to, value);
    cell_verdict(to, value->verdict);
}

#define VALUE_HEADS                                                                                \
    "printed", "<i>U</i>", "<i>k</i>", "off", "allowed", "in its tolerance", "within, %", "|verdict"

/* ---- the sheet ---- */

static void row_of_sheet(pv_text *to, const char *name, const pv_value *value, double nominal,
                         double factor, int decimals, const char *unit)
{
    pv_text_add(to, "<tr><th scope=\"row\">%s</th><td class=\"t\">%s</td>", name, unit);
    cells_of_value(to, value, nominal, factor, decimals);
    pv_text_add(to, "</tr>\n");
}

static void table_of_sheet(pv_html *page, const pv_inspection *in)
{
    static const char *const heads[] = {"|quantity", "|unit", VALUE_HEADS, NULL};
    pv_html_table_start(page, "Scale and skew", heads);
    row_of_sheet(&page->out, "scale x", &in->scale[0], 1, 100, 3, "%");
    row_of_sheet(&page->out, "scale y", &in->scale[1], 1, 100, 3, "%");
    row_of_sheet(&page->out, "skew", &in->skew, 0, 1, 2, "mrad");
    pv_html_table_end(page);
}

/* ---- lines ---- */

static double spark_range(const pv_inspection *in)
{
    double range = 0;
    for (size_t i = 0; i < in->n_lines; i++)
        for (size_t k = 0; k < in->lines[i].stations; k++)
            if (isfinite(in->lines[i].station[k].width))
                range = fmax(range, fabs(in->lines[i].station[k].width - in->lines[i].nominal));
    return range;
}

static void table_of_widths(pv_html *page, const pv_html_sheet *sheet)
{
    static const char *const heads[] = {"no.",      "|line",  "planned", VALUE_HEADS,
                                        "along it", "places", NULL};
    const pv_inspection *in = sheet->in;
    pv_text *to = &page->out;
    double range = spark_range(in);
    if (in->n_lines == 0)
        return;
    pv_html_table_start(page, "Widths of lines, mm", heads);
    for (size_t i = 0; i < in->n_lines; i++) {
        const pv_line_result *line = &in->lines[sheet->line[i]];
        pv_text_add(to, "<tr><td>%zu</td>", i + 1);
        cell_text(to, "th scope=\"row\"", line->id);
        cell_number(to, line->nominal, 3, true);
        if (line->planned == 0) {
            pv_text_add(to, "<td class=\"t\" colspan=\"10\">%s: not judged</td></tr>\n",
                        line->too_thin ? "too thin for this picture"
                                       : "its edges stand clear nowhere on this sheet");
            continue;
        }
        cells_of_value(to, &line->width, line->nominal, 1, 3);
        pv_text_add(to, "<td>");
        pv_html_spark(to, line, range);
        pv_text_add(to, "</td><td>%zu of %zu</td></tr>\n", line->stations, line->planned);
    }
    pv_html_table_end(page);
    if (range > 0) {
        pv_text_add(to,
                    "<p class=\"m\">Along it: width less planned width, from the line\xE2\x80\x99s "
                    "start to its end; full height is ");
        pv_html_uncertainty(to, range, 3);
        pv_text_add(to, " mm for all.</p>\n");
    }
}

static void table_of_straightness(pv_html *page, const pv_html_sheet *sheet)
{
    static const char *const heads[] = {"no.", "|line", VALUE_HEADS, NULL};
    const pv_inspection *in = sheet->in;
    size_t n = 0;
    for (size_t i = 0; i < in->n_lines; i++)
        n += in->lines[i].straight.measured;
    if (n == 0)
        return;
    pv_html_table_start(page,
                        "Straightness: the largest deviation of a centre line from its own "
                        "best fit, mm",
                        heads);
    for (size_t i = 0; i < in->n_lines; i++) {
        const pv_line_result *line = &in->lines[sheet->line[i]];
        if (!line->straight.measured)
            continue;
        pv_text_add(&page->out, "<tr><td>%zu</td>", i + 1);
        cell_text(&page->out, "th scope=\"row\"", line->id);
        cells_of_value(&page->out, &line->straight, 0, 1, 3);
        pv_text_add(&page->out, "</tr>\n");
    }
    pv_html_table_end(page);
}

static void table_of_spacings(pv_html *page, const pv_html_sheet *sheet)
{
    static const char *const heads[] = {"|from", "|to", "planned", VALUE_HEADS, NULL};
    const pv_inspection *in = sheet->in;
    if (in->n_spacings == 0)
        return;
    pv_html_table_start(page, "Spacings between centre lines, mm", heads);
    for (size_t i = 0; i < in->n_spacings; i++) {
        const pv_spacing_result *one = &in->spacings[sheet->spacing[i]];
        pv_text_add(&page->out, "<tr>");
        cell_text(&page->out, "th scope=\"row\"", one->from);
        cell_text(&page->out, "th scope=\"row\"", one->to);
        cell_number(&page->out, one->nominal, 3, true);
        cells_of_value(&page->out, &one->value, one->nominal, 1, 3);
        pv_text_add(&page->out, "</tr>\n");
    }
    pv_html_table_end(page);
}

/* ---- shape and fills ---- */

static bool has_shape(const pv_shape *shape)
{
    return shape->raggedness > 0 || shape->blurriness > 0 || shape->reflectance > 0 ||
           shape->contrast > 0 || shape->breaks > 0 || shape->blobs > 0;
}

static void table_of_shape(pv_html *page, const pv_html_sheet *sheet)
{
    static const char *const heads[] = {
        "no.",         "|line",      "raggedness, mm", "blurriness, mm", "reflectance, %",
        "contrast, %", "planned, %", "interrupted",    "swollen",        "|fair",
        NULL};
    const pv_inspection *in = sheet->in;
    pv_text *to = &page->out;
    size_t n = 0;
    for (size_t i = 0; i < in->n_lines; i++)
        n += has_shape(&in->lines[i].shape);
    if (n == 0)
        return;
    pv_html_table_start(page, "Shape of lines", heads);
    for (size_t i = 0; i < in->n_lines; i++) {
        const pv_line_result *line = &in->lines[sheet->line[i]];
        const pv_shape *s = &line->shape;
        if (!has_shape(s))
            continue;
        pv_text_add(to, "<tr><td>%zu</td>", i + 1);
        cell_text(to, "th scope=\"row\"", line->id);
        cell_number(to, s->raggedness, 3, s->raggedness >= 0);
        cell_number(to, s->blurriness, 3, s->blurriness >= 0);
        cell_number(to, 100 * s->reflectance, 1, s->reflectance >= 0);
        cell_number(to, 100 * s->contrast, 1, s->contrast >= 0);
        cell_number(to, 100 * s->nominal_contrast, 1, s->contrast >= 0);
        pv_text_add(to, "<td>%zu \xC3\x97, ", s->breaks);
        pv_html_number(to, s->broken, 1);
        pv_text_add(to, " mm</td><td>%zu \xC3\x97, ", s->blobs);
        pv_html_number(to, s->blobbed, 1);
        pv_text_add(to, " mm</td><td class=\"t\">%s</td></tr>\n",
                    s->fair   ? "yes"
                    : s->gray ? "<b>no, printed gray</b>"
                              : "<b>no, see the notes</b>");
    }
    pv_html_table_end(page);
}

static void cell_colour(pv_text *to, const double light[3])
{
    pv_text_add(to, "<td>");
    for (int i = 0; i < 3; i++) {
        pv_text_add(to, "%s", i > 0 ? " / " : "");
        pv_html_number(to, 100 * light[i], 1);
    }
    pv_text_add(to, "</td>");
}

static void table_of_fills(pv_html *page, const pv_inspection *in)
{
    static const char *const heads[] = {"|colour",
                                        "at x, y, mm",
                                        "looked at, mm\xC2\xB2",
                                        "planned light, r/g/b %",
                                        "printed light, r/g/b %",
                                        "strength, %",
                                        "missing, %",
                                        "mottle, %",
                                        "|fair",
                                        NULL};
    pv_text *to = &page->out;
    if (in->n_fills == 0)
        return;
    pv_html_table_start(page, "Areas of colour", heads);
    for (size_t i = 0; i < in->n_fills; i++) {
        const pv_fill_result *fill = &in->fills[i];
        pv_text_add(to, "<tr>");
        cell_text(to, "th scope=\"row\"", fill->colour);
        pv_text_add(to, "<td>");
        pv_html_number(to, fill->x, 1);
        pv_text_add(to, ", ");
        pv_html_number(to, fill->y, 1);
        pv_text_add(to, "</td>");
        cell_number(to, fill->area, 0, true);
        cell_colour(to, fill->nominal);
        cell_colour(to, fill->printed);
        cell_number(to, 100 * fill->strength, 1, true);
        cell_number(to, 100 * fill->missing, 2, fill->missing >= 0);
        cell_number(to, 100 * fill->mottle, 2, true);
        pv_text_add(to, "<td class=\"t\">%s%s%s</td></tr>\n", fill->fair ? "yes" : "<b>no</b>",
                    fill->gray ? ", printed gray" : "", fill->weak ? ", weak" : "");
    }
    pv_html_table_end(page);
}

/* ---- references and the image ---- */

/* Breaks and blobs, as the picture marks them. */
static void table_of_flaws(pv_html *page, const pv_inspection *in)
{
    static const char *const heads[] = {"|what",      "|line",     "at x, y, mm",
                                        "length, mm", "reach, mm", NULL};
    pv_text *to = &page->out;
    if (in->n_flaws == 0)
        return;
    pv_html_table_start(page, "Breaks and blobs in lines", heads);
    for (size_t i = 0; i < in->n_flaws; i++) {
        const pv_flaw *flaw = &in->flaws[i];
        pv_text_add(to, "<tr><th scope=\"row\">%s</th>", flaw->blob ? "blob" : "break");
        cell_text(to, "td class=\"t\"", flaw->line < in->n_lines ? in->lines[flaw->line].id : "");
        pv_text_add(to, "<td>");
        pv_html_number(to, flaw->x, 1);
        pv_text_add(to, ", ");
        pv_html_number(to, flaw->y, 1);
        pv_text_add(to, "</td>");
        cell_number(to, flaw->length, 2, true);
        cell_number(to, flaw->reach, 2, true);
        pv_text_add(to, "</tr>\n");
    }
    pv_html_table_end(page);
}

static void table_of_references(pv_html *page, const pv_inspection *in)
{
    static const char *const heads[] = {
        "|reference", "scale x, %", "<i>U</i>, %",    "weight, %", "scale y, %", "<i>U</i>, %",
        "weight, %",  "skew, mrad", "<i>U</i>, mrad", "|agrees",   NULL};
    pv_text *to = &page->out;
    if (in->n_references == 0)
        return;
    pv_html_table_start(page, "References: what tells how long a millimetre is", heads);
    for (size_t i = 0; i < in->n_references; i++) {
        const pv_reference_result *one = &in->references[i];
        pv_text_add(to, "<tr>");
        cell_text(to, "th scope=\"row\"", pv_reference_name(one->kind));
        for (int k = 0; k < 2; k++) {
            bool says = one->U[k] > 0;
            cell_number(to, 100 * one->scale[k], 3, says);
            cell_number(to, 100 * one->U[k], 3, says);
            cell_number(to, 100 * one->weight[k], 1, says);
        }
        cell_number(to, one->skew, 2, one->skew_U > 0);
        cell_number(to, one->skew_U, 2, one->skew_U > 0);
        pv_text_add(to, "<td class=\"t\">%s</td></tr>\n",
                    one->disagrees ? "<b>no: it contradicts the others</b>" : "yes");
    }
    pv_html_table_end(page);
}

static void row_of_image(pv_text *to, const char *name, double value, int decimals, bool known,
                         const char *unit)
{
    pv_text_add(to, "<tr><th scope=\"row\">%s</th>", name);
    cell_number(to, value, decimals, known);
    pv_text_add(to, "<td class=\"t\">%s</td></tr>\n", unit);
}

static void table_of_image(pv_html *page, const pv_inspection *in)
{
    static const char *const heads[] = {"|of the image", "value", "|unit", NULL};
    const double *stated = in->resolution, *shown = in->measured_resolution;
    pv_text *to = &page->out;
    pv_text_add(to, "<div class=\"narrow\">");
    pv_html_table_start(page, "The image", heads);
    row_of_image(to, "stated resolution x", stated[0] * PV_MM_PER_IN, 2, stated[0] > 0, "dpi");
    row_of_image(to, "stated resolution y", stated[1] * PV_MM_PER_IN, 2, stated[1] > 0, "dpi");
    row_of_image(to, "resolution by the print x", shown[0] * PV_MM_PER_IN, 2, shown[0] > 0,
                 "px per nominal inch");
    row_of_image(to, "resolution by the print y", shown[1] * PV_MM_PER_IN, 2, shown[1] > 0,
                 "px per nominal inch");
    row_of_image(to, "turned by", in->turn, 2, true, "degrees counter-clockwise");
    row_of_image(to, "what the map leaves, RMS", in->residual, 3, true, "px");
    row_of_image(to, "unevenness, RMS over 20 mm", in->uneven, 3, in->uneven > 0, "mm");
    row_of_image(to, "spread of ink at each edge", in->ink.value, 4, in->ink.measured, "mm");
    row_of_image(to, "<i>U</i> of that", in->ink.U, 4, in->ink.measured, "mm");
    if (in->photograph)
        row_of_image(to, "lens, at the corner", 100 * in->lens, 2, in->lens != 0, "%");
    row_of_image(to, "reference good to", 100 * in->reference_U_rel, 3,
                 in->reference != PV_REFERENCE_NONE, "%, <i>k</i> = 2");
    pv_html_table_end(page);
    pv_text_add(to, "</div>\n");
}

void pv_html_tables(pv_html *page, const pv_html_sheet *sheet)
{
    const pv_inspection *in = sheet->in;
    pv_text_add(&page->out, "<h3>All numbers</h3>\n");
    table_of_sheet(page, in);
    table_of_widths(page, sheet);
    table_of_straightness(page, sheet);
    table_of_spacings(page, sheet);
    table_of_shape(page, sheet);
    table_of_flaws(page, in);
    table_of_fills(page, in);
    table_of_references(page, in);
    table_of_image(page, in);
}
