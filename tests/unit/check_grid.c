/* The grid over the mat against walking all boxes, and the boxes of slanting things. */
#include "common.h"

#include "scene/boxes.h"

#include <stdlib.h>

/* Boxes of all shapes: small, as long as the mat, points, the whole mat; things have several. */
static pv_grid_box random_box(dice *d, size_t n)
{
    pv_vec a = {between(d, -500, 30000), between(d, -500, 4000)};
    double kind = between(d, 0, 1);
    double w = kind < 0.6 ? between(d, 0, 200) : kind < 0.8 ? between(d, 0, 30000) : 0;
    double h = kind < 0.6 ? between(d, 0, 200) : kind < 0.7 ? between(d, 0, 4000) : 0;
    return (pv_grid_box){{a, {a.x + w, a.y + h}}, (size_t)between(d, 0, (double)n / 2 + 1)};
}

static void hold_against_walk(const pv_grid *grid, size_t n, pv_box window, pv_found *found)
{
    ck_assert(pv_grid_find(grid, window, found));
    size_t at = 0;
    for (size_t thing = 0; thing <= n / 2 + 1; thing++) {
        bool meets = false;
        for (size_t i = 0; i < n; i++)
            meets = meets ||
                    (grid->boxes[i].thing == thing && pv_box_meets(grid->boxes[i].box, window));
        bool said = at < found->n && found->list[at] == thing;
        ck_assert_msg(said == meets, "thing %zu of %zu", thing, n);
        at += said;
    }
    ck_assert_uint_eq(at, found->n);
}

START_TEST(finds_what_a_walk_finds)
{
    static const size_t sizes[] = {0, 1, 2, 7, 60, 400};
    dice d = {1};
    pv_found found = {0};
    for (size_t k = 0; k < sizeof sizes / sizeof *sizes; k++) {
        size_t n = sizes[k];
        pv_grid_box *boxes = calloc(n + 1, sizeof *boxes);
        for (size_t i = 0; i < n; i++)
            boxes[i] = random_box(&d, n);
        pv_grid grid;
        ck_assert(pv_grid_open(&grid, boxes, n));
        for (int q = 0; q < 60; q++)
            hold_against_walk(&grid, n, random_box(&d, n).box, &found);
        pv_box all = {{-1e9, -1e9}, {1e9, 1e9}};
        hold_against_walk(&grid, n, all, &found);
        for (size_t i = 0; i < n && i < 20; i++) /* an edge that is shared counts */
            hold_against_walk(&grid, n, (pv_box){boxes[i].box.hi, boxes[i].box.hi}, &found);
        pv_grid_close(&grid);
        free(boxes);
    }
    free(found.list);
}
END_TEST

START_TEST(what_is_no_box_is_not_found)
{
    const pv_grid_box boxes[] = {{{{NAN, 0}, {1, 1}}, 0},
                                 {{{0, 0}, {HUGE_VAL, 1}}, 1},
                                 {pv_box_none(), 2},
                                 {{{0, 0}, {1, 1}}, 3}};
    pv_grid grid;
    pv_found found = {0};
    ck_assert(pv_grid_open(&grid, boxes, 4));
    ck_assert(pv_grid_find(&grid, (pv_box){{-5, -5}, {5, 5}}, &found));
    ck_assert_uint_eq(found.n, 1);
    ck_assert_uint_eq(found.list[0], 3);
    ck_assert(pv_grid_find(&grid, (pv_box){{NAN, -5}, {5, 5}}, &found));
    ck_assert_uint_eq(found.n, 0);
    free(found.list);
    pv_grid_close(&grid);
}
END_TEST

/* Lines that all run across the whole mat must not make the grid's memory grow with their square.
 */
START_TEST(memory_is_linear)
{
    for (size_t n = 1000; n <= 8000; n *= 2) {
        pv_grid_box *boxes = calloc(n, sizeof *boxes);
        for (size_t i = 0; i < n; i++) {
            double y = 30000.0 * (double)i / (double)n;
            boxes[i] = (pv_grid_box){{{0, y}, {30000, y + 10}}, i};
        }
        pv_grid grid;
        ck_assert(pv_grid_open(&grid, boxes, n));
        size_t squares = grid.columns * grid.rows;
        ck_assert_uint_le(grid.first[squares], 4 * n + 64);
        ck_assert_uint_le(squares, 4 * n + 4);
        pv_grid_close(&grid);
        free(boxes);
    }
}
END_TEST

/* Every point of a solid lies in one of its boxes, and the boxes of a long slanting one cover far
 * less than its whole box. */
START_TEST(boxes_hug_slanting_solids)
{
    pv_solid bar = {.kind = PV_SOLID_POLYGON, .n = 4};
    pv_vec along = {3000, 4000}, side = {-4, 3};
    bar.corner[0] = pv_v(10, 20);
    bar.corner[1] = pv_add(bar.corner[0], along);
    bar.corner[2] = pv_add(bar.corner[1], side);
    bar.corner[3] = pv_add(bar.corner[0], side);
    pv_solid ring = {.kind = PV_SOLID_SECTOR, .inner = 1990, .outer = 2000};
    ring.from = 0.3;
    ring.sweep = 2 * PV_PI;
    const pv_solid *const solids[] = {&bar, &ring};
    for (int k = 0; k < 2; k++) {
        pv_boxes boxes = {0};
        ck_assert(pv_boxes_add_solid(&boxes, solids[k], 0, 5));
        ck_assert_uint_gt(boxes.n, 10);
        double area = 0;
        for (size_t i = 0; i < boxes.n; i++) {
            pv_vec d = pv_sub(boxes.list[i].box.hi, boxes.list[i].box.lo);
            area += d.x * d.y;
            ck_assert_uint_eq(boxes.list[i].thing, 5);
        }
        pv_box whole = pv_solid_box(solids[k]);
        ck_assert_double_lt(area, 0.25 * (whole.hi.x - whole.lo.x) * (whole.hi.y - whole.lo.y));
        for (int i = 0; i <= 1000; i++) {
            pv_vec p = k == 0 ? pv_add(pv_along(bar.corner[0], along, i / 1000.0),
                                       pv_scale(side, i % 3 / 2.0))
                              : pv_polar(1990 + i % 11, 0.3 + 2 * PV_PI * i / 1000);
            bool held = false;
            for (size_t b = 0; b < boxes.n; b++)
                held = held || pv_box_holds(pv_box_grow(boxes.list[b].box, 1e-9), p);
            ck_assert_msg(held, "solid %d, point %d", k, i);
        }
        free(boxes.list);
    }
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("grid");
    TCase *t = tcase_create("boxes");
    tcase_set_timeout(t, 60);
    tcase_add_test(t, finds_what_a_walk_finds);
    tcase_add_test(t, what_is_no_box_is_not_found);
    tcase_add_test(t, memory_is_linear);
    tcase_add_test(t, boxes_hug_slanting_solids);
    suite_add_tcase(suite, t);
    return run_suite(suite);
}
