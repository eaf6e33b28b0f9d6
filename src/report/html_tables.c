/* Every number of one image, in tables: those of values walk over the kinds. */
#include "report/html.h"

#include <math.h>
#include <string.h>

#define HEADS_MAX (PV_PARTS + 12)

/* ---- cells ---- */

static void cell_number(pv_text *to, double value, int decimals, bool known)
{
    pv_text_add(to, "<td>");
    if (known)
        pv_html_number(to, value, decimals);
    else
        pv_text_add(to, PV_HTML_DASH);
    pv_text_add(to, "</td>");
}

static void cell_length(pv_text *to, const pv_inspection *in, double mm, int decimals)
{
    bool inches = in->sheet.inches;
    cell_number(to, inches ? mm / PV_MM_PER_IN : mm, decimals + inches, true);
}

static void cell_text(pv_text *to, const char *tag, const char *text)
{
    pv_text_add(to, "<%s>", tag);
    pv_html_text(to, text);
    pv_text_add(to, "</%.2s>", tag);
}

static void cell_place(pv_text *to, double x, double y)
{
    pv_text_add(to, "<td>");
    pv_html_number(to, x, 1);
    pv_text_add(to, ", ");
    pv_html_number(to, y, 1);
    pv_text_add(to, "</td>");
}

/* In per cent. */
static void cell_probability(pv_text *to, const pv_value *value)
{
    double percent = 100 * value->probability;
    pv_text_add(to, "<td>");
    if (!value->measured || !isfinite(percent))
        pv_text_add(to, PV_HTML_DASH);
    else if (percent > 99.99)
        pv_text_add(to, "&gt; 99.99");
    else if (percent < 0.01)
        pv_text_add(to, "&lt; 0.01");
    else
        pv_html_number(to, percent, 2);
    pv_text_add(to, "</td>");
}

#define VALUE_HEADS                                                                                \
    "printed", "<i>U</i>", "<i>k</i>", "off", "allowed", "in its tolerance", "within, %", "|verdict"

/* Value, U, k, deviation, tolerance, picture, probability, verdict. */
static void cells_of_value(pv_text *to, const pv_value *value)
{
    const pv_kind_info shown = pv_value_shown(value), *kind = &shown;
    bool known = value->measured;
    cell_number(to, kind->factor * value->value, kind->decimals, known);
    pv_text_add(to, "<td>");
    if (known)
        pv_html_uncertainty(to, kind->factor * value->U, kind->decimals);
    else
        pv_text_add(to, PV_HTML_DASH);
    pv_text_add(to, "</td>");
    cell_number(to, value->k, 2, known);
    pv_text_add(to, "<td>");
    if (known)
        pv_html_signed(to, kind->factor * (value->value - value->nominal), kind->decimals);
    else
        pv_text_add(to, PV_HTML_DASH);
    pv_text_add(to, "</td><td>");
    pv_html_uncertainty(to, kind->factor * value->tolerance, kind->decimals);
    pv_text_add(to, "</td><td>");
    pv_html_gauge(to, value);
    pv_text_add(to, "</td>");
    cell_probability(to, value);
    pv_text_add(to, "<td class=\"t\">");
    pv_html_badge(to, value->verdict);
    pv_text_add(to, "</td>");
}

/* A value that isn't judged, with how many of it there are, or what the course asks for. */
static void cell_of_value(pv_text *to, const pv_value *value)
{
    const pv_kind_info shown = pv_value_shown(value), *kind = &shown;
    if (!value->measured) {
        pv_text_add(to, "<td>" PV_HTML_DASH "</td>");
        return;
    }
    pv_text_add(to, "<td>");
    if (kind->count_key != NULL)
        pv_text_add(to, "%zu \xC3\x97, ", value->places);
    pv_html_number(to, kind->factor * value->value, kind->decimals);
    if (kind->count_key != NULL)
        pv_text_add(to, " %s", kind->unit);
    if (kind->nominal_key != NULL) {
        pv_text_add(to, " of ");
        pv_html_number(to, kind->factor * value->nominal, kind->decimals);
    }
    pv_text_add(to, "</td>");
}

/* ---- judged values ---- */

