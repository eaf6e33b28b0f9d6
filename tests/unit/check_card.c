/* A card as a reference, against closed forms: exact outlines give the exact print, the rim's
 * parallax is that of a pinhole camera, the covariance is what a thousand disturbed outlines
 * scatter, and steps are found in pictures whose light is known at every place. */
#include "common.h"

#include "reference/card_metric.h"
#include "reference/steps.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- a card on a print ---- */

typedef struct print {
    double sx, sy, skew;
} print;

/* True mm to nominal: the inverse of (sx x + sy sin(skew) y, sy cos(skew) y). */
static pv_vec nominal(const print *p, pv_vec at)
{
    double y = at.y / (p->sy * cos(p->skew));
    return pv_v((at.x - p->sy * sin(p->skew) * y) / p->sx, y);
}

static void corners_of_card(pv_vec middle, double turn, pv_vec out[4])
{
    static const double sign[4][2] = {{-1, -1}, {1, -1}, {1, 1}, {-1, 1}};
    pv_vec along = pv_polar(1, turn);
    for (int k = 0; k < 4; k++) {
        pv_vec p = pv_along(middle, along, sign[k][0] * PV_CARD_LONG / 2);
        out[k] = pv_along(p, pv_left(along), sign[k][1] * PV_CARD_SHORT / 2);
    }
}

static pv_outline outline_of(const print *p, const pv_vec corner[4])
{
    pv_outline out;
    for (int k = 0; k < 4; k++)
        out.side[k] = pv_outline_side_of(nominal(p, corner[k]), nominal(p, corner[(k + 1) % 4]));
    return out;
}

static pv_pose flat_pose(double px_per_mm)
{
    return (pv_pose){.kind = PV_POSE_AFFINE, .h = {px_per_mm, 0, 0, 0, px_per_mm, 0, 0, 0, 1}};
}

static double worst_of(const pv_metric *found, const print *p)
{
    double worst = fmax(fabs(found->scale[0] - p->sx), fabs(found->scale[1] - p->sy));
    return fmax(worst, fabs(found->skew - p->skew));
}

START_TEST(exact_outlines_give_the_exact_print)
{
    pv_pose pose = flat_pose(10);
    pv_camera_view scan = {.known = false};
    double worst = 0;
    chance(1);
    for (int i = 0; i < 500; i++) {
        print p = {random_between(0.93, 1.05), random_between(0.93, 1.05),
                   random_between(-0.01, 0.01)};
        pv_vec corner[4];
        corners_of_card(pv_v(random_between(-80, 300), random_between(-80, 300)),
                        random_between(-4, 4), corner);
        pv_card_seen seen = {&pose, &scan, outline_of(&p, corner), {false}};
        pv_metric found;
        ck_assert(pv_card_metric(&seen, &found));
        ck_assert(found.known && found.has_skew);
        worst = fmax(worst, worst_of(&found, &p));
    }
    say_worst("scales and skew of exact outlines", worst, 1e-12, "");
    ck_assert_double_lt(worst, 1e-12);
}
END_TEST

/* A point at height t over the paper is seen on it where the line from the lens goes through: at
 * foot + (p - foot) h / (h - t). */
START_TEST(the_rim_stands_over_the_paper)
{
    pv_pose pose = flat_pose(10);
    double worst = 0;
    chance(2);
    for (int i = 0; i < 500; i++) {
        pv_camera_view view = {.known = true, .height = random_between(200, 700), .height_u = 0.05};
        view.foot = pv_v(random_between(-200, 400), random_between(-200, 500));
        /* Lengths that the camera's place is stated in are nominal ones: a true print. */
        print p = {1, 1, 0};
        pv_vec corner[4];
        corners_of_card(pv_v(random_between(-80, 300), random_between(-80, 300)),
                        random_between(-4, 4), corner);
        double grow = view.height / (view.height - PV_CARD_THICKNESS);
        for (int k = 0; k < 4; k++)
            corner[k] = pv_along(view.foot, pv_sub(corner[k], view.foot), grow);
        pv_card_seen seen = {&pose, &view, outline_of(&p, corner), {true, true, true, true}};
        pv_metric found;
        ck_assert(pv_card_metric(&seen, &found));
        worst = fmax(worst, worst_of(&found, &p));
    }
    /* The shift is worked out at the rim's place as seen, not as it lies: to second order. */
    say_worst("scales and skew by upper rims, 200 to 700 mm under a lens", worst, 2e-5, "");
    ck_assert_double_lt(worst, 2e-5);
}
END_TEST

