/* The review: painted areas, clearances and rules against closed forms and brute force. */
#include "common.h"

#include "base/text.h"
#include "course/convex.h"
#include "course/findings.h"
#include "course/regions.h"
#include "course/sweep.h"
#include "json/json.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define NEAR(a, b, tolerance) ck_assert_double_eq_tol((a), (b), (tolerance))

/* ---- courses in the language ---- */

static const char head[] = "course \"T\" edition \"1\"\n"
                           "mat 1000mm by 600mm ground white\n"
                           "paint width 20mm, colour black\n";

/* The rest of a course, which begins on line 4. */
static pv_course *course_of(const char *rest)
{
    pv_text text = PV_TEXT_INIT;
    pv_text_add(&text, "%s%s", head, rest);
    pv_diags *diags = pv_diags_new();
    pv_course *course = pv_course_parse(text.chars, text.length, "t.course", test_type(), diags);
    char *said = diags_text(diags);
    ck_assert_msg(course != NULL, "%s", said);
    pv_free(said);
    pv_diags_free(diags);
    pv_text_drop(&text);
    return course;
}

static pv_review *review_of(const char *rest)
{
    pv_course *course = course_of(rest);
    pv_diags *diags = pv_diags_new();
    pv_review *review = pv_review_make(course, diags);
    char *said = diags_text(diags);
    ck_assert_msg(review != NULL, "%s", said);
    pv_free(said);
    pv_diags_free(diags);
    pv_course_free(course);
    return review;
}

static const pv_finding *finding(const pv_review *review, const char *code)
{
    for (size_t i = 0; i < pv_review_findings(review); i++)
        if (strcmp(pv_review_finding(review, i)->rule, code) == 0)
            return pv_review_finding(review, i);
    return NULL;
}

static double painted(const pv_review *review, const char *name)
{
    for (size_t i = 0; i < review->n_colours; i++)
        if (strcmp(review->colours[i].name, name) == 0)
            return review->colours[i].area;
    ck_abort_msg("no colour %s", name);
    return 0;
}

/* ---- sizes, counts, areas ---- */

START_TEST(numbers_are_closed_forms)
{
    /* A frame of 200 by 100, mitred, 20 wide: 220 x 120 - 180 x 80. A ring of radius 100. A bar
     * across the ring in another colour, painted later. */
    pv_review *r = review_of("colour red = rgb(255, 0, 0)\n"
                             "line frame from (100, 100)mm, by (200, 0)mm, by (0, 100)mm, "
                             "by (-200, 0)mm, close\n"
                             "circle ring centre (600, 300)mm radius 100mm\n"
                             "line bar width 10mm colour red ends flat from (450, 300)mm "
                             "to (750, 300)mm\n"
                             "fill at (200, 150)mm colour red\n");
    ck_assert_uint_eq(r->facts.lines, 3);
    ck_assert_uint_eq(r->facts.straight, 5);
    ck_assert_uint_eq(r->facts.arcs, 1);
    ck_assert_uint_eq(r->facts.fills, 1);
    NEAR(r->lines[0].length, 600, 1e-9);
    NEAR(r->lines[1].length, 2 * PV_PI * 100, 1e-9);
    NEAR(r->facts.length, 600 + 200 * PV_PI + 300, 1e-9);
    /* What the bar covers of the ring: both strips |y| <= 5 between radii 90 and 110, each the
     * difference of two integrals of sqrt(r^2 - y^2). */
    double strip = 0;
    for (int sign = -1; sign <= 1; sign += 2) {
        double q = sign > 0 ? 110 : 90;
        strip += sign * (5 * sqrt(q * q - 25) + q * q * asin(5 / q));
    }
    double frame = 220 * 120 - 180 * 80, ring = PV_PI * (110 * 110 - 90 * 90);
    double black = frame + ring - 2 * strip, red = 3000 + 180 * 80;
    say_worst("painted area, black", fabs(painted(r, "black") - black), 0.5, "mm2");
    NEAR(painted(r, "black"), black, 0.5);
    NEAR(painted(r, "red"), red, 1e-6);
    NEAR(painted(r, "white"), 600000 - black - red, 0.5);
    pv_review_free(r);
}
END_TEST

