/* Every number of one image, in tables: those of values walk over the kinds. */
#include "po/po.h"
#include "report/html.h"

#include <math.h>
#include <string.h>

#define HEADS_MAX     (PV_KINDS + 12)
#define LENGTH(heads) (sizeof(heads) / sizeof *(heads))

/* ---- cells ---- */

static void cell_number(pv_html *page, double value, int decimals, bool known)
{
    if (known)
        pv_data_number(&page->data, NULL, value, decimals);
    else
        pv_data_text(&page->data, NULL, PV_DASH);
}

static void cell_length(pv_html *page, const pv_inspection *in, double mm, int decimals)
{
    bool inches = in->sheet.inches;
    cell_number(page, inches ? mm / PV_MM_PER_IN : mm, decimals + inches, true);
}

static void cell_said(pv_html *page, const char *english)
{
    pv_cell_words(&page->data, pv_say(page->language, english));
}

static void cell_place(pv_html *page, double x, double y)
{
    pv_text place = PV_TEXT_INIT;
    pv_html_number(&place, x, 1);
    pv_text_add(&place, ", ");
    pv_html_number(&place, y, 1);
    pv_data_take(&page->data, NULL, &place);
}

static void cell_badge(pv_html *page, pv_verdict verdict)
{
    pv_cell_start(&page->data, "badge");
    pv_html_verdict(page, verdict);
    pv_cell_end(&page->data);
}

static void cell_gauge(pv_html *page, const pv_value *value)
{
    if (!pv_html_gauged(value)) {
        pv_data_text(&page->data, NULL, PV_DASH);
        return;
    }
    pv_json_open_inline(&page->data, '{');
    pv_data_open(&page->data, "o", '{');
    pv_html_gauge(page, "gauge", value);
    pv_json_close(&page->data, '}');
    pv_json_close(&page->data, '}');
}

/* In per cent. */
static void cell_probability(pv_html *page, const pv_value *value)
{
    double percent = 100 * value->probability;
    if (!value->measured || !isfinite(percent))
        pv_data_text(&page->data, NULL, PV_DASH);
    else if (percent > 99.99)
        pv_data_text(&page->data, NULL, "> 99.99");
    else if (percent < 0.01)
        pv_data_text(&page->data, NULL, "< 0.01");
    else
        pv_data_number(&page->data, NULL, percent, 2);
}

#define VALUE_HEADS                                                                                \
    {PV_SAID("printed"), 0}, {"U", 'i'}, {"k", 'i'}, {PV_SAID("off"), 0}, {PV_SAID("allowed"), 0}, \
        {PV_SAID("in its tolerance"), 0}, {PV_SAID("within, %"), 0},                               \
    {                                                                                              \
        PV_SAID("verdict"), 't'                                                                    \
    }

/* Value, U, k, deviation, tolerance, picture, probability, verdict. */
static void cells_of_value(pv_html *page, const pv_value *value)
{
    const pv_kind_info shown = pv_value_shown(value), *kind = &shown;
    pv_json_writer *w = &page->data;
    bool known = value->measured;
    cell_number(page, kind->factor * value->value, kind->decimals, known);
    if (known)
        pv_data_uncertainty(w, NULL, kind->factor * value->U, kind->decimals);
    else
        pv_data_text(w, NULL, PV_DASH);
    cell_number(page, value->k, 2, known);
    if (known)
        pv_data_signed(w, NULL, kind->factor * (value->value - value->nominal), kind->decimals);
    else
        pv_data_text(w, NULL, PV_DASH);
    pv_data_uncertainty(w, NULL, kind->factor * value->tolerance, kind->decimals);
    cell_gauge(page, value);
    cell_probability(page, value);
    cell_badge(page, value->verdict);
}

