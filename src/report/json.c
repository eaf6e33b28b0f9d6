/* Inspections for machines: the table of values under the keys of its kinds (pv_kind_of);
 * docs/reference/inspection-format.md has them all. */
#include "json/json.h"
#include "judge/remedy.h"

#include <math.h>
#include <stdio.h>

static void number_or_null(pv_json_writer *w, const char *key, double value, int decimals,
                           bool known)
{
    pv_json_key(w, key);
    if (known)
        pv_json_rounded(w, value, decimals);
    else
        pv_json_string(w, NULL);
}

static void list(pv_json_writer *w, const char *key, const double *values, size_t n, int decimals)
{
    pv_json_key(w, key);
    pv_json_open_inline(w, '[');
    for (size_t i = 0; i < n; i++)
        pv_json_rounded(w, values[i], decimals);
    pv_json_close(w, ']');
}

/* A list of one image, and what is asked for. */
typedef struct sheet_writer {
    pv_json_writer *w;
    const pv_inspection *in;
    bool budget;
} sheet_writer;

/* ---- values ---- */

/* The key of a value's companion: "k", "bow_k", "bow_U_mm". */
typedef struct companion {
    char chars[40];
} companion;

static companion key_of(const pv_kind_info *kind, const char *name)
{
    companion key;
    snprintf(key.chars, sizeof key.chars, "%s%s", kind->prefix, name);
    return key;
}

static companion key_in_unit(const pv_kind_info *kind, const char *name)
{
    companion key;
    snprintf(key.chars, sizeof key.chars, "%s%s%s", kind->prefix, name, kind->suffix);
    return key;
}

static void add_parts(pv_json_writer *w, const pv_value *value, int decimals)
{
    static const char *const names[PV_PARTS] = {"scatter", "grid", "tone",     "halftone",
                                                "map",     "ink",  "reference"};
    pv_json_open_inline(w, '{');
    for (int i = 0; i < PV_PARTS; i++)
        pv_json_key_rounded(w, names[i], value->part[i], decimals);
    number_or_null(w, "freedom", value->freedom, 1, isfinite(value->freedom));
    pv_json_close(w, '}');
}

/* What a value is judged with, past the value, U and the tolerance. */
static void add_decision(const sheet_writer *s, const pv_value *value, const pv_kind_info *kind)
{
    bool proven = value->measured && isfinite(value->probability);
    number_or_null(s->w, key_of(kind, "u").chars, value->u, kind->json_decimals + 1,
                   value->measured);
    number_or_null(s->w, key_of(kind, "k").chars, value->k, 3, value->measured);
    if (kind->judged)
        number_or_null(s->w, key_of(kind, "probability").chars, value->probability, 4, proven);
    if (value->remedy != 0) {
        pv_text words = PV_TEXT_INIT;
        pv_remedy_need(&words, value);
        if (words.length > 0)
            pv_text_add(&words, ": ");
        pv_remedy_advice(&words, s->in, value->remedy);
        pv_json_key_string(s->w, key_of(kind, "settle").chars, words.chars);
        s->w->out.failed = s->w->out.failed || words.failed;
        pv_text_drop(&words);
    }
    if (s->budget && value->measured) {
        pv_json_key(s->w, key_of(kind, "budget").chars);
        add_parts(s->w, value, kind->json_decimals + 1);
    }
}

/* A value of the sheet: an object of its own. */
static void add_sheet_value(const sheet_writer *s, const char *key, const pv_value *value)
{
    const pv_kind_info *kind = pv_kind_of(value->kind);
    bool known = value->measured;
    pv_json_key(s->w, key);
    pv_json_open_inline(s->w, '{');
    number_or_null(s->w, "value", value->value, kind->json_decimals, known);
    number_or_null(s->w, "U", value->U, kind->json_decimals, known);
    if (kind->judged) {
        pv_json_key_rounded(s->w, "tolerance", value->tolerance, kind->json_decimals);
        pv_json_key_string(s->w, "verdict", pv_verdict_name(value->verdict));
    }
    add_decision(s, value, kind);
    number_or_null(s->w, "freedom", value->freedom, 1, known && isfinite(value->freedom));
    /* What of u other images of the same sheet share that were taken by the same scanner and the
     * same reference; calibration counts it once. */
    number_or_null(s->w, "shared", hypot(value->part[PV_PART_TONE], value->part[PV_PART_REFERENCE]),
                   kind->json_decimals + 1, known);
    pv_json_close(s->w, '}');
}