/* The areas of random art, against counting what stands at the points of a grid. */
START_TEST(areas_agree_with_counting)
{
    double worst = 0;
    for (int round = 0; round < 6; round++) {
        pv_art art = {.size = {100, 80}, .n_colours = 4};
        pv_colour colours[4] = {{0}};
        art.colours = colours;
        pv_line lines[12];
        pv_piece pieces[12];
        for (int i = 0; i < 12; i++) {
            pv_vec a = pv_v(random_between(-10, 110), random_between(-10, 90));
            pieces[i] = i % 2 ? pv_arc(a, random_between(2, 40), random_between(-3, 3),
                                       random_between(-6.28, 6.28))
                              : pv_segment(a, pv_v(random_between(0, 100), 40));
            lines[i] = (pv_line){.pieces = &pieces[i], .n_pieces = 1, .ends = (pv_ends)(i % 3)};
            lines[i].width = random_between(1, 15);
            lines[i].colour = (size_t)(1 + i % 3);
        }
        art.lines = lines;
        art.n_lines = 12;
        double areas[4], counted[4] = {0}, pitch = 0.2, sum = 0;
        pv_scene *mat = pv_scene_of(&art);
        ck_assert_ptr_nonnull(mat);
        ck_assert(pv_scene_painted(mat, areas, NULL));
        pv_scene_free(mat);
        for (double x = pitch / 2; x < 100; x += pitch)
            for (double y = pitch / 2; y < 80; y += pitch)
                counted[spot_by_hand(&art, pv_v(x, y)).colour] += pitch * pitch;
        for (int i = 0; i < 4; i++) {
            worst = fmax(worst, fabs(areas[i] - counted[i]));
            sum += areas[i];
        }
        NEAR(sum, 8000, 1e-6);
    }
    /* A border of length l over a grid of pitch p miscounts of the order of p sqrt(l p). */
    say_worst("painted area against counting at 0.2 mm", worst, 8, "mm2");
    ck_assert(worst < 8);
}
END_TEST

/* ---- distances ---- */

static pv_solid random_solid(int i)
{
    pv_solid s = {.kind = PV_SOLID_SECTOR};
    if (i % 2) {
        s.centre = pv_v(random_between(-60, 60), random_between(-60, 60));
        s.inner = i % 3 ? random_between(0, 30) : 0;
        s.outer = s.inner + random_between(1, 20);
        s.from = random_between(-4, 4);
        s.sweep = i % 5 ? random_between(0.1, 6.2) : 2 * PV_PI;
        return s;
    }
    s.kind = PV_SOLID_POLYGON;
    s.n = 4;
    pv_vec at = pv_v(random_between(-60, 60), random_between(-60, 60));
    pv_vec x = pv_polar(random_between(2, 40), random_between(-3, 3));
    pv_vec y = pv_scale(pv_left(pv_unit(x)), random_between(2, 20));
    s.corner[0] = at;
    s.corner[1] = pv_add(at, x);
    s.corner[2] = pv_add(s.corner[1], y);
    s.corner[3] = pv_add(at, y);
    return s;
}

START_TEST(distance_agrees_with_sampling)
{
    double over = 0, under = 0;
    size_t apart = 0;
    for (int i = 0; i < 400; i++) {
        pv_solid s = random_solid(i);
        pv_robot robot = {true, 30, 20, 8};
        pv_vec corners[4];
        pv_footprint(&robot, pv_v(random_between(-20, 20), 0), random_between(-3, 3), 0, corners);
        pv_convex body = pv_convex_hull(corners, 4);
        double found = pv_convex_to_solid(&body, &s, NULL), least = HUGE_VAL;
        /* Points of the solid, by their distance to the rectangle in its own frame. */
        pv_vec x = pv_unit(pv_sub(corners[1], corners[0])), y = pv_left(x);
        pv_box box = pv_solid_box(&s);
        for (int k = 0; k < 90 * 90; k++) {
            pv_vec p = pv_v(box.lo.x + (box.hi.x - box.lo.x) * (k % 90) / 89.0,
                            box.lo.y + (box.hi.y - box.lo.y) * (int)(k / 90) / 89.0);
            if (!pv_solid_covers(&s, p))
                continue;
            pv_vec d = pv_sub(p, corners[0]);
            double u = pv_dot(d, x), v = pv_dot(d, y);
            double du = fmax(fmax(-u, u - 30), 0), dv = fmax(fmax(-v, v - 20), 0);
            least = fmin(least, hypot(du, dv));
        }
        if (isinf(least))
            continue;
        over = fmax(over, found - least);
        under = fmax(under, least - found);
        apart += found > 0;
    }
    say_worst("distance to a solid above a sampled one", over, 1e-9, "mm");
    say_worst("distance to a solid below a sampled one", under, 1.2, "mm"); /* the grid's pitch */
    ck_assert(over <= 1e-9 && under <= 1.2 && apart > 100);
}
END_TEST

