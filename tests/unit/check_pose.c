/* The mathematics of the pose: maps with exact truth, robust fits of painted sights. */
#include "common.h"
#include "wording.h"

#include "pose/fit.h"
#include "pose/seed.h"
#include "pose/solve.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

START_TEST(homography_of_four_points)
{
    /* Solved exactly by rational arithmetic and rounded to nine digits. */
    static const pv_vec from[4] = {{10, 20}, {600, 35}, {580, 450}, {30, 430}};
    static const pv_vec to[4] = {{0, 0}, {210, 0}, {210, 297}, {0, 297}};
    static const double truth[9] = {.360910302,    -.0176053806,   -3.25699541,
                                    -.0171469718,  .674447557,     -13.3174814,
                                    3.08493867e-5, -1.65173512e-4, 1};
    double h[9], worst = 0, miss = 0;
    ck_assert(pv_homography(from, to, 4, h));
    for (int i = 0; i < 9; i++)
        worst = fmax(worst, fabs(h[i] / truth[i] - 1));
    for (int i = 0; i < 4; i++)
        miss = fmax(miss, pv_dist(pv_map_point(h, from[i]), to[i]));
    say_worst("four-point homography, elements", worst, 3e-8, "relative");
    say_worst("four-point homography, points", miss, 1e-10, "mm");
    ck_assert(worst < 3e-8);
    ck_assert(miss < 1e-10);
}
END_TEST

START_TEST(maps_from_many_points)
{
    static const double truth[9] = {3.1, -0.4, 90, 0.3, -2.9, 900, 2e-4, -3e-4, 1};
    static const double flat[9] = {23.6, 0.41, -50, 0.39, -23.5, 7000, 0, 0, 1};
    dice d = {7};
    double worst = 0;
    for (int round = 0; round < 200; round++) {
        size_t n = 4 + (size_t)(between(&d, 0, 1) * 12);
        pv_vec from[16], to[16], to_flat[16];
        for (size_t i = 0; i < n; i++) {
            /* four at the corners, so that they determine the map */
            from[i] = i < 4 ? pv_v(i % 2 ? 200 : 10, i / 2 ? 280 : 8)
                            : pv_v(between(&d, 0, 1) * 210, between(&d, 0, 1) * 297);
            to[i] = pv_map_point(truth, from[i]);
            to_flat[i] = pv_map_point(flat, from[i]);
        }
        double h[9], a[9];
        ck_assert(pv_homography(from, to, n, h));
        ck_assert(pv_affinity(from, to_flat, n, a));
        for (int i = 0; i < 20; i++) {
            pv_vec p = pv_v(between(&d, 0, 1) * 210, between(&d, 0, 1) * 297);
            worst = fmax(worst, pv_dist(pv_map_point(h, p), pv_map_point(truth, p)));
            worst = fmax(worst, pv_dist(pv_map_point(a, p), pv_map_point(flat, p)));
        }
    }
    say_worst("maps from 4 to 15 exact points", worst, 1e-9, "px");
    ck_assert(worst < 1e-9);
}
END_TEST

START_TEST(undetermined_maps_are_refused)
{
    double h[9];
    pv_vec line[5], same[5], to[5];
    for (int i = 0; i < 5; i++) {
        line[i] = pv_v(i, 2 * i);
        same[i] = pv_v(3, 4);
        to[i] = pv_v(i * i, 7 * i);
    }
    ck_assert(!pv_homography(line, to, 5, h));
    ck_assert(!pv_affinity(line, to, 5, h));
    ck_assert(!pv_homography(same, to, 5, h));
    ck_assert(!pv_affinity(same, to, 5, h));
    ck_assert(!pv_homography(to, to, 3, h));
    ck_assert(!pv_affinity(to, to, 2, h));
}
END_TEST

START_TEST(jacobian_is_the_derivative)
{
    static const double h[9] = {3.1, -0.4, 90, 0.3, -2.9, 900, 2e-4, -3e-4, 1};
    double worst = 0;
    for (int i = 0; i < 50; i++) {
        pv_vec p = pv_v(i * 4, 297 - i * 5), dx, dy;
        pv_map_jacobian(h, p, &dx, &dy);
        double e = 1e-4;
        pv_vec nx = pv_scale(
            pv_sub(pv_map_point(h, pv_v(p.x + e, p.y)), pv_map_point(h, pv_v(p.x - e, p.y))),
            0.5 / e);
        pv_vec ny = pv_scale(
            pv_sub(pv_map_point(h, pv_v(p.x, p.y + e)), pv_map_point(h, pv_v(p.x, p.y - e))),
            0.5 / e);
        worst = fmax(worst, fmax(pv_dist(dx, nx), pv_dist(dy, ny)));
    }
    say_worst("jacobian against differences", worst, 1e-7, "px/mm");
    ck_assert(worst < 1e-7);
}
END_TEST