/* One of several values of an object. */
static void add_value(const sheet_writer *s, const pv_value *value)
{
    const pv_kind_info *kind = pv_kind_of(value->kind);
    bool known = value->measured;
    if (kind->nominal_key != NULL)
        number_or_null(s->w, kind->nominal_key, value->nominal, kind->json_decimals,
                       kind->judged || known);
    number_or_null(s->w, kind->key, value->value, kind->json_decimals, known);
    if (kind->judged) {
        number_or_null(s->w, key_in_unit(kind, "U").chars, value->U, kind->json_decimals, known);
        pv_json_key_rounded(s->w, key_in_unit(kind, "tolerance").chars, value->tolerance,
                            kind->json_decimals);
        pv_json_key_string(s->w, key_of(kind, "verdict").chars, pv_verdict_name(value->verdict));
    }
    if (kind->judged && known)
        add_decision(s, value, kind);
    if (kind->count_key != NULL)
        pv_json_key_count(s->w, kind->count_key, value->places);
}

/* All values of one subject from `first` on that are judged, or not. */
static void add_values(const sheet_writer *s, size_t first, bool judged)
{
    const pv_measures *table = &s->in->table;
    for (size_t i = first; i < table->n_values; i++) {
        const pv_value *value = &table->values[i];
        const pv_kind_info *kind = pv_kind_of(value->kind);
        if (value->subject != table->values[first].subject ||
            kind->of != pv_kind_of(table->values[first].kind)->of)
            break;
        if (kind->judged == judged)
            add_value(s, value);
    }
}

/* The sheet's values; those with names stand together: "scale": {"x": ..., "y": ...}. */
static void add_sheet_values(const sheet_writer *s)
{
    const pv_measures *table = &s->in->table;
    const pv_value *last = NULL;
    for (size_t i = 0; i < table->n_values; i++) {
        const pv_value *value = &table->values[i];
        const pv_kind_info *kind = pv_kind_of(value->kind);
        bool named = value->name[0] != '\0';
        if (kind->of != PV_OF_SHEET)
            break;
        if (named && (last == NULL || last->kind != value->kind)) {
            pv_json_key(s->w, kind->key);
            pv_json_open(s->w, '{');
        }
        add_sheet_value(s, named ? value->name : kind->key, value);
        bool ends = named && (i + 1 == table->n_values || value[1].kind != value->kind);
        if (ends)
            pv_json_close(s->w, '}');
        last = value;
    }
}

/* ---- what they belong to ---- */

static void add_line(const sheet_writer *s, const pv_line_result *line)
{
    pv_json_writer *w = s->w;
    pv_json_open_inline(w, '{');
    pv_json_key_string(w, "id", line->id);
    add_values(s, line->first_value, true);
    pv_json_key_count(w, "planned", line->planned);
    pv_json_key(w, "shape");
    pv_json_open_inline(w, '{');
    add_values(s, line->first_value, false);
    pv_json_key_rounded(w, "looked_mm", line->looked, 2);
    pv_json_key_bool(w, "gray", line->gray);
    pv_json_key_bool(w, "fair", line->fair);
    pv_json_close(w, '}');
    pv_json_close(w, '}');
}

/* Kept apart from the measured ones, so that every entry of `lines` has a number. */
static void add_unmeasured(pv_json_writer *w, const pv_line_result *line)
{
    pv_json_open_inline(w, '{');
    pv_json_key_string(w, "id", line->id);
    pv_json_key_rounded(w, "nominal_mm", line->nominal, 4);
    pv_json_key_count(w, "planned", line->planned);
    pv_json_close(w, '}');
}

