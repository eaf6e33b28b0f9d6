#include "report/shape.h"

/* Negative means that it wasn't measured. */
static void positive(pv_json_writer *w, const char *key, double value, int decimals)
{
    pv_json_key(w, key);
    if (value >= 0)
        pv_json_rounded(w, value, decimals);
    else
        pv_json_string(w, NULL);
}

static void number(pv_json_writer *w, const char *key, double value, int decimals)
{
    pv_json_key(w, key);
    pv_json_rounded(w, value, decimals);
}

static void yes_or_no(pv_json_writer *w, const char *key, bool value)
{
    pv_json_key(w, key);
    pv_json_bool(w, value);
}

static void count(pv_json_writer *w, const char *key, size_t n)
{
    pv_json_key(w, key);
    pv_json_integer(w, (long long)n);
}

static void triple(pv_json_writer *w, const char *key, const double light[3])
{
    pv_json_key(w, key);
    pv_json_open_inline(w, '[');
    for (int c = 0; c < 3; c++)
        pv_json_rounded(w, light[c], 4);
    pv_json_close(w, ']');
}

void pv_shape_json(pv_json_writer *w, const pv_shape *shape)
{
    pv_json_key(w, "shape");
    pv_json_open_inline(w, '{');
    positive(w, "raggedness_mm", shape->raggedness, 4);
    positive(w, "blurriness_mm", shape->blurriness, 4);
    positive(w, "reflectance", shape->reflectance, 4);
    positive(w, "contrast", shape->contrast, 4);
    positive(w, "nominal_contrast", shape->nominal_contrast, 4);
    count(w, "breaks", shape->breaks);
    number(w, "broken_mm", shape->broken, 3);
    count(w, "blobs", shape->blobs);
    number(w, "blobbed_mm", shape->blobbed, 3);
    number(w, "looked_mm", shape->looked, 1);
    yes_or_no(w, "gray", shape->gray);
    yes_or_no(w, "fair", shape->fair);
    pv_json_close(w, '}');
}

static void add_fill(pv_json_writer *w, const pv_fill_result *fill)
{
    pv_json_open_inline(w, '{');
    pv_json_key(w, "colour");
    pv_json_string(w, fill->colour);
    number(w, "x_mm", fill->x, 1);
    number(w, "y_mm", fill->y, 1);
    number(w, "area_mm2", fill->area, 0);
    triple(w, "nominal", fill->nominal);
    triple(w, "printed", fill->printed);
    number(w, "strength", fill->strength, 3);
    positive(w, "missing", fill->missing, 4);
    number(w, "mottle", fill->mottle, 4);
    yes_or_no(w, "gray", fill->gray);
    yes_or_no(w, "weak", fill->weak);
    yes_or_no(w, "fair", fill->fair);
    pv_json_close(w, '}');
}

static void add_flaw(pv_json_writer *w, const pv_inspection *in, const pv_flaw *flaw)
{
    pv_json_open_inline(w, '{');
    pv_json_key(w, "line");
    pv_json_string(w, in->lines[flaw->line].id);
    pv_json_key(w, "kind");
    pv_json_string(w, flaw->blob ? "blob" : "break");
    number(w, "x_mm", flaw->x, 2);
    number(w, "y_mm", flaw->y, 2);
    number(w, "length_mm", flaw->length, 3);
    number(w, flaw->blob ? "reach_mm" : "width_mm", flaw->reach, 3);
    pv_json_close(w, '}');
}

void pv_shapes_json(pv_json_writer *w, const pv_inspection *in)
{
    pv_json_key(w, "fills");
    pv_json_open(w, '[');
    for (size_t i = 0; i < in->n_fills; i++)
        add_fill(w, &in->fills[i]);
    pv_json_close(w, ']');
    pv_json_key(w, "flaws");
    pv_json_open(w, '[');
    for (size_t i = 0; i < in->n_flaws; i++)
        add_flaw(w, in, &in->flaws[i]);
    pv_json_close(w, ']');
}