START_TEST(lens_is_opencvs)
{
    /* Focal length, centre, k1 and k2 of the calibration that opencv-doc ships with its photographs
     * of a chessboard (left_intrinsics.yml); where (x, y, 1) is seen with these and no tangential
     * or sixth-power part by cv2.projectPoints of OpenCV 4.6, in whose frame a pixel's centre is
     * whole.
     */
    static const double f = 535.91573, cx = 342.28315, cy = 235.57083, k1 = -.26637261,
                        k2 = -.03858890, half = 0.5;
    static const pv_vec from[3] = {{.1, .2}, {-.5, .3}, {.5, -.4}};
    static const pv_vec to[3] = {
        {395.15578654, 341.31610308}, {99.78866823, 381.06751906}, {579.23840680, 46.00662456}};
    pv_pose pose = {.kind = PV_POSE_PERSPECTIVE,
                    .h = {f, 0, cx + half, 0, f, cy + half, 0, 0, 1},
                    .lens_centre = {cx + half, cy + half},
                    .lens_unit = 400};
    double r2 = pow(pose.lens_unit / f, 2), there = 0, back = 0;
    pose.lens[0] = k1 * r2;
    pose.lens[1] = k2 * r2 * r2;
    for (int i = 0; i < 3; i++) {
        pv_vec seen = pv_v(to[i].x + half, to[i].y + half);
        there = fmax(there, pv_dist(pv_pose_map(&pose, from[i]), seen));
        back = fmax(back, f * pv_dist(pv_pose_unmap(&pose, seen), from[i]));
    }
    say_worst("lens against OpenCV's projection", there, 1e-7, "px");
    say_worst("and back", back, 1e-7, "px");
    ck_assert(there < 1e-7);
    ck_assert(back < 1e-7);
}
END_TEST

/* ---- fits ---- */

enum { N = 300 };

/* Sights of line centres all over an A4 page; `noise` px, and `outliers` of them anywhere. */
static void make_sights(const double h[9], double noise, int outliers, dice *d, pv_sight *sights)
{
    for (int i = 0; i < N; i++) {
        pv_sight *s = &sights[i];
        pv_vec p = pv_v(5 + between(d, 0, 1) * 200, 5 + between(d, 0, 1) * 287);
        pv_vec across = pv_polar(4 * between(d, 0, 1), 2 * PV_PI * between(d, 0, 1));
        s->a = pv_sub(p, across);
        s->b = pv_add(p, across);
        pv_vec a = pv_map_point(h, s->a), b = pv_map_point(h, s->b);
        s->normal = pv_polar(1, 2 * PV_PI * between(d, 0, 1));
        s->at = pv_dot(s->normal, pv_scale(pv_add(a, b), 0.5)) + noise * normal(d);
        if (i < outliers)
            s->at += 5 + 30 * between(d, 0, 1);
        s->group = s->mark = (size_t)i;
        s->sigma = fmax(noise, 0.01);
        s->shared = 0;
    }
}

static double worst_on_page(const double h[9], const double truth[9])
{
    double worst = 0;
    for (int i = 0; i <= 10; i++)
        for (int k = 0; k <= 10; k++) {
            pv_vec p = pv_v(21.0 * i, 29.7 * k);
            worst = fmax(worst, pv_dist(pv_map_point(h, p), pv_map_point(truth, p)));
        }
    return worst;
}

/* For fits without a lens. */
static const pv_vec middle = {1250, 1750};

static pv_pose start_at(const double h[9])
{
    pv_pose start = {.lens_unit = 0};
    memcpy(start.h, h, sizeof start.h);
    return start;
}

static pv_fit_status fit_from(pv_pose_kind kind, pv_sight *sights, size_t n, const double h[9],
                              pv_fitted *fitted)
{
    pv_pose start = start_at(h);
    return pv_fit(kind, sights, n, &start, middle, fitted);
}

static pv_pose spread_of(const pv_sight *sights, size_t n, const pv_fitted *fitted)
{
    pv_pose pose = fitted->map;
    ck_assert_int_eq(pv_fit_spread(sights, n, fitted, middle, &pose), PV_FIT_DONE);
    pv_pose_sum_up(&pose);
    return pose;
}

