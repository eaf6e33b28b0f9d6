#include "pose/target.h"

#include "base/memory.h"

#include <stdlib.h>

#define PITCH        4.0    /* mm between places along a line, at least */
#define LINE_PLACES  800    /* at most, on all lines of a sheet */
#define PIECE_TESTS  5e7    /* at most, to find out what is clear; about a second's worth */
#define SPOTS        33.0   /* looked at for one place */
#define LINE_BAND    1.5    /* mm */
#define LINE_CLEAR   2.0    /* mm of plain colour wanted at each side of a line */
#define LINE_MIN     1.6    /* mm: a narrower line has no plateau of its own once blurred */
#define SKIRT        0.2    /* mm, left out at both sides of an edge */
#define ARC_SAG      0.0005 /* mm that a band may miss an arc by, in the mean */
#define CONTRAST_MIN 0.05   /* linear light */
#define LIGHTER_MIN  0.02   /* luminance by which one colour is lighter for certain */
#define LEAN_MAX     0.1    /* of ink's spread, that a line's centre may move by */
#define STROKES_MAX  1500
#define TAG_CORNER   0.5 /* cells of a tag's side left out at both ends */
#define STROKE_ROOM  3.0 /* mm */

typedef struct target_list {
    pv_target *items;
    size_t n, cap;
    size_t marks; /* given out */
    double part;  /* of a piece, that the last mark is for; -1 before the first */
} target_list;

static bool add_target(target_list *list, const pv_target *target)
{
    if (!PV_GROW(list->items, list->n, list->cap))
        return false;
    list->items[list->n++] = *target;
    return true;
}

/* ---- strokes ---- */

/* How much plain ground there is beside a stroke at p, as far as other strokes tell. */
static double stroke_room(const pv_stroke *strokes, size_t n, size_t self, pv_vec p, pv_vec along,
                          double band)
{
    double room = STROKE_ROOM;
    for (size_t i = 0; i < n; i++) {
        if (i == self)
            continue;
        pv_vec a = pv_sub(strokes[i].a, p), b = pv_sub(strokes[i].b, p);
        double s0 = pv_dot(a, along), s1 = pv_dot(b, along);
        double half = strokes[i].width / 2, reach = band + half + SKIRT;
        if (fmin(s0, s1) > reach || fmax(s0, s1) < -reach)
            continue;
        double d0 = pv_cross_z(along, a), d1 = pv_cross_z(along, b);
        double near = d0 * d1 <= 0 ? 0 : fmin(fabs(d0), fabs(d1));
        room = fmin(room, near - half - SKIRT);
    }
    return room;
}

/* Each stroke of a cross is a mark of its own, each scale bar one with all its ticks: these come
 * last, and stand on the pixels alike where their step is a whole number of them. */
static size_t stroke_mark(const pv_sheet *sheet, size_t i, size_t n)
{
    for (size_t k = sheet->n_bars; k-- > 0;) {
        n -= (size_t)sheet->bar[k].count + 1;
        if (i >= n)
            return n;
    }
    return i;
}

static bool list_strokes(const pv_plan *plan, const pv_sheet *sheet, target_list *list)
{
    pv_stroke *strokes = NULL;
    size_t n = 0;
    if (!pv_sheet_strokes(plan, sheet, &strokes, &n))
        return false;
    bool good = true;
    size_t stride = n / STROKES_MAX + 1;
    for (size_t i = 0; good && i < n; i += stride) {
        const pv_stroke *s = &strokes[i];
        double length = pv_dist(s->a, s->b);
        if (!(length > 0))
            continue;
        /* A quarter from either end: clear of the crossing in a cross's middle, and of the ends. */
        for (int k = 0; good && k < 2; k++) {
            pv_vec along = pv_unit(pv_sub(s->b, s->a));
            pv_vec p = pv_along(s->a, along, length * (k == 0 ? 0.25 : 0.75));
            pv_vec at = pv_sub(p, sheet->origin);
            double band = 0.14 * length;
            pv_target t = {.kind = PV_TARGET_STROKE,
                           .a = at,
                           .b = at,
                           .along = along,
                           .across = pv_left(along),
                           .width = s->width,
                           .band = band,
                           .mark = list->marks + stroke_mark(sheet, i, n)};
            t.room = stroke_room(strokes, n, i, p, along, band);
            if (t.room >= PV_STROKE_NEED)
                good = add_target(list, &t);
        }
    }
    list->marks += n;
    free(strokes);
    return good;
}

