/* Marks on the surface: faults of known place, size and contrast, painted onto sheets. */
#include "sheet_picture.h"
#include "values.h"

#define PAPER 0.88 /* of light, and what black takes of it, as sheet_picture.h paints them */
#define BLACK 0.85

static const picture_setup plain = {
    .dpi = {200, 200}, .scale = {1, 1}, .turn = 0.013, .stated_dpi = {200, 200}, .shown = 1};

/* What is laid onto a sheet: a box (mat mm) of some darkness, or what leaves `left` of the light in
 * the middle of a bell of `reach` mm. */
typedef struct fault {
    pv_box box;
    double darkness;
    double left, reach;
    const pv_box *letter; /* black beneath it */
} fault;

static void lay_box(picture *p, const fault *f, pv_vec origin)
{
    picture only = *p;
    only.darkness = calloc(p->width * p->height, sizeof *only.darkness);
    ck_assert_ptr_nonnull(only.darkness);
    picture_box(&only, (pv_box){pv_sub(f->box.lo, origin), pv_sub(f->box.hi, origin)});
    for (size_t i = 0; i < p->width * p->height; i++)
        p->darkness[i] += fmin(only.darkness[i], 1) * (f->darkness - p->darkness[i]);
    free(only.darkness);
}

static void lay_shade(picture *p, const fault *f, pv_vec origin)
{
    pv_vec mid = picture_px(p, pv_sub(f->box.lo, origin));
    for (size_t y = 0; y < p->height; y++)
        for (size_t x = 0; x < p->width; x++) {
            double *dark = &p->darkness[y * p->width + x];
            double far = hypot((double)x - mid.x, (double)y - mid.y) * 25.4 / 200 / f->reach;
            double light = PAPER - BLACK * fmin(1, *dark);
            light *= 1 - (1 - f->left) * exp(-far * far);
            *dark = (PAPER - light) / BLACK;
        }
}

static pv_bytes faulty_picture(const pv_plan *plan, const fault *f)
{
    picture p;
    picture_place(&p, &plain, plan);
    p.darkness = calloc(p.width * p.height, sizeof *p.darkness);
    ck_assert_ptr_nonnull(p.darkness);
    picture_paint(&p, plan, plain.shown);
    pv_vec origin = plan->sheets[0].origin;
    if (f->letter != NULL)
        picture_box(&p, (pv_box){pv_sub(f->letter->lo, origin), pv_sub(f->letter->hi, origin)});
    (f->reach > 0 ? lay_shade : lay_box)(&p, f, origin);
    pv_bytes png = picture_png(&p, plain.stated_dpi);
    free(p.darkness);
    return png;
}

static pv_inspection *inspected_on(const pv_plan *plan, const fault *f)
{
    pv_bytes png = f != NULL ? faulty_picture(plan, f) : sheet_picture(plan, &plain);
    pv_inspection *in =
        pv_inspect((const pv_plan *[]){plan}, 1, png.data, png.size, "pier.png", NULL, NULL);
    ck_assert_ptr_nonnull(in);
    ck_assert_msg(in->sheet.error == NULL, "%s", in->sheet.error);
    free(png.data);
    return in;
}

static pv_inspection *inspected(const fault *f)
{
    pv_plan *plan = picture_plan();
    pv_inspection *in = inspected_on(plan, f);
    pv_plan_free(plan);
    return in;
}

static const pv_mark *only_mark(const pv_inspection *in)
{
    ck_assert_uint_eq(pv_inspection_marks(in), 1);
    return pv_inspection_mark(in, 0);
}

START_TEST(a_clean_sheet_has_none)
{
    pv_inspection *in = inspected(NULL);
    ck_assert_uint_eq(pv_inspection_marks(in), 0);
    ck_assert_ptr_null(pv_inspection_mark(in, 0));
    pv_inspection_free(in);
}
END_TEST

/* 6 mm by 5 mm of grey on white: its box, its contrast by what was painted, and over a spot of 3 mm
 * no less; ink so sharp is neither dust nor a shadow. */
START_TEST(grey_ink_is_placed_and_sized)
{
    double place = 0, size = 0, contrast = 0;
    for (int k = 0; k < 4; k++) {
        double x = 30 + 7.13 * k, y = 25.2 + 0.21 * k, dark = 0.33 + 0.2 * k;
        fault f = {.box = {{x, y}, {x + 6, y + 5}}, .darkness = dark};
        pv_inspection *in = inspected(&f);
        const pv_mark *mark = only_mark(in);
        ck_assert_int_eq(mark->kind, PV_MARK_STRAY);
        ck_assert_uint_eq(mark->doubt, 0);
        ck_assert_int_eq(mark->verdict, PV_DOES_NOT_CONFORM);
        ck_assert_int_eq(in->sheet.verdict, PV_DOES_NOT_CONFORM);
        ck_assert_ptr_null(mark->line);
        ck_assert_str_eq(mark->colour, "white");
        place = fmax(place, hypot(mark->x - x - 3, mark->y - y - 2.5));
        size = fmax(size, fmax(fabs(mark->length - 6), fabs(mark->width - 5)));
        contrast = fmax(contrast, fabs(mark->contrast + dark * BLACK / PAPER));
        contrast = fmax(contrast, fabs(mark->off - dark * BLACK / PAPER));
        pv_inspection_free(in);
    }
    say_worst("place of a grey mark", place, 0.3, "mm");
    say_worst("its length and width", size, 0.6, "mm");
    /* Squares on its edge are in the mean of its own. */
    say_worst("its contrast", contrast, 0.07, "");
}
END_TEST

