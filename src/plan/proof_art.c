/* What is printed on a proof page. Rows from the top: the card, with coloured lines beside or below
 * it; lines that run upwards; lines that run across. */
#include "plan/proof.h"

#include "base/memory.h"
#include "base/text.h"
#include "po/po.h"
#include "json/json.h"

#include <stdlib.h>
#include <string.h>

/* Layout of the proof page: chosen. */
#define LONG_WIDTH  1.5 /* mm, of the lines along the page's edges */
#define LONG_INSET  2.0 /* mm, of their centres from the art's edge */
#define INNER       5.0 /* mm, the rest keeps off the art's edge by */
#define GAP         3.0 /* mm between neighbouring lines, and around them on black */
#define WORDS       2.0 /* mm, height of capitals */
#define FIGURES     1.7
#define OFF         1.2 /* mm between a line and its figure */
#define FIGURE_ROOM 6.5 /* mm for the longest figure, with OFF */
#define TITLE_OFF   2.5 /* mm between lines and their title, so that none lies by an edge */
#define TITLE_ROOM  5.0
#define TINT_ROOM   11.0 /* mm for the longest name of a colour, with OFF */
#define LENGTH_MOST 60.0 /* mm, of a ladder's lines: more would only cockle the paper */
#define ROW_GAP     5.0
#define WIDE        230.0 /* mm, of art: wider paper has a long line in its middle, too */

enum { BLACK, WHITE, GRAY, CYAN, MAGENTA, YELLOW, RED, GREEN, BLUE, COLOURS };

static const struct {
    const char *name;
    uint8_t rgb[3];
} colours[COLOURS] = {{"black", {0, 0, 0}},
                      {"white", {255, 255, 255}},
                      {PV_SAID("gray"), {128, 128, 128}},
                      {PV_SAID("cyan"), {0, 150, 210}},
                      {PV_SAID("magenta"), {200, 0, 110}},
                      {PV_SAID("yellow"), {250, 210, 0}},
                      {PV_SAID("red"), {200, 30, 30}},
                      {PV_SAID("green"), {0, 140, 70}},
                      {PV_SAID("blue"), {30, 60, 160}}};

typedef struct builder {
    pv_art *art;
    const pv_language *language; /* of what it says; ids stay as they are */
    bool failed;
} builder;

/* ---- parts ---- */

static void add_line(builder *b, const char *id, pv_vec from, pv_vec to, double width,
                     size_t colour)
{
    pv_art *art = b->art;
    if (b->failed || !PV_GROW(art->lines, art->n_lines, art->cap_lines)) {
        b->failed = true;
        return;
    }
    pv_line line = {.width = width, .colour = colour, .ends = PV_ENDS_FLAT, .n_pieces = 1};
    line.id = pv_copy_text(id);
    line.pieces = PV_NEW(pv_piece);
    if (line.pieces != NULL)
        line.pieces[0] = pv_segment(from, to);
    art->lines[art->n_lines++] = line;
    b->failed = line.id == NULL || line.pieces == NULL;
}

static void add_panel(builder *b, const char *id, pv_box box, size_t colour)
{
    pv_art *art = b->art;
    if (b->failed || !PV_GROW(art->fills, art->n_fills, art->cap_fills)) {
        b->failed = true;
        return;
    }
    pv_area area = {.colour = colour, .id = pv_copy_text(id), .rings = PV_NEW(pv_ring)};
    if (area.rings != NULL) {
        area.n_rings = 1;
        area.rings->points = PV_NEW_ARRAY(4, pv_vec);
    }
    b->failed = area.id == NULL || area.rings == NULL || area.rings->points == NULL;
    if (!b->failed) {
        pv_vec *p = area.rings->points;
        p[0] = box.lo;
        p[1] = pv_v(box.hi.x, box.lo.y);
        p[2] = box.hi;
        p[3] = pv_v(box.lo.x, box.hi.y);
        area.rings->n = 4;
    }
    art->fills[art->n_fills++] = area;
}

