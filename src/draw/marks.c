/* The marks on a sheet: those that inspection looks for, and those that people cut and turn by. */
#include "draw/anatomy.h"
#include "draw/gain.h"

#include <stdlib.h>

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

static const uint8_t white[3] = {255, 255, 255};

/* ---- for inspection ---- */

bool pv_draw_strokes(pv_anatomy *a)
{
    pv_stroke *strokes = NULL;
    size_t n = 0;
    if (!pv_sheet_strokes(a->plan, a->sheet, &strokes, &n)) {
        pv_fail_memory(a->diags);
        return false;
    }
    for (int light = 0; light < 2; light++) {
        size_t before = a->drawing->n_ops;
        for (size_t i = 0; i < n; i++)
            if (strokes[i].light == (light == 1))
                pv_draw_bar(a->drawing, pv_sub(strokes[i].a, a->sheet->origin),
                            pv_sub(strokes[i].b, a->sheet->origin),
                            pv_gain_stroke(strokes[i].width, a->ink, light == 1));
        if (a->drawing->n_ops > before)
            pv_draw_fill(a->drawing, light ? white : pv_ink, false);
    }
    free(strokes);
    for (size_t i = 0; i < a->sheet->n_bars; i++) {
        const pv_bar *bar = &a->sheet->bar[i];
        double length = bar->count * bar->step, half = PV_BAR_WEIGHT / 2;
        pv_vec end = bar->vertical ? pv_v(bar->tick, length) : pv_v(length, bar->tick);
        pv_vec side = bar->vertical ? pv_v(0, half) : pv_v(half, 0);
        pv_space_take(&a->space,
                      (pv_box){pv_sub(bar->at, side), pv_add(pv_add(bar->at, end), side)});
    }
    return true;
}

/* The black cells as few rectangles: runs of a row, each as far down as the same run goes on. */
static void draw_cells(pv_drawing *d, uint8_t cells[PV_TAG_CELLS][PV_TAG_CELLS], pv_vec upper_left,
                       double size)
{
    for (int row = 0; row < PV_TAG_CELLS; row++) {
        for (int from = 0; from < PV_TAG_CELLS; from++) {
            if (!cells[row][from])
                continue;
            int to = from, end = row + 1;
            while (to < PV_TAG_CELLS && cells[row][to])
                to++;
            for (bool same = true; same && end < PV_TAG_CELLS; end += same)
                for (int i = from; i < to; i++)
                    same = same && cells[end][i];
            for (int k = row; k < end; k++)
                for (int i = from; i < to; i++)
                    cells[k][i] = 0;
            pv_draw_box(d, (pv_box){{upper_left.x + size * from, upper_left.y - size * end},
                                    {upper_left.x + size * to, upper_left.y - size * row}});
        }
    }
}

static bool black(uint8_t cells[PV_TAG_CELLS][PV_TAG_CELLS], int row, int column)
{
    return row >= 0 && column >= 0 && row < PV_TAG_CELLS && column < PV_TAG_CELLS &&
           cells[row][column] != 0;
}

/* For ink that spreads: every cell is drawn smaller where it meets white, and reaches into its
 * black neighbours, so that no seam shows. */
static void draw_gained_cells(pv_drawing *d, uint8_t cells[PV_TAG_CELLS][PV_TAG_CELLS],
                              pv_vec upper_left, double size, double ink)
{
    double in = fmin(ink, size / 4), reach = size / 2;
    for (int row = 0; row < PV_TAG_CELLS; row++)
        for (int column = 0; column < PV_TAG_CELLS; column++) {
            if (!black(cells, row, column))
                continue;
            pv_box cell = {{upper_left.x + size * column, upper_left.y - size * (row + 1)},
                           {upper_left.x + size * (column + 1), upper_left.y - size * row}};
            bool left = black(cells, row, column - 1), right = black(cells, row, column + 1);
            bool up = black(cells, row - 1, column), down = black(cells, row + 1, column);
            pv_box wide = cell, tall = cell;
            wide.lo.x += left ? -reach : in;
            wide.hi.x -= right ? -reach : in;
            wide.lo.y += in;
            wide.hi.y -= in;
            tall.lo.x += in;
            tall.hi.x -= in;
            tall.lo.y += down ? -reach : in;
            tall.hi.y -= up ? -reach : in;
            pv_draw_box(d, wide);
            pv_draw_box(d, tall);
            /* The corner that four black cells share. */
            if (right && down && black(cells, row + 1, column + 1))
                pv_draw_box(d, (pv_box){{cell.hi.x - reach, cell.lo.y - reach},
                                        {cell.hi.x + reach, cell.lo.y + reach}});
        }
}