/* ---- the run ---- */

/* A robot 160 x 120 drives straight between walls 20 wide: centre lines 100 away leave
 * 100 - 10 - 60 = 30 mm; one at 95 leaves 25. */
START_TEST(clearance_on_a_straight)
{
    pv_review *r = review_of("line north from (50, 400)mm to (950, 400)mm\n"
                             "line south from (50, 205)mm to (950, 205)mm\n"
                             "robot 160mm by 120mm pivot 60mm\n"
                             "start at (200, 300)mm heading 0deg size 40mm\n"
                             "route from start, ahead 500mm\n");
    NEAR(r->facts.paint.distance, 25, 1e-5);
    ck_assert_str_eq(r->facts.paint.line, "south");
    NEAR(r->facts.edge.distance, 140, 1e-5); /* the rear, at x = 200 - 60 */
    NEAR(r->facts.route_length, 500, 1e-9);
    ck_assert_uint_eq(r->n_crossings, 0);
    ck_assert_ptr_null(finding(r, "touch"));
    ck_assert(r->facts.mark_known && r->facts.mark_sticks_out == 0);
    pv_review_free(r);
}
END_TEST

/* Turning on its pivot beside a wall whose paint begins 120 away. */
START_TEST(clearance_in_a_turn)
{
    pv_review *r = review_of("line wall ends flat from (0, 450)mm to (1000, 450)mm\n"
                             "robot 160mm by 120mm pivot 60mm\n"
                             "start at (200, 320)mm heading 0deg size 40mm\n"
                             "route from start, to (500, 320)mm, to (500, 200)mm\n");
    /* It turns right, so the left front corner starts at 60 to the left and swings through its
     * highest place, straight above the pivot, only if it passes it: it starts at atan(60/100)
     * above the heading and turns down. The left rear corner rises: sqrt(60^2 + 60^2) at 45
     * degrees, which is its highest. */
    double expected = 120 - hypot(60, 60);
    say_worst("clearance in a turn", fabs(r->facts.paint.distance - expected), 0.006, "mm");
    NEAR(r->facts.paint.distance, expected, 0.006);
    NEAR(r->facts.paint.along, 300, 1e-9);
    pv_review_free(r);
}
END_TEST

START_TEST(clearance_on_a_bend)
{
    /* About a centre at (500, 300) on radius 200, rear 60 behind the pivot, 60 to the outside: the
     * front outer corner runs at sqrt(260^2 + 100^2). A ring of centre radius 300 has its inner
     * edge at 290; the inner corners' least radius is 140, the inner ring's edge at 110. */
    pv_review *r = review_of("circle outer centre (500, 300)mm radius 298mm width 4mm\n"
                             "circle inner centre (500, 300)mm radius 100mm\n"
                             "robot 160mm by 120mm pivot 60mm\n"
                             "start at (500, 100)mm heading 0deg size 40mm\n"
                             "route from start, left 120deg radius 200mm\n");
    double expected = 296 - hypot(260, 100);
    say_worst("clearance on a bend", fabs(r->facts.paint.distance - expected), 0.011, "mm");
    NEAR(r->facts.paint.distance, expected, 0.011);
    ck_assert_str_eq(r->facts.paint.line, "outer");
    pv_review_free(r);
}
END_TEST

START_TEST(touching_is_a_problem_crossing_is_not)
{
    pv_review *r = review_of("line gate from (500, 0)mm to (500, 600)mm\n"
                             "line post ends flat from (600, 340)mm to (600, 600)mm\n"
                             "robot 160mm by 120mm pivot 60mm\n"
                             "start at (200, 300)mm heading 0deg size 40mm\n"
                             "route from start, ahead 500mm\n");
    ck_assert_uint_eq(r->n_crossings, 1);
    ck_assert(!r->crossings[0].follows);
    const pv_finding *touch = finding(r, "touch");
    ck_assert(touch != NULL && touch->problem && touch->line == 5);
    /* The front, 100 ahead of the pivot, meets the post's side at x = 590. */
    assert_says(touch->message, "290.0 mm");
    ck_assert(r->facts.paint.distance == 0);
    ck_assert(!pv_review_sound(r));
    pv_review_free(r);
}
END_TEST

