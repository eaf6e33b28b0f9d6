#include "plan/difference.h"

#include "base/memory.h"
#include "type/type.h"

#include <stdlib.h>
#include <string.h>

#define STEP   0.25  /* mm along an edge between two points */
#define BESIDE 0.002 /* mm from an edge: twice as far as what counts as one point */
#define GRID   2.0   /* mm between points of the grid */
#define SAME   1e-6  /* mm */

#define LETTERS 4096 /* noted before it that a letter is looked for among: bounds the work */

/* ---- things ---- */

bool pv_difference_same_colour(const pv_art *p, size_t a, const pv_art *q, size_t b)
{
    return memcmp(p->colours[a].rgb, q->colours[b].rgb, sizeof p->colours[a].rgb) == 0;
}

static bool same_point(pv_vec a, pv_vec b)
{
    return fabs(a.x - b.x) <= SAME && fabs(a.y - b.y) <= SAME;
}

static bool same_piece(const pv_piece *a, const pv_piece *b)
{
    return same_point(a->a, b->a) && same_point(a->b, b->b) && a->arc == b->arc &&
           (!a->arc || (same_point(a->centre, b->centre) && fabs(a->radius - b->radius) <= SAME &&
                        (a->sweep > 0) == (b->sweep > 0)));
}

bool pv_difference_same_line(const pv_art *p, const pv_line *a, const pv_art *q, const pv_line *b)
{
    if (a->n_pieces != b->n_pieces || a->closed != b->closed || a->ends != b->ends ||
        fabs(a->width - b->width) > SAME || !pv_difference_same_colour(p, a->colour, q, b->colour))
        return false;
    for (size_t i = 0; i < a->n_pieces; i++)
        if (!same_piece(&a->pieces[i], &b->pieces[i]))
            return false;
    return true;
}

bool pv_difference_same_area(const pv_art *p, const pv_area *a, const pv_art *q, const pv_area *b)
{
    if (a->n_rings != b->n_rings || !pv_difference_same_colour(p, a->colour, q, b->colour))
        return false;
    for (size_t r = 0; r < a->n_rings; r++) {
        const pv_ring *u = &a->rings[r], *v = &b->rings[r];
        if (u->n != v->n)
            return false;
        for (size_t i = 0; i < u->n; i++)
            if (!same_point(u->points[i], v->points[i]))
                return false;
    }
    return true;
}

bool pv_difference_same_lettering(const pv_art *p, const pv_lettering *a, const pv_art *q,
                                  const pv_lettering *b)
{
    return strcmp(a->text, b->text) == 0 && same_point(a->at, b->at) &&
           fabs(a->height - b->height) <= SAME && fabs(a->angle - b->angle) <= 1e-9 &&
           a->anchor == b->anchor && pv_difference_same_colour(p, a->colour, q, b->colour);
}

/* ---- what changed, by item ---- */

/* A thing of an art, in the order of painting. */
typedef struct thing {
    pv_item_kind kind;
    size_t of;
} thing;

static size_t count_things(const pv_art *art)
{
    return art->n_fills + art->n_lines + art->n_marks + art->n_letterings;
}

static thing thing_at(const pv_art *art, size_t index)
{
    const size_t n[4] = {art->n_fills, art->n_lines, art->n_marks, art->n_letterings};
    static const pv_item_kind kinds[4] = {PV_ITEM_FILL, PV_ITEM_LINE, PV_ITEM_MARK, PV_ITEM_TEXT};
    int k = 0;
    while (k < 3 && index >= n[k])
        index -= n[k++];
    return (thing){kinds[k], index};
}

static bool same_thing(const pv_art *p, thing a, const pv_art *q, thing b)
{
    if (a.kind != b.kind)
        return false;
    switch (a.kind) {
    case PV_ITEM_FILL:
        return pv_difference_same_area(p, &p->fills[a.of], q, &q->fills[b.of]);
    case PV_ITEM_LINE:
        return pv_difference_same_line(p, &p->lines[a.of], q, &q->lines[b.of]);
    case PV_ITEM_MARK:
        return pv_difference_same_area(p, &p->marks[a.of], q, &q->marks[b.of]);
    default:
        return pv_difference_same_lettering(p, &p->letterings[a.of], q, &q->letterings[b.of]);
    }
}

static bool add_box(pv_difference *s, pv_box box)
{
    if (!PV_GROW(s->changed, s->n_changed, s->cap_changed))
        return false;
    s->changed[s->n_changed++] = pv_box_grow(box, BESIDE);
    return true;
}

/* ---- letters ---- */

typedef struct pv_difference_letter {
    pv_printed_letter letter;
    uint8_t rgb[3];
    int which; /* plan's it is */
} seen_letter;

typedef struct lettering_visit {
    pv_difference *s;
    seen_letter next;
} lettering_visit;

