#include "common.h"
#include "wording.h"

#include "base/memory.h"
#include "draw/art.h"
#include "draw/backend.h"
#include "image/encode.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const uint8_t black[3] = {0, 0, 0}, sea[3] = {20, 90, 160};

/* ---- the drawing ---- */

/* Largest distance of a drawing's cubics from a circle, sampled densely. */
static double worst_from_circle(const pv_drawing *d, pv_vec centre, double radius)
{
    double worst = 0;
    pv_vec at = d->ops[0].p[0];
    for (size_t i = 1; i < d->n_ops; i++) {
        const pv_op *op = &d->ops[i];
        if (op->kind != PV_OP_CURVE)
            continue;
        for (int k = 0; k <= 100; k++) {
            double t = k / 100.0, u = 1 - t;
            pv_vec p = pv_scale(at, u * u * u);
            p = pv_along(p, op->p[0], 3 * u * u * t);
            p = pv_along(p, op->p[1], 3 * u * t * t);
            p = pv_along(p, op->p[2], t * t * t);
            worst = fmax(worst, fabs(pv_dist(p, centre) - radius));
        }
        at = op->p[2];
    }
    return worst;
}

START_TEST(arcs_are_true)
{
    double worst = 0;
    for (int i = 1; i <= 48; i++) {
        pv_drawing d;
        pv_drawing_init(&d, test_type(), 100, 100);
        double from = 0.3 * i, sweep = (i % 2 ? 1 : -1) * 2 * PV_PI * i / 48;
        pv_vec centre = pv_v(12, -7);
        pv_draw_move(&d, pv_add(centre, pv_polar(1000, from)));
        pv_draw_arc(&d, centre, 1000, from, sweep);
        worst = fmax(worst, worst_from_circle(&d, centre, 1000) / 1000);
        pv_vec end = d.ops[d.n_ops - 1].p[2];
        ck_assert(pv_dist(end, pv_add(centre, pv_polar(1000, from + sweep))) < 1e-9);
        pv_drawing_clear(&d);
    }
    /* the bound that drawing.h states, from the error's sixth-power law */
    say_worst("arc as cubics, distance from the true arc / radius", worst, 7e-8, "");
    ck_assert(worst < 7e-8);
}
END_TEST

/* Area of a drawing's straight-edged subpaths by the shoelace formula. */
static double signed_area(const pv_drawing *d)
{
    double sum = 0;
    pv_vec first = {0, 0}, at = {0, 0};
    for (size_t i = 0; i < d->n_ops; i++) {
        const pv_op *op = &d->ops[i];
        if (op->kind == PV_OP_MOVE)
            first = op->p[0];
        else if (op->kind == PV_OP_LINE)
            sum += pv_cross_z(at, op->p[0]) / 2;
        else if (op->kind == PV_OP_CLOSE)
            sum += pv_cross_z(at, first) / 2;
        else
            continue;
        at = op->kind == PV_OP_CLOSE ? first : op->p[0];
    }
    return sum;
}

START_TEST(shapes_run_counter_clockwise)
{
    pv_drawing d;
    pv_drawing_init(&d, test_type(), 10, 10);
    pv_draw_box(&d, (pv_box){{1, 2}, {4, 6}});
    ck_assert(fabs(signed_area(&d) - 12) < 1e-12);
    pv_draw_bar(&d, pv_v(0, 0), pv_v(-3, -4), 0.5);
    ck_assert(fabs(signed_area(&d) - 14.5) < 1e-12);
    pv_drawing_clear(&d);
}
END_TEST

/* ---- back ends ---- */

static bool holds(const unsigned char *bytes, size_t size, const char *what)
{
    size_t n = strlen(what);
    for (size_t i = 0; i + n <= size; i++)
        if (memcmp(bytes + i, what, n) == 0)
            return true;
    return false;
}

static void sample(pv_drawing *d)
{
    pv_drawing_init(d, test_type(), 210, 297);
    d->trim = (pv_box){{10, 20}, {200, 290}};
    d->label = pv_copy_text("B12");
    pv_draw_box(d, d->trim);
    pv_draw_clip(d);
    pv_draw_box(d, (pv_box){{0, 0}, {50, 50}});
    pv_draw_fill(d, black, false);
    pv_draw_end_clip(d);
    pv_draw_text(d, pv_v(20, 30), 5, 0.5, true, sea, "K\xC3\xA4i <A&B>");
}

