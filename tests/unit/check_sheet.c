/* A sheet's anatomy, read back from its drawing: nothing overlaps, nothing is cut off, nothing
 * stands in the finished surface, and what must be said is said. */
#include "art_by_hand.h"
#include "boxes.h"

#include "course/model.h"
#include "draw/art.h"
#include "draw/backend.h"
#include "po/po.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- a course ---- */

/* A mat with a line over it, and a route across most of it, round, and back again: seams are
 * crossed both ways, some twice. */
static pv_plan *plan_named(double width, double height, const char *name,
                           const pv_layout_options *options, pv_diags *diags)
{
    pv_course course = {.art = {0}};
    pv_art *art = &course.art;
    art_start(art, name, width, height);
    free(art->edition);
    art->edition = pv_copy_text("2026-1");
    add_straight(art, 20, pv_v(0, height / 3), pv_v(width, height / 2));
    double r = fmin(width, height) / 3;
    pv_piece route[3];
    route[0] = pv_segment(pv_v(width / 10, height / 9), pv_v(width / 2, height / 2 + r));
    route[1] = pv_arc(pv_v(width / 2, height / 2), r, PV_PI / 2, -1.7 * PV_PI);
    route[2] = pv_segment(route[1].b, route[0].a);
    course.route = (pv_route){.pieces = route, .n = 3};
    pv_plan *plan = pv_plan_make(&course, options, diags);
    pv_art_clear(art);
    return plan;
}

static pv_plan *make_plan(double width, double height, const char *paper, double margin,
                          double overlap, pv_orientation orientation, pv_diags *diags)
{
    pv_layout_options o = pv_layout_defaults();
    o.paper = paper;
    o.orientation = orientation;
    for (int i = 0; i < 4 && margin > 0; i++)
        o.margin[i] = margin;
    if (overlap > 0)
        o.overlap = overlap;
    return plan_named(width, height, "Quayside", &o, diags);
}

/* ---- reading a drawing back ---- */

#define ITEMS_MAX 4096

typedef struct item {
    pv_box box;
    const char *text; /* NULL: a shape */
    int part;
    bool dart; /* a shape with a corner within its box: an arrow of travel */
} item;

typedef struct page {
    pv_drawing drawing;
    item items[ITEMS_MAX];
    size_t n;
} page;

/* The box of a text's own ink, from the published metrics: no glyph of Liberation Sans' Latin
 * letters without accents reaches farther down than the bar's -0.225 em or higher than its 0.775
 * em; capitals and digits stay within the Q's -0.056 and 0.741 (its accents apart), digits within
 * 0.719. */
static pv_box ink_box(const pv_op *op, const char *text)
{
    bool digits = strspn(text, "0123456789 imn") == strlen(text);
    bool capitals = strspn(text, "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ") == strlen(text);
    double width = pv_type_ems(test_type(), text, op->bold) * op->size;
    double below = (digits ? 0.023 : capitals ? 0.056 : 0.225) * op->size;
    double above = (digits ? 0.72 : capitals ? 0.741 : 0.775) * op->size;
    pv_vec x = pv_polar(1, op->angle), y = pv_left(x);
    pv_box b = pv_box_none();
    for (int i = 0; i < 4; i++)
        b = pv_box_add(
            b, pv_along(pv_along(op->p[0], x, i & 1 ? width : 0), y, i & 2 ? above : -below));
    return b;
}

static void add_item(page *p, pv_box box, const char *text)
{
    REQUIRE(p->n < ITEMS_MAX, "too much on a page");
    p->items[p->n++] = (item){box, text, 0, false};
}

/* The shape that ends at op i; of the arrow of "this way up" no corner lies inside its sides. */
static bool is_dart(const pv_drawing *d, size_t i, pv_box box)
{
    pv_box inner = pv_box_grow(box, -1e-3);
    bool dart = i >= 4 && d->ops[i - 4].kind == PV_OP_MOVE, notched = false;
    for (size_t k = i - 4; dart && k < i; k++)
        notched = notched || pv_box_holds(inner, d->ops[k].p[0]);
    return dart && notched;
}

