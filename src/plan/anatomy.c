#include "plan/anatomy.h"

#include "base/memory.h"
#include "plan/roll.h"

#include <stdlib.h>

/* Layout: bars of round lengths, chosen. */
#define MM_STEP  10.0
#define MM_MOST  10 /* steps */
#define MM_LEAST 2
#define IN_STEP  (PV_MM_PER_IN / 2)
#define IN_MOST  4 /* whole inches */
#define IN_LEAST 1
#define BAR_MOST 60 /* of either, on a proof */
/* Where ticks begin and how long they are, as shares of the strip's width from the art outwards. */
#define MM_FROM (1.0 / 12)
#define IN_FROM (6.5 / 12)
#define TICK    (2.5 / 12)

pv_box pv_sheet_cell(const pv_sheet *sheet)
{
    return (pv_box){pv_sub(sheet->cell.lo, sheet->origin), pv_sub(sheet->cell.hi, sheet->origin)};
}

pv_box pv_plan_printable(const pv_plan *plan)
{
    return (pv_box){{plan->margin[PV_LEFT], plan->margin[PV_BOTTOM]},
                    {plan->page[0] - plan->margin[PV_RIGHT], plan->page[1] - plan->margin[PV_TOP]}};
}

static double art_beyond(const pv_plan *plan, pv_side_kind kind)
{
    switch (kind) {
    case PV_OVER:
        return plan->bleed;
    case PV_UNDER:
        return plan->lap_art;
    case PV_OUTER:
        break;
    }
    return 0;
}

pv_box pv_sheet_art_box(const pv_plan *plan, const pv_sheet *sheet)
{
    pv_box b = sheet->cell;
    b.lo.x -= art_beyond(plan, sheet->side[PV_LEFT]);
    b.lo.y -= art_beyond(plan, sheet->side[PV_BOTTOM]);
    b.hi.x += art_beyond(plan, sheet->side[PV_RIGHT]);
    b.hi.y += art_beyond(plan, sheet->side[PV_TOP]);
    return b;
}

static double border_on(const pv_plan *plan, const pv_sheet *sheet, pv_side side)
{
    return sheet->side[side] == PV_OUTER ? plan->border : 0;
}

static pv_box with_border(const pv_plan *plan, const pv_sheet *sheet, pv_box b)
{
    b.lo.x -= border_on(plan, sheet, PV_LEFT);
    b.lo.y -= border_on(plan, sheet, PV_BOTTOM);
    b.hi.x += border_on(plan, sheet, PV_RIGHT);
    b.hi.y += border_on(plan, sheet, PV_TOP);
    return b;
}

pv_box pv_sheet_kept_box(const pv_plan *plan, const pv_sheet *sheet)
{
    return with_border(plan, sheet, pv_sheet_art_box(plan, sheet));
}

pv_box pv_sheet_trim_box(const pv_plan *plan, const pv_sheet *sheet)
{
    return with_border(plan, sheet, sheet->cell);
}

bool pv_sheet_is_wide(const pv_sheet *sheet, pv_side side)
{
    pv_side opposite = (pv_side)((side + 2) % 4);
    if (sheet->side[side] == PV_UNDER)
        return true;
    return sheet->side[opposite] != PV_UNDER && (side == PV_BOTTOM || side == PV_RIGHT);
}

pv_side pv_sheet_service_side(const pv_sheet *sheet, bool vertical)
{
    pv_side first = vertical ? PV_RIGHT : PV_BOTTOM, other = vertical ? PV_LEFT : PV_TOP;
    return pv_sheet_is_wide(sheet, first) ? first : other;
}

/* A roll's end has a service strip, whichever side it is. */
static bool end_of_roll(const pv_plan *plan, pv_side side)
{
    return plan->strips == (side % 2 == 0 ? PV_STRIPS_ALONG_X : PV_STRIPS_ALONG_Y);
}

static double strips_on(const pv_plan *plan, const pv_sheet *sheet, pv_side side)
{
    if (plan->strips == PV_STRIPS_AROUND)
        return pv_sheet_is_wide(sheet, side) ? plan->overlap : plan->bleed + PV_LABEL_STRIP;
    if (!end_of_roll(plan, side))
        return 0;
    return plan->overlap + (side == PV_BOTTOM || side == PV_RIGHT ? PV_ENDS_BARS : 0);
}