static void table_of_sheet(pv_text *to, const pv_inspection *in)
{
    static const char *const heads[] = {"|whole sheet", "|unit", VALUE_HEADS, NULL};
    pv_html_table_start(to, "Scale and skew", heads);
    for (size_t i = 0; i < in->table.n_values; i++) {
        const pv_value *value = &in->table.values[i];
        const pv_kind_info *kind = pv_kind_of(value->kind);
        if (kind->of != PV_OF_SHEET || !kind->judged)
            continue;
        pv_text_add(to, "<tr><th scope=\"row\">%s %s</th><td class=\"t\">%s</td>", kind->name,
                    value->name, kind->unit);
        cells_of_value(to, value);
        pv_text_add(to, "</tr>\n");
    }
    pv_html_table_end(to);
}

static void table_of_widths(pv_text *to, const pv_html_sheet *sheet)
{
    static const char *const heads[] = {"no.",      "|line",  "planned", VALUE_HEADS,
                                        "along it", "places", NULL};
    const pv_inspection *in = sheet->in;
    double range = pv_html_widths_range(in);
    if (in->table.n_lines == 0)
        return;
    pv_html_table_start(to, in->sheet.inches ? "Widths of lines, in" : "Widths of lines, mm",
                        heads);
    for (size_t i = 0; i < in->table.n_lines; i++) {
        const pv_line_result *line = &in->table.lines[sheet->ranking.lines[i]];
        pv_text_add(to, "<tr><td>%zu</td>", i + 1);
        cell_text(to, "th scope=\"row\"", line->id);
        cell_length(to, in, line->nominal, 3);
        if (line->planned == 0) {
            pv_text_add(to, "<td class=\"t\" colspan=\"10\">not judged: %s</td></tr>\n",
                        line->too_thin ? "too thin for this image"
                                       : "its two edges are never both clear on this sheet");
            continue;
        }
        cells_of_value(to, pv_inspection_find(in, PV_KIND_WIDTH, sheet->ranking.lines[i]));
        pv_text_add(to, "<td>");
        pv_html_spark(to, in, line, range);
        pv_text_add(to, "</td><td>%zu of %zu</td></tr>\n", line->stations, line->planned);
    }
    pv_html_table_end(to);
    if (range > 0) {
        pv_text_add(to, "<p class=\"m\">Along it: width minus planned width, from the "
                        "line\xE2\x80\x99s start to its end; full height is ");
        pv_html_uncertainty(to, range, 3);
        pv_text_add(to, " mm for all.</p>\n");
    }
}

/* With the unit in its heading. */
static void start_of_kind(pv_text *to, const pv_value *value, const char *const *heads)
{
    const pv_kind_info kind = pv_value_shown(value);
    pv_text heading = PV_TEXT_INIT;
    pv_text_add(&heading, "%s, %s", kind.heading, kind.unit);
    pv_html_table_start(to, heading.chars != NULL ? heading.chars : "", heads);
    to->failed = to->failed || heading.failed;
    pv_text_drop(&heading);
}

/* Judged values of lines, besides their widths. */
static void table_of_lines(pv_text *to, const pv_html_sheet *sheet, pv_value_kind kind)
{
    static const char *const heads[] = {"no.", "|line", VALUE_HEADS, NULL};
    const pv_inspection *in = sheet->in;
    bool begun = false;
    for (size_t i = 0; i < in->table.n_lines; i++) {
        const pv_value *value = pv_inspection_find(in, kind, sheet->ranking.lines[i]);
        if (value == NULL || !value->measured)
            continue;
        if (!begun)
            start_of_kind(to, value, heads);
        begun = true;
        pv_text_add(to, "<tr><td>%zu</td>", i + 1);
        cell_text(to, "th scope=\"row\"", value->name);
        cells_of_value(to, value);
        pv_text_add(to, "</tr>\n");
    }
    if (begun)
        pv_html_table_end(to);
}