START_TEST(following_a_line_is_no_touch)
{
    pv_review *r = review_of("line track from (100, 300)mm to (900, 300)mm\n"
                             "robot 160mm by 120mm pivot 60mm\n"
                             "start at (200, 300)mm heading 0deg size 40mm\n"
                             "route from start, ahead 500mm\n");
    ck_assert_uint_eq(r->n_crossings, 1);
    ck_assert(r->crossings[0].follows);
    ck_assert_ptr_null(finding(r, "touch"));
    pv_review_free(r);
}
END_TEST

typedef struct spots {
    pv_vec *at;
    size_t n;
} spots;

static bool add_spots(void *context, const pv_solid *s)
{
    spots *to = context;
    for (int j = 0; j < 2000; j++) {
        int side = j / 500; /* NOLINT(bugprone-integer-division) */
        pv_vec from = s->corner[side], till = s->corner[(side + 1) % 4];
        to->at[to->n++] =
            s->kind == PV_SOLID_SECTOR
                ? pv_add(s->centre, pv_polar(s->outer, s->from + s->sweep * j / 1999.0))
                : pv_along(from, pv_sub(till, from), (j % 500) / 499.0);
    }
    return true;
}

/* Points around the paint of all lines, at most 1.4 mm apart. */
static size_t paint_points(const pv_art *art, pv_vec *points)
{
    spots to = {points, 0};
    for (size_t i = 0; i < art->n_lines; i++)
        ck_assert(pv_line_each_solid(&art->lines[i], add_spots, &to));
    return to.n;
}

static double pose_clearance(const pv_robot *robot, pv_vec at, pv_vec heading, const pv_vec *points,
                             size_t n)
{
    double least = HUGE_VAL;
    for (size_t i = 0; i < n; i++) {
        pv_vec d = pv_sub(points[i], at);
        double u = pv_dot(d, heading), v = fabs(pv_cross_z(heading, d)) - robot->width / 2;
        u = fmax(-robot->pivot - u, u - (robot->length - robot->pivot));
        least = fmin(least, hypot(fmax(u, 0), fmax(v, 0)));
    }
    return least;
}

static double brute_force(const pv_course *course, const pv_vec *points, size_t n)
{
    const pv_route *route = &course->route;
    double least = HUGE_VAL;
    for (size_t i = 0; i < route->n; i++) {
        const pv_piece *piece = &route->pieces[i];
        double length = pv_piece_length(piece);
        for (double s = 0; s < length + 1; s += 1) {
            double to = fmin(s, length);
            least = fmin(least, pose_clearance(&course->robot, pv_piece_point(piece, to),
                                               pv_piece_heading(piece, to), points, n));
        }
        if (i + 1 == route->n)
            break;
        pv_vec t = pv_piece_heading(piece, length), u = pv_piece_heading(&route->pieces[i + 1], 0);
        double turn = atan2(pv_cross_z(t, u), pv_dot(t, u)), from = atan2(t.y, t.x);
        for (int k = 0; k <= 200; k++)
            least = fmin(least, pose_clearance(&course->robot, piece->b,
                                               pv_polar(1, from + turn * k / 200), points, n));
    }
    return least;
}

/* Random robots on random routes among random lines: against the least distance of densely sampled
 * points of the paint over densely sampled poses. */
START_TEST(clearance_agrees_with_brute_force)
{
    static pv_vec points[60000];
    double above = 0, below = 0;
    int met = 0;
    for (int round = 0; round < 12; round++) {
        char text[600];
        snprintf(text, sizeof text,
                 "line a width 6mm from (%.1f, 40)mm to (%.1f, 90)mm\n"
                 "circle b width 6mm centre (%.1f, 480)mm radius %.1fmm\n"
                 "line c width 6mm ends round from (%.1f, 520)mm to (950, %.1f)mm\n"
                 "robot %.1fmm by %.1fmm pivot %.1fmm\n"
                 "start at (250, 250)mm heading 0deg size 10mm\n"
                 "route from start, ahead %.1fmm, left %.1fdeg radius %.1fmm, by (8, 30)mm\n",
                 random_between(50, 300), random_between(600, 900), random_between(150, 400),
                 random_between(20, 60), random_between(500, 700), random_between(300, 500),
                 random_between(60, 160), random_between(60, 140), random_between(10, 60),
                 random_between(50, 250), random_between(20, 80), random_between(60, 130));
        pv_course *course = course_of(text);
        pv_review *r = pv_review_make(course, NULL);
        ck_assert_ptr_nonnull(r);
        size_t n = paint_points(&course->art, points);
        double least = brute_force(course, points, n);
        if (r->n_crossings == 0) {
            above = fmax(above, r->facts.paint.distance - least);
            below = fmax(below, least - r->facts.paint.distance);
            met++;
        }
        pv_review_free(r);
        pv_course_free(course);
    }
    say_worst("clearance above brute force", above, PV_SWEEP_FLATNESS, "mm");
    say_worst("clearance below brute force", below, 0.1, "mm");
    ck_assert(above <= PV_SWEEP_FLATNESS && below <= 0.1 && met >= 6);
}
END_TEST