static bool same_letter(const seen_letter *a, const seen_letter *b)
{
    bool same = a->letter.face == b->letter.face && a->letter.glyph == b->letter.glyph &&
                memcmp(a->rgb, b->rgb, sizeof a->rgb) == 0;
    for (int i = 0; i < 4 && same; i++)
        same = same_point(a->letter.corner[i], b->letter.corner[i]);
    return same;
}

/* A letter that was noted of the older art, and stands in the other as well, is no change. */
static bool note_letter(void *context, const pv_printed_letter *letter)
{
    lettering_visit *v = context;
    pv_difference *s = v->s;
    v->next.letter = *letter;
    for (size_t i = s->n_letters > LETTERS ? s->n_letters - LETTERS : 0; i < s->n_letters; i++)
        if (s->letters[i].which != v->next.which && same_letter(&s->letters[i], &v->next)) {
            s->letters[i] = s->letters[--s->n_letters];
            return true;
        }
    if (!PV_GROW(s->letters, s->n_letters, s->cap_letters))
        return false;
    s->letters[s->n_letters++] = v->next;
    return true;
}

/* Without a typeface a text is one box. */
static bool add_lettering(pv_difference *s, int which, const pv_lettering *l)
{
    const pv_art *art = &s->plan[which]->art;
    const pv_type *type = s->plan[1]->type != NULL ? s->plan[1]->type : s->plan[0]->type;
    lettering_visit v = {.s = s, .next.which = which};
    memcpy(v.next.rgb, art->colours[l->colour].rgb, sizeof v.next.rgb);
    if (type != NULL)
        return pv_lettering_each(l, type, note_letter, &v);
    pv_vec x = pv_polar(1, l->angle), y = pv_left(x);
    pv_printed_letter whole = {0};
    for (int i = 0; i < 4; i++)
        whole.corner[i] =
            pv_along(pv_along(l->at, x, i == 1 || i == 2 ? l->frame.hi.x : l->frame.lo.x), y,
                     i > 1 ? l->frame.hi.y : l->frame.lo.y);
    return note_letter(&v, &whole);
}

/* The boxes of what is painted of a thing. */
static bool add_thing(pv_difference *s, int which, thing t)
{
    const pv_art *art = &s->plan[which]->art;
    if (t.kind == PV_ITEM_TEXT)
        return add_box(s, pv_lettering_box(&art->letterings[t.of])) &&
               add_lettering(s, which, &art->letterings[t.of]);
    if (t.kind == PV_ITEM_LINE)
        return add_box(s, pv_line_box(&art->lines[t.of]));
    return add_box(s, pv_area_box(t.kind == PV_ITEM_FILL ? &art->fills[t.of] : &art->marks[t.of]));
}

/* Both lists in their order: things that follow each other in both are the same; of the rest each
 * has changed. A thing that was put in, or left out, costs no more than itself; one that changed
 * its place in the order counts as both. */
static bool find_changed(pv_difference *s)
{
    const pv_art *p = &s->plan[0]->art, *q = &s->plan[1]->art;
    size_t n = count_things(p), m = count_things(q), i = 0, k = 0;
    while (i < n || k < m) {
        size_t ahead = 0;
        thing a = thing_at(p, i), b = thing_at(q, k);
        if (i < n && k < m && same_thing(p, a, q, b)) {
            i++, k++;
            continue;
        }
        /* The nearest place at which the two go on together: so many steps in both together. */
        size_t left = n - i, right = m - k, skip = left, most = left + right;
        bool found = false;
        for (ahead = 1; ahead < most && !found; ahead++)
            for (size_t d = ahead > right ? ahead - right : 0; d <= ahead && d <= left; d++)
                if (i + d < n && k + ahead - d < m &&
                    same_thing(p, thing_at(p, i + d), q, thing_at(q, k + ahead - d))) {
                    skip = d;
                    found = true;
                    break;
                }
        size_t past = found ? ahead - 1 - skip : right;
        for (size_t d = 0; d < skip; d++)
            if (!add_thing(s, 0, thing_at(p, i + d)))
                return false;
        for (size_t d = 0; d < past; d++)
            if (!add_thing(s, 1, thing_at(q, k + d)))
                return false;
        i += skip;
        k += past;
    }
    return true;
}

bool pv_difference_open(pv_difference *s, const pv_plan *older, const pv_plan *plan)
{
    *s = (pv_difference){.plan = {older, plan}};
    s->ground =
        !pv_difference_same_colour(&older->art, older->art.ground, &plan->art, plan->art.ground);
    return find_changed(s);
}

void pv_difference_close(pv_difference *s)
{
    pv_look_drop(&s->look);
    free(s->changed);
    free(s->letters);
    *s = (pv_difference){0};
}

/* ---- at points ---- */

