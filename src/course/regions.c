#include "course/regions.h"

#include "base/memory.h"
#include "course/arrange.h"

#include <stdlib.h>
#include <string.h>

struct pv_regions {
    pv_geos geos;
    pv_area *areas;
    size_t n_areas, cap_areas;
    pv_sides *sides; /* of the areas */
    pv_boxes boxes;
    pv_grid grid; /* of the areas */
    pv_dead_end *dead;
    size_t n_dead, cap_dead;
};

/* ---- faces ---- */

static void destroy_all(pv_geos *geos, GEOSGeometry **list, size_t n)
{
    for (size_t i = 0; i < n; i++)
        GEOSGeom_destroy_r(geos->handle, list[i]);
    free((void *)list);
}

/* Every edge as a line string, n_edges of them; NULL where memory ran out. */
static GEOSGeometry **edge_strings(pv_geos *geos, const pv_arrangement *a)
{
    GEOSGeometry **strings = PV_NEW_ARRAY(a->n_edges, GEOSGeometry *);
    for (size_t i = 0; strings != NULL && i < a->n_edges; i++) {
        pv_vec *points;
        size_t n;
        if (pv_graph_edge_points(a, &a->edges[i], &points, &n)) {
            strings[i] = pv_geos_string(geos, points, n);
            free(points);
        }
        if (strings[i] == NULL) {
            destroy_all(geos, strings, i);
            return NULL;
        }
    }
    return strings;
}

static double ring_area(const pv_ring *ring, double *perimeter)
{
    double sum = 0;
    for (size_t i = 0; i < ring->n; i++) {
        pv_vec a = ring->points[i], b = ring->points[(i + 1) % ring->n];
        sum += pv_cross_z(pv_sub(a, ring->points[0]), pv_sub(b, ring->points[0]));
        *perimeter += pv_dist(a, b);
    }
    return fabs(sum) / 2;
}

static bool is_sliver(const pv_area *area)
{
    double perimeter = 0, sum = 0;
    for (size_t i = 0; i < area->n_rings; i++)
        sum += (i == 0 ? 1 : -1) * ring_area(&area->rings[i], &perimeter);
    return 2 * sum < PV_TOUCH * perimeter;
}

static bool add_faces(pv_regions *r, const GEOSGeometry *faces, pv_diags *diags)
{
    int n = GEOSGetNumGeometries_r(r->geos.handle, faces);
    for (int i = 0; i < n; i++) {
        if (!PV_GROW(r->areas, r->n_areas, r->cap_areas)) {
            pv_fail_memory(diags);
            return false;
        }
        pv_area *area = &r->areas[r->n_areas];
        if (!pv_geos_to_area(&r->geos, GEOSGetGeometryN_r(r->geos.handle, faces, i), area, diags))
            return false;
        if (is_sliver(area))
            pv_area_clear(area);
        else
            r->n_areas++;
    }
    return true;
}

/* Whether the faces are as many as they must be and make up the whole mat: no two strings cross
 * between nodes, and none leaves a node on the wrong side of another. */
static bool is_whole(pv_geos *geos, const GEOSGeometry *faces, const pv_arrangement *a)
{
    double area = 0, whole = a->size.x * a->size.y;
    size_t expected = 0;
    return pv_arrangement_faces(a, &expected) &&
           GEOSGetNumGeometries_r(geos->handle, faces) == (int)expected &&
           GEOSArea_r(geos->handle, faces, &area) == 1 && fabs(area - whole) <= 1e-6 + 1e-9 * whole;
}

/* Curves are cut where they meet, but flattened arcs that are nearly tangent may cross once more: a
 * union cuts them there too. Takes the strings. */
static GEOSGeometry *cut_and_close(pv_geos *geos, GEOSGeometry **strings, size_t n)
{
    GEOSGeometry *all =
        GEOSGeom_createCollection_r(geos->handle, GEOS_MULTILINESTRING, strings, (unsigned)n);
    free((void *)strings);
    GEOSGeometry *noded = all != NULL ? GEOSUnaryUnion_r(geos->handle, all) : NULL;
    const GEOSGeometry *list[1] = {noded};
    GEOSGeometry *faces = noded != NULL ? GEOSPolygonize_r(geos->handle, list, 1) : NULL;
    GEOSGeom_destroy_r(geos->handle, noded);
    GEOSGeom_destroy_r(geos->handle, all);
    return faces;
}