/* The least limit within which a straight route of so many mm is followed. */
static size_t least_limit(double mm)
{
    char text[200];
    snprintf(text, sizeof text,
             "robot 160mm by 120mm pivot 60mm\nstart at (200, 300)mm heading 0deg size 40mm\n"
             "route from start, ahead %gmm\n",
             mm);
    pv_course *course = course_of(text);
    size_t limit = 1;
    for (bool within = false; !within; limit += !within) {
        pv_diags *diags = pv_diags_new();
        pv_sweep *sweep = pv_sweep_new(course, limit, diags);
        within = sweep != NULL;
        ck_assert_int_eq(pv_diags_cause(diags), within ? PV_CAUSE_NONE : PV_CAUSE_LIMIT);
        pv_sweep_free(sweep);
        pv_diags_free(diags);
        ck_assert_uint_lt(limit, 10000);
    }
    pv_course_free(course);
    return limit;
}

/* A limit on the work is one on the way, so that no route takes endlessly. */
START_TEST(endless_route_is_an_error)
{
    size_t one = least_limit(250), two = least_limit(500);
    ck_assert_uint_gt(one, 1);
    ck_assert_uint_eq(two, 2 * one);
}
END_TEST

START_TEST(leaving_the_mat_is_a_problem)
{
    pv_review *r = review_of("robot 160mm by 120mm pivot 60mm\n"
                             "start at (200, 300)mm heading 0deg size 40mm\n"
                             "route from start, ahead 712.5mm\n");
    const pv_finding *leaves = finding(r, "leaves");
    ck_assert(leaves != NULL && leaves->problem);
    NEAR(r->facts.edge.distance, -12.5, 1e-5);
    pv_review_free(r);
}
END_TEST

START_TEST(mark_that_sticks_out_is_a_problem)
{
    pv_review *r = review_of("robot 60mm by 30mm pivot 30mm\n"
                             "start at (200, 300)mm heading 90deg size 100mm\n");
    ck_assert(finding(r, "start mark") != NULL && r->facts.mark_sticks_out > 1);
    ck_assert(finding(r, "missing") != NULL && !finding(r, "missing")->problem);
    pv_review_free(r);
}
END_TEST

/* ---- the finish ---- */

/* A box with a clear inside of 200 x 150; the robot's box 160 x 120 has its pivot at 60 from the
 * rear, so it stands in the middle at pivot x = 600 - 20. */
START_TEST(finish_holds_the_robot)
{
    static const char with[] = "box dock from (490, 215)mm by (220, 170)mm\n"
                               "finish at (600, 300)mm\n"
                               "robot 160mm by 120mm pivot 60mm\n"
                               "start at (200, 300)mm heading 0deg size 40mm\n";
    char text[400];
    snprintf(text, sizeof text, "%sroute from start, ahead 380mm\n", with);
    pv_review *r = review_of(text);
    ck_assert(r->facts.finish.known && r->facts.finish.fits);
    NEAR(r->facts.finish.margin, 15, 1e-5); /* (150 - 120) / 2 to each side, 20 before and behind */
    pv_review_free(r);
    snprintf(text, sizeof text, "%sroute from start, ahead 405mm\n", with);
    r = review_of(text);
    ck_assert(r->facts.finish.known && !r->facts.finish.fits && finding(r, "finish")->problem);
    pv_review_free(r);
    snprintf(text, sizeof text, "%sroute from start, ahead 250mm\n", with);
    r = review_of(text);
    ck_assert(finding(r, "route end")->problem);
    pv_review_free(r);
    r = review_of(with); /* no route: a place is looked for */
    ck_assert(r->facts.finish.known && r->facts.finish.fits && r->facts.finish.margin > 0);
    pv_review_free(r);
}
END_TEST