/* All that is drawn after the art, whose clip ends first. */
static void read_page(page *p, const pv_plan *plan, size_t sheet)
{
    pv_diags *diags = pv_diags_new();
    ck_assert(pv_draw_sheet(&p->drawing, plan, sheet, test_type(), diags) && !p->drawing.failed);
    pv_diags_free(diags);
    p->n = 0;
    size_t i = 0;
    while (p->drawing.ops[i].kind != PV_OP_END)
        i++;
    pv_box box = pv_box_none();
    for (i++; i < p->drawing.n_ops; i++) {
        const pv_op *op = &p->drawing.ops[i];
        if (op->kind == PV_OP_MOVE)
            box = pv_box_add(pv_box_none(), op->p[0]);
        else if (op->kind == PV_OP_LINE)
            box = pv_box_add(box, op->p[0]);
        else if (op->kind == PV_OP_CLOSE) {
            add_item(p, box, NULL);
            p->items[p->n - 1].dart = is_dart(&p->drawing, i, box);
        } else if (op->kind == PV_OP_TEXT)
            add_item(p, ink_box(op, p->drawing.chars + op->text), p->drawing.chars + op->text);
        else
            REQUIRE(op->kind == PV_OP_FILL, "operation %d after the art", (int)op->kind);
    }
}

static bool page_says(const page *p, const char *text)
{
    for (size_t i = 0; i < p->n; i++)
        if (p->items[i].text != NULL && strcmp(p->items[i].text, text) == 0)
            return true;
    return false;
}

/* ---- the checks ---- */

typedef struct tally {
    size_t sheets, texts, shapes;
    size_t darts, worded;
    size_t unnamed, seams_unsaid, unscaled, cautions, ups, unmarked, kits, no_numbers;
    size_t unlettered, ungauged;
    double smallest; /* em */
} tally;

static bool is_cross(pv_box box, const pv_plan *plan, const pv_sheet *sheet)
{
    for (int side = 0; side < 4; side++) {
        if (sheet->seam[side] == SIZE_MAX)
            continue;
        const pv_seam *seam = &plan->seams[sheet->seam[side]];
        for (size_t c = seam->first_cross; c < seam->first_cross + seam->n_crosses; c++)
            if (pv_dist(pv_box_middle(box), pv_sub(plan->crosses[c].at, sheet->origin)) < 1e-9)
                return true;
    }
    return false;
}

static int tag_of(pv_box box, const pv_sheet *sheet)
{
    for (int t = 0; t < PV_TAG_PLACES; t++) {
        const pv_tag *tag = &sheet->tag[t];
        pv_box whole = pv_box_grow((pv_box){tag->centre, tag->centre}, 4.5 * tag->cell);
        if (inside(whole, box))
            return t;
    }
    return -1;
}

static int bar_of(pv_box box, const pv_sheet *sheet)
{
    for (size_t b = 0; b < sheet->n_bars; b++) {
        const pv_bar *bar = &sheet->bar[b];
        double length = bar->count * bar->step;
        pv_vec end = bar->vertical ? pv_v(bar->tick, length) : pv_v(length, bar->tick);
        if (inside(pv_box_grow((pv_box){bar->at, pv_add(bar->at, end)}, PV_BAR_WEIGHT / 2), box))
            return (int)b;
    }
    return -1;
}

static int gauge_of(pv_box box, const pv_sheet *sheet)
{
    for (size_t g = 0; g < sheet->n_gauge; g++)
        if (inside(pv_box_grow((pv_box){sheet->gauge[g], sheet->gauge[g]}, PV_GAUGE_ARM), box))
            return (int)g;
    return -1;
}

/* What a shape is part of: a cross, tag, bar or gauge mark 0 to 3, or anything else. */
enum { PART_CROSS = 1, PART_TAG = 10, PART_BAR = 20, PART_GAUGE = 30, PART_OTHER = 40 };

static int part_of(pv_box box, const pv_plan *plan, const pv_sheet *sheet)
{
    if (is_cross(box, plan, sheet))
        return PART_CROSS;
    int tag = tag_of(box, sheet), bar = bar_of(box, sheet), gauge = gauge_of(box, sheet);
    return tag >= 0     ? PART_TAG + tag
           : bar >= 0   ? PART_BAR + bar
           : gauge >= 0 ? PART_GAUGE + gauge
                        : PART_OTHER;
}