double pv_sheet_allowance(const pv_plan *plan, const pv_sheet *sheet, pv_side side)
{
    return strips_on(plan, sheet, side) + border_on(plan, sheet, side);
}

pv_box pv_sheet_strip(const pv_plan *plan, const pv_sheet *sheet, pv_side side)
{
    pv_box c = pv_sheet_cell(sheet);
    bool wide = pv_sheet_is_wide(sheet, side) || end_of_roll(plan, side);
    double from = (wide ? plan->lap_art : plan->bleed) + border_on(plan, sheet, side);
    double to = from + (wide ? plan->service : PV_LABEL_STRIP);
    switch (side) {
    case PV_LEFT:
        return (pv_box){{c.lo.x - to, c.lo.y}, {c.lo.x - from, c.hi.y}};
    case PV_BOTTOM:
        return (pv_box){{c.lo.x, c.lo.y - to}, {c.hi.x, c.lo.y - from}};
    case PV_RIGHT:
        return (pv_box){{c.hi.x + from, c.lo.y}, {c.hi.x + to, c.hi.y}};
    case PV_TOP:
        break;
    }
    return (pv_box){{c.lo.x, c.hi.y + from}, {c.hi.x, c.hi.y + to}};
}

pv_box pv_tag_box(const pv_tag *tag)
{
    return pv_box_grow((pv_box){tag->centre, tag->centre}, tag->cell * PV_TAG_BOX_CELLS / 2);
}

pv_box pv_gauge_box(pv_vec mark)
{
    return pv_box_grow((pv_box){mark, mark}, PV_GAUGE_ARM + PV_GAUGE_CLEAR);
}

/* ---- tags ---- */

static bool box_within(pv_box inner, pv_box outer)
{
    pv_box wide = pv_box_grow(outer, 1e-9);
    return pv_box_holds(wide, inner.lo) && pv_box_holds(wide, inner.hi);
}

/* Where along a strip of that length, from its free end, the middles of the end's tag and of the
 * strip's other tag stand. */
static double end_place(double length, double tag)
{
    double inside = PV_CUT_LANE + tag / 2;
    return length >= 2 * inside ? inside : -inside;
}

static double other_place(double length, double tag)
{
    double inside = PV_CUT_LANE + tag / 2, end = end_place(length, tag);
    if (end < 0) /* on a mat that short both stand past the strip's end */
        return end - tag;
    double nearest = end + tag, farthest = length - inside;
    if (nearest > farthest)
        return -inside;
    return fmin(fmax(length / 2, nearest), farthest);
}

/* Where the tags' middles stand: place 0 to 3. */
static void tag_places(const pv_plan *plan, const pv_sheet *sheet, pv_vec at[PV_TAG_PLACES])
{
    pv_side across = pv_sheet_service_side(sheet, false),
            upright = pv_sheet_service_side(sheet, true);
    pv_box row = pv_sheet_strip(plan, sheet, across), column = pv_sheet_strip(plan, sheet, upright);
    double tag = plan->service, width = row.hi.x - row.lo.x, height = column.hi.y - column.lo.y;
    pv_vec corner = {pv_box_middle(column).x, pv_box_middle(row).y};
    /* From the strips' free ends towards the corner between them. */
    double x = upright == PV_RIGHT ? row.lo.x : row.hi.x, right = upright == PV_RIGHT ? 1 : -1;
    double y = across == PV_BOTTOM ? column.hi.y : column.lo.y, up = across == PV_BOTTOM ? -1 : 1;
    at[0] = pv_v(x + right * end_place(width, tag), corner.y);
    at[1] = corner;
    at[2] = pv_v(corner.x, y + up * end_place(height, tag));
    at[3] = height > width ? pv_v(corner.x, y + up * other_place(height, tag))
                           : pv_v(x + right * other_place(width, tag), corner.y);
}

/* Counter-clockwise from the lower left, at the ends of the two strips at the roll's ends. */
static void tag_places_at_ends(const pv_plan *plan, const pv_sheet *sheet, pv_vec at[PV_TAG_PLACES])
{
    bool along_y = plan->strips == PV_STRIPS_ALONG_Y;
    pv_box low = pv_sheet_strip(plan, sheet, along_y ? PV_BOTTOM : PV_LEFT);
    pv_box high = pv_sheet_strip(plan, sheet, along_y ? PV_TOP : PV_RIGHT);
    double in = PV_CUT_LANE + plan->service / 2;
    double x[2] = {low.lo.x + in, low.hi.x - in}, y[2] = {low.lo.y + in, low.hi.y - in};
    if (along_y) {
        y[0] = pv_box_middle(low).y;
        y[1] = pv_box_middle(high).y;
    } else {
        x[0] = pv_box_middle(low).x;
        x[1] = pv_box_middle(high).x;
    }
    for (int p = 0; p < PV_TAG_PLACES; p++)
        at[p] = pv_v(x[p == 1 || p == 2], y[p >= 2]);
}

