/* All that a sheet says in words. Each label is tried in its largest size first, then smaller; one
 * that fits nowhere is left out. What matters most is placed first, so the order of the calls in
 * pv_page_labels is the order of importance that docs/how/sheet-anatomy.md gives. */
#include "base/words.h"
#include "page/anatomy.h"

#include <stdio.h>
#include <string.h>

/* Layout: chosen. */
#define EM_LABEL   2.8 /* mm: seams, cutting, printing */
#define EM_LINE    3.8 /* the card's lines, at most */
#define EM_LEAST   1.9 /* the smallest that is printed: 5.4 pt */
#define NAME_LEAST 3.4 /* of the sheet's name */
#define NAME_MOST  30.0
#define EM_STEP    0.1 /* smaller by this where there is no room */
#define PAD        0.4 /* ems kept free at both ends of a label */
#define LINES_MAX  3
#define TEXT_MAX   160

/* A label beside one side. */
typedef struct label {
    const char *text;
    bool bold;
    double em; /* at most */
    pv_vec toward;
} label;

/* In its largest size, or down to the smallest. */
static bool place_down_to(pv_anatomy *a, int side, const label *l, double least)
{
    double ems = pv_page_ems(a, l->text, l->bold);
    for (int try = 0; l->em - EM_STEP * try >= least - 1e-9; try++) {
        double em = l->em - EM_STEP * try;
        double pad = PAD * em;
        pv_block block = {em * ems + 2 * pad, em * pv_text_height(l->text), l->toward, true, false,
                          PV_SPACE_ACROSS};
        pv_box box;
        bool turned;
        if (!pv_space_find(&a->space, side, &block, &box, &turned))
            continue;
        pv_space_take(&a->space, box);
        *(turned ? &box.lo.y : &box.lo.x) += pad;
        pv_page_words(a, box, turned, em, l->bold, l->text);
        return true;
    }
    return false;
}

static bool place_label(pv_anatomy *a, int side, const label *l)
{
    return place_down_to(a, side, l, EM_LEAST);
}

/* A point just outside of the art, at a fraction of the cell's side. */
static pv_vec beside(pv_anatomy *a, int side, double fraction)
{
    const pv_box *cell = &a->cell, *art = &a->space.art;
    double x = cell->lo.x + fraction * (cell->hi.x - cell->lo.x);
    double y = cell->lo.y + fraction * (cell->hi.y - cell->lo.y);
    switch (side) {
    case PV_LEFT:
        return pv_v(art->lo.x, y);
    case PV_BOTTOM:
        return pv_v(x, art->lo.y);
    case PV_RIGHT:
        return pv_v(art->hi.x, y);
    default:
        return pv_v(x, art->hi.y);
    }
}

/* ---- seams and cutting ---- */

/* The same words on both sheets, fewer along a short seam: left or upper sheet first. */
static void seam_text(pv_anatomy *a, const pv_seam *seam, char *text)
{
    const pv_sheet *over = &a->plan->sheets[seam->over], *under = &a->plan->sheets[seam->under];
    bool over_first = seam->vertical ? over->column < under->column : over->row < under->row;
    char name[32];
    snprintf(name, sizeof name, "%s%s%s", over_first ? over->name : under->name,
             seam->vertical ? "|" : "/", over_first ? under->name : over->name);
    const pv_language *l = a->plan->language;
    bool brief = seam->to - seam->from < PV_SEAM_SHORT;
    if (a->plan->joint == PV_JOINT_BUTT)
        snprintf(text, TEXT_MAX,
                 brief ? pv_say(l, "%s · edge to edge") : pv_say(l, "seam %s · edge to edge"),
                 name);
    else
        snprintf(text, TEXT_MAX,
                 brief ? pv_say(l, "%s · %s on top") : pv_say(l, "seam %s · %s on top"), name,
                 over->name);
}

