/* Arrows of travel: where the route crosses seams, and that both sheets of a seam show it. */
#include "art_by_hand.h"

#include "course/model.h"
#include "draw/art.h"
#include "plan/crossings.h"

/* ---- crossings of one seam ---- */

/* The seam x = 100 (or y = 100) from 0 to 200. */
static pv_seam seam_of(bool vertical)
{
    return (pv_seam){.vertical = vertical, .at = 100, .from = 0, .to = 200};
}

static pv_crossings cross(bool vertical, pv_piece *pieces, size_t n)
{
    pv_plan plan = {.route = pieces, .n_route = n};
    pv_seam seam = seam_of(vertical);
    pv_crossings found;
    ck_assert(pv_seam_crossings(&plan, &seam, &found));
    return found;
}

/* The same across a seam along x, with x and y exchanged: arcs then run the other way round. */
static void mirror(pv_piece *pieces, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        pv_piece *p = &pieces[i];
        if (p->arc)
            *p = pv_arc(pv_v(p->centre.y, p->centre.x), p->radius, PV_PI / 2 - p->from, -p->sweep);
        else
            *p = pv_segment(pv_v(p->a.y, p->a.x), pv_v(p->b.y, p->b.x));
    }
}

/* Expects crossings at `along`, positive where they go towards larger coordinates. */
static void expect(const char *what, pv_piece *pieces, size_t n, const double *along, size_t wanted)
{
    double off = 0;
    for (int vertical = 1; vertical >= 0; vertical--) {
        pv_crossings found = cross(vertical == 1, pieces, n);
        ck_assert_msg(found.n == wanted, "%s: %zu crossings, not %zu", what, found.n, wanted);
        for (size_t i = 0; i < wanted; i++) {
            ck_assert_msg(found.list[i].forward == (along[i] > 0), "%s: crossing %zu", what, i);
            off = fmax(off, fabs(found.list[i].along - fabs(along[i])));
        }
        free(found.list);
        mirror(pieces, n);
    }
    ck_assert_msg(off < 1e-9, "%s: off by %g mm", what, off);
}

#define COUNT(list)              (sizeof(list) / sizeof *(list))
#define EXPECT(what, route, ...) expect(what, route, COUNT(route), __VA_ARGS__)
#define NONE                     NULL, 0

START_TEST(straight_pieces_cross_where_they_should)
{
    pv_piece level[] = {pv_segment(pv_v(50, 70), pv_v(150, 70))};
    EXPECT("level", level, (double[]){70}, 1);
    pv_piece back[] = {pv_segment(pv_v(110, 10), pv_v(70, 50))};
    EXPECT("back", back, (double[]){-20}, 1);
    pv_piece both[] = {pv_segment(pv_v(50, 70), pv_v(150, 70)),
                       pv_segment(pv_v(150, 70), pv_v(150, 90)),
                       pv_segment(pv_v(150, 90), pv_v(50, 90))};
    EXPECT("there and back", both, (double[]){70, -90}, 2);
    pv_piece joined[] = {pv_segment(pv_v(50, 70), pv_v(100, 70)),
                         pv_segment(pv_v(100, 70), pv_v(150, 80))};
    EXPECT("joined on the seam", joined, (double[]){70}, 1);
    pv_piece past[] = {pv_segment(pv_v(50, 210), pv_v(150, 210)),
                       pv_segment(pv_v(150, 210), pv_v(50, -10))};
    EXPECT("past its ends, then across", past, (double[]){-100}, 1);
}
END_TEST

