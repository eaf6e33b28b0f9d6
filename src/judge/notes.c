#include "judge/notes.h"

#include "base/memory.h"
#include "judge/remedy.h"
#include "judge/results.h"
#include "measure/lines.h"
#include "measure/shape.h"
#include "po/po.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* When a note is due: assumed; nothing is decided by them. */
#define UNEVEN        0.05 /* mm, from which it is worth a word (assumed) */
#define NAMES_MAX     6    /* in one note */
#define SURFACE_WHOLE 0.75 /* of the cell; less is worth a word */

void pv_notes_take(pv_notes *notes, pv_text *text)
{
    bool empty = text->length == 0 && !text->failed;
    char *chars = empty ? NULL : pv_text_take(text);
    if (empty)
        return;
    if (chars == NULL || notes->failed || !PV_GROW(notes->items, notes->n, notes->cap)) {
        notes->failed = true;
        free(chars);
        return;
    }
    notes->items[notes->n++] = chars;
}

/* ---- image ---- */

void pv_notes_of_image(pv_notes *notes, const pv_inspection *in, const pv_plane *plane,
                       const pv_pose *pose)
{
    double dpi = pv_inspection_dpi(in);
    const pv_language *l = in->sheet.language;
    pv_text text = PV_TEXT_IN(in->sheet.language);
    if (dpi < PV_LEAST_DPI)
        pv_text_say(&text, "this image is only %s dpi: scan the sheet at 300 dpi",
                    pv_fixed(dpi, 0).chars);
    pv_notes_take(notes, &text);
    if (plane->bilevel)
        pv_text_say(&text, "the image is pure black and white, so edges are known only to half a "
                           "pixel, and marks lighter than mid grey do not show, so the sheet "
                           "cannot pass: scan in grey or colour");
    else if (in->sheet.surface < SURFACE_WHOLE)
        pv_text_add(
            &text,
            in->sheet.surface < PV_SURFACE_BOUND
                ? pv_say(l, "only %s %% of the sheet's cell could be compared with the course; the "
                            "rest is covered or out of the picture, so the sheet cannot pass: "
                            "uncover it and take the whole sheet")
                : pv_say(l, "only %s %% of the sheet's cell could be compared with the course; the "
                            "rest is covered or out of the picture. Marks there are not seen"),
            pv_fixed(100 * in->sheet.surface, 0).chars);
    pv_notes_take(notes, &text);
    if (in->sheet.uneven > UNEVEN)
        pv_text_add(
            &text,
            in->sheet.photograph
                ? pv_say(l, "places on this sheet are off by %s (RMS), unevenly, as on a sheet "
                            "that is not flat; the uncertainties allow for it: lay it flat and "
                            "photograph it again")
                : pv_say(l, "places on this sheet are off by %s (RMS), unevenly, as on a sheet "
                            "that is not flat; the uncertainties allow for it: does it lie flat on "
                            "the glass, and did the paper feed evenly?"),
            pv_inspection_length(in, in->sheet.uneven, 2).chars);
    pv_notes_take(notes, &text);
    size_t all = pose->used + pose->rejected;
    if (all > 0 && pose->rejected > all / 5)
        pv_text_say(&text,
                    "%zu of %zu places on crosses, bars and lines are not where the rest of the "
                    "sheet puts them: is the sheet creased, or not lying flat?",
                    pose->rejected, all);
    pv_notes_take(notes, &text);
}

/* ---- lines by name ---- */

typedef bool line_test(const pv_line_result *line);

static bool unseen(const pv_line_result *line)
{
    return line->planned == 0 && !line->too_thin;
}

/* Too thin even for the best resolution that is advised. */
static bool none_shows(const pv_line_result *line)
{
    return line->too_thin && !pv_finer_shows(line);
}

static bool patchy(const pv_line_result *line)
{
    return line->planned > 0 && 2 * line->stations < line->planned;
}

static bool grayed_line(const pv_line_result *line)
{
    return line->gray;
}

/* A note of the lines that pass: `lead`, their ids, `tail`, both said already. */
static void note_lines(pv_notes *notes, const pv_inspection *in, line_test *test, const char *lead,
                       const char *tail)
{
    pv_text text = PV_TEXT_IN(in->sheet.language);
    size_t n = 0;
    for (size_t i = 0; i < in->table.n_lines; i++)
        if (test(&in->table.lines[i]) && ++n <= NAMES_MAX)
            pv_text_add(&text, "%s%s", n > 1 ? ", " : lead, in->table.lines[i].id);
    if (n > NAMES_MAX)
        pv_text_say(&text, " and %zu more", n - NAMES_MAX);
    if (n > 0)
        pv_text_add(&text, "%s", tail);
    pv_notes_take(notes, &text);
}

