#include "measure/lettering.h"

#include "base/memory.h"

#include <stdlib.h>
#include <string.h>

/* A square of so much of a capital's height is wider than any stroke or joint of a letter (assumed:
 * bold faces' stems are 0.2 of it), */
#define STROKE_MOST 0.4
#define SIDE_LEAST  3.0 /* mm, and not smaller than that */
#define LIKE_LETTER 0.5 /* of the way from the ground to the letter's colour */
#define FAR         UINT16_MAX
#define APART       0.15 /* two colours nearer than that don't tell a letter from its ground */

bool pv_letterings_find(pv_letterings *list, const pv_shown *shown)
{
    *list = (pv_letterings){0};
    for (size_t i = 0; i < shown->art->n_letterings; i++) {
        const pv_lettering *one = &shown->art->letterings[i];
        if (!pv_box_meets(pv_text_reach(one), shown->window))
            continue;
        if (!PV_GROW(list->items, list->n, list->cap))
            return false;
        list->items[list->n++] = (pv_lettering_here){one, pv_lettering_box(one)};
    }
    size_t corners = 0;
    for (size_t i = 0; i < list->n; i++)
        corners += pv_lettering_corners(list->items[i].of);
    if (list->n > PV_LETTERINGS_MAX || corners > PV_LETTER_CORNERS_MAX)
        list->n = 0;
    return true;
}

void pv_letterings_clear(pv_letterings *list)
{
    free(list->items);
    *list = (pv_letterings){0};
}

void pv_letterings_widen(const pv_letterings *list, const pv_surface *s, size_t index,
                         pv_range *range)
{
    const pv_scene *mat = s->view->shown->page->mat;
    pv_vec at = pv_surface_place(s, index);
    double reach = PV_LETTER_REACH * s->pitch;
    range->blind = list->n == 0;
    for (int k = 0; k < 9; k++) {
        int column = k % 3 - 1, row = k / 3 - 1;
        pv_vec p = pv_add(at, pv_v(reach * column, reach * row));
        pv_spot spot = pv_scene_at(mat, p);
        pv_range_add(range, &s->paint[spot.off ? s->view->art->n_colours : spot.colour]);
    }
    bool bare = s->lettered[index] == PV_LETTERED_BARE;
    for (size_t i = 0; !bare && i < list->n; i++)
        if (pv_box_holds(pv_box_grow(list->items[i].box, reach), at))
            pv_range_add(range, &s->paint[list->items[i].of->colour]);
}

/* ---- what is too wide for a letter ---- */

/* A window of squares. */
typedef struct patch {
    size_t x0, y0, nx, ny;
    uint16_t *deep; /* squares to the nearest one that isn't like the letter, as a king walks */
} patch;

/* Whether a square looks like the letter rather than what lies beneath it; false where these two
 * are too alike. */
static bool is_like_letter(const pv_surface *s, size_t k, const pv_paint *letter)
{
    if (!s->lettered[k] || s->label[k] == PV_LABEL_BLOCKED)
        return false;
    if (s->lettered[k] == PV_LETTERED_INK)
        return true;
    const pv_paint *ground = &s->paint[s->label[k]];
    double square = 0, sum = 0;
    int channels = s->view->plane->channels;
    for (int c = 0; c < channels; c++) {
        double way = (double)(letter->middle[c] - ground->middle[c]);
        square += way * way;
        sum += way * (double)(s->seen[3 * k + (size_t)c] - ground->middle[c]);
    }
    return ground->known && square / channels > APART * APART && sum > LIKE_LETTER * square;
}

static void fill_depths(const pv_surface *s, patch *p, const pv_paint *letter)
{
    for (size_t y = 0; y < p->ny; y++)
        for (size_t x = 0; x < p->nx; x++) {
            size_t k = (p->y0 + y) * s->nx + p->x0 + x;
            p->deep[y * p->nx + x] = is_like_letter(s, k, letter) ? FAR : 0;
        }
}

static uint16_t depth_at(const patch *p, long x, long y, uint16_t outside)
{
    bool inside = x >= 0 && y >= 0 && x < (long)p->nx && y < (long)p->ny;
    return inside ? p->deep[(size_t)y * p->nx + (size_t)x] : outside;
}

/* A pass looks at the neighbours that it has been at. */
static void walk_one_way(patch *p, long way, uint16_t outside)
{
    for (size_t i = 0; p->nx > 0 && i < p->nx * p->ny; i++) {
        size_t k = way > 0 ? i : p->nx * p->ny - 1 - i;
        long x = (long)(k % p->nx), y = (long)(k / p->nx);
        uint16_t least = depth_at(p, x - way, y, outside);
        for (long d = -1; d <= 1; d++) {
            uint16_t above = depth_at(p, x + d, y - way, outside);
            least = above < least ? above : least;
        }
        if (p->deep[k] > least)
            p->deep[k] = (uint16_t)(least + (least < FAR));
    }
}

static void walk_depths(patch *p, uint16_t outside)
{
    walk_one_way(p, 1, outside);
    walk_one_way(p, -1, outside);
}

static void set_off(pv_surface *s, size_t k)
{
    const pv_paint *ground = &s->paint[s->label[k]];
    double square = 0;
    int channels = s->view->plane->channels;
    for (int c = 0; c < 3; c++) {
        float off = s->seen[3 * k + (size_t)c] - ground->middle[c];
        s->off[3 * k + (size_t)c] = off;
        square += c < channels ? (double)(off * off) / channels : 0;
    }
    s->size[k] = (float)sqrt(square);
}