START_TEST(arcs_cross_where_they_should)
{
    /* 3, 4, 5: a circle of 50 about (130, 90) meets x = 100 at 90 +- 40. */
    pv_piece round_[] = {pv_arc(pv_v(130, 90), 50, 0, 2 * PV_PI)};
    EXPECT("circle", round_, (double[]){-130, 50}, 2);
    pv_piece clockwise[] = {pv_arc(pv_v(130, 90), 50, 0, -2 * PV_PI)};
    EXPECT("circle, clockwise", clockwise, (double[]){-50, 130}, 2);
    pv_piece inside[] = {pv_arc(pv_v(130, 90), 50, PV_PI, 2 * PV_PI)};
    EXPECT("circle from beyond the seam", inside, (double[]){50, -130}, 2);
    pv_piece part[] = {pv_arc(pv_v(70, 90), 50, -PV_PI / 2, PV_PI / 2)};
    EXPECT("quarter", part, (double[]){50}, 1);
    pv_piece turn[] = {pv_arc(pv_v(70, 90), 50, -PV_PI / 2, PV_PI)};
    EXPECT("half", turn, (double[]){50, -130}, 2);
    pv_piece centred[] = {pv_arc(pv_v(100, 90), 50, 1, -2 * PV_PI)};
    EXPECT("about the seam", centred, (double[]){-40, 140}, 2);
    pv_piece smooth[] = {pv_segment(pv_v(50, 40), pv_v(100, 40)),
                         pv_arc(pv_v(100, 90), 50, -PV_PI / 2, PV_PI)};
    EXPECT("into an arc on the seam", smooth, (double[]){40}, 1);
}
END_TEST

START_TEST(touching_and_running_along_is_no_crossing)
{
    pv_piece along[] = {pv_segment(pv_v(100, 20), pv_v(100, 180))};
    EXPECT("along", along, NONE);
    pv_piece back[] = {pv_segment(pv_v(50, 20), pv_v(100, 20)),
                       pv_segment(pv_v(100, 20), pv_v(100, 180)),
                       pv_segment(pv_v(100, 180), pv_v(60, 180))};
    EXPECT("along and back", back, NONE);
    back[2] = pv_segment(pv_v(100, 180), pv_v(140, 180));
    EXPECT("along and across", back, (double[]){180}, 1);
    pv_piece corner[] = {pv_segment(pv_v(50, 20), pv_v(100, 60)),
                         pv_segment(pv_v(100, 60), pv_v(50, 100))};
    EXPECT("a corner that touches", corner, NONE);
    pv_piece tangent[] = {pv_arc(pv_v(50, 90), 50, -1, 2)};
    EXPECT("an arc that touches", tangent, NONE);
    /* Where rounding takes an arc past the seam by less than it can be told: 0.1 + 0.2 > 0.3. */
    pv_piece rounded[] = {pv_arc(pv_v(99.7, 90), 0.1 + 0.2, -3, 6)};
    EXPECT("an arc that touches by rounding", rounded, NONE);
    pv_piece ends[] = {pv_segment(pv_v(50, 20), pv_v(100, 20))};
    EXPECT("ends on the seam", ends, NONE);
    pv_piece starts[] = {pv_segment(pv_v(100, 20), pv_v(150, 20))};
    EXPECT("starts on the seam", starts, NONE);
    pv_piece spot[] = {pv_segment(pv_v(100, 20), pv_v(100, 20))};
    EXPECT("stands on the seam", spot, NONE);
}
END_TEST

/* Walked in small steps and halved where the side changes: no closed forms. */
static void walk_piece(const pv_piece *piece, double *last, pv_crossings *found)
{
    double length = pv_piece_length(piece);
    size_t steps = (size_t)(length / 0.02) + 1;
    for (size_t i = 1; i <= steps; i++) {
        double lo = length * (double)(i - 1) / (double)steps,
               hi = length * (double)i / (double)steps;
        double off = pv_piece_point(piece, hi).x - 100;
        if (*last * off < 0) {
            for (int k = 0; k < 60; k++) {
                double mid = (lo + hi) / 2;
                bool over = (pv_piece_point(piece, mid).x - 100) * off > 0;
                *(over ? &hi : &lo) = mid;
            }
            double along = pv_piece_point(piece, hi).y;
            if (along >= 0 && along < 200) {
                ck_assert(PV_GROW(found->list, found->n, found->capacity));
                found->list[found->n++] = (pv_crossing){along, off > 0};
            }
        }
        *last = off;
    }
}