bool pv_sheet_place_tags(const pv_plan *plan, pv_sheet *sheet)
{
    pv_vec at[PV_TAG_PLACES];
    if (plan->strips == PV_STRIPS_AROUND)
        tag_places(plan, sheet, at);
    else
        tag_places_at_ends(plan, sheet, at);
    double tag = plan->service;
    bool good = true;
    for (unsigned p = 0; p < PV_TAG_PLACES; p++) {
        sheet->tag[p] = (pv_tag){.centre = at[p], .cell = tag / PV_TAG_BOX_CELLS};
        pv_box box = pv_tag_box(&sheet->tag[p]);
        good = good && box_within(box, pv_plan_printable(plan));
        for (unsigned q = 0; q < p; q++)
            good = good &&
                   (fabs(at[p].x - at[q].x) > tag - 1e-9 || fabs(at[p].y - at[q].y) > tag - 1e-9);
    }
    return good;
}

/* ---- what is free of a strip ---- */

typedef struct span {
    double lo, hi;
} span;

#define SPANS_MAX (PV_TAG_PLACES + PV_SHEET_BARS_MAX + PV_GAUGE_MARKS + 1)

static span along(pv_box b, bool vertical)
{
    return vertical ? (span){b.lo.y, b.hi.y} : (span){b.lo.x, b.hi.x};
}

static span bar_span(const pv_bar *bar)
{
    double at = bar->vertical ? bar->at.y : bar->at.x;
    return (span){at - PV_BAR_END, at + bar->count * bar->step + PV_BAR_END};
}

/* Takes `taken` out of the free spans, which stay in order. */
static size_t cut_out(span *spans, size_t n, span taken)
{
    size_t kept = 0;
    span result[SPANS_MAX];
    for (size_t i = 0; i < n; i++) {
        span before = {spans[i].lo, fmin(spans[i].hi, taken.lo)};
        span after = {fmax(spans[i].lo, taken.hi), spans[i].hi};
        if (before.hi > before.lo && kept < SPANS_MAX)
            result[kept++] = before;
        if (after.hi > after.lo && kept < SPANS_MAX && after.lo >= before.hi)
            result[kept++] = after;
    }
    for (size_t i = 0; i < kept; i++)
        spans[i] = result[i];
    return kept;
}

static size_t free_spans(const pv_plan *plan, const pv_sheet *sheet, pv_side side,
                         span spans[SPANS_MAX])
{
    bool vertical = side == PV_LEFT || side == PV_RIGHT;
    pv_box strip = pv_sheet_strip(plan, sheet, side);
    span whole = along(strip, vertical);
    spans[0] = (span){whole.lo + PV_CUT_LANE, whole.hi - PV_CUT_LANE};
    size_t n = spans[0].hi > spans[0].lo ? 1 : 0;
    pv_box inside = pv_box_grow(strip, -1e-6);
    for (size_t p = 0; p < PV_TAG_PLACES; p++)
        if (sheet->tag[p].cell > 0 && pv_box_meets(pv_tag_box(&sheet->tag[p]), inside))
            n = cut_out(spans, n, along(pv_tag_box(&sheet->tag[p]), vertical));
    for (size_t i = 0; i < sheet->n_gauge; i++)
        if (pv_box_meets(pv_gauge_box(sheet->gauge[i]), inside))
            n = cut_out(spans, n, along(pv_gauge_box(sheet->gauge[i]), vertical));
    for (size_t b = 0; b < sheet->n_bars; b++)
        if (sheet->bar[b].vertical == vertical && side == pv_sheet_service_side(sheet, vertical))
            n = cut_out(spans, n, bar_span(&sheet->bar[b]));
    return n;
}

/* ---- scale bars ---- */