static bool make_faces(pv_regions *r, const pv_arrangement *a, pv_diags *diags)
{
    GEOSContextHandle_t geos = r->geos.handle;
    GEOSGeometry **strings = edge_strings(&r->geos, a);
    if (strings == NULL)
        return pv_geos_refused(&r->geos, diags);
    GEOSGeometry *faces =
        GEOSPolygonize_r(geos, (const GEOSGeometry *const *)strings, (unsigned)a->n_edges);
    if (faces != NULL && is_whole(&r->geos, faces, a)) {
        destroy_all(&r->geos, strings, a->n_edges);
    } else {
        GEOSGeom_destroy_r(geos, faces);
        faces = cut_and_close(&r->geos, strings, a->n_edges);
    }
    bool good = faces != NULL ? add_faces(r, faces, diags) : pv_geos_refused(&r->geos, diags);
    GEOSGeom_destroy_r(geos, faces);
    return good;
}

/* ---- dead ends ---- */

typedef struct search {
    const pv_arrangement *a;
    size_t own;    /* the curve that ends */
    double length; /* of its line */
    pv_vec at;
    double gap;
    size_t nearest;
} search;

static void nearer(size_t item, void *context)
{
    search *s = context;
    const pv_curve *curve = &s->a->curves[item];
    const pv_curve *own = &s->a->curves[s->own];
    if (item == s->own)
        return;
    double along = pv_piece_nearest(&curve->piece, s->at);
    pv_vec p = pv_piece_point(&curve->piece, along);
    double d = pv_dist(p, s->at);
    /* The neighbour in its own line is near only by being joined to it. */
    bool neighbour =
        curve->line == own->line && (curve->end[0] == own->end[0] || curve->end[0] == own->end[1] ||
                                     curve->end[1] == own->end[0] || curve->end[1] == own->end[1]);
    if (neighbour || d >= s->gap)
        return;
    s->gap = d;
    s->nearest = curve->line;
}

/* Looks in ever larger boxes; what is found within the box's reach can't be beaten from outside. */
static bool measure_gap(search *s)
{
    const pv_piece *edges[4];
    for (int i = 0; i < 4; i++) {
        edges[i] = &s->a->curves[i].piece;
        pv_vec p = pv_piece_point(edges[i], pv_piece_nearest(edges[i], s->at));
        if (pv_dist(p, s->at) < s->gap) {
            s->gap = pv_dist(p, s->at);
            s->nearest = PV_MAT_EDGE;
        }
    }
    double most = s->gap, reach = fmin(1, most);
    for (;;) {
        if (!pv_index_find(&s->a->index, pv_box_grow((pv_box){s->at, s->at}, reach), nearer, s))
            return false;
        if (s->gap <= reach || reach >= most)
            return true;
        reach = fmin(4 * reach, most);
    }
}

/* The stops of a curve, which are sorted. */
static size_t first_stop(const pv_arrangement *a, size_t curve)
{
    size_t lo = 0, hi = a->n_stops;
    while (lo < hi) {
        size_t middle = lo + (hi - lo) / 2;
        if (a->stops[middle].curve < curve)
            lo = middle + 1;
        else
            hi = middle;
    }
    return lo;
}

/* How far back along its own line the dead end's line last met another. */
static double stub_length(const pv_arrangement *a, size_t first, size_t last, bool at_start)
{
    double walked = 0;
    for (size_t k = 0; k <= last - first; k++) {
        size_t curve = at_start ? first + k : last - k;
        double length = pv_piece_length(&a->curves[curve].piece);
        size_t begin = first_stop(a, curve), end = first_stop(a, curve + 1);
        for (size_t i = begin; i < end; i++) {
            const pv_stop *stop = &a->stops[at_start ? i : end - 1 - (i - begin)];
            if (a->nodes[stop->node].degree >= 3)
                return walked + (at_start ? stop->s : length - stop->s);
        }
        walked += length;
    }
    return HUGE_VAL;
}

/* An arc, or a line, that nearly closes on itself. */
static void consider_other_end(search *s, const pv_piece *first, const pv_piece *last,
                               bool at_start)
{
    pv_vec p = at_start ? last->b : first->a;
    double d = pv_dist(p, s->at);
    if (d < s->gap && 3 * d < s->length) {
        s->gap = d;
        s->nearest = s->a->curves[s->own].line;
    }
}

/* The two ends of a line whose curves are first to last. */
static bool line_ends(pv_regions *r, const pv_arrangement *a, size_t first, size_t last)
{
    double length = 0;
    for (size_t i = first; i <= last; i++)
        length += pv_piece_length(&a->curves[i].piece);
    for (int end = 0; end < 2; end++) {
        size_t own = end == 0 ? first : last;
        const pv_node *node = &a->nodes[a->curves[own].end[end]];
        if (node->degree != 1)
            continue;
        search s = {.a = a, .own = own, .length = length, .at = node->at, .gap = HUGE_VAL};
        if (!measure_gap(&s))
            return false;
        consider_other_end(&s, &a->curves[first].piece, &a->curves[last].piece, end == 0);
        if (!PV_GROW(r->dead, r->n_dead, r->cap_dead))
            return false;
        r->dead[r->n_dead++] = (pv_dead_end){.at = s.at,
                                             .line = a->curves[own].line,
                                             .gap = s.gap,
                                             .nearest = s.nearest,
                                             .stub = stub_length(a, first, last, end == 0)};
    }
    return true;
}

