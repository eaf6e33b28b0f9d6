/* Finding tags: patterns painted here, point by point, at any turn and size. */
#include "common.h"

#include "tag/tag.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SIDE = 220, SUB = 4 };

/* A tag about (110.3, 109.6) px, `cell` px a cell, turned counter-clockwise as seen (y is down). */
static void paint(uint8_t *image, unsigned id, double cell, double turn, bool mirrored)
{
    uint8_t cells[PV_TAG_CELLS][PV_TAG_CELLS];
    ck_assert(pv_tag_cells(id, cells, NULL));
    double c = cos(turn), s = sin(turn);
    for (int y = 0; y < SIDE; y++)
        for (int x = 0; x < SIDE; x++) {
            int black = 0;
            for (int k = 0; k < SUB * SUB; k++) {
                double px = x + (k % SUB + 0.5) / SUB - 110.3;
                double py = y + (k / SUB + 0.5) / SUB - 109.6;
                double u = (c * px - s * py) / cell + PV_TAG_CELLS / 2.0;
                double v = (s * px + c * py) / cell + PV_TAG_CELLS / 2.0;
                if (mirrored)
                    u = PV_TAG_CELLS - u;
                if (u >= 0 && v >= 0 && u < PV_TAG_CELLS && v < PV_TAG_CELLS)
                    black += cells[(int)v][(int)u];
            }
            image[y * SIDE + x] = (uint8_t)lround(255 - 235.0 * black / (SUB * SUB));
        }
}

/* Lower left, lower right, upper right, upper left of the upright tag. */
static pv_vec true_corner(int k, double cell, double turn)
{
    double half = (PV_TAG_CELLS / 2.0 - PV_TAG_INSET) * cell;
    double u = k == 1 || k == 2 ? half : -half, v = k < 2 ? half : -half;
    return pv_v(110.3 + cos(turn) * u + sin(turn) * v, 109.6 - sin(turn) * u + cos(turn) * v);
}

START_TEST(painted_tags_are_found)
{
    static uint8_t image[SIDE * SIDE];
    static const unsigned ids[] = {0, 513, 1000, 2047, 2114};
    double worst = 0, least = HUGE_VAL;
    for (int i = 0; i < 40; i++) {
        double cell = 4 + i % 5 * 2.3, turn = i * 0.471;
        paint(image, ids[i % 5], cell, turn, false);
        pv_tag_seen *seen = NULL;
        size_t n = 0;
        ck_assert(pv_tags_find(image, SIDE, SIDE, &seen, &n, NULL));
        ck_assert_uint_eq(n, 1);
        ck_assert_uint_eq(seen->id, ids[i % 5]);
        ck_assert_int_eq(seen->corrected, 0);
        for (int k = 0; k < 4; k++)
            worst = fmax(worst, pv_dist(seen->corner[k], true_corner(k, cell, turn)));
        least = fmin(least, seen->margin);
        free(seen);
    }
    printf("    least decision margin of a clean tag: %.1f\n", least);
    say_worst("corners of painted tags", worst, 0.6, "px");
    ck_assert(worst < 0.6);
}
END_TEST

START_TEST(mirrored_tags_are_not_found)
{
    static uint8_t image[SIDE * SIDE];
    for (unsigned id = 0; id < 2048; id += 41) {
        pv_tag_seen *seen = NULL;
        size_t n = 0;
        paint(image, id, 8, 0.02, true);
        ck_assert(pv_tags_find(image, SIDE, SIDE, &seen, &n, NULL));
        ck_assert_uint_eq(n, 0);
        free(seen);
    }
}
END_TEST

/* No size may crash the library or make it speak; what it sees in noise is not to be believed. */
START_TEST(noise_of_any_size_is_survived)
{
    dice d = {1};
    size_t tags = 0, images = 0;
    for (size_t w = 0; w < 140; w += w < 40 ? 1 : 13) {
        for (size_t h = 0; h < 140; h += h < 40 ? 3 : 17) {
            uint8_t *image = malloc(w * h + 1);
            for (size_t i = 0; i < w * h; i++) {
                uint8_t code = (uint8_t)dice_bits(&d);
                image[i] = (w + h) % 2 == 0 ? code : (code & 1) * 255;
            }
            pv_tag_seen *seen = NULL;
            size_t n = 0;
            ck_assert(pv_tags_find(image, w, h, &seen, &n, NULL));
            tags += n;
            images++;
            free(seen);
            free(image);
        }
    }
    printf("    %zu images of noise, %zu tags\n", images, tags);
    ck_assert_uint_eq(tags, 0);
}
END_TEST

START_TEST(too_large_is_refused)
{
    pv_diags *diags = pv_diags_new();
    pv_tag_seen *seen = NULL;
    size_t n = 0;
    ck_assert(!pv_tags_find((const uint8_t *)"", PV_TAG_IMAGE_SIDE_MAX + 1, 1, &seen, &n, diags));
    ck_assert_ptr_null(seen);
    ck_assert_int_eq(pv_diags_cause(diags), PV_CAUSE_LIMIT);
    pv_diags_free(diags);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("find");
    TCase *tests = tcase_create("find");
    tcase_set_timeout(tests, 60);
    tcase_add_test(tests, painted_tags_are_found);
    tcase_add_test(tests, mirrored_tags_are_not_found);
    tcase_add_test(tests, noise_of_any_size_is_survived);
    tcase_add_test(tests, too_large_is_refused);
    suite_add_tcase(suite, tests);
    return run_suite(suite);
}
