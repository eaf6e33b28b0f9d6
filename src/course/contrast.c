#include "course/contrast.h"

#include "base/memory.h"

#include <stdlib.h>

#define BESIDE 0.05 /* mm from a paint's edge to where it is asked what stands beside it */
#define PLACES 25   /* along a piece, at most */
#define PITCH  5.0  /* mm between them, at least */

/* Two colours found side by side. */
typedef struct pair {
    size_t a, b; /* a < b */
    bool across; /* the two sides of a line, else a line or mark and its side */
    bool sensed; /* along a line that the route meets, or there is no route */
    pv_vec at;   /* where first */
    size_t line; /* that line, or SIZE_MAX for a mark */
    size_t next; /* in its bucket */
} pair;

#define BUCKETS 1024

typedef struct contrasts {
    const pv_art *art;
    const pv_scene *mat;
    const bool *met; /* one a line: a sensor sees it; NULL: none */
    pair *pairs;     /* in the order in which they were found */
    size_t n_pairs, cap_pairs;
    size_t bucket[BUCKETS];
} contrasts;

static pair *find_pair(const contrasts *c, size_t a, size_t b, bool across)
{
    for (size_t i = c->bucket[(a * 31 + b) % BUCKETS]; i != SIZE_MAX; i = c->pairs[i].next)
        if (c->pairs[i].a == a && c->pairs[i].b == b && c->pairs[i].across == across)
            return &c->pairs[i];
    return NULL;
}

/* Keeps where a pair was first found, or first where a robot's sensor sees it. */
static bool note_pair(contrasts *c, bool across, size_t one, size_t other, pv_vec at, size_t line)
{
    size_t a = one < other ? one : other, b = one < other ? other : one;
    bool sensed = line != SIZE_MAX && c->met != NULL && c->met[line];
    if (a == b)
        return true;
    pair *old = find_pair(c, a, b, across);
    if (old != NULL && !old->sensed && sensed) {
        old->sensed = true;
        old->at = at;
        old->line = line;
    }
    if (old != NULL)
        return true;
    if (!PV_GROW(c->pairs, c->n_pairs, c->cap_pairs))
        return false;
    size_t *bucket = &c->bucket[(a * 31 + b) % BUCKETS];
    c->pairs[c->n_pairs] = (pair){a, b, across, sensed, at, line, *bucket};
    *bucket = c->n_pairs++;
    return true;
}

/* What stands at a place of a line and on its two sides. */
static bool ask_across(contrasts *c, size_t line, pv_vec at, pv_vec normal)
{
    double off = c->art->lines[line].width / 2 + BESIDE;
    pv_vec side[2] = {pv_along(at, normal, off), pv_along(at, normal, -off)};
    bool plain[2] = {false, false};
    pv_spot own = pv_scene_at(c->mat, at), beside[2];
    if (own.off || own.line != (long)line || own.mark)
        return true; /* hidden here */
    for (int i = 0; i < 2; i++) {
        beside[i] = pv_scene_at(c->mat, side[i]);
        if (beside[i].off)
            continue;
        if (!note_pair(c, false, own.colour, beside[i].colour, side[i], line))
            return false;
        plain[i] = beside[i].line < 0 && !beside[i].mark;
    }
    return !plain[0] || !plain[1] ||
           note_pair(c, true, beside[0].colour, beside[1].colour, at, line);
}

static bool ask_line(contrasts *c, size_t line)
{
    const pv_line *l = &c->art->lines[line];
    for (size_t i = 0; i < l->n_pieces; i++) {
        double length = pv_piece_length(&l->pieces[i]);
        int places = (int)fmin(fmax(ceil(length / PITCH), 1), PLACES);
        for (int k = 0; k < places && length > 0; k++) {
            double s = length * (k + 0.5) / places;
            pv_vec at = pv_piece_point(&l->pieces[i], s);
            if (!ask_across(c, line, at, pv_left(pv_piece_heading(&l->pieces[i], s))))
                return false;
        }
    }
    return true;
}

static bool ask_mark(contrasts *c, const pv_area *mark)
{
    for (size_t i = 0; i < mark->n_rings; i++) {
        const pv_ring *ring = &mark->rings[i];
        for (size_t k = 0; k < ring->n; k++) {
            pv_vec a = ring->points[k], b = ring->points[(k + 1) % ring->n];
            pv_vec at = pv_scale(pv_add(a, b), 0.5), normal = pv_left(pv_unit(pv_sub(b, a)));
            pv_vec side[2] = {pv_along(at, normal, BESIDE), pv_along(at, normal, -BESIDE)};
            pv_spot one = pv_scene_at(c->mat, side[0]), other = pv_scene_at(c->mat, side[1]);
            if (!one.off && !other.off &&
                !note_pair(c, false, one.colour, other.colour, at, SIZE_MAX))
                return false;
        }
    }
    return true;
}

static bool report_pair(pv_reviewing *r, const contrasts *c, const pair *p)
{
    const pv_colour *a = &c->art->colours[p->a], *b = &c->art->colours[p->b];
    double ya = pv_colour_luminance(a), yb = pv_colour_luminance(b);
    if (fabs(ya - yb) >= PV_CONTRAST_LEAST)
        return true;
    if (p->across && find_pair(c, p->a, p->b, false) != NULL)
        return true; /* said already */
    const pv_line *line = p->line != SIZE_MAX ? &c->art->lines[p->line] : NULL;
    pv_rule row = line == NULL ? PV_RULE_CONTRAST_MARK
                  : p->across  ? PV_RULE_CONTRAST_ACROSS
                  : p->sensed  ? PV_RULE_CONTRAST
                               : PV_RULE_CONTRAST_OFF_ROUTE;
    return pv_found_add(r, row, line != NULL ? line->source : r->course->start.source, &p->at,
                        (const char *[]){a->name, b->name, line != NULL ? line->id : NULL},
                        (double[]){ya, yb});
}

static bool gather(contrasts *c)
{
    const pv_art *art = c->art;
    bool good = true;
    for (size_t i = 0; i < BUCKETS; i++)
        c->bucket[i] = SIZE_MAX;
    for (size_t i = 0; good && i < art->n_lines; i++)
        good = ask_line(c, i);
    for (size_t i = 0; good && i < art->n_marks; i++)
        good = ask_mark(c, &art->marks[i]);
    return good;
}

bool pv_review_contrast(pv_reviewing *r)
{
    contrasts c = {.art = &r->course->art, .mat = r->mat, .met = r->met};
    bool good = gather(&c);
    if (!good)
        pv_fail_memory(r->diags);
    for (size_t i = 0; good && i < c.n_pairs; i++)
        good = report_pair(r, &c, &c.pairs[i]);
    free(c.pairs);
    return good;
}

bool pv_contrast_pairs(const pv_scene *mat, pv_colour_pair **pairs, size_t *n)
{
    contrasts c = {.art = mat->art, .mat = mat};
    bool good = gather(&c);
    *pairs = good ? PV_NEW_ARRAY(c.n_pairs, pv_colour_pair) : NULL;
    *n = c.n_pairs;
    good = *pairs != NULL;
    for (size_t i = 0; good && i < c.n_pairs; i++)
        (*pairs)[i] = (pv_colour_pair){c.pairs[i].a, c.pairs[i].b, c.pairs[i].across};
    free(c.pairs);
    return good;
}