static bool find_dead_ends(pv_regions *r, const pv_arrangement *a, const pv_art *art,
                           pv_diags *diags)
{
    r->geos.message[0] = '\0';
    for (size_t first = 4, last; first < a->n_curves; first = last + 1) {
        last = first;
        while (last + 1 < a->n_curves && a->curves[last + 1].line == a->curves[first].line)
            last++;
        if (!art->lines[a->curves[first].line].closed && !line_ends(r, a, first, last))
            return pv_geos_refused(&r->geos, diags);
    }
    return true;
}

/* ---- the public face ---- */

static bool index_faces(pv_regions *r, pv_diags *diags)
{
    r->sides = PV_NEW_ARRAY(r->n_areas, pv_sides);
    bool good = r->sides != NULL;
    for (size_t i = 0; good && i < r->n_areas; i++)
        good = pv_sides_open(&r->sides[i], &r->areas[i]) &&
               pv_boxes_add(&r->boxes, pv_sides_box(&r->sides[i]), i);
    good = good && pv_grid_open(&r->grid, r->boxes.list, r->boxes.n);
    if (!good)
        pv_fail_memory(diags);
    return good;
}

pv_regions *pv_regions_make(const pv_art *art, pv_diags *diags)
{
    pv_regions *r = PV_NEW(pv_regions);
    if (r == NULL) {
        pv_fail_memory(diags);
        return NULL;
    }
    pv_arrangement a = {0};
    bool good = pv_geos_open(&r->geos, diags) && pv_arrange(&a, art, &r->geos, diags) &&
                make_faces(r, &a, diags) && index_faces(r, diags) &&
                find_dead_ends(r, &a, art, diags);
    pv_arrangement_clear(&a);
    if (!good) {
        pv_regions_free(r);
        return NULL;
    }
    return r;
}

void pv_regions_free(pv_regions *r)
{
    if (r == NULL)
        return;
    pv_grid_close(&r->grid);
    free(r->boxes.list);
    for (size_t i = 0; i < r->n_areas; i++) {
        if (r->sides != NULL)
            pv_sides_close(&r->sides[i]);
        pv_area_clear(&r->areas[i]);
    }
    free(r->sides);
    free(r->areas);
    free(r->dead);
    pv_geos_close(&r->geos);
    free(r);
}

size_t pv_regions_count(const pv_regions *r)
{
    return r->n_areas;
}

size_t pv_regions_dead_ends(const pv_regions *r, const pv_dead_end **list)
{
    *list = r->dead;
    return r->n_dead;
}

const pv_area *pv_regions_area(const pv_regions *r, size_t index)
{
    return index < r->n_areas ? &r->areas[index] : NULL;
}

typedef struct finding {
    const pv_regions *r;
    pv_vec p;
    size_t found; /* the first, or SIZE_MAX */
} finding;

static bool try_area(void *context, size_t area)
{
    finding *f = context;
    if (area < f->found && pv_sides_cover(&f->r->sides[area], f->p))
        f->found = area;
    return true;
}

size_t pv_regions_find(const pv_regions *r, pv_vec p)
{
    finding f = {r, p, SIZE_MAX};
    pv_grid_visit_down(&r->grid, (pv_box){p, p}, try_area, &f);
    return f.found;
}

/* A visit that stops at a side that comes within PV_TOUCH of the point. */
static bool keeps_off(void *context, pv_vec a, pv_vec b)
{
    pv_vec p = *(const pv_vec *)context;
    pv_piece side = pv_segment(a, b);
    return pv_dist(pv_piece_point(&side, pv_piece_nearest(&side, p)), p) > PV_TOUCH;
}

bool pv_regions_at(const pv_regions *r, pv_vec p, pv_area *out, size_t *index, pv_diags *diags)
{
    size_t found = pv_regions_find(r, p);
    pv_box about = pv_box_grow((pv_box){p, p}, PV_TOUCH);
    *out = (pv_area){0};
    if (found == SIZE_MAX || !pv_sides_each(&r->sides[found], about, keeps_off, &p))
        return false;
    if (index != NULL)
        *index = found;
    if (pv_area_copy(out, &r->areas[found]))
        return true;
    pv_fail_memory(diags);
    return false;
}