/* ---- tags ---- */

/* The white square's sides, all but its corners; beside them lies one plain cell. */
static bool list_tags(const pv_sheet *sheet, target_list *list)
{
    for (size_t i = 0; i < 2 * PV_TAG_PLACES; i++) {
        const pv_tag *tag = &sheet->tag[i / 2];
        double half = (PV_TAG_CELLS / 2.0 - PV_TAG_INSET) * tag->cell;
        pv_vec along = i % 2 == 0 ? pv_v(0, 1) : pv_v(1, 0), across = pv_left(along);
        pv_target t = {.kind = PV_TARGET_TAG,
                       .a = pv_along(tag->centre, across, -half),
                       .b = pv_along(tag->centre, across, half),
                       .along = along,
                       .across = across,
                       .width = 2 * half,
                       .band = half - TAG_CORNER * tag->cell,
                       .room = tag->cell,
                       .mark = list->marks++};
        if (!add_target(list, &t))
            return false;
    }
    return true;
}

/* ---- lines ---- */

/* The part of the art that meets a sheet; arrays are borrowed pieces of the plan's. */
typedef struct near_art {
    pv_art art;
    pv_box window;
    const pv_plan *plan;
    const pv_sheet *sheet;
    size_t pieces;
} near_art;

static void drop_near(near_art *near)
{
    free(near->art.lines);
    free(near->art.fills);
    free(near->art.marks);
}

static bool take_near(const pv_plan *plan, const pv_sheet *sheet, near_art *near)
{
    const pv_art *all = &plan->art;
    *near = (near_art){.art = *all, .window = sheet->cell, .plan = plan, .sheet = sheet};
    pv_art *art = &near->art;
    art->lines = PV_NEW_ARRAY(all->n_lines, pv_line);
    art->fills = PV_NEW_ARRAY(all->n_fills, pv_area);
    art->marks = PV_NEW_ARRAY(all->n_marks, pv_area);
    art->n_lines = art->n_fills = art->n_marks = 0;
    if (art->lines == NULL || art->fills == NULL || art->marks == NULL) {
        drop_near(near);
        return false;
    }
    for (size_t i = 0; i < all->n_lines; i++)
        if (pv_box_meets(pv_line_box(&all->lines[i]), near->window)) {
            near->pieces += all->lines[i].n_pieces;
            art->lines[art->n_lines++] = all->lines[i];
        }
    for (size_t i = 0; i < all->n_fills; i++)
        if (pv_box_meets(pv_area_box(&all->fills[i]), near->window))
            art->fills[art->n_fills++] = all->fills[i];
    for (size_t i = 0; i < all->n_marks; i++)
        if (pv_box_meets(pv_area_box(&all->marks[i]), near->window))
            art->marks[art->n_marks++] = all->marks[i];
    return true;
}

/* The stretch of a piece that may lie in a box, as distances from its start; exact for a segment.
 */
static bool clip_piece(const pv_piece *piece, pv_box box, double *from, double *to)
{
    *from = 0;
    *to = pv_piece_length(piece);
    if (piece->arc)
        return pv_box_meets(pv_piece_box(piece), box);
    pv_vec d = pv_unit(pv_sub(piece->b, piece->a));
    double at[2] = {piece->a.x, piece->a.y}, step[2] = {d.x, d.y};
    double lo[2] = {box.lo.x, box.lo.y}, hi[2] = {box.hi.x, box.hi.y};
    for (int k = 0; k < 2; k++) {
        if (fabs(step[k]) < 1e-12) {
            if (at[k] < lo[k] || at[k] > hi[k])
                return false;
            continue;
        }
        double s0 = (lo[k] - at[k]) / step[k], s1 = (hi[k] - at[k]) / step[k];
        *from = fmax(*from, fmin(s0, s1));
        *to = fmin(*to, fmax(s0, s1));
    }
    return *from < *to;
}