static void label_seams(pv_anatomy *a)
{
    for (int side = PV_LEFT; side <= PV_TOP; side++) {
        if (a->sheet->side[side] == PV_OUTER)
            continue;
        char text[TEXT_MAX];
        seam_text(a, &a->plan->seams[a->sheet->seam[side]], text);
        /* It may stand anywhere along the seam; what shows the robot's way may not. */
        label it = {text, true, EM_LABEL, beside(a, side, 0.5)};
        size_t before = a->space.n_taken, kept = pv_page_keep_travel(a, (pv_side)side);
        bool placed = place_down_to(a, side, &it, EM_LABEL);
        pv_space_give(&a->space, before, kept);
        if (!placed)
            place_label(a, side, &it);
    }
}

/* In full, or in short where there is no room. */
static void say_where_to_cut(pv_anatomy *a)
{
    for (int side = PV_LEFT; side <= PV_TOP; side++) {
        char beneath[TEXT_MAX];
        const pv_language *l = a->plan->language;
        const char *brief = pv_say(l, "cut here"), *full = beneath;
        if (a->sheet->side[side] == PV_OUTER) {
            full = a->plan->border > 0 ? pv_say(l, "edge of the border: cut along the marks")
                                       : pv_say(l, "edge of the mat: cut along the marks");
        } else if (a->sheet->side[side] == PV_OVER) {
            full = pv_say(l, "cut along the marks");
        } else {
            const pv_seam *seam = &a->plan->seams[a->sheet->seam[side]];
            snprintf(beneath, sizeof beneath, pv_say(l, "do not cut: this goes beneath %s"),
                     a->plan->sheets[seam->over].name);
            brief = pv_say(l, "do not cut");
        }
        label it = {full, false, EM_LABEL, beside(a, side, 0.25)};
        if (place_label(a, side, &it))
            continue;
        it.text = brief;
        place_label(a, side, &it);
    }
}

/* Beside a side that is cut; in short where there is no room, and anywhere rather than nowhere. */
static void caution(pv_anatomy *a)
{
    static const int sides[] = {PV_TOP, PV_LEFT, PV_RIGHT, PV_BOTTOM};
    static const char *const words[] = {PV_SAID("Caution, sharp blade: cut away from yourself"),
                                        PV_SAID("Caution: sharp blade"),
                                        PV_SAID("Caution: sharp blade"), PV_SAID("Caution: blade")};
    const pv_language *l = a->plan->language;
    for (int try = 0; try < 4; try++)
        for (int i = 0; i < 4; i++)
            if ((try >= 2 || a->sheet->side[sides[i]] != PV_UNDER) &&
                place_label(
                    a, sides[i],
                    &(label){pv_say(l, words[try]), false, EM_LABEL, beside(a, sides[i], 0.75)}))
                return;
}

/* ---- the sheet's identity ---- */

/* The sheet's name, large, with lines of small print beside it. */
typedef struct card {
    const char *name;
    const char *line[LINES_MAX];
    int n_lines;
    double name_ems, line_ems[LINES_MAX]; /* their widths, which every size is tried by */
} card;

/* Layout: chosen. */
#define CARD_LEADING 1.12 /* line spacing over the em */
#define CARD_READ    14.0 /* mm: from here on a card stands upright rather than larger */
#define CARD_GOOD    9.5  /* mm: large enough not to stand in those labels' way */
#define CARD_STEP    0.93 /* smaller by this where there is no room */
#define CARD_NAME    0.80 /* height of the name's capitals over the height of all lines */

/* In ems. */
static double lines_high(const card *c)
{
    return CARD_LEADING * (c->n_lines - 1) + pv_text_height(c->line[0]);
}

static double line_em(const card *c, double height)
{
    return fmin(EM_LINE, height / lines_high(c));
}

static double name_em(pv_anatomy *a, const card *c, double height)
{
    return c->n_lines > 0 ? CARD_NAME * height / pv_type_cap(a->type) : height;
}

static double card_gap(double height)
{
    return fmin(0.2 * height, 4);
}

