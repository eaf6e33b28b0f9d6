/* What a scene answers, against asking the art as a whole: slower, and by another way through it.
 */
#include "art_by_hand.h"

#include "scene/raster.h"
#include "scene/scene.h"

/* A ring of n corners about a centre, in and out at random: sides cross rays many times. */
static pv_ring star(dice *d, pv_vec centre, double radius, size_t n)
{
    pv_ring ring = {PV_NEW_ARRAY(n, pv_vec), n};
    for (size_t i = 0; i < n; i++)
        ring.points[i] = pv_add(
            centre, pv_polar(radius * between(d, 0.2, 1), 2 * PV_PI * (double)i / (double)n));
    return ring;
}

static pv_area stars(dice *d, double side)
{
    static const size_t sizes[] = {3, 4, 15, 16, 17, 33, 300, 5000};
    pv_area area = {.n_rings = 1 + pick(d, 40)};
    area.rings = PV_NEW_ARRAY(area.n_rings, pv_ring);
    for (size_t i = 0; i < area.n_rings; i++)
        area.rings[i] = star(d, pv_v(between(d, 0, side), between(d, 0, side)),
                             between(d, 1, side / 2), sizes[pick(d, 8)]);
    return area;
}

typedef struct tally {
    pv_box box;
    size_t n;
} tally;

static bool count_side(void *context, pv_vec a, pv_vec b)
{
    tally *t = context;
    (void)a;
    (void)b;
    t->n++;
    return true;
}

static bool count_ring(void *context, const pv_ring *ring)
{
    tally *t = context;
    ck_assert_uint_gt(ring->n, 0);
    t->n++;
    return true;
}

static pv_box ring_box(const pv_ring *ring)
{
    pv_box box = pv_box_none();
    for (size_t i = 0; i < ring->n; i++)
        box = pv_box_add(box, ring->points[i]);
    return box;
}

static void hold_box(const pv_sides *sides, const pv_area *area, pv_box box)
{
    size_t n_sides = 0, n_rings = 0;
    for (size_t r = 0; r < area->n_rings; r++) {
        const pv_ring *ring = &area->rings[r];
        n_rings += pv_box_meets(ring_box(ring), box);
        for (size_t i = 0; i < ring->n; i++) {
            pv_vec a = ring->points[i], b = ring->points[(i + 1) % ring->n];
            n_sides += pv_box_meets(pv_box_add(pv_box_add(pv_box_none(), a), b), box);
        }
    }
    tally t = {box, 0};
    ck_assert(pv_sides_each(sides, box, count_side, &t));
    ck_assert_uint_eq(t.n, n_sides);
    t.n = 0;
    ck_assert(pv_sides_each_ring(sides, box, count_ring, &t));
    ck_assert_uint_eq(t.n, n_rings);
}

START_TEST(sides_find_what_a_walk_finds)
{
    dice d = {271828};
    size_t in = 0, asked = 0;
    for (int round = 0; round < 40; round++) {
        pv_area area = stars(&d, 300);
        pv_sides sides;
        ck_assert(pv_sides_open(&sides, &area));
        for (int i = 0; i < 300; i++) {
            pv_vec p = {between(&d, -50, 350), between(&d, -50, 350)};
            if (i % 3 == 0) { /* level with a corner, or on it */
                const pv_ring *ring = &area.rings[pick(&d, area.n_rings)];
                pv_vec corner = ring->points[pick(&d, ring->n)];
                p = pv_v(i % 2 == 0 ? p.x : corner.x, corner.y);
            }
            bool covers = pv_area_covers(&area, p);
            ck_assert(pv_sides_cover(&sides, p) == covers);
            in += covers;
            asked++;
            double reach = between(&d, 0, 40);
            if (i % 10 == 0)
                hold_box(&sides, &area, pv_box_grow((pv_box){p, p}, reach));
        }
        pv_sides_close(&sides);
        pv_area_clear(&area);
    }
    pv_area none = {.n_rings = 0};
    pv_sides sides;
    ck_assert(pv_sides_open(&sides, &none));
    ck_assert(!pv_sides_cover(&sides, pv_v(0, 0)));
    pv_sides_close(&sides);
    printf("    %zu points, %zu inside\n", asked, in);
    ck_assert(in > asked / 10 && in < asked);
}
END_TEST

START_TEST(shows_what_the_art_shows)
{
    dice d = {314159};
    size_t lines = 0, marks = 0, hidden = 0;
    for (int round = 0; round < 60; round++) {
        pv_art art;
        art_random(&art, &d, 900);
        pv_scene *scene = pv_scene_of(&art);
        ck_assert_ptr_nonnull(scene);
        for (int i = 0; i < 800; i++) {
            pv_vec p = {between(&d, -20, art.size.x + 20), between(&d, -20, art.size.y + 20)};
            pv_spot whole = spot_by_hand(&art, p), seen = pv_scene_at(scene, p);
            ck_assert_uint_eq(whole.colour, seen.colour);
            ck_assert_int_eq(whole.line, seen.line);
            ck_assert(whole.mark == seen.mark);
            lines += seen.line >= 0;
            marks += seen.mark;
            hidden += seen.mark && seen.line >= 0;
        }
        pv_scene_free(scene);
        pv_art_clear(&art);
    }
    printf("    %zu points on lines, %zu on marks, %zu on both\n", lines, marks, hidden);
    ck_assert(lines > 1000 && marks > 200 && hidden > 20);
}
END_TEST