/* Turned by 30 degrees, 161 x 121 of clear room for a robot of 160 x 120; and 159 x 121. */
START_TEST(finish_room_is_found_where_there_is_any)
{
    for (int tight = 0; tight < 2; tight++) {
        double length = tight ? 159 : 161, width = 121, turn = PV_PI / 6;
        pv_vec x = pv_polar(1, turn), y = pv_left(x), a = pv_v(400, 200);
        pv_vec b = pv_along(a, x, length + 20), c = pv_along(b, y, width + 20);
        pv_vec d = pv_along(a, y, width + 20), middle = pv_scale(pv_add(a, c), 0.5);
        char text[400];
        snprintf(text, sizeof text,
                 "line dock from (%.9f, %.9f)mm, to (%.9f, %.9f)mm, to (%.9f, %.9f)mm, to (%.9f, "
                 "%.9f)mm, close\nfinish at (%.6f, %.6f)mm\nrobot 160mm by 120mm pivot 60mm\n",
                 a.x, a.y, b.x, b.y, c.x, c.y, d.x, d.y, middle.x, middle.y);
        pv_review *r = review_of(text);
        ck_assert_msg(r->facts.finish.fits == !tight, "clear room of %g mm", length);
        pv_review_free(r);
    }
}
END_TEST

/* ---- lines ---- */

START_TEST(near_misses_are_problems)
{
    pv_review *r = review_of("line a from (100, 300)mm to (491, 300)mm\n"
                             "line b from (500, 0)mm to (500, 600)mm\n");
    const pv_finding *miss = finding(r, "miss");
    ck_assert(miss != NULL && miss->problem && miss->line == 4 && miss->column == 1);
    assert_says(miss->message, "9.000 mm|b");
    NEAR(miss->x, 491, 1e-9);
    pv_review_free(r);
    r = review_of("line a from (100, 300)mm to (479, 300)mm\n" /* 21: more than a width */
                  "line b from (500, 0)mm to (500, 600)mm\n"
                  "line c from (0, 100)mm to (509, 100)mm\n"); /* 9 past b, no miss */
    ck_assert_ptr_null(finding(r, "miss"));
    ck_assert(pv_review_sound(r));
    pv_review_free(r);
}
END_TEST

START_TEST(open_regions_are_noted)
{
    /* Meant to part the mat in two, but it ends 300 mm short of the other side. */
    pv_review *r = review_of("colour gold = rgb(255, 220, 0)\n"
                             "line a from (0, 300)mm to (700, 300)mm\n"
                             "fill at (500, 100)mm colour gold\n");
    const pv_finding *open = finding(r, "open");
    ck_assert(open != NULL && !open->problem && open->line == 6 && open->column == 9);
    assert_says(open->message, "300.0 mm");
    ck_assert_uint_eq(open->n_measures, 2);
    ck_assert_str_eq(open->measures[0].name, "gap");
    ck_assert_str_eq(open->measures[0].unit, "mm");
    NEAR(open->measures[0].value, 300, 1e-9);
    ck_assert_uint_eq(open->n_things, 3);
    ck_assert_str_eq(open->things[0].role, "line");
    ck_assert_str_eq(open->things[0].name, "a");
    ck_assert_str_eq(open->things[2].name, "fill-1");
    pv_review_free(r);
    char text[400] = "colour gold = rgb(255, 220, 0)\nfill at (500, 100)mm colour gold\n"
                     "line a from (0, 300)mm to (700, 300)mm\n";
    for (int i = 0; i < 2; i++) {
        snprintf(text + strlen(text), 100, "line from (%d, 0)mm to (%d, 150)mm\n", 200 + 100 * i,
                 200 + 100 * i);
        r = review_of(text);
        open = finding(r, "open");
        ck_assert_ptr_nonnull(open);
        ck_assert(open->measures[1].value == 2 + i); /* open ends in the region */
        pv_review_free(r);
    }
}
END_TEST

START_TEST(what_lies_off_the_mat_is_told)
{
    pv_review *r = review_of("line a from (900, 300)mm to (1200, 300)mm\n"
                             "text \"HARBOUR\" at (950, 100)mm height 40mm\n");
    ck_assert_uint_eq(pv_review_findings(r) - (size_t)(finding(r, "missing") != NULL) * 4, 2);
    const pv_finding *line = finding(r, "outside");
    ck_assert(line != NULL && !line->problem && strstr(line->message, "line a") != NULL);
    ck_assert_uint_eq(r->facts.problems, 1); /* the text */
    pv_review_free(r);
}
END_TEST

