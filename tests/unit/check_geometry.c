/* Pieces, the paint of a line, the art: against closed forms and an independent polygon test. */
#include "common.h"

#include "base/memory.h"
#include "scene/art.h"
#include "scene/outline.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define NEAR(a, b, tolerance) ck_assert_double_eq_tol((a), (b), (tolerance))

/* ---- pieces ---- */

START_TEST(arc_has_length_points_and_headings)
{
    /* A quarter circle of radius 100 from +x, counter-clockwise. */
    pv_piece arc = pv_arc(pv_v(10, 20), 100, 0, PV_PI / 2);
    NEAR(pv_piece_length(&arc), 157.07963267948966, 1e-12);
    NEAR(arc.b.x, 10, 1e-12);
    NEAR(arc.b.y, 120, 1e-12);
    pv_vec middle = pv_piece_point(&arc, pv_piece_length(&arc) / 2);
    NEAR(middle.x, 10 + 100 / sqrt(2), 1e-12);
    NEAR(middle.y, 20 + 100 / sqrt(2), 1e-12);
    pv_vec start = pv_piece_heading(&arc, 0), end = pv_piece_heading(&arc, arc.radius * PV_PI / 2);
    NEAR(start.x, 0, 1e-12);
    NEAR(start.y, 1, 1e-12);
    NEAR(end.x, -1, 1e-12);
    pv_piece back = pv_arc(pv_v(10, 20), 100, PV_PI / 2, -PV_PI / 2);
    NEAR(pv_piece_heading(&back, 0).x, 1, 1e-12);
    NEAR(back.b.x, 110, 1e-12);
}
END_TEST

START_TEST(circle_closes_exactly)
{
    for (int i = 0; i < 1000; i++) {
        pv_piece circle =
            pv_arc(pv_v(random_between(-1e3, 1e3), random_between(-1e3, 1e3)),
                   random_between(0.1, 1e4), random_between(-7, 7), i % 2 ? 2 * PV_PI : -2 * PV_PI);
        ck_assert(circle.a.x == circle.b.x && circle.a.y == circle.b.y);
    }
}
END_TEST

START_TEST(nearest_point_is_nearest)
{
    double worst = 0;
    for (int i = 0; i < 2000; i++) {
        pv_vec c = pv_v(random_between(-50, 50), random_between(-50, 50));
        pv_piece piece = i % 2 ? pv_arc(c, random_between(1, 60), random_between(-4, 4),
                                        random_between(-2 * PV_PI, 2 * PV_PI))
                               : pv_segment(c, pv_v(random_between(-50, 50), 3));
        pv_vec p = pv_v(random_between(-80, 80), random_between(-80, 80));
        double length = pv_piece_length(&piece);
        double found = pv_dist(p, pv_piece_point(&piece, pv_piece_nearest(&piece, p)));
        for (int k = 0; k <= 200; k++)
            worst = fmax(worst, found - pv_dist(p, pv_piece_point(&piece, length * k / 200)));
    }
    say_worst("nearest point of a piece is beaten by samples by", worst, 1e-9, "mm");
    ck_assert(worst <= 1e-9);
}
END_TEST

START_TEST(piece_box_is_tight)
{
    double outside = 0, slack = 0;
    for (int i = 0; i < 500; i++) {
        pv_piece arc = pv_arc(pv_v(0, 0), 100, random_between(-7, 7), random_between(-6.2, 6.2));
        pv_box box = pv_piece_box(&arc), sampled = pv_box_none();
        double length = pv_piece_length(&arc);
        for (int k = 0; k <= 4000; k++)
            sampled = pv_box_add(sampled, pv_piece_point(&arc, length * k / 4000));
        outside = fmax(outside, fmax(box.lo.x - sampled.lo.x, sampled.hi.y - box.hi.y));
        outside = fmax(outside, fmax(box.lo.y - sampled.lo.y, sampled.hi.x - box.hi.x));
        slack = fmax(slack, fmax(sampled.lo.x - box.lo.x, box.hi.y - sampled.hi.y));
        slack = fmax(slack, fmax(sampled.lo.y - box.lo.y, box.hi.x - sampled.hi.x));
    }
    say_worst("samples outside a piece's box by", outside, 1e-9, "mm");
    say_worst("a piece's box beyond its samples by", slack, 2e-4, "mm"); /* r (1 - cos(step/2)) */
    ck_assert(outside <= 1e-9 && slack <= 2e-4);
}
END_TEST