/* A value that isn't judged, with how many of it there are, or what the course asks for. */
static void cell_of_value(pv_html *page, const pv_value *value)
{
    const pv_kind_info shown = pv_value_shown(value), *kind = &shown;
    pv_text text = PV_TEXT_INIT;
    if (!value->measured) {
        pv_data_text(&page->data, NULL, PV_DASH);
        return;
    }
    if (kind->count_key != NULL)
        pv_text_add(&text, "%zu \xC3\x97, ", value->places);
    pv_html_number(&text, kind->factor * value->value, kind->decimals);
    if (kind->count_key != NULL)
        pv_text_add(&text, " %s", kind->unit);
    if (kind->nominal_key != NULL) {
        pv_text nominal = PV_TEXT_INIT;
        pv_html_number(&nominal, kind->factor * value->nominal, kind->decimals);
        /* TRANSLATORS: a measured value of the planned one, which follows */
        pv_text_add(&text, pv_say(page->language, " of %s"),
                    nominal.chars != NULL ? nominal.chars : "");
        text.failed = text.failed || nominal.failed;
        pv_text_drop(&nominal);
    }
    pv_data_take(&page->data, NULL, &text);
}

/* ---- tables ---- */

/* One of the list "tables"; `caption` has been said. */
static void start(pv_html *page, const char *caption, const pv_head *heads, size_t n)
{
    pv_json_open_inline(&page->data, '{');
    pv_table_start(&page->data, "table", page->language, caption, heads, n);
}

static void start_said(pv_html *page, const char *english, const pv_head *heads, size_t n)
{
    start(page, pv_say(page->language, english), heads, n);
}

void pv_html_table_end(pv_html *page, const pv_html_sheet *sheet)
{
    pv_text region = PV_TEXT_INIT;
    if (page->n > 1)
        pv_text_add(&region, pv_say(page->language, "picture %zu"), sheet->number);
    pv_table_end(&page->data, region.chars);
    page->data.out.failed = page->data.out.failed || region.failed;
    pv_text_drop(&region);
}

static void end(pv_html *page, const pv_html_sheet *sheet)
{
    pv_html_table_end(page, sheet);
    pv_json_close(&page->data, '}');
}

/* ---- judged values ---- */

static void table_of_sheet(pv_html *page, const pv_html_sheet *sheet)
{
    static const pv_head heads[] = {
        {PV_SAID("whole sheet"), 't'}, {PV_SAID("unit"), 't'}, VALUE_HEADS};
    const pv_inspection *in = sheet->in;
    start_said(page, PV_SAID("Scale and skew"), heads, LENGTH(heads));
    for (size_t i = 0; i < in->table.n_values; i++) {
        const pv_value *value = &in->table.values[i];
        const pv_kind_info *kind = pv_kind_of(value->kind);
        if (kind->of != PV_OF_SHEET || !kind->judged)
            continue;
        pv_text what = PV_TEXT_INIT;
        pv_html_what(page, &what, value);
        pv_row_start(&page->data);
        pv_cell_take(&page->data, "th", &what);
        pv_cell_words(&page->data, kind->unit);
        cells_of_value(page, value);
        pv_row_end(&page->data);
    }
    end(page, sheet);
}

static void row_of_width(pv_html *page, const pv_html_sheet *sheet, size_t rank, double range)
{
    const pv_inspection *in = sheet->in;
    pv_json_writer *w = &page->data;
    const pv_line_result *line = &in->table.lines[sheet->ranking.lines[rank]];
    pv_row_start(w);
    pv_data_count(w, NULL, rank + 1);
    pv_cell_head(w, line->id);
    cell_length(page, in, line->nominal, 3);
    if (line->planned == 0) {
        pv_cell_start(w, "span");
        pv_data_count(w, "columns", 10);
        pv_data_text(w, "text",
                     line->too_thin
                         ? pv_say(page->language, "not judged: too thin for this image")
                         : pv_say(page->language,
                                  "not judged: its two edges are never both clear on this sheet"));
        pv_cell_end(w);
    } else {
        cells_of_value(page, pv_inspection_find(in, PV_KIND_WIDTH, sheet->ranking.lines[rank]));
        pv_html_spark(page, in, line, range);
        pv_data_words(w, NULL, pv_say(page->language, "%zu of %zu"), line->stations, line->planned);
    }
    pv_row_end(w);
}