START_TEST(crossings_agree_with_a_walk_in_small_steps)
{
    dice d = {4711};
    double off = 0;
    size_t crossings = 0;
    for (int i = 0; i < 300; i++) {
        pv_piece pieces[6];
        size_t n = 1 + pick(&d, 6);
        pv_vec at = pv_v(between(&d, 0, 200), between(&d, 0, 200));
        for (size_t k = 0; k < n; k++) {
            double from = between(&d, -9, 9), radius = between(&d, 5, 90);
            pieces[k] = pv_segment(at, pv_v(between(&d, 0, 200), between(&d, 0, 200)));
            if (pick(&d, 2) == 0) {
                pv_vec centre = pv_sub(at, pv_polar(radius, from));
                pieces[k] = pv_arc(centre, radius, from, between(&d, -6.2, 6.2));
            }
            at = pieces[k].b;
        }
        pv_crossings found = cross(true, pieces, n), walked = {NULL, 0, 0};
        double last = pieces[0].a.x - 100;
        for (size_t k = 0; k < n; k++)
            walk_piece(&pieces[k], &last, &walked);
        ck_assert_msg(found.n == walked.n, "route %d: %zu, not %zu", i, found.n, walked.n);
        for (size_t k = 0; k < found.n; k++) {
            ck_assert(found.list[k].forward == walked.list[k].forward);
            off = fmax(off, fabs(found.list[k].along - walked.list[k].along));
        }
        crossings += found.n;
        free(found.list);
        free(walked.list);
    }
    printf("    %zu crossings of 300 routes\n", crossings);
    say_worst("a crossing's place against a walk in small steps", off, 1e-9, "mm");
    ck_assert(off <= 1e-9);
    ck_assert_uint_gt(crossings, 300);
}
END_TEST

/* ---- on the sheets ---- */

#define DARTS_MAX 256

typedef struct sheet_dart {
    pv_side side;
    pv_vec at;    /* mat frame, its middle */
    pv_vec ahead; /* unit vector */
} sheet_dart;

typedef struct sheet_darts {
    sheet_dart dart[DARTS_MAX];
    size_t n, words;
} sheet_darts;

/* A dart is the only shape of four corners, one of which lies within the box of the others. */
static bool read_dart(const pv_op *op, const pv_op *end, sheet_dart *dart)
{
    if (end - op < 5 || op[0].kind != PV_OP_MOVE || op[4].kind != PV_OP_CLOSE)
        return false;
    pv_box box = pv_box_none();
    for (int i = 0; i < 4; i++) {
        if (i > 0 && op[i].kind != PV_OP_LINE)
            return false;
        box = pv_box_add(box, op[i].p[0]);
    }
    for (int i = 0; i < 4; i++) {
        if (!pv_box_holds(pv_box_grow(box, -1e-3), op[i].p[0]))
            continue;
        pv_vec tip = op[(i + 2) % 4].p[0];
        *dart = (sheet_dart){.at = pv_box_middle(box), .ahead = pv_unit(pv_sub(tip, op[i].p[0]))};
        return true;
    }
    return false;
}

static pv_side side_at(const pv_plan *plan, const pv_sheet *sheet, pv_vec at)
{
    pv_box art = pv_sheet_art_box(plan, sheet);
    if (at.x < art.lo.x || at.x > art.hi.x)
        return at.x < art.lo.x ? PV_LEFT : PV_RIGHT;
    ck_assert_msg(at.y < art.lo.y || at.y > art.hi.y, "%s: a dart on the art", sheet->name);
    return at.y < art.lo.y ? PV_BOTTOM : PV_TOP;
}

static void read_darts(const pv_plan *plan, size_t index, sheet_darts *out)
{
    const pv_sheet *sheet = &plan->sheets[index];
    pv_diags *diags = pv_diags_new();
    pv_drawing drawing;
    ck_assert(pv_draw_sheet(&drawing, plan, index, test_type(), diags) && !drawing.failed);
    pv_diags_free(diags);
    out->n = out->words = 0;
    size_t i = 0;
    while (drawing.ops[i].kind != PV_OP_END) /* the art's clip */
        i++;
    const pv_op *end = drawing.ops + drawing.n_ops;
    for (const pv_op *op = drawing.ops + i; op < end; op++) {
        sheet_dart dart;
        if (op->kind == PV_OP_TEXT)
            out->words += strcmp(drawing.chars + op->text, "travel") == 0 ||
                          strcmp(drawing.chars + op->text, "step up") == 0;
        if (!read_dart(op, end, &dart))
            continue;
        dart.at = pv_add(dart.at, sheet->origin);
        dart.side = side_at(plan, sheet, dart.at);
        ck_assert_uint_lt(out->n, DARTS_MAX);
        out->dart[out->n++] = dart;
    }
    pv_drawing_clear(&drawing);
}

