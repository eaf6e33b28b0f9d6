#include "art_by_hand.h"

#include "plan/coupled.h"
#include "plan/division.h"

/* ---- all choices, one after the other ---- */

typedef bool visitor(void *context, const int *j);

/* Every choice that a lattice allows, in no clever way. */
static bool each_choice(const pv_lattice *l, size_t k, int *j, visitor *visit, void *context)
{
    if (k == l->n) {
        j[k] = 0;
        int last = -j[k - 1];
        return last < l->narrower || last > l->wider || visit(context, j);
    }
    for (int d = l->narrower; d <= l->wider; d++) {
        j[k] = j[k - 1] + d;
        if (j[k] >= l->lo[k] && j[k] <= l->hi[k] && !each_choice(l, k + 1, j, visit, context))
            return false;
    }
    return true;
}

static void lattice_random(pv_lattice *l, dice *d, size_t n)
{
    double even = between(d, 100, 200), slack = between(d, 0, 8 / (double)n);
    ck_assert(pv_lattice_make(l, n, even * (double)n, even - between(d, 0, 6), even + slack));
    /* Few values, so that many choices cost the same. */
    for (size_t i = 0; i < pv_lattice_size(l); i++)
        l->cost[i] = (int64_t)pick(d, 4) * (int64_t)pick(d, 3);
    l->cost[l->first[0]] = l->cost[l->first[n]] = 0;
    /* Where all cells cost the same another way is taken. */
    bool alike = pick(d, 2) == 0;
    for (int i = l->narrower; i <= l->wider; i++)
        l->cell[i - l->narrower] = alike ? 2 : (int64_t)pick(d, 3);
}

typedef struct tried {
    const pv_lattice *l;
    pv_worth best;
    int first[8];
    size_t n, equal;
} tried;

static bool try_one(void *context, const int *j)
{
    tried *t = context;
    pv_worth w = {0, 0};
    for (size_t k = 0; k < t->l->n; k++) {
        int64_t d = j[k + 1] - j[k];
        w.cost += t->l->cell[d - t->l->narrower];
        w.cost += t->l->cost[pv_lattice_index(t->l, k + 1, j[k + 1])];
        w.uneven += d * d;
    }
    t->n++;
    t->equal += w.cost == t->best.cost && w.uneven == t->best.uneven;
    if (t->n == 1 || pv_worth_less(w, t->best)) {
        t->best = w;
        t->equal = 0;
        memcpy(t->first, j, (t->l->n + 1) * sizeof *j);
    }
    return true;
}

START_TEST(one_direction_equals_brute_force)
{
    dice d = {2024};
    size_t choices = 0, ties = 0, moved = 0;
    for (int round = 0; round < 400; round++) {
        pv_lattice l;
        lattice_random(&l, &d, 1 + pick(&d, 5));
        tried t = {.l = &l};
        int j[8] = {0}, got[8] = {0};
        each_choice(&l, 1, j, try_one, &t);
        pv_worth *rest = PV_NEW_ARRAY(pv_lattice_size(&l), pv_worth);
        pv_lattice_rest(&l, NULL, rest);
        pv_worth w = pv_lattice_best(&l, NULL, rest, got);
        ck_assert(w.cost == t.best.cost && w.uneven == t.best.uneven);
        /* Of equals the first, so that the plan is the same on every run and machine. */
        ck_assert(memcmp(got, t.first, (l.n + 1) * sizeof *got) == 0);
        pv_worth again = pv_lattice_worth(&l, NULL, got);
        ck_assert(again.cost == w.cost && again.uneven == w.uneven);
        choices += t.n;
        ties += t.equal > 0;
        for (size_t k = 1; k < l.n; k++)
            moved += got[k] != 0;
        free(rest);
        pv_lattice_free(&l);
    }
    printf("    400 cases of %zu choices in all, %zu with equals, %zu seams moved\n", choices, ties,
           moved);
    ck_assert(choices > 20000 && ties > 50 && moved > 200);
}
END_TEST

/* ---- both directions ---- */

typedef struct pair {
    pv_lattice l[2];
    int64_t *corner; /* by place of the first and of the second */
    const int *x;
    pv_worth best;
    size_t n;
} pair;

static bool random_corners(void *context, bool of_first, size_t k, int j, int64_t *extra)
{
    const pair *p = context;
    size_t n = pv_lattice_size(&p->l[1]);
    if (of_first) {
        size_t row = pv_lattice_index(&p->l[0], k, j);
        for (size_t i = 1; i + 1 < n; i++)
            extra[i] += p->corner[row * n + i];
        return true;
    }
    size_t column = pv_lattice_index(&p->l[1], k, j);
    for (size_t i = 1; i + 1 < pv_lattice_size(&p->l[0]); i++)
        extra[i] += p->corner[i * n + column];
    return true;
}

