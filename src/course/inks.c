#include "course/inks.h"

#include "base/light.h"
#include "base/memory.h"
#include "base/numeric.h"
#include "base/text.h"
#include "course/contrast.h"

#include <stdlib.h>
#include <string.h>

/* 256 sRGB codes; steps of 5 % of the ink, assumed to be fine enough. */
#define CODES     256
#define KEPT_STEP 0.05
#define SLACK     1e-9
#define ASKED     3 /* places along and across a text where it is asked what it stands on */

typedef struct neighbour {
    size_t colour;
    double need; /* of difference in luminance */
} neighbour;

/* A fill's or the ground's colour, by what it takes of ink. */
typedef struct ranked {
    double ink;
    size_t colour;
} ranked;

typedef struct inks {
    pv_art *art;
    pv_scene *mat;
    pv_colour_pair *pairs;
    size_t n_pairs, cap_pairs;
    size_t *first; /* of each colour's neighbours, and their end */
    neighbour *near;
    uint8_t *uses; /* of each colour */
    double *was;   /* luminance before */
    ranked *order; /* what takes most ink first */
    size_t n_order;
    pv_diags *diags;
} inks;

/* ---- one colour for lines, another for fills ---- */

enum { IN_LINES = 1, IN_FILLS = 2 };

/* What each colour is used for. NULL where memory ran out; the caller frees it. */
static uint8_t *uses_of(const pv_art *art)
{
    uint8_t *uses = PV_NEW_ARRAY(art->n_colours, uint8_t);
    if (uses == NULL)
        return NULL;
    for (size_t i = 0; i < art->n_lines; i++)
        uses[art->lines[i].colour] |= IN_LINES;
    for (size_t i = 0; i < art->n_marks; i++)
        uses[art->marks[i].colour] |= IN_LINES;
    for (size_t i = 0; i < art->n_letterings; i++)
        uses[art->letterings[i].colour] |= IN_LINES;
    for (size_t i = 0; i < art->n_fills; i++)
        uses[art->fills[i].colour] |= IN_FILLS;
    uses[art->ground] |= IN_FILLS;
    return uses;
}

static bool add_fill_colour(pv_art *art, size_t of)
{
    if (!PV_GROW(art->colours, art->n_colours, art->cap_colours))
        return false;
    pv_text name = PV_TEXT_INIT;
    pv_text_add(&name, "%s of fills", art->colours[of].name);
    pv_colour *own = &art->colours[art->n_colours];
    *own = art->colours[of];
    own->name = pv_text_take(&name);
    if (own->name == NULL)
        return false;
    art->n_colours++;
    return true;
}

static bool split_colours(pv_art *art)
{
    size_t n = art->n_colours;
    uint8_t *uses = uses_of(art);
    size_t *now = PV_NEW_ARRAY(n, size_t);
    bool good = uses != NULL && now != NULL;
    for (size_t i = 0; good && i < n; i++) {
        now[i] = i;
        if (uses[i] == (IN_LINES | IN_FILLS)) {
            now[i] = art->n_colours;
            good = add_fill_colour(art, i);
        }
    }
    for (size_t i = 0; good && i < art->n_fills; i++)
        art->fills[i].colour = now[art->fills[i].colour];
    if (good)
        art->ground = now[art->ground];
    free(uses);
    free(now);
    return good;
}

/* ---- what stands beside what ---- */

static bool add_pair(inks *k, size_t a, size_t b)
{
    if (a == b)
        return true;
    if (!PV_GROW(k->pairs, k->n_pairs, k->cap_pairs))
        return false;
    k->pairs[k->n_pairs++] = (pv_colour_pair){a < b ? a : b, a < b ? b : a, false};
    return true;
}

static bool ask_lettering(inks *k, const pv_lettering *one)
{
    pv_box frame = one->frame;
    pv_vec x = pv_polar(1, one->angle), y = pv_left(x);
    size_t last = one->colour;
    for (int i = 0; i < ASKED * ASKED; i++) {
        int column = i % ASKED, row = i / ASKED;
        double u = frame.lo.x + (frame.hi.x - frame.lo.x) * (column + 0.5) / ASKED;
        double v = frame.lo.y + (frame.hi.y - frame.lo.y) * (row + 0.5) / ASKED;
        pv_spot spot = pv_scene_at(k->mat, pv_along(pv_along(one->at, x, u), y, v));
        if (spot.colour != last && !add_pair(k, one->colour, spot.colour))
            return false;
        last = spot.colour;
    }
    return true;
}

