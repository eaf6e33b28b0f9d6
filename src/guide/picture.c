/* The two pictures of a step. */
#include "guide/picture.h"

/* Layout: chosen. */
#define ROOM 5.0 /* units about the page in the picture of cutting: for scissors */
#define SHORT                                                                                      \
    1.5 /* units that a cut ends before the edge of the page where the next one crosses it */
#define STUB       0.33 /* of the sheet's cell: so much of its neighbours is shown */
#define PALE       0.62 /* of white in what lies already */
#define TAPE       4.0  /* units, its width */
#define ARROW      9.0
#define NAME       5.0
#define NAME_BY    3.2
#define CROSSES_IN 5.0 /* units: closer to each other, not each cross is shown */

static bool upright(pv_side side)
{
    return side == PV_LEFT || side == PV_RIGHT;
}

/* Out of the sheet across a side. */
static pv_vec outwards(pv_side side)
{
    double way = side == PV_RIGHT || side == PV_TOP ? 1 : -1;
    return upright(side) ? pv_v(way, 0) : pv_v(0, way);
}

static pv_box page_box(const pv_plan *plan, const pv_sheet *sheet)
{
    return (pv_box){sheet->origin, pv_add(sheet->origin, pv_v(plan->page[0], plan->page[1]))};
}

/* ---- cutting ---- */

/* How far a cut's line reaches past the page; short of its edge, and negative, where the side there
 * is cut as well: the strip carries a mark of that side. */
static double cut_past(const pv_pen *pen, const pv_guide_step *step, pv_side there, double strip)
{
    return step->side[there].cut ? -fmin(SHORT * pen->unit, strip / 2) : 0.3 * ROOM * pen->unit;
}

static void draw_cut_line(const pv_pen *pen, const pv_guide_step *step, pv_side side, pv_box page,
                          pv_box trim)
{
    bool up = upright(side);
    double first = up ? cut_past(pen, step, PV_BOTTOM, trim.lo.y - page.lo.y)
                      : cut_past(pen, step, PV_LEFT, trim.lo.x - page.lo.x);
    double last = up ? cut_past(pen, step, PV_TOP, page.hi.y - trim.hi.y)
                     : cut_past(pen, step, PV_RIGHT, page.hi.x - trim.hi.x);
    double at = side == PV_LEFT     ? trim.lo.x
                : side == PV_BOTTOM ? trim.lo.y
                : side == PV_RIGHT  ? trim.hi.x
                                    : trim.hi.y;
    pv_vec a = up ? pv_v(at, page.lo.y - first) : pv_v(page.lo.x - first, at);
    pv_vec b = up ? pv_v(at, page.hi.y + last) : pv_v(page.hi.x + last, at);
    pv_pen_bar(pen, a, b, 0.9, pv_guide_white);
    pv_pen_dashes(pen, a, b, 0.5, pv_guide_black);
    pv_vec ahead = pv_unit(pv_sub(b, a));
    pv_pen_scissors(pen, pv_along(a, ahead, first - 0.3 * ROOM * pen->unit - 0.5 * pen->unit),
                    ahead);
}

/* Along the page's own edge. */
static void draw_kept_edge(const pv_pen *pen, pv_side side, pv_box page)
{
    double w = 1.6 * pen->unit;
    pv_box bar = page;
    switch (side) {
    case PV_LEFT:
        bar.hi.x = bar.lo.x + w;
        break;
    case PV_BOTTOM:
        bar.hi.y = bar.lo.y + w;
        break;
    case PV_RIGHT:
        bar.lo.x = bar.hi.x - w;
        break;
    case PV_TOP:
        bar.lo.y = bar.hi.y - w;
        break;
    }
    pv_pen_fill(pen, bar, pv_guide_grey);
}

