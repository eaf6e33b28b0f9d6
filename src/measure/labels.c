/* The plan as a raster of labels. */
#include "base/memory.h"
#include "measure/view.h"
#include "scene/raster.h"

#include <stdlib.h>

/* ---- the raster ---- */

void pv_labels_clear(pv_labels *labels)
{
    free(labels->at);
    free(labels->edged);
    *labels = (pv_labels){0};
}

/* Of cells, which a page's size is a whole number of but for rounding. */
static size_t cells_along(double length, double cell)
{
    return (size_t)fmax(1, length / cell + 1e-6);
}

static bool start(pv_labels *labels, const pv_scene *page)
{
    double wide = page->page.hi.x - page->page.lo.x, high = page->page.hi.y - page->page.lo.y;
    double cell = fmax(PV_LABEL_CELL, sqrt(wide * high / PV_LABELS_MAX));
    *labels = (pv_labels){.art = page->art, .lo = page->origin, .cell = cell};
    labels->nx = cells_along(wide, cell);
    labels->ny = cells_along(high, cell);
    labels->at = PV_NEW_ARRAY(labels->nx * labels->ny, uint32_t);
    labels->edged = pv_new_array(labels->nx * labels->ny, 1);
    if (labels->at != NULL && labels->edged != NULL)
        return true;
    pv_labels_clear(labels);
    return false;
}

uint32_t pv_label_at(const pv_labels *labels, pv_vec mat)
{
    double u = (mat.x - labels->lo.x) / labels->cell, v = (mat.y - labels->lo.y) / labels->cell;
    /* Written so that NaN counts as blocked. */
    if (!(u >= 0 && v >= 0 && u < (double)labels->nx && v < (double)labels->ny))
        return PV_LABEL_BLOCKED;
    return labels->at[(size_t)v * labels->nx + (size_t)u];
}

uint32_t pv_label_around(const pv_labels *labels, pv_vec mat, double half)
{
    double lo[2] = {(mat.x - half - labels->lo.x) / labels->cell,
                    (mat.y - half - labels->lo.y) / labels->cell};
    double hi[2] = {(mat.x + half - labels->lo.x) / labels->cell,
                    (mat.y + half - labels->lo.y) / labels->cell};
    if (!(lo[0] >= 0 && lo[1] >= 0 && hi[0] < (double)labels->nx && hi[1] < (double)labels->ny))
        return PV_LABEL_BLOCKED;
    uint32_t label = labels->at[(size_t)lo[1] * labels->nx + (size_t)lo[0]];
    for (size_t j = (size_t)lo[1]; j <= (size_t)hi[1]; j++)
        for (size_t i = (size_t)lo[0]; i <= (size_t)hi[0]; i++) {
            size_t k = j * labels->nx + i;
            if (labels->at[k] != label || labels->edged[k] != 0)
                return PV_LABEL_BLOCKED;
        }
    return label;
}

size_t pv_label_colour(const pv_art *art, uint32_t label)
{
    if (label < art->n_colours)
        return label;
    return label < PV_LABEL_WASTE ? art->lines[label - art->n_colours].colour : SIZE_MAX;
}

/* ---- painting ---- */

typedef struct brush {
    pv_labels *labels;
    pv_points raster; /* the cells' middles, row by row */
    uint32_t label;
    uint8_t edged, keeps; /* set, and left as they are */
} brush;

static void paint_run(void *context, size_t row, size_t from, size_t to)
{
    const brush *b = context;
    size_t first = row * b->labels->nx + from;
    for (size_t k = first; k < first + to - from; k++) {
        b->labels->at[k] = b->label;
        b->labels->edged[k] = b->edged | (b->labels->edged[k] & b->keeps);
    }
}

static void paint_box(brush *b, pv_box box)
{
    size_t row, end, from, to;
    pv_points_lines(&b->raster, box.lo.y, box.hi.y, &row, &end);
    pv_points_between(&b->raster, box.lo.x, box.hi.x, &from, &to);
    b->raster.work += (double)((end - row) * (to - from));
    for (; row < end; row++)
        paint_run(b, row, from, to);
}

/* ---- borders that slip between the cells' middles ---- */