static double card_width(pv_anatomy *a, const card *c, double height)
{
    double widest = 0;
    for (int i = 0; i < c->n_lines; i++)
        widest = fmax(widest, line_em(c, height) * c->line_ems[i]);
    double name = name_em(a, c, height) * c->name_ems;
    return c->n_lines > 0 ? name + card_gap(height) + widest : name;
}

/* A text in the card's own frame: x along its lines, y up, from its lower left corner. */
static void card_text(pv_anatomy *a, pv_box box, bool turned, pv_vec at, double em, bool bold,
                      const char *text)
{
    pv_vec p = turned ? pv_v(box.hi.x - at.y, box.lo.y + at.x) : pv_add(box.lo, at);
    pv_page_text(a, p, em, turned ? PV_PI / 2 : 0, bold, text);
}

static void write_card(pv_anatomy *a, const card *c, pv_box box, bool turned, double height)
{
    double big = name_em(a, c, height);
    if (c->n_lines == 0) {
        card_text(a, box, turned, pv_v(0, PV_TEXT_BELOW * height), height, true, c->name);
        return;
    }
    double em = line_em(c, height), left = big * c->name_ems + card_gap(height);
    card_text(a, box, turned, pv_v(0, (height - pv_type_cap(a->type) * big) / 2), big, true,
              c->name);
    /* The lines, with what hangs below the last, stand in the middle. */
    double last = height / 2 + em * (PV_TEXT_BELOW - lines_high(c) / 2);
    for (int i = 0; i < c->n_lines; i++) {
        double up = CARD_LEADING * (c->n_lines - 1 - i);
        card_text(a, box, turned, pv_v(left, last + up * em), em, i != 1, c->line[i]);
    }
}

static void measure_card(pv_anatomy *a, card *c)
{
    c->name_ems = pv_page_ems(a, c->name, true);
    for (int i = 0; i < c->n_lines; i++)
        c->line_ems[i] = pv_page_ems(a, c->line[i], i != 1);
}

static bool place_card(pv_anatomy *a, const card *c, double most, double least, bool turned_too)
{
    static const int sides[] = {PV_BOTTOM, PV_RIGHT, PV_TOP, PV_LEFT};
    int tries = 1 + (int)floor(log(most / least) / log(1 / CARD_STEP));
    for (int try = 0; try < tries; try++) {
        double height = most * pow(CARD_STEP, try);
        for (int i = 0; i < 4; i++) {
            pv_block block = {card_width(a, c, height), height, a->space.page.lo, turned_too, true,
                              PV_SPACE_ACROSS};
            if (sides[i] == PV_RIGHT || sides[i] == PV_TOP)
                block.toward = a->space.page.hi;
            pv_box box;
            bool turned;
            if (!pv_space_find(&a->space, sides[i], &block, &box, &turned))
                continue;
            pv_space_take(&a->space, box);
            write_card(a, c, box, turned, height);
            return true;
        }
    }
    return false;
}

/* Appends characters up to a width, with an ellipsis where that isn't all. A name may have
 * characters that the typeface lacks. */
static void append(pv_anatomy *a, char *text, size_t size, const char *more, double ems)
{
    size_t used = strlen(text);
    double width = 0;
    while (*more != '\0') {
        char one[8];
        uint32_t code = 0;
        size_t n = 1;
        while (n < 4 && (more[n] & 0xC0) == 0x80)
            n++;
        memcpy(one, more, n);
        one[n] = '\0';
        pv_utf8_decode(one, n, &code);
        const char *put = pv_type_has(a->type, code) ? one : "?";
        width += pv_page_ems(a, put, true);
        bool over = width > ems || used + strlen(put) + 4 > size;
        if (over)
            put = "\xE2\x80\xA6"; /* three bytes */
        memcpy(text + used, put, strlen(put) + 1);
        used += strlen(put);
        if (over)
            return;
        more += n;
    }
}

static bool place_anywhere(pv_anatomy *a, const char *text, bool bold)
{
    static const int sides[] = {PV_BOTTOM, PV_RIGHT, PV_TOP, PV_LEFT};
    for (int i = 0; i < 4; i++)
        if (place_label(a, sides[i], &(label){text, bold, EM_LABEL, beside(a, sides[i], 0.5)}))
            return true;
    return false;
}