static void add_words(builder *b, const char *text, pv_vec at, double height, double angle,
                      pv_anchor anchor)
{
    pv_art *art = b->art;
    if (b->failed || !PV_GROW(art->letterings, art->n_letterings, art->cap_letterings)) {
        b->failed = true;
        return;
    }
    pv_lettering one = {.text = pv_copy_text(text),
                        .at = at,
                        .height = height,
                        .angle = angle,
                        .anchor = anchor,
                        .colour = BLACK};
    art->letterings[art->n_letterings++] = one;
    b->failed = one.text == NULL;
}

static void add_colours(builder *b)
{
    pv_art *art = b->art;
    for (size_t i = 0; i < COLOURS && !b->failed; i++) {
        if (!PV_GROW(art->colours, art->n_colours, art->cap_colours)) {
            b->failed = true;
            return;
        }
        pv_colour one = {.name = pv_copy_text(colours[i].name)};
        memcpy(one.rgb, colours[i].rgb, sizeof one.rgb);
        art->colours[art->n_colours++] = one;
        b->failed = one.name == NULL;
    }
}

/* ---- ladders ---- */

typedef struct rung {
    double width;
    size_t colour;
} rung;

static const rung widths[] = {{0.25, BLACK}, {0.5, BLACK}, {1, BLACK},  {1.5, BLACK}, {2, BLACK},
                              {3, BLACK},    {5, BLACK},   {10, BLACK}, {20, BLACK}};
static const rung few_widths[] = {{0.5, BLACK}, {1, BLACK}, {2, BLACK}, {5, BLACK}, {10, BLACK}};
static const rung tints[] = {{5, GRAY}, {5, CYAN},  {5, MAGENTA}, {5, YELLOW},
                             {5, RED},  {5, GREEN}, {5, BLUE}};
#define COUNT(list) (sizeof(list) / sizeof *(list))

/* Lines side by side. */
typedef struct ladder {
    const char *name, *title; /* no title: NULL */
    const rung *rungs;
    size_t n;
    bool upright;  /* the lines run along y, else along x */
    bool reversed; /* white lines on black */
    double pad;    /* mm between the lines and their title and figures, for a panel's edge */
} ladder;

/* From the first line's outer edge to the last one's. */
static double ladder_span(const ladder *l)
{
    double span = GAP * ((double)l->n - 1);
    for (size_t i = 0; i < l->n; i++)
        span += l->rungs[i].width;
    return span;
}

/* A black line's is its width, another's its colour. */
static const char *rung_name(const rung *r, char text[PV_JSON_NUMBER])
{
    if (r->colour != BLACK)
        return colours[r->colour].name;
    pv_json_format(r->width, text);
    return text;
}

static void label_rung(builder *b, const ladder *l, const rung *r, double across, pv_vec lo,
                       double length)
{
    char name[PV_JSON_NUMBER];
    const char *text = pv_say(b->language, rung_name(r, name));
    if (l->upright)
        add_words(b, text, pv_v(across + FIGURES / 2, lo.y - OFF - l->pad), FIGURES, PV_PI / 2,
                  PV_ANCHOR_RIGHT);
    else
        add_words(b, text, pv_v(lo.x + length + OFF + l->pad, across - FIGURES / 2), FIGURES, 0,
                  PV_ANCHOR_LEFT);
}

/* Its lower left corner, without figures and title; lines that run upwards stand from the left to
 * the right, others from the top downwards, the thinnest first. */