static void table_of_spacings(pv_text *to, const pv_html_sheet *sheet)
{
    static const char *const heads[] = {"|from", "|to", "planned", VALUE_HEADS, NULL};
    if (sheet->ranking.n_spacings == 0)
        return;
    bool inches = sheet->in->sheet.inches;
    pv_html_table_start(
        to, inches ? "Spacings between centre lines, in" : "Spacings between centre lines, mm",
        heads);
    for (size_t i = 0; i < sheet->ranking.n_spacings; i++) {
        const pv_value *value = sheet->ranking.spacings[i];
        pv_text_add(to, "<tr>");
        cell_text(to, "th scope=\"row\"", value->name);
        cell_text(to, "th scope=\"row\"", value->to);
        cell_length(to, sheet->in, value->nominal, 3);
        cells_of_value(to, value);
        pv_text_add(to, "</tr>\n");
    }
    pv_html_table_end(to);
}

/* ---- values that nobody judges: of lines, of areas ---- */

/* Heads of all such kinds of one group, after those that are there: "raggedness, mm". `words` keeps
 * them. */
static size_t unjudged_heads(const pv_inspection *in, pv_value_of of, const char **heads, size_t n,
                             pv_text *words)
{
    size_t first[PV_KINDS], m = 0;
    for (int i = 0; i < PV_KINDS; i++) {
        const pv_kind_info *kind = pv_kind_of((pv_value_kind)i);
        if (kind->of != of || kind->judged)
            continue;
        first[m++] = words->length;
        if (kind->count_key != NULL)
            pv_text_add(words, "%s", kind->name);
        else
            pv_text_add(words, "%s, %s", kind->name,
                        kind->of == PV_OF_LINE && in->sheet.inches && strcmp(kind->unit, "mm") == 0
                            ? "in"
                            : kind->unit);
        pv_text_bytes(words, "", 1); /* the head's own end */
    }
    for (size_t i = 0; i < m; i++)
        heads[n + i] = words->failed ? "" : words->chars + first[i];
    return n + m;
}

static void unjudged_cells(pv_text *to, const pv_inspection *in, pv_value_of of, size_t subject)
{
    for (int i = 0; i < PV_KINDS; i++) {
        const pv_kind_info *kind = pv_kind_of((pv_value_kind)i);
        if (kind->of != of || kind->judged)
            continue;
        const pv_value *value = pv_inspection_find(in, (pv_value_kind)i, subject);
        if (value != NULL)
            cell_of_value(to, value);
        else
            cell_number(to, 0, 0, false);
    }
}