static void table_of_widths(pv_html *page, const pv_html_sheet *sheet)
{
    static const pv_head heads[] = {{PV_SAID("no."), 0},      {PV_SAID("line"), 't'},
                                    {PV_SAID("planned"), 0},  VALUE_HEADS,
                                    {PV_SAID("along it"), 0}, {PV_SAID("places"), 0}};
    const pv_inspection *in = sheet->in;
    double range = pv_html_widths_range(in);
    if (in->table.n_lines == 0)
        return;
    start_said(page,
               in->sheet.inches ? PV_SAID("Widths of lines, in") : PV_SAID("Widths of lines, mm"),
               heads, LENGTH(heads));
    for (size_t i = 0; i < in->table.n_lines; i++)
        row_of_width(page, sheet, i, range);
    pv_html_table_end(page, sheet);
    if (range > 0)
        pv_data_uncertainty(&page->data, "range", range, 3);
    pv_json_close(&page->data, '}');
}

/* Judged values of lines, besides their widths; with the unit in the heading. */
static void table_of_lines(pv_html *page, const pv_html_sheet *sheet, pv_value_kind kind)
{
    static const pv_head heads[] = {{PV_SAID("no."), 0}, {PV_SAID("line"), 't'}, VALUE_HEADS};
    const pv_inspection *in = sheet->in;
    bool begun = false;
    for (size_t i = 0; i < in->table.n_lines; i++) {
        const pv_value *value = pv_inspection_find(in, kind, sheet->ranking.lines[i]);
        if (value == NULL || !value->measured)
            continue;
        if (!begun) {
            const pv_kind_info shown = pv_value_shown(value);
            pv_text caption = PV_TEXT_INIT;
            pv_text_add(&caption, "%s, %s", pv_say(page->language, shown.heading), shown.unit);
            start(page, caption.chars != NULL ? caption.chars : "", heads, LENGTH(heads));
            page->data.out.failed = page->data.out.failed || caption.failed;
            pv_text_drop(&caption);
        }
        begun = true;
        pv_row_start(&page->data);
        pv_data_count(&page->data, NULL, i + 1);
        pv_cell_head(&page->data, value->name);
        cells_of_value(page, value);
        pv_row_end(&page->data);
    }
    if (begun)
        end(page, sheet);
}

static void table_of_spacings(pv_html *page, const pv_html_sheet *sheet)
{
    static const pv_head heads[] = {
        {PV_SAID("from"), 't'}, {PV_SAID("to"), 't'}, {PV_SAID("planned"), 0}, VALUE_HEADS};
    if (sheet->ranking.n_spacings == 0)
        return;
    start_said(page,
               sheet->in->sheet.inches ? PV_SAID("Spacings between centre lines, in")
                                       : PV_SAID("Spacings between centre lines, mm"),
               heads, LENGTH(heads));
    for (size_t i = 0; i < sheet->ranking.n_spacings; i++) {
        const pv_value *value = sheet->ranking.spacings[i];
        pv_row_start(&page->data);
        pv_cell_head(&page->data, value->name);
        pv_cell_head(&page->data, value->to);
        cell_length(page, sheet->in, value->nominal, 3);
        cells_of_value(page, value);
        pv_row_end(&page->data);
    }
    end(page, sheet);
}

/* ---- values that nobody judges: of lines, of areas ---- */

/* Heads of all such kinds of one group, after those that are there: "raggedness, mm". `words` keeps
 * them. */
static size_t unjudged_heads(pv_html *page, const pv_inspection *in, pv_value_of of, pv_head *heads,
                             size_t n, pv_text *words)
{
    size_t first[PV_KINDS], m = 0;
    for (int i = 0; i < PV_KINDS; i++) {
        const pv_kind_info *kind = pv_kind_of((pv_value_kind)i);
        if (kind->of != of || kind->judged)
            continue;
        bool inches = kind->of == PV_OF_LINE && in->sheet.inches && strcmp(kind->unit, "mm") == 0;
        first[m++] = words->length;
        pv_text_add(words, "%s", pv_say(page->language, kind->name));
        if (kind->count_key == NULL)
            pv_text_add(words, ", %s", inches ? "in" : kind->unit);
        pv_text_bytes(words, "", 1); /* the head's own end */
    }
    for (size_t i = 0; i < m; i++)
        heads[n + i] = (pv_head){words->failed ? "" : words->chars + first[i], 0};
    return n + m;
}

