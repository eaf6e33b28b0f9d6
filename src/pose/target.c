#include "pose/target.h"

#include "base/memory.h"
#include "base/numeric.h"

#include <stdlib.h>

/* What counts as a good place to sight: choices of this method, assumed and tried on simulated
 * scans. */
#define PITCH        4.0    /* mm between places along a line, at least */
#define LINE_PLACES  800    /* at most, on all lines of a sheet */
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

static bool is_stroke(const pv_item *item)
{
    return item->kind == PV_ITEM_STROKE || item->kind == PV_ITEM_TICK;
}

/* How much plain ground there is beside a stroke at p, as far as other strokes tell. */
static double stroke_room(const pv_scene *page, const pv_item *self, pv_vec p, pv_vec along,
                          double band)
{
    double room = STROKE_ROOM;
    for (size_t i = 0; i < page->n_items; i++) {
        const pv_item *other = &page->items[i];
        if (other == self || !is_stroke(other))
            continue;
        pv_vec a = pv_sub(other->u.bar.a, p), b = pv_sub(other->u.bar.b, p);
        double s0 = pv_dot(a, along), s1 = pv_dot(b, along);
        double half = other->u.bar.width / 2, reach = band + half + SKIRT;
        if (fmin(s0, s1) > reach || fmax(s0, s1) < -reach)
            continue;
        double d0 = pv_cross_z(along, a), d1 = pv_cross_z(along, b);
        double near = d0 * d1 <= 0 ? 0 : fmin(fabs(d0), fabs(d1));
        room = fmin(room, near - half - SKIRT);
    }
    return room;
}

/* A quarter from either end: clear of the crossing in a cross's middle, and of the ends. */
static bool list_stroke(const pv_scene *page, const pv_item *item, size_t mark, target_list *list)
{
    pv_vec a = item->u.bar.a, b = item->u.bar.b;
    double length = pv_dist(a, b), band = 0.14 * length;
    if (!(length > 0))
        return true;
    pv_vec along = pv_unit(pv_sub(b, a));
    for (int k = 0; k < 2; k++) {
        pv_vec p = pv_along(a, along, length * (k == 0 ? 0.25 : 0.75));
        pv_vec at = pv_sub(p, page->origin);
        pv_target t = {.kind = PV_TARGET_STROKE,
                       .a = at,
                       .b = at,
                       .along = along,
                       .across = pv_left(along),
                       .width = item->u.bar.width,
                       .band = band,
                       .room = stroke_room(page, item, p, along, band),
                       .mark = mark};
        if (t.room >= PV_STROKE_NEED && !add_target(list, &t))
            return false;
    }
    return true;
}

/* Each stroke of a cross is a mark of its own, each scale bar one with all its ticks, which stand
 * on the pixels alike where their step is a whole number of them. */
static bool list_strokes(const pv_scene *page, target_list *list)
{
    const pv_item *before = NULL;
    size_t n = 0, stride;
    for (size_t i = 0; i < page->n_items; i++)
        n += is_stroke(&page->items[i]);
    stride = n / STROKES_MAX + 1;
    n = 0;
    for (size_t i = 0; i < page->n_items; i++) {
        const pv_item *item = &page->items[i];
        if (!is_stroke(item))
            continue;
        bool same_bar = before != NULL && before->kind == PV_ITEM_TICK &&
                        item->kind == PV_ITEM_TICK && before->of == item->of;
        list->marks += !same_bar;
        before = item;
        if (n++ % stride == 0 && !list_stroke(page, item, list->marks - 1, list))
            return false;
    }
    return true;
}

/* ---- tags ---- */

/* The white square's sides, all but its corners; beside them lies one plain cell. */
static bool list_tags(const pv_scene *page, target_list *list)
{
    for (size_t i = 0; i < 2 * page->n_items; i++) {
        const pv_item *item = &page->items[i / 2];
        if (item->kind != PV_ITEM_TAG)
            continue;
        double cell = item->u.tag.cell, half = (PV_TAG_CELLS / 2.0 - PV_TAG_INSET) * cell;
        pv_vec middle = pv_sub(item->u.tag.centre, page->origin);
        pv_vec along = i % 2 == 0 ? pv_v(0, 1) : pv_v(1, 0), across = pv_left(along);
        pv_target t = {.kind = PV_TARGET_TAG,
                       .a = pv_along(middle, across, -half),
                       .b = pv_along(middle, across, half),
                       .along = along,
                       .across = across,
                       .width = 2 * half,
                       .band = half - TAG_CORNER * cell,
                       .room = cell,
                       .mark = list->marks++};
        if (!add_target(list, &t))
            return false;
    }
    return true;
}

/* ---- lines ---- */