static void add_lines(const sheet_writer *s)
{
    const pv_measures *table = &s->in->table;
    pv_json_key(s->w, "lines");
    pv_json_open(s->w, '[');
    for (size_t i = 0; i < table->n_lines; i++)
        if (table->lines[i].stations > 0)
            add_line(s, &table->lines[i]);
    pv_json_close(s->w, ']');
    pv_json_key(s->w, "unmeasured");
    pv_json_open(s->w, '[');
    for (size_t i = 0; i < table->n_lines; i++)
        if (table->lines[i].stations == 0)
            add_unmeasured(s->w, &table->lines[i]);
    pv_json_close(s->w, ']');
}

static void add_spacings(const sheet_writer *s)
{
    pv_json_key(s->w, "spacings");
    pv_json_open(s->w, '[');
    for (size_t i = 0; i < s->in->table.n_values; i++) {
        const pv_value *value = &s->in->table.values[i];
        if (pv_kind_of(value->kind)->of != PV_OF_LINES)
            continue;
        pv_json_open_inline(s->w, '{');
        pv_json_key_string(s->w, "from", value->name);
        pv_json_key_string(s->w, "to", value->to);
        add_value(s, value);
        pv_json_close(s->w, '}');
    }
    pv_json_close(s->w, ']');
    pv_json_key_count(s->w, "unpaired", s->in->sheet.unpaired);
}

static void add_fills(const sheet_writer *s)
{
    pv_json_writer *w = s->w;
    pv_json_key(w, "fills");
    pv_json_open(w, '[');
    for (size_t i = 0; i < s->in->table.n_fills; i++) {
        const pv_fill_result *fill = &s->in->table.fills[i];
        pv_json_open_inline(w, '{');
        pv_json_key_string(w, "colour", fill->colour);
        pv_json_key_rounded(w, "x_mm", fill->x, 1);
        pv_json_key_rounded(w, "y_mm", fill->y, 1);
        pv_json_key_rounded(w, "area_mm2", fill->area, 0);
        list(w, "nominal", fill->nominal, 3, 4);
        list(w, "printed", fill->printed, 3, 4);
        add_values(s, fill->first_value, false);
        pv_json_key_bool(w, "gray", fill->gray);
        pv_json_key_bool(w, "whitened", fill->whitened);
        pv_json_key_bool(w, "weak", !s->in->table.values[fill->first_value].fair);
        pv_json_key_bool(w, "fair", fill->fair);
        pv_json_close(w, '}');
    }
    pv_json_close(w, ']');
}

static void add_flaws(const sheet_writer *s)
{
    pv_json_writer *w = s->w;
    pv_json_key(w, "flaws");
    pv_json_open(w, '[');
    for (size_t i = 0; i < s->in->table.n_flaws; i++) {
        const pv_flaw *flaw = &s->in->table.flaws[i];
        pv_json_open_inline(w, '{');
        pv_json_key_string(w, "kind", flaw->blob ? "blob" : "break");
        pv_json_key_string(w, "line", s->in->table.lines[flaw->line].id);
        pv_json_key_rounded(w, "x_mm", flaw->x, 2);
        pv_json_key_rounded(w, "y_mm", flaw->y, 2);
        pv_json_key_rounded(w, "length_mm", flaw->length, 2);
        pv_json_key_rounded(w, "reach_mm", flaw->reach, 3);
        pv_json_close(w, '}');
    }
    pv_json_close(w, ']');
}