static bool try_y(void *context, const int *y)
{
    pair *p = context;
    pv_worth w =
        pv_worth_add(pv_lattice_worth(&p->l[0], NULL, p->x), pv_lattice_worth(&p->l[1], NULL, y));
    for (size_t k = 1; k < p->l[0].n; k++)
        for (size_t i = 1; i < p->l[1].n; i++)
            w.cost += p->corner[pv_lattice_index(&p->l[0], k, p->x[k]) * pv_lattice_size(&p->l[1]) +
                                pv_lattice_index(&p->l[1], i, y[i])];
    if (p->n++ == 0 || pv_worth_less(w, p->best))
        p->best = w;
    return true;
}

static bool try_x(void *context, const int *x)
{
    pair *p = context;
    int y[8] = {0};
    p->x = x;
    return each_choice(&p->l[1], 1, y, try_y, p);
}

START_TEST(both_directions_equal_brute_force)
{
    dice d = {77};
    size_t choices = 0, coupled = 0;
    for (int round = 0; round < 300; round++) {
        pair p = {.n = 0};
        for (int i = 0; i < 2; i++)
            lattice_random(&p.l[i], &d, 1 + pick(&d, 3));
        size_t size[2] = {pv_lattice_size(&p.l[0]), pv_lattice_size(&p.l[1])};
        p.corner = PV_NEW_ARRAY(size[0] * size[1], int64_t);
        for (size_t i = 0; i < size[0] * size[1]; i++)
            p.corner[i] = pick(&d, 2) == 0 ? 0 : 2;
        int x[8] = {0}, got[2][8] = {{0}};
        each_choice(&p.l[0], 1, x, try_x, &p);
        pv_coupled both = {{&p.l[0], &p.l[1]}, random_corners, &p, 1e9};
        pv_choice choice = {.j = {got[0], got[1]}};
        ck_assert(pv_coupled_solve(&both, &choice));
        ck_assert(choice.proved && choice.gap == 0);
        ck_assert_msg(choice.worth.cost == p.best.cost && choice.worth.uneven == p.best.uneven,
                      "round %d", round);
        /* What it says is what its choice costs. */
        pair own = p;
        own.n = 0;
        own.x = got[0];
        try_y(&own, got[1]);
        ck_assert(own.best.cost == p.best.cost && own.best.uneven == p.best.uneven);
        /* With no time for a proof it says by how much it may be wrong, and is right in that. */
        both.work = 0;
        ck_assert(pv_coupled_solve(&both, &choice));
        ck_assert(choice.worth.cost - choice.gap <= p.best.cost);
        ck_assert(choice.worth.cost >= p.best.cost);
        coupled += !choice.proved;
        choices += p.n;
        free(p.corner);
        for (int i = 0; i < 2; i++)
            pv_lattice_free(&p.l[i]);
    }
    printf("    300 cases of %zu choices in all; corners decided %zu\n", choices, coupled);
    ck_assert(choices > 20000 && coupled > 30);
}
END_TEST

/* ---- real art ---- */

typedef struct real {
    const pv_scene *scene;
    pv_look *look;
    pv_cost_axis *axis[2];
    pv_lattice l[2];
    double at[2][8];
    size_t blind;
    int64_t cost;
    size_t n, free;
} real;

static int64_t corners_on_paint(real *r)
{
    int64_t cost = 0;
    for (size_t k = 1; k < r->l[0].n; k++) {
        const pv_cost_span *spans;
        size_t n;
        ck_assert(pv_cost_paint(r->axis[0], r->at[0][k], &spans, &n));
        for (size_t i = 1; i < r->l[1].n; i++) {
            bool on = false;
            for (size_t s = 0; s < n; s++)
                on = on || (r->at[1][i] >= spans[s].lo && r->at[1][i] <= spans[s].hi);
            cost += on ? pv_cost_tenths(PV_COST_CORNER_EACH) : 0;
        }
    }
    return cost;
}

