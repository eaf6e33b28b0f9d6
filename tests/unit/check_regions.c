/* Regions of the arrangement, dead ends: against closed forms and Euler's formula. */
#include "common.h"

#include "course/regions.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define IN PV_MM_PER_IN

/* ---- arts made of lines of one piece or several ---- */

static pv_art art_of(double width, double height)
{
    return (pv_art){.size = {width, height}};
}

static void add_line(pv_art *art, const pv_piece *pieces, size_t n)
{
    art->lines = realloc(art->lines, (art->n_lines + 1) * sizeof *art->lines);
    pv_line line = {.n_pieces = n, .width = 10, .pieces = malloc(n * sizeof *pieces)};
    memcpy(line.pieces, pieces, n * sizeof *pieces);
    line.closed = pieces[0].a.x == pieces[n - 1].b.x && pieces[0].a.y == pieces[n - 1].b.y;
    art->lines[art->n_lines++] = line;
}

static void add_segment(pv_art *art, double ax, double ay, double bx, double by)
{
    pv_piece piece = pv_segment(pv_v(ax, ay), pv_v(bx, by));
    add_line(art, &piece, 1);
}

static void add_arc(pv_art *art, double x, double y, double radius, double from, double sweep)
{
    pv_piece piece = pv_arc(pv_v(x, y), radius, from, sweep);
    add_line(art, &piece, 1);
}

static pv_regions *regions_of(const pv_art *art)
{
    pv_diags *diags = pv_diags_new();
    pv_regions *regions = pv_regions_make(art, diags);
    char *said = diags_text(diags);
    ck_assert_msg(regions != NULL, "%s", said);
    pv_free(said);
    pv_diags_free(diags);
    return regions;
}

static double area_of(const pv_area *area)
{
    double sum = 0;
    for (size_t i = 0; i < area->n_rings; i++) {
        double ring = 0;
        const pv_ring *r = &area->rings[i];
        for (size_t k = 0; k < r->n; k++)
            ring += pv_cross_z(r->points[k], r->points[(k + 1) % r->n]) / 2;
        sum += i == 0 ? fabs(ring) : -fabs(ring);
    }
    return sum;
}

static double area_at(const pv_regions *regions, double x, double y)
{
    pv_area area;
    ck_assert_msg(pv_regions_at(regions, pv_v(x, y), &area, NULL, NULL), "no region at %g %g", x,
                  y);
    ck_assert(pv_area_covers(&area, pv_v(x, y)));
    double value = area_of(&area);
    pv_area_clear(&area);
    return value;
}

static double sum_of_areas(const pv_regions *regions)
{
    double sum = 0;
    for (size_t i = 0; i < pv_regions_count(regions); i++)
        sum += area_of(pv_regions_area(regions, i));
    return sum;
}

static void done(pv_art *art, pv_regions *regions)
{
    pv_regions_free(regions);
    pv_art_clear(art);
}

/* Regions that the art has, after checking that they make up the mat. */
static size_t count_of(pv_art *art)
{
    pv_regions *regions = regions_of(art);
    size_t n = pv_regions_count(regions);
    ck_assert_double_eq_tol(sum_of_areas(regions), art->size.x * art->size.y, 0.05);
    done(art, regions);
    return n;
}

START_TEST(plain_mat_is_one_region)
{
    pv_art art = art_of(1200, 900);
    pv_regions *regions = regions_of(&art);
    ck_assert_uint_eq(pv_regions_count(regions), 1);
    ck_assert_double_eq_tol(area_at(regions, 600, 450), 1080000, 1e-6);
    pv_area area;
    ck_assert(!pv_regions_at(regions, pv_v(-1, 5), &area, NULL, NULL));
    ck_assert(!pv_regions_at(regions, pv_v(0, 5), &area, NULL, NULL));
    done(&art, regions);
}
END_TEST