static const double scan[9] = {11.81, 0.11, 30, 0.10, -11.79, 3500, 0, 0, 1};
static const double photo[9] = {11.81, 0.9, 300, 0.7, -11.79, 3500, 4e-4, -3e-4, 1};

static void nudged(const double h[9], double out[9])
{
    memcpy(out, h, 9 * sizeof *h);
    out[0] *= 1.004;
    out[2] += 7;
    out[5] -= 9;
}

START_TEST(exact_sights_give_the_exact_map)
{
    pv_sight sights[N];
    dice d = {3};
    pv_fitted fitted;
    double start[9], worst = 0;
    make_sights(scan, 0, 0, &d, sights);
    nudged(scan, start);
    ck_assert_int_eq(fit_from(PV_POSE_AFFINE, sights, N, start, &fitted), PV_FIT_DONE);
    worst = worst_on_page(fitted.map.h, scan);
    make_sights(photo, 0, 0, &d, sights);
    nudged(photo, start);
    ck_assert_int_eq(fit_from(PV_POSE_PERSPECTIVE, sights, N, start, &fitted), PV_FIT_DONE);
    worst = fmax(worst, worst_on_page(fitted.map.h, photo));
    say_worst("fits of exact sights, anywhere on the page", worst, 1e-7, "px");
    ck_assert(worst < 1e-7);
}
END_TEST

/* The map is that of the good sights alone, which is as far off the truth as their noise takes it.
 */
START_TEST(outliers_have_no_say)
{
    dice d = {5};
    double apart = 0, squares = 0;
    const int rounds = 40, outliers = 90;
    for (int round = 0; round < rounds; round++) {
        pv_sight sights[N], good[N];
        pv_fitted fitted, without;
        double start[9];
        bool flat = round % 2 == 0;
        const double *truth = flat ? scan : photo;
        pv_pose_kind kind = flat ? PV_POSE_AFFINE : PV_POSE_PERSPECTIVE;
        make_sights(truth, 0.05, outliers, &d, sights);
        memcpy(good, sights, sizeof good);
        nudged(truth, start);
        ck_assert_int_eq(fit_from(kind, sights, N, start, &fitted), PV_FIT_DONE);
        ck_assert_int_eq(fit_from(kind, good + outliers, N - outliers, start, &without),
                         PV_FIT_DONE);
        apart = fmax(apart, worst_on_page(fitted.map.h, without.map.h));
        double worst = worst_on_page(fitted.map.h, truth);
        squares += worst * worst / rounds;
        ck_assert_uint_ge(fitted.rejected, 90);
        ck_assert_uint_le(fitted.rejected, 95);
    }
    say_worst("30 % outliers against none, any place", apart, 0.03, "px");
    say_worst("and the worst place by 0.05 px of noise, RMS", sqrt(squares), 0.1, "px");
    ck_assert_double_lt(apart, 0.03);
    ck_assert_double_lt(sqrt(squares), 0.1);
}
END_TEST

/* The stated uncertainty against the scatter of many fits: independent errors, each sight in its
 * own group. */
START_TEST(uncertainty_is_the_scatter)
{
    dice d = {11};
    double squares[3] = {0}, stated[3] = {0};
    int rounds = 300;
    for (int round = 0; round < rounds; round++) {
        pv_sight sights[N];
        pv_fitted f;
        make_sights(scan, 0.2, 0, &d, sights);
        ck_assert_int_eq(fit_from(PV_POSE_AFFINE, sights, N, scan, &f), PV_FIT_DONE);
        pv_pose pose = spread_of(sights, N, &f);
        pv_vec x = {f.map.h[0], f.map.h[3]}, y = {f.map.h[1], f.map.h[4]};
        pv_vec x0 = {scan[0], scan[3]}, y0 = {scan[1], scan[4]};
        double angle = atan2(pv_cross_z(x, y), pv_dot(x, y));
        double angle0 = atan2(pv_cross_z(x0, y0), pv_dot(x0, y0));
        double off[3] = {pv_len(x) / pv_len(x0) - 1, pv_len(y) / pv_len(y0) - 1,
                         1000 * (angle - angle0)};
        double all[3] = {pose.u_scale[0], pose.u_scale[1], pose.u_skew};
        for (int i = 0; i < 3; i++) {
            squares[i] += off[i] * off[i] / rounds;
            stated[i] += all[i] * all[i] / rounds;
        }
    }
    double worst = 0;
    for (int i = 0; i < 3; i++)
        worst = fmax(worst, fabs(sqrt(stated[i] / squares[i]) - 1));
    say_worst("stated uncertainty / scatter of 300 fits - 1", worst, 0.15, "");
    ck_assert(worst < 0.15);
}
END_TEST

