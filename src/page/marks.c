/* The marks that people cut and turn a sheet by: cut marks, the map and the arrow. */
#include "page/anatomy.h"

#include <stdlib.h>

/* Layout: chosen. */
#define HAIRLINE    0.2 /* mm */
#define CUT_LENGTH  5.0 /* mm, a cut mark where there is room */
#define CUT_STEP    0.5 /* mm shorter where there is none */
#define CUT_TRIES   8   /* down to 1.5 mm, the shortest that is of use */
#define MAP_LINE    0.15
#define MAP_PAD     0.8 /* mm kept free on its left and right */
#define MAP_PITCH   0.8 /* mm, between its lines at least */
#define MAP_TALLEST 22.0
#define MAP_WIDEST  44.0
#define MAP_STEP    0.9 /* smaller by this where there is no room, so many times */
#define MAP_TRIES   15
#define ARROW_EM    2.8
#define ARROW_TRIES 5   /* down to 2.0 */
#define ARROW_GAP   1.0 /* mm */

/* ---- cut marks ---- */

/* One mark on a trim line, from the art's edge outwards; shorter where something is in the way, and
 * false where even then. */
static bool cut_mark(pv_anatomy *a, pv_vec from, pv_vec out)
{
    for (int i = 0; i < CUT_TRIES; i++) {
        double length = CUT_LENGTH - CUT_STEP * i;
        pv_vec start = pv_along(from, out, PV_SPACE_GAP), end = pv_along(start, out, length);
        pv_vec side = pv_scale(pv_left(out), HAIRLINE / 2);
        pv_box box = pv_box_add(pv_box_none(), pv_add(start, side));
        box = pv_box_add(pv_box_add(box, pv_sub(start, side)), pv_add(end, side));
        box = pv_box_add(box, pv_sub(end, side));
        if (!pv_space_free(&a->space, box, 0.3))
            continue;
        pv_page_bar(a, start, end, HAIRLINE);
        pv_space_take(&a->space, box);
        return true;
    }
    return false;
}

/* The two marks of a corner. Where a mat fills the roll there is no room for one of them; then the
 * other begins right at the corner, so that the edge runs through where the marks begin. */
static void cut_corner(pv_anatomy *a, int h, int v)
{
    const pv_box *art = &a->space.art, *trim = &a->trim;
    pv_vec up = {h == PV_LEFT ? trim->lo.x : trim->hi.x, v == PV_BOTTOM ? art->lo.y : art->hi.y};
    pv_vec across = {h == PV_LEFT ? art->lo.x : art->hi.x,
                     v == PV_BOTTOM ? trim->lo.y : trim->hi.y};
    pv_vec out_up = {0, v == PV_BOTTOM ? -1 : 1}, out_across = {h == PV_LEFT ? -1 : 1, 0};
    bool has_up = a->sheet->side[h] != PV_UNDER && cut_mark(a, up, out_up);
    bool has_across = a->sheet->side[v] != PV_UNDER && cut_mark(a, across, out_across);
    if (a->sheet->side[h] != PV_OUTER || a->sheet->side[v] != PV_OUTER || has_up == has_across)
        return;
    pv_vec from = has_up ? up : across, out = has_up ? out_up : out_across;
    pv_page_bar(a, from, pv_along(from, out, PV_SPACE_GAP), HAIRLINE);
}

void pv_page_cut_marks(pv_anatomy *a)
{
    for (int h = PV_LEFT; h <= PV_RIGHT; h += 2)
        for (int v = PV_BOTTOM; v <= PV_TOP; v += 2)
            cut_corner(a, h, v);
    pv_page_end_shape(a);
}

/* ---- the map ---- */

/* The grid's lines run through, one to a column and one to a row; where they would run together,
 * only the frame is drawn, and this sheet's cell no smaller than can be seen. */
static void map_lines(pv_anatomy *a, pv_box map, double scale)
{
    const pv_plan *plan = a->plan;
    double width = map.hi.x - map.lo.x, height = map.hi.y - map.lo.y;
    for (size_t c = 0; c <= plan->columns; c++) {
        bool frame = c == 0 || c == plan->columns;
        double x =
            frame ? (c == 0 ? map.lo.x : map.hi.x) : map.lo.x + scale * plan->sheets[c].cell.lo.x;
        if (frame || width >= MAP_PITCH * (double)plan->columns)
            pv_page_bar(a, pv_v(x, map.lo.y - MAP_LINE / 2), pv_v(x, map.hi.y + MAP_LINE / 2),
                        MAP_LINE);
    }
    for (size_t r = 0; r <= plan->rows; r++) {
        bool frame = r == 0 || r == plan->rows;
        double y = frame ? (r == 0 ? map.hi.y : map.lo.y)
                         : map.lo.y + scale * plan->sheets[r * plan->columns].cell.hi.y;
        if (frame || height >= MAP_PITCH * (double)plan->rows)
            pv_page_bar(a, pv_v(map.lo.x, y), pv_v(map.hi.x, y), MAP_LINE);
    }
    pv_box cell = a->sheet->cell;
    pv_vec middle = pv_along(map.lo, pv_box_middle(cell), scale);
    double half_w = fmax(scale * (cell.hi.x - cell.lo.x), MAP_PITCH) / 2;
    double half_h = fmax(scale * (cell.hi.y - cell.lo.y), MAP_PITCH) / 2;
    middle.x = fmin(fmax(middle.x, map.lo.x + half_w), map.hi.x - half_w);
    middle.y = fmin(fmax(middle.y, map.lo.y + half_h), map.hi.y - half_h);
    pv_page_box(a, (pv_box){{middle.x - half_w, middle.y - half_h},
                            {middle.x + half_w, middle.y + half_h}});
    pv_page_end_shape(a);
}