static void add_ladder(builder *b, const ladder *l, pv_vec lo, double length)
{
    double span = ladder_span(l), at = 0;
    pv_box box = {lo,
                  l->upright ? pv_v(lo.x + span, lo.y + length) : pv_v(lo.x + length, lo.y + span)};
    if (l->reversed)
        add_panel(b, l->name, pv_box_grow(box, GAP), BLACK);
    for (size_t i = 0; i < l->n; i++) {
        const rung *r = &l->rungs[i];
        double middle = at + r->width / 2;
        pv_text id = PV_TEXT_INIT;
        char name[PV_JSON_NUMBER];
        pv_text_add(&id, "%s %s", l->name, rung_name(r, name));
        b->failed = b->failed || id.failed;
        pv_vec from = l->upright ? pv_v(lo.x + middle, lo.y) : pv_v(lo.x, box.hi.y - middle);
        pv_vec to = l->upright ? pv_v(from.x, box.hi.y) : pv_v(box.hi.x, from.y);
        add_line(b, id.chars, from, to, r->width, l->reversed ? WHITE : r->colour);
        pv_text_drop(&id);
        label_rung(b, l, r, l->upright ? from.x : from.y, lo, length);
        at += r->width + GAP;
    }
    pv_vec title = pv_v(box.lo.x, box.hi.y + TITLE_OFF + l->pad);
    if (l->title != NULL)
        add_words(b, pv_say(b->language, l->title), title, WORDS, 0, PV_ANCHOR_LEFT);
}

/* ---- rows ---- */

static void add_long_lines(builder *b, pv_vec size)
{
    const double i = LONG_INSET;
    add_line(b, "left edge", pv_v(i, 0), pv_v(i, size.y), LONG_WIDTH, BLACK);
    add_line(b, "right edge", pv_v(size.x - i, 0), pv_v(size.x - i, size.y), LONG_WIDTH, BLACK);
    add_line(b, "lower edge", pv_v(0, i), pv_v(size.x, i), LONG_WIDTH, BLACK);
    add_line(b, "upper edge", pv_v(0, size.y - i), pv_v(size.x, size.y - i), LONG_WIDTH, BLACK);
}

/* Inside of the comb, where the card hides it. */
static void add_caption(builder *b, pv_box card)
{
    pv_vec m = pv_box_middle(card);
    const pv_language *l = b->language;
    add_words(b, pv_say(l, "Lay a card here, or leave this empty"), pv_v(m.x, m.y + 3), 2.6, 0,
              PV_ANCHOR_CENTRE);
    add_words(b, pv_say(l, "a card of the size of a bank card (ID-1, 85.60 × 53.98 mm),"),
              pv_v(m.x, m.y - 3), FIGURES, 0, PV_ANCHOR_CENTRE);
    add_words(b, pv_say(l, "flat and close to the paper; cover what is private"),
              pv_v(m.x, m.y - 6), FIGURES, 0, PV_ANCHOR_CENTRE);
}

/* Two ladders beside each other, each in the middle of its half. */
static void add_pair(builder *b, const pv_proof_art *shape, const ladder *l, double y,
                     double length)
{
    double inner = shape->width - 2 * INNER;
    for (int i = 0; i < 2; i++) {
        double span = l[i].upright ? ladder_span(&l[i]) : length + FIGURE_ROOM;
        double free = inner / 2 - span - 2 * l[i].pad;
        pv_vec lo = {INNER + i * inner / 2 + free / 2 + l[i].pad, y};
        add_ladder(b, &l[i], lo, length);
    }
}