/* ---- outlines ---- */

static double polygon_area(const pv_vec *p, int n)
{
    double sum = 0;
    for (int i = 0; i < n; i++)
        sum += pv_cross_z(p[i], p[(i + 1) % n]);
    return sum / 2;
}

typedef struct solids {
    size_t n;
    double area; /* signed: the painted area where no two overlap */
} solids;

static bool add_solid(void *context, const pv_solid *s)
{
    solids *sum = context;
    double area = s->kind == PV_SOLID_POLYGON
                      ? polygon_area(s->corner, s->n)
                      : s->sweep / 2 * (s->outer * s->outer - s->inner * s->inner);
    ck_assert_msg(area > 0, "a solid doesn't run counter-clockwise");
    sum->area += area;
    sum->n++;
    return true;
}

static solids solids_of(const pv_line *line)
{
    solids sum = {0, 0};
    ck_assert(pv_line_each_solid(line, add_solid, &sum));
    return sum;
}

static double solid_area(const pv_line *line)
{
    return solids_of(line).area;
}

static pv_line line_of(pv_piece *pieces, size_t n, double width, pv_ends ends, bool closed)
{
    return (pv_line){
        .pieces = pieces, .n_pieces = n, .width = width, .ends = ends, .closed = closed};
}

START_TEST(ends_add_their_area)
{
    pv_piece piece = pv_segment(pv_v(0, 0), pv_v(30, 40));
    pv_line line = line_of(&piece, 1, 10, PV_ENDS_FLAT, false);
    NEAR(solid_area(&line), 500, 1e-9);
    line.ends = PV_ENDS_SQUARE;
    NEAR(solid_area(&line), 600, 1e-9);
    line.ends = PV_ENDS_ROUND;
    NEAR(solid_area(&line), 500 + PV_PI * 25, 1e-9);
    pv_box box = pv_line_box(&line);
    NEAR(box.lo.x, -5, 1e-12);
    NEAR(box.hi.x, 35, 1e-12);
    NEAR(box.hi.y, 45, 1e-12);
}
END_TEST

START_TEST(ring_is_a_ring)
{
    pv_piece circle = pv_arc(pv_v(0, 0), 100, 1, 2 * PV_PI);
    pv_line line = line_of(&circle, 1, 20, PV_ENDS_ROUND, true);
    NEAR(solid_area(&line), PV_PI * (110 * 110 - 90 * 90), 1e-8);
    ck_assert(!line_covers(&line, pv_v(89.999, 0)));
    ck_assert(line_covers(&line, pv_v(0, -90.001)));
    circle.radius = 5; /* under half the width: a disc */
    NEAR(solid_area(&line), PV_PI * 15 * 15, 1e-9);
    ck_assert(line_covers(&line, pv_v(0, 0)));
}
END_TEST

/* A closed square's mitred frame has the area of the outer square less the inner one. */
START_TEST(square_is_mitred_at_all_four_corners)
{
    pv_vec c[4] = {{0, 0}, {100, 0}, {100, 100}, {0, 100}};
    for (int way = 0; way < 2; way++) {
        pv_piece pieces[4];
        for (int i = 0; i < 4; i++)
            pieces[i] =
                way ? pv_segment(c[(4 - i) % 4], c[3 - i]) : pv_segment(c[i], c[(i + 1) % 4]);
        pv_line line = line_of(pieces, 4, 10, PV_ENDS_FLAT, true);
        pv_box box = pv_line_box(&line);
        NEAR(box.lo.x, -5, 1e-12);
        NEAR(box.hi.y, 105, 1e-12);
        ck_assert(line_covers(&line, pv_v(-4.999, -4.999)));
        ck_assert(line_covers(&line, pv_v(104.999, 104.999)));
        ck_assert(!line_covers(&line, pv_v(50, 5.001)));
        ck_assert(!line_covers(&line, pv_v(-5.001, 50)));
        /* Boxes overlap in the inner quarter of each corner. */
        NEAR(solid_area(&line), 110 * 110 - 90 * 90 + 4 * 25, 1e-9);
    }
}
END_TEST

