#include "course/locate.h"

#include "base/memory.h"

#include <stdlib.h>

#define CHUNK 64 /* sides in a chunk */

static pv_vec corner(const pv_ring *ring, size_t i)
{
    return ring->points[i < ring->n ? i : 0];
}

static pv_box chunk_box(const pv_locator *l, const pv_chunk *c)
{
    const pv_ring *ring = &l->areas[c->area].rings[c->ring];
    pv_box box = pv_box_none();
    for (size_t i = c->first; i <= c->first + c->n; i++)
        box = pv_box_add(box, corner(ring, i));
    return box;
}

static bool make_chunks(pv_locator *l)
{
    size_t n = 0;
    for (size_t i = 0; i < l->n_areas; i++)
        for (size_t k = 0; k < l->areas[i].n_rings; k++)
            n += (l->areas[i].rings[k].n + CHUNK - 1) / CHUNK;
    l->chunks = PV_NEW_ARRAY(n, pv_chunk);
    if (l->chunks == NULL)
        return false;
    for (size_t i = 0; i < l->n_areas; i++) {
        for (size_t k = 0; k < l->areas[i].n_rings; k++) {
            size_t sides = l->areas[i].rings[k].n;
            for (size_t first = 0; first < sides; first += CHUNK) {
                size_t most = sides - first < CHUNK ? sides - first : CHUNK;
                l->chunks[l->n_chunks++] = (pv_chunk){i, k, first, most};
            }
        }
    }
    return true;
}

bool pv_locator_open(pv_locator *l, pv_geos *geos, const pv_area *areas, size_t n)
{
    *l = (pv_locator){.areas = areas, .n_areas = n};
    if (!make_chunks(l))
        return false;
    pv_box *boxes = PV_NEW_ARRAY(n + l->n_chunks, pv_box);
    l->boxes = boxes;
    if (boxes == NULL)
        return false;
    for (size_t i = 0; i < n; i++)
        boxes[i] = pv_area_box(&areas[i]);
    for (size_t i = 0; i < l->n_chunks; i++)
        boxes[n + i] = chunk_box(l, &l->chunks[i]);
    return pv_index_open(&l->by_area, geos, boxes, n) &&
           pv_index_open(&l->by_chunk, geos, boxes + n, l->n_chunks);
}

void pv_locator_close(pv_locator *l)
{
    pv_index_close(&l->by_area);
    pv_index_close(&l->by_chunk);
    free(l->boxes);
    free(l->chunks);
    *l = (pv_locator){0};
}

typedef struct asking {
    const pv_locator *l;
    size_t area;
    pv_vec p;
    double within;
    bool odd, near;
} asking;

/* A ray from p towards +x, against the sides of one chunk. */
static void cross_chunk(size_t item, void *context)
{
    asking *a = context;
    const pv_chunk *c = &a->l->chunks[item];
    if (c->area != a->area)
        return;
    const pv_ring *ring = &a->l->areas[c->area].rings[c->ring];
    for (size_t i = c->first; i < c->first + c->n; i++) {
        pv_vec p = corner(ring, i), q = corner(ring, i + 1);
        if ((p.y > a->p.y) != (q.y > a->p.y) &&
            a->p.x < p.x + (q.x - p.x) * ((a->p.y - p.y) / (q.y - p.y)))
            a->odd = !a->odd;
    }
}

bool pv_locator_covers(const pv_locator *l, size_t area, pv_vec p)
{
    asking a = {.l = l, .area = area, .p = p};
    pv_box ray = {p, {l->boxes[area].hi.x, p.y}};
    if (pv_box_holds(l->boxes[area], p))
        pv_index_find(&l->by_chunk, ray, cross_chunk, &a);
    return a.odd;
}

static void near_chunk(size_t item, void *context)
{
    asking *a = context;
    const pv_chunk *c = &a->l->chunks[item];
    if (c->area != a->area || a->near)
        return;
    const pv_ring *ring = &a->l->areas[c->area].rings[c->ring];
    for (size_t i = c->first; i < c->first + c->n && !a->near; i++) {
        pv_piece side = pv_segment(corner(ring, i), corner(ring, i + 1));
        pv_vec foot = pv_piece_point(&side, pv_piece_nearest(&side, a->p));
        a->near = pv_dist(foot, a->p) <= a->within;
    }
}

bool pv_locator_near(const pv_locator *l, size_t area, pv_vec p, double within)
{
    asking a = {.l = l, .area = area, .p = p, .within = within};
    pv_index_find(&l->by_chunk, pv_box_grow((pv_box){p, p}, within), near_chunk, &a);
    return a.near;
}

typedef struct finding {
    const pv_locator *l;
    pv_vec p;
    size_t found;
} finding;

static void try_area(size_t item, void *context)
{
    finding *f = context;
    if (item < f->found && pv_locator_covers(f->l, item, f->p))
        f->found = item;
}

size_t pv_locator_find(const pv_locator *l, pv_vec p)
{
    finding f = {l, p, SIZE_MAX};
    pv_index_find(&l->by_area, (pv_box){p, p}, try_area, &f);
    return f.found;
}