START_TEST(colours_too_alike_are_told)
{
    /* Luminance of rgb(60, 60, 60) is 0.0452: against black not 0.25, against white 0.95. */
    pv_review *r = review_of("colour slate = rgb(60, 60, 60)\n"
                             "line a from (0, 300)mm to (1000, 300)mm\n"
                             "fill at (500, 100)mm colour slate\n");
    const pv_finding *alike = finding(r, "contrast");
    ck_assert(alike != NULL && alike->problem);
    assert_says(alike->message, "black|slate");
    pv_review_free(r);
    r = review_of("line a from (0, 300)mm to (1000, 300)mm\n");
    ck_assert_ptr_null(finding(r, "contrast"));
    pv_review_free(r);
}
END_TEST

/* ---- forms ---- */

/* 36 in square: three lines each way make sixteen squares of 9 in, of which quarter arcs cut four.
 */
START_TEST(check_course_has_its_regions)
{
    pv_bytes bytes = read_input("tests/outside/check36.course");
    pv_diags *diags = pv_diags_new();
    pv_course *course =
        pv_course_parse((const char *)bytes.data, bytes.size, "36", test_type(), diags);
    ck_assert_ptr_nonnull(course);
    pv_review *r = pv_review_make(course, diags);
    ck_assert_ptr_nonnull(r);
    ck_assert_uint_eq(r->facts.regions, 16 + 4);
    NEAR(r->facts.width, 914.4, 1e-12);
    NEAR(r->facts.length / PV_MM_PER_IN, 6 * 36 + 2 * PV_PI * 9, 1e-9);
    ck_assert(pv_review_sound(r));
    pv_review_free(r);
    pv_course_free(course);
    pv_diags_free(diags);
    pv_free(bytes.data);
}
END_TEST

START_TEST(json_has_its_keys)
{
    pv_bytes bytes = read_input("layouts/quayside.course");
    pv_diags *diags = pv_diags_new();
    pv_course *course =
        pv_course_parse((const char *)bytes.data, bytes.size, "q.course", test_type(), diags);
    pv_review *review = pv_review_make(course, diags);
    char *text = pv_review_json(review), *again = pv_review_json(review);
    ck_assert_str_eq(text, again);
    pv_json *json = pv_json_parse(text, strlen(text), "review", diags);
    char *said = diags_text(diags);
    ck_assert_msg(json != NULL, "%s", said);
    const pv_json_node *root = pv_json_root(json);
    ck_assert_str_eq(pv_json_get_string(json, pv_json_member(json, root, "course")), "Quayside");
    const pv_json_node *size = pv_json_member(json, root, "size");
    NEAR(pv_json_get_number(json, pv_json_member(json, size, "width_mm"), 0, 1e6), 1200, 1e-9);
    const pv_json_node *colours = pv_json_member(json, root, "colours");
    double sum = 0;
    for (size_t i = 0; i < pv_json_length(json, colours); i++)
        sum += pv_json_get_number(
            json, pv_json_member(json, pv_json_item(json, colours, i), "area_mm2"), 0, 1e9);
    NEAR(sum, 1200 * 900, 0.1);
    static const char *const keys[] = {"edition",  "file",  "sound",   "counts",     "length_mm",
                                       "lines",    "robot", "route",   "start_mark", "finish",
                                       "problems", "notes", "findings"};
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++)
        pv_json_member(json, root, keys[i]);
    ck_assert(pv_json_good(json));
    pv_free(said);
    pv_json_free(json);
    pv_free(text);
    pv_free(again);
    pv_review_free(review);
    pv_course_free(course);
    pv_diags_free(diags);
    pv_free(bytes.data);
}
END_TEST