/* Three lines each way over a mat of 36 in: sixteen squares of 9 in. */
START_TEST(grid_has_sixteen_regions)
{
    pv_art art = art_of(36 * IN, 36 * IN);
    for (int i = 1; i < 4; i++) {
        add_segment(&art, 9 * i * IN, 0, 9 * i * IN, 36 * IN);
        add_segment(&art, 36 * IN, 9 * i * IN, 0, 9 * i * IN);
    }
    pv_regions *regions = regions_of(&art);
    ck_assert_uint_eq(pv_regions_count(regions), 16);
    double worst = 0;
    for (int i = 0; i < 16; i++)
        worst = fmax(worst, fabs(area_at(regions, (9 * (i % 4) + 4) * IN, (9 * (i / 4) + 4) * IN) -
                                 81 * IN * IN));
    say_worst("area of a 9 in square", worst, 1e-6, "mm2");
    ck_assert(worst <= 1e-6);
    const pv_dead_end *dead;
    ck_assert_uint_eq(pv_regions_dead_ends(regions, &dead), 0);
    done(&art, regions);
}
END_TEST

/* A flattened arc of radius r is within f of the arc, so its area is within r f per radian. */
START_TEST(lines_and_arcs_make_sixteen_regions)
{
    pv_art art = art_of(36 * IN, 36 * IN);
    double m = 18 * IN, s = 36 * IN;
    add_segment(&art, 0, m, s, m);
    add_segment(&art, m, 0, m, s);
    add_arc(&art, m, m, 12 * IN, 0.7, 2 * PV_PI);
    add_arc(&art, m, m, 6 * IN, 2.1, -2 * PV_PI);
    add_arc(&art, 0, 0, 3 * IN, 0, PV_PI / 2);
    add_arc(&art, s, 0, 3 * IN, PV_PI / 2, PV_PI / 2);
    add_arc(&art, s, s, 3 * IN, PV_PI, PV_PI / 2);
    add_arc(&art, 0, s, 3 * IN, -PV_PI / 2, PV_PI / 2);
    pv_regions *regions = regions_of(&art);
    ck_assert_uint_eq(pv_regions_count(regions), 16);
    double quarter = PV_PI / 4 * IN * IN, worst = 0;
    for (int i = 0; i < 4; i++) {
        double x = i & 1 ? 1 : -1, y = i & 2 ? 1 : -1;
        double core = area_at(regions, m + x * 2 * IN, m + y * 2 * IN);
        double ring = area_at(regions, m + x * 6 * IN, m + y * 6 * IN);
        double outside = area_at(regions, m + x * 14 * IN, m + y * 14 * IN);
        double nook = area_at(regions, m + x * 17 * IN, m + y * 17 * IN);
        worst = fmax(worst, fabs(core - 36 * quarter));
        worst = fmax(worst, fabs(ring - (144 - 36) * quarter));
        worst = fmax(worst, fabs(nook - 9 * quarter));
        worst = fmax(worst, fabs(outside - (324 * IN * IN - 153 * quarter)));
    }
    double allowed = PV_FLATNESS * 18 * IN * PV_PI / 2;
    say_worst("area of a region with arcs", worst, allowed, "mm2");
    ck_assert(worst <= allowed);
    ck_assert_double_eq_tol(sum_of_areas(regions), s * s, 1e-6);
    done(&art, regions);
}
END_TEST

START_TEST(region_has_its_holes)
{
    pv_art art = art_of(100, 100);
    add_arc(&art, 50, 50, 30, 0, 2 * PV_PI);
    add_arc(&art, 50, 50, 10, 0, 2 * PV_PI);
    add_arc(&art, 42, 74, 3, 0, 2 * PV_PI);
    pv_regions *regions = regions_of(&art);
    ck_assert_uint_eq(pv_regions_count(regions), 4);
    ck_assert_double_eq_tol(area_at(regions, 65, 50), PV_PI * (900 - 100 - 9), 0.3);
    ck_assert_double_eq_tol(area_at(regions, 50, 50), PV_PI * 100, 0.1);
    pv_area area;
    ck_assert(pv_regions_at(regions, pv_v(65, 50), &area, NULL, NULL));
    ck_assert_uint_eq(area.n_rings, 3);
    ck_assert(!pv_area_covers(&area, pv_v(50, 50)));
    pv_area_clear(&area);
    done(&art, regions);
}
END_TEST