/* All that paints a box is found about it, in the order of painting. */
START_TEST(finds_all_that_paints)
{
    dice d = {161803};
    pv_look look = {0};
    for (int round = 0; round < 40; round++) {
        pv_art art;
        art_random(&art, &d, 900);
        pv_scene *scene = pv_scene_of(&art);
        ck_assert_ptr_nonnull(scene);
        for (int i = 0; i < 60; i++) {
            pv_vec p = {between(&d, 0, art.size.x), between(&d, 0, art.size.y)};
            pv_box box = pv_box_grow((pv_box){p, p}, between(&d, 0, 80));
            ck_assert(pv_scene_find(scene, box, &look));
            size_t at = 0;
            for (size_t k = 0; k < scene->n_items; k++) {
                const pv_item *item = &scene->items[k];
                bool found = at < look.n && look.items[at] == item;
                at += found;
                bool meets = pv_box_meets(item->box, box);
                ck_assert(!found || meets || item->kind == PV_ITEM_TEXT);
                bool paints = item->kind == PV_ITEM_LINE && pv_solid_covers(&item->u.solid, p);
                ck_assert(found || !meets || (item->kind == PV_ITEM_LINE && !paints));
            }
            ck_assert_uint_eq(at, look.n);
        }
        pv_scene_free(scene);
        pv_art_clear(&art);
    }
    pv_look_drop(&look);
}
END_TEST

/* A page's own items hide plain ground, and come after the mat's. */
START_TEST(a_page_has_items_of_its_own)
{
    pv_art art;
    art_yard(&art);
    pv_layout_options options = pv_layout_defaults();
    pv_plan *plan = pv_plan_of_art(&art, &options, NULL);
    ck_assert_ptr_nonnull(plan);
    pv_look look = {0};
    size_t strokes = 0, ticks = 0;
    for (size_t i = 0; i < plan->n_sheets; i++) {
        const pv_sheet *sheet = &plan->sheets[i];
        pv_scene *page = pv_plan_page(plan, sheet);
        ck_assert_ptr_nonnull(page);
        ck_assert(page->origin.x == sheet->origin.x && page->origin.y == sheet->origin.y);
        size_t tags = 0;
        for (size_t k = 0; k < page->n_items; k++) {
            const pv_item *item = &page->items[k];
            pv_vec middle = pv_box_middle(item->box);
            ck_assert(pv_box_holds(page->page, item->box.lo) &&
                      pv_box_holds(page->page, item->box.hi));
            strokes += item->kind == PV_ITEM_STROKE;
            ticks += item->kind == PV_ITEM_TICK;
            tags += item->kind == PV_ITEM_TAG;
            size_t colour;
            ck_assert(!pv_scene_plain(page, (pv_box){middle, middle}, &colour, &look));
            ck_assert(pv_scene_find(page, (pv_box){middle, middle}, &look));
            ck_assert(look.n > 0 && look.items[look.n - 1] >= page->items &&
                      look.items[look.n - 1] < page->items + page->n_items);
        }
        ck_assert_uint_eq(tags, PV_TAG_PLACES);
        pv_scene_free(page);
    }
    ck_assert_uint_gt(ticks, 10 * plan->n_sheets);
    ck_assert_uint_eq(strokes, 4 * plan->n_crosses); /* two each, on two sheets */
    pv_look_drop(&look);
    pv_plan_free(plan);
    pv_art_clear(&art);
}
END_TEST