START_TEST(mitre_reaches_its_limit_and_no_further)
{
    /* Turn by 2 acos(1/4): the mitre is exactly 4 half widths long. A hair less turn is mitred, a
     * hair more bevelled. */
    for (int more = 0; more < 2; more++) {
        double turn = 2 * acos(0.25) + (more ? 1e-3 : -1e-3);
        pv_piece pieces[2] = {pv_segment(pv_v(-100, 0), pv_v(0, 0)),
                              pv_segment(pv_v(0, 0), pv_polar(100, turn))};
        pv_line line = line_of(pieces, 2, 2, PV_ENDS_FLAT, false);
        pv_vec towards = pv_polar(1, turn / 2 - PV_PI / 2);
        ck_assert(line_covers(&line, pv_scale(towards, 3.9)) == !more);
        ck_assert(line_covers(&line, pv_scale(towards, 0.2)));
        ck_assert(!line_covers(&line, pv_scale(towards, 4.1)));
    }
}
END_TEST

START_TEST(tangent_joins_add_nothing)
{
    pv_piece pieces[3] = {pv_segment(pv_v(-50, -20), pv_v(0, -20)),
                          pv_arc(pv_v(0, 0), 20, -PV_PI / 2, PV_PI),
                          pv_segment(pv_v(0, 20), pv_v(-50, 20))};
    pv_line line = line_of(pieces, 3, 6, PV_ENDS_FLAT, false);
    ck_assert_uint_eq(solids_of(&line).n, 3);
    NEAR(solid_area(&line), 6 * (100 + PV_PI * 20), 1e-9);
}
END_TEST

/* What the header says the paint is, asked of the definition instead of the solids: boxes and
 * sectors by nearest feet, wedges by half planes. */
static bool in_triangle(pv_vec a, pv_vec b, pv_vec c, pv_vec p)
{
    double x = pv_cross_z(pv_sub(b, a), pv_sub(p, a)), y = pv_cross_z(pv_sub(c, b), pv_sub(p, b)),
           z = pv_cross_z(pv_sub(a, c), pv_sub(p, c));
    return (x >= 0 && y >= 0 && z >= 0) || (x <= 0 && y <= 0 && z <= 0);
}

static bool by_definition(const pv_line *line, pv_vec p)
{
    double h = line->width / 2;
    for (size_t i = 0; i < line->n_pieces; i++) {
        const pv_piece *piece = &line->pieces[i];
        double length = pv_piece_length(piece);
        /* A foot at right angles: |component along the heading| 0, |distance| <= h. */
        if (piece->arc) {
            double r = pv_dist(p, piece->centre);
            double to = atan2(p.y - piece->centre.y, p.x - piece->centre.x);
            for (int opposite = 0; opposite < 2; opposite++) {
                double turn = (to + opposite * PV_PI - piece->from) * (piece->sweep < 0 ? -1 : 1);
                turn -= 2 * PV_PI * floor(turn / (2 * PV_PI));
                double foot = opposite ? r + piece->radius : fabs(r - piece->radius);
                if (turn <= fabs(piece->sweep) && foot <= h)
                    return true;
            }
        } else {
            pv_vec t = pv_piece_heading(piece, 0), d = pv_sub(p, piece->a);
            double s = pv_dot(d, t);
            if (s >= 0 && s <= length && fabs(pv_cross_z(t, d)) <= h)
                return true;
        }
        if (i + 1 == line->n_pieces && !line->closed)
            continue;
        const pv_piece *next = &line->pieces[(i + 1) % line->n_pieces];
        pv_vec t = pv_piece_heading(piece, length), u = pv_piece_heading(next, 0), at = piece->b;
        double turn = atan2(pv_cross_z(t, u), pv_dot(t, u));
        pv_vec out = pv_left(t), out2 = pv_left(u);
        double sign = turn > 0 ? -1 : 1;
        pv_vec a = pv_along(at, out, sign * h), b = pv_along(at, out2, sign * h);
        if (in_triangle(at, a, b, p))
            return true;
        pv_vec tip = pv_along(a, t, h * tan(fabs(turn) / 2)); /* of a mitre */
        if (1 / cos(turn / 2) <= PV_MITRE_LIMIT && in_triangle(a, tip, b, p))
            return true;
    }
    if (line->closed)
        return false;
    const pv_piece *last = &line->pieces[line->n_pieces - 1];
    pv_vec at[2] = {line->pieces[0].a, last->b};
    pv_vec out[2] = {pv_scale(pv_piece_heading(&line->pieces[0], 0), -1),
                     pv_piece_heading(last, pv_piece_length(last))};
    for (int i = 0; i < 2; i++) {
        pv_vec d = pv_sub(p, at[i]);
        double s = pv_dot(d, out[i]);
        if (line->ends == PV_ENDS_ROUND && s >= 0 && pv_len(d) <= h)
            return true;
        if (line->ends == PV_ENDS_SQUARE && s >= 0 && s <= h && fabs(pv_cross_z(out[i], d)) <= h)
            return true;
    }
    return false;
}