static void unjudged_cells(pv_html *page, const pv_inspection *in, pv_value_of of, size_t subject)
{
    for (int i = 0; i < PV_KINDS; i++) {
        const pv_kind_info *kind = pv_kind_of((pv_value_kind)i);
        if (kind->of != of || kind->judged)
            continue;
        const pv_value *value = pv_inspection_find(in, (pv_value_kind)i, subject);
        if (value != NULL)
            cell_of_value(page, value);
        else
            cell_number(page, 0, 0, false);
    }
}

static void table_of_shape(pv_html *page, const pv_html_sheet *sheet)
{
    pv_head heads[HEADS_MAX] = {{PV_SAID("no."), 0}, {PV_SAID("line"), 't'}};
    pv_text words = PV_TEXT_INIT;
    const pv_inspection *in = sheet->in;
    size_t n = unjudged_heads(page, in, PV_OF_LINE, heads, 2, &words);
    bool begun = false;
    heads[n++] = (pv_head){PV_SAID("fair"), 't'};
    for (size_t i = 0; i < in->table.n_lines; i++) {
        const pv_line_result *line = &in->table.lines[sheet->ranking.lines[i]];
        if (!(line->looked > 0))
            continue;
        if (!begun)
            start_said(page, PV_SAID("Shape of lines"), heads, n);
        begun = true;
        pv_row_start(&page->data);
        pv_data_count(&page->data, NULL, i + 1);
        pv_cell_head(&page->data, line->id);
        unjudged_cells(page, in, PV_OF_LINE, sheet->ranking.lines[i]);
        if (line->fair)
            cell_said(page, PV_SAID("yes"));
        else
            pv_cell_strong(&page->data, line->gray ? pv_say(page->language, "no, printed grey")
                                                   : pv_say(page->language, "no, see the notes"));
        pv_row_end(&page->data);
    }
    if (begun)
        end(page, sheet);
    page->data.out.failed = page->data.out.failed || words.failed;
    pv_text_drop(&words);
}

static void cell_colour(pv_html *page, const double light[3])
{
    pv_text text = PV_TEXT_INIT;
    for (int i = 0; i < 3; i++) {
        pv_text_add(&text, "%s", i > 0 ? " / " : "");
        pv_html_number(&text, 100 * light[i], 1);
    }
    pv_data_take(&page->data, NULL, &text);
}

static void row_of_fill(pv_html *page, const pv_inspection *in, size_t index)
{
    const pv_fill_result *fill = &in->table.fills[index];
    const char *grey = pv_say(page->language, ", printed grey");
    pv_text fair = PV_TEXT_INIT;
    pv_row_start(&page->data);
    pv_cell_head(&page->data, fill->colour);
    cell_place(page, fill->x, fill->y);
    cell_number(page, fill->area, 0, true);
    cell_colour(page, fill->nominal);
    cell_colour(page, fill->printed);
    unjudged_cells(page, in, PV_OF_AREA, index);
    pv_text_add(&fair, "%s%s",
                fill->fair ? pv_say(page->language, "yes") : pv_say(page->language, "no"),
                fill->gray ? grey : "");
    if (fill->fair)
        pv_cell_words(&page->data, fair.chars != NULL ? fair.chars : "");
    else
        pv_cell_take(&page->data, "strong", &fair);
    pv_row_end(&page->data);
}

static void table_of_fills(pv_html *page, const pv_html_sheet *sheet)
{
    pv_head heads[HEADS_MAX] = {{PV_SAID("colour"), 't'},
                                {PV_SAID("at x, y, mm"), 0},
                                {PV_SAID("area inspected, mm\xC2\xB2"), 0},
                                {PV_SAID("planned light, r/g/b %"), 0},
                                {PV_SAID("printed light, r/g/b %"), 0}};
    const pv_inspection *in = sheet->in;
    pv_text words = PV_TEXT_INIT;
    if (in->table.n_fills == 0)
        return;
    size_t n = unjudged_heads(page, in, PV_OF_AREA, heads, 5, &words);
    heads[n++] = (pv_head){PV_SAID("fair"), 't'};
    start_said(page, PV_SAID("Areas of colour"), heads, n);
    for (size_t i = 0; i < in->table.n_fills; i++)
        row_of_fill(page, in, i);
    end(page, sheet);
    page->data.out.failed = page->data.out.failed || words.failed;
    pv_text_drop(&words);
}