/* What a spot sees of a small mark is its share of the spot's area. */
START_TEST(a_speck_is_told_and_passes)
{
    fault f = {.box = {{40, 28}, {41.4, 29.4}}, .darkness = 0.8};
    pv_inspection *in = inspected(&f);
    const pv_mark *mark = only_mark(in);
    double share = 1.4 * 1.4 * 0.8 * BLACK / PAPER / 9;
    ck_assert_double_eq_tol(mark->off, share, 0.02);
    ck_assert_int_eq(mark->verdict, PV_CONFORMS);
    ck_assert_int_ne(in->sheet.verdict, PV_DOES_NOT_CONFORM);
    pv_inspection_free(in);
}
END_TEST

/* Two millimetres across and black: past the tolerance, but it may be a crumb on the glass. */
START_TEST(what_may_be_dust_is_undecided)
{
    fault f = {.box = {{40, 28}, {42.2, 30.2}}, .darkness = 1};
    pv_inspection *in = inspected(&f);
    const pv_mark *mark = only_mark(in);
    ck_assert_uint_eq(mark->doubt, PV_DOUBT_DUST);
    ck_assert_int_eq(mark->verdict, PV_UNDECIDED);
    ck_assert_int_eq(in->sheet.verdict, PV_UNDECIDED);
    pv_inspection_free(in);
}
END_TEST

START_TEST(what_may_be_a_shadow_is_undecided)
{
    fault f = {.box = {{45, 28}, {45, 28}}, .left = 0.45, .reach = 7};
    pv_inspection *in = inspected(&f);
    ck_assert_uint_ge(pv_inspection_marks(in), 1);
    for (size_t i = 0; i < pv_inspection_marks(in); i++) {
        const pv_mark *mark = pv_inspection_mark(in, i);
        ck_assert(mark->verdict != PV_DOES_NOT_CONFORM);
        if (i == 0)
            ck_assert((mark->doubt & PV_DOUBT_SHADOW) != 0 && mark->verdict == PV_UNDECIDED);
    }
    ck_assert_int_eq(in->sheet.verdict, PV_UNDECIDED);
    pv_inspection_free(in);
}
END_TEST

/* A hole of 7 mm by 4 mm in a line, which is 8 mm wide. */
START_TEST(missing_paint_names_its_line)
{
    fault f = {.box = {{40, 13}, {47, 17}}, .darkness = 0};
    pv_inspection *in = inspected(&f);
    const pv_mark *mark = only_mark(in);
    ck_assert_int_eq(mark->kind, PV_MARK_MISSING);
    ck_assert_str_eq(mark->line, "low");
    ck_assert_int_eq(mark->verdict, PV_DOES_NOT_CONFORM);
    ck_assert_double_eq_tol(mark->x, 43.5, 0.3);
    ck_assert_double_eq_tol(mark->y, 15, 0.3);
    ck_assert_double_eq_tol(mark->contrast, BLACK / PAPER, 0.07);
    pv_inspection_free(in);
}
END_TEST

/* As long as a card's short side, on white: a card that is white but for a stripe looks like that.
 * A bar of another length is none. */
START_TEST(what_may_be_a_card_is_undecided)
{
    static const double length[2] = {54.5, 46};
    for (int k = 0; k < 2; k++) {
        fault f = {.box = {{16, 24}, {16 + length[k], 33}}, .darkness = 0.6};
        pv_inspection *in = inspected(&f);
        const pv_mark *mark = only_mark(in);
        ck_assert_uint_eq(mark->doubt, k == 0 ? PV_DOUBT_CARD : 0);
        ck_assert_int_eq(mark->verdict, k == 0 ? PV_UNDECIDED : PV_DOES_NOT_CONFORM);
        pv_inspection_free(in);
    }
}
END_TEST

/* Waste and laps are cut off or covered. */
START_TEST(beyond_the_cell_nothing_counts)
{
    fault f = {.box = {{20, -6}, {60, -2}}, .darkness = 1};
    pv_inspection *in = inspected(&f);
    ck_assert_uint_eq(pv_inspection_marks(in), 0);
    pv_inspection_free(in);
}
END_TEST