/* Each of these must close although computed ends are off by rounding. */
START_TEST(ends_that_touch_close_regions)
{
    size_t wrong = 0;
    for (int i = 0; i < 300; i++) {
        double turn = i * 0.0209 + 0.001, r = 20 + i % 7;
        pv_art art = art_of(200, 200);
        pv_vec c = {100 + 1.0 / (1 + i), 100 - 1.0 / 3};
        pv_vec u = pv_polar(1, turn), p = pv_along(c, u, r), q = pv_along(c, u, 3 * r);
        /* a T on a circle, a chord, a line tangent to it, a circle tangent to it inside and one
         * outside, and lines from the two circles to each other */
        add_arc(&art, c.x, c.y, r, turn / 3, 2 * PV_PI);
        add_arc(&art, c.x, c.y, 3 * r, 1, -2 * PV_PI);
        add_segment(&art, p.x, p.y, q.x, q.y);
        pv_vec left = pv_left(u), a = pv_along(pv_along(c, left, r), u, -sqrt(8) * r);
        pv_vec b = pv_along(pv_along(c, left, r), u, sqrt(8) * r);
        add_segment(&art, a.x, a.y, b.x, b.y); /* tangent, ends on the outer circle */
        pv_vec inner = pv_along(c, u, -r / 2), outer = pv_along(c, u, -2 * r);
        add_arc(&art, inner.x, inner.y, r / 2, 0, 2 * PV_PI);
        add_arc(&art, outer.x, outer.y, r, 0, 2 * PV_PI); /* touches both circles */
        /* V: 3 on the circle, 4 on the outer one, 1 where the line is tangent to the last circle,
         * 4 of the mat. E: 3 + 4 + 1 + 3 + 3 + 1 and the mat's 4. F = E - V + C. */
        pv_regions *regions = regions_of(&art);
        const pv_dead_end *dead;
        size_t n = pv_regions_count(regions), ends = pv_regions_dead_ends(regions, &dead);
        wrong += n != 19 - 12 + 2 || ends != 0;
        ck_assert_double_eq_tol(sum_of_areas(regions), 40000, 0.2);
        done(&art, regions);
    }
    ck_assert_uint_eq(wrong, 0);
}
END_TEST

START_TEST(arcs_that_part_tangentially_stay_apart)
{
    /* A straight and five arcs of other radii leave one point the same way: a fan. With the mat's
     * far edge that is one region between each neighbours. */
    pv_art art = art_of(400, 300);
    add_segment(&art, 0, 20, 400, 20);
    for (int i = 0; i < 5; i++)
        add_arc(&art, 200, 20 + 20 + 10 * i, 20 + 10 * i, -PV_PI / 2, PV_PI);
    for (int i = 0; i < 5; i++)
        add_segment(&art, 200, 60 + 20 * i, 0, 60 + 20 * i);
    /* under the straight; between straight and the innermost arc's outside... each arc closes one
     * more region with its straight to the left edge */
    ck_assert_uint_eq(count_of(&art), 2 + 5);
}
END_TEST

START_TEST(lines_on_lines_count_once)
{
    pv_art art = art_of(100, 100);
    add_segment(&art, 0, 50, 70, 50);
    add_segment(&art, 100, 50, 30, 50);
    add_arc(&art, 50, 50, 20, 0, 4);
    add_arc(&art, 50, 50, 20, 3, 4);
    add_segment(&art, 0, 0, 100, 0);    /* on the mat's edge */
    add_segment(&art, 50, -50, 50, 50); /* from outside it */
    ck_assert_uint_eq(count_of(&art), 6);
}
END_TEST

START_TEST(lines_outside_the_mat_are_cut_off)
{
    pv_art art = art_of(100, 100);
    add_arc(&art, 100, 50, 30, 0, 2 * PV_PI);
    add_segment(&art, -20, 20, 120, 20);
    add_segment(&art, 200, 0, 200, 100);
    pv_regions *regions = regions_of(&art);
    ck_assert_double_eq_tol(area_at(regions, 90, 50), PV_PI * 450, 0.2);
    ck_assert_double_eq_tol(area_at(regions, 50, 10), 2000, 0.1);
    const pv_dead_end *dead;
    ck_assert_uint_eq(pv_regions_dead_ends(regions, &dead), 0);
    done(&art, regions);
}
END_TEST

/* The line y = 20 is tangent to the circle, so the nook beneath it has a region at each side that
 * meets the other in one point. */
