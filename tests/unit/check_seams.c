#include "art_by_hand.h"

#include "plan/division.h"
#include "plan/lattice.h"

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
    /* Cells cost the same from some width on; narrower ones as it comes. */
    int alike = l->narrower + (int)pick(d, (size_t)(l->wider - l->narrower) + 1);
    for (int i = l->narrower; i <= l->wider; i++)
        l->cell[i - l->narrower] = i >= alike ? 2 : (int64_t)pick(d, 3);
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
        pv_worth w = pv_lattice_solve(&l, got);
        ck_assert(w.cost == t.best.cost && w.uneven == t.best.uneven);
        /* Of equals the first, so that the plan is the same on every run and machine. */
        ck_assert(memcmp(got, t.first, (l.n + 1) * sizeof *got) == 0);
        pv_worth again = pv_lattice_worth(&l, got);
        ck_assert(again.cost == w.cost && again.uneven == w.uneven);
        choices += t.n;
        ties += t.equal > 0;
        for (size_t k = 1; k < l.n; k++)
            moved += got[k] != 0;
        pv_lattice_free(&l);
    }
    printf("    400 cases of %zu choices in all, %zu with equals, %zu seams moved\n", choices, ties,
           moved);
    ck_assert(choices > 20000 && ties > 50 && moved > 200);
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
    size_t n;
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

static void set_places(real *r, int dir, const int *j)
{
    for (size_t k = 0; k <= r->l[dir].n; k++)
        r->at[dir][k] = pv_lattice_place(&r->l[dir], k, j[k]);
}

/* One more choice, against the best so far. */
static void try_now(real *r)
{
    int64_t cost = cost_of(r);
    r->n++;
    if (cost >= r->cost && r->blind == 0)
        return;
    size_t blind = blind_of(r);
    if (blind < r->blind || (blind == r->blind && cost < r->cost)) {
        r->blind = blind;
        r->cost = cost;
    }
}

static bool try_y(void *context, const int *y)
{
    set_places(context, 1, y);
    try_now(context);
    return true;
}

static bool try_x(void *context, const int *x)
{
    real *r = context;
    int y[8] = {0};
    set_places(r, 0, x);
    return each_choice(&r->l[1], 1, y, try_y, r);
}

static bool try_x_alone(void *context, const int *x)
{
    set_places(context, 0, x);
    try_now(context);
    return true;
}

static void take_seams(real *r, const pv_division division[2])
{
    for (int i = 0; i < 2; i++)
        memcpy(r->at[i], division[i].at, (division[i].n + 1) * sizeof(double));
}

static void begin_with(real *r)
{
    r->blind = SIZE_MAX;
    r->cost = INT64_MAX;
}

typedef struct outcome {
    size_t mats, choices, joint, alone[2], better, blind;
    int64_t excess, worst; /* over the joint optimum, where as many stretches have no room */
} outcome;

/* The planner's own seams against all choices of both directions, and against all choices of one
 * where the other's seams stay. */
static void hold_mat(real *r, pv_division division[2], outcome *o)
{
    int none[8] = {0};
    begin_with(r);
    set_places(r, 0, none);
    set_places(r, 1, none);
    try_now(r);
    size_t even_blind = r->blind;
    int64_t even = r->cost;
    begin_with(r);
    each_choice(&r->l[0], 1, none, try_x, r);
    size_t least_blind = r->blind;
    int64_t least = r->cost;
    pv_placing placing;
    ck_assert(pv_place_seams(r->axis, r->scene, &division[0], &division[1], &placing));
    take_seams(r, division);
    /* It says what its choice costs, and never too much of how good that is. */
    ck_assert(cost_of(r) == placing.cost && blind_of(r) == placing.blind);
    ck_assert(placing.blind >= least_blind && placing.cost - placing.gap <= least);
    ck_assert(placing.blind < even_blind || (placing.blind == even_blind && placing.cost <= even));
    bool equal = placing.blind == least_blind && placing.cost == least;
    o->joint += equal;
    if (placing.blind == least_blind) {
        o->excess += placing.cost - least;
        o->worst = placing.cost - least > o->worst ? placing.cost - least : o->worst;
    }
    for (int i = 0; i < 2; i++) {
        begin_with(r);
        take_seams(r, division);
        each_choice(&r->l[i], 1, none, i == 0 ? try_x_alone : try_y, r);
        o->alone[i] += r->blind == placing.blind && r->cost == placing.cost;
    }
    o->mats++;
    o->better += placing.cost < even;
    o->blind += placing.blind > 0;
    o->choices += r->n;
}

/* Room for crosses and corners couple the directions: what is found is the best of each direction,
 * the other's seams being where they are, and nearly always the best of both. */
START_TEST(seams_on_real_art_against_brute_force)
{
    dice d = {4711};
    outcome o = {0};
    for (int round = 0; round < 400; round++) {
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
        real r = {.scene = scene, .look = &look};
        for (int i = 0; i < 2; i++) {
            double length = i == 0 ? art.size.x : art.size.y;
            size_t n = 1 + pick(&d, length > 150 ? 3 : 2);
            double even = length / (double)n, most = even + between(&d, 0, n > 2 ? 2.2 : 5);
            ck_assert(pv_divide(&division[i], length, n, most));
            ck_assert(pv_lattice_make(&r.l[i], n, length, pv_cell_least(even), most));
            r.axis[i] = pv_cost_axis_new(&regard, i == 0);
        }
        hold_mat(&r, division, &o);
        for (int i = 0; i < 2; i++) {
            free(division[i].at);
            pv_lattice_free(&r.l[i]);
            pv_cost_axis_free(r.axis[i]);
        }
        pv_look_drop(&look);
        pv_scene_free(scene);
        pv_art_clear(&art);
    }
    printf("    %zu mats, %zu choices in all: %zu better than even, %zu without room for crosses\n",
           o.mats, o.choices, o.better, o.blind);
    printf("    %zu are the best of both directions, %zu and %zu the best of one alone; the others "
           "cost %.1f more in all, %.1f at most\n",
           o.joint, o.alone[0], o.alone[1], (double)o.excess / PV_COST_TENTHS,
           (double)o.worst / PV_COST_TENTHS);
    ck_assert(100 * o.joint >= 99 * o.mats);
    ck_assert(100 * o.alone[0] >= 99 * o.mats && 100 * o.alone[1] >= 99 * o.mats);
    ck_assert(o.choices > 50000 && o.better > 100);
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
    tcase_add_test(tcase, seams_on_real_art_against_brute_force);
    tcase_add_test(tcase, edges_and_insides_of_lines);
    tcase_add_test(tcase, slanted_and_curved_edges);
    tcase_add_test(tcase, marks_finish_text_and_route);
    tcase_add_test(tcase, slivers);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
