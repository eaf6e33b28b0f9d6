#include "judge/notes.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>

#define DPI_LEAST 145.0 /* below that edges blur into their surroundings */
#define NAMES_MAX 6     /* in one note */

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

/* ---- scale ---- */

void pv_notes_of_scale(pv_notes *notes, const pv_inspection *in)
{
    const pv_value *x = &in->scale[0], *y = &in->scale[1];
    if (!x->measured || !y->measured)
        return;
    if (x->verdict != PV_DOES_NOT_CONFORM && y->verdict != PV_DOES_NOT_CONFORM)
        return;
    pv_text text = PV_TEXT_INIT;
    double both = (x->value + y->value) / 2, apart = fabs(x->value - y->value);
    if (fabs(both - 1) > 0.015 && apart < 0.01)
        pv_text_add(&text,
                    "the page came out at %s %%: print it again at 100 %% (\"actual size\"), "
                    "with fitting to the page switched off",
                    pv_fixed(100 * both, 1).chars);
    else if (apart < 0.25 * fabs(both - 1))
        pv_text_add(&text, "the printer makes everything %s %% too %s, alike in both directions",
                    pv_fixed(100 * fabs(both - 1), 2).chars, both > 1 ? "large" : "small");
    else
        pv_text_add(&text,
                    "the printer's scale differs between the directions: %s %% across the page, "
                    "%s %% along it; paper feed and paper that takes up moisture do that",
                    pv_fixed(100 * x->value, 2).chars, pv_fixed(100 * y->value, 2).chars);
    pv_notes_take(notes, &text);
}

/* ---- image ---- */

void pv_notes_of_image(pv_notes *notes, const pv_inspection *in, const pv_plane *plane,
                       const pv_pose *pose)
{
    double dpi = fmin(in->measured_resolution[0], in->measured_resolution[1]) * PV_MM_PER_IN;
    pv_text text = PV_TEXT_INIT;
    if (dpi < DPI_LEAST)
        pv_text_add(&text, "the sheet shows at %s dpi only: scan it at 300 dpi",
                    pv_fixed(dpi, 0).chars);
    pv_notes_take(notes, &text);
    if (plane->bilevel)
        pv_text_add(&text, "the image is in black and white without any gray, so that edges are "
                           "known to half a pixel only: scan in gray or colour");
    pv_notes_take(notes, &text);
    size_t all = pose->used + pose->rejected;
    if (all > 0 && pose->rejected > all / 5)
        pv_text_add(&text,
                    "%zu of %zu places on crosses, bars and lines are not where the rest of the "
                    "sheet has them: is the sheet creased, or not lying flat?",
                    pose->rejected, all);
    pv_notes_take(notes, &text);
}

/* ---- lines ---- */

typedef bool line_test(const pv_line_result *line);

static bool unseen(const pv_line_result *line)
{
    return line->planned == 0;
}

static bool patchy(const pv_line_result *line)
{
    return line->planned > 0 && 2 * line->stations < line->planned;
}

/* The ids of the lines that pass, separated by commas; how many they are. */
static size_t name_lines(pv_text *text, const pv_inspection *in, line_test *test)
{
    size_t n = 0;
    for (size_t i = 0; i < in->n_lines; i++)
        if (test(&in->lines[i]) && ++n <= NAMES_MAX)
            pv_text_add(text, "%s%s", n > 1 ? ", " : "", in->lines[i].id);
    if (n > NAMES_MAX)
        pv_text_add(text, " and %zu more", n - NAMES_MAX);
    return n;
}

void pv_notes_of_lines(pv_notes *notes, const pv_inspection *in)
{
    pv_text text = PV_TEXT_INIT, names = PV_TEXT_INIT;
    if (name_lines(&names, in, unseen) > 0)
        pv_text_add(&text,
                    "not measured, because nowhere on this sheet both edges stand clear for long "
                    "enough: %s",
                    names.chars != NULL ? names.chars : "");
    text.failed = text.failed || names.failed;
    pv_notes_take(notes, &text);
    pv_text_drop(&names);
    if (name_lines(&names, in, patchy) > 0)
        pv_text_add(&text,
                    "at more than half of its places an edge was not found, so the line is "
                    "undecided: %s. Is it faded, or is something lying on it?",
                    names.chars != NULL ? names.chars : "");
    text.failed = text.failed || names.failed;
    pv_notes_take(notes, &text);
    pv_text_drop(&names);
}

/* ---- what would settle it ---- */

/* How many measured values are too near to their limit, and for how many of them the scanner's own
 * uncertainty is most of it. */
typedef struct doubt {
    size_t n, scanner;
} doubt;

/* `length` as far as the scanner's relative uncertainty works on it. */
static void doubt_value(doubt *d, const pv_inspection *in, const pv_value *value, double length)
{
    if (!value->measured || value->verdict != PV_UNDECIDED)
        return;
    double scanner = in->reference_U_rel * fabs(length);
    d->n++;
    d->scanner += 2 * scanner * scanner > value->U * value->U;
}

void pv_notes_of_undecided(pv_notes *notes, const pv_inspection *in)
{
    if (in->reference == PV_REFERENCE_NONE)
        return; /* the reference's own note says it */
    doubt d = {0, 0};
    doubt_value(&d, in, &in->scale[0], in->scale[0].value);
    doubt_value(&d, in, &in->scale[1], in->scale[1].value);
    doubt_value(&d, in, &in->skew, 1000);
    for (size_t i = 0; i < in->n_lines; i++) {
        if (patchy(&in->lines[i]))
            continue;
        doubt_value(&d, in, &in->lines[i].width, in->lines[i].width.value);
        doubt_value(&d, in, &in->lines[i].straight, 0);
    }
    for (size_t i = 0; i < in->n_spacings; i++)
        doubt_value(&d, in, &in->spacings[i].value, in->spacings[i].value.value);
    pv_text text = PV_TEXT_INIT;
    if (d.scanner > 0)
        pv_text_add(&text,
                    "%zu value%s too near to the limit for a scanner that is good to %s %%: scan "
                    "a steel rule or a calibrated target, find by how much this scanner is off, "
                    "and give what is left with --scanner-uncertainty (and its true resolution "
                    "with --dpi)",
                    d.scanner, d.scanner > 1 ? "s are" : " is",
                    pv_fixed(100 * in->reference_U_rel, 2).chars);
    pv_notes_take(notes, &text);
    if (d.n > d.scanner)
        pv_text_add(&text,
                    "%zu value%s too near to the limit for what this picture shows of the edges: "
                    "scan at a higher resolution (600 dpi), in colour or gray, without sharpening",
                    d.n - d.scanner, d.n - d.scanner > 1 ? "s are" : " is");
    pv_notes_take(notes, &text);
}