static bool gather(inks *k)
{
    k->mat = pv_scene_of(k->art);
    bool good = k->mat != NULL && pv_contrast_pairs(k->mat, &k->pairs, &k->n_pairs);
    k->cap_pairs = k->n_pairs;
    for (size_t i = 0; good && i < k->art->n_letterings; i++)
        good = ask_lettering(k, &k->art->letterings[i]);
    return good;
}

/* Each colour's neighbours in one run of the list. */
static bool index_neighbours(inks *k)
{
    size_t n = k->art->n_colours;
    k->first = PV_NEW_ARRAY(n + 2, size_t);
    k->near = PV_NEW_ARRAY(2 * k->n_pairs, neighbour);
    if (k->first == NULL || k->near == NULL)
        return false;
    for (size_t i = 0; i < k->n_pairs; i++) {
        k->first[k->pairs[i].a + 2]++;
        k->first[k->pairs[i].b + 2]++;
    }
    for (size_t i = 2; i < n + 2; i++)
        k->first[i] += k->first[i - 1];
    for (size_t i = 0; i < k->n_pairs; i++) {
        const pv_colour_pair *p = &k->pairs[i];
        double need = p->across ? PV_INKS_ACROSS : PV_CONTRAST_LEAST;
        k->near[k->first[p->a + 1]++] = (neighbour){p->b, need};
        k->near[k->first[p->b + 1]++] = (neighbour){p->a, need};
    }
    return true;
}

static double now(const inks *k, size_t colour)
{
    return pv_colour_luminance(&k->art->colours[colour]);
}

static int most_ink_first(const void *x, const void *y)
{
    const ranked *a = x, *b = y;
    int order = pv_order(b->ink, a->ink);
    return order != 0 ? order : pv_order_index(a->colour, b->colour);
}

static bool rank(inks *k)
{
    size_t n = k->art->n_colours;
    double *area = PV_NEW_ARRAY(n, double);
    k->uses = uses_of(k->art);
    k->was = PV_NEW_ARRAY(n, double);
    k->order = PV_NEW_ARRAY(n, ranked);
    bool good = area != NULL && k->uses != NULL && k->was != NULL && k->order != NULL;
    if (!good)
        pv_fail_memory(k->diags);
    good = good && pv_scene_painted(k->mat, area, k->diags);
    for (size_t i = 0; good && i < n; i++) {
        k->was[i] = now(k, i);
        if ((k->uses[i] & IN_FILLS) != 0)
            k->order[k->n_order++] = (ranked){area[i] * (1 - k->was[i]), i};
    }
    if (good)
        qsort(k->order, k->n_order, sizeof *k->order, most_ink_first);
    free(area);
    return good;
}

/* ---- gray ---- */

static void set_gray(pv_colour *colour, int code)
{
    for (int c = 0; c < 3; c++)
        colour->rgb[c] = (uint8_t)code;
}

static int gray_of(double luminance)
{
    return (int)lround(255 * pv_srgb_encode(fmin(fmax(luminance, 0), 1)));
}

/* A line darker than all that it lies beside is black, one that is lighter is white. */
static void gray_line(inks *k, size_t colour)
{
    bool darkest = true, lightest = true;
    for (size_t i = k->first[colour]; i < k->first[colour + 1]; i++) {
        darkest = darkest && k->was[colour] < k->was[k->near[i].colour];
        lightest = lightest && k->was[colour] > k->was[k->near[i].colour];
    }
    bool alone = k->first[colour] == k->first[colour + 1];
    set_gray(&k->art->colours[colour], alone      ? gray_of(k->was[colour])
                                       : darkest  ? 0
                                       : lightest ? CODES - 1
                                                  : gray_of(k->was[colour]));
}