void pv_guide_draw_cut(const pv_pen *pen, const pv_guide *guide, const pv_guide_step *step,
                       pv_box frame)
{
    const pv_plan *plan = guide->plan;
    const pv_sheet *sheet = &plan->sheets[step->sheet];
    pv_guide_view view =
        pv_guide_view_of(page_box(plan, sheet), pv_box_grow(frame, -ROOM * pen->unit));
    pv_box page = pv_guide_place_box(&view, page_box(plan, sheet));
    pv_box piece = pv_guide_place_box(&view, pv_guide_piece(plan, sheet));
    pv_pen_fill(pen, page, pv_guide_white);
    pv_guide_art(pen, &view, plan, pv_sheet_art_box(plan, sheet), 0);
    pv_pen_hatch(pen, page, &piece, false);
    pv_pen_frame(pen, page, 0.25, pv_guide_grey);
    for (pv_side side = PV_LEFT; side <= PV_TOP; side++)
        if (!step->side[side].cut)
            draw_kept_edge(pen, side, piece);
    pv_box trim = pv_guide_place_box(&view, pv_sheet_trim_box(plan, sheet));
    for (pv_side side = PV_LEFT; side <= PV_TOP; side++)
        if (step->side[side].cut)
            draw_cut_line(pen, step, side, page, trim);
    pv_pen_label(pen, pv_box_middle(trim), NAME, true, sheet->name);
}

/* ---- laying ---- */

typedef struct laying {
    const pv_pen *pen;
    const pv_guide *guide;
    const pv_guide_step *step;
    const pv_sheet *sheet;
    pv_box window; /* mat */
    pv_guide_view view;
} laying;

/* A piece that lies, as far as the window shows it. */
static void draw_piece(const laying *l, const pv_sheet *sheet, double pale)
{
    const pv_plan *plan = l->guide->plan;
    pv_box piece = pv_guide_piece(plan, sheet), shown = pv_guide_common(piece, l->window);
    if (!pv_guide_open(shown))
        return;
    pv_pen_fill(l->pen, pv_guide_place_box(&l->view, shown), pv_guide_white);
    pv_guide_art(l->pen, &l->view, plan, pv_guide_common(shown, pv_sheet_art_box(plan, sheet)),
                 pale);
    pv_pen_frame(l->pen, pv_guide_place_box(&l->view, shown), 0.2, pv_guide_grey);
}

/* Neighbours, across corners too, in the order in which they were laid. */
static void draw_neighbours(const laying *l)
{
    const pv_plan *plan = l->guide->plan;
    const pv_sheet *own = l->sheet;
    size_t near[8], n = 0;
    for (int down = -1; down <= 1; down++)
        for (int right = -1; right <= 1; right++) {
            if ((down == 0 && right == 0) || (down < 0 && own->row == 0) ||
                (right < 0 && own->column == 0) || (down > 0 && own->row + 1 == plan->rows) ||
                (right > 0 && own->column + 1 == plan->columns))
                continue;
            size_t i =
                (size_t)((long long)l->step->sheet + down * (long long)plan->columns + right);
            if (l->guide->turn[i] >= l->step->number - 1)
                continue;
            size_t k = n++;
            for (; k > 0 && l->guide->turn[near[k - 1]] > l->guide->turn[i]; k--)
                near[k] = near[k - 1];
            near[k] = i;
        }
    for (size_t i = 0; i < n; i++)
        draw_piece(l, &plan->sheets[near[i]], PALE);
    for (size_t i = 0; i < n; i++) {
        const pv_sheet *sheet = &plan->sheets[near[i]];
        if (sheet->row != own->row && sheet->column != own->column)
            continue;
        pv_box shown = pv_guide_common(sheet->cell, l->window);
        pv_pen_label(l->pen, pv_guide_place(&l->view, pv_box_middle(shown)), NAME_BY, false,
                     sheet->name);
    }
}