/* Many exact sights of level lines; upright ticks of two bars, 8 mm apart, are all that tells what
 * is upright. Each bar's ticks share an error, each tick has one of its own. */
enum { LEVEL = 100, TICKS = 16 };

static void make_weak_sights(double shared, double alone, dice *d, pv_sight *sights)
{
    for (size_t i = 0; i < LEVEL + TICKS; i++) {
        bool level = i < LEVEL;
        size_t k = level ? i : i - LEVEL;
        pv_vec p = level ? pv_v(20 + 1.5 * (double)(k % 50), k < 50 ? 40 : 90)
                         : pv_v(78 + 10 * (double)(k % 8), k < 8 ? 56 : 64);
        pv_sight *s = &sights[i];
        *s = (pv_sight){.a = p, .b = p, .normal = level ? pv_v(0, 1) : pv_v(1, 0)};
        s->group = level ? k / 15 : 20 + k / 2;
        s->mark = level ? k / 15 : 20 + k / 8;
        s->sigma = level ? 0.01 : alone;
        s->shared = level ? 0 : shared;
        s->at = pv_dot(s->normal, pv_map_point(scan, p)) + s->sigma * normal(d);
    }
    for (size_t bar = 0; bar < 2; bar++) {
        double error = shared * normal(d);
        for (size_t k = 0; k < TICKS / 2; k++)
            sights[LEVEL + bar * TICKS / 2 + k].at += error;
    }
}

/* The skew hangs on two bars' shared errors: the stated uncertainty must follow them, and no tick
 * may be thrown out for being less exact than a line. */
START_TEST(uncertainty_of_a_weak_sheet)
{
    dice d = {23};
    double squares = 0, stated = 0, kept = 0;
    int rounds = 1000, held = 0;
    for (int round = 0; round < rounds; round++) {
        pv_sight sights[LEVEL + TICKS];
        make_weak_sights(0.06, 0.08, &d, sights);
        pv_fitted f;
        ck_assert_int_eq(fit_from(PV_POSE_AFFINE, sights, LEVEL + TICKS, scan, &f), PV_FIT_DONE);
        pv_pose pose = spread_of(sights, LEVEL + TICKS, &f);
        pv_vec x = {f.map.h[0], f.map.h[3]}, y = {f.map.h[1], f.map.h[4]};
        pv_vec x0 = {scan[0], scan[3]}, y0 = {scan[1], scan[4]};
        double off = 1000 * (atan2(pv_cross_z(x, y), pv_dot(x, y)) -
                             atan2(pv_cross_z(x0, y0), pv_dot(x0, y0)));
        squares += off * off / rounds;
        stated += pose.u_skew * pose.u_skew / rounds;
        held += fabs(off) <= 2 * pose.u_skew;
        for (size_t i = LEVEL; i < LEVEL + TICKS; i++)
            kept += sights[i].weight > 0;
    }
    double ratio = sqrt(stated / squares);
    say_worst("weak sheet: skew outside 2 u", 1 - (double)held / rounds, 0.05, "of fits");
    say_worst("weak sheet: stated uncertainty / scatter", ratio, 1.6, "");
    say_worst("weak sheet: ticks thrown out", 1 - kept / (TICKS * rounds), 0.001, "of them");
    ck_assert(held >= 0.95 * rounds);
    ck_assert(ratio > 0.9 && ratio < 1.6);
    ck_assert(kept >= 0.999 * TICKS * rounds);
}
END_TEST

START_TEST(too_little_to_go_by_is_refused)
{
    pv_sight sights[N];
    pv_fitted fitted;
    dice d = {13};
    make_sights(scan, 0.05, 0, &d, sights);
    ck_assert_int_eq(fit_from(PV_POSE_AFFINE, sights, 0, scan, &fitted), PV_FIT_UNDETERMINED);
    ck_assert_int_eq(fit_from(PV_POSE_AFFINE, sights, 6, scan, &fitted), PV_FIT_UNDETERMINED);
    ck_assert_int_eq(fit_from(PV_POSE_PERSPECTIVE, sights, 8, scan, &fitted), PV_FIT_UNDETERMINED);
    for (int i = 0; i < N; i++) /* nothing tells the place along the lines */
        sights[i].normal = pv_v(1, 0);
    ck_assert_int_eq(fit_from(PV_POSE_AFFINE, sights, N, scan, &fitted), PV_FIT_UNDETERMINED);
}
END_TEST