START_TEST(dead_ends_tell_their_gap)
{
    pv_art art = art_of(200, 100);
    add_segment(&art, 0, 50, 99.7, 50); /* misses the next by 0.3 */
    add_segment(&art, 100, 0, 100, 100);
    add_segment(&art, 100, 30, 198, 30);                /* 2 mm short of the mat's edge */
    add_arc(&art, 150, 70, 20, 0.01, 2 * PV_PI - 0.02); /* misses itself by 0.4 */
    add_segment(&art, 20, 20, 104, 20);                 /* runs 4 mm past the upright */
    pv_regions *regions = regions_of(&art);
    const pv_dead_end *dead;
    size_t n = pv_regions_dead_ends(regions, &dead);
    ck_assert_uint_eq(n, 6);
    ck_assert_double_eq_tol(dead[0].gap, 0.3, 1e-9);
    ck_assert_uint_eq(dead[0].nearest, 1);
    ck_assert_double_eq_tol(dead[1].gap, 2, 1e-9);
    ck_assert(dead[1].nearest == SIZE_MAX && dead[1].line == 2);
    ck_assert_double_eq_tol(dead[1].stub, 98, 1e-9);
    ck_assert_double_eq_tol(dead[2].gap, 40 * sin(0.01), 1e-9);
    ck_assert_uint_eq(dead[2].nearest, 3);
    ck_assert(isinf(dead[2].stub));
    ck_assert_double_eq_tol(dead[5].stub, 4, 1e-9);
    ck_assert_double_eq_tol(dead[5].gap, 4, 1e-9);
    ck_assert_uint_eq(pv_regions_count(regions), 2);
    done(&art, regions);
}
END_TEST

/* ---- Euler ---- */

static size_t root(size_t *parent, size_t i)
{
    while (parent[i] != i)
        i = parent[i] = parent[parent[i]];
    return i;
}

/* Takes the last segment back if an end of it or of another is so near as to count as touching. */
static bool drop_if_touching(pv_art *art)
{
    const pv_piece *last = art->lines[art->n_lines - 1].pieces;
    bool near = false;
    for (size_t i = 0; i + 1 < art->n_lines; i++) {
        const pv_piece *other = art->lines[i].pieces;
        const pv_vec ends[4] = {last->a, last->b, other->a, other->b};
        for (int k = 0; k < 4; k++) {
            const pv_piece *to = k < 2 ? other : last;
            pv_vec foot = pv_piece_point(to, pv_piece_nearest(to, ends[k]));
            near = near || pv_dist(foot, ends[k]) < 3 * PV_TOUCH;
        }
    }
    if (near)
        free(art->lines[--art->n_lines].pieces);
    return near;
}

/* Random segments inside the mat, in general position: V = ends + crossings, E = segments + 2
 * crossings, with the mat's edge 4 + 4; faces but the outer are 1 + C - V + E - 1 = E - V + C. */
START_TEST(regions_obey_euler)
{
    size_t compared = 0;
    for (int round = 0; round < 60; round++) {
        static pv_vec at[125 * 125];
        bool special = false; /* three lines through one point */
        size_t n = 5 + (size_t)round * 2, crossings = 0, components = 1;
        pv_art art = art_of(1000, 700);
        size_t *parent = malloc(n * sizeof *parent);
        for (size_t i = 0; i < n; i++) {
            parent[i] = i;
            do {
                pv_vec p = pv_v(random_between(1, 999), random_between(1, 699)), q;
                do
                    q = pv_add(p, pv_v(random_between(-300, 300), random_between(-300, 300)));
                while (!pv_box_holds((pv_box){{1, 1}, {999, 699}}, q));
                add_segment(&art, p.x, p.y, q.x, q.y);
            } while (drop_if_touching(&art));
            for (size_t k = 0; k < i; k++) {
                pv_piece p = art.lines[i].pieces[0], q = art.lines[k].pieces[0];
                pv_vec d = pv_sub(p.b, p.a), e = pv_sub(q.b, q.a);
                bool split_q =
                    (pv_cross_z(d, pv_sub(q.a, p.a)) > 0) != (pv_cross_z(d, pv_sub(q.b, p.a)) > 0);
                bool split_p =
                    (pv_cross_z(e, pv_sub(p.a, q.a)) > 0) != (pv_cross_z(e, pv_sub(p.b, q.a)) > 0);
                if (!split_p || !split_q)
                    continue;
                double t = pv_cross_z(pv_sub(q.a, p.a), e) / pv_cross_z(d, e);
                at[crossings++] = pv_along(p.a, d, t);
                parent[root(parent, i)] = root(parent, k);
            }
        }
        for (size_t i = 0; i < n; i++)
            components += root(parent, i) == i;
        for (size_t i = 0; i < crossings; i++)
            for (size_t k = 0; k < i; k++)
                special = special || pv_dist(at[i], at[k]) < 3 * PV_TOUCH;
        size_t v = 4 + 2 * n + crossings, e = 4 + n + 2 * crossings;
        free(parent);
        size_t found = count_of(&art);
        ck_assert_msg(special || found == e + components - v, "round %d: %zu, not %zu", round,
                      found, e + components - v);
        compared += !special;
    }
    ck_assert_uint_ge(compared, 50);
}
END_TEST