bool pv_draw_tags(pv_anatomy *a)
{
    for (int i = 0; i < PV_TAG_PLACES; i++) {
        const pv_tag *tag = &a->sheet->tag[i];
        uint8_t cells[PV_TAG_CELLS][PV_TAG_CELLS];
        if (!pv_tag_cells(tag->id, cells, a->diags))
            return false;
        double half = tag->cell * PV_TAG_CELLS / 2;
        pv_vec upper_left = pv_add(tag->centre, pv_v(-half, half));
        if (a->ink == 0)
            draw_cells(a->drawing, cells, upper_left, tag->cell);
        else
            draw_gained_cells(a->drawing, cells, upper_left, tag->cell, a->ink);
        pv_draw_fill(a->drawing, pv_ink, false);
        pv_space_take(&a->space, pv_tag_box(tag));
    }
    return true;
}

void pv_draw_comb(pv_anatomy *a)
{
    pv_box teeth[PV_CARD_TEETH_MAX];
    size_t n = pv_sheet_card_teeth(a->sheet, teeth);
    for (size_t i = 0; i < n; i++)
        pv_draw_box(a->drawing, pv_box_grow(teeth[i], -a->ink));
    if (n > 0)
        pv_draw_fill(a->drawing, pv_ink, false);
}

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
        pv_draw_bar(a->drawing, start, end, HAIRLINE);
        pv_space_take(&a->space, box);
        return true;
    }
    return false;
}

/* The two marks of a corner. Where a mat fills the roll there is no room for one of them; then the
 * other begins right at the corner, so that the edge runs through where the marks begin. */
static void cut_corner(pv_anatomy *a, int h, int v)
{
    const pv_box *art = &a->space.art, *trim = &a->drawing->trim;
    pv_vec up = {h == PV_LEFT ? trim->lo.x : trim->hi.x, v == PV_BOTTOM ? art->lo.y : art->hi.y};
    pv_vec across = {h == PV_LEFT ? art->lo.x : art->hi.x,
                     v == PV_BOTTOM ? trim->lo.y : trim->hi.y};
    pv_vec out_up = {0, v == PV_BOTTOM ? -1 : 1}, out_across = {h == PV_LEFT ? -1 : 1, 0};
    bool has_up = a->sheet->side[h] != PV_UNDER && cut_mark(a, up, out_up);
    bool has_across = a->sheet->side[v] != PV_UNDER && cut_mark(a, across, out_across);
    if (a->sheet->side[h] != PV_OUTER || a->sheet->side[v] != PV_OUTER || has_up == has_across)
        return;
    pv_vec from = has_up ? up : across, out = has_up ? out_up : out_across;
    pv_draw_bar(a->drawing, from, pv_along(from, out, PV_SPACE_GAP), HAIRLINE);
}

void pv_draw_cut_marks(pv_anatomy *a)
{
    for (int h = PV_LEFT; h <= PV_RIGHT; h += 2)
        for (int v = PV_BOTTOM; v <= PV_TOP; v += 2)
            cut_corner(a, h, v);
    pv_draw_fill(a->drawing, pv_ink, false);
}

/* ---- the map ---- */

/* The grid's lines run through, one to a column and one to a row; where they would run together,
 * only the frame is drawn, and this sheet's cell no smaller than can be seen. */