/* A tag's cells, a bar's ticks and the map's lines belong together; a cross lies on the art.
 * Everything else keeps apart. */
static void check_apart(page *p, const pv_plan *plan, const pv_sheet *sheet, const char *what)
{
    pv_box page_box = pv_plan_printable(plan);
    pv_box art = shifted(pv_sheet_art_box(plan, sheet), sheet->origin);
    for (size_t i = 0; i < p->n; i++) {
        item *a = &p->items[i];
        const char *name = a->text != NULL ? a->text : "a shape";
        a->part = a->text != NULL ? 0 : part_of(a->box, plan, sheet);
        if (a->part == PART_CROSS) {
            REQUIRE(inside(art, a->box), "%s %s: a cross leaves the art", what, sheet->name);
            continue;
        }
        REQUIRE(inside(page_box, a->box), "%s %s: %s is cut off", what, sheet->name, name);
        REQUIRE(!overlap(art, a->box), "%s %s: %s is on the art", what, sheet->name, name);
        for (size_t k = 0; k < i; k++) {
            const item *b = &p->items[k];
            bool together = b->part == PART_CROSS ||
                            (a->part != 0 && a->part == b->part && !a->dart && !b->dart);
            REQUIRE(together || !overlap(a->box, b->box), "%s %s: %s is over %s", what, sheet->name,
                    name, b->text != NULL ? b->text : "a shape");
        }
    }
}

/* The seam's label is the same on both sheets, and names the one on top. */
static bool seam_is_said(const page *p, const pv_plan *plan, const pv_seam *seam)
{
    const char *over = plan->sheets[seam->over].name;
    bool after = seam->over > seam->under; /* the left or upper sheet is named first */
    const char *first = plan->sheets[after ? seam->under : seam->over].name;
    const char *second = plan->sheets[after ? seam->over : seam->under].name;
    char text[96], name[40];
    snprintf(name, sizeof name, "%s%s%s", first, seam->vertical ? "|" : "/", second);
    for (int i = 0; i < 2; i++) {
        snprintf(text, sizeof text,
                 i == 0 ? pv_say(plan->language, "%s · %s on top")
                        : pv_say(plan->language, "seam %s · %s on top"),
                 name, over);
        /* one wording for both sheets: the long one where the seam is long */
        if (page_says(p, text))
            return (i == 1) == (seam->to - seam->from >= PV_SEAM_SHORT);
    }
    return false;
}

/* A cut mark is a hairline of 0.2 mm on a trim line's extension; on a sheet's four corners there
 * are two to each side that is cut. */
static size_t missing_cut_marks(const page *p, const pv_sheet *sheet)
{
    size_t wanted = 0, found = 0;
    pv_box cell = pv_sheet_cell(sheet);
    for (int side = 0; side < 4; side++)
        wanted += sheet->side[side] != PV_UNDER ? 2 : 0;
    for (size_t i = 0; i < p->n; i++) {
        pv_box b = p->items[i].box;
        double w = b.hi.x - b.lo.x, h = b.hi.y - b.lo.y;
        pv_vec m = pv_box_middle(b);
        bool upright = fabs(w - 0.2) < 1e-9 && h >= 1.5 - 1e-9 &&
                       fmin(fabs(m.x - cell.lo.x), fabs(m.x - cell.hi.x)) < 1e-9;
        bool level = fabs(h - 0.2) < 1e-9 && w >= 1.5 - 1e-9 &&
                     fmin(fabs(m.y - cell.lo.y), fabs(m.y - cell.hi.y)) < 1e-9;
        found += p->items[i].text == NULL && (upright || level);
    }
    return wanted - found;
}

/* Whether the page says what its marks are apart. */
static bool measure_missing(const page *p, const pv_sheet *sheet)
{
    double x = pv_dist(sheet->gauge[0], sheet->gauge[1]);
    char sides[32];
    snprintf(sides, sizeof sides, "P\xE2\x80\x93Q %.*f mm", fabs(x - round(x)) < 1e-6 ? 0 : 1, x);
    for (size_t i = 0; i < p->n; i++)
        if (p->items[i].text != NULL && strstr(p->items[i].text, sides) != NULL)
            return false;
    return true;
}