static void add_mark(pv_json_writer *w, const pv_mark *mark)
{
    static const struct {
        unsigned doubt;
        const char *name;
    } doubts[] = {{PV_DOUBT_DUST, "dust"},
                  {PV_DOUBT_SHADOW, "shadow"},
                  {PV_DOUBT_GLOSS, "gloss"},
                  {PV_DOUBT_CARD, "card"}};
    const double box[4] = {mark->lo[0], mark->lo[1], mark->hi[0], mark->hi[1]};
    pv_json_open_inline(w, '{');
    pv_json_key_string(w, "kind", pv_mark_kind_name(mark->kind));
    pv_json_key_rounded(w, "x_mm", mark->x, 2);
    pv_json_key_rounded(w, "y_mm", mark->y, 2);
    list(w, "box_mm", box, 4, 2);
    pv_json_key_rounded(w, "length_mm", mark->length, 2);
    pv_json_key_rounded(w, "width_mm", mark->width, 2);
    pv_json_key_rounded(w, "area_mm2", mark->area, 2);
    pv_json_key_rounded(w, "contrast", mark->contrast, 3);
    list(w, "planned", mark->planned, 3, 3);
    list(w, "seen", mark->seen, 3, 3);
    pv_json_key_string(w, "colour", mark->colour);
    pv_json_key_string(w, "line", mark->line);
    pv_json_key_rounded(w, "off", mark->off, 3);
    pv_json_key_rounded(w, "U", mark->U, 3);
    pv_json_key_rounded(w, "tolerance", mark->tolerance, 3);
    pv_json_key_rounded(w, "spot_mm", mark->spot, 2);
    pv_json_key_string(w, "verdict", pv_verdict_name(mark->verdict));
    pv_json_key(w, "may_be");
    pv_json_open_inline(w, '[');
    for (size_t i = 0; i < sizeof doubts / sizeof *doubts; i++)
        if ((mark->doubt & doubts[i].doubt) != 0)
            pv_json_string(w, doubts[i].name);
    pv_json_close(w, ']');
    pv_json_key_string(w, "meaning", mark->meaning);
    pv_json_close(w, '}');
}

static void add_marks(const sheet_writer *s)
{
    pv_json_key(s->w, "marks");
    pv_json_open(s->w, '[');
    for (size_t i = 0; i < s->in->table.n_marks; i++)
        add_mark(s->w, &s->in->table.marks[i]);
    pv_json_close(s->w, ']');
}

static void add_steps(const sheet_writer *s)
{
    pv_json_writer *w = s->w;
    pv_json_key(w, "measure");
    pv_json_open(w, '[');
    for (size_t i = 0; i < s->in->n_steps; i++) {
        const pv_distance *step = &s->in->steps[i];
        const char from[] = {step->from, '\0'}, to[] = {step->to, '\0'};
        pv_json_open_inline(w, '{');
        pv_json_key_string(w, "from", from);
        pv_json_key_string(w, "to", to);
        pv_json_key_rounded(w, "nominal_mm", step->nominal, 3);
        pv_json_key_rounded(w, "U_mm", step->U, 2);
        pv_json_close(w, '}');
    }
    pv_json_close(w, ']');
}

static void add_notes(const sheet_writer *s)
{
    pv_json_key(s->w, "notes");
    pv_json_open(s->w, '[');
    for (size_t i = 0; i < s->in->n_notes; i++)
        pv_json_string(s->w, s->in->notes[i]);
    pv_json_close(s->w, ']');
}

/* ---- references ---- */

static void add_measured(pv_json_writer *w, const char *key, double value, double U, int decimals)
{
    pv_json_key(w, key);
    pv_json_open_inline(w, '{');
    number_or_null(w, "value", value, decimals, U > 0);
    number_or_null(w, "U", U, decimals, U > 0);
    pv_json_close(w, '}');
}

/* All together, and what each says of the print by itself: calibrating a scanner needs them apart.
 */