void pv_page_map(pv_anatomy *a)
{
    if (a->plan->n_sheets == 1)
        return;
    pv_vec mat = a->plan->art.size;
    double largest = fmin(MAP_WIDEST / mat.x, MAP_TALLEST / mat.y);
    for (int try = 0; try < MAP_TRIES; try++) {
        double scale = largest * pow(MAP_STEP, try);
        /* Towards the lower right corner: the two service strips meet there. */
        pv_block block = {mat.x * scale + MAP_LINE + 2 * MAP_PAD,
                          mat.y * scale + MAP_LINE,
                          pv_v(a->space.page.hi.x, a->space.page.lo.y),
                          false,
                          true,
                          PV_SPACE_ACROSS};
        static const int sides[] = {PV_BOTTOM, PV_RIGHT, PV_TOP, PV_LEFT};
        for (int i = 0; i < 4; i++) {
            pv_box box;
            bool turned;
            if (!pv_space_find(&a->space, sides[i], &block, &box, &turned))
                continue;
            pv_space_take(&a->space, box);
            box.lo.x += MAP_PAD;
            box.hi.x -= MAP_PAD;
            map_lines(a, pv_box_grow(box, -MAP_LINE / 2), scale);
            return;
        }
    }
}

/* ---- which way is up ---- */

/* An arrow that fills a box, pointing up. */
static void draw_arrow(pv_anatomy *a, pv_box box)
{
    double w = box.hi.x - box.lo.x, h = box.hi.y - box.lo.y, x = (box.lo.x + box.hi.x) / 2;
    double neck = box.hi.y - fmin(w, 0.6 * h), stem = w / 6;
    const pv_vec corners[] = {{x, box.hi.y},        {box.lo.x, neck},     {x - stem, neck},
                              {x - stem, box.lo.y}, {x + stem, box.lo.y}, {x + stem, neck},
                              {box.hi.x, neck}};
    pv_page_polygon(a, corners, sizeof corners / sizeof *corners);
    pv_page_end_shape(a);
}

/* Beside the words where they stand upright, beyond their end where they are turned: it points up
 * the page either way. */
void pv_page_way_up(pv_anatomy *a)
{
    const char *words = pv_say(a->plan->language, "this way up");
    static const int sides[] = {PV_TOP, PV_LEFT, PV_RIGHT, PV_BOTTOM};
    for (int try = 0; try < ARROW_TRIES; try++) {
        double em = ARROW_EM - 0.2 * try;
        double tall = em * pv_text_height(words), wide = em * pv_page_ems(a, words, false);
        for (int i = 0; i < 4; i++) {
            bool beside = sides[i] % 2 != 0, turned;
            double arrow = beside ? 0.7 * tall : 1.4 * tall;
            pv_block block = {
                wide + 3 * ARROW_GAP + arrow, tall, {0, 0}, true, false, PV_SPACE_ACROSS};
            block.toward =
                pv_v(a->cell.lo.x, sides[i] == PV_BOTTOM ? a->space.art.lo.y : a->space.art.hi.y);
            if (!beside)
                block.toward =
                    pv_v(sides[i] == PV_LEFT ? a->space.art.lo.x : a->space.art.hi.x, a->cell.hi.y);
            pv_box box, text;
            if (!pv_space_find(&a->space, sides[i], &block, &box, &turned))
                continue;
            pv_space_take(&a->space, box);
            /* Kept clear at both ends, like a label. */
            *(turned ? &box.lo.y : &box.lo.x) += ARROW_GAP;
            *(turned ? &box.hi.y : &box.hi.x) -= ARROW_GAP;
            text = box;
            if (beside) {
                draw_arrow(a, (pv_box){box.lo, {box.lo.x + arrow, box.hi.y}});
                text.lo.x += arrow + ARROW_GAP;
            } else {
                draw_arrow(a, (pv_box){{box.lo.x, box.hi.y - arrow}, box.hi});
                text.hi.y -= arrow + ARROW_GAP;
            }
            pv_page_words(a, text, turned, em, false, words);
            return;
        }
    }
}