/* One of two sides that must be parallel is read askew by 11 mrad, as closely as the other: which
 * of them can't be told, and the truth lies within U all the same. */
START_TEST(sides_that_are_not_parallel_widen_the_skew)
{
    pv_pose pose = flat_pose(10);
    pv_camera_view scan = {.known = false};
    print p = {1, 1, 0};
    pv_vec corner[4];
    corners_of_card(pv_v(60, 90), 0.1, corner);
    for (int k = 0; k < 4; k++) {
        pv_card_seen seen = {&pose, &scan, outline_of(&p, corner), {false}};
        pv_metric even, odd;
        for (int i = 0; i < 4; i++)
            seen.outline.side[i].u_slope = 0.001;
        ck_assert(pv_card_metric(&seen, &even));
        seen.outline.side[k].slope = 0.011;
        ck_assert(pv_card_metric(&seen, &odd));
        ck_assert_double_gt(fabs(odd.skew), 0.005);
        ck_assert_double_lt(fabs(odd.skew), 2 * sqrt(odd.cov[8]));
        ck_assert_double_lt(sqrt(even.cov[8]), 0.0015);
    }
}
END_TEST

/* The sides' own scatter moves the result as the covariance says. */
START_TEST(the_covariance_is_what_disturbed_outlines_scatter)
{
    enum { DRAWS = 20000 };
    pv_pose pose = flat_pose(10);
    pv_camera_view scan = {.known = false};
    print p = {0.97, 1.004, 0.003};
    pv_vec corner[4];
    corners_of_card(pv_v(60, 90), 0.4, corner);
    static const double u_off[4] = {0.05, 0.08, 0.11, 0.06}, u_slope = 0.002;
    pv_card_seen seen = {&pose, &scan, outline_of(&p, corner), {false}};
    pv_metric still, shaken, found;
    ck_assert(pv_card_metric(&seen, &still));
    for (int k = 0; k < 4; k++) {
        seen.outline.side[k].u_off = u_off[k];
        seen.outline.side[k].u_slope = u_slope;
    }
    ck_assert(pv_card_metric(&seen, &shaken));
    double sum[3] = {0}, square[9] = {0};
    chance(3);
    for (int i = 0; i < DRAWS; i++) {
        pv_card_seen one = seen;
        for (int k = 0; k < 4; k++) {
            one.outline.side[k].off = u_off[k] * gauss();
            one.outline.side[k].slope = u_slope * gauss();
        }
        ck_assert(pv_card_metric(&one, &found));
        double d[3] = {log(found.scale[0] / p.sx), log(found.scale[1] / p.sy), found.skew - p.skew};
        for (int r = 0; r < 3; r++) {
            sum[r] += d[r] / DRAWS;
            for (int c = 0; c < 3; c++)
                square[3 * r + c] += d[r] * d[c] / DRAWS;
        }
    }
    double worst = 0;
    for (int r = 0; r < 3; r++)
        for (int c = 0; c < 3; c++) {
            double stated = shaken.cov[3 * r + c] - still.cov[3 * r + c];
            double scale = sqrt(square[4 * r] * square[4 * c]);
            worst = fmax(worst, fabs(square[3 * r + c] - sum[r] * sum[c] - stated) / scale);
        }
    say_worst("covariance against 20000 draws", worst, 0.04, "of it");
    ck_assert_double_lt(worst, 0.04);
}
END_TEST

/* ---- the camera ---- */