static void table_of_shape(pv_text *to, const pv_html_sheet *sheet)
{
    const char *heads[HEADS_MAX] = {"no.", "|line"};
    pv_text words = PV_TEXT_INIT;
    size_t n = unjudged_heads(sheet->in, PV_OF_LINE, heads, 2, &words);
    const pv_inspection *in = sheet->in;
    bool begun = false;
    heads[n++] = "|fair";
    heads[n] = NULL;
    for (size_t i = 0; i < in->table.n_lines; i++) {
        const pv_line_result *line = &in->table.lines[sheet->ranking.lines[i]];
        if (!(line->looked > 0))
            continue;
        if (!begun)
            pv_html_table_start(to, "Shape of lines", heads);
        begun = true;
        pv_text_add(to, "<tr><td>%zu</td>", i + 1);
        cell_text(to, "th scope=\"row\"", line->id);
        unjudged_cells(to, in, PV_OF_LINE, sheet->ranking.lines[i]);
        pv_text_add(to, "<td class=\"t\">%s</td></tr>\n",
                    line->fair   ? "yes"
                    : line->gray ? "<b>no, printed grey</b>"
                                 : "<b>no, see the notes</b>");
    }
    if (begun)
        pv_html_table_end(to);
    to->failed = to->failed || words.failed;
    pv_text_drop(&words);
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

static void table_of_fills(pv_text *to, const pv_inspection *in)
{
    const char *heads[HEADS_MAX] = {"|colour", "at x, y, mm", "area inspected, mm\xC2\xB2",
                                    "planned light, r/g/b %", "printed light, r/g/b %"};
    pv_text words = PV_TEXT_INIT;
    size_t n = unjudged_heads(in, PV_OF_AREA, heads, 5, &words);
    heads[n++] = "|fair";
    heads[n] = NULL;
    if (in->table.n_fills > 0)
        pv_html_table_start(to, "Areas of colour", heads);
    for (size_t i = 0; i < in->table.n_fills; i++) {
        const pv_fill_result *fill = &in->table.fills[i];
        pv_text_add(to, "<tr>");
        cell_text(to, "th scope=\"row\"", fill->colour);
        cell_place(to, fill->x, fill->y);
        cell_number(to, fill->area, 0, true);
        cell_colour(to, fill->nominal);
        cell_colour(to, fill->printed);
        unjudged_cells(to, in, PV_OF_AREA, i);
        pv_text_add(to, "<td class=\"t\">%s%s</td></tr>\n", fill->fair ? "yes" : "<b>no</b>",
                    fill->gray ? ", printed grey" : "");
    }
    if (in->table.n_fills > 0)
        pv_html_table_end(to);
    to->failed = to->failed || words.failed;
    pv_text_drop(&words);
}

/* Breaks and blobs, as the picture marks them. */
static void table_of_flaws(pv_text *to, const pv_inspection *in)
{
    static const char *const heads[] = {"|what",      "|line",     "at x, y, mm",
                                        "length, mm", "reach, mm", NULL};
    if (in->table.n_flaws == 0)
        return;
    pv_html_table_start(to, "Breaks and blobs in lines", heads);
    for (size_t i = 0; i < in->table.n_flaws; i++) {
        const pv_flaw *flaw = &in->table.flaws[i];
        pv_text_add(to, "<tr><th scope=\"row\">%s</th>", flaw->blob ? "blob" : "break");
        cell_text(to, "td class=\"t\"", in->table.lines[flaw->line].id);
        cell_place(to, flaw->x, flaw->y);
        cell_number(to, flaw->length, 2, true);
        cell_number(to, flaw->reach, 2, true);
        pv_text_add(to, "</tr>\n");
    }
    pv_html_table_end(to);
}

/* Numbered as the picture has them. */
static void table_of_marks(pv_text *to, const pv_inspection *in)
{
    static const char *const heads[] = {"|mark",    "|what",       "at x, y, mm", "long, mm",
                                        "wide, mm", "contrast, %", "|on",         "over a spot, %",
                                        "<i>U</i>", "allowed",     "|verdict",    NULL};
    if (in->table.n_marks == 0)
        return;
    pv_html_table_start(to, "On the surface, but not in the course", heads);
    for (size_t i = 0; i < in->table.n_marks; i++) {
        const pv_mark *mark = &in->table.marks[i];
        pv_text_add(to, "<tr><th scope=\"row\">%c%zu</th>", PV_HTML_MARK, i + 1);
        cell_text(to, "td class=\"t\"", pv_mark_kind_name(mark->kind));
        cell_place(to, mark->x, mark->y);
        cell_number(to, mark->length, 1, true);
        cell_number(to, mark->width, 1, true);
        cell_number(to, 100 * mark->contrast, 0, true);
        cell_text(to, "td class=\"t\"", mark->line != NULL ? mark->line : mark->colour);
        cell_number(to, 100 * mark->off, 0, true);
        cell_number(to, 100 * mark->U, 0, true);
        cell_number(to, 100 * mark->tolerance, 0, true);
        pv_text_add(to, "<td class=\"t\">");
        pv_html_badge(to, mark->verdict);
        pv_text_add(to, "</td></tr>\n");
    }
    pv_html_table_end(to);
}

/* ---- references and the image ---- */

static void table_of_references(pv_text *to, const pv_inspection *in)
{
    static const char *const heads[] = {
        "|reference", "scale x, %", "<i>U</i>, %",    "weight, %", "scale y, %", "<i>U</i>, %",
        "weight, %",  "skew, mrad", "<i>U</i>, mrad", "|agrees",   NULL};
    if (in->n_references == 0)
        return;
    pv_html_table_start(to, "Length references", heads);
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
    pv_html_table_end(to);
}

static void table_of_image(pv_text *to, const pv_inspection *in)
{
    static const char *const heads[] = {"|of the image", "value", "|unit", NULL};
    const pv_inspected *sheet = &in->sheet;
    const double *stated = sheet->resolution, *shown = sheet->measured_resolution;
    const pv_value *ink = pv_inspection_find(in, PV_KIND_INK, 0);
    bool inked = ink != NULL && ink->measured;
    const struct {
        const char *name;
        double value;
        int decimals;
        bool known;
        const char *unit;
    } rows[] = {{"stated resolution x", stated[0] * PV_MM_PER_IN, 2, stated[0] > 0, "dpi"},
                {"stated resolution y", stated[1] * PV_MM_PER_IN, 2, stated[1] > 0, "dpi"},
                {"resolution from the print x", shown[0] * PV_MM_PER_IN, 2, shown[0] > 0,
                 "px per nominal inch"},
                {"resolution from the print y", shown[1] * PV_MM_PER_IN, 2, shown[1] > 0,
                 "px per nominal inch"},
                {"turned by", sheet->turn, 2, true, "degrees counter-clockwise"},
                {"residual of the map, RMS", sheet->residual, 3, true, "px"},
                {"unevenness, RMS over 20 mm", sheet->uneven, 3, sheet->uneven > 0, "mm"},
                {"ink spread at each edge", inked ? ink->value : 0, 4, inked, "mm"},
                {"<i>U</i> of the ink spread", inked ? ink->U : 0, 4, inked, "mm"},
                {"lens, at the corner", 100 * sheet->lens, 2, sheet->lens != 0, "%"},
                {"reference good to", 100 * sheet->reference_U_rel, 3,
                 sheet->reference != PV_REFERENCE_NONE, "%, <i>k</i> = 2"}};
    pv_text_add(to, "<div class=\"narrow\">");
    pv_html_table_start(to, "The image", heads);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        pv_text_add(to, "<tr><th scope=\"row\">%s</th>", rows[i].name);
        cell_number(to, rows[i].value, rows[i].decimals, rows[i].known);
        pv_text_add(to, "<td class=\"t\">%s</td></tr>\n", rows[i].unit);
    }
    pv_html_table_end(to);
    pv_text_add(to, "</div>\n");
}