/* Its number in the order of taping, from 1: the step of the taping guide. */
static size_t step_of(const pv_anatomy *a)
{
    size_t i = 0;
    while (a->plan->taping[i] != a->sheet->number)
        i++;
    return i + 1;
}

/* One card where it fits whole; else the name by itself, as large as can be, and each line where
 * there is room. */
static void say_what_this_is(pv_anatomy *a)
{
    const pv_plan *plan = a->plan;
    const pv_language *l = plan->language;
    char kit[TEXT_MAX] = "", details[TEXT_MAX], print[TEXT_MAX];
    append(a, kit, sizeof kit / 2, plan->art.name, 18);
    append(a, kit, sizeof kit, pv_say(l, ", edition "), 99);
    append(a, kit, sizeof kit, plan->art.edition, 8);
    size_t step = step_of(a);
    if (plan->n_sheets > 1)
        snprintf(details, sizeof details / 2, pv_say(l, "kit %s · step %zu of %zu · "),
                 pv_plan_kit(plan).chars, step, plan->n_sheets);
    else
        snprintf(details, sizeof details / 2, pv_say(l, "kit %s · in one piece · "),
                 pv_plan_kit(plan).chars);
    append(a, details, sizeof details, plan->paper, 16);
    snprintf(print, sizeof print, "%s", pv_say(l, "print at 100 %, no scaling"));
    if (a->printer != NULL) {
        append(a, print, sizeof print, pv_say(l, ", only on "), 99);
        append(a, print, sizeof print, pv_printer_words(a->printer), 16);
    }
    card c = {.name = a->sheet->name, .line = {kit, details, print}, .n_lines = 3};
    measure_card(a, &c);
    /* A large card leaves the lines beside the art to the labels that belong there. */
    pv_box art = a->space.art;
    a->space.art = pv_box_grow(art, PV_LABEL_STRIP);
    bool placed = place_card(a, &c, NAME_MOST, CARD_READ, false) ||
                  place_card(a, &c, NAME_MOST, CARD_GOOD, true);
    a->space.art = art;
    if (placed || place_card(a, &c, NAME_MOST, EM_LEAST * 3.3, true))
        return;
    card alone = {.name = a->sheet->name};
    measure_card(a, &alone);
    place_card(a, &alone, NAME_MOST, NAME_LEAST, true);
    place_anywhere(a, c.line[2], true);
    place_anywhere(a, kit, true);
    if (place_anywhere(a, details, false))
        return;
    snprintf(details, sizeof details, pv_say(l, "kit %s"), pv_plan_kit(plan).chars);
    place_anywhere(a, details, false);
    snprintf(details, sizeof details, pv_say(l, "step %zu of %zu"), step, plan->n_sheets);
    if (plan->n_sheets > 1)
        place_anywhere(a, details, false);
}

/* What the gauge marks are apart: in one piece, or sides and diagonals by themselves. */
static void say_what_to_measure(pv_anatomy *a)
{
    char text[TEXT_MAX];
    bool said = a->sheet->n_gauge == 0;
    for (int how = PV_GAUGE_ALL; !said && how <= PV_GAUGE_BRIEF; how++) {
        pv_page_gauge_words(a, (pv_gauge_wording)how, text, sizeof text);
        said = place_anywhere(a, text, false);
    }
    for (int how = PV_GAUGE_SIDES; !said && how <= PV_GAUGE_ACROSS; how++) {
        pv_page_gauge_words(a, (pv_gauge_wording)how, text, sizeof text);
        place_anywhere(a, text, false);
    }
}

bool pv_page_labels(pv_anatomy *a, pv_diags *diags)
{
    label_seams(a);
    pv_page_travel(a);
    if (!pv_page_code(a, diags))
        return false;
    say_what_this_is(a);
    say_where_to_cut(a);
    caution(a);
    say_what_to_measure(a);
    pv_page_way_up(a);
    pv_page_map(a);
    return true;
}
