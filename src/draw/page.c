/* One page: the mat's art within its window, then the page's own items in their order. */
#include "base/memory.h"
#include "draw/art.h"
#include "draw/gain.h"
#include "scene/card.h"
#include "tag/tag.h"

static const uint8_t black_ink[3] = {0, 0, 0}, white_ink[3] = {255, 255, 255};

typedef struct painter {
    pv_drawing *drawing;
    const pv_scene *page;
    double ink; /* mm, by which all that is dark spreads */
} painter;

static pv_vec place(const painter *w, pv_vec mat)
{
    return pv_sub(mat, w->page->origin);
}

static pv_box place_box(const painter *w, pv_box mat)
{
    return (pv_box){place(w, mat.lo), place(w, mat.hi)};
}

/* ---- strokes and ticks ---- */

static void draw_bars(painter *w, size_t colour)
{
    size_t before = w->drawing->n_ops;
    bool light = colour == PV_COLOUR_WHITE;
    for (size_t i = 0; i < w->page->n_items; i++) {
        const pv_item *item = &w->page->items[i];
        if ((item->kind == PV_ITEM_STROKE || item->kind == PV_ITEM_TICK) && item->colour == colour)
            pv_draw_bar(w->drawing, place(w, item->u.bar.a), place(w, item->u.bar.b),
                        pv_gain_stroke(item->u.bar.width, w->ink, light));
    }
    if (w->drawing->n_ops > before)
        pv_draw_fill(w->drawing, light ? white_ink : black_ink, false);
}

/* ---- tags ---- */

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

static bool draw_tag(painter *w, const pv_item *item, pv_diags *diags)
{
    uint8_t cells[PV_TAG_CELLS][PV_TAG_CELLS];
    if (!pv_tag_cells(item->u.tag.id, cells, diags))
        return false;
    double half = item->u.tag.cell * PV_TAG_CELLS / 2;
    pv_vec upper_left = pv_add(place(w, item->u.tag.centre), pv_v(-half, half));
    if (w->ink == 0)
        draw_cells(w->drawing, cells, upper_left, item->u.tag.cell);
    else
        draw_gained_cells(w->drawing, cells, upper_left, item->u.tag.cell, w->ink);
    pv_draw_fill(w->drawing, black_ink, false);
    return true;
}

/* ---- what else there is ---- */

static void draw_comb(painter *w, const pv_item *item)
{
    pv_box teeth[PV_CARD_TEETH_MAX];
    size_t n = pv_card_teeth(place_box(w, item->u.card), teeth);
    for (size_t i = 0; i < n; i++)
        pv_draw_box(w->drawing, pv_box_grow(teeth[i], -w->ink));
    pv_draw_fill(w->drawing, black_ink, false);
}

/* Shapes of one number are one path; `last`: no more of it follow. */
static void draw_shape(painter *w, const pv_item *item, bool last)
{
    pv_draw_move(w->drawing, place(w, item->u.shape.corner[0]));
    for (size_t i = 1; i < item->u.shape.n; i++)
        pv_draw_line(w->drawing, place(w, item->u.shape.corner[i]));
    pv_draw_close(w->drawing);
    if (last)
        pv_draw_fill(w->drawing, black_ink, false);
}

static bool draw_item(painter *w, size_t i, pv_diags *diags)
{
    const pv_item *item = &w->page->items[i], *next = item + 1;
    bool last = i + 1 == w->page->n_items || next->kind != item->kind || next->of != item->of;
    switch (item->kind) {
    case PV_ITEM_TAG:
        return draw_tag(w, item, diags);
    case PV_ITEM_CARD:
        draw_comb(w, item);
        break;
    case PV_ITEM_SHAPE:
        draw_shape(w, item, last);
        break;
    case PV_ITEM_WORDS:
        pv_draw_text(w->drawing, place(w, item->u.words.at), item->u.words.em, item->u.words.angle,
                     item->u.words.bold, black_ink, w->page->chars + item->u.words.text);
        break;
    default: /* drawn before */
        break;
    }
    return true;
}

bool pv_draw_page(pv_drawing *drawing, const pv_scene *page, pv_type *type,
                  const pv_printer *printer, const pv_scene *mat, pv_diags *diags)
{
    painter w = {drawing, page, pv_printer_ink(printer)};
    pv_drawing_init(drawing, type, page->size.x, page->size.y);
    drawing->label = pv_copy_text(page->name);
    drawing->failed = drawing->label == NULL;
    drawing->trim = place_box(&w, page->trim);
    pv_draw_box(drawing, place_box(&w, page->window));
    pv_draw_clip(drawing);
    pv_draw_mat(drawing, mat, page->window, page->origin);
    pv_draw_end_clip(drawing);
    draw_bars(&w, PV_COLOUR_BLACK);
    draw_bars(&w, PV_COLOUR_WHITE);
    bool good = true;
    for (size_t i = 0; good && i < page->n_items; i++)
        good = draw_item(&w, i, diags);
    if (printer != NULL)
        pv_drawing_map(drawing,
                       pv_printer_inverse(printer, (double[]){page->size.x, page->size.y}));
    return good;
}