/* Marks cells that a straight edge passes through: one in each half a cell's length of it. */
static void mark_edge(brush *b, pv_vec p, pv_vec q)
{
    pv_labels *labels = b->labels;
    pv_box window = pv_box_grow(b->raster.window, labels->cell);
    if (fmax(p.x, q.x) < window.lo.x || fmin(p.x, q.x) > window.hi.x ||
        fmax(p.y, q.y) < window.lo.y || fmin(p.y, q.y) > window.hi.y)
        return;
    double t0 = 0, t1 = 1;
    const double from[2] = {p.x, p.y}, step[2] = {q.x - p.x, q.y - p.y};
    const double lo[2] = {window.lo.x, window.lo.y}, hi[2] = {window.hi.x, window.hi.y};
    for (int k = 0; k < 2; k++) {
        if (step[k] == 0)
            continue;
        double u = (lo[k] - from[k]) / step[k], v = (hi[k] - from[k]) / step[k];
        t0 = fmax(t0, fmin(u, v));
        t1 = fmin(t1, fmax(u, v));
    }
    if (!(t0 <= t1))
        return;
    double length = hypot(step[0], step[1]) * (t1 - t0);
    size_t n = (size_t)(2 * length / labels->cell) + 1;
    for (size_t i = 0; i <= n; i++) {
        double t = t0 + (t1 - t0) * (double)i / (double)n;
        double u = (p.x + t * step[0] - labels->lo.x) / labels->cell;
        double v = (p.y + t * step[1] - labels->lo.y) / labels->cell;
        if (u >= 0 && v >= 0 && u < (double)labels->nx && v < (double)labels->ny)
            labels->edged[(size_t)v * labels->nx + (size_t)u] |= PV_LABEL_EDGED;
    }
    b->raster.work += (double)n;
}

/* How far a convex polygon reaches at least, whichever way: from its flattest side. */
static double thickness(const pv_solid *solid)
{
    double least = HUGE_VAL;
    for (int i = 0; i < solid->n; i++) {
        pv_vec p = solid->corner[i], along = pv_sub(solid->corner[(i + 1) % solid->n], p);
        double length = hypot(along.x, along.y), most = 0;
        for (int k = 0; k < solid->n && length > 0; k++)
            most = fmax(most, fabs(pv_cross_z(along, pv_sub(solid->corner[k], p))) / length);
        if (length > 0)
            least = fmin(least, most);
    }
    return least;
}

/* A circle may be far larger than the window: from which angle on, and over how much, it may pass
 * through that. False where it doesn't. */
static bool arc_within(pv_box window, const pv_solid *solid, double *from, double *over)
{
    *from = 0;
    *over = 2 * PV_PI;
    if (pv_box_holds(window, solid->centre))
        return true;
    pv_vec middle = pv_sub(pv_scale(pv_add(window.lo, window.hi), 0.5), solid->centre);
    double mid = atan2(middle.y, middle.x), most = 0, far = 0;
    for (int i = 0; i < 4; i++) {
        pv_vec d =
            pv_sub(pv_v(i & 1 ? window.hi.x : window.lo.x, i & 2 ? window.hi.y : window.lo.y),
                   solid->centre);
        most = fmax(most, fabs(remainder(atan2(d.y, d.x) - mid, 2 * PV_PI)));
        far = fmax(far, hypot(d.x, d.y));
    }
    double dx = fmax(fmax(window.lo.x - solid->centre.x, solid->centre.x - window.hi.x), 0);
    double dy = fmax(fmax(window.lo.y - solid->centre.y, solid->centre.y - window.hi.y), 0);
    *from = mid - most;
    *over = 2 * most;
    return solid->outer >= hypot(dx, dy) && solid->inner <= far;
}

/* A thin sector's middle, in chords of half a cell. */
static void mark_arc(brush *b, const pv_solid *solid)
{
    double radius = (solid->inner + solid->outer) / 2, from, over;
    double n = floor(4 * PV_PI * radius / b->labels->cell) + 8; /* all round */
    if (!arc_within(pv_box_grow(b->raster.window, 2 * b->labels->cell), solid, &from, &over))
        return;
    double first = floor(n * from / (2 * PV_PI));
    size_t chords = (size_t)ceil(n * (from + over) / (2 * PV_PI) - first);
    b->raster.work += 3 * (double)chords;
    pv_vec before = {0};
    for (size_t i = 0; i <= chords && b->raster.work < PV_LABEL_WORK; i++) {
        double angle = 2 * PV_PI * (first + (double)i) / n;
        pv_vec at = pv_add(solid->centre, pv_v(radius * cos(angle), radius * sin(angle)));
        if (i > 0 && pv_solid_covers(solid, at))
            mark_edge(b, before, at);
        before = at;
    }
}