START_TEST(pdf_says_what_it_is)
{
    pv_diags *diags = pv_diags_new();
    unsigned char *bytes[2];
    size_t size[2];
    for (int i = 0; i < 2; i++) {
        pv_drawing d;
        sample(&d);
        pv_pdf *pdf = pv_pdf_new("K\xC3\xA4i \xE2\x80\x93 sheets", test_type(), diags);
        ck_assert(pv_pdf_page(pdf, &d, diags));
        ck_assert(pv_pdf_finish(pdf, &bytes[i], &size[i], diags));
        pv_pdf_free(pdf);
        pv_drawing_clear(&d);
    }
    ck_assert_uint_eq(pv_diags_size(diags), 0);
    ck_assert_uint_eq(size[0], size[1]);
    ck_assert_mem_eq(bytes[0], bytes[1], size[0]);
    /* 72 / 25.4 pt to the mm: 210 is 595.27559, 297 is 841.88976; within a float */
    ck_assert(holds(bytes[0], size[0], "/TrimBox [ 28.34646 56.69291 566.92914 822.04724 ]"));
    ck_assert(holds(bytes[0], size[0], "/MediaBox [ 0 0 595.27557 841.88977 ]"));
    ck_assert(holds(bytes[0], size[0], "/PrintScaling /None"));
    ck_assert(holds(bytes[0], size[0], "/FlateDecode"));
    ck_assert(holds(bytes[0], size[0], "/St 12"));
    ck_assert(!holds(bytes[0], size[0], "Date"));
    free(bytes[0]);
    free(bytes[1]);
    pv_diags_free(diags);
}
END_TEST

static void refuse(pv_drawing *d, const char *why)
{
    pv_diags *diags = pv_diags_new();
    pv_pdf *pdf = pv_pdf_new("x", test_type(), diags);
    ck_assert(!pv_pdf_page(pdf, d, diags));
    char *text = diags_text(diags);
    assert_says(text, why);
    pv_free(text);
    pv_pdf_free(pdf);
    pv_diags_free(diags);
    pv_drawing_clear(d);
}

/* ISO 32000-1 annex C: a side is at most 14,400 units, which 5080 mm are. */
START_TEST(pdf_takes_the_largest_page)
{
    pv_drawing d;
    pv_drawing_init(&d, test_type(), 5080, 5080);
    pv_diags *diags = pv_diags_new();
    pv_pdf *pdf = pv_pdf_new("largest", test_type(), diags);
    ck_assert(pv_pdf_page(pdf, &d, diags));
    pv_pdf_free(pdf);
    pv_diags_free(diags);
    pv_drawing_clear(&d);
}
END_TEST

/* Table 30: UserUnit is the size of a unit in points. 12 m are 34015.75 pt, three units' worth. */
START_TEST(pdf_states_a_larger_unit_for_larger_pages)
{
    static const struct {
        double width, height;
        const char *box, *unit; /* as libharu writes reals: five decimals, no zeros at the end */
    } pages[] = {{5080, 100, "[ 0 0 14400 283.46457 ]", NULL},
                 {5080.001, 254, "[ 0 0 7200.0", "/UserUnit 2"},
                 {12000, 508, "[ 0 0 11338.58", "/UserUnit 3"},
                 {508, 100000, "[ 0 0 72 14173.2", "/UserUnit 20"}};
    for (size_t i = 0; i < sizeof pages / sizeof *pages; i++) {
        pv_drawing d;
        pv_drawing_init(&d, test_type(), pages[i].width, pages[i].height);
        pv_draw_box(&d, d.trim);
        pv_draw_fill(&d, black, false);
        pv_diags *diags = pv_diags_new();
        pv_pdf *pdf = pv_pdf_new("wide", test_type(), diags);
        unsigned char *bytes = NULL;
        size_t size = 0;
        ck_assert(pv_pdf_page(pdf, &d, diags) && pv_pdf_finish(pdf, &bytes, &size, diags));
        ck_assert_msg(holds(bytes, size, pages[i].box), "page %zu", i);
        ck_assert(holds(bytes, size, "/UserUnit") == (pages[i].unit != NULL));
        ck_assert(pages[i].unit == NULL || holds(bytes, size, pages[i].unit));
        free(bytes);
        pv_pdf_free(pdf);
        pv_diags_free(diags);
        pv_drawing_clear(&d);
    }
}
END_TEST