/* The new sheet, with a shadow where its edge lies on top, and where later seams will be. */
static void draw_new(const laying *l)
{
    const pv_plan *plan = l->guide->plan;
    const pv_pen *pen = l->pen;
    for (pv_side side = PV_LEFT; side <= PV_TOP; side++) {
        pv_vec end[2], out = pv_scale(outwards(side), 0.6 * pen->unit);
        pv_guide_edge(plan, l->sheet, side, end);
        if (l->step->side[side].on_top)
            pv_pen_bar(pen, pv_add(pv_guide_place(&l->view, end[0]), out),
                       pv_add(pv_guide_place(&l->view, end[1]), out), 1.2, pv_guide_grey);
    }
    draw_piece(l, l->sheet, 0);
    pv_pen_frame(
        pen,
        pv_guide_place_box(&l->view, pv_guide_common(pv_guide_piece(plan, l->sheet), l->window)),
        0.45, pv_guide_black);
    for (pv_side side = PV_LEFT; side <= PV_TOP; side++) {
        pv_vec end[2];
        pv_guide_edge(plan, l->sheet, side, end);
        pv_vec a = pv_guide_place(&l->view, end[0]), b = pv_guide_place(&l->view, end[1]);
        if (l->step->side[side].on_top)
            pv_pen_bar(pen, a, b, 1.0, pv_guide_black);
        else if (!l->step->side[side].cut)
            pv_pen_dashes(pen, a, b, 0.2, pv_guide_grey);
    }
}

static void draw_tape(const laying *l, pv_side side)
{
    pv_vec end[2];
    pv_guide_edge(l->guide->plan, l->sheet, side, end);
    pv_box strip = {pv_guide_place(&l->view, end[0]), pv_guide_place(&l->view, end[1])};
    double half = TAPE * l->pen->unit / 2;
    *(upright(side) ? &strip.lo.x : &strip.lo.y) -= half;
    *(upright(side) ? &strip.hi.x : &strip.hi.y) += half;
    pv_pen_tape(l->pen, strip, !l->step->side[side].on_top);
}

static void draw_crosses(const laying *l, const pv_guide_side *side)
{
    double least = CROSSES_IN * l->pen->unit / l->view.k;
    for (size_t i = 0, shown = 0; i < side->n_crosses; i++) {
        if (i > 0 && i + 1 < side->n_crosses &&
            pv_dist(side->crosses[i].at, side->crosses[shown].at) < least)
            continue;
        shown = i;
        pv_pen_cross(l->pen, pv_guide_place(&l->view, side->crosses[i].at));
    }
}

static void draw_arrows(const laying *l, pv_side side)
{
    const pv_guide_side *s = &l->step->side[side];
    pv_vec end[2];
    pv_guide_edge(l->guide->plan, l->sheet, side, end);
    for (size_t i = 0; i < s->n_crossings; i++) {
        const pv_crossing *c = &s->crossings[i];
        double way = c->forward ? 1 : -1;
        pv_vec at = upright(side) ? pv_v(end[0].x, c->along) : pv_v(c->along, end[0].y);
        pv_pen_arrow(l->pen, pv_guide_place(&l->view, at),
                     upright(side) ? pv_v(way, 0) : pv_v(0, way), ARROW);
    }
}

/* As much of the neighbours as helps, and of the mat's surroundings what an edge's pen needs. */
static pv_box window_of(const pv_plan *plan, const pv_sheet *sheet)
{
    pv_box trim = pv_sheet_trim_box(plan, sheet);
    double stub = STUB * fmin(trim.hi.x - trim.lo.x, trim.hi.y - trim.lo.y);
    pv_box mat = pv_box_grow((pv_box){{0, 0}, plan->art.size}, plan->border + 0.05 * stub);
    return pv_guide_common(pv_box_grow(trim, stub), mat);
}

void pv_guide_draw_lay(const pv_pen *pen, const pv_guide *guide, const pv_guide_step *step,
                       pv_box frame)
{
    laying l = {.pen = pen, .guide = guide, .step = step};
    l.sheet = &guide->plan->sheets[step->sheet];
    l.window = window_of(guide->plan, l.sheet);
    l.view = pv_guide_view_of(l.window, pv_box_grow(frame, -pen->unit));
    draw_neighbours(&l);
    draw_new(&l);
    for (pv_side side = PV_LEFT; side <= PV_TOP; side++)
        if (step->side[side].joins)
            draw_tape(&l, side);
    for (pv_side side = PV_LEFT; side <= PV_TOP; side++)
        draw_arrows(&l, side);
    for (pv_side side = PV_LEFT; side <= PV_TOP; side++) /* over all that could hide them */
        if (step->side[side].joins)
            draw_crosses(&l, &step->side[side]);
    pv_pen_label(pen, pv_guide_place(&l.view, pv_box_middle(l.sheet->cell)), NAME, true,
                 l.sheet->name);
}
