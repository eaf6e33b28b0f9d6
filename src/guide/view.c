/* A part of the mat in a frame. */
#include "draw/art.h"
#include "guide/picture.h"

pv_guide_view pv_guide_view_of(pv_box window, pv_box frame)
{
    double w = window.hi.x - window.lo.x, h = window.hi.y - window.lo.y;
    double k = fmin((frame.hi.x - frame.lo.x) / w, (frame.hi.y - frame.lo.y) / h);
    pv_vec middle = pv_box_middle(frame);
    return (pv_guide_view){window.lo, pv_v(middle.x - k * w / 2, middle.y - k * h / 2), k};
}

pv_vec pv_guide_place(const pv_guide_view *view, pv_vec mat)
{
    return pv_along(view->at, pv_sub(mat, view->from), view->k);
}

pv_box pv_guide_place_box(const pv_guide_view *view, pv_box mat)
{
    return (pv_box){pv_guide_place(view, mat.lo), pv_guide_place(view, mat.hi)};
}

pv_box pv_guide_common(pv_box a, pv_box b)
{
    return (pv_box){{fmax(a.lo.x, b.lo.x), fmax(a.lo.y, b.lo.y)},
                    {fmin(a.hi.x, b.hi.x), fmin(a.hi.y, b.hi.y)}};
}

bool pv_guide_open(pv_box box)
{
    return box.hi.x - box.lo.x > 1e-9 && box.hi.y - box.lo.y > 1e-9;
}

static uint8_t paler(uint8_t code, double pale)
{
    return (uint8_t)lround(code + (255 - code) * pale);
}

void pv_guide_art(const pv_pen *pen, const pv_guide_view *view, const pv_plan *plan, pv_box window,
                  double pale)
{
    window = pv_guide_common(window, (pv_box){{0, 0}, plan->art.size});
    if (!pv_guide_open(window))
        return;
    pv_drawing art;
    pv_drawing_init(&art, pen->d->type, window.hi.x - window.lo.x, window.hi.y - window.lo.y);
    pv_draw_mat(&art, plan->mat, window, window.lo);
    for (size_t i = 0; i < art.n_ops; i++)
        for (int c = 0; c < 3; c++)
            art.ops[i].rgb[c] = paler(art.ops[i].rgb[c], pale);
    pv_draw_box(pen->d, pv_guide_place_box(view, window));
    pv_draw_clip(pen->d);
    pv_draw_drawing(pen->d, &art, pv_guide_place(view, window.lo), view->k);
    pv_draw_end_clip(pen->d);
    pv_drawing_clear(&art);
}

pv_box pv_guide_piece(const pv_plan *plan, const pv_sheet *sheet)
{
    pv_box piece = pv_sheet_trim_box(plan, sheet);
    pv_vec page = pv_add(sheet->origin, pv_v(plan->page[0], plan->page[1]));
    if (sheet->side[PV_LEFT] == PV_UNDER)
        piece.lo.x = sheet->origin.x;
    if (sheet->side[PV_BOTTOM] == PV_UNDER)
        piece.lo.y = sheet->origin.y;
    if (sheet->side[PV_RIGHT] == PV_UNDER)
        piece.hi.x = page.x;
    if (sheet->side[PV_TOP] == PV_UNDER)
        piece.hi.y = page.y;
    return piece;
}

void pv_guide_edge(const pv_plan *plan, const pv_sheet *sheet, pv_side side, pv_vec end[2])
{
    pv_box b = pv_sheet_trim_box(plan, sheet);
    end[0] = side == PV_RIGHT ? pv_v(b.hi.x, b.lo.y) : side == PV_TOP ? pv_v(b.lo.x, b.hi.y) : b.lo;
    end[1] = side == PV_LEFT     ? pv_v(b.lo.x, b.hi.y)
             : side == PV_BOTTOM ? pv_v(b.hi.x, b.lo.y)
                                 : b.hi;
}