static void lines_unmeasured(pv_notes *notes, const pv_inspection *in)
{
    const pv_language *l = in->sheet.language;
    pv_text text = PV_TEXT_IN(in->sheet.language);
    pv_text_say(&text, "too thin to measure at %s dpi; scan at %s dpi: ",
                pv_fixed(pv_inspection_dpi(in), 0).chars, pv_fixed(PV_BEST_DPI, 0).chars);
    notes->failed = notes->failed || text.failed;
    if (!text.failed)
        note_lines(notes, in, pv_finer_shows, text.chars, "");
    pv_text_drop(&text);
    note_lines(notes, in, none_shows,
               pv_say(l, "too thin to measure even at 600 dpi (under 0.9 mm): "), "");
    note_lines(notes, in, unseen,
               pv_say(l, "not measured, because on this sheet both edges are never clear for long "
                         "enough: "),
               "");
    note_lines(
        notes, in, patchy,
        pv_say(l, "undecided, because an edge was not found at more than half of the places: "),
        pv_say(l, ". Is the print faded or covered?"));
    if (in->sheet.unsought)
        pv_text_say(&text, "this sheet has too much line to look for breaks along all of it, so it "
                           "cannot pass: print the course on smaller sheets");
    pv_notes_take(notes, &text);
    if (in->sheet.unpaired > 0)
        pv_text_say(
            &text,
            "this sheet has too many lines to measure every spacing (the limit is %d pieces of "
            "lines); %zu were left out, so it cannot pass: print the course on smaller sheets",
            PV_SPACING_RUNS_MAX, in->sheet.unpaired);
    pv_notes_take(notes, &text);
}

/* ---- shape: what isn't fair ---- */

static const pv_flaw *first_flaw(const pv_measures *table, size_t line, bool blob)
{
    for (size_t i = 0; i < table->n_flaws; i++)
        if (table->flaws[i].line == line && table->flaws[i].blob == blob)
            return &table->flaws[i];
    return NULL;
}

/* "quay is broken in 2 places, 3.4 mm in all, the first at x = 12 mm, y = 80 mm of the mat" */
static void add_flaws(pv_text *text, const pv_inspection *in, const pv_value *row)
{
    const pv_language *l = text->language;
    bool blob = row->kind == PV_KIND_BLOBS;
    const pv_flaw *flaw = first_flaw(&in->table, row->subject, blob);
    const char *many =
        blob ? pv_say_count(l, "line %s bulges in %zu place, %s in all",
                            "line %s bulges in %zu places, %s in all", row->places)
             : pv_say_count(l, "line %s is broken in %zu place, %s in all",
                            "line %s is broken in %zu places, %s in all", row->places);
    pv_text_add(text, many, row->name, row->places, pv_inspection_length(in, row->value, 1).chars);
    if (flaw != NULL)
        pv_text_add(text,
                    row->places == 1 ? pv_say(l, ", at x = %s, y = %s of the mat")
                                     : pv_say(l, ", the first at x = %s, y = %s of the mat"),
                    pv_inspection_length(in, flaw->x, 0).chars,
                    pv_inspection_length(in, flaw->y, 0).chars);
}

/* "black about x = 12 mm, y = 80 mm of the mat (7 % of it bare)" */
static void add_area(pv_text *text, const pv_inspection *in, const pv_fill_result *fill,
                     const pv_value *row)
{
    pv_text_say(text, "%s about x = %s, y = %s of the mat", fill->colour,
                pv_inspection_length(in, fill->x, 0).chars,
                pv_inspection_length(in, fill->y, 0).chars);
    if (row != NULL && row->kind == PV_KIND_MISSING)
        pv_text_say(text, " (%s %% of it bare)", pv_fixed(100 * row->value, 0).chars);
    if (row != NULL && row->kind == PV_KIND_STRENGTH)
        pv_text_say(text, " (%s %% of its strength)", pv_fixed(100 * row->value, 0).chars);
}

/* What there is to say of rows of one kind that aren't fair. */
typedef struct shape_fault {
    pv_value_kind kind;
    const char *lead, *advice;
    const char *withheld; /* added where such a row keeps the sheet from passing */
} shape_fault;

