/* The proof page on every paper there is: all of it is printed, nothing lies on anything else, its
 * tags read, and its plan comes back. */
#include "boxes.h"

#include "draw/art.h"
#include "paper/paper.h"
#include "plan/layout.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static pv_plan *proof(const char *paper, double margin, pv_diags *diags)
{
    pv_layout_options options = pv_layout_defaults();
    options.paper = paper;
    options.type = test_type();
    for (int i = 0; margin >= 0 && i < 4; i++)
        options.margin[i] = margin;
    return pv_plan_proof(&options, diags);
}

/* ---- the parts ---- */

static pv_box bar_box(const pv_bar *bar)
{
    double length = bar->count * bar->step;
    pv_vec end = bar->vertical ? pv_v(bar->tick, length) : pv_v(length, bar->tick);
    return pv_box_grow((pv_box){bar->at, pv_add(bar->at, end)}, PV_BAR_WEIGHT / 2);
}

static void check_tags(const pv_plan *plan, const char *what)
{
    const pv_sheet *sheet = &plan->sheets[0];
    pv_box page = pv_plan_printable(plan), cell = pv_sheet_cell(sheet);
    unsigned ids[PV_TAG_PLACES];
    for (int i = 0; i < PV_TAG_PLACES; i++) {
        pv_box box = pv_tag_box(&sheet->tag[i]);
        ids[i] = sheet->tag[i].id;
        REQUIRE(inside(page, box), "%s: tag %d is cut off", what, i);
        REQUIRE(!overlap(cell, box), "%s: tag %d is on the art", what, i);
        for (int k = 0; k < i; k++)
            REQUIRE(!overlap(box, pv_tag_box(&sheet->tag[k])), "%s: tags %d, %d", what, k, i);
        for (size_t b = 0; b < sheet->n_bars; b++)
            REQUIRE(!overlap(box, bar_box(&sheet->bar[b])), "%s: tag %d on a bar", what, i);
    }
    /* The first sheet's identity is the fingerprint, or one that is a few steps on. */
    unsigned first[PV_TAG_PLACES];
    pv_tag_ids(pv_tag_identity(plan->fingerprint, false), first);
    REQUIRE(memcmp(ids, first, sizeof ids) == 0, "%s: ids", what);
    /* Not in one line: they span most of the page. */
    pv_box all = pv_box_none();
    for (int i = 0; i < PV_TAG_PLACES; i++)
        all = pv_box_add(all, sheet->tag[i].centre);
    REQUIRE(all.hi.x - all.lo.x > 0.7 * plan->page[0] && all.hi.y - all.lo.y > 0.7 * plan->page[1],
            "%s: the tags stand close together", what);
}

static void check_bars(const pv_plan *plan, const char *what)
{
    const pv_sheet *sheet = &plan->sheets[0];
    pv_box page = pv_plan_printable(plan), cell = pv_sheet_cell(sheet);
    double longest[2] = {0, 0};
    for (size_t i = 0; i < sheet->n_bars; i++) {
        const pv_bar *bar = &sheet->bar[i];
        pv_box box = bar_box(bar);
        REQUIRE(inside(page, box), "%s: a bar is cut off", what);
        REQUIRE(!overlap(cell, box), "%s: a bar is on the art", what);
        REQUIRE(bar->step == (bar->inch ? 12.7 : 10), "%s: a bar of steps of %g", what, bar->step);
        for (size_t k = 0; k < i; k++)
            REQUIRE(!overlap(box, bar_box(&sheet->bar[k])), "%s: bars lie on each other", what);
        if (!bar->inch)
            longest[bar->vertical] = fmax(longest[bar->vertical], bar->count * bar->step);
    }
    REQUIRE(longest[0] >= 80 && longest[1] >= 80, "%s: bars of %g and %g mm", what, longest[0],
            longest[1]);
}