static void add_bar(const pv_plan *plan, pv_sheet *sheet, pv_box strip, bool vertical, bool inch,
                    double from, int count)
{
    double share = inch ? IN_FROM : MM_FROM, tick = TICK * plan->service;
    pv_bar bar = {.vertical = vertical, .inch = inch, .count = count, .tick = tick};
    bar.step = inch ? IN_STEP : MM_STEP;
    pv_side side = pv_sheet_service_side(sheet, vertical);
    double off = share * plan->service;
    if (vertical)
        bar.at = pv_v(side == PV_RIGHT ? strip.lo.x + off : strip.hi.x - off - tick, from);
    else
        bar.at = pv_v(from, side == PV_TOP ? strip.lo.y + off : strip.hi.y - off - tick);
    sheet->bar[sheet->n_bars++] = bar;
}

static int fitting(double room, double step, int most)
{
    double n = floor(room / step + 1e-9);
    return n < most ? (int)n : most;
}

static double length_of(span s)
{
    return s.hi - s.lo;
}

/* Where a bar can stand: the longest span, less what the seam's label needs where no other span
 * has that. */
static span bar_room(const span *spans, size_t n, double label)
{
    size_t longest = 0;
    for (size_t i = 1; i < n; i++)
        if (length_of(spans[i]) > length_of(spans[longest]) + 1e-9)
            longest = i;
    bool elsewhere = false;
    for (size_t i = 0; i < n; i++)
        elsewhere = elsewhere || (i != longest && length_of(spans[i]) >= label);
    span room = spans[longest];
    if (!elsewhere && label > 0)
        room.hi -= label;
    return room;
}

/* A bar of each unit, side by side, from the span's beginning. */
static void add_bars(const pv_plan *plan, pv_sheet *sheet, pv_box strip, bool vertical, span within)
{
    double from = within.lo + PV_BAR_END, room = within.hi - PV_BAR_END - from;
    /* A proof has no seams to name, and a long bar is read the better. */
    int mm = fitting(room, MM_STEP, plan->proof ? BAR_MOST : MM_MOST);
    int inches = fitting(room, PV_MM_PER_IN, plan->proof ? BAR_MOST : IN_MOST);
    if (mm >= MM_LEAST)
        add_bar(plan, sheet, strip, vertical, false, from, mm);
    if (inches >= IN_LEAST)
        add_bar(plan, sheet, strip, vertical, true, from, 2 * inches);
}

bool pv_sheet_bars_beyond(const pv_plan *plan, const pv_sheet *sheet, pv_box *room)
{
    bool along_y = plan->strips == PV_STRIPS_ALONG_Y;
    if (plan->strips == PV_STRIPS_AROUND)
        return false;
    pv_box strip = pv_sheet_strip(plan, sheet, along_y ? PV_BOTTOM : PV_RIGHT);
    pv_vec at = along_y ? pv_v(strip.lo.x + PV_CUT_LANE, strip.lo.y - PV_ENDS_BARS)
                        : pv_v(strip.hi.x + 1, strip.lo.y + PV_CUT_LANE);
    double width = plan->service, length = PV_ENDS_BARS - 1;
    *room = (pv_box){at, pv_add(at, along_y ? pv_v(width, length) : pv_v(length, width))};
    return true;
}

void pv_sheet_place_bars(const pv_plan *plan, pv_sheet *sheet)
{
    sheet->n_bars = 0;
    for (int vertical = 0; vertical <= 1; vertical++) {
        pv_box room;
        if (plan->strips == (vertical ? PV_STRIPS_ALONG_Y : PV_STRIPS_ALONG_X) &&
            pv_sheet_bars_beyond(plan, sheet, &room)) {
            add_bars(plan, sheet, room, vertical == 1, along(room, vertical == 1));
            continue;
        }
        span spans[SPANS_MAX];
        pv_side side = pv_sheet_service_side(sheet, vertical);
        size_t n = free_spans(plan, sheet, side, spans);
        if (n == 0)
            continue;
        pv_box strip = pv_sheet_strip(plan, sheet, side);
        double length = length_of(along(strip, vertical == 1));
        double label = length < PV_SEAM_SHORT ? PV_SEAM_ROOM_SHORT : PV_SEAM_ROOM;
        add_bars(plan, sheet, strip, vertical == 1, bar_room(spans, n, plan->proof ? 0 : label));
    }
}

/* ---- the card ---- */

pv_box pv_sheet_card_box(const pv_sheet *sheet)
{
    return pv_box_grow(sheet->card, PV_CARD_BEYOND);
}
