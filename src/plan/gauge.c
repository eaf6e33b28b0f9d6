#include "plan/gauge.h"

#include "plan/anatomy.h"

#include <stdlib.h>

#define LANE       0.4 /* mm kept free on both sides of a trim line, where people cut */
#define IN_WAY_MAX (1 + PV_TAG_PLACES + 4 + 2)
#define PLACES_MAX (2 * IN_WAY_MAX + 1)

/* What a mark must stay clear of, and where along each side one may stand. */
typedef struct gauge_search {
    pv_box page; /* the printer reaches it */
    pv_box in_way[IN_WAY_MAX];
    size_t n;
    double at[4][PLACES_MAX]; /* by side, from the page's edge inwards */
    size_t n_at[4];
} gauge_search;

static void avoid(gauge_search *s, pv_box box)
{
    s->in_way[s->n++] = box;
}

static void look_around(gauge_search *s, const pv_plan *plan, const pv_sheet *sheet)
{
    pv_box kept = pv_sheet_kept_box(plan, sheet), trim = pv_sheet_trim_box(plan, sheet);
    double edge[4] = {trim.lo.x - sheet->origin.x, trim.lo.y - sheet->origin.y,
                      trim.hi.x - sheet->origin.x, trim.hi.y - sheet->origin.y};
    s->page = pv_plan_printable(plan);
    avoid(s, (pv_box){pv_sub(kept.lo, sheet->origin), pv_sub(kept.hi, sheet->origin)});
    for (int p = 0; p < PV_TAG_PLACES; p++)
        avoid(s, pv_tag_box(&sheet->tag[p]));
    for (int side = 0; side < 4 && !plan->proof; side++) {
        pv_box lane = pv_box_all();
        if (sheet->side[side] == PV_UNDER)
            continue;
        if (side % 2 == 0)
            lane.lo.x = lane.hi.x = edge[side];
        else
            lane.lo.y = lane.hi.y = edge[side];
        avoid(s, pv_box_grow(lane, LANE));
    }
    pv_box room;
    if (pv_sheet_bars_beyond(plan, sheet, &room))
        avoid(s, room);
}

static bool is_free(const gauge_search *s, pv_vec mark)
{
    pv_box box = pv_box_grow(pv_gauge_box(mark), -1e-9);
    pv_box reach = pv_box_grow(s->page, 1e-9 - PV_GAUGE_ARM);
    if (!pv_box_holds(reach, mark))
        return false;
    for (size_t i = 0; i < s->n; i++)
        if (pv_box_meets(box, s->in_way[i]))
            return false;
    return true;
}

static int ascending(const void *a, const void *b)
{
    double p = *(const double *)a, q = *(const double *)b;
    return (p > q) - (p < q);
}

static int descending(const void *a, const void *b)
{
    return ascending(b, a);
}

/* A mark that cannot be moved outwards touches the page's edge or something in its way. */
static void list_places(gauge_search *s, int side)
{
    bool across = side % 2 == 0, low = side < 2;
    double lo = across ? s->page.lo.x : s->page.lo.y, hi = across ? s->page.hi.x : s->page.hi.y;
    double half = PV_GAUGE_ARM + PV_GAUGE_CLEAR, *at = s->at[side];
    size_t n = 0;
    at[n++] = low ? lo + PV_GAUGE_ARM : hi - PV_GAUGE_ARM;
    for (size_t i = 0; i < 2 * s->n; i++) {
        pv_box b = s->in_way[i / 2];
        double place =
            i % 2 == 0 ? (across ? b.lo.x : b.lo.y) - half : (across ? b.hi.x : b.hi.y) + half;
        if (place > lo && place < hi && (place < (lo + hi) / 2) == low)
            at[n++] = place;
    }
    qsort(at, n, sizeof *at, low ? ascending : descending);
    s->n_at[side] = n;
}

static bool all_free(const gauge_search *s, pv_box r)
{
    return is_free(s, r.lo) && is_free(s, pv_v(r.hi.x, r.lo.y)) && is_free(s, r.hi) &&
           is_free(s, pv_v(r.lo.x, r.hi.y));
}

/* Its sides cut to whole millimetres, at either end or at both, where the marks stay free. */
static pv_box to_whole_mm(const gauge_search *s, pv_box r)
{
    double x = r.hi.x - r.lo.x, y = r.hi.y - r.lo.y;
    double over_x = x - floor(x + 1e-9), over_y = y - floor(y + 1e-9);
    for (int i = 0; i < 9; i++) {
        int column = i % 3, row = i / 3;
        double left = column * over_x / 2, below = row * over_y / 2;
        pv_box whole = {{r.lo.x + left, r.lo.y + below}, pv_v(0, 0)};
        whole.hi = pv_add(whole.lo, pv_v(floor(x + 1e-9), floor(y + 1e-9)));
        if (all_free(s, whole))
            return whole;
    }
    return r;
}

/* The largest area. */
static pv_box largest(const gauge_search *s)
{
    const double *left = s->at[0], *below = s->at[1], *right = s->at[2], *above = s->at[3];
    double best = 0, tallest = above[0] - below[0];
    pv_box found = pv_box_none();
    for (size_t l = 0; l < s->n_at[0]; l++)
        for (size_t r = 0; r < s->n_at[2] && (right[r] - left[l]) * tallest > best; r++)
            for (size_t b = 0; b < s->n_at[1]; b++)
                for (size_t a = 0; a < s->n_at[3]; a++) {
                    pv_box box = {{left[l], below[b]}, {right[r], above[a]}};
                    double area = (box.hi.x - box.lo.x) * (box.hi.y - box.lo.y);
                    if (area <= best)
                        break;
                    if (!all_free(s, box))
                        continue;
                    best = area;
                    found = box;
                }
    return found;
}

void pv_sheet_place_gauge(const pv_plan *plan, pv_sheet *sheet)
{
    gauge_search s = {.n = 0};
    sheet->n_gauge = 0;
    look_around(&s, plan, sheet);
    for (int side = 0; side < 4; side++)
        list_places(&s, side);
    pv_box r = largest(&s);
    if (!(r.hi.x - r.lo.x >= PV_GAUGE_LEAST && r.hi.y - r.lo.y >= PV_GAUGE_LEAST))
        return;
    r = to_whole_mm(&s, r);
    sheet->gauge[0] = r.lo;
    sheet->gauge[1] = pv_v(r.hi.x, r.lo.y);
    sheet->gauge[2] = r.hi;
    sheet->gauge[3] = pv_v(r.lo.x, r.hi.y);
    sheet->n_gauge = PV_GAUGE_MARKS;
}