/* A yard's art with a route that goes round, there and back, and along a seam. */
static pv_plan *yard_with_route(const char *paper, pv_orientation orientation)
{
    struct pv_course course = {.robot = {.given = false}};
    art_yard(&course.art);
    pv_piece route[] = {pv_segment(pv_v(60, 850), pv_v(850, 840)),
                        pv_segment(pv_v(850, 840), pv_v(850, 457.2)),
                        pv_arc(pv_v(457.2, 457.2), 392.8, 0, 2 * PV_PI),
                        pv_segment(pv_v(850, 457.2), pv_v(200, 450)),
                        pv_segment(pv_v(200, 450), pv_v(150, 60)),
                        pv_segment(pv_v(150, 60), pv_v(170, 500)),
                        pv_arc(pv_v(350, 500), 180, PV_PI, -1.5 * PV_PI),
                        pv_segment(pv_v(350, 320), pv_v(350, 20))};
    course.route.pieces = route;
    course.route.n = COUNT(route);
    pv_layout_options options = pv_layout_defaults();
    options.paper = paper;
    options.orientation = orientation;
    pv_plan *plan = pv_plan_make(&course, &options, NULL);
    ck_assert_ptr_nonnull(plan);
    pv_art_clear(&course.art);
    return plan;
}

typedef struct count {
    size_t crossings, darts, words, missing, far;
    double farthest; /* mm along the seam from a crossing to its dart */
    double over;     /* the same, on over sides, where nothing but labels is in the way */
} count;

/* Every crossing has a dart the same way on this side of this sheet; *wanted counts those that may
 * not share. */
static void check_side(const pv_plan *plan, const pv_sheet *sheet, pv_side side,
                       const sheet_darts *darts, count *c)
{
    const pv_seam *seam = &plan->seams[sheet->seam[side]];
    pv_crossings found;
    ck_assert(pv_seam_crossings(plan, seam, &found));
    pv_vec across = seam->vertical ? pv_v(1, 0) : pv_v(0, 1);
    bool way[2] = {false, false};
    for (size_t i = 0; i < found.n; i++) {
        double nearest = HUGE_VAL;
        way[found.list[i].forward] = true;
        for (size_t k = 0; k < darts->n; k++) {
            const sheet_dart *d = &darts->dart[k];
            double along = seam->vertical ? d->at.y : d->at.x;
            if (d->side == side && (pv_dot(d->ahead, across) > 0) == found.list[i].forward)
                nearest = fmin(nearest, fabs(along - found.list[i].along));
        }
        c->crossings++;
        c->missing += nearest == HUGE_VAL;
        if (nearest == HUGE_VAL)
            printf("    no dart on side %d of %s for the crossing at %g of the seam at %g from %g "
                   "to %g\n",
                   (int)side, sheet->name, found.list[i].along, seam->at, seam->from, seam->to);
        c->far += nearest > 20;
        if (nearest < HUGE_VAL)
            c->farthest = fmax(c->farthest, nearest);
        if (nearest < HUGE_VAL && sheet->side[side] == PV_OVER)
            c->over = fmax(c->over, nearest);
    }
    for (size_t k = 0; k < darts->n; k++) {
        const sheet_dart *d = &darts->dart[k];
        if (d->side != side)
            continue;
        double along = seam->vertical ? d->at.y : d->at.x, turn = pv_dot(d->ahead, across);
        ck_assert_msg(fabs(fabs(turn) - 1) < 1e-9, "%s: a dart that isn't square", sheet->name);
        ck_assert_msg(way[turn > 0], "%s: a dart against the route", sheet->name);
        ck_assert_msg(along > seam->from && along < seam->to, "%s: past the seam", sheet->name);
    }
    free(found.list);
}

static void check_darts(const char *paper, pv_orientation orientation, count *c)
{
    pv_plan *plan = yard_with_route(paper, orientation);
    for (size_t i = 0; i < plan->n_sheets; i++) {
        static sheet_darts darts;
        const pv_sheet *sheet = &plan->sheets[i];
        read_darts(plan, i, &darts);
        for (size_t k = 0; k < darts.n; k++)
            ck_assert_msg(sheet->side[darts.dart[k].side] != PV_OUTER, "%s: at the edge",
                          sheet->name);
        for (int side = 0; side < 4; side++)
            if (sheet->side[side] != PV_OUTER)
                check_side(plan, sheet, (pv_side)side, &darts, c);
        c->darts += darts.n;
        c->words += darts.words;
    }
    pv_plan_free(plan);
}

