#include "judge/notes.h"

#include "base/memory.h"
#include "judge/remedy.h"
#include "judge/results.h"
#include "measure/lines.h"

#include <math.h>
#include <stdlib.h>

#define DPI_LEAST 145.0 /* below that edges blur into their surroundings */
#define UNEVEN    0.05  /* mm, from which it is worth a word */
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

void pv_notes_of_scale(pv_notes *notes, const pv_inspection *in, bool proof)
{
    const char *next = proof ? "calibrate by this page, and print the sheets with --printer"
                             : "calibrate by a proof page (pavior sheets --proof), and print again "
                               "with --printer";
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
        pv_text_add(&text,
                    "the printer makes everything %s %% too %s, alike in both directions: %s",
                    pv_fixed(100 * fabs(both - 1), 2).chars, both > 1 ? "large" : "small", next);
    else
        pv_text_add(&text,
                    "the printer's scale differs between the directions: %s %% across the page, "
                    "%s %% along it; paper feed and paper that takes up moisture do that: %s",
                    pv_fixed(100 * x->value, 2).chars, pv_fixed(100 * y->value, 2).chars, next);
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
    if (in->uneven > UNEVEN)
        pv_text_add(&text,
                    "places on this sheet are off by %s mm (RMS) in a way that no flat and even "
                    "print is, which the uncertainties take into account: %s",
                    pv_fixed(in->uneven, 2).chars,
                    in->photograph
                        ? "lay it flat, and photograph it again"
                        : "does it lie flat on the glass, and did the paper feed evenly?");
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
    return line->planned == 0 && !line->too_thin;
}

/* Too thin for this picture, but not for a better one; and too thin for any. */
static bool finer_shows(const pv_line_result *line)
{
    return line->too_thin && !pv_line_too_thin(line->nominal, PV_BEST_DPI / PV_MM_PER_IN);
}

static bool none_shows(const pv_line_result *line)
{
    return line->too_thin && !finer_shows(line);
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

/* Of lines that are too thin. */
static void say_thin(pv_notes *notes, const pv_inspection *in)
{
    pv_text text = PV_TEXT_INIT, names = PV_TEXT_INIT;
    double dpi = fmin(in->measured_resolution[0], in->measured_resolution[1]) * PV_MM_PER_IN;
    if (name_lines(&names, in, finer_shows) > 0)
        pv_text_add(&text, "not measured, because too thin for %s dpi: scan at %s dpi: %s",
                    pv_fixed(dpi, 0).chars, pv_fixed(PV_BEST_DPI, 0).chars,
                    names.chars != NULL ? names.chars : "");
    text.failed = text.failed || names.failed;
    pv_notes_take(notes, &text);
    pv_text_drop(&names);
    if (name_lines(&names, in, none_shows) > 0)
        pv_text_add(&text,
                    "not measured, because lines under 0.9 mm are too thin for any picture: %s",
                    names.chars != NULL ? names.chars : "");
    text.failed = text.failed || names.failed;
    pv_notes_take(notes, &text);
    pv_text_drop(&names);
}

void pv_notes_of_lines(pv_notes *notes, const pv_inspection *in)
{
    pv_text text = PV_TEXT_INIT, names = PV_TEXT_INIT;
    say_thin(notes, in);
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
    if (in->unpaired > 0)
        pv_text_add(&text,
                    "the sheet shows more lines than spacings are measured between (%d pieces of "
                    "lines): %zu were left out, so the sheet isn't called conforming: print the "
                    "course on smaller sheets",
                    PV_SPACING_RUNS_MAX, in->unpaired);
    pv_notes_take(notes, &text);
}

/* ---- many values ---- */

/* The kinds' names, one and many of them. */
static const char *kind_name(pv_value_kind kind, size_t n)
{
    static const char *const names[PV_KINDS][2] = {{"scale", "scale x and y"},
                                                   {"skew", "skews"},
                                                   {"width", "widths"},
                                                   {"straightness", "straightnesses"},
                                                   {"spacing", "spacings"}};
    return names[kind][n == 1 ? 0 : 1];
}

/* Values that lie outside one by one, but no more of them than chance explains. */
void pv_notes_of_chance(pv_notes *notes, const pv_inspection *in)
{
    for (int i = 0; i < PV_KINDS; i++) {
        pv_value_kind kind = (pv_value_kind)i;
        pv_kind_result one;
        pv_text text = PV_TEXT_INIT;
        text.failed = !pv_results_of_kind(in, kind, &one);
        if (!text.failed && one.outside > 0 && one.verdict != PV_DOES_NOT_CONFORM)
            pv_text_add(&text,
                        "%zu of %zu %s %s just outside, which may be chance where so many are "
                        "measured, and does not condemn the sheet: inspect a second picture of it",
                        one.outside, one.n, kind_name(kind, one.n),
                        one.outside == 1 ? "lies" : "lie");
        pv_notes_take(notes, &text);
    }
}

/* ---- what would settle it ---- */

/* Undecided values that the same remedies would settle. */
typedef struct doubt {
    size_t n, of_kind[PV_KINDS];
    pv_judged worst; /* whose U must shrink most */
    double most;
} doubt;

static doubt gather(const pv_inspection *in, unsigned remedy)
{
    doubt d = {.n = 0};
    size_t all = pv_judged_count(in);
    for (size_t i = 0; i < all; i++) {
        pv_judged one = pv_judged_at(in, i);
        if (!one.counts || one.value->remedy != remedy || !(one.value->U_needed > 0))
            continue;
        double much = one.value->U / one.value->U_needed;
        d.of_kind[one.kind]++;
        if (d.n++ == 0 || much > d.most) {
            d.worst = one;
            d.most = much;
        }
    }
    return d;
}

static void add_counts(pv_text *text, const doubt *d)
{
    bool first = true;
    for (int i = 0; i < PV_KINDS; i++) {
        if (d->of_kind[i] == 0)
            continue;
        const char *name = kind_name((pv_value_kind)i, d->of_kind[i]);
        pv_text_add(text, "%s", first ? "" : ", ");
        if (i == PV_KIND_SCALE || i == PV_KIND_SKEW)
            pv_text_add(text, "%s", name);
        else
            pv_text_add(text, "%zu %s", d->of_kind[i], name);
        first = false;
    }
}

static void add_name(pv_text *text, const pv_judged *judged)
{
    if (judged->kind == PV_KIND_SCALE)
        pv_text_add(text, "scale %s", judged->name);
    else if (judged->kind == PV_KIND_SKEW)
        pv_text_add(text, "skew");
    else
        pv_text_add(text, "%s%s%s", judged->name, judged->to[0] != '\0' ? " - " : "", judged->to);
}

/* One note for all that the same remedies would settle, with the worst of them. What has no
 * reference, and lines that are not seen, have notes of their own. Where the sheet doesn't conform
 * anyhow there is nothing to settle. */
void pv_notes_of_undecided(pv_notes *notes, const pv_inspection *in)
{
    if (in->verdict == PV_DOES_NOT_CONFORM)
        return;
    for (unsigned remedy = 1; remedy < 2 * PV_REMEDY_PRINT; remedy++) {
        doubt d = gather(in, remedy);
        pv_text text = PV_TEXT_INIT;
        if (d.n > 0) {
            add_counts(&text, &d);
            pv_text_add(&text, " undecided (");
            add_name(&text, &d.worst);
            pv_text_add(&text, ": ");
            pv_remedy_need(&text, &d.worst);
            pv_text_add(&text, "): ");
            pv_remedy_advice(&text, in, remedy);
        }
        pv_notes_take(notes, &text);
    }
}