static void count_sayings(const page *p, const pv_plan *plan, const pv_sheet *sheet, tally *t)
{
    t->sheets++;
    t->unnamed += !page_says(p, sheet->name);
    const pv_language *l = plan->language;
    t->unscaled += !page_says(p, pv_say(l, "print at 100 %, no scaling"));
    t->ups += !page_says(p, pv_say(l, "this way up"));
    t->cautions += !page_says(p, pv_say(l, "Caution, sharp blade: cut away from yourself")) &&
                   !page_says(p, pv_say(l, "Caution: sharp blade")) &&
                   !page_says(p, pv_say(l, "Caution: blade"));
    for (int side = 0; side < 4; side++)
        if (sheet->seam[side] != SIZE_MAX &&
            !seam_is_said(p, plan, &plan->seams[sheet->seam[side]]))
            t->seams_unsaid++;
    t->unmarked += missing_cut_marks(p, sheet);
    size_t units = 0, kits = 0;
    for (size_t i = 0; i < p->n; i++) {
        const char *text = p->items[i].text;
        t->texts += text != NULL;
        t->shapes += text == NULL;
        t->darts += p->items[i].dart;
        t->worded += text != NULL && (strcmp(text, pv_say(l, "travel")) == 0 ||
                                      strcmp(text, pv_say(l, "step up")) == 0);
        if (text == NULL)
            continue;
        size_t n = strlen(text);
        bool german = l != NULL;
        kits += strncmp(text, german ? "Paket " : "kit ", german ? 6 : 4) == 0 ||
                strcmp(text, german ? "Quayside, Ausgabe 2026-1" : "Quayside, edition 2026-1") == 0;
        units += n > 3 && text[0] >= '0' && text[0] <= '9' &&
                 (strcmp(text + n - 3, " mm") == 0 || strcmp(text + n - 3, " in") == 0);
    }
    t->no_numbers += sheet->n_bars - units;
    t->unlettered +=
        4u - page_says(p, "P") - page_says(p, "Q") - page_says(p, "R") - page_says(p, "S");
    t->ungauged += measure_missing(p, sheet);
    if (kits < 2)
        printf("    no kit on %s of %s\n", sheet->name, plan->paper);
    t->kits += 2 - kits;
    for (size_t i = 0; i < p->drawing.n_ops; i++)
        if (p->drawing.ops[i].kind == PV_OP_TEXT)
            t->smallest = fmin(t->smallest, p->drawing.ops[i].size);
}

static void check_plan(const pv_plan *plan, const char *what, tally *t)
{
    static page p;
    for (size_t i = 0; i < plan->n_sheets; i++) {
        read_page(&p, plan, i);
        check_apart(&p, plan, &plan->sheets[i], what);
        count_sayings(&p, plan, &plan->sheets[i], t);
        pv_drawing_clear(&p.drawing);
    }
}

static void run_layout(const char *paper, double width, double height, double margin, double lap,
                       pv_orientation orientation, const char *language, tally *t)
{
    char what[120];
    snprintf(what, sizeof what, "%s, %g x %g mm, margin %g, overlap %g", paper, width, height,
             margin, lap);
    pv_diags *diags = pv_diags_new();
    pv_plan *plan = make_plan(width, height, paper, margin, lap, orientation, diags);
    char *text = diags_text(diags);
    ck_assert_msg(plan != NULL, "%s: %s", what, text);
    pv_free(text);
    plan->language = pv_language_find(language);
    check_plan(plan, what, t);
    pv_plan_free(plan);
    pv_diags_free(diags);
}

static void say_tally(const char *what, const tally *t)
{
    printf("    %s: %zu sheets, %zu texts, %zu shapes, %zu darts (%zu with their word), smallest "
           "em %.2f mm; left out: name %zu, "
           "seams %zu, 100 %% %zu, kit %zu, cut marks %zu, way up %zu, caution %zu, numbers %zu, "
           "gauge marks' letters %zu, distances %zu\n",
           what, t->sheets, t->texts, t->shapes, t->darts, t->worded, t->smallest, t->unnamed,
           t->seams_unsaid, t->unscaled, t->kits, t->unmarked, t->ups, t->cautions, t->no_numbers,
           t->unlettered, t->ungauged);
    fflush(stdout);
}

