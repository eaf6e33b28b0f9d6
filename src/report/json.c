/* Inspections for machines; docs/reference/inspection-format.md has the keys. */
#include "json/json.h"
#include "judge/remedy.h"

#include <math.h>

static void number_or_null(pv_json_writer *w, const char *key, double value, int decimals,
                           bool known)
{
    pv_json_key(w, key);
    if (known)
        pv_json_rounded(w, value, decimals);
    else
        pv_json_string(w, NULL);
}

static void text(pv_json_writer *w, const char *key, const char *value)
{
    pv_json_key(w, key);
    pv_json_string(w, value);
}

/* What of u other images of the same sheet share that were taken by the same scanner and the same
 * reference; calibration counts it once. */
static double shared_u(const pv_value *value)
{
    return hypot(value->part[PV_PART_TONE], value->part[PV_PART_REFERENCE]);
}

/* A list of one image, and what is asked for. */
typedef struct sheet_writer {
    pv_json_writer *w;
    const pv_inspection *in;
    bool budget;
} sheet_writer;

/* What a judged value is judged with, past the value, U and the tolerance; keys as they stand in an
 * object of its own. */
typedef struct value_keys {
    const char *u, *k, *probability, *settle, *budget;
    int decimals; /* of u and its parts */
} value_keys;

static void add_parts(pv_json_writer *w, const pv_value *value, int decimals)
{
    static const char *const names[PV_PARTS] = {"scatter", "grid", "tone",     "halftone",
                                                "map",     "ink",  "reference"};
    pv_json_open_inline(w, '{');
    for (int i = 0; i < PV_PARTS; i++)
        number_or_null(w, names[i], value->part[i], decimals, true);
    number_or_null(w, "freedom", value->freedom, 1, isfinite(value->freedom));
    pv_json_close(w, '}');
}

static void add_decision(const sheet_writer *s, const pv_judged *judged, const value_keys *keys)
{
    const pv_value *value = judged->value;
    bool proven = value->measured && isfinite(value->probability);
    number_or_null(s->w, keys->u, value->u, keys->decimals, value->measured);
    number_or_null(s->w, keys->k, value->k, 3, value->measured);
    number_or_null(s->w, keys->probability, value->probability, 4, proven);
    if (value->remedy != 0) {
        pv_text words = PV_TEXT_INIT;
        pv_remedy_need(&words, judged);
        if (words.length > 0)
            pv_text_add(&words, ": ");
        pv_remedy_advice(&words, s->in, value->remedy);
        text(s->w, keys->settle, words.chars);
        s->w->out.failed = s->w->out.failed || words.failed;
        pv_text_drop(&words);
    }
    if (s->budget && value->measured) {
        pv_json_key(s->w, keys->budget);
        add_parts(s->w, value, keys->decimals);
    }
}

static void add_value(const sheet_writer *s, const char *key, pv_judged judged, int decimals)
{
    static const value_keys own = {"u", "k", "probability", "settle", "budget", 0};
    const pv_value *value = judged.value;
    value_keys keys = own;
    keys.decimals = decimals + 1;
    pv_json_key(s->w, key);
    pv_json_open_inline(s->w, '{');
    number_or_null(s->w, "value", value->value, decimals, value->measured);
    number_or_null(s->w, "U", value->U, decimals, value->measured);
    number_or_null(s->w, "tolerance", value->tolerance, decimals, true);
    text(s->w, "verdict", pv_verdict_name(value->verdict));
    add_decision(s, &judged, &keys);
    number_or_null(s->w, "shared", shared_u(value), keys.decimals, value->measured);
    pv_json_close(s->w, '}');
}

/* Nobody judges it, but calibration goes by it. */
static void add_ink(pv_json_writer *w, const pv_value *ink)
{
    bool known = ink->measured;
    pv_json_key(w, "ink_mm");
    pv_json_open_inline(w, '{');
    number_or_null(w, "value", ink->value, 4, known);
    number_or_null(w, "U", ink->U, 4, known);
    number_or_null(w, "u", ink->u, 5, known);
    number_or_null(w, "k", ink->k, 3, known);
    number_or_null(w, "freedom", ink->freedom, 1, known && isfinite(ink->freedom));
    number_or_null(w, "shared", shared_u(ink), 5, known);
    pv_json_close(w, '}');
}

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