/* Breaks and blobs, as the picture marks them. */
static void table_of_flaws(pv_html *page, const pv_html_sheet *sheet)
{
    static const pv_head heads[] = {{PV_SAID("what"), 't'},
                                    {PV_SAID("line"), 't'},
                                    {PV_SAID("at x, y, mm"), 0},
                                    {PV_SAID("length, mm"), 0},
                                    {PV_SAID("reach, mm"), 0}};
    const pv_inspection *in = sheet->in;
    if (in->table.n_flaws == 0)
        return;
    start_said(page, PV_SAID("Breaks and blobs in lines"), heads, LENGTH(heads));
    for (size_t i = 0; i < in->table.n_flaws; i++) {
        const pv_flaw *flaw = &in->table.flaws[i];
        pv_row_start(&page->data);
        pv_cell_head(&page->data,
                     flaw->blob ? pv_say(page->language, "blob") : pv_say(page->language, "break"));
        pv_cell_words(&page->data, in->table.lines[flaw->line].id);
        cell_place(page, flaw->x, flaw->y);
        cell_number(page, flaw->length, 2, true);
        cell_number(page, flaw->reach, 2, true);
        pv_row_end(&page->data);
    }
    end(page, sheet);
}

/* Numbered as the picture has them. */
static void table_of_marks(pv_html *page, const pv_html_sheet *sheet)
{
    static const pv_head heads[] = {
        {PV_SAID("mark"), 't'},   {PV_SAID("what"), 't'},         {PV_SAID("at x, y, mm"), 0},
        {PV_SAID("long, mm"), 0}, {PV_SAID("wide, mm"), 0},       {PV_SAID("contrast, %"), 0},
        {PV_SAID("on"), 't'},     {PV_SAID("over a spot, %"), 0}, {"U", 'i'},
        {PV_SAID("allowed"), 0},  {PV_SAID("verdict"), 't'}};
    const pv_inspection *in = sheet->in;
    pv_json_writer *w = &page->data;
    if (in->table.n_marks == 0)
        return;
    start_said(page, PV_SAID("On the surface, but not in the course"), heads, LENGTH(heads));
    for (size_t i = 0; i < in->table.n_marks; i++) {
        const pv_mark *mark = &in->table.marks[i];
        const char name[] = {PV_HTML_MARK, '\0'};
        pv_text number = PV_TEXT_INIT;
        pv_text_add(&number, "%s%zu", name, i + 1);
        pv_row_start(w);
        pv_cell_take(w, "th", &number);
        cell_said(page, pv_mark_kind_name(mark->kind));
        cell_place(page, mark->x, mark->y);
        cell_number(page, mark->length, 1, true);
        cell_number(page, mark->width, 1, true);
        cell_number(page, 100 * mark->contrast, 0, true);
        pv_cell_words(w, mark->line != NULL ? mark->line : mark->colour);
        cell_number(page, 100 * mark->off, 0, true);
        cell_number(page, 100 * mark->U, 0, true);
        cell_number(page, 100 * mark->tolerance, 0, true);
        cell_badge(page, mark->verdict);
        pv_row_end(w);
    }
    end(page, sheet);
}

/* ---- references and the image ---- */