/* Places the rows: the lines' lengths and the gaps share the space left over. */
static void add_rows(builder *b, pv_proof_art *shape)
{
    const rung *list = shape->small ? few_widths : widths;
    size_t n = shape->small ? COUNT(few_widths) : COUNT(widths), m = shape->small ? n - 1 : n;
    const char *up_k = PV_SAID("upwards, black on white"),
               *up_w = PV_SAID("upwards, white on black");
    const char *across_k = PV_SAID("across, black on white"),
               *across_w = PV_SAID("across, white on black");
    const ladder up[2] = {{"up black", up_k, list, n, true, false, GAP},
                          {"up white", up_w, list, n, true, true, GAP}};
    const ladder across[2] = {{"across black", across_k, list, m, false, false, GAP},
                              {"across white", across_w, list, m, false, true, GAP}};
    const ladder tint = {"colour",
                         shape->small ? NULL : PV_SAID("colours and gray, 5 mm"),
                         tints,
                         COUNT(tints),
                         shape->small,
                         false,
                         0};
    double comb_w = PV_CARD_LONG + 2 * PV_CARD_BEYOND, comb_h = PV_CARD_SHORT + 2 * PV_CARD_BEYOND;
    double inner_w = shape->width - 2 * INNER, inner_h = shape->height - 2 * INNER;
    double span = ladder_span(&across[0]) + 2 * GAP + TITLE_ROOM;
    double tall = comb_h + span + 2 * ROW_GAP;
    tall += FIGURE_ROOM + TITLE_ROOM + 2 * GAP;
    if (shape->small)
        tall += TINT_ROOM + ROW_GAP;
    double rows = shape->small ? 2 : 1;
    double length = (inner_h - tall) / rows;
    double rest = fmax(0, length - LENGTH_MOST) * rows / (rows + (shape->small ? 1 : 2));
    length = fmin(length, LENGTH_MOST);

    double y = shape->height - INNER - PV_CARD_BEYOND - PV_CARD_SHORT;
    double side = inner_w - comb_w - 2 * ROW_GAP - 2 * FIGURE_ROOM;
    pv_vec corner = {INNER + PV_CARD_BEYOND, y};
    if (shape->small)
        corner.x = (shape->width - PV_CARD_LONG) / 2;
    shape->card = (pv_box){corner, pv_add(corner, pv_v(PV_CARD_LONG, PV_CARD_SHORT))};
    add_caption(b, shape->card);
    double beside = shape->card.hi.x + PV_CARD_BEYOND + ROW_GAP;
    if (shape->width >= WIDE)
        beside = fmax(beside, (shape->width + inner_w / 2 - LENGTH_MOST) / 2);
    if (!shape->small)
        add_ladder(b, &tint, pv_v(beside, y + (PV_CARD_SHORT - ladder_span(&tint)) / 2),
                   fmin(side, LENGTH_MOST));
    if (rest > 2 * ROW_GAP)
        add_line(b, "middle across", pv_v(0, y - PV_CARD_BEYOND - rest / 2),
                 pv_v(shape->width, y - PV_CARD_BEYOND - rest / 2), LONG_WIDTH, BLACK);
    if (shape->width >= WIDE)
        add_line(b, "middle upwards", pv_v(shape->width / 2, 0),
                 pv_v(shape->width / 2, shape->height), LONG_WIDTH, BLACK);
    y -= PV_CARD_BEYOND + ROW_GAP + rest + TITLE_ROOM + GAP + length;
    add_pair(b, shape, up, y, length);
    y -= GAP + FIGURE_ROOM + ROW_GAP + rest + TITLE_ROOM + GAP + ladder_span(&across[0]);
    add_pair(b, shape, across, y, fmin(inner_w / 2 - FIGURE_ROOM - 2 * GAP - 4, LENGTH_MOST));
    y -= GAP + ROW_GAP + rest + length;
    if (shape->small)
        add_ladder(b, &tint, pv_v((shape->width - ladder_span(&tint)) / 2, y), length);
}

bool pv_proof_art_make(pv_proof_art *shape, const pv_language *language, pv_art *art)
{
    bool opened = pv_art_open(art);
    art->size = pv_v(shape->width, shape->height);
    art->ground = WHITE;
    art->tolerances = (pv_tolerances){.scale = 0.003,
                                      .width = 0.5,
                                      .spacing = 1,
                                      .skew = 3,
                                      .straight = 1,
                                      .contrast = 0.25,
                                      .spot = 3};
    builder b = {art, language, false};
    art->name = pv_copy_text(PV_SAID("Printer proof"));
    art->edition = pv_copy_text("1");
    b.failed = !opened || art->name == NULL || art->edition == NULL;
    add_colours(&b);
    add_long_lines(&b, art->size);
    add_rows(&b, shape);
    if (b.failed)
        pv_art_clear(art);
    return !b.failed;
}