static size_t random_pieces(pv_piece *pieces, size_t n)
{
    pv_vec at = pv_v(random_between(-30, 30), random_between(-30, 30));
    for (size_t i = 0; i < n; i++) {
        if (uniform() < 0.5) {
            double radius = random_between(0.5, 30), from = random_between(-4, 4);
            pv_vec centre = pv_sub(at, pv_polar(radius, from));
            pieces[i] = pv_arc(centre, radius, from, random_between(-6, 6));
        } else {
            pieces[i] = pv_segment(at, pv_v(random_between(-30, 30), random_between(-30, 30)));
        }
        at = pieces[i].b;
    }
    return n;
}

START_TEST(paint_is_what_the_definition_says)
{
    size_t covered = 0, asked = 0;
    for (int i = 0; i < 400; i++) {
        pv_piece pieces[5];
        size_t n = random_pieces(pieces, 1 + (size_t)(i % 4));
        bool closed = i % 3 == 0;
        if (closed) {
            pieces[n] = pv_segment(pieces[n - 1].b, pieces[0].a);
            n++;
        }
        pv_line line = line_of(pieces, n, random_between(1, 12), (pv_ends)(i % 3), closed);
        for (int k = 0; k < 500; k++) {
            pv_vec p = pv_v(random_between(-60, 60), random_between(-60, 60));
            bool expected = by_definition(&line, p);
            ck_assert_msg(line_covers(&line, p) == expected, "line %d at (%.17g, %.17g)", i, p.x,
                          p.y);
            covered += expected;
            asked++;
        }
    }
    ck_assert(covered > asked / 50 && covered < asked);
}
END_TEST

START_TEST(solids_keep_to_their_boxes)
{
    for (int i = 0; i < 200; i++) {
        pv_solid s = {.kind = PV_SOLID_SECTOR,
                      .inner = random_between(0, 10),
                      .outer = random_between(10, 20),
                      .from = random_between(-7, 7),
                      .sweep = random_between(0.01, 6.28)};
        pv_box box = pv_box_grow(pv_solid_box(&s), 1e-8);
        for (int k = 0; k < 300; k++) {
            pv_vec p = pv_v(random_between(-21, 21), random_between(-21, 21));
            ck_assert(!pv_solid_covers(&s, p) || pv_box_holds(box, p));
        }
    }
}
END_TEST

/* ---- the art ---- */

static pv_art small_art(void)
{
    static pv_colour colours[] = {{"white", {255, 255, 255}},
                                  {"black", {0, 0, 0}},
                                  {"sea", {0, 90, 160}},
                                  {"red", {200, 0, 0}}};
    static pv_vec square[] = {{10, 10}, {90, 10}, {90, 90}, {10, 90}},
                  hole[] = {{40, 40}, {60, 40}, {60, 60}, {40, 60}};
    static pv_ring rings[] = {{square, 4}, {hole, 4}};
    static pv_area fill = {"basin", rings, 2, 2}, mark = {"start", rings + 1, 1, 3};
    static pv_piece across = {.a = {0, 50}, .b = {100, 50}}, down = {.a = {50, 100}, .b = {50, 0}};
    static pv_line lines[] = {{"1", &across, 1, false, 4, 1, PV_ENDS_FLAT, {3, 1}},
                              {"2", &down, 1, false, 4, 0, PV_ENDS_FLAT, {4, 1}}};
    static pv_lettering word = {.text = "Quay", .at = {5, 5}, .height = 4, .colour = 1};
    return (pv_art){.name = "t",
                    .size = {100, 100},
                    .colours = colours,
                    .n_colours = 4,
                    .lines = lines,
                    .n_lines = 2,
                    .fills = &fill,
                    .n_fills = 1,
                    .marks = &mark,
                    .n_marks = 1,
                    .letterings = &word,
                    .n_letterings = 1};
}