/* ---- budgets ---- */

static void part_cell(pv_text *to, const pv_value *value, int part, bool bar)
{
    const pv_kind_info shown = pv_value_shown(value), *kind = &shown;
    double own = value->part[part], share = value->u > 0 ? own * own / (value->u * value->u) : 0;
    if (bar && !(own > 0)) {
        pv_text_add(to, "<td>0</td>");
        return;
    }
    pv_text_add(to, "<td>");
    pv_html_number(to, kind->factor * own, kind->decimals + 1);
    if (bar) {
        pv_text_add(to, "<svg class=\"w\" viewBox=\"0 0 40 4\" aria-hidden=\"true\"><path d=\"M0 "
                        "0h40v4h-40Z\"/><path d=\"M0 0h");
        pv_svg_number(to, 40 * fmin(share, 1));
        pv_text_add(to, "v4H0Z\"/></svg>");
    }
    pv_text_add(to, "</td>");
}

/* `what` comes after the kind's name: "", ", least U:". */
static void budget_row(pv_text *to, const pv_value *value, const char *what, bool bars)
{
    const pv_kind_info shown = pv_value_shown(value), *kind = &shown;
    int decimals = kind->decimals + 1;
    if (!value->measured)
        return;
    pv_text_add(to, "<tr><th scope=\"row\">%s%s ", kind->name, what);
    pv_html_name(to, value);
    pv_text_add(to, "</th><td class=\"t\">%s</td>", kind->unit);
    for (int part = 0; part < PV_PARTS; part++)
        part_cell(to, value, part, bars);
    pv_text_add(to, "<td><b>");
    pv_html_number(to, kind->factor * value->u, decimals);
    pv_text_add(to, "</b></td><td>");
    if (isfinite(value->freedom) && value->freedom < 1e4)
        pv_html_number(to, value->freedom, 0);
    else
        pv_text_add(to, "many");
    pv_text_add(to, "</td><td>");
    pv_html_number(to, value->k, 2);
    pv_text_add(to, "</td><td><b>");
    pv_html_number(to, kind->factor * value->U, decimals);
    pv_text_add(to, "</b></td></tr>\n");
}