/* ISO/IEC 7810: 85.60 x 53.98 mm. */
static void check_card(const pv_plan *plan, const char *what)
{
    const pv_sheet *sheet = &plan->sheets[0];
    REQUIRE(sheet->has_card, "%s: no card", what);
    pv_vec size = pv_sub(sheet->card.hi, sheet->card.lo);
    REQUIRE(fabs(size.x - 85.60) < 1e-9 && fabs(size.y - 53.98) < 1e-9, "%s: the card is %g x %g",
            what, size.x, size.y);
    pv_box comb = pv_sheet_card_box(sheet), cell = pv_sheet_cell(sheet);
    REQUIRE(inside(pv_plan_printable(plan), comb), "%s: the card is cut off", what);
    REQUIRE(inside(cell, comb), "%s: the card leaves the art", what);
    REQUIRE(inside(comb, sheet->card), "%s: the comb is narrower than its card", what);
    pv_box teeth[PV_CARD_TEETH_MAX], inner = pv_box_grow(sheet->card, -PV_CARD_BENEATH);
    size_t n = pv_card_teeth(sheet->card, teeth);
    REQUIRE(n > 20, "%s: %zu teeth", what, n);
    for (size_t i = 0; i < n; i++) {
        REQUIRE(inside(comb, teeth[i]) && !overlap(inner, teeth[i]), "%s: tooth %zu", what, i);
        for (size_t k = 0; k < i; k++)
            REQUIRE(!overlap(teeth[i], teeth[k]), "%s: teeth %zu and %zu", what, k, i);
    }
}

/* ---- the art ---- */

static bool is_long(const pv_line *line)
{
    return strstr(line->id, "edge") != NULL || strncmp(line->id, "middle", 6) == 0;
}

/* Lines keep apart, but for the long ones that cross each other; no line or panel is beneath the
 * card or its comb; words stand on white ground and on nothing else. */
static void check_art(const pv_plan *plan, const char *what)
{
    const pv_art *art = &plan->art;
    const pv_sheet *sheet = &plan->sheets[0];
    pv_box all = {{0, 0}, art->size}, comb, card;
    comb = shifted(pv_sheet_card_box(sheet), pv_scale(sheet->origin, -1));
    card = pv_box_grow(shifted(sheet->card, pv_scale(sheet->origin, -1)), -PV_CARD_BENEATH);
    for (size_t i = 0; i < art->n_lines; i++) {
        pv_box a = pv_line_box(&art->lines[i]);
        REQUIRE(inside(all, a), "%s: %s leaves the art", what, art->lines[i].id);
        REQUIRE(!overlap(comb, a), "%s: %s is beneath the card", what, art->lines[i].id);
        for (size_t k = 0; k < i; k++) {
            pv_box b = pv_line_box(&art->lines[k]);
            bool crossing = is_long(&art->lines[i]) && is_long(&art->lines[k]);
            REQUIRE(crossing || !overlap(pv_box_grow(a, 1), b), "%s: %s is within 1 mm of %s", what,
                    art->lines[i].id, art->lines[k].id);
        }
    }
    for (size_t i = 0; i < art->n_fills; i++) {
        pv_box a = pv_area_box(&art->fills[i]);
        REQUIRE(inside(all, a) && !overlap(comb, a), "%s: %s", what, art->fills[i].id);
        for (size_t k = 0; k < i; k++)
            REQUIRE(!overlap(a, pv_area_box(&art->fills[k])), "%s: two panels", what);
        for (size_t k = 0; k < art->n_lines; k++) {
            pv_box line = pv_line_box(&art->lines[k]);
            bool own = art->lines[k].colour != art->fills[i].colour && inside(a, line);
            REQUIRE(own || !overlap(a, line), "%s: %s and %s", what, art->fills[i].id,
                    art->lines[k].id);
        }
    }
    for (size_t i = 0; i < art->n_letterings; i++) {
        const char *text = art->letterings[i].text;
        pv_box a = pv_lettering_box(&art->letterings[i]);
        REQUIRE(inside(all, a), "%s: \"%s\" leaves the art", what, text);
        REQUIRE(inside(card, a) || !overlap(comb, a), "%s: \"%s\" is on the comb", what, text);
        for (size_t k = 0; k < i; k++)
            REQUIRE(!overlap(a, pv_lettering_box(&art->letterings[k])), "%s: \"%s\" on \"%s\"",
                    what, text, art->letterings[k].text);
        for (size_t k = 0; k < art->n_lines; k++)
            REQUIRE(!overlap(a, pv_line_box(&art->lines[k])), "%s: \"%s\" on %s", what, text,
                    art->lines[k].id);
        for (size_t k = 0; k < art->n_fills; k++)
            REQUIRE(!overlap(a, pv_area_box(&art->fills[k])), "%s: \"%s\" on %s", what, text,
                    art->fills[k].id);
    }
}

