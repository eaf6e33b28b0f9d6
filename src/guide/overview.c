/* The picture of the whole mat. */
#include "draw/strokes.h"
#include "guide/picture.h"

/* Layout: chosen. */
#define PALE        0.68 /* of white in the art */
#define MARGIN      6.0  /* units, left and above: row letters and column numbers */
#define NUMBER      0.5  /* of a cell's smaller side */
#define NUMBER_MOST 13.0 /* units */
#define NAME        0.48 /* of the number's disc */
#define ARROWS      60.0 /* units of the run between two arrows */
#define ARROWS_MOST 500

typedef struct whole {
    const pv_pen *pen;
    const pv_guide *guide;
    pv_guide_view view;
    double disc; /* units */
} whole;

/* ---- seams ---- */

/* A seam as a thin line, and thick on the side of the sheet that lies on top. */
static void draw_seam(const whole *w, const pv_seam *seam)
{
    const pv_plan *plan = w->guide->plan;
    const pv_sheet *over = &plan->sheets[seam->over], *under = &plan->sheets[seam->under];
    pv_vec a = seam->vertical ? pv_v(seam->at, seam->from) : pv_v(seam->from, seam->at);
    pv_vec b = seam->vertical ? pv_v(seam->at, seam->to) : pv_v(seam->to, seam->at);
    a = pv_guide_place(&w->view, a);
    b = pv_guide_place(&w->view, b);
    pv_pen_bar(w->pen, a, b, 0.25, pv_guide_black);
    if (plan->joint == PV_JOINT_BUTT)
        return;
    double way = seam->vertical ? (over->column > under->column ? 1 : -1)
                                : (over->row < under->row ? 1 : -1);
    double wide = fmin(0.9, 0.08 * w->disc);
    pv_vec aside = pv_scale(seam->vertical ? pv_v(way, 0) : pv_v(0, way), wide / 2 * w->pen->unit);
    pv_vec in = pv_scale(pv_unit(pv_sub(b, a)), 0.12 * pv_dist(a, b));
    pv_pen_bar(w->pen, pv_add(pv_add(a, in), aside), pv_add(pv_sub(b, in), aside), wide,
               pv_guide_black);
}

/* ---- the robot's run ---- */

static void draw_way(const whole *w, double width, const uint8_t rgb[3])
{
    const pv_plan *plan = w->guide->plan;
    for (size_t i = 0; i < plan->n_route; i++) {
        pv_piece piece = plan->route[i];
        piece.a = pv_guide_place(&w->view, piece.a);
        piece.b = pv_guide_place(&w->view, piece.b);
        piece.centre = pv_guide_place(&w->view, piece.centre);
        piece.radius *= w->view.k;
        if (pv_piece_length(&piece) > 0)
            pv_draw_piece(w->pen->d, &piece, width * w->pen->unit);
    }
    pv_draw_fill(w->pen->d, rgb, false);
}

static void draw_run(const whole *w)
{
    const pv_plan *plan = w->guide->plan;
    if (plan->n_route == 0)
        return;
    draw_way(w, 1.1, pv_guide_white);
    draw_way(w, 0.45, pv_guide_run);
    double every = ARROWS * w->pen->unit / w->view.k, next = every / 4, done = 0;
    int n = 0;
    for (size_t i = 0; i < plan->n_route; i++) {
        double length = pv_piece_length(&plan->route[i]);
        while (next <= done + length && n < ARROWS_MOST) {
            pv_pen_arrow(w->pen,
                         pv_guide_place(&w->view, pv_piece_point(&plan->route[i], next - done)),
                         pv_piece_heading(&plan->route[i], next - done), 5);
            next += every;
            n++;
        }
        done += length;
    }
}

/* ---- numbers ---- */

static void draw_numbers(const whole *w)
{
    const pv_guide *guide = w->guide;
    for (size_t i = 0; i < guide->n; i++) {
        const pv_sheet *sheet = &guide->plan->sheets[guide->steps[i].sheet];
        pv_vec at = pv_guide_place(&w->view, pv_box_middle(sheet->cell));
        double name = NAME * w->disc;
        bool named = name >= 1.7;
        if (named)
            pv_pen_label(w->pen, pv_v(at.x, at.y - 0.66 * w->disc * w->pen->unit), name, false,
                         sheet->name);
        pv_pen_number(w->pen, named ? pv_v(at.x, at.y + 0.12 * w->disc * w->pen->unit) : at,
                      w->disc, guide->steps[i].number);
    }
}

/* Beside the mat: rows left, columns above; of many not each. */
static void draw_heads(const whole *w)
{
    const pv_plan *plan = w->guide->plan;
    double em = 3 * w->pen->unit, cap = em * pv_type_cap(w->pen->d->type);
    pv_box mat = pv_guide_place_box(&w->view, (pv_box){{0, 0}, plan->art.size});
    pv_vec last = pv_v(-HUGE_VAL, HUGE_VAL);
    for (size_t i = 0; i < plan->n_sheets; i++) {
        const pv_sheet *sheet = &plan->sheets[i];
        pv_vec at = pv_guide_place(&w->view, pv_box_middle(sheet->cell));
        const char *digits = sheet->name;
        while (*digits >= 'A')
            digits++;
        if (sheet->row == 0 && at.x - last.x >= 2 * em) {
            double half = em * pv_draw_ems(w->pen->d, digits, true) / 2;
            pv_draw_text(w->pen->d, pv_v(at.x - half, mat.hi.y + 0.7 * em), em, 0, true,
                         pv_guide_grey, digits);
            last.x = at.x;
        }
        if (sheet->column == 0 && last.y - at.y >= 1.2 * em) {
            char letters[sizeof sheet->name] = "";
            for (size_t k = 0; sheet->name + k < digits; k++)
                letters[k] = sheet->name[k];
            double wide = em * pv_draw_ems(w->pen->d, letters, true);
            pv_draw_text(w->pen->d, pv_v(mat.lo.x - wide - 0.6 * em, at.y - cap / 2), em, 0, true,
                         pv_guide_grey, letters);
            last.y = at.y;
        }
    }
}

static double disc_size(const whole *w)
{
    double least = HUGE_VAL;
    const pv_plan *plan = w->guide->plan;
    for (size_t i = 0; i < plan->n_sheets; i++) {
        pv_box cell = plan->sheets[i].cell;
        least = fmin(least, fmin(cell.hi.x - cell.lo.x, cell.hi.y - cell.lo.y));
    }
    return fmin(NUMBER * least * w->view.k / w->pen->unit, NUMBER_MOST);
}

void pv_guide_draw_whole(const pv_pen *pen, const pv_guide *guide, pv_box frame)
{
    const pv_plan *plan = guide->plan;
    pv_box mat = {{0, 0}, plan->art.size}, edge = pv_box_grow(mat, plan->border);
    whole w = {.pen = pen, .guide = guide};
    frame.lo.x += MARGIN * pen->unit;
    frame.hi.y -= MARGIN * pen->unit;
    w.view = pv_guide_view_of(edge, frame);
    w.disc = disc_size(&w);
    pv_guide_art(pen, &w.view, plan, mat, PALE);
    pv_pen_frame(pen, pv_guide_place_box(&w.view, edge), 0.4, pv_guide_black);
    for (size_t i = 0; i < plan->n_seams; i++)
        draw_seam(&w, &plan->seams[i]);
    draw_run(&w);
    draw_numbers(&w);
    draw_heads(&w);
}