START_TEST(the_last_holder_frees_a_shared_art)
{
    pv_art art, other;
    ck_assert(pv_art_open(&art));
    art.name = pv_copy_text("Quay");
    pv_art_share(&other, &art);
    ck_assert_ptr_eq(other.name, art.name);
    pv_art_clear(&art);
    ck_assert_ptr_null(art.name);
    ck_assert_str_eq(other.name, "Quay");
    pv_art_clear(&other);
    ck_assert_ptr_null(other.name);
    pv_art_clear(&other);
}
END_TEST

START_TEST(later_paint_hides_earlier)
{
    pv_art art = small_art();
    pv_spot spot = spot_by_hand(&art, pv_v(5, 5));
    ck_assert(spot.colour == 0 && spot.line == -1 && !spot.mark);
    spot = spot_by_hand(&art, pv_v(20, 20));
    ck_assert(spot.colour == 2 && spot.line == -1);
    spot = spot_by_hand(&art, pv_v(20, 50.5));
    ck_assert(spot.colour == 1 && spot.line == 0);
    spot = spot_by_hand(&art, pv_v(50.5, 20));
    ck_assert(spot.colour == 0 && spot.line == 1);
    spot = spot_by_hand(&art, pv_v(50.5, 50.5)); /* a mark over both, in the fill's hole */
    ck_assert(spot.colour == 3 && spot.line == 1 && spot.mark);
}
END_TEST

/* Turned and moved, by hand. */
START_TEST(lettering_has_a_box)
{
    pv_lettering word = {.at = {100, 50}, .frame = {{-3, -2}, {20, 7}}};
    pv_box box = pv_lettering_box(&word);
    NEAR(box.lo.x, 97, 1e-9);
    NEAR(box.hi.x, 120, 1e-9);
    NEAR(box.lo.y, 48, 1e-9);
    NEAR(box.hi.y, 57, 1e-9);
    word.angle = PV_PI / 2; /* reads upwards */
    box = pv_lettering_box(&word);
    NEAR(box.lo.x, 93, 1e-9);
    NEAR(box.hi.x, 102, 1e-9);
    NEAR(box.lo.y, 47, 1e-9);
    NEAR(box.hi.y, 70, 1e-9);
}
END_TEST

/* As lcms and scikit-image have it; check_image.c holds the whole curve against libpng. */
START_TEST(light_is_linear)
{
    pv_colour grey = {"g", {119, 119, 119}}, green = {"green", {0, 255, 0}};
    double rgb[3];
    pv_colour_linear(&grey, rgb);
    NEAR(rgb[1], 0.184474995, 6e-10);
    NEAR(pv_colour_luminance(&grey), 0.184474995, 6e-10);
    NEAR(pv_colour_luminance(&green), 0.7152, 1e-12);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("geometry");
    TCase *pieces = tcase_create("pieces");
    tcase_add_test(pieces, arc_has_length_points_and_headings);
    tcase_add_test(pieces, circle_closes_exactly);
    tcase_add_test(pieces, nearest_point_is_nearest);
    tcase_add_test(pieces, piece_box_is_tight);
    suite_add_tcase(suite, pieces);
    TCase *outlines = tcase_create("outlines");
    tcase_add_test(outlines, ends_add_their_area);
    tcase_add_test(outlines, ring_is_a_ring);
    tcase_add_test(outlines, square_is_mitred_at_all_four_corners);
    tcase_add_test(outlines, mitre_reaches_its_limit_and_no_further);
    tcase_add_test(outlines, tangent_joins_add_nothing);
    tcase_add_test(outlines, paint_is_what_the_definition_says);
    tcase_add_test(outlines, solids_keep_to_their_boxes);
    suite_add_tcase(suite, outlines);
    TCase *art = tcase_create("art");
    tcase_add_test(art, the_last_holder_frees_a_shared_art);
    tcase_add_test(art, later_paint_hides_earlier);
    tcase_add_test(art, lettering_has_a_box);
    tcase_add_test(art, light_is_linear);
    suite_add_tcase(suite, art);
    return run_suite(suite);
}