/* The ladders: each width in black on white and white on black, upwards and across. The small page
 * has 0.5 to 10 mm upwards and 0.5 to 5 across, others 0.25 to 20 mm. */
static void check_ladder(const pv_plan *plan, const char *what, bool small)
{
    static const double large_widths[] = {0.25, 0.5, 1, 1.5, 2, 3, 5, 10, 20};
    static const double small_widths[] = {0.5, 1, 2, 5, 10};
    const double *widths = small ? small_widths : large_widths;
    size_t n = small ? 5 : 9;
    for (size_t w = 0; w < n; w++)
        for (int upright = 0; upright < 2; upright++)
            for (int white = 0; white < 2; white++) {
                size_t found = 0;
                for (size_t i = 0; i < plan->art.n_lines; i++) {
                    const pv_line *line = &plan->art.lines[i];
                    const pv_piece *p = &line->pieces[0];
                    const uint8_t *rgb = plan->art.colours[line->colour].rgb;
                    found += !is_long(line) && line->width == widths[w] &&
                             (p->a.x == p->b.x) == (upright == 1) &&
                             rgb[0] + rgb[1] + rgb[2] == (white == 1 ? 765 : 0);
                }
                bool wanted = !(small && widths[w] == 10 && upright == 0);
                REQUIRE(found == (wanted ? 1 : 0), "%s: %zu lines of %g mm", what, found,
                        widths[w]);
            }
}

/* ---- the drawing ---- */

/* The box of a text's ink, as in check_sheet.c. */
static pv_box text_box(const pv_op *op, const char *text)
{
    double width = pv_type_ems(test_type(), text, op->bold) * op->size;
    double below = strspn(text, "0123456789 imn") == strlen(text) ? 0.023 : 0.225;
    double above = strspn(text, "0123456789 imn") == strlen(text) ? 0.72 : 0.775;
    pv_vec x = pv_polar(1, op->angle), y = pv_left(x);
    pv_box b = pv_box_none();
    for (int i = 0; i < 4; i++)
        b = pv_box_add(b, pv_along(pv_along(op->p[0], x, (i & 1) != 0 ? width : 0), y,
                                   op->size * ((i & 2) != 0 ? above : -below)));
    return b;
}