/* Lines are sighted in a page's cell, each looked up once. */
typedef struct line_search {
    const pv_scene *page;
    const pv_art *art;
    pv_look look; /* what stands in the cell */
} line_search;

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
static bool is_furnished(const line_search *s, pv_box box)
{
    pv_box wide = pv_box_grow(box, PV_CROSS_ARM);
    for (size_t i = 0; i < s->look.n; i++) {
        const pv_item *item = s->look.items[i];
        if (item->kind == PV_ITEM_TEXT && pv_box_meets(item->box, box))
            return true;
        if (item->kind == PV_ITEM_STROKE &&
            pv_box_holds(wide, pv_scale(pv_add(item->u.bar.a, item->u.bar.b), 0.5)))
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
static bool is_clear(const line_search *s, size_t line, pv_vec p, pv_vec along, double band)
{
    const double reach = band + 2 * SKIRT, rows[] = {-reach, 0, reach};
    pv_stand stand = {.line = line,
                      .at = p,
                      .heading = along,
                      .rows = rows,
                      .n_rows = sizeof rows / sizeof *rows,
                      .skirt = SKIRT,
                      .inside = s->art->lines[line].width / 2,
                      .outside = LINE_CLEAR,
                      .n_inside = 2,
                      .n_outside = 4,
                      .marks_blur = true};
    size_t beside[2];
    return pv_scene_clear(s->page, &stand, beside) &&
           is_level(s->art, s->art->lines[line].colour, beside[0], beside[1]);
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

static bool try_place(const line_search *s, size_t line, const pv_piece *piece, double along_piece,
                      target_list *list)
{
    double half = s->art->lines[line].width / 2;
    double band = LINE_BAND;
    if (piece->arc)
        band = fmin(band, sqrt(6 * piece->radius * ARC_SAG));
    pv_vec p = pv_piece_point(piece, along_piece), along = pv_piece_heading(piece, along_piece);
    pv_vec across = pv_left(along);
    double reach_x = fabs(across.x) * (half + LINE_CLEAR) + fabs(along.x) * (band + 2 * SKIRT);
    double reach_y = fabs(across.y) * (half + LINE_CLEAR) + fabs(along.y) * (band + 2 * SKIRT);
    pv_box box = {pv_v(p.x - reach_x, p.y - reach_y), pv_v(p.x + reach_x, p.y + reach_y)};
    pv_box room = pv_box_grow(s->page->cell, -SKIRT);
    if (!pv_box_holds(room, box.lo) || !pv_box_holds(room, box.hi) || is_furnished(s, box) ||
        !is_clear(s, line, p, along, band))
        return true;
    pv_vec at = pv_sub(p, s->page->origin);
    pv_target t = {.kind = PV_TARGET_LINE,
                   .a = pv_along(at, across, -half),
                   .b = pv_along(at, across, half),
                   .along = along,
                   .across = across,
                   .width = 2 * half,
                   .band = band,
                   .room = LINE_CLEAR,
                   .mark = line_mark(list, along_piece)};
    return add_target(list, &t);
}

/* Of one line, as far as it lies in the cell. */
static bool list_line(const line_search *s, size_t index, double pitch, target_list *list)
{
    const pv_line *line = &s->art->lines[index];
    double next = pitch / 2; /* along the part of the line inside */
    if (line->width < LINE_MIN)
        return true;
    for (size_t k = 0; k < line->n_pieces; k++) {
        double from, to;
        if (!clip_piece(&line->pieces[k], s->page->cell, &from, &to))
            continue;
        double left = to - from - next;
        list->part = -1;
        size_t count = left > 0 ? (size_t)(left / pitch) + 1 : 0;
        for (size_t j = 0; j < count; j++)
            if (!try_place(s, index, &line->pieces[k], from + next + (double)j * pitch, list))
                return false;
        next += (double)count * pitch - (to - from);
    }
    return true;
}

/* mm of a line in the cell. */
static double length_inside(const line_search *s, size_t index)
{
    const pv_line *line = &s->art->lines[index];
    double total = 0, from, to;
    for (size_t k = 0; k < line->n_pieces; k++)
        if (clip_piece(&line->pieces[k], s->page->cell, &from, &to))
            total += to - from;
    return total;
}

/* A line's solids come one after another: the next line that was found, or SIZE_MAX. */
static size_t next_line(const line_search *s, size_t *i, size_t before)
{
    for (; *i < s->look.n; ++*i) {
        const pv_item *item = s->look.items[*i];
        if (item->kind == PV_ITEM_LINE && item->of != before)
            return item->of;
    }
    return SIZE_MAX;
}

static bool list_lines(const pv_scene *page, target_list *list)
{
    line_search s = {.page = page, .art = page->art};
    bool good = pv_scene_find(page, page->cell, &s.look);
    double total = 0;
    size_t i = 0, line = SIZE_MAX;
    while (good && (line = next_line(&s, &i, line)) != SIZE_MAX)
        total += length_inside(&s, line);
    double pitch = fmax(PITCH, total / LINE_PLACES);
    i = 0;
    while (good && (line = next_line(&s, &i, line)) != SIZE_MAX)
        good = list_line(&s, line, pitch, list);
    pv_look_drop(&s.look);
    return good;
}

/* ---- all ---- */

static int by_group(const void *a, const void *b)
{
    const pv_target *p = a, *q = b;
    int order = pv_order_index(p->group, q->group);
    order = order != 0 ? order : pv_order(p->a.y, q->a.y);
    return order != 0 ? order : pv_order(p->a.x, q->a.x);
}

bool pv_targets_list(const pv_scene *page, pv_target **targets, size_t *n, pv_diags *diags)
{
    target_list list = {0};
    if (!list_strokes(page, &list) || !list_tags(page, &list) || !list_lines(page, &list)) {
        free(list.items);
        pv_fail_memory(diags);
        return false;
    }
    size_t columns = (size_t)((page->page.hi.x - page->page.lo.x) / PV_SIGHT_GROUP) + 1;
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