/* The same mark by courses that allow more, and that look closer. */
START_TEST(the_course_says_what_counts)
{
    static const struct {
        const char *words;
        double side;
        pv_verdict verdict;
    } cases[] = {{"contrast 60 %", 6, PV_CONFORMS},
                 {"spot 12mm", 6, PV_CONFORMS},
                 {"contrast 10 %", 6, PV_DOES_NOT_CONFORM},
                 {"spot 1mm", 2.8, PV_DOES_NOT_CONFORM}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        pv_text course = PV_TEXT_INIT;
        pv_text_add(&course, "%stolerance %s\n", picture_course, cases[i].words);
        pv_plan *plan = picture_plan_of(course.chars, "140x110mm");
        fault f = {.box = {{40, 26}, {40 + cases[i].side, 26 + cases[i].side}}, .darkness = 0.45};
        pv_inspection *in = inspected_on(plan, &f);
        const pv_mark *mark = only_mark(in);
        ck_assert_msg(mark->verdict == cases[i].verdict, "%s: off %g +- %g", cases[i].words,
                      mark->off, mark->U);
        pv_inspection_free(in);
        pv_plan_free(plan);
        pv_text_drop(&course);
    }
}
END_TEST

/* An "I" is a stroke of 5 mm, and its outline in the plan has its four corners. */
START_TEST(letters_are_where_their_outlines_say)
{
    pv_plan *plan =
        picture_plan_of("course \"Pier\" edition \"1\"\n"
                        "mat 90mm by 60mm ground white\n"
                        "line west width 5mm colour black from (10, 6)mm, to (10, 54)mm\n"
                        "line east width 5mm colour black from (80, 6)mm, to (80, 54)mm\n"
                        "text \"I\" at (45, 10)mm height 40mm anchor centre colour black\n",
                        "140x110mm");
    const pv_lettering *l = plan->art.letterings;
    ck_assert_uint_eq(l->n_rings, 1);
    ck_assert_uint_eq(l->rings[0].n, 4);
    pv_box stem = pv_box_none();
    for (size_t i = 0; i < 4; i++)
        stem = pv_box_add(stem, pv_add(l->at, l->rings[0].points[i]));
    ck_assert(stem.hi.x - stem.lo.x > 4 && stem.hi.x - stem.lo.x < 6);
    ck_assert_double_eq_tol(stem.hi.y - stem.lo.y, 40, 0.011);
    pv_box aside = {pv_add(stem.lo, pv_v(5, 0)), pv_add(stem.hi, pv_v(5, 0))};
    const struct {
        const char *what;
        fault f;
        size_t marks;
        pv_mark_kind kind;
        double x, y;
    } cases[] = {
        {"whole", {.letter = &stem}, 0, PV_MARK_STRAY, 0, 0},
        {"a hole", {.letter = &stem, .box = {{40, 27}, {50, 33}}}, 1, PV_MARK_MISSING, 45, 30},
        {"beside",
         {.letter = &stem, .box = {{52, 20}, {57, 26}}, .darkness = 1},
         1,
         PV_MARK_STRAY,
         54.5,
         23},
        {"gone", {.darkness = 0}, 1, PV_MARK_MISSING, 45, 30},
        {"another typeface", {.letter = &aside}, 0, PV_MARK_STRAY, 0, 0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        pv_inspection *in = inspected_on(plan, &cases[i].f);
        ck_assert_msg(pv_inspection_marks(in) == cases[i].marks, "%s: %zu marks", cases[i].what,
                      pv_inspection_marks(in));
        if (cases[i].marks > 0) {
            const pv_mark *mark = pv_inspection_mark(in, 0);
            ck_assert_msg(mark->kind == cases[i].kind &&
                              hypot(mark->x - cases[i].x, mark->y - cases[i].y) < 0.5,
                          "%s: kind %d at %g, %g", cases[i].what, mark->kind, mark->x, mark->y);
        }
        pv_inspection_free(in);
    }
    pv_plan_free(plan);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("marks");
    TCase *tcase = tcase_create("marks");
    tcase_set_timeout(tcase, 60);
    tcase_add_test(tcase, a_clean_sheet_has_none);
    tcase_add_test(tcase, grey_ink_is_placed_and_sized);
    tcase_add_test(tcase, a_speck_is_told_and_passes);
    tcase_add_test(tcase, what_may_be_dust_is_undecided);
    tcase_add_test(tcase, what_may_be_a_shadow_is_undecided);
    tcase_add_test(tcase, missing_paint_names_its_line);
    tcase_add_test(tcase, what_may_be_a_card_is_undecided);
    tcase_add_test(tcase, beyond_the_cell_nothing_counts);
    tcase_add_test(tcase, the_course_says_what_counts);
    tcase_add_test(tcase, letters_are_where_their_outlines_say);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