/* All that is drawn after the art. */
static size_t check_drawing(const pv_plan *plan, const char *what)
{
    static pv_box shapes[4000], texts[400];
    const char *said[400];
    pv_drawing d;
    REQUIRE(pv_draw_sheet(&d, plan, 0, test_type(), NULL) && !d.failed, "%s: it can't be drawn",
            what);
    pv_box page = pv_plan_printable(plan), box = pv_box_none();
    pv_box cell = pv_sheet_cell(&plan->sheets[0]), comb = pv_sheet_card_box(&plan->sheets[0]);
    size_t i = 0, n = 0, m = 0;
    while (d.ops[i].kind != PV_OP_END)
        i++;
    for (i++; i < d.n_ops; i++) {
        const pv_op *op = &d.ops[i];
        if (op->kind == PV_OP_MOVE)
            box = pv_box_add(pv_box_none(), op->p[0]);
        else if (op->kind == PV_OP_LINE)
            box = pv_box_add(box, op->p[0]);
        else if (op->kind == PV_OP_CLOSE && n < 4000)
            shapes[n++] = box;
        else if (op->kind == PV_OP_TEXT && m < 400) {
            said[m] = d.chars + op->text;
            texts[m++] = text_box(op, d.chars + op->text);
        }
    }
    REQUIRE(n > 100 && n < 4000 && m > 5 && m < 400, "%s: %zu shapes, %zu texts", what, n, m);
    for (size_t k = 0; k < n; k++) {
        REQUIRE(inside(page, shapes[k]), "%s: a shape is cut off", what);
        REQUIRE(inside(comb, shapes[k]) || !overlap(cell, shapes[k]), "%s: a shape is on the art",
                what);
    }
    for (size_t k = 0; k < m; k++) {
        REQUIRE(inside(page, texts[k]), "%s: \"%s\" is cut off", what, said[k]);
        REQUIRE(!overlap(cell, texts[k]), "%s: \"%s\" is on the art", what, said[k]);
        for (size_t j = 0; j < k; j++)
            REQUIRE(!overlap(texts[k], texts[j]), "%s: \"%s\" on \"%s\"", what, said[k], said[j]);
        for (size_t j = 0; j < n; j++)
            REQUIRE(!overlap(texts[k], shapes[j]), "%s: \"%s\" on a shape", what, said[k]);
    }
    pv_drawing_clear(&d);
    return m;
}

static void check_round_trip(const pv_plan *plan, const char *what)
{
    char *json = pv_plan_json(plan, NULL);
    pv_plan *again = json != NULL ? pv_plan_parse(json, strlen(json), "proof", NULL) : NULL;
    char *second = again != NULL ? pv_plan_json(again, NULL) : NULL;
    REQUIRE(second != NULL && strcmp(json, second) == 0, "%s: the plan doesn't come back", what);
    REQUIRE(again->proof && again->sheets[0].has_card, "%s: no proof comes back", what);
    pv_free(json);
    pv_free(second);
    pv_plan_free(again);
}

static void check_page(const pv_plan *plan, const char *what, double width, double height)
{
    REQUIRE(plan->n_sheets == 1 && plan->proof, "%s: %zu sheets", what, plan->n_sheets);
    REQUIRE(plan->page[0] == width && plan->page[1] == height, "%s: lies", what);
    check_tags(plan, what);
    check_bars(plan, what);
    check_card(plan, what);
    check_art(plan, what);
    check_drawing(plan, what);
    check_round_trip(plan, what);
}

/* docs/use/calibrating.md: A5, half letter or larger. */
START_TEST(every_paper_is_proved_or_refused)
{
    size_t proved = 0, refused = 0;
    for (size_t i = 0; i < pv_paper_count(); i++) {
        const pv_paper *paper = pv_paper_at(i);
        static const double margins[] = {-1, 3, 4.23, 8, 12.7, 18};
        bool half_letter = paper->width >= 139.7 && paper->height >= 210;
        for (size_t k = 0; k < sizeof margins / sizeof *margins; k++) {
            char what[100];
            snprintf(what, sizeof what, "%s, margins %g", paper->everyday, margins[k]);
            pv_diags *diags = pv_diags_new();
            pv_plan *plan = proof(paper->name, margins[k], diags);
            REQUIRE((plan == NULL) == (pv_diags_count(diags, PV_ERROR) > 0), "%s", what);
            REQUIRE(plan != NULL || !half_letter || margins[k] > 5, "%s is refused", what);
            REQUIRE(plan == NULL || paper->width >= 135, "%s is taken", what);
            if (plan != NULL) {
                check_page(plan, what, paper->width, paper->height);
                proved++;
            } else {
                char *said = diags_text(diags);
                REQUIRE(strstr(said, "proof") != NULL && strstr(said, "A5") != NULL, "%s: %s", what,
                        said);
                pv_free(said);
                refused++;
            }
            pv_plan_free(plan);
            pv_diags_free(diags);
        }
    }
    printf("    %zu proof pages, %zu refused\n", proved, refused);
    ck_assert_uint_gt(proved, 100);
    ck_assert_uint_gt(refused, 20);
}
END_TEST