START_TEST(pdf_refuses_what_libharu_would_spoil)
{
    pv_drawing d;
    const double bad[] = {NAN, INFINITY, 12000, -12000};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        pv_drawing_init(&d, test_type(), 100, 100);
        pv_draw_move(&d, pv_v(1, bad[i]));
        pv_draw_line(&d, pv_v(1, 2));
        pv_draw_fill(&d, black, false);
        refuse(&d, SAYS_OUT_OF_REACH);
    }
    pv_drawing_init(&d, test_type(), 100, 100);
    for (int i = 0; i < 30; i++) {
        pv_draw_box(&d, d.trim);
        pv_draw_clip(&d);
    }
    refuse(&d, SAYS_TOO_DEEP);
    pv_drawing_init(&d, test_type(), 100, 100);
    pv_draw_end_clip(&d);
    refuse(&d, SAYS_NEVER_BEGAN);
    pv_drawing_init(&d, test_type(), 100, 100);
    pv_draw_box(&d, d.trim);
    pv_draw_clip(&d);
    refuse(&d, SAYS_NEVER_ENDS);
    pv_drawing_init(&d, test_type(), 100, 100);
    pv_draw_box(&d, d.trim);
    refuse(&d, SAYS_NOT_FILLED);
    const double sizes[][2] = {{NAN, 100}, {100, NAN}, {INFINITY, 100},
                               {1, 100},   {30000, 5}, {600000, 600000}};
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        pv_drawing_init(&d, test_type(), sizes[i][0], sizes[i][1]);
        refuse(&d, SAYS_NO_PDF_PAGE);
    }
}
END_TEST

/* A picture of another picture's drawing, turned and sheared; what is no JPEG. */
START_TEST(pictures_go_into_pdf_alone)
{
    static const unsigned char rgb[12] = {255, 0, 0, 0, 255, 0, 0, 0, 255, 9, 9, 9};
    pv_bytes jpeg, pdf;
    pv_diags *diags = pv_diags_new();
    ck_assert(pv_jpeg_encode(rgb, 2, 2, 90, &jpeg, diags));
    pv_drawing d, outer;
    pv_drawing_init(&d, test_type(), 100, 100);
    pv_draw_jpeg(&d, (pv_box){{10, 20}, {30, 50}}, jpeg.data, jpeg.size);
    free(jpeg.data);
    pv_drawing_init(&outer, test_type(), 100, 100);
    pv_draw_drawing(&outer, &d, pv_v(1, 2), 0.5);
    pv_drawing_map(&outer, (pv_linear){1, 0.25, 0, 1});
    const pv_vec *p = outer.ops[0].p, third = pv_sub(pv_add(p[1], p[2]), p[0]);
    ck_assert_double_eq_tol(pv_dist(p[0], p[1]), 10, 1e-12);
    ck_assert_double_eq_tol(p[2].x - p[0].x, 0.25 * 15, 1e-12);
    ck_assert_double_eq_tol(pv_dist(third, p[1]), hypot(0.25 * 15, 15), 1e-12);
    pv_pdf *out = pv_pdf_new("picture", test_type(), diags);
    ck_assert(pv_pdf_page(out, &outer, diags));
    ck_assert(pv_pdf_finish(out, &pdf.data, &pdf.size, diags));
    pv_pdf_free(out);
    ck_assert(holds(pdf.data, pdf.size, "/DCTDecode"));
    free(pdf.data);
    ck_assert_ptr_null(pv_svg(&d, diags));
    ck_assert_int_eq(pv_diags_cause(diags), PV_CAUSE_LIMIT);
    pv_drawing_clear(&d);
    pv_drawing_clear(&outer);
    pv_diags_free(diags);
    const pv_box bad[] = {{{NAN, 0}, {1, 1}}, {{0, 0}, {12000, 1}}};
    for (size_t i = 0; i < 2; i++) {
        pv_drawing_init(&d, test_type(), 100, 100);
        pv_draw_jpeg(&d, bad[i], rgb, sizeof rgb);
        refuse(&d, SAYS_OUT_OF_REACH);
    }
    pv_drawing_init(&d, test_type(), 100, 100);
    pv_draw_jpeg(&d, (pv_box){{0, 0}, {1, 1}}, rgb, sizeof rgb);
    refuse(&d, SAYS_NO_JPEG);
}
END_TEST