/* ---- the first map ---- */

static pv_sheet tagged_sheet(void)
{
    static const pv_vec centres[4] = {{12, 10}, {190, 12}, {197, 280}, {14, 270}};
    pv_sheet sheet = {.name = "A1"};
    for (unsigned i = 0; i < PV_TAG_PLACES; i++)
        sheet.tag[i] = (pv_tag){.id = 1234 + i, .centre = centres[i], .cell = 1.0};
    return sheet;
}

static void see_tags(const pv_sheet *sheet, const double h[9], double noise, dice *d,
                     pv_tag_seen seen[4])
{
    for (int i = 0; i < 4; i++) {
        static const int sx[4] = {-1, 1, 1, -1}, sy[4] = {-1, -1, 1, 1};
        seen[i].id = sheet->tag[i].id;
        for (int k = 0; k < 4; k++) {
            pv_vec p = sheet->tag[i].centre;
            p = pv_map_point(h, pv_v(p.x + 2.5 * sx[k], p.y + 2.5 * sy[k]));
            seen[i].corner[k] = pv_v(p.x + noise * normal(d), p.y + noise * normal(d));
        }
    }
}

START_TEST(hidden_tag_is_left_out)
{
    pv_sheet sheet = tagged_sheet();
    dice d = {17};
    double worst[2] = {0, 0};
    for (int round = 0; round < 100; round++) {
        static const double small[2][9] = {{4.7, 0.03, 30, 0.03, -4.7, 1500, 0, 0, 1},
                                           {4.7, 0.4, 80, 0.3, -4.7, 1500, 4e-4, -5e-4, 1}};
        const double *h = small[round % 2];
        pv_tag_seen seen[4];
        pv_seed seed;
        see_tags(&sheet, h, 0.15, &d, seen);
        if (round % 4 >= 2) {
            pv_vec *c = seen[round / 4 % 4].corner;
            c[0] = pv_along(c[0], pv_sub(c[1], c[0]), 0.4);
            c[3] = pv_along(c[3], pv_sub(c[2], c[3]), 0.4);
        }
        ck_assert(pv_seed_map(&sheet, seen, 4, pv_v(600, 800), &seed));
        ck_assert_uint_eq(seed.tags, round % 4 >= 2 ? 3 : 4);
        worst[round % 2] = fmax(worst[round % 2], worst_on_page(seed.h, h) / 4.7);
    }
    say_worst("first map, scan, a tag hidden in half of them", worst[0], 0.3, "mm");
    say_worst("first map, photograph, the same", worst[1], 3, "mm");
    ck_assert(worst[0] < 0.3);
    ck_assert(worst[1] < 3);
}
END_TEST

/* A phone's lens moves the tag that is farthest from the others by more than a homography of all
 * four puts right; it isn't hidden for that. */
START_TEST(lens_leaves_no_tag_out)
{
    static const double h[9] = {4.7, 0.4, 80, 0.3, -4.7, 1500, 4e-4, -5e-4, 1};
    pv_sheet sheet = tagged_sheet();
    pv_vec centre = {700, 800};
    dice d = {23};
    for (int round = 0; round < 40; round++) {
        double k1 = -0.12 + 0.006 * round;
        pv_tag_seen seen[4];
        pv_seed seed;
        see_tags(&sheet, h, 0.1, &d, seen);
        for (int i = 0; i < 16; i++) {
            pv_vec *c = &seen[i / 4].corner[i % 4], r = pv_sub(*c, centre);
            *c = pv_along(centre, r, 1 + k1 * pv_dot(r, r) / pv_dot(centre, centre));
        }
        ck_assert(pv_seed_map(&sheet, seen, 4, centre, &seed));
        ck_assert_uint_eq(seed.tags, 4);
    }
}
END_TEST

/* ---- the whole, on a page painted here ---- */

#define PX_PER_MM 5.0

static const char slipway[] = "course \"Slipway\" edition \"1\"\n"
                              "mat 180mm by 120mm\n"
                              "paint width 8mm, colour black\n"
                              "line keel from (20, 20)mm to (160, 20)mm\n"
                              "line stem from (20, 100)mm to (160, 100)mm\n"
                              "line rib from (90, 30)mm to (90, 90)mm\n";