static bool mark_ring(void *context, const pv_ring *ring)
{
    for (size_t i = 0; i < ring->n; i++)
        mark_edge(context, ring->points[i], ring->points[(i + 1) % ring->n]);
    return true;
}

/* All round an area, and along what is thin of a line. */
static void mark_item(brush *b, const pv_scene *mat, const pv_item *item)
{
    const pv_solid *solid = &item->u.solid;
    double thin = PV_LABEL_THIN * b->labels->cell;
    if (item->kind != PV_ITEM_LINE)
        pv_scene_rings(mat, item, pv_box_grow(b->raster.window, b->labels->cell), mark_ring, b);
    else if (solid->kind == PV_SOLID_SECTOR && solid->outer - solid->inner < thin)
        mark_arc(b, solid);
    else if (solid->kind == PV_SOLID_POLYGON && thickness(solid) < thin)
        for (int i = 0; i < solid->n; i++)
            mark_edge(b, solid->corner[i], solid->corner[(i + 1) % solid->n]);
}

/* ---- all of it ---- */

static bool paint_items(brush *b, const pv_shown *shown)
{
    const pv_scene *mat = shown->page->mat;
    pv_look look = {0};
    bool good = pv_scene_find(mat, b->raster.window, &look);
    for (size_t i = 0; good && i < look.n && b->raster.work < PV_LABEL_WORK; i++) {
        const pv_item *item = look.items[i];
        if (item->kind == PV_ITEM_TEXT)
            continue; /* clutter */
        b->label = (uint32_t)(item->kind == PV_ITEM_LINE ? shown->art->n_colours + item->of
                                                         : item->colour);
        good = pv_points_item(&b->raster, mat, item, paint_run, b);
        mark_item(b, mat, item);
    }
    pv_look_drop(&look);
    return good;
}

static pv_box meet(pv_box a, pv_box b)
{
    return (pv_box){{fmax(a.lo.x, b.lo.x), fmax(a.lo.y, b.lo.y)},
                    {fmin(a.hi.x, b.hi.x), fmin(a.hi.y, b.hi.y)}};
}

/* What is no edge of the art, or hides it. */
static void block(brush *b, const pv_shown *shown)
{
    size_t end = shown->tooth + shown->n_teeth;
    b->label = PV_LABEL_BLOCKED;
    for (size_t i = 0; i < shown->n_clutter && b->raster.work < PV_LABEL_WORK; i++) {
        bool tooth = i >= shown->tooth && i < end;
        b->edged = i < shown->n_lettered ? PV_LABEL_LETTERED : tooth ? PV_LABEL_BY_TOOTH : 0;
        b->keeps = i < shown->n_lettered ? PV_LABEL_EDGED : 0;
        /* Whoever asks stays as far off what is blocked, and what lies there ends at its margin. */
        double clear = i < shown->n_printed ? PV_CLUTTER_CLEAR : -PV_CLUTTER_CLEAR;
        paint_box(b, pv_box_grow(shown->clutter[i], clear));
        if (!tooth)
            continue;
        b->edged = PV_LABEL_TOOTH;
        paint_box(b, shown->clutter[i]);
    }
}

bool pv_labels_make(pv_labels *labels, const pv_shown *shown)
{
    if (!start(labels, shown->page))
        return false;
    size_t n = labels->nx * labels->ny;
    for (size_t i = 0; i < n; i++)
        labels->at[i] = PV_LABEL_WASTE;
    brush b = {.labels = labels};
    b.raster = (pv_points){.first = labels->lo.y + labels->cell / 2,
                           .pitch = labels->cell,
                           .lines = labels->ny,
                           .start = labels->lo.x + labels->cell / 2,
                           .step = labels->cell,
                           .points = labels->nx,
                           .window = meet(shown->window, shown->page->mat->page)};
    b.label = (uint32_t)shown->art->ground;
    paint_box(&b, b.raster.window);
    bool good = paint_items(&b, shown);
    b.raster.window = pv_box_all();
    block(&b, shown);
    labels->overrun = b.raster.work >= PV_LABEL_WORK;
    for (size_t i = 0; labels->overrun && i < n; i++) {
        labels->at[i] = PV_LABEL_BLOCKED;
        labels->edged[i] = 0;
    }
    pv_points_drop(&b.raster);
    if (!good)
        pv_labels_clear(labels);
    return good;
}