static int64_t cost_of(real *r)
{
    int64_t sum = corners_on_paint(r);
    for (int d = 0; d < 2; d++)
        for (size_t k = 1; k <= r->l[d].n; k++) {
            sum += pv_cell_cost(r->at[d][k] - r->at[d][k - 1], r->l[d].length / (double)r->l[d].n);
            if (k == r->l[d].n)
                continue;
            pv_cost cost;
            ck_assert(pv_cost_axis_near(r->axis[d], r->at[d][k], r->at[d][k]));
            pv_cost_at(r->axis[d], r->at[d][k], &cost);
            sum += pv_cost_sum(&cost);
        }
    return sum;
}

static size_t blind_of(const real *r)
{
    size_t blind = 0;
    for (int d = 0; d < 2; d++)
        for (size_t k = 1; k < r->l[d].n; k++)
            for (size_t i = 0; i < r->l[1 - d].n; i++) {
                pv_stretch s = {d == 0, r->at[d][k], r->at[1 - d][i], r->at[1 - d][i + 1]};
                bool possible;
                ck_assert(pv_crosses_possible(r->scene, &s, r->look, &possible));
                blind += !possible;
            }
    return blind;
}

static bool try_real(void *context, const int *y)
{
    real *r = context;
    for (size_t k = 0; k <= r->l[1].n; k++)
        r->at[1][k] = pv_lattice_place(&r->l[1], k, y[k]);
    int64_t cost = cost_of(r);
    r->n++;
    if (cost >= r->cost && r->blind == 0)
        return true;
    size_t blind = blind_of(r);
    if (blind < r->blind || (blind == r->blind && cost < r->cost)) {
        r->blind = blind;
        r->cost = cost;
    }
    return true;
}

static bool try_real_x(void *context, const int *x)
{
    real *r = context;
    int y[8] = {0};
    for (size_t k = 0; k <= r->l[0].n; k++)
        r->at[0][k] = pv_lattice_place(&r->l[0], k, x[k]);
    return each_choice(&r->l[1], 1, y, try_real, r);
}

/* The planner's own seams on art at random, against all choices that its lattice has. */
START_TEST(seams_on_real_art_equal_brute_force)
{
    dice d = {4711};
    size_t choices = 0, better = 0, blind = 0;
    for (int round = 0; round < 200; round++) {
        pv_art art;
        art_random(&art, &d, 500);
        pv_scene *scene = pv_scene_of(&art);
        pv_look look = {0};
        pv_regard regard = {.art = &art};
        pv_piece way[2] = {pv_segment(pv_v(10, 20), pv_v(art.size.x - 10, art.size.y / 2)),
                           pv_arc(pv_scale(art.size, 0.5), 40, 1, 4)};
        regard.route = way;
        regard.n_route = pick(&d, 3);
        if (art.n_marks > 0 && pick(&d, 2) == 0)
            regard.finish = &art.marks[0];
        pv_division division[2];
        real r = {.scene = scene, .look = &look, .blind = SIZE_MAX, .cost = INT64_MAX};
        for (int i = 0; i < 2; i++) {
            double length = i == 0 ? art.size.x : art.size.y;
            size_t n = 1 + pick(&d, length > 150 ? 3 : 2);
            double even = length / (double)n, most = even + between(&d, 0, n > 2 ? 2.2 : 5);
            ck_assert(pv_divide(&division[i], length, n, most));
            ck_assert(pv_lattice_make(&r.l[i], n, length, pv_cell_least(even), most));
            r.axis[i] = pv_cost_axis_new(&regard, i == 0);
        }
        /* Evenly spaced, to begin with. */
        int x[8] = {0};
        pv_placing placing;
        each_choice(&r.l[0], 1, x, try_real_x, &r);
        ck_assert(pv_place_seams(r.axis, scene, &division[0], &division[1], &placing));
        ck_assert_msg(placing.blind == r.blind && placing.cost == r.cost && placing.gap == 0,
                      "round %d: %zu stretches without room and %lld, at best %zu and %lld", round,
                      placing.blind, (long long)placing.cost, r.blind, (long long)r.cost);
        for (int i = 0; i < 2; i++)
            for (size_t k = 0; k <= r.l[i].n; k++)
                r.at[i][k] = division[i].at[k];
        ck_assert(cost_of(&r) == placing.cost && blind_of(&r) == placing.blind);
        int even[8] = {0};
        int64_t best = r.cost;
        for (size_t k = 0; k <= r.l[0].n; k++)
            r.at[0][k] = pv_lattice_place(&r.l[0], k, 0);
        r.blind = 0;
        r.cost = INT64_MAX;
        try_real(&r, even);
        better += best < r.cost;
        blind += placing.blind > 0;
        choices += r.n;
        for (int i = 0; i < 2; i++) {
            free(division[i].at);
            pv_lattice_free(&r.l[i]);
            pv_cost_axis_free(r.axis[i]);
        }
        pv_look_drop(&look);
        pv_scene_free(scene);
        pv_art_clear(&art);
    }
    printf("    200 mats, %zu choices in all: %zu better than even, %zu without room for crosses\n",
           choices, better, blind);
    ck_assert(choices > 10000 && better > 50);
}
END_TEST