static pv_plan *plan_of(const char *text_of, size_t size, const char *paper)
{
    pv_diags *diags = pv_diags_new();
    pv_course *course = pv_course_parse(text_of, size, "course", test_type(), diags);
    pv_layout_options options = pv_layout_defaults();
    options.paper = paper;
    pv_plan *plan = course != NULL ? pv_plan_make(course, &options, diags) : NULL;
    char *text = diags_text(diags);
    ck_assert_msg(plan != NULL, "%s", text);
    pv_free(text);
    pv_course_free(course);
    pv_diags_free(diags);
    return plan;
}

static pv_plan *small_plan(void)
{
    return plan_of(slipway, sizeof slipway - 1, "A4");
}

/* Sheet mm to px: turned by a degree, so that edges meet the pixels at every offset. */
static void page_map(const pv_plan *plan, double h[9])
{
    double c = PX_PER_MM * cos(PV_PI / 180), s = PX_PER_MM * sin(PV_PI / 180);
    double turned[9] = {c,  -s, s * plan->page[1] + 3.3,
                        -s, -c, c * plan->page[1] + s * plan->page[0] + 4.6,
                        0,  0,  1};
    memcpy(h, turned, sizeof turned);
}

/* A shape on the sheet, and the page that it is painted on: a bit of each pixel's mask for every
 * point in it that lies in the shape. */
typedef struct shape {
    const pv_plan *plan;
    const pv_tag *tag;
    const pv_item *bar; /* a stroke or a tick */
    const pv_line *line;
    uint8_t (*cells)[PV_TAG_CELLS];
} shape;

typedef struct canvas {
    size_t width, height;
    uint16_t *mask;
    double h[9];
} canvas;

enum { SUB = 4 };

static bool shape_covers(const shape *s, pv_vec p)
{
    pv_vec mat = pv_add(p, s->plan->sheets[0].origin);
    if (s->tag != NULL) {
        double u = (p.x - s->tag->centre.x) / s->tag->cell + PV_TAG_CELLS / 2.0;
        double v = (s->tag->centre.y - p.y) / s->tag->cell + PV_TAG_CELLS / 2.0;
        return u >= 0 && v >= 0 && u < PV_TAG_CELLS && v < PV_TAG_CELLS &&
               s->cells[(int)v][(int)u] != 0;
    }
    if (s->line != NULL)
        return line_covers(s->line, mat);
    pv_vec a = s->bar->u.bar.a, b = s->bar->u.bar.b;
    pv_vec along = pv_unit(pv_sub(b, a)), d = pv_sub(mat, a);
    double at = pv_dot(d, along), off = pv_cross_z(along, d);
    return at >= 0 && at <= pv_dist(a, b) && fabs(off) <= s->bar->u.bar.width / 2;
}

/* box: what the shape lies in, sheet mm */
static void paint(canvas *c, const shape *s, pv_box box)
{
    pv_box px = pv_box_none();
    for (int i = 0; i < 4; i++)
        px = pv_box_add(px, pv_map_point(c->h, pv_v((i & 1) ? box.lo.x : box.hi.x,
                                                    (i & 2) ? box.lo.y : box.hi.y)));
    double det = c->h[0] * c->h[4] - c->h[1] * c->h[3];
    for (size_t y = (size_t)px.lo.y; y <= (size_t)px.hi.y && y < c->height; y++)
        for (size_t x = (size_t)px.lo.x; x <= (size_t)px.hi.x && x < c->width; x++)
            for (int k = 0; k < SUB * SUB; k++) {
                double u = (double)x + (k % SUB + 0.5) / SUB - c->h[2];
                double v = (double)y + (k / SUB + 0.5) / SUB - c->h[5];
                pv_vec p =
                    pv_v((c->h[4] * u - c->h[1] * v) / det, (c->h[0] * v - c->h[3] * u) / det);
                if (shape_covers(s, p))
                    c->mask[y * c->width + x] |= (uint16_t)(1u << k);
            }
}