/* What the difference to the worst of the neighbours that are settled has over what it needs. */
static double spare(const inks *k, size_t colour, double luminance, const bool *settled)
{
    double least = HUGE_VAL;
    for (size_t i = k->first[colour]; i < k->first[colour + 1]; i++) {
        const neighbour *n = &k->near[i];
        if (settled[n->colour])
            least = fmin(least, fabs(luminance - now(k, n->colour)) - n->need);
    }
    return least;
}

/* The gray nearest to its own luminance that can be told from its neighbours; else the one that can
 * be told best. */
static void gray_fill(inks *k, size_t colour, const bool *settled)
{
    int best = 0;
    double off = HUGE_VAL, most = -HUGE_VAL;
    for (int code = 0; code < CODES; code++) {
        double y = pv_srgb_decode(code / 255.0), room = spare(k, colour, y, settled);
        double far = fabs(y - k->was[colour]);
        if (room >= -SLACK ? (most < -SLACK || far < off) : room > most) {
            best = code;
            off = far;
        }
        most = fmax(most, room);
    }
    set_gray(&k->art->colours[colour], best);
    if (most < -SLACK)
        pv_diags_add(k->diags, PV_WARNING, PV_CAUSE_NONE, NULL,
                     "choose its neighbours' colours lighter or darker",
                     "printed gray, the colour %s can hardly be told from one beside it",
                     k->art->colours[colour].name);
}

static bool make_gray(inks *k)
{
    bool *settled = PV_NEW_ARRAY(k->art->n_colours, bool);
    if (settled == NULL) {
        pv_fail_memory(k->diags);
        return false;
    }
    for (size_t i = 0; i < k->art->n_colours; i++)
        if ((k->uses[i] & IN_FILLS) == 0) {
            gray_line(k, i);
            settled[i] = true;
        }
    for (size_t i = 0; i < k->n_order; i++) {
        gray_fill(k, k->order[i].colour, settled);
        settled[k->order[i].colour] = true;
    }
    free(settled);
    for (size_t i = 0; i < k->art->n_colours; i++)
        k->was[i] = now(k, i);
    return true;
}

/* ---- sparing ---- */

/* Towards white in linear light. */
static void keep(pv_colour *out, const pv_colour *from, double kept)
{
    for (int c = 0; c < 3; c++) {
        double light = 1 - kept * (1 - pv_srgb_decode(from->rgb[c] / 255.0));
        out->rgb[c] = (uint8_t)lround(255 * pv_srgb_encode(light));
    }
}

/* No difference falls below what is needed, or below what it was where that is less. */
static bool still_told(const inks *k, size_t colour)
{
    for (size_t i = k->first[colour]; i < k->first[colour + 1]; i++) {
        const neighbour *n = &k->near[i];
        double before = fabs(k->was[colour] - k->was[n->colour]);
        if (fabs(now(k, colour) - now(k, n->colour)) < fmin(n->need, before) - SLACK)
            return false;
    }
    return true;
}

static void make_sparing(inks *k)
{
    for (size_t i = 0; i < k->n_order; i++) {
        pv_colour *colour = &k->art->colours[k->order[i].colour], own = *colour;
        bool good = false;
        for (int step = 0; !good && PV_INKS_KEPT + KEPT_STEP * step < 1 - SLACK; step++) {
            keep(colour, &own, PV_INKS_KEPT + KEPT_STEP * step);
            good = still_told(k, k->order[i].colour);
        }
        if (!good)
            memcpy(colour->rgb, own.rgb, sizeof own.rgb);
    }
}

bool pv_course_print_as(pv_course *course, bool gray, bool sparing, pv_diags *diags)
{
    if (!gray && !sparing)
        return true;
    inks k = {.art = &course->art, .diags = diags};
    if (!split_colours(k.art)) {
        pv_fail_memory(diags);
        return false;
    }
    bool good = gather(&k);
    if (!good)
        pv_fail_memory(diags);
    good = good && rank(&k);
    if (good && !index_neighbours(&k)) {
        pv_fail_memory(diags);
        good = false;
    }
    good = good && (!gray || make_gray(&k));
    if (good && sparing)
        make_sparing(&k);
    pv_scene_free(k.mat);
    free(k.pairs);
    free(k.first);
    free(k.near);
    free(k.uses);
    free(k.was);
    free(k.order);
    return good;
}