static const shape_fault faults[] = {
    {PV_KIND_BREAKS, "",
     PV_SAID(": look for a blocked nozzle, a scratched drum or a crease, and reprint the sheet"),
     PV_SAID("; a robot may lose such a line, so the sheet cannot pass")},
    {PV_KIND_BLOBS, "",
     PV_SAID(": wipe the scanner's glass and scan again. If they stay, it is ink: clean the "
             "printer's rollers, or use a heavier, coated paper"),
     ""},
    {PV_KIND_RAGGED, PV_SAID("ragged edges: line "),
     PV_SAID(": use smoother paper and the printer's best quality"), ""},
    {PV_KIND_CONTRAST, PV_SAID("far too little contrast with its surroundings: line "),
     PV_SAID(": a robot may not see it. Replace the toner or ink, switch toner saving off, and "
             "reprint the sheet"),
     ""},
    {PV_KIND_MISSING, PV_SAID("ink is missing in "),
     PV_SAID(": look at the sheet, and reprint it if that matters"),
     PV_SAID("; so much is missing that the sheet cannot pass")},
    {PV_KIND_STRENGTH, PV_SAID("printed far too faint: "),
     PV_SAID(": replace the toner or ink, and switch toner saving off"), ""},
    {PV_KIND_MOTTLE, PV_SAID("uneven ink in "),
     PV_SAID(": clean the print head, or use another paper, and reprint the sheet"), ""},
};

static void note_fault(pv_notes *notes, const pv_inspection *in, const shape_fault *fault)
{
    const pv_language *l = in->sheet.language;
    bool flaw = fault->kind == PV_KIND_BREAKS || fault->kind == PV_KIND_BLOBS, withheld = false;
    bool area = pv_kind_of(fault->kind)->of == PV_OF_AREA;
    pv_text text = PV_TEXT_IN(in->sheet.language);
    size_t n = 0;
    for (size_t i = 0; i < in->table.n_values; i++) {
        const pv_value *row = &in->table.values[i];
        if (row->kind != fault->kind || row->fair ||
            (area && in->table.fills[row->subject].whitened))
            continue;
        withheld = withheld || pv_value_withholds(in, row);
        if (n++ >= NAMES_MAX)
            continue;
        pv_text_add(&text, "%s", n == 1 ? pv_say(l, fault->lead) : flaw || area ? "; " : ", ");
        if (flaw)
            add_flaws(&text, in, row);
        else if (area)
            add_area(&text, in, &in->table.fills[row->subject], row);
        else
            pv_text_add(&text, "%s", row->name);
    }
    if (n > NAMES_MAX)
        pv_text_say(&text, " and %zu more", n - NAMES_MAX);
    if (n > 0)
        pv_text_add(&text, "%s%s", pv_say(l, fault->advice),
                    withheld ? pv_say(l, fault->withheld) : "");
    pv_notes_take(notes, &text);
}

/* Pale colours that are gone all over: each by its name, once. */
static void note_whitened(pv_notes *notes, const pv_inspection *in)
{
    pv_text text = PV_TEXT_IN(in->sheet.language);
    size_t n = 0;
    for (size_t i = 0; i < in->table.n_fills; i++) {
        const pv_fill_result *fill = &in->table.fills[i];
        bool again = false;
        for (size_t k = 0; k < i; k++)
            again = again || (in->table.fills[k].whitened &&
                              strcmp(in->table.fills[k].colour, fill->colour) == 0);
        if (!fill->whitened || again || n++ >= NAMES_MAX)
            continue;
        pv_text_add(&text, "%s%s", n == 1 ? "" : ", ", fill->colour);
    }
    if (n > 0)
        pv_text_add(
            &text, "%s",
            in->sheet.photograph
                ? pv_say(text.language,
                         " came out as white as paper, while dark ink is well printed. The camera "
                         "may have whitened it (overexposure), so this picture cannot tell whether "
                         "it is printed, and the sheet cannot pass. Look at the sheet: if the "
                         "colour is there, photograph the sheet again with less exposure; if the "
                         "paper is bare there, replace the ink and print the sheet again")
                : pv_say(text.language,
                         " came out as white as paper, while dark ink is well printed. The scanner "
                         "may have whitened it (automatic exposure, \"remove background\", a text "
                         "mode), so this picture cannot tell whether it is printed, and the sheet "
                         "cannot pass. Look at the sheet: if the colour is there, switch those "
                         "settings off and scan again, in colour or as a photo; if the paper is "
                         "bare there, replace the ink and print the sheet again"));
    pv_notes_take(notes, &text);
}

/* Of areas, or of lines where no area tells. */
static void note_gray(pv_notes *notes, const pv_inspection *in)
{
    const pv_language *l = in->sheet.language;
    const char *advice = pv_say(l, ": switch off \"greyscale\" or \"black only\" and reprint");
    pv_text text = PV_TEXT_IN(l);
    size_t n = 0;
    for (size_t i = 0; i < in->table.n_fills; i++) {
        const pv_fill_result *fill = &in->table.fills[i];
        if (!fill->gray || n++ >= NAMES_MAX)
            continue;
        pv_text_add(&text, "%s",
                    n > 1 ? "; "
                          : pv_say(l, "the course asks for colour, but the print is grey: "));
        add_area(&text, in, fill, NULL);
    }
    if (n > NAMES_MAX)
        pv_text_say(&text, " and %zu more", n - NAMES_MAX);
    if (n > 0)
        pv_text_add(&text, "%s", advice);
    pv_notes_take(notes, &text);
    if (n == 0)
        note_lines(notes, in, grayed_line,
                   pv_say(l, "the course asks for colour, but the print is grey: line "), advice);
}

