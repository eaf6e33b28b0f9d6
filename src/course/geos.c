#include "course/geos.h"

#include "base/memory.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void complain(const char *message, void *context)
{
    pv_geos *geos = context;
    snprintf(geos->message, sizeof geos->message, "%s", message);
}

bool pv_geos_open(pv_geos *geos, pv_diags *diags)
{
    *geos = (pv_geos){.handle = GEOS_init_r()};
    if (geos->handle == NULL) {
        pv_fail_memory(diags);
        return false;
    }
    GEOSContext_setErrorMessageHandler_r(geos->handle, complain, geos);
    return true;
}

void pv_geos_close(pv_geos *geos)
{
    if (geos->handle != NULL)
        GEOS_finish_r(geos->handle);
    geos->handle = NULL;
}

bool pv_geos_refused(pv_geos *geos, pv_diags *diags)
{
    if (geos->message[0] == '\0' || strstr(geos->message, "bad_alloc") != NULL)
        pv_fail_memory(diags);
    else
        pv_fail(diags, PV_CAUSE_LIBRARY, "the geometry library cannot work with these lines: %s",
                geos->message);
    return false;
}

static GEOSCoordSequence *sequence(pv_geos *geos, const pv_vec *points, size_t n, bool closed)
{
    GEOSCoordSequence *seq =
        GEOSCoordSeq_create_r(geos->handle, (unsigned)(n + (closed ? 1 : 0)), 2);
    if (seq == NULL)
        return NULL;
    for (size_t i = 0; i < n; i++)
        GEOSCoordSeq_setXY_r(geos->handle, seq, (unsigned)i, points[i].x, points[i].y);
    if (closed)
        GEOSCoordSeq_setXY_r(geos->handle, seq, (unsigned)n, points[0].x, points[0].y);
    return seq;
}

GEOSGeometry *pv_geos_box(pv_geos *geos, pv_box box)
{
    const pv_vec corners[4] = {box.lo, {box.hi.x, box.lo.y}, box.hi, {box.lo.x, box.hi.y}};
    return pv_geos_polygon(geos, corners, 4);
}

GEOSGeometry *pv_geos_string(pv_geos *geos, const pv_vec *points, size_t n)
{
    GEOSCoordSequence *seq = sequence(geos, points, n, false);
    return seq != NULL ? GEOSGeom_createLineString_r(geos->handle, seq) : NULL;
}

GEOSGeometry *pv_geos_polygon(pv_geos *geos, const pv_vec *points, size_t n)
{
    GEOSCoordSequence *seq = sequence(geos, points, n, true);
    GEOSGeometry *ring = seq != NULL ? GEOSGeom_createLinearRing_r(geos->handle, seq) : NULL;
    return ring != NULL ? GEOSGeom_createPolygon_r(geos->handle, ring, NULL, 0) : NULL;
}

#define SOLID_FLATNESS 0.02 /* mm */

/* Chords along a sector's arc so that both its radii stay within SOLID_FLATNESS. */
static size_t sector_steps(const pv_solid *s)
{
    double step = 2 * acos(fmax(1 - SOLID_FLATNESS / s->outer, 0.5));
    double n = ceil(s->sweep / step);
    return n < 1 ? 1 : n > 1e6 ? 1000000 : (size_t)n;
}

static GEOSGeometry *sector_polygon(pv_geos *geos, const pv_solid *s)
{
    size_t steps = sector_steps(s), n = 0;
    bool whole = s->sweep >= 2 * PV_PI, hollow = s->inner > 0;
    pv_vec *points = PV_NEW_ARRAY(2 * steps + 3, pv_vec);
    if (points == NULL)
        return NULL;
    /* A slice of the sector has r^2 step / 2, one of the polygon r^2 sin(step) / 2. */
    double step = s->sweep / (double)steps, grow = sqrt(step / sin(step));
    for (size_t i = 0; i < steps + (whole ? 0 : 1); i++)
        points[n++] = pv_add(s->centre, pv_polar(s->outer * grow, s->from + step * (double)i));
    GEOSGeometry *made = NULL;
    if (whole) {
        made = pv_geos_polygon(geos, points, n);
        for (size_t i = 0; i < n && hollow; i++)
            points[i] = pv_along(s->centre, pv_sub(points[i], s->centre), s->inner / s->outer);
        GEOSGeometry *hole = made != NULL && hollow ? pv_geos_polygon(geos, points, n) : NULL;
        if (hole != NULL) {
            GEOSGeometry *ring = GEOSDifference_r(geos->handle, made, hole);
            GEOSGeom_destroy_r(geos->handle, hole);
            GEOSGeom_destroy_r(geos->handle, made);
            made = ring;
        }
    } else {
        for (size_t i = n; hollow && i-- > 0;)
            points[n + (n - 1 - i)] =
                pv_along(s->centre, pv_sub(points[i], s->centre), s->inner / s->outer);
        if (!hollow)
            points[n] = s->centre;
        made = pv_geos_polygon(geos, points, hollow ? 2 * n : n + 1);
    }
    free(points);
    return made;
}