static void budget_start(pv_text *to, const char *caption)
{
    const char *heads[HEADS_MAX];
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
    pv_html_table_start(to, caption, heads);
}

static bool has_budget(const pv_kind_info *kind)
{
    return kind->judged || kind->of == PV_OF_SHEET;
}

/* Those that stand for their kind: all of the sheet; of others the least and the largest U. */
static void typical_rows(pv_text *to, const pv_inspection *in, pv_value_kind kind)
{
    const pv_value *least = NULL, *most = NULL;
    for (size_t i = 0; i < in->table.n_values; i++) {
        const pv_value *value = &in->table.values[i];
        if (value->kind != kind || !value->measured)
            continue;
        if (pv_kind_of(kind)->of == PV_OF_SHEET) {
            budget_row(to, value, "", true);
            continue;
        }
        least = least == NULL || value->U < least->U ? value : least;
        most = most == NULL || value->U > most->U ? value : most;
    }
    if (most != NULL && least != most)
        budget_row(to, least, ", least <i>U</i>:", true);
    if (most != NULL)
        budget_row(to, most, ", largest <i>U</i>:", true);
}

static void every_row(pv_text *to, const pv_html_sheet *sheet, pv_value_kind kind)
{
    const pv_inspection *in = sheet->in;
    pv_value_of of = pv_kind_of(kind)->of;
    for (size_t i = 0; of == PV_OF_LINE && i < in->table.n_lines; i++)
        budget_row(to, pv_inspection_find(in, kind, sheet->ranking.lines[i]), "", false);
    for (size_t i = 0; of == PV_OF_LINES && i < sheet->ranking.n_spacings; i++)
        budget_row(to, sheet->ranking.spacings[i], "", false);
    for (size_t i = 0; of == PV_OF_SHEET && i < in->table.n_values; i++)
        if (in->table.values[i].kind == kind)
            budget_row(to, &in->table.values[i], "", false);
}

static void budgets(pv_text *to, const pv_html_sheet *sheet)
{
    pv_text_add(to,
                "<h3>Uncertainty budget</h3>\n<p class=\"m\">Where each value\xE2\x80\x99s "
                "uncertainty comes from, as standard uncertainties; <i>u</i> is the root of the "
                "sum of their squares, and \xC2\xB1<i>U</i>, <i>U</i> = <i>k</i> <i>u</i>, holds "
                "the true value with a probability of 95.45 %% (JCGM 100:2008). Bars: share of "
                "<i>u</i>\xC2\xB2. <i>\xCE\xBD</i>: effective degrees of freedom.</p>\n");
    budget_start(to, "Typical budgets, one of each kind");
    for (int kind = 0; kind < PV_KINDS; kind++)
        if (has_budget(pv_kind_of((pv_value_kind)kind)))
            typical_rows(to, sheet->in, (pv_value_kind)kind);
    pv_html_table_end(to);
    pv_text_add(to, "<details open><summary>Every value\xE2\x80\x99s budget</summary>\n");
    budget_start(to, "Uncertainty of every value by its parts");
    for (int kind = 0; kind < PV_KINDS; kind++)
        if (has_budget(pv_kind_of((pv_value_kind)kind)))
            every_row(to, sheet, (pv_value_kind)kind);
    pv_html_table_end(to);
    pv_text_add(to, "</details>\n");
}

void pv_html_tables(pv_text *to, const pv_html_sheet *sheet)
{
    const pv_inspection *in = sheet->in;
    pv_text_add(to, "<h3>All numbers</h3>\n");
    table_of_sheet(to, in);
    table_of_widths(to, sheet);
    for (int i = 0; i < PV_KINDS; i++) {
        const pv_kind_info *kind = pv_kind_of((pv_value_kind)i);
        if (kind->of == PV_OF_LINE && kind->judged && i != PV_KIND_WIDTH)
            table_of_lines(to, sheet, (pv_value_kind)i);
    }
    table_of_spacings(to, sheet);
    table_of_shape(to, sheet);
    table_of_flaws(to, in);
    table_of_marks(to, in);
    table_of_fills(to, in);
    table_of_references(to, in);
    table_of_image(to, in);
    budgets(to, sheet);
}