/* ---- what costs how much ---- */

static pv_cost cost_at(const pv_regard *regard, bool vertical, double place)
{
    pv_cost cost;
    pv_cost_axis *axis = pv_cost_axis_new(regard, vertical);
    ck_assert(axis != NULL && pv_cost_axis_near(axis, place, place));
    pv_cost_at(axis, place, &cost);
    pv_cost_axis_free(axis);
    return cost;
}

START_TEST(edges_and_insides_of_lines)
{
    pv_art art;
    art_start(&art, "Lines", 400, 300);
    add_straight(&art, 20, pv_v(100, 50), pv_v(100, 250));  /* edges at 90 and 110, 200 long */
    add_straight(&art, 20, pv_v(108, 100), pv_v(108, 200)); /* edges at 98 and 118 */
    pv_regard regard = {.art = &art};
    static const struct {
        double at, edge, inside;
    } cases[] = {{85, 0, 0},      {85.01, 200, 0},  {94.99, 200, 0}, {95.01, 100, 100},
                 {99, 100, 100},  {104, 0, 200},    {106, 200, 0},   {112, 200, 0},
                 {115.5, 100, 0}, {122.99, 100, 0}, {123, 0, 0}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        pv_cost c = cost_at(&regard, true, cases[i].at);
        ck_assert_double_eq_tol(c.mm[PV_COST_EDGE], cases[i].edge, 1e-9);
        ck_assert_double_eq_tol(c.mm[PV_COST_INSIDE], cases[i].inside, 1e-9);
        ck_assert_int_eq(pv_cost_sum(&c),
                         pv_cost_tenths(cases[i].edge) + pv_cost_tenths(cases[i].inside));
    }
    /* Across: only the flat ends, and not the sides. */
    ck_assert_double_eq_tol(cost_at(&regard, false, 150).mm[PV_COST_EDGE], 0, 1e-9);
    ck_assert_double_eq_tol(cost_at(&regard, false, 52).mm[PV_COST_EDGE], 20, 1e-9);
    ck_assert_double_eq_tol(cost_at(&regard, false, 103).mm[PV_COST_EDGE], 20, 1e-9);
    ck_assert_str_eq(cost_at(&regard, false, 103).most[PV_COST_EDGE], "line 2");
    pv_art_clear(&art);
}
END_TEST

/* A line at a slant is near for 2 * 5 mm / tan(slant) of its way, for each of its edges. */
START_TEST(slanted_and_curved_edges)
{
    pv_art art;
    art_start(&art, "Slanted", 1000, 1000);
    for (int i = 0; i < 2; i++) {
        double slant = (i == 0 ? 4 : 11) * PV_PI / 180;
        pv_vec way = pv_scale(pv_v(sin(slant), cos(slant)), 400);
        pv_vec middle = {300 + 300 * i, 500};
        add_straight(&art, 60, pv_sub(middle, way), pv_add(middle, way));
    }
    pv_regard regard = {.art = &art};
    double near = 2 * (PV_COST_NEAR - PV_COST_TRUE) / tan(4 * PV_PI / 180);
    ck_assert_double_eq_tol(cost_at(&regard, true, 300 + 30).mm[PV_COST_EDGE], near, 1e-6);
    /* Past the limit of 10 degrees it doesn't run along. */
    ck_assert_double_eq_tol(cost_at(&regard, true, 600 + 30).mm[PV_COST_EDGE], 0, 1e-6);
    pv_art_clear(&art);
    /* A ring: where it runs within 10 degrees of the seam and 5 mm from it, in chords of 2. */
    art_start(&art, "Round", 1000, 1000);
    pv_line *ring = add_line(&art, 100, BLACK, PV_ENDS_FLAT);
    ring->closed = true;
    add_piece(ring, pv_arc(pv_v(500, 500), 300, 0, 2 * PV_PI));
    double worst = 0;
    for (double at = 845; at < 860; at += 0.5) {
        double lo = fmax(at - 5, 350 * cos(10 * PV_PI / 180) + 500), hi = at + 5;
        double nearest = hi - 500 >= 350 ? 0 : sqrt(350 * 350 - (hi - 500) * (hi - 500));
        double farthest = lo - 500 >= 350 ? 0 : sqrt(350 * 350 - (lo - 500) * (lo - 500));
        double mm = cost_at(&regard, true, at).mm[PV_COST_EDGE];
        worst = fmax(worst, fabs(mm - 2 * fmax(farthest - nearest, 0)));
    }
    say_worst("seam along a ring's edge", worst, 6, "mm"); /* half a chord at each end */
    ck_assert_double_le(worst, 6);
    pv_art_clear(&art);
}
END_TEST