/* All that lies within a full square: as near to the middle of one. */
static void mark_full(pv_surface *s, patch *p, size_t half)
{
    for (size_t k = 0; k < p->nx * p->ny; k++)
        p->deep[k] = p->deep[k] > half ? 0 : FAR;
    walk_depths(p, FAR);
    for (size_t k = 0; p->nx > 0 && k < p->nx * p->ny; k++)
        if (p->deep[k] <= half)
            set_off(s, (p->y0 + k / p->nx) * s->nx + p->x0 + k % p->nx);
}

/* ---- what is of another hue ---- */

/* Root mean square from what lies between two paints: what letters and their ground mix to. */
static double off_mix(const pv_surface *s, const double seen[3], const pv_paint *ground,
                      const pv_paint *letter)
{
    double square = 0, sum = 0, off = 0;
    int channels = s->view->plane->channels == 1 ? 1 : 3;
    for (int c = 0; c < channels; c++) {
        double way = (double)(letter->middle[c] - ground->middle[c]);
        square += way * way;
        sum += way * (seen[c] - (double)ground->middle[c]);
    }
    double share = square > 0 ? fmin(fmax(sum / square, 0), 1) : 0;
    for (int c = 0; c < channels; c++) {
        double way = (double)(letter->middle[c] - ground->middle[c]);
        double left = seen[c] - (double)ground->middle[c] - share * way;
        off += left * left;
    }
    return sqrt(off / channels);
}

/* The mean over a window of one ground; false where there are others. */
static bool mean_over(const pv_surface *s, const patch *p, double mean[3])
{
    uint32_t ground = s->label[p->y0 * s->nx + p->x0];
    double n = (double)(p->nx * p->ny);
    mean[0] = mean[1] = mean[2] = 0;
    for (size_t y = p->y0; y < p->y0 + p->ny; y++)
        for (size_t x = p->x0; x < p->x0 + p->nx; x++) {
            size_t k = y * s->nx + x;
            if (!s->lettered[k] || s->label[k] != ground)
                return false;
            for (size_t c = 0; c < 3; c++)
                mean[c] += (double)s->seen[3 * k + c] / n;
        }
    return ground != PV_LABEL_BLOCKED && s->paint[ground].known;
}

/* Squares of a window whose own hue is off, too. */
static void mark_hued(pv_surface *s, const patch *p, const pv_paint *letter)
{
    for (size_t y = p->y0; y < p->y0 + p->ny; y++)
        for (size_t x = p->x0; x < p->x0 + p->nx; x++) {
            size_t k = y * s->nx + x;
            const float *light = s->seen + 3 * k;
            const double seen[3] = {(double)light[0], (double)light[1], (double)light[2]};
            if (off_mix(s, seen, &s->paint[s->label[k]], letter) >= (double)s->limit[k])
                set_off(s, k);
        }
}

/* Light that letters and ground mix to has no hue but theirs, nor has its mean over a window, in
 * which the fringes of a letter's two sides meet. */
static void mark_hues(pv_surface *s, const patch *p, const pv_paint *letter)
{
    size_t side = (size_t)ceil(SIDE_LEAST / s->pitch) | 1;
    for (size_t y = 0; letter->known && y + side <= p->ny; y++)
        for (size_t x = 0; x + side <= p->nx; x++) {
            patch window = {.x0 = p->x0 + x, .y0 = p->y0 + y, .nx = side, .ny = side};
            size_t k = (window.y0 + side / 2) * s->nx + window.x0 + side / 2;
            double mean[3];
            if (mean_over(s, &window, mean) &&
                off_mix(s, mean, &s->paint[s->label[k]], letter) >= (double)s->limit[k])
                mark_hued(s, &window, letter);
        }
}

/* No letters of another colour come near. */
static bool one_colour(const pv_letterings *list, const pv_lettering *one)
{
    pv_box box = pv_box_grow(pv_text_reach(one), 2 * PV_CLUTTER_CLEAR);
    for (size_t i = 0; i < list->n; i++)
        if (list->items[i].of->colour != one->colour &&
            pv_box_meets(pv_text_reach(list->items[i].of), box))
            return false;
    return true;
}

bool pv_letterings_fill(const pv_letterings *list, pv_surface *s)
{
    for (size_t i = 0; i < list->n; i++) {
        const pv_lettering *one = list->items[i].of;
        pv_squares w = pv_surface_squares(s, pv_text_reach(one));
        patch p = {.x0 = w.x0, .y0 = w.y0, .nx = w.x1 - w.x0, .ny = w.y1 - w.y0};
        if (p.nx == 0 || p.ny == 0)
            continue;
        p.deep = PV_NEW_ARRAY(p.nx * p.ny, uint16_t);
        if (p.deep == NULL)
            return false;
        double side = fmax(STROKE_MOST * one->height, SIDE_LEAST);
        fill_depths(s, &p, &s->paint[one->colour]);
        walk_depths(&p, 0);
        mark_full(s, &p, (size_t)ceil(side / s->pitch / 2));
        if (s->view->plane->channels == 3 && one_colour(list, one))
            mark_hues(s, &p, &s->paint[one->colour]);
        free(p.deep);
    }
    return true;
}