static void paint_art(canvas *c, const pv_plan *plan)
{
    const pv_sheet *sheet = &plan->sheets[0];
    pv_vec back = pv_scale(sheet->origin, -1);
    pv_scene *page = pv_plan_page(plan, sheet);
    ck_assert_ptr_nonnull(page);
    for (size_t i = 0; i < page->n_items; i++) {
        const pv_item *item = &page->items[i];
        shape s = {.plan = plan, .bar = item};
        if (item->kind != PV_ITEM_STROKE && item->kind != PV_ITEM_TICK)
            continue;
        pv_box box = pv_box_add(pv_box_none(), pv_add(item->u.bar.a, back));
        paint(c, &s, pv_box_grow(pv_box_add(box, pv_add(item->u.bar.b, back)), 1));
    }
    pv_scene_free(page);
    for (size_t i = 0; i < plan->art.n_lines; i++) {
        shape s = {.plan = plan, .line = &plan->art.lines[i]};
        pv_box box = pv_line_box(s.line);
        paint(c, &s, (pv_box){pv_add(box.lo, back), pv_add(box.hi, back)});
    }
}

/* One channel, the first sheet. */
static pv_plane *paint_page(const pv_plan *plan, bool with_art)
{
    canvas c = {.width = (size_t)(PX_PER_MM * (plan->page[0] + 0.02 * plan->page[1])) + 20,
                .height = (size_t)(PX_PER_MM * (plan->page[1] + 0.02 * plan->page[0])) + 20};
    c.mask = calloc(c.width * c.height, sizeof *c.mask);
    page_map(plan, c.h);
    for (int i = 0; i < PV_TAG_PLACES; i++) {
        uint8_t cells[PV_TAG_CELLS][PV_TAG_CELLS];
        const pv_tag *tag = &plan->sheets[0].tag[i];
        ck_assert(pv_tag_cells(tag->id, cells, NULL));
        shape s = {.plan = plan, .tag = tag, .cells = cells};
        paint(&c, &s, pv_box_grow((pv_box){tag->centre, tag->centre}, 6 * tag->cell));
    }
    if (with_art)
        paint_art(&c, plan);
    pv_plane *plane = calloc(1, sizeof *plane);
    *plane = (pv_plane){.width = c.width, .height = c.height, .channels = 1, .samples = c.mask};
    for (size_t i = 0; i < c.width * c.height; i++) {
        int ink = 0;
        for (unsigned m = c.mask[i]; m != 0; m >>= 1)
            ink += (int)(m & 1);
        c.mask[i] = (uint16_t)(58000 - 56000 * ink / (SUB * SUB));
    }
    return plane;
}

static pv_pose_failure find_in(const pv_plan *plan, const pv_plane *plane, pv_pose *pose,
                               const char *facts)
{
    pv_diags *diags = pv_diags_new();
    pv_pose_failure failure = pv_pose_find((const pv_plan *[]){plan}, 1, plane, pose, diags);
    char *text = diags_text(diags);
    assert_says(text, facts);
    ck_assert_uint_eq(pv_diags_count(diags, PV_ERROR), failure == PV_POSE_FOUND ? 0 : 1);
    pv_free(text);
    pv_diags_free(diags);
    return failure;
}

START_TEST(painted_page_is_found)
{
    pv_plan *plan = small_plan();
    pv_plane *plane = paint_page(plan, true);
    pv_pose pose;
    ck_assert_int_eq(find_in(plan, plane, &pose, ""), PV_POSE_FOUND);
    ck_assert_int_eq(pose.kind, PV_POSE_AFFINE);
    double h[9], worst = 0;
    page_map(plan, h);
    for (int i = 0; i <= 10; i++) {
        pv_vec p = pv_v(plan->page[0] * i / 10, plan->page[1] * (10 - i) / 10);
        worst = fmax(worst, pv_dist(pv_pose_map(&pose, p), pv_map_point(h, p)));
    }
    /* Painted by sixteen points a pixel, not by areas. */
    say_worst("painted page, any place", worst, 0.1, "px");
    ck_assert(worst < 0.1);
    pv_plane_free(plane);
    pv_plan_free(plan);
}
END_TEST

/* One level line and no crosses: few ticks, close together, and the tags tell what is upright. */
static const char jetty[] = "course \"Jetty\" edition \"1\"\n"
                            "mat 100mm by 80mm\n"
                            "line deck width 10mm colour black from (20, 40)mm to (80, 40)mm\n";

