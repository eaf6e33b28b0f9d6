/* How red and blue lie against green: the fit, and whether what is said of its uncertainty holds,
 * on edges made up here with noise of known deviation. */
#include "common.h"

#include "measure/look.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define NOISE 0.05 /* px, of one edge: what the fit expects */

static pv_optics colour_optics(void)
{
    pv_plane plane = {.width = 2400, .height = 3400, .channels = 3};
    return pv_optics_of(&plane, false, 12);
}

/* How far a channel lies off at a place: its shift, and what it gains from the middle to the sides,
 * which lie half the width of 2400 px away; that along the path. */
static double off(const pv_fringe *f, pv_vec px, pv_vec across)
{
    double right = (px.x - 1200) / 1200, down = (px.y - 1700) / 1200;
    double x = f->shift.x + right * f->across.x + down * f->down.x;
    double y = f->shift.y + right * f->across.y + down * f->down.y;
    return x * across.x + y * across.y;
}

/* n edges between black and white all over the image, across the rows and along them. */
static pv_stations edges(const pv_optics *truth, size_t n)
{
    pv_stations s = {.items = calloc((n + 1) / 2, sizeof(pv_station)), .n = (n + 1) / 2};
    ck_assert_ptr_nonnull(s.items);
    for (size_t i = 0; i < n; i++) {
        pv_seen *seen = &s.items[i / 2].seen[i % 2];
        s.items[i / 2].found = true;
        seen->fringed = true;
        seen->px = pv_v(2400 * uniform(), 3400 * uniform());
        seen->across = i % 3 == 0 ? pv_v(0, 1) : pv_v(i % 2 == 0 ? 1 : -1, 0);
        for (int c = 0; c < 3; c++)
            seen->weight[c] = 1.0 / 3;
        seen->fringe[0] = off(&truth->red, seen->px, seen->across) + NOISE * gauss();
        seen->fringe[1] = off(&truth->blue, seen->px, seen->across) + NOISE * gauss();
    }
    return s;
}

/* Displacements as they are taken to be before: 0.5 px, 0.03 px of change. */
static void draw(pv_fringe *f)
{
    f->shift = pv_v(0.5 * gauss(), 0.5 * gauss());
    f->across = pv_v(0.03 * gauss(), 0.03 * gauss());
    f->down = pv_v(0.03 * gauss(), 0.03 * gauss());
}

/* Pure red on white weighs green and blue by a half each. */
static const pv_edge red_edge = {.weight = {0, 0.5, 0.5}};

static double u_of(const pv_optics *optics, const pv_edge *edge, pv_vec px, pv_vec across)
{
    double u[PV_TONES] = {0};
    pv_optics_fringe_u(optics, edge, px, across, u);
    return hypot(u[PV_TONE_RED], u[PV_TONE_BLUE]);
}

/* Share of coloured edges whose place is held by 2 u; the mean u. */
static double held(size_t n, double *mean_u)
{
    enum { TRIES = 2000 };
    size_t inside = 0;
    *mean_u = 0;
    for (int i = 0; i < TRIES; i++) {
        pv_optics truth = colour_optics(), found = truth;
        truth.fringes = true;
        draw(&truth.red);
        draw(&truth.blue);
        pv_stations s = edges(&truth, n);
        pv_fringes_fit(&s, &found);
        ck_assert(n >= PV_FRINGE_EDGES || !found.fringes);
        ck_assert(n <= PV_FRINGE_EDGES || found.fringes);
        pv_vec px = pv_v(2400 * uniform(), 3400 * uniform());
        pv_vec across = i % 2 == 0 ? pv_v(1, 0) : pv_v(0, -1);
        /* A red edge is seen by green and blue. A third of red and of blue is in every edge that
         * the map was fitted to, so a third of red is missing here, and a sixth of blue too much.
         */
        double true_off = off(&truth.blue, px, across) / 6 - off(&truth.red, px, across) / 3;
        double error = pv_optics_fringe(&found, &red_edge, px, across) - true_off;
        double u = u_of(&found, &red_edge, px, across);
        inside += fabs(error) <= 2 * u;
        *mean_u += u / TRIES;
        free(s.items);
    }
    return (double)inside / TRIES;
}

START_TEST(what_is_said_of_fringes_holds)
{
    static const size_t n[] = {4, 24, 60, 400};
    double least = 1, u = 0, before = 1;
    for (size_t i = 0; i < sizeof n / sizeof *n; i++) {
        double share = held(n[i], &u);
        printf("    %zu edges: %.1f %% held, u of a red edge %.4f px\n", n[i], 100 * share, u);
        least = fmin(least, share);
        ck_assert_double_lt(u, before);
        before = u;
    }
    say_worst("coloured edges that 2 u doesn't hold, share", 1 - least, 0.07, "");
    ck_assert_double_ge(least, 0.93);
    say_worst("u of a red edge by 400 edges", u, 0.005, "px");
    ck_assert_double_lt(u, 0.005);
}
END_TEST

/* Edges between black and white have none, nor has anything in a gray picture; two edges whose
 * paths run opposite ways are moved alike, which their signs say. */
START_TEST(neutral_edges_have_none)
{
    pv_optics optics = colour_optics();
    pv_stations none = {0};
    pv_fringes_fit(&none, &optics);
    ck_assert(!optics.fringes);
    const pv_edge neutral = {.weight = {1.0 / 3, 1.0 / 3, 1.0 / 3}};
    pv_vec px = pv_v(100, 200);
    ck_assert_double_lt(u_of(&optics, &neutral, px, pv_v(1, 0)), 1e-12);
    double one[PV_TONES] = {0}, other[PV_TONES] = {0};
    pv_optics_fringe_u(&optics, &red_edge, px, pv_v(1, 0), one);
    pv_optics_fringe_u(&optics, &red_edge, px, pv_v(-1, 0), other);
    ck_assert_double_eq_tol(one[PV_TONE_RED], -other[PV_TONE_RED], 1e-12);
    /* A third of what red and a sixth of what blue may lie off: 0.5 px, and 0.03 px of change. */
    ck_assert_double_eq_tol(fabs(one[PV_TONE_RED]), 0.5 / 3, 0.001);
    ck_assert_double_eq_tol(fabs(one[PV_TONE_BLUE]), 0.5 / 6, 0.001);
    optics.colour = false;
    ck_assert_double_eq(u_of(&optics, &red_edge, px, pv_v(1, 0)), 0);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("fringe");
    TCase *t = tcase_create("fringe");
    tcase_set_timeout(t, 60);
    tcase_add_test(t, what_is_said_of_fringes_holds);
    tcase_add_test(t, neutral_edges_have_none);
    suite_add_tcase(suite, t);
    return run_suite(suite);
}