START_TEST(nothing_overlaps_on_any_paper)
{
    static const char *const papers[] = {"A6", "A5",     "A4",    "A3",      "A2", "A1",
                                         "A0", "letter", "legal", "tabloid", "B5", "300x450mm"};
    static const double mats[][2] = {{1200, 900}, {1083, 611}, {397, 1290}};
    tally all = {.smallest = 99};
    for (size_t i = 0; i < sizeof papers / sizeof *papers; i++) {
        tally t = {.smallest = 99};
        for (size_t m = 0; m < 3; m++)
            for (int o = PV_PORTRAIT; o <= PV_LANDSCAPE; o++)
                run_layout(papers[i], mats[m][0], mats[m][1], 0, 0, (pv_orientation)o, NULL, &t);
        say_tally(papers[i], &t);
        ck_assert_uint_gt(t.darts, 0);
        all.unnamed += t.unnamed;
        all.seams_unsaid += t.seams_unsaid;
        all.unscaled += t.unscaled;
        all.no_numbers += t.no_numbers;
        all.cautions += t.cautions;
        all.kits += t.kits;
        all.unlettered += t.unlettered;
        all.ungauged += i > 1 ? t.ungauged : 0; /* A6 and A5 have no room on some sheets */
        all.unmarked += t.unmarked;
        all.smallest = fmin(all.smallest, t.smallest);
    }
    /* These are never left out on a paper of A6 or larger with the default margins. */
    ck_assert_uint_eq(all.cautions, 0);
    ck_assert_uint_eq(all.kits, 0);
    ck_assert_uint_eq(all.unmarked, 0);
    ck_assert_uint_eq(all.unnamed, 0);
    ck_assert_uint_eq(all.seams_unsaid, 0);
    ck_assert_uint_eq(all.unscaled, 0);
    ck_assert_uint_eq(all.no_numbers, 0);
    ck_assert_uint_eq(all.unlettered, 0);
    ck_assert_uint_eq(all.ungauged, 0);
    ck_assert(all.smallest >= 1.3);
}
END_TEST

/* German words are longer, and have room all the same. */
START_TEST(german_has_room)
{
    static const char *const papers[] = {"A4", "A3", "letter", "tabloid"};
    for (size_t i = 0; i < sizeof papers / sizeof *papers; i++) {
        tally t = {.smallest = 99};
        run_layout(papers[i], 1083, 611, 0, 0, PV_FEWEST, "de", &t);
        say_tally(papers[i], &t);
        ck_assert_uint_gt(t.worded, 0);
        ck_assert_uint_eq(t.unnamed + t.seams_unsaid + t.unscaled + t.kits + t.unmarked + t.ups +
                              t.cautions + t.no_numbers + t.unlettered + t.ungauged,
                          0);
    }
}
END_TEST

START_TEST(nothing_overlaps_with_any_margin_or_overlap)
{
    static const double margins[] = {1, 3, 6.35, 18};
    static const double laps[] = {10, 12.5, 24, 40};
    tally t = {.smallest = 99};
    for (int m = 0; m < 4; m++)
        for (int l = 0; l < 4; l++) {
            run_layout("A4", 733, 641, margins[m], laps[l], PV_FEWEST, NULL, &t);
            run_layout("A5", 420, 297, margins[m], laps[l], PV_FEWEST, NULL, &t);
        }
    say_tally("margins and overlaps", &t);
    ck_assert_uint_eq(t.unnamed, 0);
}
END_TEST

/* ---- whole files ---- */

typedef struct calls {
    size_t n, last, total, stop_at;
} calls;

static bool count_call(void *context, size_t done, size_t total)
{
    calls *c = context;
    ck_assert(c->n == 0 || done >= c->last);
    c->n++;
    c->last = done;
    c->total = total;
    return done < c->stop_at;
}