START_TEST(svg_is_true_to_scale_and_well_formed)
{
    pv_diags *diags = pv_diags_new();
    pv_drawing d;
    sample(&d);
    char *svg = pv_svg(&d, diags);
    ck_assert_ptr_nonnull(svg);
    ck_assert(strstr(svg, "width=\"210mm\" height=\"297mm\" viewBox=\"0 0 210 297\"") != NULL);
    ck_assert(strstr(svg, "d=\"M10 277L200 277L200 7L10 7Z\"") != NULL);
    ck_assert(strstr(svg, "K\xC3\xA4i &lt;A&amp;B&gt;</text>") != NULL);
    free(svg);
    pv_drawing_clear(&d);
    pv_drawing_init(&d, test_type(), 10, 10);
    pv_draw_move(&d, pv_v(NAN, 0));
    ck_assert_ptr_null(pv_svg(&d, diags));
    ck_assert_int_eq(pv_diags_cause(diags), PV_CAUSE_LIMIT);
    pv_drawing_clear(&d);
    pv_diags_free(diags);
}
END_TEST

/* ---- the art ---- */

/* A mat of 60 m: one line along its whole length, one arc of 40 m, a fill as large as the mat, and
 * lettering that starts far away. */
static void wide_art(pv_art *art)
{
    static pv_colour colours[2] = {{"white", {255, 255, 255}}, {"black", {0, 0, 0}}};
    static pv_piece straight, bend;
    static pv_line lines[2];
    static pv_vec corners[4] = {{0, 0}, {60000, 0}, {60000, 500}, {0, 500}};
    static pv_ring ring = {corners, 4};
    static pv_area fill;
    static pv_lettering words;
    straight = pv_segment(pv_v(0, 1000), pv_v(60000, 1000));
    bend = pv_arc(pv_v(30000, -39000), 40000, 0, PV_PI);
    lines[0] = (pv_line){.id = "s", .pieces = &straight, .n_pieces = 1, .width = 20, .colour = 1};
    lines[1] = (pv_line){.id = "b", .pieces = &bend, .n_pieces = 1, .width = 20, .colour = 1};
    fill = (pv_area){.id = "f", .rings = &ring, .n_rings = 1, .colour = 1};
    words = (pv_lettering){.text = "Quayside Quayside", .at = {1000, 500}, .height = 3000};
    words.colour = 1;
    ck_assert(pv_lettering_set(&words, test_type()));
    pv_lettering_drop_outline(&words);
    *art = (pv_art){.name = "w", .edition = "1", .size = {60000, 2000}, .colours = colours};
    art->n_colours = 2;
    art->lines = lines;
    art->n_lines = 2;
    art->fills = &fill;
    art->n_fills = 1;
    art->letterings = &words;
    art->n_letterings = 1;
}

/* Letters 3 m high start far off most of these pages. */
START_TEST(a_wide_mat_stays_within_a_page)
{
    pv_art art;
    wide_art(&art);
    pv_scene *mat = pv_scene_of(&art);
    ck_assert_ptr_nonnull(mat);
    pv_diags *diags = pv_diags_new();
    for (int i = 0; i < 20; i++) {
        pv_box window = {{3000.0 * i + 7, 400}, {3000.0 * i + 207, 1200}};
        pv_drawing d;
        pv_drawing_init(&d, test_type(), 200, 800);
        pv_draw_mat(&d, mat, window, window.lo);
        ck_assert(!d.failed);
        ck_assert(d.n_ops > 8);
        pv_pdf *pdf = pv_pdf_new("wide", test_type(), diags);
        unsigned char *bytes = NULL;
        size_t size = 0;
        ck_assert_msg(pv_pdf_page(pdf, &d, diags), "window %d", i);
        ck_assert_msg(pv_pdf_finish(pdf, &bytes, &size, diags), "window %d", i);
        pv_free(bytes);
        pv_pdf_free(pdf);
        pv_drawing_clear(&d);
    }
    pv_diags_free(diags);
    pv_scene_free(mat);
}
END_TEST