START_TEST(one_level_line_still_tells_the_skew)
{
    pv_plan *plan = plan_of(jetty, sizeof jetty - 1, "A5");
    pv_plane *plane = paint_page(plan, true);
    /* Noise of 2 % of the light: what a scan at 130 dpi and a coarse JPEG do to thin ticks. */
    dice d = {29};
    uint16_t *clean = malloc(plane->width * plane->height * sizeof *clean);
    memcpy(clean, plane->samples, plane->width * plane->height * sizeof *clean);
    double worst = 0, outside = 0;
    int rounds = 12;
    for (int round = 0; round < rounds; round++) {
        for (size_t i = 0; i < plane->width * plane->height; i++)
            plane->samples[i] = (uint16_t)fmax(0, fmin(65535, clean[i] + 1300 * normal(&d)));
        pv_pose pose;
        ck_assert_int_eq(find_in(plan, plane, &pose, ""), PV_POSE_FOUND);
        pv_vec x = {pose.h[0], pose.h[3]}, y = {pose.h[1], pose.h[4]};
        /* The image's y runs down, so that the angle from x to y is minus a right one. */
        double skew = 1000 * (atan2(pv_cross_z(x, y), pv_dot(x, y)) + PV_PI / 2);
        worst = fmax(worst, fabs(skew));
        outside += fabs(skew) > 2 * pose.u_skew;
    }
    say_worst("skew of a sheet with one level line", worst, 0.2, "mrad");
    ck_assert(worst < 0.2);
    ck_assert(outside == 0);
    free(clean);
    pv_plane_free(plane);
    pv_plan_free(plan);
}
END_TEST

START_TEST(what_does_not_fit_the_plan_is_told_apart)
{
    pv_plan *plan = small_plan();
    pv_plane *plane = paint_page(plan, true);
    pv_plane *tags_only = paint_page(plan, false);
    pv_pose pose;
    ck_assert_int_eq(find_in(plan, tags_only, &pose, SAYS_MARKS_ELSEWHERE), PV_POSE_NO_FIT);
    for (int p = 0; p < PV_TAG_PLACES; p++) {
        unsigned id = plan->sheets[0].tag[p].id;
        plan->sheets[0].tag[p].id = 2114; /* three of four are enough; the fourth contradicts */
        ck_assert_int_eq(find_in(plan, plane, &pose, SAYS_CONTRADICTORY), PV_POSE_TAGS_DISAGREE);
        plan->sheets[0].tag[p].id = id;
    }
    plan->fingerprint ^= 1;
    unsigned own[PV_TAG_PLACES];
    for (int p = 0; p < PV_TAG_PLACES; p++) {
        own[p] = plan->sheets[0].tag[p].id;
        plan->sheets[0].tag[p].id = 2111 + (unsigned)p;
    }
    pv_kit_text kit = pv_plan_kit(plan);
    ck_assert_int_eq(find_in(plan, plane, &pose, kit.chars), PV_POSE_OTHER_PLAN);
    for (int p = 0; p < PV_TAG_PLACES; p++)
        plan->sheets[0].tag[p].id = own[p];
    plan->fingerprint ^= 1;
    plan->sheets[0].tag[2].centre.x += 30; /* a tag elsewhere is left out */
    ck_assert_int_eq(find_in(plan, plane, &pose, ""), PV_POSE_FOUND);
    plan->sheets[0].tag[0].centre.x -= 40;
    plan->sheets[0].tag[1].centre.y += 60;
    ck_assert_int_eq(find_in(plan, plane, &pose, SAYS_TAGS_ELSEWHERE), PV_POSE_NO_FIT);
    pv_plane_free(plane);
    pv_plane_free(tags_only);
    pv_plan_free(plan);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("pose");
    TCase *tests = tcase_create("pose");
    tcase_set_timeout(tests, 60);
    tcase_add_test(tests, homography_of_four_points);
    tcase_add_test(tests, maps_from_many_points);
    tcase_add_test(tests, undetermined_maps_are_refused);
    tcase_add_test(tests, jacobian_is_the_derivative);
    tcase_add_test(tests, lens_is_opencvs);
    tcase_add_test(tests, exact_sights_give_the_exact_map);
    tcase_add_test(tests, outliers_have_no_say);
    tcase_add_test(tests, uncertainty_is_the_scatter);
    tcase_add_test(tests, uncertainty_of_a_weak_sheet);
    tcase_add_test(tests, one_level_line_still_tells_the_skew);
    tcase_add_test(tests, too_little_to_go_by_is_refused);
    tcase_add_test(tests, hidden_tag_is_left_out);
    tcase_add_test(tests, lens_leaves_no_tag_out);
    tcase_add_test(tests, painted_page_is_found);
    tcase_add_test(tests, what_does_not_fit_the_plan_is_told_apart);
    suite_add_tcase(suite, tests);
    return run_suite(suite);
}