START_TEST(chosen_sheets_become_pages)
{
    pv_diags *diags = pv_diags_new();
    pv_plan *plan = make_plan(600, 500, "A4", 0, 0, PV_FEWEST, diags);
    unsigned char *bytes = NULL;
    size_t size = 0;
    calls c = {.stop_at = SIZE_MAX};
    pv_pdf_options two = pv_pdf_defaults(), all = pv_pdf_defaults(), none = pv_pdf_defaults();
    two.range = "A1,B2";
    two.type = all.type = none.type = test_type();
    two.progress = all.progress = count_call;
    two.progress_context = all.progress_context = &c;
    ck_assert(sheets_pdf(plan, &two, &bytes, &size, diags));
    ck_assert_uint_eq(c.total, 2);
    ck_assert_uint_eq(c.last, 2);
    pv_free(bytes);
    c = (calls){.stop_at = 1};
    ck_assert(!sheets_pdf(plan, &all, &bytes, &size, diags));
    ck_assert_ptr_null(bytes);
    ck_assert_uint_eq(c.last, 1);
    none.range = "";
    ck_assert(!sheets_pdf(plan, &none, &bytes, &size, diags));
    ck_assert_ptr_null(pv_sheet_svg(plan, plan->n_sheets, test_type(), diags));
    ck_assert_uint_eq(pv_diags_count(diags, PV_ERROR), 3);
    char *svg = pv_sheet_svg(plan, 1, test_type(), diags);
    ck_assert_ptr_nonnull(svg);
    ck_assert(strstr(svg, ">print at 100 %, no scaling</text>") != NULL);
    pv_free(svg);
    pv_plan_free(plan);
    pv_diags_free(diags);
}
END_TEST

START_TEST(the_same_plan_gives_the_same_bytes)
{
    pv_diags *diags = pv_diags_new();
    unsigned char *bytes[2];
    size_t size[2];
    pv_pdf_options how = pv_pdf_defaults();
    how.type = test_type();
    for (int i = 0; i < 2; i++) {
        pv_plan *plan = make_plan(600, 500, "A4", 0, 0, PV_FEWEST, diags);
        ck_assert(sheets_pdf(plan, &how, &bytes[i], &size[i], diags));
        pv_plan_free(plan);
    }
    ck_assert_uint_eq(size[0], size[1]);
    ck_assert_mem_eq(bytes[0], bytes[1], size[0]);
    pv_free(bytes[0]);
    pv_free(bytes[1]);
    pv_diags_free(diags);
}
END_TEST

START_TEST(any_name_can_be_printed)
{
    static char *const names[] = {
        "", "A name that goes on and on, far beyond what a strip of paper has room for, and on",
        "\xD0\x96\xD0\xB8\xD1\x80", "\xC3\x89t\xC3\xA9 \xE2\x80\x93 \xE2\x82\xAC",
        "\xFF\x80 broken"};
    pv_diags *diags = pv_diags_new();
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        pv_layout_options o = pv_layout_defaults();
        o.paper = "A6";
        pv_plan *plan = plan_named(200, 200, names[i], &o, diags);
        ck_assert_ptr_nonnull(plan);
        unsigned char *bytes = NULL;
        size_t size = 0;
        pv_pdf_options how = pv_pdf_defaults();
        ck_assert(!sheets_pdf(plan, &how, &bytes, &size, NULL)); /* no type */
        how.type = test_type();
        ck_assert_msg(sheets_pdf(plan, &how, &bytes, &size, diags), "name %zu", i);
        pv_free(bytes);
        pv_plan_free(plan);
    }
    pv_diags_free(diags);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("sheet");
    TCase *tcase = tcase_create("sheet");
    tcase_set_timeout(tcase, 60);
    tcase_add_test(tcase, german_has_room);
    tcase_add_test(tcase, nothing_overlaps_on_any_paper);
    tcase_add_test(tcase, nothing_overlaps_with_any_margin_or_overlap);
    tcase_add_test(tcase, chosen_sheets_become_pages);
    tcase_add_test(tcase, the_same_plan_gives_the_same_bytes);
    tcase_add_test(tcase, any_name_can_be_printed);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
