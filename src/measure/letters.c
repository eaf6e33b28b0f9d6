/* Where the letters of a course are: their outlines (scene/art.h) filled by winding, cell by cell
 * of the labels. A row of cells is crossed by an outline's sides at some places; the sum of their
 * directions up to a cell is how often the outline winds about it. */
#include "base/memory.h"
#include "measure/lettering.h"

#include <stdlib.h>

#define INKED 0.5 /* of the way from the ground to the letter's colour */
#define MISFIT                                                                                     \
    0.1 /* of a letter's squares: so many are bare, and as many beside it are inked, where         \
           it isn't that letter; assumed */

/* The cells of a surface's squares, two each way. */
typedef struct cells {
    pv_surface *s;
    pv_vec lo;
    double side;
    size_t nx, ny;
    uint8_t *ink;
} cells;

/* Cells of a lettering's box. */
typedef struct window {
    size_t x0, y0, nx, ny;
    int32_t *turns; /* rows of nx + 1: directions of the sides that are crossed before each cell */
} window;

/* The first cell of a row, or column, whose middle isn't below `at`. */
static size_t cell_from(double at, double lo, double side, size_t most)
{
    double k = ceil((at - lo) / side - 0.5);
    return k > 0 ? (size_t)fmin(k, (double)most) : 0;
}

static void add_side(const cells *c, window *w, pv_vec a, pv_vec b)
{
    size_t end = cell_from(fmax(a.y, b.y), c->lo.y, c->side, w->y0 + w->ny);
    size_t y = cell_from(fmin(a.y, b.y), c->lo.y, c->side, end);
    for (y = y > w->y0 ? y : w->y0; y < end; y++) {
        double at = c->lo.y + ((double)y + 0.5) * c->side;
        double x = a.x + (at - a.y) * (b.x - a.x) / (b.y - a.y);
        size_t first = cell_from(x, c->lo.x, c->side, w->x0 + w->nx);
        first = first > w->x0 ? first - w->x0 : 0;
        w->turns[(y - w->y0) * (w->nx + 1) + first] += b.y > a.y ? 1 : -1;
    }
}

static void add_rings(const cells *c, window *w, const pv_lettering *l)
{
    pv_vec right = pv_polar(1, l->angle), up = pv_left(right);
    for (size_t i = 0; i < l->n_rings; i++) {
        const pv_ring *ring = &l->rings[i];
        pv_vec a = ring->points[ring->n - 1];
        a = pv_along(pv_along(l->at, right, a.x), up, a.y);
        for (size_t k = 0; k < ring->n; k++) {
            pv_vec b = pv_along(pv_along(l->at, right, ring->points[k].x), up, ring->points[k].y);
            add_side(c, w, a, b);
            a = b;
        }
    }
}

static void fill(cells *c, const window *w)
{
    for (size_t y = 0; y < w->ny; y++) {
        int32_t turns = 0;
        for (size_t x = 0; x < w->nx; x++) {
            turns += w->turns[y * (w->nx + 1) + x];
            c->ink[(w->y0 + y) * c->nx + w->x0 + x] |= turns != 0;
        }
    }
}

static bool paint(cells *c, const pv_lettering *l)
{
    pv_box box = pv_text_reach(l);
    window w = {.x0 = cell_from(box.lo.x, c->lo.x, c->side, c->nx),
                .y0 = cell_from(box.lo.y, c->lo.y, c->side, c->ny)};
    w.nx = cell_from(box.hi.x, c->lo.x, c->side, c->nx) - w.x0;
    w.ny = cell_from(box.hi.y, c->lo.y, c->side, c->ny) - w.y0;
    w.turns = PV_NEW_ARRAY((w.nx + 1) * w.ny, int32_t);
    if (w.turns == NULL)
        return false;
    add_rings(c, &w, l);
    fill(c, &w);
    free(w.turns);
    return true;
}

/* ---- squares ---- */

/* Whether the letters about a place are known: each has its outlines, and all are of one colour. */
static bool letters_known(const pv_letterings *list, pv_vec at, double reach)
{
    const pv_lettering *found = NULL;
    for (size_t i = 0; i < list->n; i++) {
        const pv_lettering *l = list->items[i].of;
        if (!pv_box_holds(pv_box_grow(list->items[i].box, reach), at))
            continue;
        if (l->n_rings == 0 || (found != NULL && found->colour != l->colour))
            return false;
        found = l;
    }
    return true;
}