START_TEST(both_sheets_show_which_way_the_robot_goes)
{
    static const char *const papers[] = {"A6", "A5", "A4", "letter", "A3", "A2", "A1"};
    for (size_t i = 0; i < COUNT(papers); i++) {
        count c = {0};
        for (int o = PV_PORTRAIT; o <= PV_LANDSCAPE; o++)
            check_darts(papers[i], (pv_orientation)o, &c);
        printf("    %s: %zu crossings seen from both sheets, %zu darts, %zu with the word; %zu "
               "missing, %zu farther than 20 mm from theirs, the farthest %.1f mm, on over sides "
               "%.1f mm\n",
               papers[i], c.crossings, c.darts, c.words, c.missing, c.far, c.farthest, c.over);
        ck_assert_uint_gt(c.crossings, 10);
        ck_assert_uint_eq(c.missing, 0);
        ck_assert_uint_le(c.darts, c.crossings);
        /* No seam's label keeps a dart from its place. */
        ck_assert_msg(strcmp(papers[i], "A4") != 0 || c.over < 5, "%g mm", c.over);
    }
}
END_TEST

START_TEST(without_a_route_there_are_no_darts)
{
    pv_art art;
    art_yard(&art);
    pv_layout_options options = pv_layout_defaults();
    pv_plan *plan = pv_plan_of_art(&art, &options, NULL);
    static sheet_darts darts;
    for (size_t i = 0; i < plan->n_sheets; i++) {
        read_darts(plan, i, &darts);
        ck_assert(darts.n == 0 && darts.words == 0);
    }
    pv_plan_free(plan);
    pv_art_clear(&art);
}
END_TEST

/* A robot that goes to and fro over one seam a thousand times. */
START_TEST(a_seam_shows_no_more_darts_than_it_has_room_for)
{
    struct pv_course course = {.robot = {.given = false}};
    art_start(&course.art, "Shuttle", 300, 200);
    static pv_piece route[2000];
    for (size_t i = 0; i < COUNT(route); i++) {
        double y = 5 + 190.0 * (double)i / (double)COUNT(route),
               next = y + 190.0 / (double)COUNT(route);
        route[i] = pv_segment(pv_v(i % 2 == 0 ? 20 : 280, y), pv_v(i % 2 == 0 ? 280 : 20, next));
    }
    course.route.pieces = route;
    course.route.n = COUNT(route);
    pv_layout_options options = pv_layout_defaults();
    options.orientation = PV_PORTRAIT;
    pv_plan *plan = pv_plan_make(&course, &options, NULL);
    ck_assert_ptr_nonnull(plan);
    ck_assert_uint_eq(plan->n_sheets, 2);
    static sheet_darts darts;
    for (size_t i = 0; i < 2; i++) {
        read_darts(plan, i, &darts);
        ck_assert(darts.n >= 2 && darts.n <= 32);
        size_t forward = 0;
        for (size_t k = 0; k < darts.n; k++)
            forward += darts.dart[k].ahead.x > 0;
        ck_assert(forward > 0 && forward < darts.n);
    }
    pv_plan_free(plan);
    pv_art_clear(&course.art);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("travel");
    TCase *tcase = tcase_create("travel");
    tcase_set_timeout(tcase, 60);
    tcase_add_test(tcase, straight_pieces_cross_where_they_should);
    tcase_add_test(tcase, arcs_cross_where_they_should);
    tcase_add_test(tcase, touching_and_running_along_is_no_crossing);
    tcase_add_test(tcase, crossings_agree_with_a_walk_in_small_steps);
    tcase_add_test(tcase, both_sheets_show_which_way_the_robot_goes);
    tcase_add_test(tcase, without_a_route_there_are_no_darts);
    tcase_add_test(tcase, a_seam_shows_no_more_darts_than_it_has_room_for);
    suite_add_tcase(suite, tcase);
    return run_suite(suite);
}