static void table_of_references(pv_html *page, const pv_html_sheet *sheet)
{
    static const pv_head heads[] = {
        {PV_SAID("reference"), 't'}, {PV_SAID("scale x, %"), 0}, {"U, %", 'i'},
        {PV_SAID("weight, %"), 0},   {PV_SAID("scale y, %"), 0}, {"U, %", 'i'},
        {PV_SAID("weight, %"), 0},   {PV_SAID("skew, mrad"), 0}, {"U, mrad", 'i'},
        {PV_SAID("agrees"), 't'}};
    const pv_inspection *in = sheet->in;
    if (in->n_references == 0)
        return;
    start_said(page, PV_SAID("Length references"), heads, LENGTH(heads));
    for (size_t i = 0; i < in->n_references; i++) {
        const pv_reference_result *one = &in->references[i];
        pv_row_start(&page->data);
        pv_cell_head(&page->data, pv_say(page->language, pv_reference_name(one->kind)));
        for (int k = 0; k < 2; k++) {
            bool says = one->U[k] > 0;
            cell_number(page, 100 * one->scale[k], 3, says);
            cell_number(page, 100 * one->U[k], 3, says);
            cell_number(page, 100 * one->weight[k], 1, says);
        }
        cell_number(page, one->skew, 2, one->skew_U > 0);
        cell_number(page, one->skew_U, 2, one->skew_U > 0);
        if (one->disagrees)
            pv_cell_strong(&page->data, pv_say(page->language, "no: it contradicts the others"));
        else
            cell_said(page, PV_SAID("yes"));
        pv_row_end(&page->data);
    }
    end(page, sheet);
}

static void table_of_image(pv_html *page, const pv_html_sheet *of)
{
    static const pv_head heads[] = {
        {PV_SAID("of the image"), 't'}, {PV_SAID("value"), 0}, {PV_SAID("unit"), 't'}};
    const pv_inspection *in = of->in;
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
    } rows[] = {{PV_SAID("stated resolution x"), stated[0] * PV_MM_PER_IN, 2, stated[0] > 0, "dpi"},
                {PV_SAID("stated resolution y"), stated[1] * PV_MM_PER_IN, 2, stated[1] > 0, "dpi"},
                {PV_SAID("resolution from the print x"), shown[0] * PV_MM_PER_IN, 2, shown[0] > 0,
                 PV_SAID("px per nominal inch")},
                {PV_SAID("resolution from the print y"), shown[1] * PV_MM_PER_IN, 2, shown[1] > 0,
                 PV_SAID("px per nominal inch")},
                {PV_SAID("turned by"), sheet->turn, 2, true, PV_SAID("degrees counter-clockwise")},
                {PV_SAID("residual of the map, RMS"), sheet->residual, 3, true, "px"},
                {PV_SAID("unevenness, RMS over 20 mm"), sheet->uneven, 3, sheet->uneven > 0, "mm"},
                {PV_SAID("ink spread at each edge"), inked ? ink->value : 0, 4, inked, "mm"},
                {PV_SAID("U of the ink spread"), inked ? ink->U : 0, 4, inked, "mm"},
                {PV_SAID("lens, at the corner"), 100 * sheet->lens, 2, sheet->lens != 0, "%"},
                {PV_SAID("reference good to"), 100 * sheet->reference_U_rel, 3,
                 sheet->reference != PV_REFERENCE_NONE, "%, k = 2"}};
    start_said(page, PV_SAID("The image"), heads, LENGTH(heads));
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        pv_row_start(&page->data);
        pv_cell_head(&page->data, pv_say(page->language, rows[i].name));
        cell_number(page, rows[i].value, rows[i].decimals, rows[i].known);
        cell_said(page, rows[i].unit);
        pv_row_end(&page->data);
    }
    pv_html_table_end(page, of);
    pv_data_bool(&page->data, "narrow", true);
    pv_json_close(&page->data, '}');
}

void pv_html_tables(pv_html *page, const pv_html_sheet *sheet)
{
    pv_data_open(&page->data, "tables", '[');
    table_of_sheet(page, sheet);
    table_of_widths(page, sheet);
    for (int i = 0; i < PV_KINDS; i++) {
        const pv_kind_info *kind = pv_kind_of((pv_value_kind)i);
        if (kind->of == PV_OF_LINE && kind->judged && i != PV_KIND_WIDTH)
            table_of_lines(page, sheet, (pv_value_kind)i);
    }
    table_of_spacings(page, sheet);
    table_of_shape(page, sheet);
    table_of_flaws(page, sheet);
    table_of_marks(page, sheet);
    table_of_fills(page, sheet);
    table_of_references(page, sheet);
    table_of_image(page, sheet);
    pv_json_close(&page->data, ']');
}