/* What a program of somebody else's sees, all of it also in the JSON. */
START_TEST(findings_are_data)
{
    pv_review *r = review_of("line a from (100, 300)mm to (491, 300)mm\n"
                             "  line b from (500, 0)mm to (500, 600)mm\n"
                             "\ttext \"QUAY\" at (990, 300)mm height 20mm\n"
                             "robot 160mm by 120mm pivot 60mm\n"
                             "start at (200, 100)mm heading 0deg size 40mm\n"
                             "route from start, ahead 500mm\n");
    const pv_review_facts *facts = pv_review_facts_of(r);
    ck_assert_str_eq(facts->file, "t.course");
    ck_assert(facts->has_robot && !facts->has_finish && facts->robot_pivot == 60);
    ck_assert_uint_eq(facts->problems + facts->notes, pv_review_findings(r));
    ck_assert_uint_eq(facts->lines, 2);
    ck_assert_str_eq(pv_review_line_at(r, 1)->id, "b");
    ck_assert_str_eq(pv_review_line_at(r, 1)->colour, "black");
    ck_assert(pv_review_line_at(r, 1)->line == 5 && pv_review_line_at(r, 1)->column == 3);
    ck_assert_ptr_null(pv_review_line_at(r, 2));
    ck_assert_uint_eq(pv_review_colours(r), 2);
    ck_assert_ptr_null(pv_review_colour_at(r, 2));
    ck_assert_uint_eq(pv_review_crossings(r), 1);
    ck_assert_str_eq(pv_review_crossing_at(r, 0)->line, "b");
    ck_assert_ptr_null(pv_review_crossing_at(r, 1));
    ck_assert_ptr_null(pv_review_finding(r, pv_review_findings(r)));
    const pv_finding *text = finding(r, "outside");
    ck_assert(text->line == 6 && text->column == 2 && text->placed && text->x == 990);
    ck_assert_str_eq(text->things[0].name, "QUAY");
    ck_assert_ptr_nonnull(text->hint);
    const pv_finding *none = finding(r, "missing");
    ck_assert(none->line == 0 && !none->placed && none->n_things == 0 && none->n_measures == 0);
    char *json = pv_review_json(r);
    ck_assert_ptr_nonnull(strstr(json, "\"nearest\": \"b\",\n      \"gap_mm\": 9"));
    ck_assert_ptr_nonnull(strstr(json, "\"source_column\": 2"));
    pv_free(json);
    char *said = pv_review_text(r);
    ck_assert_ptr_nonnull(strstr(said, "t.course:6:2: problem"));
    pv_free(said);
    pv_review_free(r);
}
END_TEST

/* In no more time than the timeout leaves. */
START_TEST(twenty_thousand_lines_are_reviewed)
{
    pv_text text = PV_TEXT_INIT;
    pv_text_add(&text, "%s",
                "repeat row from 0 to 99\nrepeat column from 0 to 99\n"
                "line a width 1mm from (column * 9.8mm + 5mm, row * 5.8mm + 5mm) by (8, 2)mm\n"
                "line b width 1mm from (column * 9.8mm + 5mm, row * 5.8mm + 7mm) by (8, -2)mm\n"
                "end\nend\n");
    pv_review *r = review_of(text.chars);
    ck_assert_uint_eq(r->facts.lines, 20000);
    pv_review_free(r);
    pv_text_drop(&text);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("review");
    TCase *tcase = tcase_create("review");
    tcase_set_timeout(tcase, 60);
    tcase_add_test(tcase, numbers_are_closed_forms);
    tcase_add_test(tcase, areas_agree_with_counting);
    tcase_add_test(tcase, distance_agrees_with_sampling);
    tcase_add_test(tcase, clearance_on_a_straight);
    tcase_add_test(tcase, clearance_in_a_turn);
    tcase_add_test(tcase, clearance_on_a_bend);
    tcase_add_test(tcase, touching_is_a_problem_crossing_is_not);
    tcase_add_test(tcase, following_a_line_is_no_touch);
    tcase_add_test(tcase, clearance_agrees_with_brute_force);
    tcase_add_test(tcase, endless_route_is_an_error);
    tcase_add_test(tcase, leaving_the_mat_is_a_problem);
    tcase_add_test(tcase, mark_that_sticks_out_is_a_problem);
    tcase_add_test(tcase, finish_holds_the_robot);
    tcase_add_test(tcase, finish_room_is_found_where_there_is_any);
    tcase_add_test(tcase, near_misses_are_problems);
    tcase_add_test(tcase, open_regions_are_noted);
    tcase_add_test(tcase, what_lies_off_the_mat_is_told);
    tcase_add_test(tcase, colours_too_alike_are_told);
    tcase_add_test(tcase, check_course_has_its_regions);
    tcase_add_test(tcase, json_has_its_keys);
    tcase_add_test(tcase, findings_are_data);
    tcase_add_test(tcase, twenty_thousand_lines_are_reviewed);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