typedef struct probing {
    const pv_difference *s;
    pv_box box;
    pv_difference_differs *differs;
    void *context;
    bool done;
} probing;

static void probe(probing *p, pv_vec at)
{
    if (p->done || !pv_box_holds(p->box, at))
        return;
    pv_spot a = pv_scene_at(p->s->plan[0]->mat, at), b = pv_scene_at(p->s->plan[1]->mat, at);
    if (a.off && b.off)
        return;
    if (a.off != b.off ||
        !pv_difference_same_colour(&p->s->plan[0]->art, a.colour, &p->s->plan[1]->art, b.colour))
        p->done = !p->differs(p->context, at);
}

static void probe_beside(probing *p, pv_vec at, pv_vec across)
{
    probe(p, pv_along(at, across, BESIDE));
    probe(p, pv_along(at, across, -BESIDE));
}

/* The part of a segment within a box, as shares of it; false where there is none. */
static bool clip(pv_box box, pv_vec a, pv_vec b, double *from, double *to)
{
    const double at[2] = {a.x, a.y}, step[2] = {b.x - a.x, b.y - a.y};
    const double lo[2] = {box.lo.x, box.lo.y}, hi[2] = {box.hi.x, box.hi.y};
    *from = 0;
    *to = 1;
    for (int i = 0; i < 2; i++) {
        if (fabs(step[i]) < 1e-12) {
            if (at[i] < lo[i] || at[i] > hi[i])
                return false;
            continue;
        }
        double s = (lo[i] - at[i]) / step[i], t = (hi[i] - at[i]) / step[i];
        *from = fmax(*from, fmin(s, t));
        *to = fmin(*to, fmax(s, t));
    }
    return *from <= *to;
}

static void probe_segment(probing *p, pv_vec a, pv_vec b)
{
    double from, to, length = pv_dist(a, b);
    pv_vec across = pv_left(pv_unit(pv_sub(b, a)));
    if (!(length > 0) || !clip(pv_box_grow(p->box, BESIDE), a, b, &from, &to))
        return;
    size_t n = 1 + (size_t)((to - from) * length / STEP);
    for (size_t i = 0; i < n && !p->done; i++) {
        double s = from + (to - from) * ((double)i + 0.5) / (double)n;
        probe_beside(p, pv_along(a, pv_sub(b, a), s), across);
    }
}

static void probe_arc(probing *p, const pv_solid *solid, double radius)
{
    size_t n = 1 + (size_t)(radius * solid->sweep / STEP);
    for (size_t i = 0; i < n && radius > 0 && !p->done; i++) {
        pv_vec out = pv_polar(1, solid->from + solid->sweep * ((double)i + 0.5) / (double)n);
        probe_beside(p, pv_along(solid->centre, out, radius), out);
    }
}

static void probe_solid(probing *p, const pv_solid *solid)
{
    if (solid->kind == PV_SOLID_POLYGON) {
        for (int i = 0; i < solid->n; i++)
            probe_segment(p, solid->corner[i], solid->corner[(i + 1) % solid->n]);
        return;
    }
    probe_arc(p, solid, solid->inner);
    probe_arc(p, solid, solid->outer);
    for (int end = 0; end < 2; end++) {
        pv_vec out = pv_polar(1, solid->from + end * solid->sweep);
        probe_segment(p, pv_along(solid->centre, out, solid->inner),
                      pv_along(solid->centre, out, solid->outer));
    }
}

static bool probe_ring(void *context, const pv_ring *ring)
{
    probing *p = context;
    for (size_t i = 0; i < ring->n && !p->done; i++)
        probe_segment(p, ring->points[i], ring->points[(i + 1) % ring->n]);
    return !p->done;
}

static bool probe_edges(pv_difference *s, probing *p, int which)
{
    const pv_scene *mat = s->plan[which]->mat;
    if (!pv_scene_find(mat, p->box, &s->look))
        return false;
    for (size_t i = 0; i < s->look.n && !p->done; i++) {
        const pv_item *item = s->look.items[i];
        if (item->kind == PV_ITEM_LINE)
            probe_solid(p, &item->u.solid);
        else if (item->kind != PV_ITEM_TEXT)
            pv_scene_rings(mat, item, p->box, probe_ring, p);
    }
    return true;
}

static void probe_grid(probing *p)
{
    double width = p->box.hi.x - p->box.lo.x, height = p->box.hi.y - p->box.lo.y;
    size_t nx = 1 + (size_t)(width / GRID), ny = 1 + (size_t)(height / GRID);
    for (size_t y = 0; y < ny; y++)
        for (size_t x = 0; x < nx && !p->done; x++)
            probe(p, pv_v(p->box.lo.x + width * ((double)x + 0.5) / (double)nx,
                          p->box.lo.y + height * ((double)y + 0.5) / (double)ny));
}

