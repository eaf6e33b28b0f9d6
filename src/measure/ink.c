/* By how much dark spreads into light: what all lines' widths say together. A line between two
 * sides gets wider by (t_left + t_right) times the spread, t being each side's share
 * (pv_colour_spread): 2 for black on white, -2 for white on black. */
#include "measure/lines.h"

#include <math.h>

#define SHARE_MIN 1.0 /* of 2: a line that tells less isn't asked */

/* What one line says. */
typedef struct line_ink {
    double spread; /* mm */
    double u;      /* of what the lines don't share */
    double tone; /* what they share: a tone curve moves all edges towards the light, or all away */
    double map;  /* of its own width by the map, which an uneven device bends from place to place */
    double width; /* nominal mm over the share, signed: by what an error of the scale moves it */
} line_ink;

/* How wide a strip across a line of that heading is printed: areas grow by the determinant, lengths
 * along the line by the rest. */
static double true_width(const pv_metric *metric, pv_vec heading, double nominal)
{
    pv_vec x = pv_metric_true(metric, pv_v(1, 0)), y = pv_metric_true(metric, pv_v(0, 1));
    return nominal * pv_cross_z(x, y) / pv_len(pv_metric_true(metric, heading));
}

static bool ask_line(const pv_art *art, const pv_metric *metric, const pv_station *st, size_t n,
                     const pv_line *drawn, const pv_value *width, line_ink *out)
{
    const pv_colour *own = &art->colours[drawn->colour];
    double share = 0, nominal = 0;
    size_t found = 0;
    for (size_t i = 0; i < n; i++) {
        if (!st[i].found)
            continue;
        for (int side = 0; side < 2; side++)
            share += pv_colour_spread(own, &art->colours[st[i].beside[side]]);
        nominal += true_width(metric, st[i].heading, drawn->width);
        found++;
    }
    if (found == 0 || !width->measured)
        return false;
    share /= (double)found;
    nominal /= (double)found;
    if (!(fabs(share) >= SHARE_MIN))
        return false;
    const double *part = width->part;
    out->spread = (width->value - nominal) / share;
    out->u =
        hypot(hypot(part[PV_PART_SCATTER], part[PV_PART_GRID]), part[PV_PART_SCREEN]) / fabs(share);
    out->tone = part[PV_PART_TONE] / fabs(share);
    out->map = part[PV_PART_POSE] / fabs(share);
    out->width = nominal / share;
    return out->u > 0;
}

typedef struct ink_sums {
    double weight, spread, tone, width, square, map;
    size_t n;
} ink_sums;

static void add(ink_sums *s, const line_ink *one)
{
    double w = 1 / (one->u * one->u);
    s->weight += w;
    s->spread += w * one->spread;
    s->square += w * one->spread * one->spread;
    s->tone += w * one->tone;
    s->width += w * one->width;
    s->map += w * one->map * w * one->map;
    s->n++;
}

bool pv_measure_ink(const pv_frame *frame, const pv_art *art, const pv_stations *stations,
                    pv_measures *out)
{
    ink_sums s = {0};
    size_t at = 0;
    for (size_t i = 0; i < out->n_lines; i++) {
        size_t end = at;
        while (end < stations->n && stations->items[end].line == out->lines[i].line)
            end++;
        line_ink one;
        if (ask_line(art, frame->metric, stations->items + at, end - at,
                     &art->lines[out->lines[i].line], pv_measures_find(out, PV_KIND_WIDTH, i),
                     &one))
            add(&s, &one);
        at = end;
    }
    pv_value ink = {.kind = PV_KIND_INK};
    if (!frame->metric->known || s.n == 0)
        return pv_measures_add(out, &ink);
    double mean = s.spread / s.weight, u = 1 / sqrt(s.weight);
    /* Where lines differ by more than each by itself is known to, so may all of them (Birge's
     * ratio). */
    double chi = fmax(0, s.square - s.weight * mean * mean);
    if (s.n > 1)
        u *= sqrt(fmax(1, chi / (double)(s.n - 1)));
    double metric = fmax(frame->metric->cov[0], frame->metric->cov[4]);
    ink.value = mean;
    ink.measured = true;
    ink.freedom = s.n > 1 ? (double)(s.n - 1) : 0;
    ink.part[PV_PART_SCATTER] = u;
    ink.part[PV_PART_TONE] = s.tone / s.weight;
    /* The lines share the sheet's scale; what the map is off by at each is its own. */
    ink.part[PV_PART_POSE] =
        hypot(fabs(s.width / s.weight) * hypot(frame->pose->u_scale[0], frame->pose->u_scale[1]),
              sqrt(s.map) / s.weight);
    /* Printed and nominal widths are both told by the reference, so that only their difference is
     * not certain by it. */
    ink.part[PV_PART_REFERENCE] = fabs(mean) * sqrt(fmax(0, metric));
    return pv_measures_add(out, &ink);
}