static void add_references(const sheet_writer *s)
{
    pv_json_writer *w = s->w;
    bool any = s->in->sheet.reference != PV_REFERENCE_NONE;
    pv_json_key(w, "reference");
    pv_json_open_inline(w, '{');
    pv_json_key_string(w, "kind", pv_reference_name(s->in->sheet.reference));
    number_or_null(w, "U_rel", s->in->sheet.reference_U_rel, 7, any);
    pv_json_key_string(w, "basis", s->in->sheet.basis);
    pv_json_key_string(w, "scanner", pv_scanner_kind_name(s->in->sheet.scanner));
    pv_json_close(w, '}');
    pv_json_key(w, "references");
    pv_json_open(w, '[');
    for (size_t i = 0; i < s->in->n_references; i++) {
        const pv_reference_result *one = &s->in->references[i];
        pv_json_open_inline(w, '{');
        pv_json_key_string(w, "kind", pv_reference_name(one->kind));
        add_measured(w, "x", one->scale[0], one->U[0], 6);
        add_measured(w, "y", one->scale[1], one->U[1], 6);
        add_measured(w, "skew_mrad", one->skew, one->skew_U, 3);
        list(w, "weight", one->weight, 2, 3);
        pv_json_key_bool(w, "disagrees", one->disagrees);
        pv_json_key_bool(w, "used", !one->unused);
        pv_json_close(w, '}');
    }
    pv_json_close(w, ']');
}

/* ---- the whole ---- */

/* Two numbers; null where there is none. */
static void add_pair(pv_json_writer *w, const char *key, const double values[2])
{
    pv_json_key(w, key);
    pv_json_open_inline(w, '[');
    for (int i = 0; i < 2; i++) {
        if (values[i] > 0)
            pv_json_rounded(w, values[i], 5);
        else
            pv_json_string(w, NULL);
    }
    pv_json_close(w, ']');
}

/* As in the plan; left out where nothing was corrected. */
static void add_correction(pv_json_writer *w, const pv_correction *c)
{
    if (!c->any)
        return;
    pv_json_key(w, "corrected");
    pv_json_open_inline(w, '{');
    add_pair(w, "scale", c->scale);
    pv_json_key_rounded(w, "skew_mrad", c->skew, 3);
    pv_json_key_rounded(w, "ink_mm", c->ink, 4);
    pv_json_close(w, '}');
}

static void add_inspection(const sheet_writer *s)
{
    pv_json_writer *w = s->w;
    const pv_inspected *sheet = &s->in->sheet;
    pv_json_open(w, '{');
    pv_json_key_string(w, "file", sheet->file);
    if (sheet->picture > 0)
        pv_json_key_count(w, "page", sheet->picture);
    if (sheet->error != NULL) {
        pv_json_key_string(w, "error", sheet->error);
        pv_json_key_string(w, "answer", sheet->answer);
        pv_json_key_string(w, "advice", sheet->advice);
        pv_json_close(w, '}');
        return;
    }
    pv_json_key_string(w, "sheet", sheet->sheet);
    pv_json_key_string(w, "kit", sheet->kit);
    pv_json_key_string(w, "verdict", pv_verdict_name(sheet->verdict));
    pv_json_key_string(w, "answer", sheet->answer);
    pv_json_key_string(w, "advice", sheet->advice);
    pv_json_key_string(w, "paper", sheet->paper);
    add_pair(w, "page_mm", sheet->page);
    pv_json_key_bool(w, "photograph", sheet->photograph);
    add_correction(w, &sheet->corrected);
    add_references(s);
    add_pair(w, "stated_px_per_mm", sheet->resolution);
    add_pair(w, "shown_px_per_mm", sheet->measured_resolution);
    add_sheet_values(s);
    pv_json_key_rounded(w, "turn_deg", sheet->turn, 4);
    pv_json_key_rounded(w, "residual_px", sheet->residual, 4);
    pv_json_key_rounded(w, "uneven_mm", sheet->uneven, 4);
    pv_json_key_rounded(w, "lens", sheet->lens, 5);
    add_lines(s);
    add_spacings(s);
    add_fills(s);
    add_flaws(s);
    add_marks(s);
    pv_json_key_rounded(w, "surface", sheet->surface, 3);
    add_steps(s);
    add_notes(s);
    pv_json_close(w, '}');
}

char *pv_inspections_json(const pv_inspection *const *items, size_t n, bool budget)
{
    pv_json_writer w = PV_JSON_WRITER_INIT;
    pv_json_open(&w, '[');
    for (size_t i = 0; i < n; i++)
        add_inspection(&(sheet_writer){&w, items[i], budget});
    pv_json_close(&w, ']');
    return pv_json_take(&w);
}