/* ---- many values ---- */

/* Values that lie outside one by one, but no more of them than chance explains. */
static void note_chance(pv_notes *notes, const pv_inspection *in, pv_value_kind kind)
{
    pv_kind_result one;
    pv_text text = PV_TEXT_IN(in->sheet.language);
    text.failed = !pv_results_of_kind(in, kind, &one);
    if (!text.failed && one.outside > 0 && one.verdict != PV_DOES_NOT_CONFORM)
        pv_text_say(&text,
                    "%zu of %zu %s just outside tolerance. With so many values this can be chance, "
                    "so it does not fail the sheet: inspect a second image of it",
                    one.outside, one.n, pv_say(text.language, pv_kind_of(kind)->plural));
    pv_notes_take(notes, &text);
}

/* ---- what would settle it ---- */

/* Undecided values that the same remedies would settle. */
typedef struct doubt {
    size_t n, of_kind[PV_KINDS];
    const pv_value *worst; /* whose U must shrink most */
} doubt;

static doubt gather(const pv_inspection *in, unsigned remedy)
{
    doubt d = {.n = 0};
    double most = 0;
    for (size_t i = 0; i < in->table.n_values; i++) {
        const pv_value *row = &in->table.values[i];
        if (!row->counts || row->remedy != remedy || !(row->U_needed > 0))
            continue;
        double much = row->U / row->U_needed;
        d.of_kind[row->kind]++;
        if (d.n++ == 0 || much > most) {
            d.worst = row;
            most = much;
        }
    }
    return d;
}

/* "2 scales, 3 widths" */
static void add_counts(pv_text *text, const doubt *d)
{
    const pv_language *l = text->language;
    const char *joint = "";
    for (int i = 0; i < PV_KINDS; i++) {
        const pv_kind_info *kind = pv_kind_of((pv_value_kind)i);
        size_t n = d->of_kind[i];
        if (n == 0)
            continue;
        if (n == 1 && kind->of == PV_OF_SHEET)
            pv_text_add(text, "%s%s", joint, pv_say(l, kind->name));
        else
            pv_text_add(text, "%s%zu %s", joint, n, pv_say(l, n == 1 ? kind->name : kind->plural));
        joint = ", ";
    }
}

/* "scale x", "skew", "berth", "berth - quay" */
static void add_name(pv_text *text, const pv_value *row)
{
    const pv_kind_info *kind = pv_kind_of(row->kind);
    if (kind->of == PV_OF_SHEET)
        pv_text_add(text, "%s%s%s", pv_say(text->language, kind->name),
                    row->name[0] != '\0' ? " " : "", row->name);
    else
        pv_text_add(text, "%s%s%s", row->name, row->to[0] != '\0' ? " - " : "", row->to);
}

/* One note for all that the same remedies would settle, with the worst of them. What has no
 * reference, and lines that are not seen, have notes of their own. Where the sheet doesn't conform
 * anyhow there is nothing to settle. */
static void note_undecided(pv_notes *notes, const pv_inspection *in, unsigned remedy)
{
    doubt d = gather(in, remedy);
    pv_text text = PV_TEXT_IN(in->sheet.language);
    if (d.n > 0) {
        pv_text_say(&text, "undecided: ");
        add_counts(&text, &d);
        pv_text_add(&text, " (");
        add_name(&text, d.worst);
        pv_text_add(&text, ": ");
        pv_remedy_need(&text, d.worst);
        pv_text_say(&text, "). To settle this, ");
        pv_remedy_advice(&text, in, remedy);
    }
    pv_notes_take(notes, &text);
}

void pv_notes_of_results(pv_notes *notes, const pv_inspection *in)
{
    lines_unmeasured(notes, in);
    for (size_t i = 0; i < sizeof faults / sizeof *faults; i++)
        note_fault(notes, in, &faults[i]);
    note_whitened(notes, in);
    note_gray(notes, in);
    for (int kind = 0; kind < PV_KINDS; kind++)
        note_chance(notes, in, (pv_value_kind)kind);
}

void pv_notes_of_doubts(pv_notes *notes, const pv_inspection *in)
{
    for (unsigned remedy = 1;
         in->sheet.verdict != PV_DOES_NOT_CONFORM && remedy < 2 * PV_REMEDY_PRINT; remedy++)
        note_undecided(notes, in, remedy);
}

void pv_notes_clear(pv_notes *notes)
{
    for (size_t i = 0; i < notes->n; i++)
        free(notes->items[i]);
    free(notes->items);
    *notes = (pv_notes){0};
}
