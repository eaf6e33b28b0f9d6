/* Inspections for machines; docs/inspection-format.md has the keys. */
#include "json/json.h"

#include <pavior/inspect.h>

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

static void add_value(pv_json_writer *w, const char *key, const pv_value *value, int decimals)
{
    pv_json_key(w, key);
    pv_json_open_inline(w, '{');
    number_or_null(w, "value", value->value, decimals, value->measured);
    number_or_null(w, "U", value->U, decimals, value->measured);
    number_or_null(w, "tolerance", value->tolerance, decimals, true);
    text(w, "verdict", pv_verdict_name(value->verdict));
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

static void add_line(pv_json_writer *w, const pv_line_result *line)
{
    pv_json_open_inline(w, '{');
    text(w, "id", line->id);
    number_or_null(w, "nominal_mm", line->nominal, 4, true);
    number_or_null(w, "width_mm", line->width.value, 4, true);
    number_or_null(w, "U_mm", line->width.U, 4, true);
    number_or_null(w, "tolerance_mm", line->width.tolerance, 4, true);
    text(w, "verdict", pv_verdict_name(line->width.verdict));
    pv_json_key(w, "stations");
    pv_json_integer(w, (long long)line->stations);
    pv_json_key(w, "planned");
    pv_json_integer(w, (long long)line->planned);
    number_or_null(w, "bow_mm", line->straight.value, 4, line->straight.measured);
    number_or_null(w, "bow_U_mm", line->straight.U, 4, line->straight.measured);
    number_or_null(w, "bow_tolerance_mm", line->straight.tolerance, 4, true);
    text(w, "bow_verdict", pv_verdict_name(line->straight.verdict));
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

static void add_spacing(pv_json_writer *w, const pv_spacing_result *spacing)
{
    const pv_value *value = &spacing->value;
    pv_json_open_inline(w, '{');
    text(w, "from", spacing->from);
    text(w, "to", spacing->to);
    number_or_null(w, "nominal_mm", spacing->nominal, 4, true);
    number_or_null(w, "value_mm", value->value, 4, value->measured);
    number_or_null(w, "U_mm", value->U, 4, value->measured);
    number_or_null(w, "tolerance_mm", value->tolerance, 4, true);
    text(w, "verdict", pv_verdict_name(value->verdict));
    pv_json_close(w, '}');
}

static void add_lists(pv_json_writer *w, const pv_inspection *in)
{
    pv_json_key(w, "lines");
    pv_json_open(w, '[');
    for (size_t i = 0; i < in->n_lines; i++)
        if (in->lines[i].width.measured)
            add_line(w, &in->lines[i]);
    pv_json_close(w, ']');
    pv_json_key(w, "unmeasured");
    pv_json_open(w, '[');
    for (size_t i = 0; i < in->n_lines; i++)
        if (!in->lines[i].width.measured)
            add_unmeasured(w, &in->lines[i]);
    pv_json_close(w, ']');
    pv_json_key(w, "spacings");
    pv_json_open(w, '[');
    for (size_t i = 0; i < in->n_spacings; i++)
        add_spacing(w, &in->spacings[i]);
    pv_json_close(w, ']');
    pv_json_key(w, "notes");
    pv_json_open(w, '[');
    for (size_t i = 0; i < in->n_notes; i++)
        pv_json_string(w, in->notes[i]);
    pv_json_close(w, ']');
}

static void add_inspection(pv_json_writer *w, const pv_inspection *in)
{
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
    add_reference(w, in);
    add_references(w, in);
    add_pair(w, "stated_px_per_mm", in->resolution);
    add_pair(w, "shown_px_per_mm", in->measured_resolution);
    pv_json_key(w, "scale");
    pv_json_open(w, '{');
    add_value(w, "x", &in->scale[0], 6);
    add_value(w, "y", &in->scale[1], 6);
    pv_json_close(w, '}');
    add_value(w, "skew_mrad", &in->skew, 3);
    add_measured(w, "ink_mm", in->ink.value, in->ink.measured ? in->ink.U : 0, 4);
    number_or_null(w, "turn_deg", in->turn, 4, true);
    number_or_null(w, "residual_px", in->residual, 4, true);
    add_lists(w, in);
    pv_json_close(w, '}');
}

char *pv_inspections_json(const pv_inspection *const *items, size_t n)
{
    pv_json_writer w = PV_JSON_WRITER_INIT;
    pv_json_open(&w, '[');
    for (size_t i = 0; i < n; i++)
        add_inspection(&w, items[i]);
    pv_json_close(&w, ']');
    return pv_json_take(&w);
}