GEOSGeometry *pv_geos_solid(pv_geos *geos, const pv_solid *solid)
{
    if (solid->kind == PV_SOLID_POLYGON)
        return pv_geos_polygon(geos, solid->corner, (size_t)solid->n);
    return sector_polygon(geos, solid);
}

GEOSGeometry *pv_geos_area(pv_geos *geos, const pv_area *area)
{
    GEOSGeometry *sum = GEOSGeom_createEmptyPolygon_r(geos->handle);
    for (size_t i = 0; sum != NULL && i < area->n_rings; i++) {
        GEOSGeometry *ring = pv_geos_polygon(geos, area->rings[i].points, area->rings[i].n);
        GEOSGeometry *next = ring != NULL ? GEOSSymDifference_r(geos->handle, sum, ring) : NULL;
        GEOSGeom_destroy_r(geos->handle, ring);
        GEOSGeom_destroy_r(geos->handle, sum);
        sum = next;
    }
    return sum;
}

static bool to_ring(pv_geos *geos, const GEOSGeometry *line, pv_ring *out)
{
    const GEOSCoordSequence *seq = line != NULL ? GEOSGeom_getCoordSeq_r(geos->handle, line) : NULL;
    unsigned size = 0;
    if (seq == NULL || !GEOSCoordSeq_getSize_r(geos->handle, seq, &size) || size < 4)
        return false;
    out->points = PV_NEW_ARRAY(size - 1, pv_vec);
    if (out->points == NULL)
        return false;
    out->n = size - 1; /* the last repeats the first */
    for (unsigned i = 0; i + 1 < size; i++)
        GEOSCoordSeq_getXY_r(geos->handle, seq, i, &out->points[i].x, &out->points[i].y);
    return true;
}

bool pv_geos_to_area(pv_geos *geos, const GEOSGeometry *polygon, pv_area *out, pv_diags *diags)
{
    *out = (pv_area){0};
    int holes = GEOSGetNumInteriorRings_r(geos->handle, polygon);
    if (holes < 0)
        return pv_geos_refused(geos, diags);
    out->rings = PV_NEW_ARRAY((size_t)holes + 1, pv_ring);
    bool good = out->rings != NULL;
    for (int i = 0; good && i <= holes; i++) {
        const GEOSGeometry *ring = i == 0 ? GEOSGetExteriorRing_r(geos->handle, polygon)
                                          : GEOSGetInteriorRingN_r(geos->handle, polygon, i - 1);
        good = to_ring(geos, ring, &out->rings[i]);
        out->n_rings += good;
    }
    if (good)
        return true;
    pv_area_clear(out);
    return pv_geos_refused(geos, diags);
}

/* ---- boxes found by place ---- */

/* A geometry of which only the envelope counts. */
static GEOSGeometry *envelope(pv_geos *geos, pv_box box)
{
    const pv_vec ends[2] = {box.lo, box.hi};
    return pv_geos_string(geos, ends, 2);
}

bool pv_index_open(pv_index *index, pv_geos *geos, const pv_box *boxes, size_t n)
{
    index->geos = geos;
    index->tree = GEOSSTRtree_create_r(geos->handle, 10);
    if (index->tree == NULL)
        return false;
    for (size_t i = 0; i < n; i++) {
        GEOSGeometry *box = envelope(geos, boxes[i]);
        if (box == NULL)
            return false;
        /* The tree keeps the envelope, not the geometry; its items are places counted from 1. */
        GEOSSTRtree_insert_r(geos->handle, index->tree, box, (void *)(uintptr_t)(i + 1));
        GEOSGeom_destroy_r(geos->handle, box);
    }
    return true;
}

void pv_index_close(pv_index *index)
{
    if (index->tree != NULL)
        GEOSSTRtree_destroy_r(index->geos->handle, index->tree);
    index->tree = NULL;
}

typedef struct finder {
    pv_index_visit *visit;
    void *context;
} finder;

static void found(void *item, void *context)
{
    const finder *f = context;
    f->visit((size_t)(uintptr_t)item - 1, f->context);
}

bool pv_index_find(const pv_index *index, pv_box box, pv_index_visit *visit, void *context)
{
    GEOSGeometry *query = envelope(index->geos, box);
    if (query == NULL) {
        index->geos->failed = true;
        return false;
    }
    finder f = {visit, context};
    GEOSSTRtree_query_r(index->geos->handle, index->tree, query, found, &f);
    GEOSGeom_destroy_r(index->geos->handle, query);
    return true;
}
