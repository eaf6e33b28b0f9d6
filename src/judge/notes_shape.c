#include "judge/notes_shape.h"

#include "judge/results.h"
#include "measure/shape.h"

#define NAMES_MAX 5 /* in one note */

/* ---- flaws of lines ---- */

static const pv_flaw *first_flaw(const pv_inspection *in, size_t line, bool blob)
{
    for (size_t i = 0; i < in->n_flaws; i++)
        if (in->flaws[i].line == line && in->flaws[i].blob == blob)
            return &in->flaws[i];
    return NULL;
}

static void add_flaws(pv_text *text, const pv_inspection *in, size_t line, bool blob)
{
    const pv_line_result *one = &in->lines[line];
    size_t n = blob ? one->shape.blobs : one->shape.breaks;
    double length = blob ? one->shape.blobbed : one->shape.broken;
    const pv_flaw *flaw = first_flaw(in, line, blob);
    pv_text_add(text, "%s %s in %zu place%s, %s mm in all", one->id, blob ? "bulges" : "is broken",
                n, n == 1 ? "" : "s", pv_fixed(length, 1).chars);
    if (flaw != NULL)
        pv_text_add(text, ", %sat x = %s mm, y = %s mm of the mat", n == 1 ? "" : "the first ",
                    pv_fixed(flaw->x, 0).chars, pv_fixed(flaw->y, 0).chars);
}

/* One note for all lines with that kind of flaw. */
static void note_flaws(pv_notes *notes, const pv_inspection *in, bool blob)
{
    pv_text text = PV_TEXT_INIT;
    size_t n = 0;
    bool withheld = false;
    for (size_t i = 0; i < in->n_lines; i++) {
        const pv_shape *shape = &in->lines[i].shape;
        if ((blob ? shape->blobs : shape->breaks) == 0)
            continue;
        withheld = withheld || (!blob && pv_line_withholds(in, i));
        if (n++ < NAMES_MAX) {
            pv_text_add(&text, "%s", n == 1 ? "line " : "; line ");
            add_flaws(&text, in, i, blob);
        }
    }
    if (n > NAMES_MAX)
        pv_text_add(&text, "; and %zu lines more", n - NAMES_MAX);
    if (n > 0 && blob)
        pv_text_add(&text, ": wipe the scanner's glass and scan again; if they stay, it is ink: "
                           "clean the printer's rollers, or use a heavier, coated paper");
    if (n > 0 && !blob)
        pv_text_add(&text,
                    ": look for a blocked nozzle, a scratched drum or a crease, and print the "
                    "sheet again%s",
                    withheld ? "; a robot may lose such a line, so the sheet isn't called "
                               "conforming"
                             : "");
    pv_notes_take(notes, &text);
}

typedef bool line_rule(const pv_shape *shape);

static bool ragged(const pv_shape *shape)
{
    return shape->raggedness > PV_RAGGED_FAIR;
}

static bool hueless(const pv_shape *shape)
{
    return shape->gray;
}

static void note_lines(pv_notes *notes, const pv_inspection *in, line_rule *rule, const char *lead,
                       const char *advice)
{
    pv_text text = PV_TEXT_INIT;
    size_t n = 0;
    for (size_t i = 0; i < in->n_lines; i++)
        if (rule(&in->lines[i].shape) && n++ < NAMES_MAX)
            pv_text_add(&text, "%s%s", n == 1 ? lead : ", ", in->lines[i].id);
    if (n > NAMES_MAX)
        pv_text_add(&text, " and %zu more", n - NAMES_MAX);
    if (n > 0)
        pv_text_add(&text, ": %s", advice);
    pv_notes_take(notes, &text);
}

/* ---- areas ---- */

typedef bool fill_rule(const pv_fill_result *fill);

static bool lacking(const pv_fill_result *fill)
{
    return fill->missing >= PV_MISSING_FAIR;
}

static bool weak(const pv_fill_result *fill)
{
    return fill->weak;
}

static bool grayed(const pv_fill_result *fill)
{
    return fill->gray;
}

static bool mottled(const pv_fill_result *fill)
{
    return fill->mottle > PV_MOTTLE_FAIR;
}

static void note_fills(pv_notes *notes, const pv_inspection *in, fill_rule *rule, const char *lead,
                       const char *advice)
{
    pv_text text = PV_TEXT_INIT;
    size_t n = 0;
    for (size_t i = 0; i < in->n_fills; i++) {
        const pv_fill_result *fill = &in->fills[i];
        if (!rule(fill) || n++ >= NAMES_MAX)
            continue;
        pv_text_add(&text, "%s%s about x = %s mm, y = %s mm of the mat", n == 1 ? lead : "; ",
                    fill->colour, pv_fixed(fill->x, 0).chars, pv_fixed(fill->y, 0).chars);
        if (rule == lacking)
            pv_text_add(&text, " (%s %% of it bare)", pv_fixed(100 * fill->missing, 0).chars);
        if (rule == weak)
            pv_text_add(&text, " (%s %% of its strength)", pv_fixed(100 * fill->strength, 0).chars);
    }
    if (n > NAMES_MAX)
        pv_text_add(&text, "; and %zu areas more", n - NAMES_MAX);
    if (n > 0)
        pv_text_add(&text, ": %s", advice);
    pv_notes_take(notes, &text);
}

static bool any_missing_much(const pv_inspection *in)
{
    for (size_t i = 0; i < in->n_fills; i++)
        if (in->fills[i].missing >= PV_MISSING_BOUND)
            return true;
    return false;
}

void pv_notes_of_shape(pv_notes *notes, const pv_inspection *in)
{
    note_flaws(notes, in, false);
    note_flaws(notes, in, true);
    note_lines(notes, in, ragged, "the edges are ragged of ",
               "use a smoother paper, and the printer's best quality");
    note_lines(notes, in, pv_shape_faint,
               "far too little contrast with what is beside it has line ",
               "a robot may not see it; replace the toner or ink, switch saving of toner off, and "
               "print again");
    note_fills(notes, in, lacking, "ink is missing in ",
               any_missing_much(in) ? "print the sheet again; it isn't called conforming"
                                    : "look at the sheet, and print it again if that matters");
    note_fills(notes, in, weak, "printed far too faint: ",
               "replace the toner or ink, and switch saving of toner off");
    const char *gray = "print with \"gray\" or \"black only\" switched off";
    note_fills(notes, in, grayed, "the course asks for a colour and the print is gray: ", gray);
    bool fills = false;
    for (size_t i = 0; i < in->n_fills; i++)
        fills = fills || in->fills[i].gray;
    if (!fills)
        note_lines(notes, in, hueless, "the course asks for a colour and the print is gray: line ",
                   gray);
    note_fills(notes, in, mottled, "uneven ink in ",
               "clean the print head, or use another paper, and print again");
}