/* A camera at `eye` that looks at `aim` on the paper, y up in the sheet and down in the picture. */
static pv_pose pose_of_camera(const double eye[3], pv_vec aim, double f, double width,
                              double height)
{
    double view[3] = {aim.x - eye[0], aim.y - eye[1], -eye[2]};
    double length = sqrt(view[0] * view[0] + view[1] * view[1] + view[2] * view[2]);
    for (int i = 0; i < 3; i++)
        view[i] /= length;
    double flat = hypot(view[0], view[1]);
    double right[3] = {view[1] / flat, -view[0] / flat, 0};
    double down[3] = {view[1] * right[2] - view[2] * right[1],
                      view[2] * right[0] - view[0] * right[2],
                      view[0] * right[1] - view[1] * right[0]};
    pv_pose out = {.kind = PV_POSE_PERSPECTIVE};
    const double *row[3] = {right, down, view};
    double cam[9];
    for (int r = 0; r < 3; r++) {
        cam[3 * r] = row[r][0];
        cam[3 * r + 1] = row[r][1];
        cam[3 * r + 2] = -(row[r][0] * eye[0] + row[r][1] * eye[1] + row[r][2] * eye[2]);
    }
    for (int c = 0; c < 3; c++) {
        out.h[c] = f * cam[c] + width / 2 * cam[6 + c];
        out.h[3 + c] = f * cam[3 + c] + height / 2 * cam[6 + c];
        out.h[6 + c] = cam[6 + c];
    }
    return out;
}

START_TEST(the_camera_stands_where_it_stood)
{
    double exact = 0, guessed = 0;
    chance(4);
    for (int i = 0; i < 300; i++) {
        double tilt = random_between(0.02, 0.8), from = random_between(-4, 4),
               far = random_between(250, 600);
        double f = random_between(2600, 3600);
        pv_vec aim = pv_v(random_between(50, 150), random_between(80, 200));
        double eye[3] = {aim.x + far * sin(tilt) * cos(from), aim.y + far * sin(tilt) * sin(from),
                         far * cos(tilt)};
        pv_pose pose = pose_of_camera(eye, aim, f, 4000, 3000);
        pv_plane plane = {.width = 4000, .height = 3000, .camera = true};
        plane.focal35 = f / 5000 * PV_CAMERA_DIAGONAL;
        pv_camera_view view = pv_camera_view_of(&plane, &pose);
        ck_assert(view.known);
        exact = fmax(exact, fabs(view.height - eye[2]));
        exact = fmax(exact, pv_dist(view.foot, pv_v(eye[0], eye[1])));
        /* Nothing stated: right where the view is tilted, and never farther off than it says. */
        plane.focal35 = 0;
        view = pv_camera_view_of(&plane, &pose);
        ck_assert(view.known);
        guessed = fmax(guessed, fabs(view.height / eye[2] - 1) / view.height_u);
    }
    say_worst("camera's place by a stated focal length", exact, 1e-6, "mm");
    ck_assert_double_lt(exact, 1e-6);
    say_worst("camera's height by a common focal length", guessed, 2, "of its u");
    ck_assert_double_lt(guessed, 2);
}
END_TEST

/* ---- steps across a side ---- */

static double step_at(double z)
{
    return 0.5 * erfc(-z / sqrt(2));
}

enum { WIDTH = 200, HEIGHT = 320 };
#define PX 8.0 /* to a mm */

typedef struct scene {
    double rim, wall, blur, turn; /* mm; of the side, rad */
    double face[3], side[3], ground[3], noise;
} scene;

/* The side runs along y in the middle of the picture, the face at its left. Pixels are points of
 * the blurred light: the blur stands for the pixel's own, too. */
static pv_plane *picture(const scene *s)
{
    pv_plane *out = calloc(1, sizeof *out);
    ck_assert(out != NULL);
    *out = (pv_plane){.width = WIDTH, .height = HEIGHT, .channels = 3};
    out->samples = calloc((size_t)WIDTH * HEIGHT * 3, sizeof *out->samples);
    ck_assert(out->samples != NULL);
    for (int y = 0; y < HEIGHT; y++)
        for (int x = 0; x < WIDTH; x++) {
            double e = (x + 0.5 - WIDTH / 2.0) / PX - s->rim - s->turn * (y - HEIGHT / 2.0) / PX;
            double a = step_at(e / s->blur), b = step_at((e - s->wall) / s->blur);
            for (int c = 0; c < 3; c++) {
                double v = s->face[c] + (s->side[c] - s->face[c]) * a +
                           (s->ground[c] - s->side[c]) * b + s->noise * gauss();
                out->samples[(y * WIDTH + x) * 3 + c] = (uint16_t)(fmax(0, fmin(1, v)) * 65535);
            }
        }
    return out;
}

static void free_picture(pv_plane *plane)
{
    free(plane->samples);
    free(plane);
}