/* A line of 10 mm with another that crosses it at 300 mm, and a mark that ends 6 mm off it. */
START_TEST(edges_are_clear_where_nothing_meets_them)
{
    pv_art art;
    art_start(&art, "Edges", 600, 400);
    add_straight(&art, 10, pv_v(20, 200), pv_v(580, 200));
    add_straight(&art, 8, pv_v(300, 20), pv_v(300, 380))->colour = RED;
    add_mark(&art, NAVY, pv_v(450, 231), 20 / cos(PV_PI / 4), 4); /* a square of 40 mm */
    pv_scene *scene = pv_scene_of(&art);
    static const double rows[] = {-1, 0, 1};
    pv_stand stand = {.heading = {1, 0}, .rows = rows, .n_rows = 3, .skirt = 0.1};
    stand.inside = 5;
    stand.outside = 3;
    stand.n_inside = stand.n_outside = 4;
    static const struct {
        double x, outside;
        bool blur, clear;
        size_t left;
    } cases[] = {{100, 3, true, true, WHITE},    {300, 3, false, false, 0}, /* crossed over */
                 {294.9, 3, false, true, WHITE}, {295.1, 3, false, false, 0},
                 {450, 5.9, true, true, WHITE},  {450, 6.1, false, false, 0}, /* two colours */
                 {20.9, 3, false, false, 0},     {21.1, 3, false, true, WHITE}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        size_t beside[2];
        stand.at = pv_v(cases[i].x, 200);
        stand.outside = cases[i].outside;
        stand.marks_blur = cases[i].blur;
        ck_assert_msg(pv_scene_clear(scene, &stand, beside) == cases[i].clear, "case %zu", i);
        ck_assert(!cases[i].clear || (beside[0] == WHITE && beside[1] == cases[i].left));
    }
    /* A mark close by is one colour beside the line, unless it must not be there at all. */
    size_t beside[2];
    stand.at = pv_v(450, 200);
    stand.skirt = 6.1;
    stand.outside = 8;
    stand.inside = 7;
    stand.n_inside = 0;
    stand.marks_blur = false;
    ck_assert(pv_scene_clear(scene, &stand, beside) && beside[1] == NAVY);
    stand.marks_blur = true;
    ck_assert(!pv_scene_clear(scene, &stand, beside));
    pv_scene_free(scene);
    pv_art_clear(&art);
}
END_TEST

typedef struct canvas {
    const pv_item **top; /* by line, then by point */
    size_t points;
    const pv_item *item;
} canvas;

static void paint_on(void *context, size_t line, size_t from, size_t to)
{
    const canvas *c = context;
    for (size_t i = from; i < to; i++)
        c->top[line * c->points + i] = c->item;
}

/* Painting a raster item by item shows at each point what asking there does. */
START_TEST(rasters_show_what_points_do)
{
    dice d = {5150};
    size_t points = 0, letters = 0;
    for (int round = 0; round < 200; round++) {
        pv_art art;
        art_random(&art, &d, 300);
        pv_scene *scene = pv_scene_of(&art);
        pv_points r = {.upright = pick(&d, 2) == 0, .pitch = between(&d, 0.3, 2), .step = 1.7};
        r.first = between(&d, 0, (r.upright ? art.size.x : art.size.y) / 2);
        r.lines = 1 + pick(&d, 20);
        r.points = (size_t)((r.upright ? art.size.y : art.size.x) / r.step) + 1;
        r.window = pv_box_all();
        canvas c = {PV_NEW_ARRAY(r.lines * r.points, const pv_item *), r.points, NULL};
        ck_assert_ptr_nonnull(c.top);
        for (size_t i = 0; i < scene->n_items; i++) {
            c.item = &scene->items[i];
            ck_assert(pv_points_item(&r, scene, c.item, paint_on, &c));
        }
        for (size_t i = 0; i < r.lines * r.points; i++) {
            double off = r.first + r.pitch * (double)(i / r.points);
            double along = r.step * (double)(i % r.points);
            pv_vec p = r.upright ? pv_v(off, along) : pv_v(along, off);
            bool text = c.top[i] != NULL && c.top[i]->kind == PV_ITEM_TEXT;
            points++;
            letters += text;
            if (!text)
                ck_assert_uint_eq(c.top[i] != NULL ? c.top[i]->colour : art.ground,
                                  pv_scene_at(scene, p).colour);
        }
        free(c.top);
        pv_points_drop(&r);
        pv_scene_free(scene);
        pv_art_clear(&art);
    }
    printf("    %zu points, %zu in lettering's boxes\n", points, letters);
    ck_assert(points > 50000);
}
END_TEST

/* A quarter ring passes through its box's two far corners and leaves the near one empty. */
START_TEST(a_line_meets_what_its_paint_does)
{
    pv_piece bend = pv_arc(pv_v(100, 100), 80, 0, PV_PI / 2);
    pv_line line = {.pieces = &bend, .n_pieces = 1, .width = 10};
    const struct {
        pv_box box;
        bool meets;
    } cases[] = {{{{100, 100}, {140, 140}}, false}, {{{150, 150}, {160, 160}}, true},
                 {{{165, 165}, {185, 185}}, false}, {{{170, 90}, {190, 110}}, true},
                 {{{20, 20}, {60, 60}}, false},     {{{0, 0}, {200, 200}}, true}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        ck_assert_msg(pv_line_meets(&line, cases[i].box) == cases[i].meets, "case %zu", i);
}
END_TEST

int main(void)
{
    TCase *tc = tcase_create("scene");
    tcase_set_timeout(tc, 120);
    tcase_add_test(tc, sides_find_what_a_walk_finds);
    tcase_add_test(tc, shows_what_the_art_shows);
    tcase_add_test(tc, finds_all_that_paints);
    tcase_add_test(tc, a_page_has_items_of_its_own);
    tcase_add_test(tc, rasters_show_what_points_do);
    tcase_add_test(tc, a_line_meets_what_its_paint_does);
    tcase_add_test(tc, edges_are_clear_where_nothing_meets_them);
    Suite *suite = suite_create("scene");
    suite_add_tcase(suite, tc);
    return run_suite(suite);
}