/* Whether an axis parts a letter's box from an upright one. */
static bool parted(const pv_vec corner[4], pv_box box, pv_vec axis)
{
    double lo[2] = {HUGE_VAL, HUGE_VAL}, hi[2] = {-HUGE_VAL, -HUGE_VAL};
    for (int i = 0; i < 4; i++) {
        pv_vec other = pv_v(i & 1 ? box.hi.x : box.lo.x, i & 2 ? box.hi.y : box.lo.y);
        const double at[2] = {pv_dot(corner[i], axis), pv_dot(other, axis)};
        for (int k = 0; k < 2; k++) {
            lo[k] = fmin(lo[k], at[k]);
            hi[k] = fmax(hi[k], at[k]);
        }
    }
    return hi[0] <= lo[1] || hi[1] <= lo[0];
}

static bool meets(const pv_vec corner[4], pv_box box)
{
    pv_vec along = pv_sub(corner[1], corner[0]);
    return !parted(corner, box, pv_v(1, 0)) && !parted(corner, box, pv_v(0, 1)) &&
           !parted(corner, box, along) && !parted(corner, box, pv_left(along));
}

static pv_vec into(pv_box box, pv_vec p)
{
    return pv_v(fmax(box.lo.x, fmin(p.x, box.hi.x)), fmax(box.lo.y, fmin(p.y, box.hi.y)));
}

static void probe_letters(const pv_difference *s, probing *p)
{
    for (size_t i = 0; i < s->n_letters && !p->done; i++) {
        const pv_vec *corner = s->letters[i].letter.corner;
        for (int k = 0; k < 4 && !p->done && meets(corner, p->box); k++)
            p->done = !p->differs(p->context, into(p->box, corner[k]));
    }
}

bool pv_difference_visit(pv_difference *s, pv_box box, pv_difference_differs *differs,
                         void *context)
{
    probing p = {.s = s, .box = box, .differs = differs, .context = context};
    bool near = s->ground;
    for (size_t i = 0; i < s->n_changed && !near; i++)
        near = pv_box_meets(s->changed[i], box);
    if (!near)
        return true;
    probe_grid(&p);
    probe_letters(s, &p);
    return probe_edges(s, &p, 0) && probe_edges(s, &p, 1);
}

/* ---- a sheet ---- */

static bool stop(void *context, pv_vec at)
{
    (void)at;
    *(bool *)context = false;
    return false;
}

/* Whether both seams have the same crosses; one that neither sheet has is alike. A cross reaches
 * into no sheet but its seam's two. */
static bool same_crosses(const pv_plan *p, size_t a, const pv_plan *q, size_t b)
{
    if (a == SIZE_MAX || b == SIZE_MAX)
        return a == b;
    const pv_seam *s = &p->seams[a], *t = &q->seams[b];
    if (s->n_crosses != t->n_crosses)
        return false;
    for (size_t i = 0; i < s->n_crosses; i++) {
        const pv_cross *c = &p->crosses[s->first_cross + i], *d = &q->crosses[t->first_cross + i];
        if (!same_point(c->at, d->at) || c->light != d->light)
            return false;
    }
    return true;
}

/* The column, or row from the bottom, that begins and ends there. */
static size_t find_column(const pv_plan *plan, pv_box cell)
{
    for (size_t c = 0; c < plan->columns; c++) {
        pv_box own = plan->sheets[c].cell;
        if (fabs(own.lo.x - cell.lo.x) <= SAME && fabs(own.hi.x - cell.hi.x) <= SAME)
            return c;
    }
    return SIZE_MAX;
}

static size_t find_row(const pv_plan *plan, pv_box cell)
{
    for (size_t r = 0; r < plan->rows; r++) {
        pv_box own = plan->sheets[r * plan->columns].cell;
        if (fabs(own.lo.y - cell.lo.y) <= SAME && fabs(own.hi.y - cell.hi.y) <= SAME)
            return r;
    }
    return SIZE_MAX;
}

size_t pv_difference_sheet(const pv_plan *plan, pv_box cell)
{
    size_t column = find_column(plan, cell), row = find_row(plan, cell);
    return column == SIZE_MAX || row == SIZE_MAX ? SIZE_MAX : row * plan->columns + column;
}

bool pv_difference_same_crosses(const pv_difference *s, const pv_sheet *older,
                                const pv_sheet *sheet)
{
    for (int side = 0; side < 4; side++)
        if (!same_crosses(s->plan[0], older->seam[side], s->plan[1], sheet->seam[side]))
            return false;
    return true;
}

bool pv_difference_alike(pv_difference *s, const pv_sheet *older, const pv_sheet *sheet,
                         bool *alike)
{
    *alike = pv_difference_same_crosses(s, older, sheet);
    return !*alike || pv_difference_visit(s, sheet->cell, stop, alike);
}
