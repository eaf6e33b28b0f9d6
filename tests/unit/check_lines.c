/* From stations to a line's values, on stations made up here: noise of known deviation on straight
 * lines. */
#include "art_by_hand.h"
#include "values.h"

#include "measure/lines.h"

#include <math.h>

#define NOISE 0.02 /* mm */
#define TRIES 2000

/* Stations on n_pieces straight pieces, `each` on one, all where they belong but for noise. */
static pv_station *stations_of(size_t n_pieces, size_t each, double bow)
{
    pv_station *st = calloc(n_pieces * each, sizeof *st);
    ck_assert_ptr_nonnull(st);
    for (size_t i = 0; i < n_pieces * each; i++) {
        double t = 2 * (double)(i % each) / (double)(each - 1) - 1;
        st[i].piece = i / each;
        st[i].s = PV_STATION_PITCH * (double)(i % each);
        st[i].at = pv_v(st[i].s, 10 * (double)st[i].piece);
        st[i].heading = pv_v(1, 0);
        st[i].found = true;
        st[i].width = 6;
        st[i].centre = NOISE * gauss() + bow * t * t;
    }
    return st;
}

/* The straightness of a line on a sheet that is so uneven, mm. */
static pv_value measured_on(double uneven, const pv_line *line, size_t n_pieces, size_t each,
                            double bow)
{
    pv_pose pose = {.sheet = 0, .h = {10, 0, 0, 0, -10, 0, 0, 0, 1}, .uneven = uneven};
    pv_metric metric = pv_metric_unknown();
    pv_frame frame = {.pose = &pose, .metric = &metric};
    pv_edge_floor floor = {.frame = &frame, .px = 1e6, .scatter = 1e-6};
    pv_station *st = stations_of(n_pieces, each, bow);
    pv_value width, straight;
    ck_assert(pv_measure_line(line, st, n_pieces * each, &floor, &width, &straight));
    ck_assert(straight.measured);
    free(st);
    return straight;
}

static pv_value measured(const pv_line *line, size_t n_pieces, size_t each, double bow)
{
    return measured_on(0, line, n_pieces, each, bow);
}

/* A bow of 0.2 mm that may be the sheet's own. */
START_TEST(an_uneven_sheets_bow_is_uncertain)
{
    pv_piece piece = {.arc = false};
    pv_line line = {.width = 6, .pieces = &piece, .n_pieces = 1};
    pv_value flat = measured_on(0.02, &line, 1, 40, 0.2);
    pv_value bent = measured_on(0.15, &line, 1, 40, 0.2);
    ck_assert_double_eq(flat.part[PV_PART_POSE], 0);
    ck_assert_double_eq(bent.part[PV_PART_POSE], 0.15);
    ck_assert_double_gt(U_of(&bent), 2 * 0.15);
    ck_assert_double_lt(U_of(&flat), 0.1);
}
END_TEST

START_TEST(straight_lines_of_many_pieces_are_not_called_bowed)
{
    static const struct {
        size_t pieces, each;
    } lines[] = {{1, 7}, {1, 20}, {1, 60}, {2, 7}, {4, 20}, {10, 15}, {30, 10}};
    pv_piece pieces[30] = {{.arc = false}};
    pv_line line = {.width = 6, .pieces = pieces, .n_pieces = 30};
    double worst = 0, idle = 0;
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++) {
        int over = 0;
        double value = 0, U = 0;
        for (int k = 0; k < TRIES; k++) {
            pv_value m = measured(&line, lines[i].pieces, lines[i].each, 0);
            over += m.value > U_of(&m);
            value += m.value / TRIES;
            U += U_of(&m) / TRIES;
        }
        worst = fmax(worst, (double)over / TRIES);
        /* Hardly anything is left of seven stations' noise by fit and means. */
        if (lines[i].each >= 15)
            idle = fmax(idle, U / value);
        /* A bow of ten times the noise is told where there are more stations than a mean takes. */
        pv_value m = measured(&line, lines[i].pieces, lines[i].each, 10 * NOISE);
        ck_assert(lines[i].each < 15 || m.value > U_of(&m));
    }
    say_worst("straight lines that read above U, share", worst, 0.0455, "");
    say_worst("mean U over what noise makes of a straight line", idle, 2.5, "");
    ck_assert_double_lt(worst, 0.0455);
    ck_assert_double_lt(idle, 2.5);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("lines");
    TCase *t = tcase_create("lines");
    tcase_set_timeout(t, 60);
    tcase_add_test(t, straight_lines_of_many_pieces_are_not_called_bowed);
    tcase_add_test(t, an_uneven_sheets_bow_is_uncertain);
    suite_add_tcase(suite, t);
    return run_suite(suite);
}