/* Whether a cross or lettering stands too close to be sure of plain colour. */
static bool is_furnished(const near_art *near, pv_box box)
{
    const pv_art *art = &near->art;
    for (size_t i = 0; i < art->n_letterings; i++)
        if (pv_box_meets(pv_lettering_box(&art->letterings[i]), box))
            return true;
    pv_box wide = pv_box_grow(box, PV_CROSS_ARM);
    for (int side = 0; side < 4; side++) {
        if (near->sheet->seam[side] >= near->plan->n_seams)
            continue;
        const pv_seam *seam = &near->plan->seams[near->sheet->seam[side]];
        for (size_t k = 0; k < seam->n_crosses; k++)
            if (pv_box_holds(wide, near->plan->crosses[seam->first_cross + k].at))
                return true;
    }
    return false;
}

static double colour_distance(const pv_art *art, size_t a, size_t b)
{
    double p[3], q[3], square = 0;
    pv_colour_linear(&art->colours[a], p);
    pv_colour_linear(&art->colours[b], q);
    for (int k = 0; k < 3; k++)
        square += (p[k] - q[k]) * (p[k] - q[k]);
    return sqrt(square);
}

/* Whether a line of colour `own` keeps its centre when ink spreads: it must be the darkest of the
 * three, or the lightest. Between a darker and a lighter side both edges move the same way. */
static bool is_level(const pv_art *art, size_t own, size_t left, size_t right)
{
    const pv_colour *colours = art->colours;
    double y = pv_colour_luminance(&colours[own]);
    double a = pv_colour_luminance(&colours[left]) - y;
    double b = pv_colour_luminance(&colours[right]) - y;
    pv_lean lean = pv_colour_lean(&colours[own], &colours[left], &colours[right]);
    return a * b > 0 && fabs(lean.left) + lean.doubt < LEAN_MAX &&
           colour_distance(art, own, left) > CONTRAST_MIN &&
           colour_distance(art, own, right) > CONTRAST_MIN && fmin(fabs(a), fabs(b)) > LIGHTER_MIN;
}

/* Whether at p, and a band to either side along the line, the line itself shows from edge to edge
 * and one plain colour at each side of it. */
static bool is_clear(const near_art *near, size_t line, pv_vec p, pv_vec along, double band)
{
    const pv_art *art = &near->art;
    double half = art->lines[line].width / 2;
    pv_vec across = pv_left(along);
    size_t side_colour[2] = {SIZE_MAX, SIZE_MAX};
    for (int k = -1; k <= 1; k++) {
        pv_vec on = pv_along(p, along, k * (band + 2 * SKIRT));
        for (int j = -1; j <= 1; j++) {
            pv_spot spot = pv_art_spot(art, pv_along(on, across, j * (half - SKIRT)));
            if (spot.line != (long)line || spot.mark)
                return false;
        }
        for (int side = 0; side < 2; side++)
            for (int j = 0; j < 4; j++) {
                double off = half + SKIRT + (LINE_CLEAR - SKIRT) * j / 3;
                pv_spot spot = pv_art_spot(art, pv_along(on, across, side == 0 ? -off : off));
                if (side_colour[side] == SIZE_MAX)
                    side_colour[side] = spot.colour;
                if (spot.colour != side_colour[side] || spot.mark)
                    return false;
            }
    }
    return is_level(art, art->lines[line].colour, side_colour[0], side_colour[1]);
}

/* One mark for each 20 mm of a piece; a piece's places come in order. */
static size_t line_mark(target_list *list, double s)
{
    double part = floor(s / PV_SIGHT_GROUP);
    if (part > list->part)
        list->marks++;
    list->part = part;
    return list->marks - 1;
}