START_TEST(marks_finish_text_and_route)
{
    pv_art art;
    art_start(&art, "Things", 400, 300);
    add_mark(&art, RED, pv_v(100, 100), 20 * sqrt(2), 4); /* a square from 80 to 120 */
    add_lettering(&art, "TEST", pv_v(250, 200), 20, 0);
    add_lettering(&art, "TEST", pv_v(250, 50), PV_COST_TEXT_SMALL, 0);
    add_fill(&art, GREEN, pv_v(330, 150), 30 * sqrt(2), 4);
    pv_piece way[2] = {pv_segment(pv_v(20, 280), pv_v(220, 180)),
                       pv_segment(pv_v(220, 180), pv_v(220, 20))};
    pv_regard regard = {&art, way, 2, &art.fills[0]};
    ck_assert_uint_eq(cost_at(&regard, true, 75).count[PV_COST_MARK], 0);
    ck_assert_uint_eq(cost_at(&regard, true, 75.1).count[PV_COST_MARK], 1);
    ck_assert_int_eq(cost_at(&regard, true, 124.9).tenths[PV_COST_MARK], 10000);
    ck_assert_uint_eq(cost_at(&regard, false, 125.1).count[PV_COST_MARK], 0);
    pv_cost c = cost_at(&regard, true, 330);
    ck_assert_double_eq_tol(c.mm[PV_COST_FINISH], 60, 1e-9);
    ck_assert_int_eq(c.tenths[PV_COST_FINISH], 300 + 180);
    /* Large text doesn't count; small text by its box, lengthwise more than across. */
    pv_box box = pv_lettering_box(&art.letterings[0]);
    c = cost_at(&regard, true, 250.1);
    ck_assert_uint_eq(c.count[PV_COST_TEXT], 1);
    ck_assert_double_eq_tol(c.mm[PV_COST_TEXT], box.hi.y - box.lo.y, 1e-9);
    c = cost_at(&regard, false, 205.1);
    ck_assert_double_eq_tol(c.mm[PV_COST_TEXT], box.hi.x - box.lo.x, 1e-9);
    ck_assert_uint_eq(cost_at(&regard, false, 60).count[PV_COST_TEXT], 0);
    /* The first leg runs 26.57 degrees off a seam across, the second along upright ones. */
    double shallow = 100 * (1 - atan(0.5) / (PV_PI / 6));
    ck_assert_int_eq(cost_at(&regard, false, 230.1).tenths[PV_COST_ROUTE], pv_cost_tenths(shallow));
    ck_assert_int_eq(cost_at(&regard, true, 150.1).tenths[PV_COST_ROUTE], 0);
    ck_assert_double_eq_tol(cost_at(&regard, true, 222).mm[PV_COST_ROUTE], 160, 1e-9);
    pv_art_clear(&art);
}
END_TEST

START_TEST(slivers)
{
    ck_assert_int_eq(pv_cell_cost(80, 200), 0);
    ck_assert_int_eq(pv_cell_cost(60, 200), 125);
    ck_assert_int_eq(pv_cell_cost(40, 60), 56); /* under 45 mm: 50 * (1 - 40 / 45) */
    ck_assert_int_eq(pv_cell_cost(50, 60), 0);
    ck_assert(fabs(pv_cell_least(240) - 168) < 1e-9);
    ck_assert(pv_cell_least(45) == PV_CELL_MIN && pv_cell_least(30) == 30);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("seams");
    TCase *tcase = tcase_create("seams");
    tcase_set_timeout(tcase, 240);
    tcase_add_test(tcase, one_direction_equals_brute_force);
    tcase_add_test(tcase, both_directions_equal_brute_force);
    tcase_add_test(tcase, seams_on_real_art_equal_brute_force);
    tcase_add_test(tcase, edges_and_insides_of_lines);
    tcase_add_test(tcase, slanted_and_curved_edges);
    tcase_add_test(tcase, marks_finish_text_and_route);
    tcase_add_test(tcase, slivers);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