static void add_reference(pv_json_writer *w, const pv_inspection *in)
{
    bool any = in->reference != PV_REFERENCE_NONE;
    pv_json_key(w, "reference");
    pv_json_open_inline(w, '{');
    text(w, "kind", pv_reference_name(in->reference));
    number_or_null(w, "U_rel", in->reference_U_rel, 7, any);
    pv_json_close(w, '}');
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

/* What each reference says of the print by itself: calibrating a scanner needs them apart. */
static void add_references(pv_json_writer *w, const pv_inspection *in)
{
    pv_json_key(w, "references");
    pv_json_open(w, '[');
    for (size_t i = 0; i < in->n_references; i++) {
        const pv_reference_result *one = &in->references[i];
        pv_json_open_inline(w, '{');
        text(w, "kind", pv_reference_name(one->kind));
        add_measured(w, "x", one->scale[0], one->U[0], 6);
        add_measured(w, "y", one->scale[1], one->U[1], 6);
        add_measured(w, "skew_mrad", one->skew, one->skew_U, 3);
        pv_json_key(w, "weight");
        pv_json_open(w, '[');
        for (int k = 0; k < 2; k++)
            pv_json_rounded(w, one->weight[k], 3);
        pv_json_close(w, ']');
        pv_json_key(w, "disagrees");
        pv_json_bool(w, one->disagrees);
        pv_json_close(w, '}');
    }
    pv_json_close(w, ']');
}

/* ---- lines ---- */

static void shape_number(pv_json_writer *w, const char *key, double value, int decimals)
{
    number_or_null(w, key, value, decimals, value >= 0);
}

static void add_shape(pv_json_writer *w, const pv_shape *shape)
{
    pv_json_key(w, "shape");
    pv_json_open_inline(w, '{');
    shape_number(w, "raggedness_mm", shape->raggedness, 4);
    shape_number(w, "blurriness_mm", shape->blurriness, 4);
    shape_number(w, "reflectance", shape->reflectance, 4);
    shape_number(w, "contrast", shape->contrast, 4);
    shape_number(w, "nominal_contrast", shape->nominal_contrast, 4);
    shape_number(w, "looked_mm", shape->looked, 2);
    shape_number(w, "broken_mm", shape->broken, 2);
    shape_number(w, "blobbed_mm", shape->blobbed, 2);
    pv_json_key(w, "breaks");
    pv_json_integer(w, (long long)shape->breaks);
    pv_json_key(w, "blobs");
    pv_json_integer(w, (long long)shape->blobs);
    pv_json_key(w, "gray");
    pv_json_bool(w, shape->gray);
    pv_json_key(w, "fair");
    pv_json_bool(w, shape->fair);
    pv_json_close(w, '}');
}

static void add_line(const sheet_writer *s, const pv_line_result *line)
{
    static const value_keys of_width = {"u", "k", "probability", "settle", "budget", 5};
    static const value_keys of_bow = {"bow_u",      "bow_k",      "bow_probability",
                                      "bow_settle", "bow_budget", 5};
    pv_json_writer *w = s->w;
    pv_judged width = {PV_KIND_WIDTH, &line->width, line->nominal, line->id, "", true};
    pv_judged bow = {PV_KIND_STRAIGHT, &line->straight, 0, line->id, "", true};
    pv_json_open_inline(w, '{');
    text(w, "id", line->id);
    number_or_null(w, "nominal_mm", line->nominal, 4, true);
    number_or_null(w, "width_mm", line->width.value, 4, true);
    number_or_null(w, "U_mm", line->width.U, 4, true);
    number_or_null(w, "tolerance_mm", line->width.tolerance, 4, true);
    text(w, "verdict", pv_verdict_name(line->width.verdict));
    add_decision(s, &width, &of_width);
    pv_json_key(w, "stations");
    pv_json_integer(w, (long long)line->stations);
    pv_json_key(w, "planned");
    pv_json_integer(w, (long long)line->planned);
    number_or_null(w, "bow_mm", line->straight.value, 4, line->straight.measured);
    number_or_null(w, "bow_U_mm", line->straight.U, 4, line->straight.measured);
    number_or_null(w, "bow_tolerance_mm", line->straight.tolerance, 4, true);
    text(w, "bow_verdict", pv_verdict_name(line->straight.verdict));
    if (line->straight.measured)
        add_decision(s, &bow, &of_bow);
    add_shape(w, &line->shape);
    pv_json_close(w, '}');
}

/* Kept apart from the measured ones, so that every entry of `lines` has a number. */
static void add_unmeasured(pv_json_writer *w, const pv_line_result *line)
{
    pv_json_open_inline(w, '{');
    text(w, "id", line->id);
    number_or_null(w, "nominal_mm", line->nominal, 4, true);
    pv_json_key(w, "planned");
    pv_json_integer(w, (long long)line->planned);
    pv_json_close(w, '}');
}

static void add_lines(const sheet_writer *s)
{
    const pv_inspection *in = s->in;
    pv_json_key(s->w, "lines");
    pv_json_open(s->w, '[');
    for (size_t i = 0; i < in->n_lines; i++)
        if (in->lines[i].width.measured)
            add_line(s, &in->lines[i]);
    pv_json_close(s->w, ']');
    pv_json_key(s->w, "unmeasured");
    pv_json_open(s->w, '[');
    for (size_t i = 0; i < in->n_lines; i++)
        if (!in->lines[i].width.measured)
            add_unmeasured(s->w, &in->lines[i]);
    pv_json_close(s->w, ']');
}

/* ---- spacings, fills ---- */

static void add_spacing(const sheet_writer *s, const pv_spacing_result *spacing)
{
    static const value_keys keys = {"u", "k", "probability", "settle", "budget", 5};
    pv_json_writer *w = s->w;
    const pv_value *value = &spacing->value;
    pv_judged judged = {PV_KIND_SPACING, value, spacing->nominal, spacing->from, spacing->to, true};
    pv_json_open_inline(w, '{');
    text(w, "from", spacing->from);
    text(w, "to", spacing->to);
    number_or_null(w, "nominal_mm", spacing->nominal, 4, true);
    number_or_null(w, "value_mm", value->value, 4, value->measured);
    number_or_null(w, "U_mm", value->U, 4, value->measured);
    number_or_null(w, "tolerance_mm", value->tolerance, 4, true);
    text(w, "verdict", pv_verdict_name(value->verdict));
    add_decision(s, &judged, &keys);
    pv_json_close(w, '}');
}

static void add_light(pv_json_writer *w, const char *key, const double light[3])
{
    pv_json_key(w, key);
    pv_json_open_inline(w, '[');
    for (int i = 0; i < 3; i++)
        pv_json_rounded(w, light[i], 4);
    pv_json_close(w, ']');
}

static void add_fill(pv_json_writer *w, const pv_fill_result *fill)
{
    pv_json_open_inline(w, '{');
    text(w, "colour", fill->colour);
    number_or_null(w, "x_mm", fill->x, 1, true);
    number_or_null(w, "y_mm", fill->y, 1, true);
    number_or_null(w, "area_mm2", fill->area, 0, true);
    add_light(w, "nominal", fill->nominal);
    add_light(w, "printed", fill->printed);
    shape_number(w, "strength", fill->strength, 4);
    shape_number(w, "missing", fill->missing, 4);
    shape_number(w, "mottle", fill->mottle, 4);
    pv_json_key(w, "gray");
    pv_json_bool(w, fill->gray);
    pv_json_key(w, "weak");
    pv_json_bool(w, fill->weak);
    pv_json_key(w, "fair");
    pv_json_bool(w, fill->fair);
    pv_json_close(w, '}');
}

static void add_flaw(const sheet_writer *s, const pv_flaw *flaw)
{
    pv_json_writer *w = s->w;
    pv_json_open_inline(w, '{');
    text(w, "kind", flaw->blob ? "blob" : "break");
    text(w, "line", s->in->lines[flaw->line].id);
    number_or_null(w, "x_mm", flaw->x, 2, true);
    number_or_null(w, "y_mm", flaw->y, 2, true);
    number_or_null(w, "length_mm", flaw->length, 2, true);
    number_or_null(w, "reach_mm", flaw->reach, 3, true);
    pv_json_close(w, '}');
}

static void add_lists(const sheet_writer *s)
{
    pv_json_writer *w = s->w;
    const pv_inspection *in = s->in;
    add_lines(s);
    pv_json_key(w, "spacings");
    pv_json_open(w, '[');
    for (size_t i = 0; i < in->n_spacings; i++)
        add_spacing(s, &in->spacings[i]);
    pv_json_close(w, ']');
    pv_json_key(w, "unpaired");
    pv_json_integer(w, (long long)in->unpaired);
    pv_json_key(w, "fills");
    pv_json_open(w, '[');
    for (size_t i = 0; i < in->n_fills; i++)
        add_fill(w, &in->fills[i]);
    pv_json_close(w, ']');
    pv_json_key(w, "flaws");
    pv_json_open(w, '[');
    for (size_t i = 0; i < in->n_flaws; i++)
        add_flaw(s, &in->flaws[i]);
    pv_json_close(w, ']');
    pv_json_key(w, "notes");
    pv_json_open(w, '[');
    for (size_t i = 0; i < in->n_notes; i++)
        pv_json_string(w, in->notes[i]);
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
    number_or_null(w, "skew_mrad", c->skew, 3, true);
    number_or_null(w, "ink_mm", c->ink, 4, true);
    pv_json_close(w, '}');
}

static void add_inspection(pv_json_writer *w, const pv_inspection *in, bool budget)
{
    sheet_writer s = {w, in, budget};
    pv_json_open(w, '{');
    text(w, "file", in->file);
    if (in->error != NULL) {
        text(w, "error", in->error);
        pv_json_close(w, '}');
        return;
    }
    text(w, "sheet", in->sheet);
    text(w, "kit", in->kit);
    text(w, "verdict", pv_verdict_name(in->verdict));
    text(w, "paper", in->paper);
    add_pair(w, "page_mm", in->page);
    pv_json_key(w, "photograph");
    pv_json_bool(w, in->photograph);
    add_correction(w, &in->corrected);
    add_reference(w, in);
    add_references(w, in);
    add_pair(w, "stated_px_per_mm", in->resolution);
    add_pair(w, "shown_px_per_mm", in->measured_resolution);
    pv_json_key(w, "scale");
    pv_json_open(w, '{');
    add_value(&s, "x", pv_judged_at(in, 0), 6);
    add_value(&s, "y", pv_judged_at(in, 1), 6);
    pv_json_close(w, '}');
    add_value(&s, "skew_mrad", pv_judged_at(in, 2), 3);
    add_ink(w, &in->ink);
    number_or_null(w, "turn_deg", in->turn, 4, true);
    number_or_null(w, "residual_px", in->residual, 4, true);
    number_or_null(w, "uneven_mm", in->uneven, 4, true);
    number_or_null(w, "lens", in->lens, 5, true);
    add_lists(&s);
    pv_json_close(w, '}');
}

char *pv_inspections_json(const pv_inspection *const *items, size_t n, bool budget)
{
    pv_json_writer w = PV_JSON_WRITER_INIT;
    pv_json_open(&w, '[');
    for (size_t i = 0; i < n; i++)
        add_inspection(&w, items[i], budget);
    pv_json_close(&w, ']');
    return pv_json_take(&w);
}