/* Circles in general position: V = crossings, E = 2 crossings, plus one of each for a circle that
 * meets none and for the mat. */
START_TEST(circles_obey_euler)
{
    for (int round = 0; round < 40; round++) {
        size_t n = 3 + (size_t)round, v = 4, e = 4, components = 1;
        pv_art art = art_of(1000, 700);
        pv_vec c[64];
        double r[64];
        size_t parent[64];
        bool alone[64];
        for (size_t i = 0; i < n; i++) {
            parent[i] = i;
            alone[i] = true;
            r[i] = random_between(5, 120);
            c[i] = pv_v(random_between(125, 875), random_between(125, 575));
            add_arc(&art, c[i].x, c[i].y, r[i], random_between(-3, 3), 2 * PV_PI);
            for (size_t k = 0; k < i; k++) {
                double d = pv_dist(c[i], c[k]);
                if (d > r[i] + r[k] || d < fabs(r[i] - r[k]))
                    continue;
                v += 2;
                e += 4;
                alone[i] = alone[k] = false;
                parent[root(parent, i)] = root(parent, k);
            }
        }
        for (size_t i = 0; i < n; i++) {
            components += root(parent, i) == i;
            v += alone[i];
            e += alone[i];
        }
        ck_assert_uint_eq(count_of(&art), e + components - v);
    }
}
END_TEST

START_TEST(too_dense_is_an_error)
{
    pv_art art = art_of(1000, 1000);
    for (int i = 0; i < 7000; i++)
        add_segment(&art, 0, i / 8.0, 1000, 900 - i / 8.0);
    pv_diags *diags = pv_diags_new();
    ck_assert_ptr_null(pv_regions_make(&art, diags));
    ck_assert_int_eq(pv_diags_cause(diags), PV_CAUSE_LIMIT);
    pv_diags_free(diags);
    pv_art_clear(&art);
}
END_TEST

/* In no more time than the timeout leaves. */
START_TEST(twenty_thousand_lines_are_not_too_many)
{
    pv_art art = art_of(2000, 2000);
    for (int i = 0; i < 20000; i++) {
        double x = i % 142 * 14 + 1, y = i / 142 * 14 + 1; /* NOLINT(bugprone-integer-division) */
        if (i % 2)
            add_arc(&art, x, y, 9, 1, 2 * PV_PI);
        else
            add_segment(&art, x - 15, y + 2, x + 17, y + 6);
    }
    ck_assert_uint_gt(count_of(&art), 1);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("regions");
    TCase *tcase = tcase_create("regions");
    tcase_set_timeout(tcase, 60);
    tcase_add_test(tcase, plain_mat_is_one_region);
    tcase_add_test(tcase, grid_has_sixteen_regions);
    tcase_add_test(tcase, lines_and_arcs_make_sixteen_regions);
    tcase_add_test(tcase, region_has_its_holes);
    tcase_add_test(tcase, ends_that_touch_close_regions);
    tcase_add_test(tcase, arcs_that_part_tangentially_stay_apart);
    tcase_add_test(tcase, lines_on_lines_count_once);
    tcase_add_test(tcase, lines_outside_the_mat_are_cut_off);
    tcase_add_test(tcase, dead_ends_tell_their_gap);
    tcase_add_test(tcase, regions_obey_euler);
    tcase_add_test(tcase, circles_obey_euler);
    tcase_add_test(tcase, too_dense_is_an_error);
    tcase_add_test(tcase, twenty_thousand_lines_are_not_too_many);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