static pv_outline_side side_in_picture(double off)
{
    double x = WIDTH / 2.0 / PX;
    pv_outline_side side = pv_outline_side_of(pv_v(x, 2), pv_v(x, HEIGHT / PX - 2));
    side.off = off;
    return side;
}

/* Face, wall and ground of any colours: both steps are found, in order, wherever it is looked from.
 */
START_TEST(steps_are_found_from_the_face_outwards)
{
    double worst = 0;
    pv_pose pose = flat_pose(PX);
    chance(5);
    for (int i = 0; i < 60; i++) {
        scene s = {
            .wall = random_between(0.6, 1.2), .blur = random_between(0.06, 0.12), .noise = 0.01};
        s.rim = random_between(-0.4, 0.1);
        s.turn = random_between(-0.003, 0.003);
        for (int c = 0; c < 3; c++) {
            s.face[c] = random_between(0.5, 0.9);
            s.side[c] = random_between(0.25, 0.4);
            s.ground[c] = random_between(0.02, 0.1);
        }
        pv_plane *plane = picture(&s);
        pv_outline_side side = side_in_picture(s.rim + (i % 2) * s.wall);
        pv_side_step steps[PV_STEPS_MAX];
        size_t n = pv_steps_find(plane, &pose, &side, 2, 1.5, 0.4, steps);
        free_picture(plane);
        ck_assert_uint_eq(n, 2);
        worst = fmax(worst, fabs(steps[0].off - s.rim));
        worst = fmax(worst, fabs(steps[1].off - s.rim - s.wall));
        worst = fmax(worst, 10 * fabs(steps[0].slope - s.turn));
    }
    say_worst("places of two steps, and 10 mm times their turn", worst, 0.03, "mm");
    ck_assert_double_lt(worst, 0.03);
}
END_TEST

/* Between colours of any kind a step by itself begins where its blur does; one that another runs
 * ahead of, too near to be told from it, begins earlier by about as much. */
START_TEST(what_runs_ahead_of_a_step_is_noticed)
{
    double least = HUGE_VAL, most = 0, ahead = HUGE_VAL;
    pv_pose pose = flat_pose(PX);
    chance(6);
    for (int i = 0; i < 40; i++) {
        scene s = {.blur = 0.1, .noise = 0.005};
        for (int c = 0; c < 3; c++) {
            bool dark = i % 2;
            s.face[c] = dark ? random_between(0.02, 0.1) : random_between(0.6, 0.9);
            s.ground[c] = dark ? random_between(0.6, 0.9) : random_between(0.02, 0.1);
            s.side[c] = s.face[c];
        }
        pv_plane *plane = picture(&s);
        pv_outline_side side = side_in_picture(0);
        double alone = pv_step_lead(plane, &pose, &side);
        free_picture(plane);
        least = fmin(least, alone);
        most = fmax(most, alone);
        /* A quarter of the way, 0.25 mm ahead: 2 px. */
        s.rim = -0.25;
        s.wall = 0.25;
        for (int c = 0; c < 3; c++)
            s.side[c] = s.face[c] + (s.ground[c] - s.face[c]) / 4;
        plane = picture(&s);
        ahead = fmin(ahead, pv_step_lead(plane, &pose, &side));
        free_picture(plane);
    }
    /* A normal distribution has a twentieth at 1.645 standard deviations. */
    say_worst("from 1.645 times the blur", fmax(most - 1.645 * 0.8, 1.645 * 0.8 - least), 0.35,
              "px");
    ck_assert_double_lt(fmax(most - 1.645 * 0.8, 1.645 * 0.8 - least), 0.35);
    ck_assert_double_gt(ahead, most + 0.8);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("card");
    TCase *tests = tcase_create("card");
    tcase_set_timeout(tests, 60);
    tcase_add_test(tests, exact_outlines_give_the_exact_print);
    tcase_add_test(tests, the_rim_stands_over_the_paper);
    tcase_add_test(tests, sides_that_are_not_parallel_widen_the_skew);
    tcase_add_test(tests, the_covariance_is_what_disturbed_outlines_scatter);
    tcase_add_test(tests, the_camera_stands_where_it_stood);
    tcase_add_test(tests, steps_are_found_from_the_face_outwards);
    tcase_add_test(tests, what_runs_ahead_of_a_step_is_noticed);
    suite_add_tcase(suite, tests);
    return run_suite(suite);
}