/* Winding number of a drawing's path between two operations about p, curves taken in 64 chords. */
static int winding(const pv_drawing *d, size_t from, size_t to, pv_vec p)
{
    int turns = 0;
    pv_vec first = {0, 0}, at = {0, 0};
    for (size_t i = from; i < to; i++) {
        const pv_op *op = &d->ops[i];
        int steps = op->kind == PV_OP_CURVE ? 64 : 1;
        if (op->kind == PV_OP_MOVE)
            first = at = op->p[0];
        for (int k = 1; k <= steps && op->kind != PV_OP_MOVE; k++) {
            double t = (double)k / steps, u = 1 - t;
            pv_vec q = op->kind == PV_OP_CLOSE ? first : op->p[0];
            if (op->kind == PV_OP_CURVE) {
                q = pv_along(
                    pv_scale(op[-1].kind == PV_OP_CURVE ? op[-1].p[2] : op[-1].p[0], u * u * u),
                    op->p[0], 3 * u * u * t);
                q = pv_along(pv_along(q, op->p[1], 3 * u * t * t), op->p[2], t * t * t);
            }
            if ((at.y <= p.y) != (q.y <= p.y) &&
                (pv_cross_z(pv_sub(q, at), pv_sub(p, at)) > 0) == (q.y > at.y))
                turns += q.y > at.y ? 1 : -1;
            at = q;
        }
    }
    return turns;
}

/* What is painted on top at a point of the drawing: the index of the fill, or -1. */
static const uint8_t *top_colour(const pv_drawing *d, pv_vec p)
{
    const uint8_t *rgb = NULL;
    size_t from = 0;
    for (size_t i = 0; i < d->n_ops; i++) {
        if (d->ops[i].kind == PV_OP_TEXT)
            from = i + 1;
        if (d->ops[i].kind != PV_OP_FILL)
            continue;
        int w = winding(d, from, i, p);
        if (d->ops[i].even_odd ? w % 2 != 0 : w != 0)
            rgb = d->ops[i].rgb;
        from = i + 1;
    }
    return rgb;
}

/* The drawing shows at every point what the art says stands there. */
START_TEST(paint_is_where_the_art_says)
{
    pv_art art;
    wide_art(&art);
    art.n_letterings = 0;
    pv_scene *mat = pv_scene_of(&art);
    ck_assert_ptr_nonnull(mat);
    size_t tried = 0;
    for (int i = 0; i < 20; i++) {
        pv_box window = {{2990.0 * i + 7, 400}, {2990.0 * i + 207, 1200}};
        pv_drawing d;
        pv_drawing_init(&d, test_type(), 200, 800);
        pv_draw_mat(&d, mat, window, window.lo);
        for (int k = 0; k < 300; k++) {
            pv_vec p = pv_v(window.lo.x + 200 * uniform(), window.lo.y + 800 * uniform());
            const uint8_t *want = art.colours[spot_by_hand(&art, p).colour].rgb;
            const uint8_t *got = top_colour(&d, pv_sub(p, window.lo));
            ck_assert_msg(got != NULL && memcmp(got, want, 3) == 0, "at %.3f %.3f", p.x, p.y);
            tried++;
        }
        pv_drawing_clear(&d);
    }
    printf("    %zu points show what the art says\n", tried);
    pv_scene_free(mat);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("draw");
    TCase *tcase = tcase_create("draw");
    tcase_add_test(tcase, arcs_are_true);
    tcase_add_test(tcase, shapes_run_counter_clockwise);
    tcase_add_test(tcase, pdf_says_what_it_is);
    tcase_add_test(tcase, pdf_takes_the_largest_page);
    tcase_add_test(tcase, pdf_states_a_larger_unit_for_larger_pages);
    tcase_add_test(tcase, pdf_refuses_what_libharu_would_spoil);
    tcase_add_test(tcase, pictures_go_into_pdf_alone);
    tcase_add_test(tcase, svg_is_true_to_scale_and_well_formed);
    tcase_add_test(tcase, a_wide_mat_stays_within_a_page);
    tcase_add_test(tcase, paint_is_where_the_art_says);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