static void map_lines(pv_anatomy *a, pv_box map, double scale)
{
    pv_drawing *d = a->drawing;
    const pv_plan *plan = a->plan;
    double width = map.hi.x - map.lo.x, height = map.hi.y - map.lo.y;
    for (size_t c = 0; c <= plan->columns; c++) {
        bool frame = c == 0 || c == plan->columns;
        double x =
            frame ? (c == 0 ? map.lo.x : map.hi.x) : map.lo.x + scale * plan->sheets[c].cell.lo.x;
        if (frame || width >= MAP_PITCH * (double)plan->columns)
            pv_draw_bar(d, pv_v(x, map.lo.y - MAP_LINE / 2), pv_v(x, map.hi.y + MAP_LINE / 2),
                        MAP_LINE);
    }
    for (size_t r = 0; r <= plan->rows; r++) {
        bool frame = r == 0 || r == plan->rows;
        double y = frame ? (r == 0 ? map.hi.y : map.lo.y)
                         : map.lo.y + scale * plan->sheets[r * plan->columns].cell.hi.y;
        if (frame || height >= MAP_PITCH * (double)plan->rows)
            pv_draw_bar(d, pv_v(map.lo.x, y), pv_v(map.hi.x, y), MAP_LINE);
    }
    pv_box cell = a->sheet->cell;
    pv_vec middle = pv_along(map.lo, pv_box_middle(cell), scale);
    double half_w = fmax(scale * (cell.hi.x - cell.lo.x), MAP_PITCH) / 2;
    double half_h = fmax(scale * (cell.hi.y - cell.lo.y), MAP_PITCH) / 2;
    middle.x = fmin(fmax(middle.x, map.lo.x + half_w), map.hi.x - half_w);
    middle.y = fmin(fmax(middle.y, map.lo.y + half_h), map.hi.y - half_h);
    pv_draw_box(d, (pv_box){{middle.x - half_w, middle.y - half_h},
                            {middle.x + half_w, middle.y + half_h}});
    pv_draw_fill(d, pv_ink, false);
}

void pv_draw_map(pv_anatomy *a)
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
static void draw_arrow(pv_drawing *d, pv_box box)
{
    double w = box.hi.x - box.lo.x, h = box.hi.y - box.lo.y, x = (box.lo.x + box.hi.x) / 2;
    double neck = box.hi.y - fmin(w, 0.6 * h), stem = w / 6;
    pv_draw_move(d, pv_v(x, box.hi.y));
    pv_draw_line(d, pv_v(box.lo.x, neck));
    pv_draw_line(d, pv_v(x - stem, neck));
    pv_draw_line(d, pv_v(x - stem, box.lo.y));
    pv_draw_line(d, pv_v(x + stem, box.lo.y));
    pv_draw_line(d, pv_v(x + stem, neck));
    pv_draw_line(d, pv_v(box.hi.x, neck));
    pv_draw_close(d);
    pv_draw_fill(d, pv_ink, false);
}

/* Beside the words where they stand upright, beyond their end where they are turned: it points up
 * the page either way. */
void pv_draw_way_up(pv_anatomy *a)
{
    static const char words[] = "this way up";
    static const int sides[] = {PV_TOP, PV_LEFT, PV_RIGHT, PV_BOTTOM};
    for (int try = 0; try < ARROW_TRIES; try++) {
        double em = ARROW_EM - 0.2 * try;
        double tall = em * pv_text_height(words), wide = em * pv_draw_ems(a->drawing, words, false);
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
                draw_arrow(a->drawing, (pv_box){box.lo, {box.lo.x + arrow, box.hi.y}});
                text.lo.x += arrow + ARROW_GAP;
            } else {
                draw_arrow(a->drawing, (pv_box){{box.lo.x, box.hi.y - arrow}, box.hi});
                text.hi.y -= arrow + ARROW_GAP;
            }
            pv_draw_words(a, text, turned, em, false, words);
            return;
        }
    }
}