/* Of the cells within a square's reach: how many are a letter's, and how many there are. */
static size_t ink_about(const cells *c, size_t index, size_t *all)
{
    size_t i = 2 * (index % c->s->nx), j = 2 * (index / c->s->nx), n = 0;
    size_t x0 = i > 2 ? i - 2 : 0, x1 = i + 4 < c->nx ? i + 4 : c->nx;
    size_t y0 = j > 2 ? j - 2 : 0, y1 = j + 4 < c->ny ? j + 4 : c->ny;
    for (size_t y = y0; y < y1; y++)
        for (size_t x = x0; x < x1; x++)
            n += c->ink[y * c->nx + x];
    *all = (x1 - x0) * (y1 - y0);
    return n;
}

static void tell_apart(const cells *c, const pv_letterings *list)
{
    pv_surface *s = c->s;
    for (size_t k = 0; k < s->nx * s->ny; k++) {
        if (!s->lettered[k] || s->label[k] == PV_LABEL_BLOCKED)
            continue;
        size_t all, ink = ink_about(c, k, &all);
        if ((ink == 0 || ink == all) &&
            letters_known(list, pv_surface_place(s, k), PV_LETTER_REACH * s->pitch))
            s->lettered[k] = ink == 0 ? PV_LETTERED_BARE : PV_LETTERED_INK;
    }
}

/* ---- another typeface ---- */

/* Whether a square shows the letter's colour rather than what lies beneath, by the course's own. */
static bool inked(const pv_surface *s, size_t k, size_t colour)
{
    const pv_view *view = s->view;
    double letter[3], ground[3], square = 0, sum = 0;
    pv_view_nominal(view, colour, letter);
    pv_view_nominal(view, s->label[k], ground);
    for (int c = 0; c < view->plane->channels; c++) {
        double way = letter[c] - ground[c];
        square += way * way;
        sum += way * ((double)s->seen[3 * k + (size_t)c] - ground[c]);
    }
    return sum > INKED * square;
}

/* Calls `visit` with each lettered square of a lettering's box; a square's middle may be `far` from
 * it. */
typedef void visit_square(void *context, pv_surface *s, const pv_lettering *l, size_t k);

static void each_square(pv_surface *s, const pv_lettering_here *here, double far,
                        visit_square *visit, void *context)
{
    pv_squares w = pv_surface_squares(s, pv_box_grow(here->box, far));
    for (size_t y = w.y0; y < w.y1; y++)
        for (size_t x = w.x0; x < w.x1; x++) {
            size_t k = y * s->nx + x;
            if (s->lettered[k] != 0 && s->label[k] != PV_LABEL_BLOCKED)
                visit(context, s, here->of, k);
        }
}

typedef struct tally {
    size_t letter, bare, beside;
} tally;

static void count_square(void *context, pv_surface *s, const pv_lettering *l, size_t k)
{
    tally *t = context;
    if (s->lettered[k] == PV_LETTERED_MAYBE)
        return;
    bool shows = inked(s, k, l->colour), ink = s->lettered[k] == PV_LETTERED_INK;
    t->letter += ink;
    t->bare += ink && !shows;
    t->beside += !ink && shows;
}

static void doubt_square(void *context, pv_surface *s, const pv_lettering *l, size_t k)
{
    (void)context;
    (void)l;
    s->lettered[k] = PV_LETTERED_MAYBE;
}

/* Nothing but a letter has the letter's colour, and it stands alone. */
static void settle_square(void *context, pv_surface *s, const pv_lettering *l, size_t k)
{
    (void)context;
    if (s->lettered[k] == PV_LETTERED_INK) {
        s->label[k] = (uint32_t)l->colour;
        s->plain[k] = 1;
    }
}

/* Letters that are missing where they should be, and stand beside, are others. */
static void settle(pv_surface *s, const pv_lettering_here *here)
{
    tally t = {0};
    each_square(s, here, 0, count_square, &t);
    double few = MISFIT * (double)t.letter;
    bool fits = (double)t.bare <= few || (double)t.beside <= few;
    each_square(s, here, PV_LETTER_REACH * s->pitch, fits ? settle_square : doubt_square, NULL);
}

bool pv_letterings_place(const pv_letterings *list, pv_surface *s)
{
    pv_vec first = s->nx * s->ny > 0 ? pv_surface_place(s, 0) : pv_v(0, 0);
    double half = s->pitch / 2;
    cells c = {.s = s, .lo = pv_v(first.x - half, first.y - half), .side = half};
    c.nx = 2 * s->nx;
    c.ny = 2 * s->ny;
    c.ink = PV_NEW_ARRAY(c.nx * c.ny, uint8_t);
    bool good = c.ink != NULL;
    for (size_t i = 0; good && i < list->n; i++)
        good = paint(&c, list->items[i].of);
    if (good && list->n > 0) {
        tell_apart(&c, list);
        for (size_t i = 0; i < list->n; i++)
            settle(s, &list->items[i]);
    }
    free(c.ink);
    return good;
}