START_TEST(sizes_between_hold_as_well)
{
    size_t proved = 0;
    for (double width = 138; width < 330; width += 3.7)         /* NOLINT: some fifty steps */
        for (double height = 205; height < 520; height += 17) { /* NOLINT */
            char name[64];
            snprintf(name, sizeof name, "%.1fx%.1fmm", width, height);
            pv_diags *diags = pv_diags_new();
            pv_plan *plan = width <= height ? proof(name, -1, diags) : NULL;
            if (plan != NULL) {
                check_page(plan, name, plan->page[0], plan->page[1]);
                proved++;
            }
            pv_plan_free(plan);
            pv_diags_free(diags);
        }
    printf("    %zu sizes of paper\n", proved);
    ck_assert_uint_gt(proved, 500);
}
END_TEST

START_TEST(the_ladder_has_its_widths)
{
    static const char *const papers[] = {"A5", "half letter", "A4", "letter", "A3", "A0"};
    for (size_t i = 0; i < sizeof papers / sizeof *papers; i++) {
        pv_plan *plan = proof(papers[i], -1, NULL);
        ck_assert_msg(plan != NULL, "%s", papers[i]);
        check_ladder(plan, papers[i], i < 2);
        pv_plan_free(plan);
    }
}
END_TEST

START_TEST(a_proof_stands_upright_and_knows_its_paper)
{
    pv_layout_options options = pv_layout_defaults();
    options.paper = "A4";
    options.orientation = PV_LANDSCAPE;
    pv_diags *diags = pv_diags_new();
    ck_assert_ptr_null(pv_plan_proof(&options, diags));
    ck_assert_int_eq(pv_diags_cause(diags), PV_CAUSE_USAGE);
    pv_diags_free(diags);
    options.orientation = PV_PORTRAIT;
    diags = pv_diags_new();
    ck_assert_ptr_null(pv_plan_proof(&options, diags)); /* no typeface */
    ck_assert_int_eq(pv_diags_cause(diags), PV_CAUSE_USAGE);
    pv_diags_free(diags);
    options.type = test_type();
    options.paper = "A44";
    diags = pv_diags_new();
    ck_assert_ptr_null(pv_plan_proof(&options, diags));
    ck_assert_uint_eq(pv_diags_count(diags, PV_ERROR), 1);
    pv_diags_free(diags);
    /* Proofs of two papers are two kits: a scan of one isn't taken for the other. */
    pv_plan *a = proof("A4", -1, NULL), *b = proof("letter", -1, NULL);
    ck_assert_uint_ne(a->fingerprint, b->fingerprint);
    /* Twice the same. */
    pv_plan *c = proof("A4", -1, NULL);
    char *first = pv_plan_json(a, NULL), *second = pv_plan_json(c, NULL);
    ck_assert_str_eq(first, second);
    pv_free(first);
    pv_free(second);
    pv_plan_free(a);
    pv_plan_free(b);
    pv_plan_free(c);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("proof");
    TCase *tcase = tcase_create("proof");
    tcase_set_timeout(tcase, 120);
    tcase_add_test(tcase, every_paper_is_proved_or_refused);
    tcase_add_test(tcase, sizes_between_hold_as_well);
    tcase_add_test(tcase, the_ladder_has_its_widths);
    tcase_add_test(tcase, a_proof_stands_upright_and_knows_its_paper);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