static bool try_place(const near_art *near, size_t line, const pv_piece *piece, double s,
                      target_list *list)
{
    double half = near->art.lines[line].width / 2;
    double band = LINE_BAND;
    if (piece->arc)
        band = fmin(band, sqrt(6 * piece->radius * ARC_SAG));
    pv_vec p = pv_piece_point(piece, s), along = pv_piece_heading(piece, s);
    pv_vec across = pv_left(along);
    double reach_x = fabs(across.x) * (half + LINE_CLEAR) + fabs(along.x) * (band + 2 * SKIRT);
    double reach_y = fabs(across.y) * (half + LINE_CLEAR) + fabs(along.y) * (band + 2 * SKIRT);
    pv_box box = {pv_v(p.x - reach_x, p.y - reach_y), pv_v(p.x + reach_x, p.y + reach_y)};
    pv_box room = pv_box_grow(near->window, -SKIRT);
    if (!pv_box_holds(room, box.lo) || !pv_box_holds(room, box.hi) || is_furnished(near, box) ||
        !is_clear(near, line, p, along, band))
        return true;
    pv_vec at = pv_sub(p, near->sheet->origin);
    pv_target t = {.kind = PV_TARGET_LINE,
                   .a = pv_along(at, across, -half),
                   .b = pv_along(at, across, half),
                   .along = along,
                   .across = across,
                   .width = 2 * half,
                   .band = band,
                   .room = LINE_CLEAR,
                   .mark = line_mark(list, s)};
    return add_target(list, &t);
}

static bool list_line_places(const near_art *near, double pitch, target_list *list)
{
    for (size_t i = 0; i < near->art.n_lines; i++) {
        const pv_line *line = &near->art.lines[i];
        if (line->width < LINE_MIN)
            continue;
        double next = pitch / 2; /* along the part of the line inside */
        for (size_t k = 0; k < line->n_pieces; k++) {
            double from, to;
            if (!clip_piece(&line->pieces[k], near->window, &from, &to))
                continue;
            double left = to - from - next;
            list->part = -1;
            size_t count = left > 0 ? (size_t)(left / pitch) + 1 : 0;
            for (size_t j = 0; j < count; j++)
                if (!try_place(near, i, &line->pieces[k], from + next + (double)j * pitch, list))
                    return false;
            next += (double)count * pitch - (to - from);
        }
    }
    return true;
}

static bool list_lines(const pv_plan *plan, const pv_sheet *sheet, target_list *list)
{
    near_art near;
    if (!take_near(plan, sheet, &near))
        return false;
    double total = 0;
    for (size_t i = 0; i < near.art.n_lines; i++)
        for (size_t k = 0; k < near.art.lines[i].n_pieces; k++) {
            double from, to;
            if (clip_piece(&near.art.lines[i].pieces[k], near.window, &from, &to))
                total += to - from;
        }
    /* The work for one place grows with the pieces around: a plan of very many gets fewer places,
     * which is enough, rather than minutes. */
    double places = PIECE_TESTS / SPOTS / (double)(near.pieces + 1);
    places = fmin(LINE_PLACES, fmax(20, places));
    bool good = list_line_places(&near, fmax(PITCH, total / places), list);
    drop_near(&near);
    return good;
}

/* ---- all ---- */

static int by_group(const void *a, const void *b)
{
    const pv_target *p = a, *q = b;
    if (p->group != q->group)
        return p->group < q->group ? -1 : 1;
    if (p->a.y != q->a.y)
        return p->a.y < q->a.y ? -1 : 1;
    return (p->a.x > q->a.x) - (p->a.x < q->a.x);
}

bool pv_targets_list(const pv_plan *plan, const pv_sheet *sheet, pv_target **targets, size_t *n,
                     pv_diags *diags)
{
    target_list list = {0};
    if (!list_strokes(plan, sheet, &list) || !list_tags(sheet, &list) ||
        !list_lines(plan, sheet, &list)) {
        free(list.items);
        pv_fail_memory(diags);
        return false;
    }
    size_t columns = (size_t)(plan->page[0] / PV_SIGHT_GROUP) + 1;
    for (size_t i = 0; i < list.n; i++) {
        pv_vec p = list.items[i].a;
        size_t x = (size_t)(fmax(0, p.x) / PV_SIGHT_GROUP);
        size_t y = (size_t)(fmax(0, p.y) / PV_SIGHT_GROUP);
        list.items[i].group = y * columns + x;
    }
    if (list.n > 0)
        qsort(list.items, list.n, sizeof *list.items, by_group);
    *targets = list.items;
    *n = list.n;
    return true;
}
